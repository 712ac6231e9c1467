//! What is in a file, before one voice of it is chosen.

use super::assemble::{self, Imported};
use super::choice::{Choice, Format, PartContents};
use super::container::{self, Body};
use super::draft::Draft;
use super::error::Result;
use super::{midi, musicxml};

/// What is in a file: its parts with their staves and voices.
#[derive(Clone, Debug)]
pub struct Contents {
    /// The kind of file.
    pub format: Format,
    /// The title; empty if there is none.
    pub title: String,
    /// Its parts in order. A MIDI file has a part for each channel of each track that has notes.
    pub parts: Vec<PartContents>,
    source: Source,
}

/// A file as it was read.
#[derive(Clone, Debug)]
enum Source {
    MusicXml(musicxml::Score),
    Midi(midi::Song),
}

/// Opens a MusicXML file (`.musicxml`, `.xml`, `.mxl`) or a MIDI file (`.mid`), whatever its name is. Nothing that the file refers to is fetched.
///
/// # Errors
/// What is wrong with the file, where, and what would help.
pub fn open(bytes: &[u8]) -> Result<Contents> {
    match container::unpack(bytes)? {
        Body::Xml(text) => {
            let score = musicxml::read(&text)?;
            let (title, parts) = (score.title().to_string(), score.parts());
            Ok(Contents { format: Format::MusicXml, title, parts, source: Source::MusicXml(score) })
        }
        Body::Midi(bytes) => {
            let song = midi::read(bytes)?;
            let (title, parts) = (song.title().to_string(), song.parts());
            Ok(Contents { format: Format::Midi, title, parts, source: Source::Midi(song) })
        }
    }
}

impl Contents {
    /// The voice that is meant if nothing else is said: the first of [`Contents::choices`]. `None` if there are no notes.
    pub fn usual(&self) -> Option<Choice> {
        self.choices().into_iter().next()
    }

    /// All voices that have notes, the likeliest first: with strings and frets, then those in which no notes sound together, then the others.
    pub fn choices(&self) -> Vec<Choice> {
        let mut all: Vec<(bool, bool, Choice)> = Vec::new();
        for (part, of_part) in self.parts.iter().enumerate() {
            for (staff, of_staff) in of_part.staves.iter().enumerate() {
                for (voice, of_voice) in
                    of_staff.voices.iter().enumerate().filter(|(_, voice)| voice.notes > 0)
                {
                    let choice = Choice { part, staff, voice, ..Choice::default() };
                    all.push((!of_staff.is_fretted, of_voice.together > 0, choice));
                }
            }
        }
        all.sort_by_key(|(unfretted, together, _)| (*unfretted, *together));
        all.into_iter().map(|(_, _, choice)| choice).collect()
    }

    /// One voice as a line.
    ///
    /// # Errors
    /// What a line can't have, with its place, and what would help.
    pub fn take(&self, choice: &Choice) -> Result<Imported> {
        assemble::assemble(self.draft(choice)?, self.format)
    }

    /// The first bars of a voice as a line, to choose one by: much less work than all of it.
    ///
    /// ```
    /// use halfbar_core::exchange::{self, musicxml};
    /// use halfbar_core::{Piece, read};
    ///
    /// let text = "C4 D E F  G A B C | D C B A  G F E D | C:4 |\n";
    /// let reading = read::text(text);
    /// let piece = Piece::new(reading.line.expect("a line"), reading.casting)?;
    /// let file = musicxml::document(&piece, text, musicxml::Staves::Both)?;
    ///
    /// let contents = exchange::open(file.as_bytes())?;
    /// let choice = contents.usual().expect("a voice");
    /// assert_eq!(contents.beginning(&choice, 2)?.line.bar_count(), 2);
    /// # Ok::<(), exchange::ExchangeError>(())
    /// ```
    ///
    /// # Errors
    /// As [`Contents::take`], about all of the voice.
    pub fn beginning(&self, choice: &Choice, bars: usize) -> Result<Imported> {
        assemble::assemble(self.draft(choice)?.beginning(bars)?, self.format)
    }

    fn draft(&self, choice: &Choice) -> Result<Draft> {
        let draft = match &self.source {
            Source::MusicXml(score) => score.take(choice)?,
            Source::Midi(song) => song.take(choice)?,
        };
        draft.moved(choice.octaves)
    }
}
