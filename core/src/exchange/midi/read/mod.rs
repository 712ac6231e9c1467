//! MIDI -> a song, and one of its voices -> a draft.
//!
//! ```text
//! bytes --events--> File --single--> notes one after another --feel, fit--> their written onsets --parts--> Draft
//!                    +--measures--> Bars
//! ```

mod events;
mod feel;
mod fit;
mod grid;
mod measures;
mod own;
mod parts;
mod single;
mod spell;
mod ways;

use events::{File, Voice};

use super::error::MidiError;
use crate::exchange::choice::{Choice, PartContents, StaffContents, VoiceContents};
use crate::exchange::draft::Draft;
use crate::exchange::error::{ExchangeError, Result};
use crate::exchange::remark::Remark;
use crate::line::{Heading, Tempo};
use crate::technique::Pin;

/// A song as it was read.
#[derive(Clone, Debug)]
pub(crate) struct Song {
    file: File,
}

/// The tempo of a file that doesn't say one, in microseconds per quarter note (*Standard MIDI Files 1.0*).
const USUAL_TEMPO: u32 = 500_000;

pub(crate) fn read(bytes: &[u8]) -> Result<Song> {
    let file = events::file(bytes)?;
    if file.voices.is_empty() {
        return Err(MidiError::Empty.into());
    }
    Ok(Song { file })
}

impl Song {
    pub(crate) fn title(&self) -> &str {
        &self.file.title
    }

    pub(crate) fn parts(&self) -> Vec<PartContents> {
        let parts = self.file.voices.iter().map(|voice| {
            let (notes, together) = (voice.notes.len(), single::together(&voice.notes));
            let voices = vec![VoiceContents { name: voice.channel.to_string(), notes, together }];
            PartContents {
                name: voice.name.clone(),
                staves: vec![StaffContents { number: 1, is_fretted: false, voices }],
            }
        });
        parts.collect()
    }

    pub(crate) fn take(&self, choice: &Choice) -> Result<Draft> {
        let voice = match (self.file.voices.get(choice.part), choice.staff, choice.voice) {
            (Some(voice), 0, 0) => voice,
            _ => return Err(ExchangeError::NoVoice),
        };
        if let Some(draft) = own::draft(&self.file, voice).filter(|_| choice.key.is_none()) {
            return Ok(draft);
        }
        let mut remarks = self.left_out(voice);
        let (tempo, is_out) = self.tempo();
        if is_out {
            remarks.push(Remark::LeftOut { what: "tempo out of range", count: 1 });
        }
        let measures = measures::measures(&self.file)?;
        let notes = single::single(&voice.notes, choice.keep)
            .map_err(|tick| ExchangeError::Together { place: measures.place(tick) })?;
        let key = match choice.key.or(measures.key) {
            Some(key) => key,
            None => return Err(MidiError::Key { likely: spell::likely(&notes) }.into()),
        };
        let asked = choice.key.is_some();
        let taken = parts::taken(&self.file, voice, &notes, &measures, tempo)?;
        let bars = measures.bars_in(key, asked, taken.pickup)?;
        let chords = parts::chords(&self.file, &measures, &taken);
        let unread = self.file.markers.len() - chords.markers;
        if unread > 0 {
            remarks.push(Remark::LeftOut { what: "marker", count: unread });
        }
        let parts = parts::parts(&taken, &bars)?;
        let hands = vec![Pin::default(); parts.len()];
        let heading =
            Heading { title: self.file.title.clone(), tempo, feel: taken.feel, ..Heading::default() };
        // Other programs write texts, too.
        let text = self.file.text.clone().filter(|text| is_line(text));
        Ok(Draft { heading, bars, parts, chords: chords.chords, tuplets: Vec::new(), hands, text, remarks })
    }

    /// The tempo, and whether the file has another one that a line can't have.
    fn tempo(&self) -> (Tempo, bool) {
        let micros = self.file.tempos.first().map_or(USUAL_TEMPO, |&(_, micros)| micros).max(1);
        let quarters = (60_000_000 + micros / 2) / micros;
        let (slowest, fastest) = Tempo::RANGE;
        let within = quarters.clamp(slowest.into(), fastest.into());
        let tempo = u16::try_from(within).ok().and_then(Tempo::new);
        (tempo.unwrap_or(Heading::default().tempo), within != quarters)
    }

    /// What the file has besides a voice.
    fn left_out(&self, voice: &Voice) -> Vec<Remark> {
        let file = &self.file;
        let other: usize = file.voices.iter().map(|other| other.notes.len()).sum();
        let counts = [
            ("note of another part", other - voice.notes.len()),
            ("note on the percussion channel", file.drums),
            ("change of tempo", file.tempos.len().saturating_sub(1)),
            ("lyric", file.lyrics),
            ("pitch bend", voice.bends),
        ];
        let some = counts.into_iter().filter(|(_, count)| *count > 0);
        some.map(|(what, count)| Remark::LeftOut { what, count }).collect()
    }
}

/// Whether a text is that of a line.
fn is_line(text: &str) -> bool {
    let reading = crate::read::text(text);
    reading.line.is_some() && reading.diagnostics.is_empty()
}
