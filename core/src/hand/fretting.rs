//! The fretting hand: plain line -> string, fret, finger and position for every note. Nothing in here knows what is recast, how fast the line
//! is played, or how it is picked: who has learned a line keeps it at every tempo and in every rhythm.

use std::sync::Arc;

use crate::line::{Event, Heading, Legato, Line, NoteId};
use crate::neck::Neck;
use crate::technique::Constraint;
use crate::time::Duration;

use super::Fretting;
use super::beats::Beat;
use super::error::{FingeringError, Result};
use super::positions::explained;
use super::reach::Reach;
use super::search::{Hand, Search};
use super::terms::{Charge, Term};
use super::weights::{Cost, EASY_FRETS, FrettingWeights, HIGH, RELAXED_MM, ease};

/// A note this long gives the hands time to start anew.
pub(super) const TIME_TO_RETURN: Duration = Duration::of(2, 1);

/// A note to be fretted.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct ToFret {
    /// Every way to fret it that is left by what is settled; at least one.
    pub(super) frettings: Arc<[Fretting]>,
    /// From the start of the note before, in beats.
    time: Duration,
    /// What a shift costs in that time, in percent.
    ease: Cost,
    /// Nothing comes before it, or a rest, or a note so long that the hand starts anew.
    fresh: bool,
    /// How the note before leads into it.
    led: Option<Legato>,
}

/// Where a plain line lies on the neck: the cheapest way of all, or another one.
#[derive(Clone, Debug)]
pub struct FrettingPlan {
    /// The notes that sound in the plain line, in order of time.
    pub(super) notes: Vec<NoteId>,
    /// The state for each of them.
    pub(super) states: Vec<usize>,
    pub(super) search: Search<FrettingHand>,
}

/// Puts a plain line on the neck: of all ways the one with the lowest cost, by the neck and the style in the line's heading, and with all that
/// is settled for its notes.
///
/// With the plan of an earlier state of the line, only what has changed is searched; the result is the same.
///
/// # Errors
/// [`FingeringError::OffNeck`] for a note that the neck doesn't have; [`FingeringError::Position`], [`FingeringError::Conflict`] and
/// [`FingeringError::Apart`] for what is settled and can't hold.
pub fn fret(line: &Line, before: Option<&FrettingPlan>) -> Result<FrettingPlan> {
    let (notes, to_fret) = to_fret(line).map_err(|error| explained(error, line))?;
    let hand = FrettingHand::of(line.heading());
    let search = match before {
        Some(before) => before.search.over(hand, to_fret),
        None => Search::new(hand, to_fret),
    };
    Ok(FrettingPlan { notes, states: search.best(), search })
}

/// What there is to fret in a line.
pub(super) fn to_fret(line: &Line) -> Result<(Vec<NoteId>, Vec<Arc<ToFret>>)> {
    let (bars, mut reach) = (line.bars(), Reach::of(&line.heading().neck));
    let (mut notes, mut to_fret): (Vec<NoteId>, Vec<Arc<ToFret>>) = (Vec::new(), Vec::new());
    let mut last: Option<&Event> = None;
    for (index, event) in line.events().iter().enumerate() {
        let Some(pitch) = event.pitch else { continue };
        let led = index.checked_sub(1).and_then(|before| line.events()[before].legato);
        let wants: Vec<Constraint> = line.constraints_on(event).collect();
        let place = bars.place(event.onset)?;
        let frettings = reach.frettings(place, pitch, &wants)?;
        let mut note = ToFret { frettings, time: Duration::ZERO, ease: 0, fresh: true, led };
        if let Some(from) = last {
            let apart = event.onset.checked_since(from.onset)?;
            note.time = Beat::at(bars, event.onset)?.count(apart)?;
            let rested = from.id.0 + 1 != event.id.0 || from.duration >= TIME_TO_RETURN;
            note.fresh = rested && led.is_none();
            note.ease = ease(apart, note.fresh);
        }
        if let (Some(_), Some(from), Some(before)) = (led, last, to_fret.last()) {
            let pitches = [from.pitch.unwrap_or(pitch), pitch];
            if let Some(strings) = reach.kept_apart([&before.frettings, &note.frettings], pitches) {
                return Err(FingeringError::Apart { place, pitch, strings });
            }
        }
        notes.push(event.id);
        to_fret.push(Arc::new(note));
        last = Some(event);
    }
    Ok((notes, to_fret))
}

