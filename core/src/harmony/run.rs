//! Neighboring tones of a scale, and tones of a pentatonic scale.

use crate::chord::Chord;
use crate::scale::Scale;

use super::candidate::Candidate;
use super::name::{Direction, Kind, Term};
use super::setting::{Meant, Setting};
use super::tones::{Tones, class};
use super::weights::{self, Cost};

pub(super) fn find(setting: &Setting, first: usize, choices: &[Choice], found: &mut Vec<Candidate>) {
    let reach = setting.reach(first);
    for &(scale, tones, rank) in choices {
        runs(setting, (first, reach), scale, tones, rank, found);
    }
    pentatonics(setting, (first, reach), found);
}

/// A scale that may be meant, and what it costs that it isn't the first choice.
pub(super) type Choice = (Scale, Tones, Cost);

/// The scales that may be meant from a note on: those of the chords there, and the key.
pub(super) fn choices(setting: &Setting, first: usize) -> Vec<Choice> {
    let reach = setting.reach(first);
    let mut all: Vec<Choice> = Vec::with_capacity(16);
    let mut offer =
        |scale: Scale, tones: Tones, cost: Cost| match all.iter_mut().find(|(known, ..)| *known == scale) {
            Some(known) => known.2 = known.2.min(cost),
            None => all.push((scale, tones, cost)),
        };
    for over in setting.notes[first].over..=setting.notes[reach - 1].over {
        let over = &setting.chords[over];
        for (rank, &(scale, tones)) in over.scales.iter().enumerate() {
            offer(scale, tones, weights::by_rank(&weights::SCALE_RANK, rank));
        }
        if let Some((scale, tones)) = over.key {
            // Where there is no chord, the key is the first choice.
            let rank = if over.chord().is_none() { 0 } else { usize::MAX };
            offer(scale, tones, weights::by_rank(&weights::SCALE_RANK, rank));
        }
    }
    all
}

fn runs(
    setting: &Setting,
    (first, reach): (usize, usize),
    scale: Scale,
    tones: Tones,
    rank: Cost,
    found: &mut Vec<Candidate>,
) {
    let key = |note: usize| setting.notes[note].key;
    let is_tone = |note: usize| tones.sound(key(note));
    if !is_tone(first) {
        return;
    }
    let (mut turns, mut passing, mut way, mut start_way) = (0, 0, 0, 0);
    let mut end = first + 1;
    while end < reach {
        let (before, here) = (key(end - 1), key(end));
        let goes = (here - before).signum();
        // From tone to tone, or by half steps on the way from one to the next.
        let is_neighbor = match is_tone(end - 1) && is_tone(end) {
            true => tones.steps(before, here).abs() == 1,
            false => (here - before).abs() == 1,
        };
        let is_through = is_tone(end) || (end + 1 < reach && key(end + 1) - here == goes);
        if !is_neighbor || !is_through || goes == 0 {
            break;
        }
        if way != 0 && goes != way {
            turns += 1;
        }
        if turns > 1 {
            break;
        }
        start_way = if start_way == 0 { goes } else { start_way };
        way = goes;
        passing += u32::from(!is_tone(end));
        end += 1;
        if end - first >= 3 && is_tone(end - 1) {
            let direction = match (turns, start_way) {
                (0, 1) => Direction::Up,
                (0, _) => Direction::Down,
                (_, 1) => Direction::UpDown,
                _ => Direction::DownUp,
            };
            let mut charges = setting.any(first, end);
            setting.fit(first, end, Meant::Scale(scale), &mut charges);
            charges.add(Term::ScaleRank, rank);
            charges.add(Term::Turn, weights::TURN * turns);
            charges.add(Term::Passing, weights::PASSING * passing);
            if end - first == 3 {
                charges.add(Term::ThreeNotes, weights::THREE_RUN);
            }
            let kind = Kind::Run { scale, passing: passing > 0 };
            let root = setting.over(first).chord().map(Chord::root);
            let tie = 200 * u32::from(root != Some(scale.tonic()));
            found.push(Candidate { tie, ..Candidate::new(end, kind, direction, charges) });
        }
    }
}

/// Four or more tones of a pentatonic scale, by moves of one or two of them.
fn pentatonics(setting: &Setting, (first, reach): (usize, usize), found: &mut Vec<Candidate>) {
    let notes = &setting.notes[first..reach];
    // A tonic is one of the notes, or missing: then another one of the two kinds has it.
    let mut steps: Vec<i32> = Vec::with_capacity(weights::LONGEST);
    for (index, note) in notes.iter().enumerate() {
        let tonic = note.name;
        if notes[..index].iter().any(|before| before.tonic == note.tonic) {
            continue;
        }
        for &(scale, tones) in &setting.pentatonics[note.tonic] {
            steps.clear();
            for (index, pair) in notes.windows(2).enumerate() {
                let step = tones.steps(pair[0].key, pair[1].key);
                if !pair.iter().all(|note| tones.sound(note.key)) || !(1..=2).contains(&step.abs()) {
                    break;
                }
                steps.push(step);
                let count = index + 2;
                if count >= 4 && notes[..count].iter().any(|note| note.name == tonic) {
                    found.extend(pentatonic(setting, first, scale, &steps));
                }
            }
        }
    }
}

fn pentatonic(setting: &Setting, first: usize, scale: Scale, steps: &[i32]) -> Option<Candidate> {
    let end = first + steps.len() + 1;
    let notes = &setting.notes[first..end];
    let own: Tones = notes.iter().map(|note| note.class).collect();
    let missing = 5u32.saturating_sub(own.count());
    if missing > 1 {
        return None;
    }
    let mut charges = setting.any(first, end);
    setting.fit(first, end, Meant::Tones, &mut charges);
    charges.add(Term::Kind, weights::PENTATONIC);
    charges.add(Term::Missing, weights::PASSING * missing);
    let tonic = class(scale.tonic());
    let is_lowest = notes.iter().min_by_key(|note| note.key).is_some_and(|note| note.class == tonic);
    let kind =
        Kind::Pentatonic { scale, groups: groups(steps), skips: steps.iter().any(|step| step.abs() == 2) };
    Some(Candidate { tie: u32::from(!is_lowest), ..Candidate::new(end, kind, direction(steps), charges) })
}

/// How many notes there are in each of two or more equal groups that move on by one tone.
fn groups(steps: &[i32]) -> Option<u8> {
    let count = steps.len() + 1;
    (2..=4u8).find(|&size| {
        let size_of = usize::from(size);
        let is_even = count.is_multiple_of(size_of) && count / size_of >= 2;
        // From the start of a group to the start of the next.
        let moves = |start: usize| steps[start..start + size_of].iter().sum::<i32>();
        let starts = (0..count - size_of).step_by(size_of);
        let is_straight = steps.windows(2).all(|pair| pair[0] == pair[1]);
        is_even && !is_straight && starts.clone().all(|start| moves(start).abs() == 1)
    })
}

/// Which way steps go, with one turn at most.
fn direction(steps: &[i32]) -> Direction {
    let turns = steps.windows(2).filter(|pair| pair[0].signum() != pair[1].signum()).count();
    match (turns, steps.first().map(|step| step.signum())) {
        (0, Some(1)) => Direction::Up,
        (0, _) => Direction::Down,
        (1, Some(1)) => Direction::UpDown,
        (1, _) => Direction::DownUp,
        _ => Direction::Mixed,
    }
}
