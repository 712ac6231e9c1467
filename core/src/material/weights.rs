//! What choices cost. The cheapest ones are made. All values are common practice, no source.

use std::ops::Add;

/// A cost in parts: a later part decides only between choices whose earlier parts are equal.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub(super) struct Cost(pub(super) [u32; 3]);

impl Add for Cost {
    type Output = Cost;
    fn add(self, more: Cost) -> Cost {
        let [a, b, c] = self.0;
        let [x, y, z] = more.0;
        Cost([a.saturating_add(x), b.saturating_add(y), c.saturating_add(z)])
    }
}

/// From the last note of a shape to the first one of the next, by half steps from 0: the same note is dearer than a step, and a tritone as
/// dear as a fifth.
pub(super) const JOINTS: [u32; 13] = [2, 0, 1, 3, 3, 5, 7, 7, 9, 9, 11, 11, 11];
/// A leap, a third or more, that goes on in the direction of the shape before it.
pub(super) const ONWARD: u32 = 2;
pub(super) const A_LEAP: u32 = 3;
/// A shape that has none of the guide tones of its chord, one of them, or both.
pub(super) const GUIDES: [u32; 3] = [3, 1, 0];
/// Each note a half step above a tone of the chord.
pub(super) const AVOIDED: u32 = 2;

/// A voicing that is the same as the one before it over the same chord, or lower.
pub(super) const REPEATED: u32 = 48;
pub(super) const BACK: u32 = 24;
/// Each fret that a voicing spans beyond those of a hand.
pub(super) const STRETCH: u32 = 4;
pub(super) const HAND: u8 = 4;

/// In a landing: each note that is changed, a whole step to the target, targets in their order, a leap before the notes that are changed.
pub(super) const CHANGED: u32 = 10;
pub(super) const WHOLE_STEP: u32 = 1;
pub(super) const TARGETS: [u32; 5] = [0, 0, 1, 2, 3];
pub(super) const LEAP_BEFORE: u32 = 6;
