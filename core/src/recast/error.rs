//! Why a line can't be recast as asked, and where.

use crate::bars::{BarsError, Place};
use crate::line::LineError;
use crate::time::TimeError;

use super::windows::Refusal;

/// The error for a casting that a line can't take.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecastError {
    /// A window that can't be recast.
    #[error("{}: {why}", place.spoken())]
    Window {
        /// Where the window starts.
        place: Place,
        /// Why not, in terms a musician understands.
        why: Refusal,
    },
    /// A line, place or time that doesn't exist.
    #[error(transparent)]
    Line(#[from] LineError),
}

impl RecastError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            RecastError::Window { .. } => "window",
            RecastError::Line(error) => error.code(),
        }
    }
}

impl From<BarsError> for RecastError {
    fn from(error: BarsError) -> RecastError {
        RecastError::Line(error.into())
    }
}

impl From<TimeError> for RecastError {
    fn from(error: TimeError) -> RecastError {
        RecastError::Line(error.into())
    }
}

pub(super) type Result<T> = std::result::Result<T, RecastError>;
