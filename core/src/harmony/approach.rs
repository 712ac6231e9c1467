//! Notes that lead to the one after them, notes that a line lands on, and notes without a name.

use crate::chord::Degree;

use super::candidate::Candidate;
use super::degrees::degree;
use super::name::{Direction, Kind, Landing, Target, Term};
use super::setting::{Charges, Setting};
use super::tones::class;
use super::weights;

pub(super) fn find(setting: &Setting, first: usize, found: &mut Vec<Candidate>) {
    loose(setting, first, found);
    leading(setting, first, found);
    enclosing(setting, first, found);
    neighbor(setting, first, found);
    if let Some(landing) = landing(setting, first) {
        let charges = Charges::default().with(Term::Name, weights::LANDING);
        found.push(Candidate::new(first + 1, Kind::Landing(landing), Direction::Mixed, charges));
    }
}

/// What a note is over its chord.
fn degree_of(setting: &Setting, note: usize) -> Option<Degree> {
    degree(setting.notes[note].name, &setting.over(note).symbol)
}

/// Whether a note is a tone of its chord. Where there is none, of the key's triad.
fn is_chord_tone(setting: &Setting, note: usize) -> bool {
    let (over, tone) = (setting.over(note), setting.notes[note].class);
    match (over.chord(), over.key) {
        (Some(_), _) => over.tones.has(tone),
        (None, Some((scale, _))) => {
            [1, 3, 5].iter().any(|&number| scale.degree(number).is_some_and(|name| class(name) == tone))
        }
        (None, None) => false,
    }
}

fn is_scale_tone(setting: &Setting, note: usize) -> bool {
    let (over, tone) = (setting.over(note), setting.notes[note].class);
    over.scales.first().or(over.key.as_ref()).is_some_and(|(_, tones)| tones.has(tone))
}

fn loose(setting: &Setting, first: usize, found: &mut Vec<Candidate>) {
    let mut put = |end: usize, cost| {
        let charges = Charges::default().with(Term::Loose, cost);
        found.push(Candidate::new(end, Kind::Loose, Direction::Mixed, charges));
    };
    let is_tone = is_chord_tone(setting, first);
    put(
        first + 1,
        match () {
            () if is_tone => weights::CHORD_TONE,
            () if is_scale_tone(setting, first) => weights::SCALE_TONE,
            () => weights::OTHER_TONE,
        },
    );
    if is_tone && first + 1 < setting.notes.len() && is_chord_tone(setting, first + 1) {
        put(first + 2, weights::TWO_CHORD_TONES);
    }
}

/// The note after some, if these lead to it: a tone of its chord, without a long rest before it. And what it costs that it is on no beat.
fn target(setting: &Setting, note: usize) -> Option<(Target, u32)> {
    let there = setting.notes.get(note).filter(|note| !note.breaks)?;
    let found = || Target { note: there.id, degree: degree_of(setting, note) };
    is_chord_tone(setting, note).then(|| (found(), if there.is_on_beat { 0 } else { weights::WEAK_TARGET }))
}

/// One note that leads to the next, or several by half steps.
fn leading(setting: &Setting, first: usize, found: &mut Vec<Candidate>) {
    let key = |note: usize| setting.notes[note].key;
    let Some(next) = setting.notes.get(first + 1) else { return };
    let step = next.key - key(first);
    if let Some((target, weak)) = target(setting, first + 1)
        && (1..=2).contains(&step.abs())
        && !is_chord_tone(setting, first)
    {
        let cost = if step.abs() == 1 { weights::BY_HALF_STEP } else { weights::BY_WHOLE_STEP };
        let charges = Charges::default().with(Term::Name, cost).with(Term::WeakTarget, weak);
        let direction = if step > 0 { Direction::Up } else { Direction::Down };
        found.push(Candidate::new(first + 1, Kind::Approach { target }, direction, charges));
    }
    if step.abs() != 1 {
        return;
    }
    let reach = setting.reach(first);
    let steps = (first + 1..reach).take_while(|&note| key(note) - key(note - 1) == step).count();
    let direction = if step > 0 { Direction::Up } else { Direction::Down };
    for end in first + 2..=first + steps + 1 {
        let goes_on = end <= first + steps;
        if goes_on && let Some((target, weak)) = target(setting, end) {
            let charges =
                Charges::default().with(Term::Name, weights::BY_HALF_STEP).with(Term::WeakTarget, weak);
            let kind = Kind::Chromatic { target: Some(target) };
            found.push(Candidate::new(end, kind, direction, charges));
        }
        if end - first >= 3 {
            let mut charges = setting.any(first, end).with(Term::Tones, weights::KEY);
            charges.add(Term::ThreeNotes, if end - first == 3 { weights::THREE_RUN } else { 0 });
            found.push(Candidate::new(end, Kind::Chromatic { target: None }, direction, charges));
        }
    }
}

/// A note above and one below the next one, each a whole step away at most.
fn enclosing(setting: &Setting, first: usize, found: &mut Vec<Candidate>) {
    if setting.reach(first) < first + 3 {
        return;
    }
    let [a, b, there] = [0, 1, 2].map(|index| setting.notes[first + index].key);
    let is_around = (a - there).signum() == -(b - there).signum();
    let is_near = [a, b].iter().all(|key| (1..=2).contains(&(key - there).abs()));
    if let Some((target, weak)) = target(setting, first + 2)
        && is_around
        && is_near
    {
        let charges = Charges::default().with(Term::Name, weights::ENCLOSURE).with(Term::WeakTarget, weak);
        let kind = Kind::Enclosure { target };
        found.push(Candidate::new(first + 2, kind, Direction::Mixed, charges));
    }
}

/// Away from a note by a step, and back.
fn neighbor(setting: &Setting, first: usize, found: &mut Vec<Candidate>) {
    if setting.reach(first) < first + 3 {
        return;
    }
    let [a, b, again] = [0, 1, 2].map(|index| setting.notes[first + index].key);
    if a == again && (1..=2).contains(&(a - b).abs()) {
        let charges = Charges::default().with(Term::Name, weights::NEIGHBOR);
        let direction = if b > a { Direction::UpDown } else { Direction::DownUp };
        found.push(Candidate::new(first + 3, Kind::Neighbor, direction, charges));
    }
}

/// How a note is landed on: the first one of a new chord, a tone of it or its ninth, by a whole step at most.
pub(super) fn landing(setting: &Setting, note: usize) -> Option<Landing> {
    let (here, before) = (&setting.notes[note], setting.notes.get(note.checked_sub(1)?)?);
    if here.over == before.over || setting.over(note).chord().is_none() {
        return None;
    }
    let half_steps = here.key - before.key;
    let (from, to) = (degree_of(setting, note - 1)?, degree_of(setting, note)?);
    let is_goal = is_chord_tone(setting, note) || to == Degree::Nine;
    let is_landed = !here.breaks && half_steps.abs() <= 2 && is_goal;
    is_landed.then(|| Landing { note: here.id, from, to, half_steps: i8::try_from(half_steps).unwrap_or(0) })
}