impl ToFret {
    /// The note with fewer ways to fret it.
    pub(super) fn narrowed(&self, keep: impl Fn(&Fretting) -> bool) -> ToFret {
        ToFret { frettings: self.frettings.iter().copied().filter(keep).collect(), ..self.clone() }
    }

    /// Whether the note before leads into it.
    pub(super) fn is_led(&self) -> bool {
        self.led.is_some()
    }
}

impl FrettingPlan {
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
        self.search.state(&self.states, index).fretting
    }

    /// The same line as a narrower search has it.
    pub(super) fn with(&self, narrowed: &Search<FrettingHand>) -> FrettingPlan {
        let hand = self.search.hand();
        let pairs = narrowed.notes().iter().zip(self.search.notes());
        let states = narrowed.best().into_iter().zip(pairs).map(|(state, (few, all))| {
            let fretting = hand.state(few, state).fretting;
            let at = all.frettings.iter().position(|other| *other == fretting).unwrap_or(0);
            at * hand.runs() + state % hand.runs()
        });
        FrettingPlan { states: states.collect(), ..self.clone() }
    }

    /// What a note is charged for, coming from the note before it in the plain line; what costs nothing is left out.
    pub fn charges(&self, note: NoteId) -> Vec<Charge> {
        self.index(note).map_or_else(Vec::new, |index| self.search.charges(&self.states, index))
    }

    /// What all of it costs.
    pub fn cost(&self) -> Cost {
        self.search.cost(&self.states)
    }
}

/// The fretting hand on one neck in one style: what its states are, and what they cost.
///
/// A state is a fretting and, where the style counts the notes on a string, how many there were in a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct FrettingHand {
    capo: u8,
    /// How far the hand is spread that leaves four frets to four fingers, in mm, by its position: the index one fret back, the little
    /// finger one fret on. The same frets are nearer up the neck.
    spread: Vec<[u16; 2]>,
    weights: FrettingWeights,
}

impl FrettingHand {
    pub(super) fn of(heading: &Heading) -> FrettingHand {
        let neck: &Neck = &heading.neck;
        // A neck is less than a metre long.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let mm = |low: u8, high: u8| (neck.mm(high) - neck.mm(low)).round() as u16;
        let spread = (0..=neck.frets())
            .map(|position| [mm(position.saturating_sub(1), position + 3), mm(position, position + 4)]);
        let weights = FrettingWeights::of(heading.style);
        FrettingHand { capo: neck.capo(), spread: spread.collect(), weights }
    }

    /// How many runs on a string there are to tell apart.
    fn runs(&self) -> usize {
        usize::from(self.weights.notes_per_string.unwrap_or(1))
    }

    /// What a shift over so many frets costs.
    fn shift(&self, frets: u8, open: bool, note: &ToFret) -> Cost {
        // An open string leaves the hand free meanwhile.
        let percent = if open { note.ease / 2 } else { note.ease };
        (self.weights.shift + Cost::from(frets) * self.weights.shift_by_fret) * percent / 100
    }

    fn stretched(&self, Fretting { fret, position, .. }: Fretting) -> Option<u16> {
        let [back, forward] = *self.spread.get(usize::from(position))?;
        match fret.0 {
            fret if fret < position => Some(back),
            fret if fret > position + 3 => Some(forward),
            _ => None,
        }
    }

