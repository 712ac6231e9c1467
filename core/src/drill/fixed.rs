//! What the player has fixed about the fretting hand, and what becomes of it in a copy.

use crate::line::{Line, Part};
use crate::neck::Fret;
use crate::technique::{Constraint, ConstraintSpan, Pin};
use crate::time::{Onset, Span};

use super::error::Result;

/// What is fixed for a passage and its notes: strings, frets, fingers and positions.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Fixed {
    /// For each of its parts.
    pub(super) pins: Vec<Pin>,
    /// For stretches of it.
    pub(super) holds: Vec<ConstraintSpan>,
}

/// Whether a constraint is about the picking hand, which is free to do the same wherever a copy is fretted.
pub(super) fn is_picking(want: Constraint) -> bool {
    matches!(want, Constraint::Stroke(_) | Constraint::Picking(_) | Constraint::Slurs)
}

/// The constraints on a line that hold in a passage, cut at its edges.
pub(super) fn holds_in(line: &Line, passage: Span) -> impl Iterator<Item = ConstraintSpan> {
    line.constraints().iter().filter_map(move |&ConstraintSpan { span, want }| {
        let inside = Span::new(span.start().max(passage.start()), span.end().min(passage.end()))?;
        (inside.start() < inside.end()).then_some(ConstraintSpan { span: inside, want })
    })
}

impl Fixed {
    /// What is fixed for these parts of a line, which start at the beginning of a passage.
    pub(super) fn of(line: &Line, passage: Span, parts: &[Part]) -> Fixed {
        let pins = parts.iter().map(|part| Pin { stroke: None, ..part.pin }).collect();
        let holds = holds_in(line, passage).filter(|hold| !is_picking(hold.want)).collect();
        Fixed { pins, holds }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.holds.is_empty() && self.pins.iter().all(|pin| pin.is_empty())
    }

    /// The same on other frets of the same strings, for a copy that starts at `to` instead of `from`; `None` if that
    /// is beyond the nut.
    pub(super) fn moved(&self, frets: i32, from: Onset, to: Onset) -> Result<Option<Fixed>> {
        let pin = |pin: &Pin| {
            let fret = pin.fret.map(|fret| up(fret.0, frets).map(Fret));
            Some(Pin { fret: fret.map_or(Some(None), |fret| fret.map(Some))?, ..*pin })
        };
        let pins: Option<Vec<Pin>> = self.pins.iter().map(pin).collect();
        let mut holds = Vec::with_capacity(self.holds.len());
        for &ConstraintSpan { span, want } in &self.holds {
            let Some(want) = want_up(want, frets) else { return Ok(None) };
            let start = to.checked_add(span.start().checked_since(from)?)?;
            holds.push(ConstraintSpan { span: Span::starting(start, span.length()?)?, want });
        }
        Ok(pins.map(|pins| Fixed { pins, holds }))
    }
}

fn up(fret: u8, frets: i32) -> Option<u8> {
    u8::try_from(i32::from(fret) + frets).ok()
}

/// A constraint on other frets.
fn want_up(want: Constraint, frets: i32) -> Option<Constraint> {
    Some(match want {
        Constraint::Fret(Fret(fret)) => Constraint::Fret(Fret(up(fret, frets)?)),
        // Frets from 0 are a limit, below which any fret and open strings will do.
        Constraint::Frets(low, Fret(high)) => {
            let low = if low.0 == 0 { low } else { Fret(up(low.0, frets)?) };
            Constraint::Frets(low, Fret(up(high, frets)?))
        }
        Constraint::Position(position) => {
            Constraint::Position(up(position, frets).filter(|position| *position > 0)?)
        }
        _ => want,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    /// The pins and constraints of the first bar, so many frets up, two beats later.
    fn moved(text: &str, frets: i32) -> Option<String> {
        let line = read::text(text).line.unwrap();
        let parts: Vec<Part> = line.events().iter().map(|event| event.lasting(event.duration)).collect();
        let fixed = Fixed::of(&line, line.bar(0).unwrap(), &parts);
        let Fixed { pins, holds } = fixed.moved(frets, Onset::ZERO, Onset::at(2, 1)).unwrap()?;
        let hold =
            |hold: ConstraintSpan| format!("{} at {} to {}", hold.want, hold.span.start(), hold.span.end());
        let pins = pins.iter().filter(|pin| !pin.is_empty()).map(Pin::to_string);
        Some(pins.chain(holds.into_iter().map(hold)).collect::<Vec<_>>().join("; "))
    }

    #[test]
    fn frets_and_positions_move() {
        let text = "hand: position 2 at 1.3 to 2.1\nhand: frets 0-5 at 1.1 to 1.3\nhand: finger 1 at 1.1\n\
            E3^4.2/1d G^3 r:1 A:2^/4u |";
        let at = |frets| moved(text, frets);
        let to = |low: u8| {
            let [two, five] = [low, low + 3];
            Some(format!(
                "4.{two}/1; 3; /4; position {two} at 4 to 6; frets 0-{five} at 2 to 4; finger 1 at 2 to 5/2"
            ))
        };
        assert_eq!((at(0), at(3), at(-1)), (to(2), to(5), to(1)));
        assert_eq!((at(-2), at(-3)), (None, None));
    }
}
