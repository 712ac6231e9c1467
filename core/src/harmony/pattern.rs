//! A cell that moves through a scale.

use super::candidate::Candidate;
use super::name::{Direction, Kind, Term};
use super::run::Choice;
use super::setting::{Meant, Setting};
use super::tones::Tones;
use super::weights;

/// The widest leap in a cell, in steps of the scale: a fifth.
const WIDEST: i32 = 4;

pub(super) fn find(setting: &Setting, first: usize, choices: &[Choice], found: &mut Vec<Candidate>) {
    let reach = setting.reach(first);
    let mut places = Vec::with_capacity(weights::LONGEST);
    for &(scale, tones, rank) in choices {
        fill(&mut places, setting, (first, reach), tones);
        for size in 2..=4usize {
            for advance in [-2, -1, 1, 2] {
                let is_alike = |note: &usize| places[*note] - places[note - size] == advance;
                let alike = (size..places.len()).take_while(is_alike).count();
                let copies = 1 + alike / size;
                let least = if size == 2 { 3 } else { 2 };
                if copies < least {
                    continue;
                }
                let cell = || places.windows(2).take(size - 1).map(|pair| pair[1] - pair[0]);
                let join = places.get(size).map(|place| place - places[size - 1]);
                let is_cell = cell().all(|step| (1..=WIDEST).contains(&step.abs()));
                // All steps alike are a run, or a chord.
                let is_straight = cell().all(|step| Some(step) == join);
                if !is_cell || is_straight {
                    continue;
                }
                let end = first + copies * size;
                let mut charges = setting.any(first, end);
                setting.fit(first, end, Meant::Scale(scale), &mut charges);
                charges.add(Term::ScaleRank, rank);
                charges.add(Term::Kind, weights::PATTERN);
                let short = |step: i32| i8::try_from(step).unwrap_or(0);
                let cell = cell().map(short).collect();
                let direction = if advance > 0 { Direction::Up } else { Direction::Down };
                let kind = Kind::Pattern { scale, cell, advance: short(advance) };
                found.push(Candidate::new(end, kind, direction, charges));
            }
        }
    }
}

/// Where notes are in a scale, counted in its tones from the first note; as many as are in it.
fn fill(places: &mut Vec<i32>, setting: &Setting, (first, reach): (usize, usize), tones: Tones) {
    places.clear();
    let (mut place, mut before) = (0, setting.notes[first].key);
    let inside = setting.notes[first..reach].iter().map(|note| note.key).take_while(|key| tones.sound(*key));
    places.extend(inside.map(|key| {
        place += tones.steps(before, key);
        before = key;
        place
    }));
}
