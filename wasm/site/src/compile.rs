//! From the Rust sources to the raw WebAssembly modules and the packer, by cargo; and from those to the site, by the packer.

use anyhow::{Context, Result, ensure};
use std::env;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::step;
use crate::target::TARGET;

/// Flags for what is built for it.
const RUSTFLAGS: &str = "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS";
/// The crates that become modules.
const MODULES: [&str; 2] = ["halfbar-wasm", "halfbar-widget"];
/// What makes the site of them, and its profile.
const PACKER: (&str, &str) = ("halfbar-pack", "pack");

/// The folder of the workspace, two above this crate's.
pub(crate) fn workspace_root() -> Result<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2);
    Ok(root.context("this crate lies outside its workspace")?.to_owned())
}

/// Where cargo puts what it builds.
pub(crate) fn target_dir(root: &Path) -> Result<PathBuf> {
    let chosen = env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from);
    Ok(std::path::absolute(chosen)?)
}

/// Builds the modules and the packer side by side: one of them alone leaves a processor idle for half the time, where its crates wait for
/// each other.
pub(crate) fn all(root: &Path, target: &Path) -> Result<()> {
    step("The WebAssembly modules, and beside them what packs them");
    let cargo = || {
        let mut cargo = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
        cargo.arg("build").arg("--target-dir").arg(target).current_dir(root);
        cargo
    };
    let mut modules = cargo();
    modules
        .args(MODULES.iter().flat_map(|name| ["--package", name]))
        .args(["--profile", "wasm", "--target", TARGET])
        // Messages of panics name files of libraries: they should be as long on every machine, and nobody's folders.
        .env(RUSTFLAGS, format!("--remap-path-prefix={}=cargo", cargo_home().display()));
    let mut packer = cargo();
    // Two progress bars would write over each other; its errors are heard.
    packer.args(["--quiet", "--package", PACKER.0, "--profile", PACKER.1]);

    let mut running = [modules, packer].map(|mut command| command.spawn());
    // Both are waited for, whatever the first says, so that none is left behind.
    let ended = running.each_mut().map(|child| match child {
        Ok(child) => child.wait().context("cargo was lost"),
        Err(error) => Err(anyhow::anyhow!("{error}")).context("cargo could not be started"),
    });
    for (what, status) in ["the WebAssembly modules", "the packer of the site"].iter().zip(ended) {
        let status = status?;
        ensure!(status.success(), "{what} did not build ({status})");
    }
    Ok(())
}

/// Runs the packer, and returns the folder of the site.
pub(crate) fn pack(root: &Path, target: &Path) -> Result<PathBuf> {
    let packer = target.join(PACKER.1).join(PACKER.0).with_extension(env::consts::EXE_EXTENSION);
    let site = target.join("site");
    let status = Command::new(&packer)
        .arg(root)
        .arg(target.join(TARGET).join("wasm"))
        .arg(target)
        .status()
        .with_context(|| format!("{} could not be started", packer.display()))?;
    ensure!(status.success(), "the site was not made");
    Ok(site)
}

/// Where cargo keeps the sources of libraries.
fn cargo_home() -> PathBuf {
    let home = || env::home_dir().unwrap_or_default().join(".cargo");
    env::var_os("CARGO_HOME").map_or_else(home, PathBuf::from)
}
