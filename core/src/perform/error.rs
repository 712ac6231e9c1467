//! Why something can't be played.

use crate::bars::BarsError;
use crate::time::TimeError;

use super::LONGEST_MINUTES;

/// A performance that there is not.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PerformError {
    /// A take that is endless or empty.
    #[error(
        "a take is longer than nothing and lasts {LONGEST_MINUTES} minutes at most, count-in and repeats included"
    )]
    Take,
    /// A place or a time that there is not.
    #[error(transparent)]
    Bars(#[from] BarsError),
}

impl PerformError {
    /// A short name that stays the same when the words change.
    pub fn code(&self) -> &'static str {
        match self {
            PerformError::Take => "take",
            PerformError::Bars(error) => error.code(),
        }
    }
}

impl From<TimeError> for PerformError {
    fn from(error: TimeError) -> PerformError {
        PerformError::Bars(error.into())
    }
}

pub(super) type Result<T> = std::result::Result<T, PerformError>;
