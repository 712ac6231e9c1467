//! Where a plain line lies on the neck: strings, frets and fingers, with what is settled and what stays where it was.

use std::sync::Arc;

use crate::line::{Line, NoteId};

use super::error::Result;
use super::explain::explained;
use super::fretting::{FrettingHand, ToFret, ToPlan, shaped, to_fret};
use super::reach::Fretting;
use super::search::Search;
use super::terms::Charge;
use super::weights::Cost;

/// Where a plain line lies on the neck: the cheapest way of all, or another one.
#[derive(Clone, Debug)]
pub struct FrettingPlan {
    /// The notes that sound in the plain line, in order of time.
    pub(super) notes: Vec<NoteId>,
    /// What is settled for each of them leaves these choices.
    pub(super) choices: Vec<Arc<ToFret>>,
    /// The line with nothing settled.
    free: Planned,
    /// The line as it is, where that is different.
    settled: Option<Planned>,
}

/// A line on the neck in two searches: for its frets, one finger a fret; then, on these frets, for its fingers.
#[derive(Clone, Debug)]
struct Planned {
    frets: Search<FrettingHand>,
    fingers: Search<FrettingHand>,
    /// The state for each note in the second search.
    states: Vec<usize>,
}

/// Puts a plain line on the neck: of all ways the one with the lowest cost, by the neck and the style in the line's heading.
///
/// What is settled for a note, by a pin or for a passage, moves other notes only from the last rest, long note, bar line or shift before it up
/// to the next one. There, the line is played the cheapest way that goes with what is settled and with the notes on either side, which stay. What
/// the plan does anyway, moves nothing.
///
/// With the plan of an earlier state of the line, only what has changed is searched; the result is the same.
///
/// # Errors
/// [`FingeringError::OffNeck`](super::FingeringError::OffNeck) for a note that the neck doesn't have;
/// [`FingeringError::Pin`](super::FingeringError::Pin) and [`FingeringError::Apart`](super::FingeringError::Apart) for what is settled and can't hold.
pub fn fret(line: &Line, before: Option<&FrettingPlan>) -> Result<FrettingPlan> {
    by(FrettingHand::of(line.heading()), line, before)
}

/// A line in a hand of its own.
pub(super) fn by(hand: FrettingHand, line: &Line, before: Option<&FrettingPlan>) -> Result<FrettingPlan> {
    let ToPlan { notes, free, settled } = to_fret(line).map_err(|error| explained(error, line))?;
    let free = Planned::new(hand, free, before.map(|before| &before.free));
    let plan = FrettingPlan { notes, choices: Vec::new(), free, settled: None };
    Ok(plan.settle_after(settled, before.and_then(|before| before.settled.as_ref())))
}

impl Planned {
    fn new(hand: FrettingHand, notes: Vec<Arc<ToFret>>, before: Option<&Planned>) -> Planned {
        let to_fret = shaped(&hand, notes);
        let frets = match before {
            Some(before) => before.frets.over(hand, to_fret),
            None => Search::new(hand, to_fret),
        };
        Planned::on(frets, before)
    }

    /// The fingers for the best frets of a search.
    fn on(frets: Search<FrettingHand>, before: Option<&Planned>) -> Planned {
        let hand = frets.hand();
        let best = frets.best();
        let places: Vec<Fretting> = (0..best.len()).map(|index| frets.state(&best, index).fretting).collect();
        let finger = |(index, note): (usize, &Arc<ToFret>)| {
            let beside = [index.checked_sub(1), Some(index + 1)].map(|other| places.get(other?).copied());
            Arc::new(note.on(places[index], beside))
        };
        let to_finger = shaped(hand, frets.notes().iter().enumerate().map(finger).collect());
        let fingers = match before {
            Some(before) => before.fingers.over(hand.clone(), to_finger),
            None => Search::new(hand.clone(), to_finger),
        };
        Planned { states: fingers.best(), frets, fingers }
    }

