//! What came out differently than asked.

use std::fmt;

use crate::bars::Place;
use crate::chord::{ChordSymbol, Degree};
use crate::drill::{Folded, Renamed};
use crate::naming::{all_of, number};
use crate::neck::Fret;
use crate::pitch::{Pitch, PitchName};

use super::error::notes as count_of;

/// What is different in a line than asked, or couldn't be known from what was asked.
#[derive(Clone, PartialEq, Eq, Debug)]
#[non_exhaustive]
pub enum Remark {
    /// Names that were avoided because others are easier to read.
    Renamed(Renamed),
    /// A shape that is in another octave than the ones around it.
    Folded(Folded),
    /// Degrees of a symbol that its shape doesn't have.
    LeftOut {
        /// Where the chord starts.
        place: Place,
        /// The symbol.
        symbol: ChordSymbol,
        /// What is left out.
        degrees: Vec<Degree>,
    },
    /// A bass that is none of the tones of its symbol's shape.
    NoBass {
        /// Where the chord starts.
        place: Place,
        /// The symbol.
        symbol: ChordSymbol,
        /// Its bass.
        bass: PitchName,
    },
    /// A chord that is too short for all tones of its shape.
    Short {
        /// Where the chord starts.
        place: Place,
        /// The symbol.
        symbol: ChordSymbol,
        /// How many notes there is room for.
        notes: usize,
    },
    /// A chord that has no scale of seven tones, and so gets its own shape.
    OwnShape {
        /// Where the chord starts.
        place: Place,
        /// The symbol.
        symbol: ChordSymbol,
    },
    /// A time without a chord, which is left silent.
    Silent {
        /// Where it starts.
        place: Place,
    },
    /// A scale that is played only in part, since the strings asked for don't have all of its tones in between.
    Gap {
        /// The lowest note.
        lowest: Pitch,
        /// The highest note.
        highest: Pitch,
    },
    /// A scale that goes above the highest fret asked for, to cover all strings.
    Above {
        /// The highest fret that it takes.
        fret: Fret,
    },
    /// A scale that starts from another tone than its tonic, to stay at or below the highest fret asked for.
    OffTonic {
        /// The first note.
        first: Pitch,
    },
}

impl fmt::Display for Remark {
    /// A sentence without a period.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Remark::Renamed(renamed) => f.write_str(&renamed.remark()),
            Remark::Folded(Folded { place, octaves }) => {
                let (count, way) = (number(octaves.abs().into()), if *octaves > 0 { "up" } else { "down" });
                let unit = if octaves.abs() == 1 { "octave" } else { "octaves" };
                let place = place.spoken();
                write!(
                    f,
                    "{place}: the shape that starts here is {count} {unit} {way}, to stay on the part of the neck you chose"
                )
            }
            Remark::LeftOut { place, symbol, degrees } => {
                write!(f, "{}: the shape for {symbol} leaves out the {}", place.spoken(), all_of(degrees))
            }
            Remark::NoBass { place, symbol, bass } => {
                write!(f, "{}: the shape for {symbol} leaves out the {bass} in the bass", place.spoken())
            }
            Remark::Short { place, symbol, notes } => {
                let notes = count_of(*notes);
                write!(f, "{}: {symbol} is too short for all its tones and gets {notes}", place.spoken())
            }
            Remark::OwnShape { place, symbol } => {
                write!(
                    f,
                    "{}: {symbol} has no scale of seven tones, so it gets its own shape",
                    place.spoken()
                )
            }
            Remark::Silent { place } => {
                write!(f, "{}: there is no chord here, so there are no notes", place.spoken())
            }
            Remark::Gap { lowest, highest } => {
                write!(
                    f,
                    "it goes only from {lowest} to {highest}: the strings you chose leave a gap beyond that"
                )
            }
            Remark::Above { fret } => {
                write!(
                    f,
                    "it goes above the highest fret you chose, up to fret {}, to cover all strings",
                    fret.0
                )
            }
            Remark::OffTonic { first } => {
                write!(
                    f,
                    "it starts from {first}: from the tonic, it would go above the highest fret you chose"
                )
            }
        }
    }
}
