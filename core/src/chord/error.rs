//! Why a chord symbol is refused, and what to write instead.

use crate::naming::{quoted, remedy};

use super::Degree;

/// Why a chord symbol, its quality or a degree is refused.
///
/// A symbol without a root is no symbol ([`ChordError::Symbol`]). All else is about its quality: the symbol still stands as it is written,
/// and [`Chord::quality`](super::Chord::quality) gives the reason.
#[derive(Clone, PartialEq, Eq, Hash, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ChordError {
    /// No root, or a bass that is not a name.
    #[error(
        "`{text}` is not a chord: {}",
        remedy(instead.as_deref(), "a root, a quality and perhaps a bass, such as `Fm7` or `Bb7alt/D`")
    )]
    Symbol {
        /// What was read.
        text: String,
        /// What was meant, where that can be told.
        instead: Option<String>,
    },
    /// Letters that say nothing.
    #[error(
        "`{text}` says nothing in a chord symbol; qualities are written as in `m7b5`, `maj7#11`, `7(b9,b13)`, `9sus`, `6/9`, `(add9)`"
    )]
    Unread {
        /// The letters.
        text: String,
    },
    /// What players use for two chords.
    #[error("`{text}` can mean `{first}` or `{second}`: write the one you mean")]
    Ambiguous {
        /// What was read.
        text: String,
        /// One chord.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// A sign in a place where it says nothing.
    #[error(
        "`{text}` can't stand here: what makes a chord minor, diminished or augmented follows its root, and `,` stands in parentheses"
    )]
    Misplaced {
        /// The sign.
        text: String,
    },
    /// Two sevenths, or a sixth and a seventh.
    #[error(
        "`{text}` is a second sixth or seventh: a chord has one, with 9, 11 and 13 above it, such as `m(maj7)`, `13` or `7(add13)`"
    )]
    TwoSevenths {
        /// The second one.
        text: String,
    },
    /// `alt` with other signs.
    #[error(
        "`alt` alters a dominant seventh and says all of it: write `7alt`, or each alteration, such as `maj7#5`"
    )]
    Alt,
    /// A suspension in a chord that has no third to suspend.
    #[error(
        "`sus` takes the place of a major third: write it as in `7sus`, or add to what is there, such as `m7(add11)`"
    )]
    Suspended,
    /// The same degree again, or altered and natural.
    #[error("the {number} is there already: write it once, natural or altered, such as `13b9` or `9#11`")]
    Twice {
        /// Its number.
        number: u8,
    },
    /// Two degrees that no chord has together.
    #[error("a chord has `{0}` or `{1}`, and not both")]
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
        /// What was read.
        text: String,
        /// What to write for it, where there is one thing.
        instead: Option<&'static str>,
    },
    /// A ninth, eleventh or thirteenth without what is under it.
    #[error(
        "a {degree} stands over a sixth or a seventh: write it as in `7({degree})`, or `add{degree}` for the triad with that note"
    )]
    NoSeventh {
        /// The degree.
        degree: Degree,
    },
    /// `5` after something else.
    #[error("`5` is a root and its fifth alone, and follows the root: `C5`")]
    Power,
    /// A seventh that isn't said.
    #[error("a major seventh over this triad is written with its number, such as `m(maj7)`")]
    NoNumber,
    /// A degree is left out that isn't there.
    #[error("there is no {number} here to leave out; a chord can do without 3, 5, 9 or 11")]
    NotThere {
        /// Its number.
        number: u8,
    },
    /// A parenthesis without the other.
    #[error("parentheses stand in pairs, with something between, such as `7(b9)`")]
    Parentheses,
    /// Nothing besides the root.
    #[error("a chord has a note besides its root")]
    Alone,
}

/// What is meant by degrees that are counted otherwise.
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
