//! Why a line can't be recast as asked, and where.

use crate::bars::{BarsError, Place};
use crate::line::LineError;
use crate::time::TimeError;

use super::windows::Refusal;

/// A casting that a line can't take.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RecastError {
    /// A window that can't be recast.
    #[error("{}: {why}", place.spoken())]
    Window {
        /// Where the window starts.
        place: Place,
        /// Why not, in a musician's words.
        why: Refusal,
    },
    /// A line, a place or a time that there is not.
    #[error(transparent)]
    Line(#[from] LineError),
}

impl RecastError {
    /// A short name that stays the same when the words change.
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
