//! A line that lands on a new chord.

use std::fmt;

use crate::bars::Place;
use crate::chord::{Chord, ChordSymbol, Degree};
use crate::hand;
use crate::harmony::{Landing, degree, is_chord_tone, key_scale, scales};
use crate::line::{Call, Event, Line, NoteId, Part};
use crate::naming::{all_of, by_name};
use crate::order;
use crate::pitch::{Interval, Pitch, PitchName};
use crate::recast::Casting;
use crate::scale::Scale;
use crate::technique::Pin;
use crate::time::{Duration, Onset};

use super::error::{MaterialError, Result};
use super::over::readable;
use super::stack::half_steps;
use super::weights::{self, Cost};

/// How a line is to land.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Land {
    /// Where the chord starts that it is to land on; every change by default.
    pub at: Option<Place>,
    /// The degrees to land on by their numbers, the preferred ones first. The first two count the same.
    pub targets: Vec<u8>,
    /// From which side to reach them; from either by default.
    pub from: Option<Side>,
    /// How many notes may be changed, 1 to 3.
    pub most: u8,
}

impl Default for Land {
    /// Every change, on the 3, 7, 9, 5 or root, from either side, with up to three notes changed.
    fn default() -> Land {
        Land { at: None, targets: vec![3, 7, 9, 5, 1], from: None, most: 3 }
    }
}

/// From which side a note is reached.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub enum Side {
    Below,
    Above,
}

impl Side {
    /// Both.
    pub const ALL: [Side; 2] = [Side::Below, Side::Above];

    /// `below` or `above`.
    pub fn name(self) -> &'static str {
        ["below", "above"][self as usize]
    }
}

by_name!(Side, "a side");

/// A line that lands, and what was changed in it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Landed {
    /// The line.
    pub line: Line,
    /// Its casting, as it was.
    pub casting: Casting,
    /// What happened at each change of chords that was asked about, in order.
    pub changes: Vec<Change>,
}

/// A change of chords, and how the line lands there.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// Where the chord starts.
    pub place: Place,
    /// The chord.
    pub symbol: ChordSymbol,
    /// How the line lands on it; `None` if it can't as asked.
    pub landing: Option<Landing>,
    /// The notes that are changed; none if it landed already.
    pub changed: Vec<Changed>,
    /// What the text called passages with these notes, and doesn't any more.
    pub uncalled: Vec<String>,
}

/// A note that was changed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Changed {
    /// The note.
    pub note: NoteId,
    /// Where it starts.
    pub place: Place,
    /// What it was.
    pub before: Pitch,
    /// What it is.
    pub after: Pitch,
    /// What was fixed for its place on the neck, and doesn't hold any more.
    pub unpinned: bool,
}

impl fmt::Display for Change {
    /// A sentence without a period.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: ", self.place.spoken())?;
        let Some(landing) = &self.landing else {
            return write!(f, "no way to land on {} as asked, so nothing is changed", self.symbol);
        };
        if self.changed.is_empty() {
            return write!(f, "already {landing}, so nothing is changed");
        }
        let change = |changed: &Changed| {
            let pins = if changed.unpinned { " with a new fingering" } else { "" };
            format!("{} instead of {} at {}{pins}", changed.after, changed.before, changed.place.spoken())
        };
        write!(f, "{landing}, with {}", all_of(self.changed.iter().map(change)))?;
        match self.uncalled.is_empty() {
            true => Ok(()),
            false => write!(f, "; what was called {} isn't any more", all_of(&self.uncalled)),
        }
    }
}

