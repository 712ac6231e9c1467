//! What can go wrong with a MusicXML file.

/// Why a MusicXML file can't be read.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MusicXmlError {
    /// A file without notes.
    #[error("there are no notes in this file")]
    Empty,
}
