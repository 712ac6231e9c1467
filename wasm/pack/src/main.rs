//! Makes the site, the single-file page and the npm package from the compiled modules, and checks their sizes. Run by `cargo site`.

mod bundle;
mod drawn;
mod looks;
mod offline;
mod package;
mod single_file;
mod sizes;

use anyhow::{Result, bail};
use std::env;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

fn main() -> ExitCode {
    let paths: Vec<PathBuf> = env::args_os().skip(1).map(PathBuf::from).collect();
    match run(&paths) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("\nerror: {error:#}");
            ExitCode::FAILURE
        }
    }
}

/// Takes three folders: the workspace, the modules, and the target to write to.
fn run(paths: &[PathBuf]) -> Result<()> {
    match paths {
        [root, modules, target] => pack(root, modules, target),
        _ => {
            bail!(
                "run `cargo site build`, which calls this with three folders: the workspace, the modules, the target"
            )
        }
    }
}

fn pack(root: &Path, modules: &Path, target: &Path) -> Result<()> {
    let www = root.join("www");
    let site = target.join("site");
    let single = target.join("halfbar.html");
    // Cargo has a folder `package` of its own there.
    let package = target.join("npm");

    bundle::site(modules, &www, &site)?;
    let index = drawn::page(&www)?;
    fs_err::write(site.join("index.html"), &index)?;
    offline::prepare(&site)?;
    let page = single_file::page(&index, &www, &bundle::scripts(modules)?)?;
    fs_err::write(&single, page)?;
    package::fill(root, modules, &package)?;

    println!("Site:         {}\nSingle file:  {}", site.display(), single.display());
    println!("npm package:  {}\n", package.display());
    sizes::check(&site, &single)
}
