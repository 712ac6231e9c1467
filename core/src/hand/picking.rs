//! The picking hand.

use crate::bars::Bars;
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

/// Alternate picking: down and up by turns. The first note, and one after a rest or a long note, has the stroke of a hand that moves
/// with the beat: down on it, up between two (common practice, no source). So has the first after a slur or a slide. Rests have no stroke,
/// nor have notes that the one before leads into.
pub(super) fn alternate(events: &[Event], bars: &Bars) -> Vec<Option<Stroke>> {
    let (mut next, mut led_into) = (None, false);
    let strokes = events.iter().map(|event| {
        let led_into = std::mem::replace(&mut led_into, event.join.is_some());
        if event.pitch.is_none() || led_into {
            next = None;
            return None;
        }
        let in_bar = bars.split(event.onset);
        let on_a_beat = in_bar.is_ok_and(|(_, offset)| offset.is_multiple_of(Duration::QUARTER));
        let this = next.unwrap_or(if on_a_beat { Stroke::Down } else { Stroke::Up });
        next = (event.duration < TIME_TO_RETURN).then(|| this.other());
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
        let strokes = |text: &str| -> String {
            let line = read::text(text).line.unwrap();
            alternate(line.events(), line.bars())
                .iter()
                .map(|stroke| stroke.map_or('-', |stroke| if stroke == Stroke::Down { 'D' } else { 'U' }))
                .collect()
        };
        assert_eq!(strokes("C4 C C r C C C C | C:3 C C:1/2 | r C C C C:1 C C |"), "DUD-DUDUDDU-UDUDUD");
        assert_eq!(strokes("C4 D_ E_ F G A_s B C |"), "DU--DU-U");
        // Beats are counted from each bar line.
        assert_eq!(
            strokes("meter: 7/8\npickup: 1/2\nC4 | r C C C C C C | r:1 C C C C C |"),
            "D-UDUDUD-DUDUD"
        );
    }
}
