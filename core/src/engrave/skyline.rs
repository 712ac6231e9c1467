//! How far up or down a system extends along its width, so that whatever is placed next stays clear of it.

use crate::scene::Sp;

/// The outer edge of what has been placed on one side of the staff, sampled in steps.
pub(super) struct Skyline {
    /// The height of each step: the distance from the staff's top line, away from the staff. `MIN` where
    /// there is nothing.
    steps: Vec<Sp>,
}

/// The width of a step. A quarter of a space is finer than any sign.
const STEP: Sp = 0.25;

impl Skyline {
    pub(super) fn new() -> Skyline {
        Skyline { steps: Vec::new() }
    }

    /// Adds something that extends as far as `reach` between `left` and `right`.
    pub(super) fn add(&mut self, left: Sp, right: Sp, reach: Sp) {
        let (first, last) = (index(left), index(right));
        if self.steps.len() <= last {
            self.steps.resize(last + 1, Sp::MIN);
        }
        for step in &mut self.steps[first..=last] {
            *step = step.max(reach);
        }
    }

    /// How far anything extends between `left` and `right`; `MIN` if there is nothing.
    pub(super) fn reach(&self, left: Sp, right: Sp) -> Sp {
        let (first, last) = (index(left), index(right).min(self.steps.len().saturating_sub(1)));
        self.steps.get(first..=last).map_or(Sp::MIN, |steps| steps.iter().copied().fold(Sp::MIN, Sp::max))
    }

    /// How far anything extends anywhere.
    pub(super) fn farthest(&self) -> Sp {
        self.steps.iter().copied().fold(Sp::MIN, Sp::max)
    }
}

fn index(x: Sp) -> usize {
    // The cast clamps negative and absurd widths, as it should: a skyline starts at the left edge.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let index = (x / STEP).floor().clamp(0.0, 1e6) as usize;
    index
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_outer_edge_counts() {
        let mut skyline = Skyline::new();
        skyline.add(1.0, 3.0, 2.0);
        skyline.add(2.5, 5.0, 1.0);
        assert_eq!(skyline.reach(0.0, 0.9), Sp::MIN);
        assert_eq!(skyline.reach(2.6, 10.0), 2.0);
        assert_eq!(skyline.reach(3.5, 10.0), 1.0);
        assert_eq!(skyline.farthest(), 2.0);
        assert_eq!(skyline.reach(8.0, 9.0), Sp::MIN);
    }
}
