//! What a file has that its line doesn't, and what was changed.

use std::fmt;

/// One thing that was left out or changed, counted.
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum Remark {
    /// Things of one kind that a line can't have.
    LeftOut {
        /// What they are, in the singular: `repeat`, `lyric`.
        what: &'static str,
        /// How many there are.
        count: usize,
    },
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remark::LeftOut { what, count } => write!(f, "left out: {what} ({count})"),
        }
    }
}
