//! Bytes -> what kind of file it is, decompressed and decoded; and MusicXML -> a compressed file.

use std::borrow::Cow;

/// Why a file can't be taken apart.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ContainerError {
    /// Neither kind of file.
    #[error("this is neither MusicXML nor MIDI: open a .musicxml, .xml, .mxl or .mid file")]
    Unknown,
}

/// What is in a file.
pub(super) enum Body<'a> {
    /// The text of a MusicXML file.
    Xml(Cow<'a, str>),
    /// A MIDI file.
    Midi(&'a [u8]),
}

/// Takes a file apart, by its content.
pub(super) fn unpack(_bytes: &[u8]) -> Result<Body<'_>, ContainerError> {
    Err(ContainerError::Unknown)
}

/// A compressed MusicXML file (`.mxl`).
pub(super) fn pack(_xml: &str) -> Vec<u8> {
    Vec::new()
}
