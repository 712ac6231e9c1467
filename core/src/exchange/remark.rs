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
            Remark::LeftOut { what, count } => write!(f, "left out: {}", Counted(*count, what)),
            Remark::Filled { bars } => write!(f, "filled up with rests: {}", Counted(*bars, "short bar")),
            Remark::Joined { bars } => write!(f, "joined: the parts of {}", Counted(*bars, "bar")),
            Remark::Unplayable { notes } => write!(
                f,
                "replaced: strings, frets or fingers that this neck can't have, for {}",
                Counted(*notes, "note")
            ),
            Remark::Edited => f.write_str(
                "the music was changed after Halfbar wrote it: its notes are the file's, its headings are those of its text",
            ),
        }
    }
}

/// A number of things: `1 repeat`, `2 notes of another part`.
struct Counted(usize, &'static str);

impl fmt::Display for Counted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let &Counted(count, what) = self;
        // What is counted comes before anything that is said about it.
        let after = [" of ", " on ", " in ", " out ", " that ", " sounding "];
        let end = after.iter().filter_map(|word| what.find(word)).min().unwrap_or(what.len());
        let (things, said) = what.split_at(end);
        write!(f, "{count} {things}{}{said}", if count == 1 { "" } else { "s" })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_counted_is_said_in_words() {
        let said = |what, count| Remark::LeftOut { what, count }.to_string();
        assert_eq!(said("repeat", 1), "left out: 1 repeat");
        assert_eq!(said("dynamic mark", 2), "left out: 2 dynamic marks");
        assert_eq!(said("note of another part", 3), "left out: 3 notes of another part");
        assert_eq!(Remark::Joined { bars: 1 }.to_string(), "joined: the parts of 1 bar");
    }
}
