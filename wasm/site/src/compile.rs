//! Runs cargo to build the WebAssembly modules and the packer, and then the packer to make the site from the modules.

use anyhow::{Context, Result, ensure};
use std::env;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::step;
use crate::target::TARGET;

/// The compiler flags for the WebAssembly target.
const RUSTFLAGS: &str = "CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_RUSTFLAGS";
/// How large a function may be, in LLVM's units, for its calls to be replaced by its body: one marked `#[inline]`, and any other. The defaults,
/// 325 and 50, make the page's module 5 % larger (gzipped), the element's 3 %.
const INLINED: [&str; 2] = ["-inlinehint-threshold=30", "-inline-threshold=5"];
/// What LLVM leaves out: reducing the strength of loops, removing partial redundancies, and moving stores out of loops. Each of these adds variables
/// to save work that a browser's compiler saves anyway; without them, modules are 2 % smaller (gzipped) and no slower.
const LEFT_OUT: [&str; 3] = ["-disable-lsr", "-enable-pre=false", "-disable-licm-promotion"];
/// The crates that become modules.
const MODULES: [&str; 5] =
    ["halfbar-wasm", "halfbar-widget", "halfbar-sound", "halfbar-piece", "halfbar-exchange"];
/// The crate that makes the site from them. Cargo is quiet about it, as two progress bars would overwrite each other; errors are still shown.
const PACKER: [&str; 5] = ["--quiet", "--package", "halfbar-pack", "--profile", "pack"];

/// The root of the workspace, two folders above this crate's.
pub(crate) fn workspace_root() -> Result<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2);
    Ok(root.context("this crate is not inside its workspace")?.to_owned())
}

/// Where cargo puts what it builds.
pub(crate) fn target_dir(root: &Path) -> Result<PathBuf> {
    let chosen = env::var_os("CARGO_TARGET_DIR").map_or_else(|| root.join("target"), PathBuf::from);
    Ok(std::path::absolute(chosen)?)
}

/// Builds the modules and the packer at the same time: either of them alone leaves a processor idle for half the time, while its crates wait
/// for each other.
pub(crate) fn all(root: &Path, target: &Path) -> Result<()> {
    step("Building the WebAssembly modules and the packer");
    let mut modules = cargo("build", root, target);
    modules
        .args(MODULES.iter().flat_map(|name| ["--package", name]))
        .args(["--profile", "wasm", "--target", TARGET])
        .env(RUSTFLAGS, flags());
    let mut packer = cargo("build", root, target);
    packer.args(PACKER);

    let mut running = [modules, packer].map(|mut command| command.spawn());
    // Wait for both, even if the first fails, so that neither keeps running.
    let ended = running.each_mut().map(|child| match child {
        Ok(child) => child.wait().context("lost track of cargo"),
        Err(error) => Err(anyhow::anyhow!("{error}")).context("could not start cargo"),
    });
    for (what, status) in ["the WebAssembly modules", "the packer"].iter().zip(ended) {
        let status = status?;
        ensure!(status.success(), "building {what} failed ({status})");
    }
    Ok(())
}

/// Runs the packer and returns the site's folder.
pub(crate) fn pack(root: &Path, target: &Path) -> Result<PathBuf> {
    let modules = target.join(TARGET).join("wasm");
    let status = cargo("run", root, target)
        .args(PACKER)
        .arg("--")
        .args([root, &modules, target])
        .status()
        .context("could not start cargo")?;
    ensure!(status.success(), "the packer failed");
    Ok(target.join("site"))
}

fn cargo(command: &str, root: &Path, target: &Path) -> Command {
    let mut cargo = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.arg(command).arg("--target-dir").arg(target).current_dir(root);
    cargo
}

/// What the compiler is told for the modules. Panic messages contain paths of library sources: make them the same on every machine, and free of
/// private folder names.
fn flags() -> String {
    let paths = format!("--remap-path-prefix={}=cargo", cargo_home().display());
    INLINED.iter().chain(&LEFT_OUT).fold(paths, |flags, option| format!("{flags} -Cllvm-args={option}"))
}

/// Where cargo keeps library sources.
fn cargo_home() -> PathBuf {
    let home = || env::home_dir().unwrap_or_default().join(".cargo");
    env::var_os("CARGO_HOME").map_or_else(home, PathBuf::from)
}
