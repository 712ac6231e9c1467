//! Why there is nothing to suggest, and what would help.

use crate::bars::BarsError;
use crate::hand::FingeringError;
use crate::line::LineError;
use crate::naming::one_of;
use crate::notate::NotateError;
use crate::recast::RecastError;
use crate::time::TimeError;

use super::density::Density;

/// The error for a line that there is nothing to suggest for.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AdviseError {
    /// No chord symbols.
    #[error(
        "there are no chords, and half of the advice depends on where they change: write them before their notes, such as `@Fm7`"
    )]
    NoChords,
    /// A figure that doesn't go anywhere in the line.
    #[error(
        "no half-bar can be recast as `{figure}` with all its notes and landings in place: {}",
        instead(others)
    )]
    NoWindow {
        /// The figure's name.
        figure: String,
        /// Figures that go somewhere in the line.
        others: Vec<String>,
    },
    /// A figure that goes only where the line is recast already.
    #[error(
        "every half-bar that could be recast as `{figure}` is recast already: remove a figure first, or choose another one"
    )]
    Taken {
        /// The figure's name.
        figure: String,
    },
    /// A density at which nothing is worth recasting, or at which enough is recast already.
    #[error(
        "no half-bar is worth recasting as `{figure}` at the density `{density}`: those left are too close to one that is already recast, \
         or there is more against them than for them; try `{enough}`"
    )]
    Enough {
        /// The figure's name.
        figure: String,
        /// The density asked for.
        density: Density,
        /// The lowest density at which there is something to suggest.
        enough: Density,
    },
    /// A casting that the line can't take.
    #[error(transparent)]
    Recast(#[from] RecastError),
    /// A rhythm that can't be written.
    #[error(transparent)]
    Notate(#[from] NotateError),
    /// A line that can't be played.
    #[error(transparent)]
    Fingering(#[from] FingeringError),
    /// A place or time that the line doesn't have.
    #[error(transparent)]
    Line(#[from] LineError),
}

fn instead(others: &[String]) -> String {
    match others {
        [] => "write a half-bar of eighths first".into(),
        others => {
            let names: Vec<&str> = others.iter().map(String::as_str).collect();
            format!("choose {}", one_of(&names))
        }
    }
}

impl AdviseError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            AdviseError::NoChords => "no-chords",
            AdviseError::NoWindow { .. } => "no-window",
            AdviseError::Taken { .. } => "taken",
            AdviseError::Enough { .. } => "enough",
            AdviseError::Recast(error) => error.code(),
            AdviseError::Notate(error) => error.code(),
            AdviseError::Fingering(error) => error.code(),
            AdviseError::Line(error) => error.code(),
        }
    }
}

impl From<BarsError> for AdviseError {
    fn from(error: BarsError) -> AdviseError {
        AdviseError::Line(error.into())
    }
}

impl From<TimeError> for AdviseError {
    fn from(error: TimeError) -> AdviseError {
        AdviseError::Line(error.into())
    }
}

pub(super) type Result<T> = std::result::Result<T, AdviseError>;
