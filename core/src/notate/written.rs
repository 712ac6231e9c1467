//! A line in notation: bars, symbols and what goes with them.

use std::ops::Range;

use crate::key::Key;
use crate::line::NoteId;
use crate::meter::Meter;
use crate::pitch::{Alter, Pitch};
use crate::time::{Duration, Onset, Span, TimeError};
use crate::value::{Base, NoteValue};

/// A line in notation, bar by bar.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Written {
    /// The bars in order.
    pub bars: Vec<WrittenBar>,
}

/// One bar in notation.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct WrittenBar {
    /// Its span, from the start of the line.
    pub span: Span,
    /// Its meter.
    pub meter: Meter,
    /// Its key.
    pub key: Key,
    /// How much of a full bar comes before its start: zero except in a pickup.
    pub begins: Duration,
    /// Notes and rests in order, each starting where the previous one ends.
    pub symbols: Vec<Symbol>,
    /// Tuplets, outer ones before the ones inside them.
    pub tuplets: Vec<Tuplet>,
}

/// A written note or rest. A sounding note may take several, tied together.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Symbol {
    /// The event that it writes.
    pub note: NoteId,
    /// When it starts, from the start of the bar; in a pickup, from where the full bar would have started.
    pub start: Duration,
    /// How long it lasts, with tuplets taken into account.
    pub length: Duration,
    /// How it looks: its shape and dots.
    pub value: NoteValue,
    /// The pitch; `None` for a rest.
    pub pitch: Option<Pitch>,
    /// Whether it is tied to the symbol before.
    pub tied_from: bool,
    /// Whether it is tied to the symbol after.
    pub tied_to: bool,
    /// Whether it is accented.
    pub accent: bool,
    /// The grace note before it.
    pub grace: Option<Grace>,
    /// The accidental before the note, if it needs one.
    pub accidental: Option<Accidental>,
    /// Its beams from the outermost in; none for a quarter, a rest, or a note with flags.
    pub beams: Vec<Beam>,
}

/// A grace note, which takes no time of its own.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Grace {
    /// Its pitch.
    pub pitch: Pitch,
    /// The accidental before it, if it needs one.
    pub accidental: Option<Accidental>,
}

/// A sign before a note.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Accidental {
    /// The alteration that it shows.
    pub alter: Alter,
    /// Whether it is a reminder that the rules don't require, written in parentheses.
    pub courtesy: bool,
}

/// What one beam does at a note, named as in MusicXML (MusicXML 4.0, data type beam-value).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[allow(missing_docs)]
pub enum Beam {
    Begin,
    Continue,
    End,
    ForwardHook,
    BackwardHook,
}

impl Beam {
    /// Its name in MusicXML.
    pub fn name(self) -> &'static str {
        match self {
            Beam::Begin => "begin",
            Beam::Continue => "continue",
            Beam::End => "end",
            Beam::ForwardHook => "forward hook",
            Beam::BackwardHook => "backward hook",
        }
    }
}

/// A group of symbols that plays `actual` units in the time of `normal`.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tuplet {
    /// How many units it holds: the 3 of a triplet.
    pub actual: u8,
    /// How many units' time it takes: the 2 of a triplet.
    pub normal: u8,
    /// The unit: the quarter of a quarter-note triplet.
    pub unit: Base,
    /// The symbols of the bar inside it, by index.
    pub symbols: Range<usize>,
}

impl WrittenBar {
    /// How far `onset` is into the bar, measured like [`Symbol::start`].
    ///
    /// # Errors
    /// [`TimeError`] if the result is out of range.
    pub fn offset(&self, onset: Onset) -> Result<Duration, TimeError> {
        onset.checked_since(self.span.start())?.checked_add(self.begins)
    }

    /// When one of its symbols starts, from the start of the line.
    ///
    /// # Errors
    /// [`TimeError`] if the result is out of range.
    pub fn onset(&self, symbol: &Symbol) -> Result<Onset, TimeError> {
        self.span.start().checked_add(symbol.start.checked_sub(self.begins)?)
    }

    /// The index of the symbol that sounds `offset` into the bar, measured like [`Symbol::start`].
    pub(crate) fn symbol_at(&self, offset: Duration) -> usize {
        self.symbols.partition_point(|symbol| symbol.start <= offset).saturating_sub(1)
    }

    /// Whether it is a single whole rest, which means that the bar is silent, however long it is.
    pub fn is_silent(&self) -> bool {
        let whole = NoteValue { base: Base::Whole, dots: 0 };
        matches!(self.symbols.as_slice(), [Symbol { pitch: None, value, .. }] if *value == whole)
    }

    /// Whether one beam joins exactly the notes of a tuplet of this bar, so that its number needs no bracket (Gould 2011, from memory).
    pub fn is_beamed(&self, tuplet: &Tuplet) -> bool {
        let beam = |symbol: &Symbol| symbol.beams.first().copied();
        match self.symbols.get(tuplet.symbols.clone()) {
            Some([first, inner @ .., last]) => {
                beam(first) == Some(Beam::Begin)
                    && beam(last) == Some(Beam::End)
                    && inner.iter().all(|symbol| beam(symbol) == Some(Beam::Continue))
            }
            _ => false,
        }
    }

    /// The tuplets around the symbol with this index, outermost first.
    pub fn tuplets_of(&self, symbol: usize) -> impl Iterator<Item = &Tuplet> {
        self.tuplets.iter().filter(move |tuplet| tuplet.symbols.contains(&symbol))
    }
}
