//! Why something can't be performed.

use crate::bars::BarsError;
use crate::time::TimeError;

/// The longest take, in minutes. It is made in one piece, at 11 MB per minute.
pub const LONGEST_MINUTES: i64 = 20;

/// The error for a line that can't be performed as asked.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PerformError {
    /// A take that is empty or too long.
    #[error(
        "a take can't be empty or last more than {LONGEST_MINUTES} minutes, including count-in and repeats"
    )]
    Take,
    /// A place or time that doesn't exist.
    #[error(transparent)]
    Bars(#[from] BarsError),
}

impl PerformError {
    /// A short identifier that stays the same when the message is reworded.
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
