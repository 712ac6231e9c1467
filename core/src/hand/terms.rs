//! What a note can be charged for.

use crate::attack::Attack;
use crate::neck::Stroke;
use crate::time::Duration;

use super::Cost;

/// One thing that costs.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum Term {
    /// The hand moves from a position to another, in this time.
    Shift {
        /// Where it was.
        from: u8,
        /// Where it goes.
        to: u8,
        /// From the start of the note before in the plain line, in beats.
        time: Duration,
    },
    /// The index reaches back or the little finger forward.
    Stretch {
        /// How far the hand is spread.
        mm: u16,
    },
    /// On to a neighboring string.
    Change,
    /// On to a string beyond it.
    Skip {
        /// How many are skipped.
        strings: u8,
    },
    /// One finger for two frets in a row.
    SameFinger {
        /// Which.
        finger: u8,
    },
    /// One finger laid over two strings.
    Roll {
        /// Which.
        finger: u8,
    },
    /// An open string.
    Open,
    /// Low on the neck, where frets are wide, or high.
    Height {
        /// Whether high.
        high: bool,
    },
    /// Where the body of the guitar is in the way.
    High,
    /// Two fingers cross at one fret.
    Crossed,
    /// A half step from one string to another.
    Split,
    /// High on a low string, where it sounds dull.
    Dull,
    /// Two fingers at one fret.
    Doubled,
    /// A cell of a sequence is fingered otherwise than the one before.
    NewShape,
    /// More or fewer notes on a string than the style likes.
    Miscount {
        /// How many it likes.
        wanted: u8,
    },
    /// A slur or a slide that would have to change the string.
    Apart,
    /// One stroke goes on over another string.
    Swept,
    /// The pick turns between two strings.
    Inside,
    /// The pick goes round two strings.
    Outside,
    /// The first stroke, or the first after a rest or a slur, goes against the beat.
    AgainstBeat {
        /// Which way it goes.
        stroke: Stroke,
    },
    /// Struck in little time, where a hammer would have saved the stroke.
    Haste,
    /// The plan leaves the stroke out.
    Slurred {
        /// How the note begins instead.
        attack: Attack,
    },
    /// A pinned stroke breaks the way of picking.
    Broken {
        /// Which way it goes.
        stroke: Stroke,
    },
}

impl Term {
    /// A short name that stays the same when the words change.
    pub fn name(self) -> &'static str {
        match self {
            Term::Shift { .. } => "shift",
            Term::Stretch { .. } => "stretch",
            Term::Change => "change",
            Term::Skip { .. } => "skip",
            Term::SameFinger { .. } => "same-finger",
            Term::Roll { .. } => "roll",
            Term::Open => "open",
            Term::Height { .. } => "height",
            Term::High => "high",
            Term::Crossed => "crossed",
            Term::Split => "split",
            Term::Dull => "dull",
            Term::Doubled => "doubled",
            Term::NewShape => "new-shape",
            Term::Miscount { .. } => "miscount",
            Term::Apart => "apart",
            Term::Swept => "swept",
            Term::Inside => "inside",
            Term::Outside => "outside",
            Term::AgainstBeat { .. } => "against-beat",
            Term::Haste => "haste",
            Term::Slurred { .. } => "slurred",
            Term::Broken { .. } => "broken",
        }
    }

    /// Whether a player would want to know why: not for what every line is full of.
    pub fn is_odd(self) -> bool {
        !matches!(
            self,
            Term::Change
                | Term::Height { .. }
                | Term::Swept
                | Term::Inside
                | Term::Outside
                | Term::Roll { .. }
        )
    }
}

/// A term and what it costs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Charge {
    /// What costs.
    pub term: Term,
    /// How much.
    pub cost: Cost,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_every_line_is_full_of_is_not_odd() {
        let usual = [
            Term::Change,
            Term::Height { high: false },
            Term::Inside,
            Term::Outside,
            Term::Roll { finger: 1 },
        ];
        let odd = [Term::Open, Term::High, Term::Skip { strings: 1 }, Term::Stretch { mm: 100 }, Term::Haste];
        assert!(usual.iter().all(|term| !term.is_odd()) && odd.iter().all(|term| term.is_odd()));
    }
}
