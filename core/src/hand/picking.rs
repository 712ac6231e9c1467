//! The picking hand.

use crate::line::Event;

/// A pick stroke.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Stroke {
    /// Towards the floor.
    Down,
    /// Away from it.
    Up,
}

impl Stroke {
    /// `down` or `up`.
    pub fn name(self) -> &'static str {
        match self {
            Stroke::Down => "down",
            Stroke::Up => "up",
        }
    }

    fn other(self) -> Stroke {
        match self {
            Stroke::Down => Stroke::Up,
            Stroke::Up => Stroke::Down,
        }
    }
}

/// Alternate picking: down and up by turns, starting with a down, and again after each rest, when the hand has time to
/// return (common practice, no source). Rests have no stroke.
pub(super) fn alternate(events: &[Event]) -> Vec<Option<Stroke>> {
    let mut next = Stroke::Down;
    let strokes = events.iter().map(|event| {
        if event.pitch.is_none() {
            next = Stroke::Down;
            return None;
        }
        let this = next;
        next = this.other();
        Some(this)
    });
    strokes.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    #[test]
    fn down_and_up_by_turns() {
        let line = read::text("C4 C C r C C C C |").line.unwrap();
        let strokes: String = alternate(line.events())
            .iter()
            .map(|stroke| stroke.map_or('-', |stroke| if stroke == Stroke::Down { 'D' } else { 'U' }))
            .collect();
        assert_eq!(strokes, "DUD-DUDU");
    }
}
