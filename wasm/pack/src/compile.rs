//! From the Rust sources to the raw WebAssembly modules, by cargo.

use anyhow::{Context, Result, ensure};
use std::env;
use std::path::{Path, PathBuf};
use std::process::Command;

const TARGET: &str = "wasm32-unknown-unknown";
/// Flags for what is built for it.
const RUSTFLAGS: &str = "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS";
/// The crates that become modules.
const MODULES: [&str; 2] = ["halfbar-wasm", "halfbar-widget"];

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

/// Builds the modules and returns the folder that they are in.
pub(crate) fn modules(root: &Path, target: &Path) -> Result<PathBuf> {
    require_target(root)?;
    let status = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .arg("build")
        .args(MODULES.iter().flat_map(|name| ["--package", name]))
        .args(["--profile", "wasm", "--target", TARGET, "--target-dir"])
        .arg(target)
        // Messages of panics name files of libraries: they should be as long on every machine, and nobody's folders.
        .env(RUSTFLAGS, format!("--remap-path-prefix={}=cargo", cargo_home().display()))
        .current_dir(root)
        .status()
        .context("cargo could not be started")?;
    ensure!(status.success(), "the WebAssembly modules did not build ({status})");
    Ok(target.join(TARGET).join("wasm"))
}

/// Where cargo keeps the sources of libraries.
fn cargo_home() -> PathBuf {
    let home = || env::home_dir().unwrap_or_default().join(".cargo");
    env::var_os("CARGO_HOME").map_or_else(home, PathBuf::from)
}

/// Fails with the remedy when the compiler has no standard library for WebAssembly.
fn require_target(root: &Path) -> Result<()> {
    let output = Command::new(env::var_os("RUSTC").unwrap_or_else(|| "rustc".into()))
        .args(["--print", "target-libdir", "--target", TARGET])
        .current_dir(root)
        .output()
        .context("rustc could not be started")?;
    let folder = String::from_utf8_lossy(&output.stdout);
    ensure!(
        output.status.success() && Path::new(folder.trim()).is_dir(),
        "the Rust target {TARGET} is missing; install it with\n\n    rustup target add {TARGET}"
    );
    Ok(())
}
