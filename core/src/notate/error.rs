//! Why a rhythm can't be written.

use crate::bars::{BarsError, Place};
use crate::time::TimeError;

/// The error for a line in time that can't be notated.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NotateError {
    /// A rhythm that can't be written with note values, dots, ties and tuplets.
    #[error("{}: this rhythm can't be written: use 64th notes or longer, and tuplets of 3, 5, 6 or 7", place.spoken())]
    Unwritable {
        /// The bar and beat where it starts.
        place: Place,
    },
    /// A place or time that doesn't exist.
    #[error(transparent)]
    Bars(#[from] BarsError),
}

impl NotateError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            NotateError::Unwritable { .. } => "unwritable",
            NotateError::Bars(error) => error.code(),
        }
    }
}

impl From<TimeError> for NotateError {
    fn from(error: TimeError) -> NotateError {
        NotateError::Bars(error.into())
    }
}

pub(super) type Result<T> = std::result::Result<T, NotateError>;