    fn at(&self, index: usize) -> Fretting {
        self.fingers.state(&self.states, index).fretting
    }

    /// Whether the hand may be elsewhere up to a note, and this note stays: after a rest or a long note, at a bar line, or where the hand
    /// shifts anyway. A slur or a slide leads over all of these.
    fn may_part(&self, index: usize) -> bool {
        let note = &self.fingers.notes()[index];
        let shifts = || index > 0 && self.at(index - 1).position != self.at(index).position;
        !note.is_led() && (note.is_fresh() || note.opens_bar || shifts())
    }
}

impl FrettingPlan {
    /// The plan with other things settled for its notes.
    pub(super) fn settle(self, choices: Vec<Arc<ToFret>>) -> FrettingPlan {
        self.settle_after(choices, None)
    }

    fn settle_after(self, choices: Vec<Arc<ToFret>>, before: Option<&Planned>) -> FrettingPlan {
        let broken = |(index, note): (usize, &Arc<ToFret>)| !note.ways.have(&self.free.at(index));
        let broken: Vec<bool> = choices.iter().enumerate().map(broken).collect();
        if !broken.contains(&true) {
            return FrettingPlan { choices, settled: None, ..self };
        }
        // From one place to part to the next, all notes move or none.
        let parts: Vec<bool> = (0..choices.len()).map(|index| self.free.may_part(index)).collect();
        let mut moves = vec![false; choices.len()];
        let mut start = 0;
        for end in 1..=choices.len() {
            if end == choices.len() || parts[end] {
                let moved = broken[start..end].contains(&true);
                moves[start..end].fill(moved);
                start = end;
            }
        }
        let note = |(index, note): (usize, &Arc<ToFret>)| {
            if moves[index] { Arc::clone(note) } else { Arc::new(note.held(self.free.at(index))) }
        };
        let notes = choices.iter().enumerate().map(note).collect();
        let settled = Planned::new(self.free.frets.hand().clone(), notes, before);
        FrettingPlan { choices, settled: Some(settled), ..self }
    }

    fn planned(&self) -> &Planned {
        self.settled.as_ref().unwrap_or(&self.free)
    }

    /// The notes of the plain line, in order of time.
    pub fn notes(&self) -> &[NoteId] {
        &self.notes
    }

    /// How a note of the plain line is fretted; `None` for a rest.
    pub fn of(&self, note: NoteId) -> Option<Fretting> {
        self.index(note).map(|index| self.at(index))
    }

    fn index(&self, note: NoteId) -> Option<usize> {
        self.notes.binary_search(&note).ok()
    }

    /// How the note with an index is fretted.
    pub(super) fn at(&self, index: usize) -> Fretting {
        self.planned().at(index)
    }

    /// A search for the frets of the line with fewer choices.
    pub(super) fn narrowed(&self, keep: impl Fn(usize, &Fretting) -> bool) -> Search<FrettingHand> {
        let hand = self.free.frets.hand();
        let notes = self.choices.iter().enumerate();
        let few = notes.map(|(index, note)| Arc::new(note.narrowed(|fretting| keep(index, fretting))));
        Search::new(hand.clone(), shaped(hand, few.collect()))
    }

    /// The same line on the best frets of a search.
    pub(super) fn with(&self, frets: Search<FrettingHand>) -> FrettingPlan {
        FrettingPlan { settled: Some(Planned::on(frets, None)), ..self.clone() }
    }

    /// What a note is charged for, coming from the note before it in the plain line; what costs nothing is left out.
    pub fn charges(&self, note: NoteId) -> Vec<Charge> {
        let Planned { fingers, states, .. } = self.planned();
        self.index(note).map_or_else(Vec::new, |index| fingers.charges(states, index))
    }

    /// What all of it costs.
    pub fn cost(&self) -> Cost {
        let Planned { fingers, states, .. } = self.planned();
        fingers.cost(states)
    }
}
