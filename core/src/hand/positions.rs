//! Positions: which can hold a passage, and what each costs.

use crate::line::{Line, NoteId};
use crate::neck::Position;
use crate::order;
use crate::technique::{Constraint, ConstraintSpan, PickingStyle};
use crate::time::Span;

use super::explain::notes;
use super::fingering::Fingering;
use super::plan::{FrettingPlan, fret};
use super::weights::Cost;

/// One way to play a passage.
#[derive(Clone, Debug)]
pub struct Way {
    /// The position that all of the passage is played in, if that was asked for.
    pub position: Option<Position>,
    /// What the passage costs the fretting hand, and the way on to the note after it.
    pub cost: Cost,
    /// The whole line, played this way.
    pub fingering: Fingering,
}

/// Which other ways to list.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Bound {
    /// None that costs more than twice as much as the cheapest of them.
    #[default]
    TwiceTheBest,
    /// All, whatever they cost.
    None,
}

impl Fingering {
    /// Every position that can hold a passage of the line that this fingering is of, the cheapest first: the plan is
    /// the one that the line gets with `position` set for the passage, instead of any position set there. Open
    /// strings can be played in every position.
    ///
    /// ```
    /// use halfbar_core::time::{Onset, Span};
    /// use halfbar_core::{Piece, read};
    ///
    /// let line = read::text("Bb4 Ab G F  Eb D C Bb3 |").line.expect("a full bar");
    /// let bar = Span::new(Onset::ZERO, line.end()).expect("in order");
    /// let piece = Piece::new(line, Default::default())?;
    /// let ways = piece.fingering().positions(piece.line(), bar);
    /// let positions: Vec<String> = ways.iter().filter_map(|way| Some(way.position?.to_string())).collect();
    /// assert!(positions.contains(&"III".into()) && positions.contains(&"VIII".into()), "{positions:?}");
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn positions(&self, line: &Line, passage: Span) -> Vec<Way> {
        let mut ways: Vec<Way> = (1..=line.heading().neck.frets())
            .map(Position)
            .filter_map(|position| {
                let plan = fret(&in_position(line, passage, Some(position)), Some(&self.fretting)).ok()?;
                Some(self.on(plan).way(line, passage, Some(position)))
            })
            .collect();
        order::sort(&mut ways, |way| way.cost);
        ways
    }

    /// Up to `count` other ways to play a passage of the line that this fingering is of, each with its cost: first the
    /// positions that can hold it, then fingerings that change position, the cheapest first in both. Each differs from
    /// all others in the string, fret or finger of some note.
    pub fn listed(&self, line: &Line, passage: Span, count: usize, bound: Bound) -> Vec<Way> {
        let inside: Vec<NoteId> = notes(line, passage).map(|event| event.id).collect();
        let found = self.ways(|note| inside.binary_search(&note).is_ok(), count.saturating_add(1));
        let others = found.into_iter().skip(1).map(|fingering| fingering.way(line, passage, None));
        let played = |way: &Way| -> Vec<_> {
            let at = |note: &NoteId| way.fingering.of(*note).map(|at| (at.string, at.fret, at.finger));
            inside.iter().map(at).collect()
        };
        let mut known = vec![played(&self.way(line, passage, None))];
        let mut ways = self.positions(line, passage);
        ways.extend(others);
        ways.retain(|way| {
            let is_new = !known.contains(&played(way));
            known.push(played(way));
            is_new
        });
        let best = ways.iter().map(|way| way.cost).min().unwrap_or(0);
        ways.retain(|way| bound.allows(way.cost, best));
        ways.truncate(count);
        ways
    }

    fn way(&self, line: &Line, passage: Span, position: Option<Position>) -> Way {
        Way { position, cost: cost_in(line, &self.fretting, passage), fingering: self.clone() }
    }
}

impl Bound {
    fn allows(self, cost: Cost, best: Cost) -> bool {
        match self {
            Bound::TwiceTheBest => cost <= 2 * best,
            Bound::None => true,
        }
    }
}

