//! The picking hand: the line as it sounds, on frets that are settled -> a stroke for every note, or a slur or slide that leaves it out.

use std::cmp::Ordering;
use std::sync::Arc;

use crate::attack::Attack;
use crate::line::{Event, Heading, Line, NoteId};
use crate::neck::Stroke;
use crate::technique::{Constraint, PickingStyle};
use crate::time::{Duration, Onset};
use crate::timed::Timed;

use super::beats::Beat;
use super::error::{FingeringError, Result};
use super::fretting::TIME_TO_RETURN;
use super::reach::Fretting;
use super::search::{Hand, Search};
use super::terms::{Charge, Term};
use super::weights::{Cost, FAST_EIGHTHS, PICKING};

/// A note to be picked, or to be led into.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct ToPick {
    /// Where it lies.
    pub(super) fretting: Fretting,
    /// Nothing comes before it, or a rest, or a note so long that the pick starts anew.
    fresh: bool,
    /// How it begins where the line leads into it.
    led: Option<Attack>,
    /// Which way the pick moves on to it.
    pub(super) style: PickingStyle,
    /// Two strings may be swept: the passage asks for sweeps.
    sweeps_two: bool,
    /// Whether its stroke may be left out.
    may_slur: bool,
    /// It comes on the beat, and sooner than in a line with time to strike every note.
    hasty: bool,
    /// The stroke that is settled.
    stroke: Option<Stroke>,
    /// The stroke of a hand that swings with the beat: down on it, up off it (common practice, no source).
    natural: Stroke,
    /// The stroke of picking by the beat: down on it, alternating between beats, up halfway where notes before it are missing.
    by_beat: Stroke,
}

/// How the notes that sound are picked.
#[derive(Clone, Debug)]
pub(super) struct PickingPlan {
    /// The notes that sound, in order of time.
    pub(super) notes: Vec<NoteId>,
    states: Vec<usize>,
    search: Search<PickingHand>,
}

/// Picks what sounds, where `fretting` says that it lies.
///
/// # Errors
/// [`FingeringError::Pin`] for two strokes settled for one note, and [`FingeringError::LedStroke`].
pub(super) fn pick(
    timed: &Timed,
    line: &Line,
    fretting: impl Fn(NoteId) -> Option<Fretting>,
    before: Option<&PickingPlan>,
) -> Result<PickingPlan> {
    let (notes, to_pick) = to_pick(timed, line, fretting)?.into_iter().unzip();
    let search = match before {
        Some(before) => before.search.over_notes(to_pick),
        None => Search::new(PickingHand, to_pick),
    };
    Ok(PickingPlan { notes, states: search.best(), search })
}

/// What there is to pick in a line as it sounds, with the frets that are settled for its notes.
pub(super) fn to_pick(
    timed: &Timed,
    line: &Line,
    fretting: impl Fn(NoteId) -> Option<Fretting>,
) -> Result<Vec<(NoteId, Arc<ToPick>)>> {
    let heading: &Heading = line.heading();
    let mut to_pick: Vec<(NoteId, Arc<ToPick>)> = Vec::with_capacity(timed.events.len());
    let mut last: Option<(usize, &Event)> = None;
    // The strokes of picking by the beat depend on the notes before.
    let mut by_beat: Option<(Onset, Stroke)> = None;
    for (index, event) in timed.events.iter().enumerate() {
        let Some(pitch) = event.pitch else { continue };
        let Some(fretting) = fretting(event.id) else { continue };
        let beat = Beat::at(&timed.bars, event.onset)?;
        let led = index.checked_sub(1).map(|before| &timed.events[before]);
        let led = led.and_then(|from| Some(Attack::led(from.legato?, from.pitch?, pitch)));
        let (mut fresh, mut hasty) = (true, false);
        if let Some((before, from)) = last {
            let apart = event.onset.checked_since(from.onset)?;
            hasty = beat.is_on() && is_fast(apart, heading);
            fresh = (index > before + 1 || from.duration >= TIME_TO_RETURN) && led.is_none();
        }
        let natural = if beat.is_down() { Stroke::Down } else { Stroke::Up };
        let turn = match by_beat {
            _ if beat.is_on() => Stroke::Down,
            Some((last, _))
                if beat.offset == Duration::EIGHTH && event.onset.checked_since(last)? > Duration::EIGHTH =>
            {
                natural
            }
            Some((_, stroke)) if !fresh => stroke.other(),
            _ => natural,
        };
        by_beat = Some((event.onset, turn));
        let wants: Vec<Constraint> = line.constraints_on(event).collect();
        let place = || timed.bars.place(event.onset);
        let settled = only_one(&wants, |want| match want {
            Constraint::Stroke(stroke) => Some(stroke),
            _ => None,
        });
        let asked = only_one(&wants, |want| match want {
            Constraint::Picking(style) => Some(style),
            _ => None,
        });
        let (stroke, asked) = match (settled, asked) {
            (Ok(stroke), Ok(asked)) => (stroke, asked),
            (Err(wants), _) | (_, Err(wants)) => {
                return Err(FingeringError::Pin { place: place()?, pitch, wants });
            }
        };
        if let (Some(_), Some(stroke)) = (led, stroke) {
            return Err(FingeringError::LedStroke { place: place()?, pitch, stroke });
        }
        // A grace note is struck for the note that it leads into.
        let may_slur = event.grace.is_none() && (heading.picking.slurs || wants.contains(&Constraint::Slurs));
        // What is settled for the note goes before what is said of the line.
        let stroke = stroke.or(heading.picking.first.filter(|_| to_pick.is_empty()));
        let style = asked.unwrap_or(heading.picking.strokes);
        let sweeps_two = asked == Some(PickingStyle::Sweep);
        let note = ToPick {
            fretting,
            fresh,
            led,
            style,
            sweeps_two,
            may_slur,
            hasty,
            stroke,
            natural,
            by_beat: turn,
        };
        to_pick.push((event.id, Arc::new(note)));
        last = Some((index, event));
    }
    Ok(to_pick)
}

