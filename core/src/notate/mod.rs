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
mod written;

use crate::line::NoteId;
use crate::time::{Span, TimeError};
use crate::timed::{Spelling, Timed};
use error::Result;

pub use error::NotateError;
pub use written::{Accidental, Beam, Grace, Symbol, Tuplet, Written, WrittenBar};

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
