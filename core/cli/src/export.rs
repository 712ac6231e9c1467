//! `halfbar musicxml` and `halfbar midi`: a line as a file for other programs.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use clap::Args;
use halfbar_core::Piece;
use halfbar_core::exchange::midi::{self, MidiOptions};
use halfbar_core::exchange::musicxml::{self, MOST_DIVISIONS, Staves};
use halfbar_core::perform::Metronome;

use crate::{bytes, named, piece_of};

/// A line as MusicXML.
#[derive(Args)]
pub(crate) struct MusicXmlArguments {
    /// The text file; `-` reads standard input.
    file: PathBuf,
    /// Write a compressed file (.mxl).
    #[arg(long)]
    mxl: bool,
    /// The staves: both, or staff for notation alone, with strings and frets at its notes.
    #[arg(long, default_value = "both")]
    view: Staves,
}

/// A line as MIDI.
#[derive(Args)]
pub(crate) struct MidiArguments {
    /// The text file; `-` reads standard input.
    file: PathBuf,
    /// Write notes where notation has them, without swing.
    #[arg(long)]
    straight: bool,
    /// Add a metronome: every, 2+4, 1 or off, then `, eighths` or `, triplets` to subdivide, and `, other bars` to mute every other
    /// bar.
    #[arg(long)]
    click: Option<Metronome>,
    /// How many bars to count in.
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=4))]
    count_in: u8,
    /// Add the chords, with their roots in the bass.
    #[arg(long)]
    comp: bool,
}

/// The file, as it goes to standard output.
pub(crate) fn musicxml(asked: &MusicXmlArguments) -> Result<Vec<u8>, String> {
    let MusicXmlArguments { file, mxl, view } = asked;
    if *mxl {
        refuse_terminal("a compressed file", "line.mxl")?;
    }
    let (piece, text) = read(file)?;
    let failed = |error: halfbar_core::exchange::ExchangeError| named(file, &error.to_string());
    let divisions = musicxml::divisions(&piece).map_err(failed)?;
    if divisions > MOST_DIVISIONS {
        eprintln!(
            "{}",
            named(
                file,
                &format!(
                    " its tuplets need {divisions} units of time per quarter note, and the standard advises {MOST_DIVISIONS} at most: \
                     some programs may refuse the file"
                )
            )
        );
    }
    match mxl {
        true => musicxml::compressed(&piece, &text, *view).map_err(failed),
        false => Ok(musicxml::document(&piece, &text, *view).map_err(failed)?.into_bytes()),
    }
}

/// The file, as it goes to standard output.
pub(crate) fn midi(asked: &MidiArguments) -> Result<Vec<u8>, String> {
    let MidiArguments { file, straight, click, count_in, comp } = asked;
    refuse_terminal("a MIDI file", "line.mid")?;
    let (piece, text) = read(file)?;
    let options = MidiOptions { straight: *straight, click: *click, count_in: *count_in, comp: *comp };
    midi::document(&piece, &text, &options).map_err(|error| named(file, &error.to_string()))
}

/// The line, and its text as it was written.
fn read(file: &Path) -> Result<(Piece, String), String> {
    let source = bytes(file).map_err(|error| named(file, &error.to_string()))?;
    Ok((piece_of(file, &source)?, String::from_utf8_lossy(&source).into_owned()))
}

fn refuse_terminal(what: &str, name: &str) -> Result<(), String> {
    match io::stdout().is_terminal() {
        true => Err(format!("{what} can't be shown in a terminal: write it to a file with `> {name}`")),
        false => Ok(()),
    }
}
