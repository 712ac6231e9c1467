//! `halfbar`: checks a line's text, draws it, or dumps it for scripts.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use halfbar_core::engrave::{self, Layout};
use halfbar_core::recast::{self, Casting, Figure};
use halfbar_core::write::dump::Dump;
use halfbar_core::write::svg::Paper;
use halfbar_core::{Piece, read, write};

/// Recast half-bars of a jazz line, from the command line.
#[derive(Parser)]
#[command(version, arg_required_else_help = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Say what is wrong with a line's text, with line, column and what was allowed.
    Check {
        /// The text; `-` reads standard input.
        file: PathBuf,
    },
    /// Write the music as SVG to standard output.
    Draw {
        /// The text; `-` reads standard input.
        file: PathBuf,
        /// How wide a system is, in staff spaces.
        #[arg(long, default_value_t = Layout::default().width)]
        width: f64,
        /// Draw on white, not on transparent paper.
        #[arg(long)]
        white: bool,
    },
    /// List the figures: name, lengths in quarter notes, spellings, and what each sounds like.
    Figures {
        /// Draw them as SVG instead.
        #[arg(long)]
        picture: bool,
        /// Draw on white, not on transparent paper.
        #[arg(long, requires = "picture")]
        white: bool,
    },
    /// List the windows that already carry a figure: bar, beat, figure and spelling.
    Find {
        /// The text; `-` reads standard input.
        file: PathBuf,
    },
    /// Write the plain line, every figure that it carries restored, to standard output.
    Restore {
        /// The text; `-` reads standard input.
        file: PathBuf,
    },
    /// Write notes, notation and windows as JSON to standard output.
    Dump {
        /// The text; `-` reads standard input.
        file: PathBuf,
    },
}

fn main() -> ExitCode {
    match run(Arguments::parse().command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn run(command: Command) -> Result<(), String> {
    let output = match command {
        Command::Check { file } => {
            piece(&file)?;
            return Ok(());
        }
        Command::Draw { file, width, white } => {
            let layout = Layout { width, ..Layout::default() };
            write::svg::document_on(&piece(&file)?.engrave(&layout), paper(white))
        }
        Command::Figures { picture: false, .. } => figures(),
        Command::Figures { picture: true, white } => {
            write::svg::sheet(&engrave::catalogue().map_err(|error| error.to_string())?, paper(white))
        }
        Command::Restore { file } => {
            let piece = piece(&file)?;
            let (plain, _) = recast::reduce(&piece.line).map_err(|error| named(&file, &error.to_string()))?;
            let text = write::text::line(&plain, &Casting::default());
            text.map_err(|error| named(&file, &error.to_string()))?.trim_end().to_string()
        }
        Command::Find { file } => find(&piece(&file)?).map_err(|error| named(&file, &error.to_string()))?,
        Command::Dump { file } => {
            let dump = Dump::of(&piece(&file)?).map_err(|error| named(&file, &error.to_string()))?;
            serde_json::to_string(&dump).map_err(|error| error.to_string())?
        }
    };
    match writeln!(io::stdout(), "{output}") {
        // A reader that has seen enough, such as `head`, is no mistake.
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(format!("standard output: {error}")),
        _ => Ok(()),
    }
}

fn paper(white: bool) -> Paper {
    if white { Paper::White } else { Paper::Transparent }
}

/// The windows that are recast, and the ones whose notes carry a figure as they stand.
fn find(piece: &Piece) -> halfbar_core::Result<String> {
    let mut windows = piece.casting.windows().to_vec();
    windows.extend(recast::find(&piece.line));
    windows.sort_by_key(|window| window.start);
    let rows = windows.iter().map(|window| {
        let place = piece.line.bars().place(window.start)?;
        Ok(format!("{}.{} {} {}", place.bar, place.beat, window.figure.name(), window.spelling))
    });
    Ok(rows.collect::<halfbar_core::Result<Vec<_>>>()?.join("\n"))
}

/// The catalogue as a table.
fn figures() -> String {
    let rows = Figure::all().iter().map(|figure| {
        let spellings: Vec<_> = figure.spellings().iter().map(ToString::to_string).collect();
        format!(
            "{:<17} {:<21} {:<20} {}",
            figure.name(),
            figure.to_string(),
            spellings.join(" "),
            figure.says()
        )
    });
    rows.collect::<Vec<_>>().join("\n")
}

/// Reads a file whose text has to be right; otherwise everything that is wrong with it.
fn piece(file: &Path) -> Result<Piece, String> {
    let source = bytes(file).map_err(|error| named(file, &error.to_string()))?;
    let reading = read::bytes(&source);
    let text = String::from_utf8_lossy(&source);
    match reading.line {
        Some(line) if reading.diagnostics.is_empty() => {
            Piece::new(line, reading.casting).map_err(|error| named(file, &error.to_string()))
        }
        _ => {
            let messages: Vec<_> =
                reading.diagnostics.iter().map(|d| named(file, &d.render(&text))).collect();
            Err(messages.join("\n"))
        }
    }
}

fn bytes(file: &Path) -> io::Result<Vec<u8>> {
    if file.as_os_str() != "-" {
        return fs::read(file);
    }
    let mut source = Vec::new();
    io::stdin().read_to_end(&mut source)?;
    Ok(source)
}

fn named(file: &Path, message: &str) -> String {
    let name = if file.as_os_str() == "-" { "standard input".into() } else { file.display().to_string() };
    format!("{name}:{message}")
}
