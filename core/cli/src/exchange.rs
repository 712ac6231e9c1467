//! `halfbar open`: files of other programs, by content.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use halfbar_core::exchange::{self, Choice, Contents, Imported, Keep, VoiceContents};
use halfbar_core::key::Key;

use crate::{bytes, named};

/// What is asked for.
#[derive(Args)]
pub(crate) struct Open {
    /// The MusicXML or MIDI file; `-` reads standard input.
    file: PathBuf,
    /// Say what is in the file: its parts, staves and voices, each with the numbers to ask for.
    #[arg(long)]
    list: bool,
    /// The part, from 1.
    #[arg(long, value_name = "N")]
    part: Option<usize>,
    /// The staff of the part, from 1.
    #[arg(long, value_name = "N")]
    staff: Option<u16>,
    /// The voice of the staff, from 1.
    #[arg(long, value_name = "N")]
    voice: Option<usize>,
    /// Which of the notes that sound together to take.
    #[arg(long)]
    take: Option<Take>,
    /// How many octaves higher the notes are to be; negative for lower.
    #[arg(long, value_name = "N", default_value_t = 0, allow_negative_numbers = true, value_parser = clap::value_parser!(i8).range(-9..=9))]
    octave: i8,
    /// The key of a MIDI file that doesn't say, such as Eb or `C minor`.
    #[arg(long)]
    key: Option<Key>,
}

#[derive(Clone, Copy, ValueEnum)]
enum Take {
    Top,
    Bottom,
}

/// The line's text, or a row for each voice. Remarks go to standard error.
pub(crate) fn open(asked: &Open) -> Result<String, String> {
    let file = asked.file.as_path();
    let of_file = |message: String| named(file, &format!(" {message}"));
    let source = bytes(file).map_err(|error| of_file(error.to_string()))?;
    let contents = exchange::open(&source).map_err(|error| of_file(error.to_string()))?;
    if asked.list {
        return Ok(list(&contents));
    }
    let Imported { text, remarks, .. } = asked.imported(&contents).map_err(of_file)?;
    for remark in remarks {
        eprintln!("{}", of_file(remark.to_string()));
    }
    Ok(text)
}

impl Open {
    fn imported(&self, contents: &Contents) -> Result<Imported, String> {
        let is_meant = |choice: &Choice| {
            let staff = contents.parts.get(choice.part).and_then(|part| part.staves.get(choice.staff));
            self.part.is_none_or(|part| part == choice.part + 1)
                && self.staff.is_none_or(|number| staff.is_some_and(|staff| staff.number == number))
                && self.voice.is_none_or(|voice| voice == choice.voice + 1)
        };
        let choice = contents.choices().into_iter().find(is_meant);
        let choice = choice.ok_or("there is no such voice; `--list` says what there is")?;
        let keep = match self.take {
            None => Keep::Single,
            Some(Take::Top) => Keep::Top,
            Some(Take::Bottom) => Keep::Bottom,
        };
        let choice = Choice { keep, octaves: self.octave, key: self.key, ..choice };
        contents.take(&choice).map_err(|error| match error {
            exchange::ExchangeError::Together { .. } => {
                format!("{error} (`--take top`, `--take bottom`, `--list`)")
            }
            error => error.to_string(),
        })
    }
}

/// A row for each voice.
fn list(contents: &Contents) -> String {
    let mut rows = String::new();
    if !contents.title.is_empty() {
        rows = format!("{}\n", contents.title);
    }
    for (part, of_part) in contents.parts.iter().enumerate() {
        for staff in &of_part.staves {
            for (voice, of_voice) in staff.voices.iter().enumerate() {
                let (part, staff_no, voice) = (part + 1, staff.number, voice + 1);
                let name =
                    if of_part.name.is_empty() { String::new() } else { format!("{}: ", of_part.name) };
                let fretted = if staff.is_fretted { ", with strings and frets" } else { "" };
                rows += &format!(
                    "--part {part} --staff {staff_no} --voice {voice}  {name}{}{fretted}\n",
                    counted(of_voice)
                );
            }
        }
    }
    rows
}

fn counted(voice: &VoiceContents) -> String {
    let notes = if voice.notes == 1 { "1 note".into() } else { format!("{} notes", voice.notes) };
    match voice.together {
        0 => notes,
        together => format!("{notes}, {together} of them together with others"),
    }
}
