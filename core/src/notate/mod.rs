//! Timed -> [`Written`]: the note values, dots, ties, tuplets, beams and accidentals that say exactly what
//! sounds.
//!
//! ```
//! use halfbar_core::{notate, read, recast};
//!
//! let reading = read::text("recast: split-last at 1.1 bracket\nF3 Ab C Eb G F Eb C |");
//! let timed = recast::apply(&reading.line.expect("a full bar"), &reading.casting)?;
//! let written = notate::notate(&timed)?;
//! let values: Vec<_> = written.bars[0].symbols.iter().map(|symbol| symbol.value.base.name()).collect();
//! assert_eq!(values[..4], ["quarter", "quarter", "eighth", "eighth"]);
//! assert_eq!((written.bars[0].tuplets[0].actual, written.bars[0].tuplets[0].normal), (3, 2));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod error;
mod accidentals;
mod beams;
mod spell;

use std::ops::Range;

use crate::key::Key;
use crate::line::NoteId;
use crate::meter::Meter;
use crate::pitch::Pitch;
use crate::time::{Duration, Onset, Span, TimeError};
use crate::timed::{Spelling, Timed};
use crate::value::{Base, NoteValue};
use error::Result;

pub use accidentals::Accidental;
pub use beams::Beam;
pub use error::NotateError;

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
    pub fn offset(&self, onset: Onset) -> std::result::Result<Duration, TimeError> {
        onset.checked_since(self.span.start())?.checked_add(self.begins)
    }

    /// When one of its symbols starts, from the start of the line.
    ///
    /// # Errors
    /// [`TimeError`] if the result is out of range.
    pub fn onset(&self, symbol: &Symbol) -> std::result::Result<Onset, TimeError> {
        self.span.start().checked_add(symbol.start.checked_sub(self.begins)?)
    }

    /// Whether it is a single whole rest, which means that the bar is silent, however long it is.
    pub fn is_silent(&self) -> bool {
        let whole = NoteValue { base: Base::Whole, dots: 0 };
        matches!(self.symbols.as_slice(), [Symbol { pitch: None, value, .. }] if *value == whole)
    }

    /// The tuplets around the symbol with this index, outermost first.
    pub fn tuplets_of(&self, symbol: usize) -> impl Iterator<Item = &Tuplet> {
        self.tuplets.iter().filter(move |tuplet| tuplet.symbols.contains(&symbol))
    }
}

/// Notates a line in time.
///
/// # Errors
/// [`NotateError::Unwritable`] with the place of a rhythm that note values, ties and tuplets can't write.
pub fn notate(timed: &Timed) -> Result<Written> {
    let mut bars = spell::bars(timed)?;
    let grouped: Vec<Span> = (timed.windows.iter())
        .filter(|window| window.spelling == Spelling::Grouped)
        .map(|window| window.span)
        .collect();
    for bar in &mut bars {
        let first = grouped.partition_point(|span| span.end() <= bar.span.start());
        let after = grouped.partition_point(|span| span.start() < bar.span.end());
        beams::beam(bar, &grouped[first..after])?;
    }
    accidentals::sign(&mut bars);
    Ok(Written { bars })
}

/// Reads notation back: when each event starts and how long it lasts. The inverse of [`notate`] as far as
/// time goes.
///
/// # Errors
/// [`TimeError`] for times out of range.
pub fn read_back(written: &Written) -> Result<Vec<(NoteId, Span)>> {
    let mut spans: Vec<(NoteId, Span)> = Vec::new();
    for bar in &written.bars {
        for (index, symbol) in bar.symbols.iter().enumerate() {
            // Only from what is drawn: shape, dots and tuplets.
            let mut length = symbol.value.length();
            for tuplet in bar.tuplets_of(index) {
                length = length.checked_mul(tuplet.normal.into())?.checked_div(tuplet.actual.into())?;
            }
            if bar.is_silent() {
                length = bar.span.length()?;
            }
            let start = bar.onset(symbol)?;
            let end = start.checked_add(length)?;
            match spans.last_mut() {
                Some((note, span)) if *note == symbol.note => {
                    *span = Span::new(span.start(), end).ok_or(TimeError)?
                }
                _ => spans.push((symbol.note, Span::new(start, end).ok_or(TimeError)?)),
            }
        }
    }
    Ok(spans)
}
