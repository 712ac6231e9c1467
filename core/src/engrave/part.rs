//! The part of a page that a system is made from.

use crate::notate::WrittenBar;
use crate::scene::Sp;
use crate::score::Score;

use super::chords::ChordInBar;
use super::layout::Layout;
use super::measure::Measure;

/// What a system is made from.
pub(super) struct Part<'a> {
    pub(super) score: Score<'a>,
    pub(super) layout: &'a Layout,
    pub(super) width: Sp,
    /// Whether the line ends here.
    pub(super) last: bool,
    pub(super) first_bar: usize,
    pub(super) bars: &'a [WrittenBar],
    pub(super) measures: &'a [Measure],
    /// The bar after the system, if there is one.
    pub(super) next: Option<&'a Measure>,
    pub(super) chords: &'a [Vec<ChordInBar>],
}

/// Where a bar is in its system.
pub(super) struct BarPlace {
    pub(super) left: Sp,
    /// Where its first head is, or would be.
    pub(super) head: Sp,
    pub(super) right: Sp,
    /// The signs of the bar, by index in the system.
    pub(super) first: usize,
    pub(super) after: usize,
}

impl Part<'_> {
    /// The width of clef and key signature.
    pub(super) fn prefix(&self) -> Sp {
        self.measures.first().map_or(0.0, |first| first.opening.prefix)
    }

    /// Where the signatures at the start of the first bar end.
    pub(super) fn after_signatures(&self) -> Sp {
        self.prefix() + self.measures.first().map_or(0.0, |first| first.opening.time_room())
    }

    /// From the bar line to the first head of the bar with this index in the system.
    pub(super) fn lead(&self, index: usize) -> Sp {
        let measure = &self.measures[index];
        measure.lead - if index == 0 { measure.opening.key_room() } else { 0.0 }
    }
}