/// Whether two notes so far apart follow each other sooner than eighths at [`FAST_EIGHTHS`].
fn is_fast(apart: Duration, heading: &Heading) -> bool {
    let tempo = i64::from(heading.tempo.quarters_per_minute());
    2 * i64::from(FAST_EIGHTHS) * apart.numer() < tempo * apart.denom()
}

/// The one thing of a kind that is asked for, if any, or all of them where they differ.
fn only_one<T: Copy + PartialEq>(
    wants: &[Constraint],
    kind: impl Fn(Constraint) -> Option<T>,
) -> std::result::Result<Option<T>, Vec<Constraint>> {
    let asked: Vec<(Constraint, T)> = wants.iter().filter_map(|&want| Some((want, kind(want)?))).collect();
    match asked.split_first() {
        None => Ok(None),
        Some((first, others)) => match others.iter().find(|other| other.1 != first.1) {
            None => Ok(Some(first.1)),
            Some(other) => Err(vec![first.0, other.0]),
        },
    }
}

impl PickingPlan {
    /// How each note begins.
    pub(super) fn attacks(&self) -> Vec<(NoteId, Attack)> {
        let notes = self.search.notes();
        let attack = |index: usize| {
            let note = &notes[index];
            let stroke = self.search.state(&self.states, index).stroke;
            let led = || note.led.or_else(|| slurred(notes[index.checked_sub(1)?].fretting, note.fretting));
            // A note that nothing leads into is struck.
            stroke.map(Attack::Struck).or_else(led).unwrap_or(Attack::Struck(note.natural))
        };
        (0..).zip(&self.notes).map(|(index, &note)| (note, attack(index))).collect()
    }

    /// The same notes on other frets.
    pub(super) fn on(&self, fretting: impl Fn(NoteId) -> Option<Fretting>) -> PickingPlan {
        let moved = self.notes.iter().zip(self.search.notes()).map(|(&id, note)| {
            let fretting = fretting(id).unwrap_or(note.fretting);
            Arc::new(ToPick { fretting, ..ToPick::clone(note) })
        });
        let search = self.search.over_notes(moved.collect());
        PickingPlan { notes: self.notes.clone(), states: search.best(), search }
    }

    /// What a note is charged for, coming from the note that sounds before it.
    pub(super) fn charges(&self, index: usize) -> Vec<Charge> {
        self.search.charges(&self.states, index)
    }

    pub(super) fn cost(&self) -> Cost {
        self.search.cost(&self.states)
    }
}

/// The picking hand: what its states are, and what they cost.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct PickingHand;

/// What the pick did last, and where.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Picked {
    fretting: Fretting,
    /// The last stroke; `None` where the next one is free, as after a slur.
    stroke: Option<Stroke>,
    /// How many notes in a row it has swept over: 1, 2, or 3 for more.
    swept: usize,
}

impl Picked {
    /// A sweep is three notes at least, where two are not asked for: one of two may not end.
    fn sweep_is_open(self) -> bool {
        self.swept == 2
    }
}

impl PickingHand {
    /// Strokes that start the line, or start anew. Alternate picking starts with the beat: the other way round, every beat that follows
    /// would have the up stroke.
    fn starts(self, note: &ToPick, now: Picked, mut add: impl FnMut(Term, Cost)) -> bool {
        let Some(stroke) = now.stroke.filter(|_| now.swept == 1) else { return false };
        match (note.stroke, note.style) {
            (Some(settled), _) => settled == stroke,
            (None, PickingStyle::Alternate) => stroke == note.natural,
            (None, PickingStyle::Beat) => stroke == note.by_beat,
            (None, PickingStyle::Economy | PickingStyle::Sweep) => {
                if stroke != note.natural {
                    add(Term::AgainstBeat { stroke }, PICKING.against_beat);
                }
                true
            }
        }
    }

