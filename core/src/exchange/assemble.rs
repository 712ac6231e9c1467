//! One voice of a file -> a line: its figures are found, and the hand is told what the file says about it.

use crate::bars::Bars;
use crate::line::{ChordAt, Heading, Line, Part};
use crate::recast::Casting;
use crate::technique::Pin;
use crate::time::Span;
use crate::write;

use super::error::Result;
use super::remark::Remark;

/// One voice of a file: what both formats come down to.
#[derive(Clone, Debug)]
pub(super) struct Draft {
    pub(super) heading: Heading,
    pub(super) bars: Bars,
    /// Its notes and rests, one after another.
    pub(super) parts: Vec<Part>,
    pub(super) chords: Vec<ChordAt>,
    /// Where the file has a tuplet with its own bracket or number around it.
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

pub(super) fn assemble(draft: Draft) -> Result<Imported> {
    let line = Line::new(draft.heading, draft.bars, draft.parts, draft.chords).map_err(crate::Error::from)?;
    let casting = Casting::default();
    let text = write::text::line(&line, &casting)?;
    Ok(Imported { line, casting, text, remarks: draft.remarks })
}
