//! A possible name.

use super::name::{Direction, Kind, Term};
use super::setting::Charges;
use super::weights;

/// A possible name for the notes from one on.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Candidate {
    /// The note after the last one.
    pub(super) end: usize,
    pub(super) kind: Kind,
    pub(super) direction: Direction,
    pub(super) charges: Charges,
    /// What decides between names that cost the same; less is better.
    pub(super) tie: u32,
}

impl Candidate {
    pub(super) fn new(end: usize, kind: Kind, direction: Direction, charges: Charges) -> Candidate {
        Candidate { end, kind, direction, charges, tie: 0 }
    }

    /// Whether the name may begin with the last note of another one, or end with the first of another.
    pub(super) fn may_share(&self) -> bool {
        matches!(
            self.kind,
            Kind::Arpeggio { .. } | Kind::Run { .. } | Kind::Pentatonic { .. } | Kind::Pattern { .. }
        )
    }

    /// The same name, beginning with a note that is lent to it. Where that falls doesn't matter.
    pub(super) fn lent(mut self) -> Candidate {
        self.charges = self.charges.without(Term::OffBeat).with(Term::Lent, weights::LENT);
        self
    }
}