    /// Strokes that follow another one at once.
    fn follows(self, last: Picked, note: &ToPick, now: Picked, mut add: impl FnMut(Term, Cost)) -> bool {
        let (Some(stroke), Some(before)) = (now.stroke, last.stroke) else { return false };
        let (from, to) = (last.fretting, now.fretting);
        // Down strokes go on to higher-sounding strings, which have lower numbers.
        let onward = match before {
            Stroke::Down => to.string < from.string,
            Stroke::Up => to.string > from.string,
        };
        let neighbor = from.string.0.abs_diff(to.string.0) == 1;
        let again = stroke == before;
        let allowed = match note.style {
            PickingStyle::Alternate => !again,
            PickingStyle::Beat => stroke == note.by_beat,
            PickingStyle::Economy => !again || onward,
            PickingStyle::Sweep => !again || onward && neighbor,
        };
        let settled = note.stroke == Some(stroke);
        if !settled && (note.stroke.is_some() || !allowed) {
            return false;
        }
        let sweeps = note.style == PickingStyle::Sweep && again && allowed;
        let swept = match last.swept + 1 {
            _ if !sweeps => 1,
            2 if note.sweeps_two => 3,
            swept => swept.min(3),
        };
        // A pinned stroke may come again without the third note that makes a sweep.
        let stays_two = sweeps && settled && swept == 2 && now.swept == 1;
        if last.sweep_is_open() && !sweeps || now.swept != swept && !stays_two {
            return false;
        }
        let economy = note.style == PickingStyle::Economy;
        let [swept, outside, inside] = if economy { PICKING.economy } else { PICKING.crossing };
        match again {
            _ if !allowed || stays_two => add(Term::Broken { stroke }, PICKING.broken),
            true => add(Term::Swept, swept),
            // Lower string down, then higher string up, is outside.
            false if from.string != to.string && onward => add(Term::Outside, outside),
            false if from.string != to.string => add(Term::Inside, inside),
            _ => {}
        }
        true
    }
}

impl Hand for PickingHand {
    type Note = ToPick;
    type State = Picked;

    fn states(&self, note: &ToPick) -> usize {
        // No stroke; down and up with one note, and in sweeps with two and more.
        if note.style == PickingStyle::Sweep { 7 } else { 3 }
    }

    fn state(&self, note: &ToPick, number: usize) -> Picked {
        let stroke = match number {
            0 => None,
            number if number % 2 == 1 => Some(Stroke::Down),
            _ => Some(Stroke::Up),
        };
        Picked { fretting: note.fretting, stroke, swept: number.div_ceil(2) }
    }

    fn alone(&self, _: Picked, _: impl FnMut(Term, Cost)) {}

    fn first(&self, note: &ToPick, state: Picked, add: impl FnMut(Term, Cost)) -> bool {
        self.starts(note, state, add)
    }

    fn next(&self, last: Picked, note: &ToPick, now: Picked, mut add: impl FnMut(Term, Cost)) -> bool {
        if note.led.is_some() {
            return now.stroke.is_none() && !last.sweep_is_open();
        }
        let slur = slurred(last.fretting, note.fretting)
            .filter(|_| note.may_slur && !note.fresh && note.stroke.is_none() && !last.sweep_is_open());
        if now.stroke.is_none() {
            let Some(attack) = slur else { return false };
            let half_step = last.fretting.fret.0.abs_diff(note.fretting.fret.0) == 1;
            let cost = match attack {
                Attack::Slid => PICKING.slide,
                _ if note.natural == Stroke::Up => PICKING.slur_off_beat,
                _ if half_step => PICKING.slur_half_step,
                Attack::Pulled => PICKING.pull,
                _ => PICKING.hammer,
            };
            add(Term::Slurred { attack }, cost);
            return true;
        }
        match slur {
            Some(Attack::Hammered) if note.hasty => add(Term::Haste, PICKING.haste[0]),
            Some(Attack::Pulled) if note.hasty => add(Term::Haste, PICKING.haste[1]),
            _ => {}
        }
        match last.stroke.is_some() && !note.fresh {
            true => self.follows(last, note, now, add),
            false => !last.sweep_is_open() && self.starts(note, now, add),
        }
    }

    fn may_end(&self, state: Picked) -> bool {
        !state.sweep_is_open()
    }
}

/// How a note can be led into without a stroke: within a position by another finger, or by the same finger along the string.
fn slurred(from: Fretting, to: Fretting) -> Option<Attack> {
    /// As far as a finger is slid in a line.
    const FARTHEST_SLIDE: u8 = 4;
    /// As far as a finger is hammered on an open string.
    const FARTHEST_SLUR: u8 = 12;
    let far = from.fret.0.abs_diff(to.fret.0);
    // A stretch is not for a finger that has to sound the note by itself.
    if from.string != to.string || far > FARTHEST_SLUR || to.is_stretched() {
        return None;
    }
    match (from.position == to.position, to.fret.cmp(&from.fret), to.finger.cmp(&from.finger)) {
        (true, Ordering::Greater, Ordering::Greater) => Some(Attack::Hammered),
        (true, Ordering::Less, Ordering::Less) => Some(Attack::Pulled),
        (false, Ordering::Greater | Ordering::Less, Ordering::Equal) => {
            (from.finger.0 > 0 && far <= FARTHEST_SLIDE).then_some(Attack::Slid)
        }
        _ => None,
    }
}