/// Makes a line land on new chords: the first note over one is a target, reached by a half or a whole step.
///
/// As few of the two notes before it and itself are changed as possible. Of several ways, it is the one with the lowest cost: a whole step to the target
/// costs more than a half step, a later target more than an earlier one (the first two cost the same), and so does a leap (wider than a third) before the
/// notes that are changed. Of those with the same cost, it is the one whose notes move least (common practice, no source). Notes that lead to the target are
/// tones of their own chord or its first scale. Rhythm and onsets stay, and so does the casting. A change where the line lands on a target already is left
/// as it is.
///
/// ```
/// use halfbar_core::material::{self, Land};
/// use halfbar_core::read;
///
/// let reading = read::text("@G7 G3 A B D4  F D B A | @Cmaj7 C:4 |");
/// let line = reading.line.expect("two bars");
/// let landed = material::land(&line, &reading.casting, &Land::default())?;
/// let said = landed.changes[0].to_string();
/// assert_eq!(said, "bar 2 beat 1: lands 9 to 7, a whole step, with B3 instead of C4 at bar 2 beat 1");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// - [`MaterialError::NoChange`] for a line without a change of chords, [`MaterialError::NotAChange`] for a place where none is.
/// - [`MaterialError::NoLanding`] if a change that was asked for can't be landed on. Among all changes, one that can't is reported as such.
/// - [`MaterialError::Targets`] for no target or more than five, [`MaterialError::Changes`] for a number of notes other than 1 to 3.
pub fn land(line: &Line, casting: &Casting, asked: &Land) -> Result<Landed> {
    if asked.targets.is_empty() || asked.targets.len() > weights::TARGETS.len() {
        return Err(MaterialError::Targets);
    }
    if !(1..=3).contains(&asked.most) {
        return Err(MaterialError::Changes { most: asked.most });
    }
    let points = points(line)?;
    if points.is_empty() {
        return Err(MaterialError::NoChange);
    }
    let asked_for: Vec<&Point> =
        points.iter().filter(|point| asked.at.is_none_or(|place| place == point.place)).collect();
    if let (true, Some(place)) = (asked_for.is_empty(), asked.at) {
        let changes = all_of(points.iter().map(|point| point.place));
        return Err(MaterialError::NotAChange { place, changes });
    }
    let mut draft = Draft::of(line);
    let mut changes = Vec::new();
    let mut settled = 0;
    for point in asked_for {
        let change = match draft.land_on(point, asked, settled)? {
            Some(change) => change,
            None if asked.at.is_some() => return Err(impossible(line, point, asked)),
            None => Change {
                place: point.place,
                symbol: point.symbol.clone(),
                landing: None,
                changed: Vec::new(),
                uncalled: Vec::new(),
            },
        };
        // What one change has settled, the next one leaves alone.
        settled = point.note + 1;
        draft.take(&change);
        changes.push(change);
    }
    Ok(Landed { line: draft.line(&[])?, casting: casting.clone(), changes })
}

/// A change of chords with a note on either side.
struct Point {
    place: Place,
    symbol: ChordSymbol,
    /// The first note over the new chord, by its place among all notes.
    note: usize,
}

/// The notes of a line, without its rests.
fn notes(line: &Line) -> Vec<(&Event, Pitch)> {
    line.events().iter().filter_map(|event| Some((event, event.pitch?))).collect()
}

fn points(line: &Line) -> Result<Vec<Point>> {
    let notes = notes(line);
    let mut points = Vec::new();
    for (index, pair) in line.chords().windows(2).enumerate() {
        let (before, chord) = (&pair[0], &pair[1]);
        let end = line.chords().get(index + 2).map_or(line.end(), |next| next.onset);
        let is_known = chord.symbol.chord().is_some_and(|chord| chord.quality().is_ok());
        if before.symbol == chord.symbol || before.symbol.chord().is_none() || !is_known {
            continue;
        }
        let note = notes.partition_point(|(event, _)| event.onset < chord.onset);
        let Some((event, _)) = notes.get(note).filter(|(event, _)| event.onset < end) else { continue };
        let Some((last, _)) = note.checked_sub(1).and_then(|last| notes.get(last)) else { continue };
        // A long rest parts what is before it from what is after.
        let rest = event.onset.checked_since(last.span()?.end())?;
        let is_over = line.chord_at(last.onset) == Some(&before.symbol);
        if rest < Duration::QUARTER && is_over {
            let place = line.bars().place(chord.onset)?;
            points.push(Point { place, symbol: chord.symbol.clone(), note });
        }
    }
    Ok(points)
}

