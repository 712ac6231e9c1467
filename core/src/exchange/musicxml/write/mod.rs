//! Piece -> MusicXML.
//!
//! A piece is one part. What the elements mean is from the W3C's *MusicXML 4.0*; every file that is written is valid by its schema.

mod xml;
mod sheet;
mod harmony;
mod joins;
mod note;
mod measure;

use crate::exchange::container;
use crate::exchange::error::Result;
use crate::exchange::musicxml::own::TEXT_FIELD;
use crate::piece::Piece;

use sheet::Sheet;
use xml::Xml;

pub use sheet::Staves;

/// The most units of time per quarter note that the standard advises (MusicXML 4.0, element divisions).
pub const MOST_DIVISIONS: i64 = 16_383;

/// The identifier of the only part, and of its instrument.
const PART: &str = "P1";
const INSTRUMENT: &str = "P1-I1";
/// A jazz guitar, counted from 1 (General MIDI, level 1).
const PROGRAM: u8 = 27;

/// A piece as a MusicXML file. `text` is the line's own text, which travels in the file, so that nothing is lost on the way back; there is no
/// such field if it is empty.
///
/// A character that XML can't have (a control character, for instance in the title) becomes U+FFFD.
///
/// ```
/// use halfbar_core::exchange::musicxml::{Staves, document};
/// use halfbar_core::{Piece, read};
///
/// let text = "title: Up the ladder\n@Fm7 F3 Ab C Eb  G F Eb C |\n";
/// let reading = read::text(text);
/// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
/// let file = document(&piece, text, Staves::Both)?;
/// assert!(file.contains("<work-title>Up the ladder</work-title>"));
/// assert!(file.contains("<kind text=\"m7\">minor-seventh</kind>"));
/// # Ok::<(), halfbar_core::exchange::ExchangeError>(())
/// ```
///
/// # Errors
/// [`Error`](crate::Error) for times out of range.
pub fn document(piece: &Piece, text: &str, staves: Staves) -> Result<String> {
    let sheet = Sheet::new(piece, staves)?;
    let mut xml = Xml::new();
    xml.within("score-partwise", &[("version", "4.0")], |xml| -> Result<()> {
        let title = &piece.line().heading().title;
        if !title.is_empty() {
            xml.within("work", &[], |xml| xml.text("work-title", &[], title));
        }
        xml.within("identification", &[], |xml| identification(xml, text));
        xml.within("part-list", &[], part);
        Ok(xml.within("part", &[("id", PART)], |xml| {
            let starts = piece.line().heading().systems.starts(piece.line().bars());
            let places = sheet::places(piece.written());
            let mut bars = places.iter().zip(starts).enumerate();
            bars.try_for_each(|(index, (places, starts))| {
                // The first bar starts a system anyway.
                measure::measure(xml, &sheet, index, places, starts && index > 0)
            })
        })?)
    })?;
    Ok(xml.finish())
}

fn identification(xml: &mut Xml, text: &str) {
    xml.within("encoding", &[], |xml| {
        xml.value("software", "Halfbar");
        // What the file leaves out on purpose, and what it has throughout.
        let supports: [&[_]; 4] = [
            &[("element", "accidental"), ("type", "yes")],
            &[("element", "beam"), ("type", "yes")],
            &[("element", "print"), ("attribute", "new-system"), ("type", "yes"), ("value", "yes")],
            &[("element", "stem"), ("type", "no")],
        ];
        supports.iter().for_each(|attributes| xml.empty("supports", attributes));
    });
    if !text.is_empty() {
        xml.within("miscellaneous", &[], |xml| {
            xml.text("miscellaneous-field", &[("name", TEXT_FIELD)], text);
        });
    }
}

fn part(xml: &mut Xml) {
    xml.within("score-part", &[("id", PART)], |xml| {
        xml.value("part-name", "Guitar");
        xml.within("score-instrument", &[("id", INSTRUMENT)], |xml| xml.value("instrument-name", "Guitar"));
        xml.within("midi-instrument", &[("id", INSTRUMENT)], |xml| {
            xml.value("midi-channel", 1);
            xml.value("midi-program", PROGRAM);
        });
    });
}

/// The units of time per quarter note in a piece's file. Above [`MOST_DIVISIONS`], some programs may refuse it: that takes tuplets of five,
/// seven and three together with short notes.
///
/// # Errors
/// [`Error`](crate::Error) for times out of range.
pub fn divisions(piece: &Piece) -> Result<i64> {
    Ok(sheet::divisions(piece)?)
}

/// The same as [`document`] as a compressed file (`.mxl`).
///
/// # Errors
/// As [`document`].
pub fn compressed(piece: &Piece, text: &str, staves: Staves) -> Result<Vec<u8>> {
    Ok(container::pack(&document(piece, text, staves)?)?)
}
