//! Why an exercise can't be made, and where.

use crate::bars::{BarsError, Place};
use crate::hand::FingeringError;
use crate::line::LineError;
use crate::neck::Strings;
use crate::notate::NotateError;
use crate::pitch::{MidiKey, Pitch};
use crate::recast::RecastError;
use crate::time::TimeError;

/// The error for an exercise that can't be made.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DrillError {
    /// A passage without notes.
    #[error("{}: there are no notes in this passage, so there is no shape to move", place.spoken())]
    Silent {
        /// Where the passage starts.
        place: Place,
    },
    /// A copy that is too wide for the neck, or runs past its end in every octave.
    #[error(
        "{}: the copy that starts here doesn't fit between {lowest} and {highest}{} in any octave; the first note out of range is {pitch}",
        place.spoken(),
        strings.map(|strings| format!(" on strings {strings}")).unwrap_or_default()
    )]
    NoOctave {
        /// Where the copy starts.
        place: Place,
        /// The first of its notes that is out of range, before any shift by octaves.
        pitch: Pitch,
        /// The lowest key available.
        lowest: MidiKey,
        /// The highest key available.
        highest: MidiKey,
        /// The strings allowed, if not all.
        strings: Option<Strings>,
    },
    /// A casting that the exercise can't take.
    #[error(transparent)]
    Recast(#[from] RecastError),
    /// A rhythm that can't be written.
    #[error(transparent)]
    Notate(#[from] NotateError),
    /// A line that can't be fingered as asked.
    #[error(transparent)]
    Fingering(#[from] FingeringError),
}

impl DrillError {
    /// A short identifier that stays the same when the message is reworded.
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
