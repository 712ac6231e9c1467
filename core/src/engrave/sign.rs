//! A written note or rest once it has its place.

use crate::notate::Symbol;
use crate::scene::Sp;

use super::sizes::{STEM_WIDTH, head_glyph};

/// The bottom line of the staff.
pub(super) const STAFF_BOTTOM: Sp = 4.0;

/// A written note or rest in its place.
pub(super) struct Sign<'a> {
    pub(super) symbol: &'a Symbol,
    /// The index of the bar, from the start of the line.
    pub(super) bar: usize,
    /// The left edge of the head.
    pub(super) x: Sp,
    /// The center of the head, measured down from the top line.
    pub(super) y: Sp,
    /// Whether the stem goes up, and where it ends.
    pub(super) up: bool,
    pub(super) tip: Sp,
    /// Whether the stem leaves the head at its middle instead of its side.
    pub(super) centered: bool,
}

impl Sign<'_> {
    /// The left edge of the stem.
    pub(super) fn stem_x(&self) -> Sp {
        let head = head_glyph(self.symbol.value.base);
        match (self.centered, self.up) {
            (true, _) => self.x + (head.width() - STEM_WIDTH) / 2.0,
            (false, true) => self.x + head.width() - STEM_WIDTH,
            (false, false) => self.x,
        }
    }
}
