//! Why an exercise can't be made, and where.

use crate::bars::{BarsError, Place};
use crate::hand::FingeringError;
use crate::line::LineError;
use crate::neck::Strings;
use crate::notate::NotateError;
use crate::pitch::{MidiKey, Pitch};
use crate::recast::RecastError;
use crate::time::TimeError;

/// An exercise that can't be made.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DrillError {
    /// A passage that holds no shape.
    #[error("{}: there is no note in this passage, so there is no shape to move", place.spoken())]
    Silent {
        /// Where the passage starts.
        place: Place,
    },
    /// A copy that is too wide for the neck, or lies across its end in every octave.
    #[error(
        "{}: the copy that starts here goes beyond {lowest} to {highest}{} in every octave; in the first one tried, {pitch} does",
        place.spoken(),
        strings.map(|strings| format!(" on strings {strings}")).unwrap_or_default()
    )]
    NoOctave {
        /// Where the copy starts.
        place: Place,
        /// The first of its notes that is out of range before any move by octaves.
        pitch: Pitch,
        /// The lowest key.
        lowest: MidiKey,
        /// The highest key.
        highest: MidiKey,
        /// The strings that may be used, if not all.
        strings: Option<Strings>,
    },
    /// A casting that the exercise can't take.
    #[error(transparent)]
    Recast(#[from] RecastError),
    /// A rhythm that can't be written.
    #[error(transparent)]
    Notate(#[from] NotateError),
    /// A line that can't be played as asked.
    #[error(transparent)]
    Fingering(#[from] FingeringError),
}

impl DrillError {
    /// A short name that stays the same when the words change.
    pub fn code(&self) -> &'static str {
        match self {
            DrillError::Silent { .. } => "silent",
            DrillError::NoOctave { .. } => "no-octave",
            DrillError::Recast(error) => error.code(),
            DrillError::Notate(error) => error.code(),
            DrillError::Fingering(error) => error.code(),
        }
    }
}

impl From<LineError> for DrillError {
    fn from(error: LineError) -> DrillError {
        DrillError::Recast(error.into())
    }
}

impl From<BarsError> for DrillError {
    fn from(error: BarsError) -> DrillError {
        DrillError::Recast(error.into())
    }
}

impl From<TimeError> for DrillError {
    fn from(error: TimeError) -> DrillError {
        DrillError::Recast(error.into())
    }
}

pub(super) type Result<T> = std::result::Result<T, DrillError>;
