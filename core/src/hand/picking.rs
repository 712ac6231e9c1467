//! The picking hand.

use crate::line::Event;
use crate::time::Duration;

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

/// A note this long leaves the hand time to return to a down stroke.
const TIME_TO_RETURN: Duration = Duration::of(2, 1);

/// Alternate picking: down and up by turns, starting with a down, and again after each rest or long note (common practice, no
/// source). Rests have no stroke.
pub(super) fn alternate(events: &[Event]) -> Vec<Option<Stroke>> {
    let mut next = Stroke::Down;
    let strokes = events.iter().map(|event| {
        if event.pitch.is_none() {
            next = Stroke::Down;
            return None;
        }
        let this = next;
        next = if event.duration >= TIME_TO_RETURN { Stroke::Down } else { this.other() };
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
        let line = read::text("C4 C C r C C C C | C:3 C C:1/2 | C:1 C C C C C C |").line.unwrap();
        let strokes: String = alternate(line.events())
            .iter()
            .map(|stroke| stroke.map_or('-', |stroke| if stroke == Stroke::Down { 'D' } else { 'U' }))
            .collect();
        assert_eq!(strokes, "DUD-DUDUDDUDUDUDUD");
    }
}
