//! The compiler's standard library for WebAssembly, which a fresh machine doesn't have.

use anyhow::{Context, Result, bail};
use std::env;
use std::ffi::OsString;
use std::io::ErrorKind;
use std::path::Path;
use std::process::Command;

use crate::step;

pub(crate) const TARGET: &str = "wasm32-unknown-unknown";

/// The programs to ask.
pub(crate) struct Tools {
    rustc: OsString,
    rustup: OsString,
}

impl Tools {
    /// The ones on this machine.
    pub(crate) fn here() -> Tools {
        Tools { rustc: env::var_os("RUSTC").unwrap_or_else(|| "rustc".into()), rustup: "rustup".into() }
    }

    /// Adds the target if it is missing. If rustup may install things by itself, it has already done so when cargo read `rust-toolchain.toml`;
    /// if not (`RUSTUP_AUTO_INSTALL=0`), it runs cargo without mentioning targets.
    pub(crate) fn require_target(&self, root: &Path) -> Result<()> {
        if self.has_target(root)? {
            return Ok(());
        }
        step(&format!("Adding the missing Rust target: rustup target add {TARGET}"));
        match Command::new(&self.rustup).args(["target", "add", TARGET]).current_dir(root).status() {
            Ok(status) if status.success() && self.has_target(root)? => Ok(()),
            Ok(status) => bail!(
                "rustup could not add the Rust target {TARGET} ({status}); that needs a network, and a toolchain installed by rustup"
            ),
            Err(error) if error.kind() == ErrorKind::NotFound => bail!(
                "the Rust target {TARGET} is missing, and there is no rustup to add it: install Rust with rustup (https://rustup.rs), or \
                 your system's package of the Rust standard library for {TARGET} (libstd-rust-dev-wasm32 on Debian)"
            ),
            Err(error) => Err(error).context("could not start rustup"),
        }
    }

    fn has_target(&self, root: &Path) -> Result<bool> {
        let output = Command::new(&self.rustc)
            .args(["--print", "target-libdir", "--target", TARGET])
            .current_dir(root)
            .output()
            .context("could not start rustc")?;
        let folder = String::from_utf8_lossy(&output.stdout);
        Ok(output.status.success() && Path::new(folder.trim()).is_dir())
    }
}

#[cfg(all(test, unix))]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt;

    /// The result on a machine with this rustup. Its compiler has the target if there is a folder `libdir`.
    fn require(rustup: Option<&str>) -> Result<()> {
        let folder = tempfile::tempdir()?;
        let script = |name: &str, text: &str| -> Result<OsString> {
            let path = folder.path().join(name);
            std::fs::write(&path, format!("#!/bin/sh\n{text}\n"))?;
            std::fs::set_permissions(&path, PermissionsExt::from_mode(0o755))?;
            Ok(path.into())
        };
        let rustc = script("rustc", "echo \"$PWD/libdir\"")?;
        let rustup = match rustup {
            Some(text) => script("rustup", text)?,
            None => folder.path().join("rustup").into(),
        };
        Tools { rustc, rustup }.require_target(folder.path())
    }

    // A single test, because a script can't be run while another thread's process has it open for writing.
    #[test]
    fn a_missing_target_is_added_or_the_remedy_said() -> Result<()> {
        require(Some("test \"$*\" = \"target add wasm32-unknown-unknown\" && mkdir libdir"))?;
        for (rustup, remedy) in [
            (Some("exit 1"), "needs a network"),
            (Some("exit 0"), "needs a network"),
            (None, "https://rustup.rs"),
        ] {
            let said = require(rustup).map_err(|error| error.to_string());
            assert!(said.as_ref().is_err_and(|said| said.contains(remedy)), "{rustup:?}: {said:?}");
        }
        Ok(())
    }
}
