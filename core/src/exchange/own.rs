//! The line's own text in a file: whether it still has the file's music.

use crate::line::Heading;
use crate::piece::Piece;
use crate::pitch::MidiKey;
use crate::read;

use super::choice::{Choice, Format};
use super::draft::{Draft, sounding};
use super::error::Result;
use super::musicxml::{self, Staves};
use super::remark::Remark;

/// The piece of a text without any mistake.
pub(super) fn piece(text: &str) -> Option<Piece> {
    let reading = read::text(text);
    let line = reading.line.filter(|_| reading.diagnostics.is_empty())?;
    Piece::new(line, reading.casting).ok()
}

/// If a piece, written to a file of this format, would be read as this draft: what the file has that the text doesn't say.
pub(super) fn beside(piece: &Piece, draft: &Draft, format: Format) -> Option<Vec<Remark>> {
    match format {
        Format::MusicXml => {
            let again = again(piece).ok()?;
            let is_same = (&again.heading, &again.bars, &again.parts)
                == (&draft.heading, &draft.bars, &draft.parts)
                && (&again.chords, &again.hands) == (&draft.chords, &draft.hands);
            let is_new = |remark: &&Remark| !again.remarks.contains(remark);
            is_same.then(|| draft.remarks.iter().filter(is_new).cloned().collect())
        }
        Format::Midi => sounds_the_same(piece, draft).then(|| draft.remarks.clone()),
    }
}

/// The draft that a piece comes back as.
fn again(piece: &Piece) -> Result<Draft> {
    musicxml::read(&musicxml::document(piece, "", Staves::Both)?)?.take(&Choice::default())
}

/// Whether the same keys sound at the same times in the same bars: what a MIDI file says for certain.
fn sounds_the_same(piece: &Piece, draft: &Draft) -> bool {
    let Ok(sounding) = sounding(&draft.parts) else { return false };
    let own = piece
        .timed()
        .events
        .iter()
        .filter_map(|event| Some((event.onset, event.duration, event.pitch?.midi()?)));
    let read = sounding
        .iter()
        .map(|(onset, duration, pitch, _)| (*onset, *duration, pitch.midi().unwrap_or(MidiKey(0))));
    piece.line().bars() == &draft.bars && piece.line().heading().tempo == draft.heading.tempo && own.eq(read)
}

/// The heading of a draft, with what only the text can say.
pub(super) fn heading(own: &Heading, draft: &Draft) -> Heading {
    let file = &draft.heading;
    let is_same_neck = (own.neck.tuning(), own.neck.capo()) == (file.neck.tuning(), file.neck.capo());
    let is_as_long = own.neck.frets() >= file.neck.frets() || own.neck.range() == file.neck.range();
    let neck = if is_same_neck && is_as_long { own.neck.clone() } else { file.neck.clone() };
    Heading { title: file.title.clone(), tempo: file.tempo, neck, ..own.clone() }
}
