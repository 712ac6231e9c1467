//! Why a chord symbol is refused, and what to write instead.

use crate::naming::{quoted, remedy};

use super::Degree;

/// Why a chord symbol, its quality or a degree is refused.
///
/// Text without a root is not a symbol ([`ChordError::Symbol`]). All other variants are about the quality: the symbol is kept as written,
/// and [`Chord::quality`](super::Chord::quality) returns the error.
#[derive(Clone, PartialEq, Eq, Hash, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ChordError {
    /// No root, or a bass that is not a pitch name.
    #[error(
        "`{text}` is not a chord: {}",
        remedy(instead.as_deref(), "a root, a quality and perhaps a bass, such as `Fm7` or `Bb7alt/D`")
    )]
    Symbol {
        /// The text that was read.
        text: String,
        /// What to write instead, if that is clear.
        instead: Option<String>,
    },
    /// Letters without a meaning.
    #[error(
        "`{text}` has no meaning in a chord symbol; write qualities such as `m7b5`, `maj7#11`, `7(b9,b13)`, `9sus`, `6/9`, `(add9)`"
    )]
    Unread {
        /// The letters.
        text: String,
    },
    /// A sign that players use for two different chords.
    #[error("`{text}` can mean `{first}` or `{second}`: write the one you mean")]
    Ambiguous {
        /// The text that was read.
        text: String,
        /// One chord.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// A sign in the wrong place.
    #[error(
        "`{text}` can't be here: `m`, `dim` and `aug` come right after the root, and `,` only inside parentheses"
    )]
    Misplaced {
        /// The sign.
        text: String,
    },
    /// Two sevenths, or a sixth and a seventh.
    #[error(
        "`{text}` is a second sixth or seventh: a chord has just one, with 9, 11 and 13 above it, such as `m(maj7)`, `13` or `7(add13)`"
    )]
    TwoSevenths {
        /// The second one.
        text: String,
    },
    /// `alt` with other signs.
    #[error(
        "`alt` is a complete dominant seventh chord: write just `7alt`, or spell out each alteration, such as `maj7#5`"
    )]
    Alt,
    /// A suspension in a chord that has no third to suspend.
    #[error(
        "`sus` replaces a major third, and this chord has none: write `7sus`, or add the note instead, such as `m7(add11)`"
    )]
    Suspended,
    /// The same degree twice, or both altered and natural.
    #[error("the {number} is already there: write it once, natural or altered, such as `13b9` or `9#11`")]
    Twice {
        /// Its number.
        number: u8,
    },
    /// Two degrees that no chord has together.
    #[error("a chord has `{0}` or `{1}`, not both")]
    Both(Degree, Degree),
    /// Two names for one sound.
    #[error("`{0}` and `{1}` are the same sound: write one of them")]
    SameSound(Degree, Degree),
    /// A number that is not a degree of chords.
    #[error(
        "a chord has no {text}: {}",
        remedy(*instead, "5, 6, 7, 9, 11 or 13, altered as b5, #5, b9, #9, #11 or b13, or added, such as `add9`")
    )]
    NoDegree {
        /// The text that was read.
        text: String,
        /// What to write instead, if that is clear.
        instead: Option<&'static str>,
    },
    /// A ninth, eleventh or thirteenth without what is under it.
    #[error(
        "a {degree} needs a sixth or a seventh under it: write `7({degree})`, or `add{degree}` for a triad with that note"
    )]
    NoSeventh {
        /// The degree.
        degree: Degree,
    },
    /// `5` after something else.
    #[error("`5` means just a root and its fifth, and comes right after the root: `C5`")]
    Power,
    /// A major seventh without its number.
    #[error("a major seventh over this triad is written with its number, such as `m(maj7)`")]
    NoNumber,
    /// Leaving out a degree that isn't there.
    #[error("there is no {number} here to leave out; 3, 5, 9 and 11 can be left out")]
    NotThere {
        /// Its number.
        number: u8,
    },
    /// An unmatched or empty parenthesis.
    #[error("parentheses come in pairs, with something in between, such as `7(b9)`")]
    Parentheses,
    /// Nothing but the root.
    #[error("a chord needs at least one note besides its root")]
    Alone,
}

/// What to write for degrees that are numbered differently.
const INSTEAD: [(&str, &str); 11] = [
    ("b2", "b9"),
    ("#2", "#9"),
    ("b3", "m"),
    ("#4", "#11"),
    ("b6", "b13"),
    ("bb7", "dim7"),
    ("b7", "7"),
    ("#7", "maj7"),
    ("b10", "#9"),
    ("#13", "7"),
    ("add6", "6"),
];

impl ChordError {
    pub(super) fn symbol(text: &str, instead: Option<String>) -> ChordError {
        ChordError::Symbol { text: quoted(text), instead }
    }

    pub(super) fn no_degree(text: &str) -> ChordError {
        let instead = INSTEAD.iter().find(|(wrong, _)| *wrong == text).map(|(_, right)| *right);
        ChordError::NoDegree { text: quoted(text), instead }
    }
}
