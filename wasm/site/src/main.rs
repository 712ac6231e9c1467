//! `cargo site`: makes sure that the Rust target is there, builds the modules and the site, and serves the site on this machine.
//!
//! It is separate from `halfbar-pack`, which knows WebAssembly and takes longer to compile, so that it runs within seconds: a missing target is
//! added before any long build starts, and the modules and the packer are compiled at the same time.

mod compile;
mod serve;
mod target;

use anyhow::{Context, Result};
use lexopt::prelude::*;
use std::ffi::OsString;
use std::process::ExitCode;
use std::time::Instant;

const HELP: &str = "\
Builds the Halfbar page and serves it on this machine only.

Usage: cargo site [--port PORT]   build, then serve until Ctrl+C
       cargo site build           build the site, the one-file page and the package

Options:
      --port PORT  The port to serve on [default: 8017, or a free one when that is taken]
  -h, --help       Print this
";

/// What to do.
#[derive(PartialEq, Eq, Debug)]
enum Command {
    Build,
    Serve { port: Option<u16> },
    Help,
}

fn main() -> ExitCode {
    match command(std::env::args_os().skip(1)).and_then(run) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            // The whole chain of causes, but no backtrace: these messages say what to do.
            eprintln!("\nerror: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn command(arguments: impl IntoIterator<Item = OsString>) -> Result<Command> {
    let mut parser = lexopt::Parser::from_args(arguments);
    let (mut build, mut port) = (false, None);
    while let Some(argument) = parser.next()? {
        match argument {
            Short('h') | Long("help") => return Ok(Command::Help),
            Long("port") => {
                port = Some(parser.value()?.parse().context("--port takes a number up to 65535")?)
            }
            Value(word) if word == "build" && !build => build = true,
            other => return Err(other.unexpected()).context("see `cargo site --help`"),
        }
    }
    match (build, port) {
        (true, None) => Ok(Command::Build),
        (true, Some(_)) => anyhow::bail!("`cargo site build` doesn't serve the site, so it takes no --port"),
        (false, port) => Ok(Command::Serve { port }),
    }
}

fn run(command: Command) -> Result<()> {
    if command == Command::Help {
        print!("{HELP}");
        return Ok(());
    }
    let start = Instant::now();
    let root = compile::workspace_root()?;
    let target = compile::target_dir(&root)?;
    target::Tools::here().require_target(&root)?;
    compile::all(&root, &target)?;
    step("Packing the site");
    let site = compile::pack(&root, &target)?;
    println!("\nBuilt in {} s", start.elapsed().as_secs());
    match command {
        Command::Serve { port } => serve::serve(&site, port),
        Command::Build | Command::Help => Ok(()),
    }
}

/// Announces a step, on the same stream as cargo's progress so that they stay in order.
fn step(what: &str) {
    eprintln!("== {what}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_become_commands() -> Result<()> {
        let read = |words: &str| command(words.split_whitespace().map(OsString::from));
        assert_eq!(read("")?, Command::Serve { port: None });
        assert_eq!(read("--port 0")?, Command::Serve { port: Some(0) });
        assert_eq!(read("--port=8018")?, Command::Serve { port: Some(8018) });
        assert_eq!(read("build")?, Command::Build);
        assert_eq!(read("build --help")?, Command::Help);
        for (words, said) in [
            ("biuld", "biuld"),
            ("build build", "build"),
            ("--prot 1", "--prot"),
            ("--port", "--port"),
            ("--port 65536", "65535"),
            ("build --port 1", "doesn't serve"),
        ] {
            let error =
                read(words).map(|command| format!("{command:?}")).map_err(|error| format!("{error:#}"));
            assert!(error.as_ref().is_err_and(|error| error.contains(said)), "{words}: {error:?}");
        }
        Ok(())
    }
}
