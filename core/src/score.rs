//! A line with what has been found out about it: what the page of music, the neck, the words and the sound are made from.

use crate::hand::Fingering;
use crate::line::Line;
use crate::notate::Written;
use crate::timed::Timed;

/// The stages of one line, borrowed from whoever keeps them.
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
