//! One voice of a file, before it is a line.

use crate::bars::Bars;
use crate::line::{ChordAt, Heading, Part};
use crate::pitch::{Interval, Pitch};
use crate::technique::Pin;
use crate::time::{Duration, Onset, Span};

use super::error::{ExchangeError, Result};
use super::remark::Remark;

/// One voice of a file: what both formats come down to.
#[derive(Clone, Debug)]
pub(crate) struct Draft {
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

/// What sounds and when: onset, length, pitch and grace note.
pub(super) type Sounding = (Onset, Duration, Pitch, Option<Pitch>);

/// What sounds in these parts.
pub(super) fn sounding(parts: &[Part]) -> Result<Vec<Sounding>> {
    let (mut sounding, mut at) = (Vec::new(), Onset::ZERO);
    for part in parts {
        sounding.extend(part.pitch.map(|pitch| (at, part.duration, pitch, part.grace)));
        at = at.checked_add(part.duration)?;
    }
    Ok(sounding)
}
