//! Why a rhythm can't be written.

use crate::bars::{BarsError, Place};
use crate::time::TimeError;

/// A line in time that has no notation.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NotateError {
    /// A rhythm that no note values, dots, ties and tuplets write.
    #[error("{}: this rhythm can't be written with notes down to 64ths and tuplets of 3, 5, 6 and 7", place.spoken())]
    Unwritable {
        /// The bar, and the beat where it starts.
        place: Place,
    },
    /// A place or a time that there is not.
    #[error(transparent)]
    Bars(#[from] BarsError),
}

impl NotateError {
    /// A short name that stays the same when the words change.
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