/// The names that a note may have at a moment: the tones of its chord and those of the chord's first scale; the key's where there is no chord.
fn names_at(line: &Line, onset: Onset) -> Vec<PitchName> {
    let key = line.bars().split(onset).map_or_else(|_| Default::default(), |(bar, _)| line.bars().key(bar));
    let chord = line.chord_at(onset).and_then(ChordSymbol::chord);
    let tones = chord.into_iter().flat_map(Chord::tones).map(|(_, name)| name);
    let scale = chord.and_then(|chord| scales(chord, key).into_iter().next()).or_else(|| key_scale(key));
    tones.chain(scale.into_iter().flat_map(Scale::degrees)).map(readable).collect()
}

/// The pitches with some names on the neck, at most an octave from another pitch; no sound twice.
fn near(line: &Line, names: &[PitchName], pitch: Pitch) -> Vec<Pitch> {
    let mut found: Vec<Pitch> = Vec::new();
    let octaves = pitch.octave.saturating_sub(2)..=pitch.octave.saturating_add(2).min(9);
    for near in octaves.flat_map(|octave| names.iter().map(move |name| Pitch { name: *name, octave })) {
        let is_near = half_steps(pitch, near).abs() <= 12;
        let is_on_neck = near.midi().is_some_and(|key| line.heading().neck.places(key).next().is_some());
        if is_near && is_on_neck && found.iter().all(|known| known.midi() != near.midi()) {
            found.push(near);
        }
    }
    // From the lowest up, whatever their letters.
    order::sort(&mut found, |pitch| pitch.midi());
    found
}

/// The rank of a note among the targets, if it is one.
fn rank(pitch: Pitch, symbol: &ChordSymbol, targets: &[u8]) -> Option<usize> {
    let found = degree(pitch.name, symbol)?;
    let is_goal = is_chord_tone(pitch.name, symbol) || found == Degree::Nine;
    // The tone that replaces a third or a seventh does as well.
    let number = match found {
        Degree::Two | Degree::Four => 3,
        Degree::Six => 7,
        found => found.number(),
    };
    targets.iter().position(|target| *target == number).filter(|_| is_goal)
}

/// Whether one note leads to another from the side asked for.
fn leads(from: Pitch, to: Pitch, side: Option<Side>) -> bool {
    let step = half_steps(from, to);
    (1..=2).contains(&step.abs()) && side.is_none_or(|side| (side == Side::Below) == (step > 0))
}

/// The widest step that isn't a leap: a major third.
const THIRD: i32 = 4;

/// A line with what is changed in it so far.
struct Draft<'a> {
    line: &'a Line,
    /// Its notes, without its rests, with the pitches that they have now.
    notes: Vec<(&'a Event, Pitch)>,
    /// In order of time.
    changed: Vec<Changed>,
    /// What passages are still called.
    calls: Vec<Call>,
}

