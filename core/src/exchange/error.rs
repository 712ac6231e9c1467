//! What can go wrong with a file.

use crate::error::Error;

use super::container::ContainerError;
use super::midi::MidiError;
use super::musicxml::MusicXmlError;

/// The result type of this module.
pub type Result<T> = std::result::Result<T, ExchangeError>;

/// Why a file can't be read or written.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ExchangeError {
    /// What is around the music: the kind of file, its encoding, its compression.
    #[error(transparent)]
    Container(#[from] ContainerError),
    /// A MusicXML file.
    #[error(transparent)]
    MusicXml(#[from] MusicXmlError),
    /// A MIDI file.
    #[error(transparent)]
    Midi(#[from] MidiError),
    /// Music that a line can't have.
    #[error(transparent)]
    Music(#[from] Error),
}
