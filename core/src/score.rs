//! A line with everything derived from it: the input for the page of music, the fretboard, the description
//! and the sound.

use crate::hand::Fingering;
use crate::line::Line;
use crate::notate::Written;
use crate::timed::Timed;

/// The stages of one line, borrowed from their owner.
#[derive(Clone, Copy, Debug)]
pub struct Score<'a> {
    /// The plain line.
    pub line: &'a Line,
    /// The line in time.
    pub timed: &'a Timed,
    /// The line in notation.
    pub written: &'a Written,
    /// The line on the neck.
    pub fingering: &'a Fingering,
}