    /// What it costs to go from one note to the next.
    fn moving(&self, from: Fretting, to: Fretting, note: &ToFret, mut add: impl FnMut(Term, Cost)) {
        let w = &self.weights;
        let frets = from.position.abs_diff(to.position);
        let open = from.finger.0 == 0 || to.finger.0 == 0;
        let same_string = from.string == to.string;
        if frets > 0 {
            let slides = note.led == Some(Legato::Slide) && same_string && from.finger == to.finger && !open;
            // A slide is the shift.
            let cost = if slides { Cost::from(frets) } else { self.shift(frets, open, note) };
            add(Term::Shift { from: from.position, to: to.position, time: note.time }, cost);
        }
        match from.string.0.abs_diff(to.string.0) {
            0 => {}
            1 => add(Term::Change, w.change),
            n => add(Term::Skip { strings: n - 1 }, w.change + Cost::from(n - 1) * w.skip),
        }
        if from.finger == to.finger && !open && frets == 0 && !note.fresh {
            let finger = to.finger.0;
            if from.fret != to.fret {
                add(Term::SameFinger { finger }, w.same_finger);
            } else if !same_string {
                add(Term::Roll { finger }, w.roll);
            }
        }
        if note.led.is_some() && !same_string {
            add(Term::Apart, w.apart);
        }
    }
}

/// Where the fretting hand is, and how many notes in a row were on its string: 1, where the style doesn't count them.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Fretted {
    pub(super) fretting: Fretting,
    run: u8,
}

impl Hand for FrettingHand {
    type Note = ToFret;
    type State = Fretted;

    fn states(&self, note: &ToFret) -> usize {
        note.frettings.len() * self.runs()
    }

    fn state(&self, note: &ToFret, number: usize) -> Fretted {
        match self.runs() {
            1 => Fretted { fretting: note.frettings[number], run: 1 },
            runs => {
                let run = u8::try_from(number % runs).unwrap_or(0) + 1;
                Fretted { fretting: note.frettings[number / runs], run }
            }
        }
    }

    fn alone(&self, Fretted { fretting, .. }: Fretted, mut add: impl FnMut(Term, Cost)) {
        let (w, fret) = (&self.weights, fretting.fret.0);
        if fretting.finger.0 == 0 {
            return add(Term::Open, w.open);
        }
        let (below, above) = (EASY_FRETS.0.saturating_sub(fret), fret.saturating_sub(EASY_FRETS.1));
        add(Term::Height { high: above > 0 }, w.low * Cost::from(below) + w.height * Cost::from(above / 2));
        add(Term::High, w.high * Cost::from((fret + self.capo).saturating_sub(HIGH)));
        if let Some(mm) = self.stretched(fretting) {
            let over = Cost::from(mm).saturating_sub(RELAXED_MM);
            add(Term::Stretch { mm }, w.stretch + over * w.stretch_per_10_mm / 10);
        }
    }

    fn first(&self, _: &ToFret, state: Fretted, _: impl FnMut(Term, Cost)) -> bool {
        state.run == 1
    }

    fn next(&self, from: Fretted, note: &ToFret, to: Fretted, mut add: impl FnMut(Term, Cost)) -> bool {
        if let Some(wanted) = self.weights.notes_per_string {
            let (missed, run) = match from.fretting.string == to.fretting.string {
                _ if note.fresh => (0, 1),
                true => (u8::from(from.run >= wanted), (from.run + 1).min(wanted)),
                false => (wanted - from.run, 1),
            };
            if to.run != run {
                return false;
            }
            add(Term::Miscount { wanted }, self.weights.miscount * Cost::from(missed));
        }
        self.moving(from.fretting, to.fretting, note, add);
        true
    }

    fn at_least(&self, from: Fretted, note: &ToFret, to: Fretted) -> Cost {
        let (from, to) = (from.fretting, to.fretting);
        let frets = from.position.abs_diff(to.position);
        match frets {
            0 => 0,
            _ if note.led.is_some() => 1,
            _ => self.shift(frets, from.finger.0 == 0 || to.finger.0 == 0, note),
        }
    }
}