impl<'a> Draft<'a> {
    fn of(line: &'a Line) -> Draft<'a> {
        Draft { line, notes: notes(line), changed: Vec::new(), calls: line.calls().to_vec() }
    }

    /// The cheapest way to land on a chord, if there is one. Notes before `settled` stay.
    fn land_on(&self, point: &Point, asked: &Land, settled: usize) -> Result<Option<Change>> {
        let (line, all) = (self.line, &self.notes);
        let Some(start) = point.note.checked_sub(1) else { return Ok(None) };
        let ((_, last), (event, goal)) = (all[start], all[point.note]);
        let landing = |from: Pitch, to: Pitch| {
            let before = line.chord_at(all[start].0.onset)?;
            let [from_degree, to_degree] = [degree(from.name, before)?, degree(to.name, &point.symbol)?];
            let half_steps = i8::try_from(half_steps(from, to)).ok()?;
            Some(Landing { note: event.id, from: from_degree, to: to_degree, half_steps })
        };
        let done = |landing, changed, uncalled| {
            let (place, symbol) = (point.place, point.symbol.clone());
            Change { place, symbol, landing, changed, uncalled }
        };
        // The same note again is a landing, too, if nothing is said about the side.
        let is_there = leads(last, goal, asked.from) || (asked.from.is_none() && half_steps(last, goal) == 0);
        if is_there && rank(goal, &point.symbol, &asked.targets).is_some() {
            return Ok(Some(done(landing(last, goal), Vec::new(), Vec::new())));
        }
        let mut ways = ways(line, all, point, asked, settled);
        ways.sort_by_key(|(cost, _)| *cost);
        // Fixed strings or fingers may rule out some pitches.
        let is_fixed = self.is_fixed_around(point);
        for (_, pitches) in ways {
            let changed = pitches.iter().map(|(note, after)| self.changed(*note, *after));
            let changed: Vec<Changed> = changed.collect::<Result<_>>()?;
            if is_fixed && hand::fret(&self.line(&changed)?, None).is_err() {
                continue;
            }
            let at = |note: usize| {
                pitches.iter().find(|(index, _)| *index == note).map_or(all[note].1, |(_, to)| *to)
            };
            let is_over = |call: &&Call| changed.iter().any(|changed| self.is_in(call, changed));
            let uncalled = self.calls.iter().filter(is_over).map(|call| call.words().to_string()).collect();
            let landing = landing(at(start), at(point.note));
            return Ok(Some(done(landing, changed, uncalled)));
        }
        Ok(None)
    }

    /// Whether something is fixed for the notes that may change or those beside them.
    fn is_fixed_around(&self, point: &Point) -> bool {
        let end = (point.note + 2).min(self.notes.len());
        self.notes[point.note.saturating_sub(3)..end].iter().any(|(event, _)| {
            let is_own = !event.pin.is_empty() || event.legato.is_some() || event.grace.is_some();
            is_own || self.line.constraints_on(event).next().is_some()
        })
    }

    fn changed(&self, note: usize, after: Pitch) -> Result<Changed> {
        let (event, before) = self.notes[note];
        let (place, pin) = (self.line.bars().place(event.onset)?, event.pin);
        let unpinned = pin.string.is_some() || pin.fret.is_some() || pin.finger.is_some();
        Ok(Changed { note: event.id, place, before, after, unpinned })
    }

    /// The index of a changed note.
    fn index(&self, changed: &Changed) -> usize {
        self.notes.partition_point(|(event, _)| event.id < changed.note)
    }

    /// Whether a changed note is in a passage.
    fn is_in(&self, call: &Call, changed: &Changed) -> bool {
        call.span().contains(self.notes[self.index(changed)].0.onset)
    }

    fn take(&mut self, change: &Change) {
        for changed in &change.changed {
            let index = self.index(changed);
            let (event, pitch) = &mut self.notes[index];
            *pitch = changed.after;
            self.calls.retain(|call| !call.span().contains(event.onset));
        }
        self.changed.extend(&change.changed);
    }

    /// The line with what is changed so far and some more changes, which are later.
    fn line(&self, more: &[Changed]) -> Result<Line> {
        let line = self.line;
        let changed: Vec<&Changed> = self.changed.iter().chain(more).collect();
        let part = |event: &Event| {
            let part = event.lasting(event.duration);
            match changed.binary_search_by_key(&event.id, |changed| changed.note) {
                Ok(at) => Part {
                    pitch: Some(changed[at].after),
                    pin: Pin { stroke: event.pin.stroke, ..Pin::default() },
                    // A grace note keeps its distance.
                    grace: part.grace.and_then(|grace| {
                        grace.transposed(Interval::between(changed[at].before, changed[at].after))
                    }),
                    ..part
                },
                Err(_) => part,
            }
        };
        let parts: Vec<Part> = line.events().iter().map(part).collect();
        let made = Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec())?;
        Ok(made.with_constraints(line.constraints().to_vec()).with_calls(self.calls.clone()))
    }
}

