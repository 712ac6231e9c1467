//! Piece -> MIDI.

use crate::exchange::error::Result;
use crate::perform::Metronome;
use crate::piece::Piece;

/// What a MIDI file has besides the line.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct MidiOptions {
    /// Whether notes have their written times instead of the performed ones.
    pub straight: bool,
    /// The clicks, if there are any.
    pub click: Option<Metronome>,
    /// How many bars are counted in.
    pub count_in: u8,
    /// Whether the chords are played, too.
    pub comp: bool,
}

/// A piece as a MIDI file. `text` is the line's own text, which travels in the file.
///
/// # Errors
/// [`Error`](crate::Error) for times out of range.
pub fn document(_piece: &Piece, _text: &str, _options: &MidiOptions) -> Result<Vec<u8>> {
    Ok(Vec::new())
}
