//! `halfbar`: checks a line's text, draws it, or dumps it for scripts.

use std::fs;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand, ValueEnum};
use halfbar_core::bars::Place;
use halfbar_core::engrave::{self, Layout, View};
use halfbar_core::recast::{self, Casting, Direction, Figure};
use halfbar_core::time::{Duration, Span};
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
        /// What each system shows: both, staff, tab or rhythm.
        #[arg(long, value_parser = view, default_value = "both")]
        view: View,
        /// Write the fretting hand's fingers under each system.
        #[arg(long)]
        fingers: bool,
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
    /// Write the text with a stretch moved by an eighth to standard output; the notes that lose time are named on standard error.
    Shift {
        /// The text; `-` reads standard input.
        file: PathBuf,
        /// Where the stretch starts: bar and beat, such as 1.3.
        from: String,
        /// Up to where it reaches; this place is not part of it.
        to: String,
        /// Which way it goes.
        direction: Way,
    },
    /// Write notes, notation and windows as JSON to standard output.
    Dump {
        /// The text; `-` reads standard input.
        file: PathBuf,
    },
}

#[derive(Clone, Copy, ValueEnum)]
enum Way {
    Earlier,
    Later,
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
        Command::Draw { file, width, view, fingers, white } => {
            let layout = Layout { view, width, fingers, ..Layout::default() };
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
        Command::Shift { file, from, to, direction } => {
            let piece = piece(&file)?;
            shift(&file, &piece, [&from, &to], direction).map_err(|error| named(&file, &error))?
        }
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

fn view(text: &str) -> Result<View, String> {
    text.parse().map_err(|()| format!("the views are {}", View::ALL.map(View::name).join(", ")))
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

/// The text with a stretch moved.
fn shift(file: &Path, piece: &Piece, edges: [&str; 2], way: Way) -> Result<String, String> {
    let onset = |text: &str| {
        let place: Place =
            text.parse().map_err(|()| format!("`{text}` is no place: write bar and beat, such as 1.3"))?;
        piece.line.bars().onset(place).map_err(|error| error.to_string())
    };
    let stretch = Span::new(onset(edges[0])?, onset(edges[1])?).ok_or("the stretch ends before it starts")?;
    let direction = match way {
        Way::Earlier => Direction::Earlier,
        Way::Later => Direction::Later,
    };
    let shifted =
        recast::shift(&piece.line, &piece.casting, stretch, direction).map_err(|error| error.to_string())?;
    for lost in &shifted.pushed_out {
        let what = if lost.left > Duration::ZERO { "shortened" } else { "pushed out" };
        eprintln!("{}", named(file, &format!("{}: {} is {what}", lost.place, lost.pitch)));
    }
    let text = write::text::line(&shifted.line, &shifted.casting).map_err(|error| error.to_string())?;
    Ok(text.trim_end().to_string())
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
            for remark in &reading.remarks {
                eprintln!("{}", named(file, &remark.render(&text)));
            }
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