/// A line with a passage set in a position, or in none, instead of any position set there.
pub fn in_position(line: &Line, passage: Span, position: Option<Position>) -> Line {
    let want = position.map(|Position(position)| Constraint::Position(position));
    set(line, passage, want, |want| matches!(want, Constraint::Position(_)))
}

/// A line with a passage picked in a style of its own, or like the rest of the line, instead of any style set there.
///
/// ```
/// use halfbar_core::hand::picked;
/// use halfbar_core::technique::PickingStyle;
/// use halfbar_core::{read, write};
///
/// let line = read::text("C4 E G C5  E C G4 E | C:4 |").line.expect("two full bars");
/// let swept = picked(&line, line.bar(0)?, Some(PickingStyle::Sweep));
/// assert!(write::text::line(&swept, &Default::default())?.contains("hand: sweep at 1.1 to 2.1"));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn picked(line: &Line, passage: Span, style: Option<PickingStyle>) -> Line {
    set(line, passage, style.map(Constraint::Picking), |want| matches!(want, Constraint::Picking(_)))
}

/// A line with something set for a passage, or nothing, instead of anything of the kind set there.
fn set(line: &Line, passage: Span, want: Option<Constraint>, is_of_the_kind: fn(Constraint) -> bool) -> Line {
    // What is set for more than the passage still holds before and after it.
    let left = |hold: &ConstraintSpan| {
        let ConstraintSpan { span, want } = *hold;
        let beside = match is_of_the_kind(want) && span.overlaps(passage) {
            true => [
                Span::new(span.start(), passage.start().min(span.end())),
                Span::new(passage.end().max(span.start()), span.end()),
            ],
            false => [Some(span), None],
        };
        let beside = beside.into_iter().flatten().filter(|span| span.start() < span.end());
        beside.map(move |span| ConstraintSpan { span, want })
    };
    let mut holds: Vec<ConstraintSpan> = line.constraints().iter().flat_map(left).collect();
    holds.extend(want.map(|want| ConstraintSpan { span: passage, want }));
    line.clone().with_constraints(holds)
}

/// What the notes of a passage cost in a plan, and the one after it.
fn cost_in(line: &Line, plan: &FrettingPlan, passage: Span) -> Cost {
    let after = line.events().iter().find(|event| event.pitch.is_some() && event.onset >= passage.end());
    let charges = notes(line, passage).chain(after).flat_map(|event| plan.charges(event.id));
    charges.map(|charge| charge.cost).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{read, write};

    #[test]
    fn a_position_gives_way_to_another() {
        let reading = read::text(
            "hand: position 5 at 1.1 to 3.1\nhand: sweep at 1.1 to 2.1\nC4 D E F G A B C5 | D E F E D C B4 A | C:4 |",
        );
        let line = reading.line.unwrap();
        let rows = |first: i32, last: i32, position: Option<u8>| {
            let event = |index: i32| line.events()[index as usize].span().unwrap();
            let passage = Span::new(event(first).start(), event(last).end()).unwrap();
            let set = in_position(&line, passage, position.map(Position));
            let text = write::text::with_constraints("", &set).unwrap();
            text.lines().map(|row| row.trim_start_matches("hand: ").to_owned()).collect::<Vec<_>>().join("; ")
        };
        let sweep = "sweep at 1.1 to 2.1";
        assert_eq!(rows(2, 3, None), format!("position 5 at 1.1 to 1.2; position 5 at 1.3 to 3.1; {sweep}"));
        assert_eq!(rows(0, 3, None), format!("position 5 at 1.3 to 3.1; {sweep}"));
        assert_eq!(
            rows(12, 15, Some(7)),
            format!("position 5 at 1.1 to 2.3; {sweep}; position 7 at 2.3 to 3.1")
        );
        assert_eq!(rows(0, 16, None), sweep);
        assert_eq!(rows(16, 16, None), format!("position 5 at 1.1 to 3.1; {sweep}"));
    }
}
