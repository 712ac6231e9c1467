//! Piece -> MusicXML.

use crate::exchange::container;
use crate::exchange::error::Result;
use crate::piece::Piece;

/// The staves that are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum Staves {
    /// Notation above tab.
    #[default]
    Both,
    /// Notation alone, with strings and frets at its notes.
    Staff,
}

/// A piece as a MusicXML file. `text` is the line's own text, which travels in the file.
///
/// # Errors
/// [`Error`](crate::Error) for times out of range.
pub fn document(_piece: &Piece, _text: &str, _staves: Staves) -> Result<String> {
    Ok(String::new())
}

/// The same as a compressed file (`.mxl`).
///
/// # Errors
/// As [`document`].
pub fn compressed(piece: &Piece, text: &str, staves: Staves) -> Result<Vec<u8>> {
    Ok(container::pack(&document(piece, text, staves)?)?)
}
