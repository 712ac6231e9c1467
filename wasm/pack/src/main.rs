//! `cargo site`: builds the module and the page, checks their sizes, and serves the page on this machine.

mod bundle;
mod compile;
mod icon;
mod looks;
mod offline;
mod package;
mod serve;
mod single_file;
mod sizes;

use anyhow::Result;
use clap::{Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

/// Builds the Halfbar page and serves it on this machine only.
#[derive(Parser)]
#[command(bin_name = "cargo site", version, args_conflicts_with_subcommands = true)]
struct Args {
    #[command(subcommand)]
    command: Option<Command>,

    /// The port to serve on [default: 8017, or a free one when that is taken]
    #[arg(long)]
    port: Option<u16>,
}

#[derive(Subcommand)]
enum Command {
    /// Build the site, the one-file page and the package, and serve nothing
    Build,
}

fn main() -> ExitCode {
    match run(&Args::parse()) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // The whole chain of reasons, and never a backtrace: these messages say what to do.
            eprintln!("\nerror: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn run(args: &Args) -> Result<()> {
    let site = build()?;
    match args.command {
        Some(Command::Build) => Ok(()),
        None => serve::serve(&site, args.port),
    }
}

/// Builds everything and returns the folder of the site.
fn build() -> Result<PathBuf> {
    let root = compile::workspace_root()?;
    let target = compile::target_dir(&root)?;
    let www = root.join("www");
    let site = target.join("site");
    let single = target.join("halfbar.html");
    let package = target.join("package");

    let modules = compile::modules(&root, &target)?;
    bundle::site(&modules, &www, &site)?;
    offline::prepare(&site)?;
    let page = single_file::page(&www, &bundle::script(&modules)?)?;
    fs_err::write(&single, page)?;
    package::fill(&root, &modules, &package)?;

    println!("Site:     {}\nOne file: {}", site.display(), single.display());
    println!("Package:  {}\n", package.display());
    sizes::check(&site, &single)?;
    Ok(site)
}
