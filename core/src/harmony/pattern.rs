//! A cell that moves through a scale.

use super::candidate::Candidate;
use super::name::{Direction, Kind, Term};
use super::run::choices;
use super::setting::{Meant, Setting};
use super::tones::Tones;
use super::weights;

/// The widest leap in a cell, in steps of the scale: a fifth.
const WIDEST: i32 = 4;

pub(super) fn find(setting: &Setting, first: usize, found: &mut Vec<Candidate>) {
    let reach = setting.reach(first);
    for (scale, tones, rank) in choices(setting, first, reach) {
        let Some(places) = places(setting, (first, reach), tones) else { continue };
        for size in 2..=4usize {
            for advance in [-2, -1, 1, 2] {
                let is_alike = |note: &usize| places[*note] - places[note - size] == advance;
                let alike = (size..places.len()).take_while(is_alike).count();
                let copies = 1 + alike / size;
                let least = if size == 2 { 3 } else { 2 };
                let cell: Vec<i32> = places.windows(2).take(size - 1).map(|pair| pair[1] - pair[0]).collect();
                let join = places.get(size).map(|place| place - places[size - 1]);
                let is_cell = cell.iter().all(|step| (1..=WIDEST).contains(&step.abs()));
                // All steps alike are a run, or a chord.
                let is_straight = cell.iter().all(|step| Some(*step) == join);
                if copies < least || !is_cell || is_straight {
                    continue;
                }
                let end = first + copies * size;
                let mut charges = setting.any(first, end);
                setting.fit(first, end, Meant::Scale(scale), &mut charges);
                charges.add(Term::ScaleRank, rank);
                charges.add(Term::Kind, weights::PATTERN);
                let short = |step: i32| i8::try_from(step).unwrap_or(0);
                let cell = cell.into_iter().map(short).collect();
                let direction = if advance > 0 { Direction::Up } else { Direction::Down };
                let kind = Kind::Pattern { scale, cell, advance: short(advance) };
                found.push(Candidate::new(end, kind, direction, charges));
            }
        }
    }
}

/// Where notes are in a scale, counted in its tones from the first note; as many as are in it.
fn places(setting: &Setting, (first, reach): (usize, usize), tones: Tones) -> Option<Vec<i32>> {
    let start = setting.notes[first].key;
    let inside = setting.notes[first..reach].iter().map(|note| note.key).take_while(|key| tones.sound(*key));
    let places: Vec<i32> = inside.map(|key| tones.steps(start, key)).collect();
    (places.len() >= 4).then_some(places)
}
