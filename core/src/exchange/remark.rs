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
    /// Bars that were shorter than their meter and are filled with rests.
    Filled {
        /// How many bars there are.
        bars: usize,
    },
    /// Parts of bars that were joined into full ones.
    Joined {
        /// How many full bars there are.
        bars: usize,
    },
    /// Strings, frets and fingers that the neck or the hand can't have there.
    Unplayable {
        /// How many notes had them.
        notes: usize,
    },
    /// The line's own text in the file has other notes than the file.
    Edited,
}

impl fmt::Display for Remark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remark::LeftOut { what, count } => write!(f, "left out: {what} ({count})"),
            Remark::Filled { bars } => write!(f, "filled up with rests: short bars ({bars})"),
            Remark::Joined { bars } => write!(f, "joined: bars that were in parts ({bars})"),
            Remark::Unplayable { notes } => {
                write!(f, "chosen anew: strings, frets or fingers that this neck can't have ({notes})")
            }
            Remark::Edited => f.write_str(
                "the music was changed after Halfbar wrote it: its notes are the file's, its headings are those of its text",
            ),
        }
    }
}
