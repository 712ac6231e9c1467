//! Why to recast a half-bar, or why not.

use std::fmt;

use crate::chord::ChordSymbol;
use crate::harmony::symbol;
use crate::neck::Position;

use super::weights;

/// Something that speaks for recasting a half-bar, or against it. *Quick* notes are those of the figure that are shorter than an eighth.
///
/// It is written as a short phrase in the words of the trade (common practice, no source).
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum Reason {
    /// It ends where the chord changes.
    IntoChange {
        /// The new chord.
        to: ChordSymbol,
    },
    /// It holds the last note of a phrase, or leads straight to it.
    EndsPhrase,
    /// It holds the first note of a phrase, or comes straight after it.
    StartsPhrase,
    /// Its notes are those of one name.
    OneName {
        /// What the name says.
        says: String,
    },
    /// Some of its notes share a name with notes outside of it.
    CutsName {
        /// What the name says.
        says: String,
    },
    /// Quick notes that follow each other lie on one string.
    OneString,
    /// Quick notes that follow each other lie on one string or go from string to neighboring string one way.
    Swept,
    /// The fretting hand shifts among quick notes.
    Shift {
        /// Where it goes.
        to: Position,
    },
    /// A string is skipped among quick notes.
    Skip,
    /// Quick notes are hard to play at this tempo.
    Fast {
        /// How long the shortest one lasts as played, in milliseconds.
        ms: u16,
    },
    /// The same place in the bar before is recast.
    SameSpot,
}

impl Reason {
    /// A short name that stays the same when the words change.
    pub fn name(&self) -> &'static str {
        match self {
            Reason::IntoChange { .. } => "into-change",
            Reason::EndsPhrase => "ends-phrase",
            Reason::StartsPhrase => "starts-phrase",
            Reason::OneName { .. } => "one-name",
            Reason::CutsName { .. } => "cuts-name",
            Reason::OneString => "one-string",
            Reason::Swept => "swept",
            Reason::Shift { .. } => "shift",
            Reason::Skip => "skip",
            Reason::Fast { .. } => "fast",
            Reason::SameSpot => "same-spot",
        }
    }

    /// How much it counts: above zero for recasting, below zero against it.
    pub fn weight(&self) -> i32 {
        match self {
            Reason::IntoChange { .. } => weights::INTO_CHANGE,
            Reason::EndsPhrase => weights::ENDS_PHRASE,
            Reason::StartsPhrase => weights::STARTS_PHRASE,
            Reason::OneName { .. } => weights::ONE_NAME,
            Reason::CutsName { .. } => weights::CUTS_NAME,
            Reason::OneString | Reason::Swept => weights::EASY,
            Reason::Shift { .. } | Reason::Skip => weights::AWKWARD,
            Reason::Fast { .. } => weights::FAST,
            Reason::SameSpot => weights::SAME_SPOT,
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reason::IntoChange { to } => write!(f, "leads into the change to {}", symbol(to)),
            Reason::EndsPhrase => f.write_str("ends a phrase"),
            Reason::StartsPhrase => f.write_str("starts a phrase"),
            Reason::OneName { says } => write!(f, "is one group: {says}"),
            Reason::CutsName { says } => write!(f, "cuts a group: {says}"),
            Reason::OneString => f.write_str("quick notes on one string"),
            Reason::Swept => f.write_str("quick notes that can be swept"),
            Reason::Shift { to } => write!(f, "shift to position {to} among the quick notes"),
            Reason::Skip => f.write_str("string skip among the quick notes"),
            Reason::Fast { ms } => write!(f, "quick notes last only {ms} ms at this tempo"),
            Reason::SameSpot => f.write_str("same spot as in the bar before"),
        }
    }
}
