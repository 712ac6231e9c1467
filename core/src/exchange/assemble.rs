//! One voice of a file -> a line: its figures are found, and the hand is told what the file says about it.

use crate::bars::Bars;
use crate::line::{ChordAt, Heading, Line, Part};
use crate::pitch::{Interval, Pitch};
use crate::recast::Casting;
use crate::technique::Pin;
use crate::time::Span;
use crate::write;

use super::error::{ExchangeError, Result};
use super::remark::Remark;

/// One voice of a file: what both formats come down to.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    pub(super) heading: Heading,
    pub(super) bars: Bars,
    /// Its notes and rests, one after another.
    pub(super) parts: Vec<Part>,
    pub(super) chords: Vec<ChordAt>,
    /// Where the file has a tuplet with its own bracket or number around it; empty if it doesn't say, as in MIDI.
    pub(super) tuplets: Vec<Span>,
    /// What the file says about the hands for each part; the plan decides about the remainder.
    pub(super) hands: Vec<Pin>,
    /// The line's own text, if the file has it.
    pub(super) text: Option<String>,
    pub(super) remarks: Vec<Remark>,
}

/// A line that was in a file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Imported {
    /// The plain line.
    pub line: Line,
    /// The figures that were found in it.
    pub casting: Casting,
    /// Its text.
    pub text: String,
    /// What was left out and changed.
    pub remarks: Vec<Remark>,
}

impl Draft {
    /// The same notes in other octaves.
    pub(super) fn moved(mut self, octaves: i8) -> Result<Draft> {
        if octaves == 0 {
            return Ok(self);
        }
        let interval = Interval::octaves(octaves.into());
        let moved = |pitch: Option<Pitch>| match pitch {
            Some(pitch) => pitch.transposed(interval).map(Some).ok_or(ExchangeError::Octaves),
            None => Ok(None),
        };
        for part in &mut self.parts {
            (part.pitch, part.grace) = (moved(part.pitch)?, moved(part.grace)?);
        }
        // What the file says about strings and frets is about the notes as they were.
        for hand in &mut self.hands {
            *hand = Pin { stroke: hand.stroke, ..Pin::default() };
        }
        self.text = None;
        Ok(self)
    }
}

pub(super) fn assemble(draft: Draft) -> Result<Imported> {
    let line = Line::new(draft.heading, draft.bars, draft.parts, draft.chords).map_err(crate::Error::from)?;
    let casting = Casting::default();
    let text = write::text::line(&line, &casting)?;
    Ok(Imported { line, casting, text, remarks: draft.remarks })
}
