//! What can go wrong with a file.

use crate::bars::{BarsError, Place};
use crate::error::Error;
use crate::pitch::Pitch;
use crate::time::TimeError;

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
    /// A choice that the file doesn't have.
    #[error("this file has no such voice; `--list` says what it has")]
    NoVoice,
    /// Notes that would be out of reach of any instrument.
    #[error("that many octaves higher or lower, the notes can't be heard")]
    Octaves,
    /// Notes that sound together, where one has to be chosen.
    #[error("{}: two notes sound together; take the top one, the bottom one, or another voice", place.spoken())]
    Together {
        /// Where the second one starts.
        place: Place,
    },
    /// A note that the neck doesn't have.
    #[error("{}: {pitch} is {} this neck, from {lowest} to {highest}{}", place.spoken(), if *octaves > 0 { "below" } else { "above" }, remedy(*octaves, *fits))]
    OffNeck {
        /// Where it starts.
        place: Place,
        /// The note.
        pitch: Pitch,
        /// The lowest note of the neck.
        lowest: Pitch,
        /// The highest note of the neck.
        highest: Pitch,
        /// How many octaves higher it would be on the neck; negative for lower.
        octaves: i8,
        /// Whether all other notes would be, too.
        fits: bool,
    },
    /// Music that a line can't have.
    #[error(transparent)]
    Music(#[from] Error),
}

impl From<BarsError> for ExchangeError {
    fn from(error: BarsError) -> ExchangeError {
        ExchangeError::Music(error.into())
    }
}

impl From<TimeError> for ExchangeError {
    fn from(error: TimeError) -> ExchangeError {
        ExchangeError::Music(error.into())
    }
}

fn remedy(octaves: i8, fits: bool) -> String {
    let much = match octaves.unsigned_abs() {
        1 => "an octave".to_string(),
        many => format!("{many} octaves"),
    };
    match (fits, octaves > 0) {
        (true, true) => format!("; take all notes {much} higher (`--octave {octaves}`)"),
        (true, false) => format!("; take all notes {much} lower (`--octave {octaves}`)"),
        (false, _) => "; the notes span more than the neck has, whatever the octave".to_string(),
    }
}
