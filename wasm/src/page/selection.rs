//! The bars that are selected, by dragging over the music or with Shift.

use std::ops::Range;

/// Bars are counted from 0.
#[derive(Default)]
pub(super) struct Selection {
    bars: Option<Range<usize>>,
    /// The bar that a drag or Shift selects from.
    anchor: Option<usize>,
    /// Whether the pointer is down, and whether it has been in another bar since.
    pressed: bool,
    dragged: bool,
}

impl Selection {
    pub(super) fn bars(&self) -> Option<Range<usize>> {
        self.bars.clone()
    }

    /// Selects these bars, or none.
    pub(super) fn set(&mut self, bars: Option<Range<usize>>) {
        self.anchor = bars.as_ref().map(|bars| bars.start);
        self.bars = bars;
    }

    /// The pointer goes down on a bar. Shift extends what is selected up to it.
    pub(super) fn press(&mut self, bar: usize, shift: bool) {
        (self.pressed, self.dragged) = (!shift, shift);
        match shift {
            true => self.extend(bar),
            false => self.anchor = Some(bar),
        }
    }

    /// The pointer moves over a bar. Says whether that selects others than before.
    pub(super) fn drag(&mut self, bar: usize) -> bool {
        if !self.pressed || !self.dragged && self.anchor == Some(bar) {
            return false;
        }
        let before = self.bars.clone();
        self.dragged = true;
        self.extend(bar);
        self.bars != before
    }

    /// The pointer goes up.
    pub(super) fn release(&mut self) {
        self.pressed = false;
    }

    /// Whether the pointer selected something since it went down: then it tapped nothing.
    pub(super) fn take_dragged(&mut self) -> bool {
        std::mem::take(&mut self.dragged)
    }

    /// Selects from where the selection began up to a bar.
    pub(super) fn extend(&mut self, bar: usize) {
        let anchor = *self.anchor.get_or_insert(bar);
        self.bars = Some(anchor.min(bar)..anchor.max(bar) + 1);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drag_selects_from_where_it_began_either_way() {
        let mut selection = Selection::default();
        selection.press(3, false);
        assert!(!selection.drag(3), "the pointer is still in its bar");
        assert!(selection.drag(5) && !selection.drag(5));
        assert_eq!(selection.bars(), Some(3..6));
        assert!(selection.drag(1));
        assert_eq!(selection.bars(), Some(1..4));
        assert!(selection.drag(3), "back to one bar");
        assert_eq!(selection.bars(), Some(3..4));
        selection.release();
        assert!(!selection.drag(0), "the pointer is up");
        assert!(selection.take_dragged() && !selection.take_dragged());
    }

    #[test]
    fn a_press_alone_selects_nothing() {
        let mut selection = Selection::default();
        selection.press(2, false);
        selection.release();
        assert_eq!((selection.bars(), selection.take_dragged()), (None, false));
    }

    #[test]
    fn shift_extends_from_the_last_press() {
        let mut selection = Selection::default();
        selection.press(2, true);
        assert_eq!(selection.bars(), Some(2..3), "from nowhere, it is that bar");
        selection.press(4, true);
        assert_eq!((selection.bars(), selection.take_dragged()), (Some(2..5), true));
        selection.press(6, false);
        selection.release();
        selection.press(4, true);
        assert_eq!(selection.bars(), Some(4..7));
        selection.set(None);
        assert_eq!(selection.bars(), None);
    }
}
