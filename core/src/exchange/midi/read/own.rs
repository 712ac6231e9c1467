//! A file that Halfbar wrote and that was not changed since: its line is known without a search, whatever else was written.

use crate::exchange::draft::Draft;
use crate::exchange::midi::{MidiOptions, document};
use crate::exchange::own;
use crate::line::Part;
use crate::piece::Piece;
use crate::technique::Pin;

use super::events::{File, Voice, file};

/// The longest count-in that is tried, in bars.
const MOST_COUNTED: u8 = 8;

/// The line's own text as a draft, if that would be written as this voice. Clicks and chords that were written with it don't count as left out.
pub(super) fn draft(read: &File, voice: &Voice) -> Option<Draft> {
    let text = read.text.as_ref()?;
    let piece = own::piece(text)?;
    is_written_as(&piece, read, voice).then(|| {
        let parts: Vec<Part> =
            piece.timed().events.iter().map(|event| event.lasting(event.duration)).collect();
        let line = piece.line();
        Draft {
            heading: line.heading().clone(),
            bars: line.bars().clone(),
            hands: vec![Pin::default(); parts.len()],
            parts,
            chords: line.chords().to_vec(),
            tuplets: Vec::new(),
            text: Some(text.clone()),
            remarks: Vec::new(),
        }
    })
}

/// Whether a piece, with any count-in, is written with these notes at these ticks.
fn is_written_as(piece: &Piece, read: &File, voice: &Voice) -> bool {
    let Some(start) = voice.notes.first().map(|note| note.start) else { return false };
    [false, true].into_iter().any(|straight| {
        let written = |count_in| {
            let options = MidiOptions { straight, count_in, ..MidiOptions::default() };
            file(&document(piece, "", &options).ok()?).ok()
        };
        let starts_by = |written: &File| {
            written.voices.first().and_then(|own| own.notes.first()).is_some_and(|note| note.start <= start)
        };
        let mut all = (0..=MOST_COUNTED).map_while(|count_in| written(count_in).filter(starts_by));
        all.any(|own| {
            let is_same = (own.ticks, &own.title, &own.tempos) == (read.ticks, &read.title, &read.tempos)
                && (&own.meters, &own.keys, &own.markers) == (&read.meters, &read.keys, &read.markers);
            is_same && own.voices.first().is_some_and(|own| own.notes == voice.notes)
        })
    })
}