/// Every way to land: its cost, and the notes that change with their new pitches.
fn ways(
    line: &Line,
    all: &[(&Event, Pitch)],
    point: &Point,
    asked: &Land,
    settled: usize,
) -> Vec<(Cost, Vec<(usize, Pitch)>)> {
    let choices = |note: usize| -> Vec<Pitch> {
        let (event, pitch) = all[note];
        let names = if note < settled { Vec::new() } else { names_at(line, event.onset) };
        let others = near(line, &names, pitch).into_iter().filter(|other| other.midi() != pitch.midi());
        [pitch].into_iter().chain(others).collect()
    };
    let target = point.note;
    let lead = target - 1;
    let before = lead.checked_sub(1);
    let [goals, leads_to] = [target, lead].map(choices);
    let befores: Vec<Option<Pitch>> = match before {
        Some(before) => choices(before).into_iter().map(Some).collect(),
        None => vec![None],
    };
    let mut ways = Vec::new();
    for goal in goals {
        let Some(rank) = rank(goal, &point.symbol, &asked.targets) else { continue };
        for from in leads_to.iter().copied().filter(|from| leads(*from, goal, asked.from)) {
            for second in &befores {
                let chosen = [before.zip(*second), Some((lead, from)), Some((target, goal))];
                let changed: Vec<(usize, Pitch)> =
                    chosen.into_iter().flatten().filter(|(note, pitch)| all[*note].1 != *pitch).collect();
                if changed.len() <= usize::from(asked.most)
                    && let Some(cost) = cost(all, (lead, target), &changed, rank)
                {
                    ways.push((cost, changed));
                }
            }
        }
    }
    ways
}

/// What a way costs; `None` if it repeats a note that wasn't repeated.
fn cost(
    all: &[(&Event, Pitch)],
    (lead, target): (usize, usize),
    changed: &[(usize, Pitch)],
    rank: usize,
) -> Option<Cost> {
    let at =
        |note: usize| changed.iter().find(|(index, _)| *index == note).map_or(all[note].1, |(_, to)| *to);
    let is_changed = |note: usize| changed.iter().any(|(index, _)| *index == note);
    let mut leaps = 0;
    for note in lead.saturating_sub(1).max(1)..=lead {
        let (was, is) = (half_steps(all[note - 1].1, all[note].1), half_steps(at(note - 1), at(note)));
        if !is_changed(note - 1) && !is_changed(note) {
            continue;
        }
        if is == 0 && was != 0 {
            return None;
        }
        leaps += u32::from(is.abs() > THIRD);
    }
    let onward = all.get(target + 1).map_or(0, |(_, next)| half_steps(at(target), *next).unsigned_abs());
    let count = u32::try_from(changed.len()).unwrap_or(u32::MAX);
    let whole = u32::from(half_steps(at(lead), at(target)).abs() == 2);
    let moved = changed.iter().map(|(note, to)| half_steps(all[*note].1, *to).unsigned_abs()).sum();
    let cost = weights::CHANGED * count
        + weights::WHOLE_STEP * whole
        + weights::TARGETS.get(rank).copied().unwrap_or(0)
        + weights::LEAP_BEFORE * leaps;
    Some(Cost([cost, moved, onward]))
}

/// The line without anything fixed for its notes.
fn freed(line: &Line) -> Result<Line> {
    let part = |event: &Event| Part { pin: Pin::default(), ..event.lasting(event.duration) };
    let parts: Vec<Part> = line.events().iter().map(part).collect();
    Ok(Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec())?)
}

/// The error for a change that can't be landed on, with what would help.
fn impossible(line: &Line, point: &Point, asked: &Land) -> MaterialError {
    let works_on =
        |line: &Line, other: &Land| matches!(Draft::of(line).land_on(point, other, 0), Ok(Some(_)));
    let works = |other: &Land| works_on(line, other);
    let targets = Land::default().targets;
    let help = match () {
        () if works(&Land { most: 3, ..asked.clone() }) => "allow three notes",
        () if works(&Land { from: None, ..asked.clone() }) => "allow both sides",
        () if works(&Land { targets: targets.clone(), ..asked.clone() }) => "allow the targets 3 7 9 5 1",
        () if works(&Land { from: None, most: 3, targets, ..asked.clone() }) => {
            "allow both sides, three notes and the targets 3 7 9 5 1"
        }
        () if freed(line).is_ok_and(|line| works_on(&line, asked)) => {
            "remove the fingering that is fixed for the notes before the change"
        }
        () => "write other notes before the change",
    };
    MaterialError::NoLanding {
        place: point.place,
        symbol: point.symbol.to_string(),
        targets: all_of(&asked.targets),
        side: match asked.from {
            Some(Side::Below) => "from below ",
            Some(Side::Above) => "from above ",
            None => "",
        },
        changed: asked.most,
        help: help.into(),
    }
}
