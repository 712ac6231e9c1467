//! What can go wrong with a MusicXML file.

use std::fmt;

use crate::bars::Place;
use crate::meter::Meter;
use crate::time::Duration;

/// Why a MusicXML file can't be read.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MusicXmlError {
    /// A file without notes.
    #[error("there are no notes in this file")]
    Empty,
    /// Text that isn't XML.
    #[error("this file is damaged in row {row}, column {column}: {why}; export it again")]
    Damaged {
        /// The row of the text, from 1.
        row: u32,
        /// The column, from 1.
        column: u32,
        /// What is wrong there.
        why: String,
    },
    /// A document type with declarations of its own, which could make a small file enormous.
    #[error("this file declares entities of its own, which are not read; export it again without them")]
    Declarations,
    /// XML of another kind.
    #[error(
        "this is XML but not MusicXML: it starts with `{root}` instead of `score-partwise` or `score-timewise`"
    )]
    Other {
        /// The name of its outermost element.
        root: String,
    },
    /// More attributes than are read.
    #[error(
        "an element in this file has more than {allowed} attributes, which MusicXML never needs; export it again"
    )]
    Attributes {
        /// The most that are read.
        allowed: usize,
    },
    /// More elements than are read.
    #[error("this file has more than {allowed} elements; export fewer bars or parts")]
    Nodes {
        /// The most that are read.
        allowed: u32,
    },
    /// Elements within elements, more than any music needs.
    #[error(
        "this file has elements more than {allowed} levels deep, which MusicXML never needs; export it again"
    )]
    Deep {
        /// The most that are read.
        allowed: u16,
    },
    /// More bars than are read.
    #[error("this file has {bars} bars, and a line can have {allowed}; export fewer of them")]
    Bars {
        /// How many there are.
        bars: usize,
        /// The most that are read.
        allowed: usize,
    },
    /// A meter that a line can't have.
    #[error("{spot}: the meter {text} is not supported; those that are: {}", Meter::allowed())]
    Meter {
        /// Where it starts.
        spot: Spot,
        /// The meter as the file has it.
        text: String,
    },
    /// A bar with more in it than its meter allows.
    #[error("{spot}: this bar is {length} quarter notes long, but a bar of {meter} has {}; correct its meter or split it", meter.bar())]
    Long {
        /// The bar.
        spot: Spot,
        /// How long it is.
        length: Duration,
        /// Its meter.
        meter: Meter,
    },
    /// A note that is lower or higher than half steps can say.
    #[error(
        "{spot}: this note lies between two frets, which can't be written here; change it to a half step"
    )]
    Microtone {
        /// Where it starts.
        spot: Spot,
    },
    /// A note without a pitch, as for a drum.
    #[error("{spot}: this note has no pitch; choose a part with pitches")]
    Unpitched {
        /// Where it starts.
        spot: Spot,
    },
    /// A note whose pitch can't be read or heard.
    #[error("{spot}: the pitch of this note can't be read or is out of range")]
    Pitch {
        /// Where it starts.
        spot: Spot,
    },
    /// A note or rest without a length.
    #[error("{spot}: the length of this note can't be read; export the file again")]
    Length {
        /// Where it starts.
        spot: Spot,
    },
}

/// A place in a file: a part, a bar as the file numbers it, and a beat from 1.
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
pub struct Spot {
    /// The name of the part; empty if it has none.
    pub part: String,
    /// What the file calls the bar, usually a number.
    pub bar: String,
    /// The beat, from 1, in units of the meter.
    pub beat: Duration,
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.part.is_empty() {
            write!(f, "{}, ", self.part)?;
        }
        match self.bar.parse() {
            Ok(bar) => write!(f, "{}", Place { bar, beat: self.beat }.spoken()),
            Err(_) => write!(f, "bar {} {}", self.bar, Place { bar: 0, beat: self.beat }.beat_spoken()),
        }
    }
}
