//! What can go wrong with a MIDI file.

/// Why a MIDI file can't be read or written.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MidiError {
    /// A file without notes.
    #[error("there are no notes in this file")]
    Empty,
}
