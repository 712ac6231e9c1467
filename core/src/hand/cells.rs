//! Sequences: a cell of a few notes, taken up or down the neck by one or two frets at a time. A player keeps its shape, string by string and
//! finger by finger, and moves the hand between cells (common practice, no source).

use std::sync::Arc;

use crate::order;

use super::reach::Fretting;

/// The notes of a cell at most: a bar of eighths.
const LONGEST: usize = 8;
/// How far a cell is taken, in half steps. What goes farther is a new place on the neck.
const FARTHEST: i16 = 2;
/// How many combinations of places a hand tries in one position.
const MOST: usize = 16;

/// A note, as a sequence sees it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Key {
    pub(super) midi: u8,
    /// Whether a sequence may start with it: on a beat, or after a rest.
    pub(super) may_start: bool,
}

/// Where a note is in a sequence.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct InCell {
    /// The notes of a cell.
    pub(super) length: usize,
    /// Its place in its cell.
    pub(super) place: usize,
    /// How far its cell lies from the first one, in half steps.
    pub(super) moved: i16,
    /// Whether there is a cell before its own.
    pub(super) again: bool,
}

impl InCell {
    /// Whether a sequence starts here.
    pub(super) fn opens(self) -> bool {
        self.place == 0 && !self.again
    }
}

/// The sequences of a line: each note that is in one, with its place there.
pub(super) fn find(keys: &[Key]) -> Vec<(usize, InCell)> {
    let mut found = Vec::new();
    let mut start = 0;
    while start < keys.len() {
        let Some((length, cells)) = sequence(&keys[start..]) else {
            start += 1;
            continue;
        };
        for note in 0..length * cells {
            let (cell, place) = (note / length, note % length);
            let moved = i16::from(keys[start + cell * length].midi) - i16::from(keys[start].midi);
            found.push((start + note, InCell { length, place, moved, again: cell > 0 }));
        }
        start += length * cells;
    }
    found
}

/// The notes of a cell and the number of cells of the sequence that starts here: of all, the one that goes on for longest.
fn sequence(keys: &[Key]) -> Option<(usize, usize)> {
    if !keys[0].may_start {
        return None;
    }
    let lengths = (2..=LONGEST.min(keys.len() / 2)).filter_map(|length| {
        let cell = |number: usize| keys.get(number * length..(number + 1) * length);
        let steps: Vec<i16> = (1..).map_while(|to| step(cell(to - 1)?, cell(to)?)).collect();
        let cells = steps.len() + 1;
        // Two notes by whole steps, or two cells alike, are in every scale; by half steps they are meant.
        let half_steps = steps.iter().all(|step| step.abs() == 1);
        let meant = match length {
            2 => cells >= 4 && half_steps,
            3 => cells >= 3,
            _ => cells >= 3 || cells == 2 && half_steps,
        };
        meant.then_some((length, cells))
    });
    lengths.reduce(|best, next| if next.0 * next.1 > best.0 * best.1 { next } else { best })
}

/// How far a cell is taken to be another one.
fn step(from: &[Key], to: &[Key]) -> Option<i16> {
    let apart = |note: usize| i16::from(to[note].midi) - i16::from(from[note].midi);
    let step = apart(0);
    ((1..=FARTHEST).contains(&step.abs()) && (1..from.len()).all(|note| apart(note) == step)).then_some(step)
}

/// How a note is fretted in each shape that its cell can have, with the shape's number.
pub(super) type Shaped = Arc<[(u16, Fretting)]>;

/// The shapes in which the hand plays the cells of a sequence, each without leaving its position: for every note its frettings.
///
/// `ways` are the ways to fret each note of the sequence.
pub(super) fn shapes(cells: &[InCell], ways: &[&[Fretting]]) -> Vec<Shaped> {
    let length = cells.first().map_or(0, |cell| cell.length);
    let mut shapes: Vec<Vec<Fretting>> = Vec::new();
    let first = ways.get(..length).unwrap_or(&[]);
    let mut positions: Vec<u8> =
        first.first().into_iter().copied().flatten().map(|way| way.position).collect();
    order::sort(&mut positions, |&position| position);
    positions.dedup();
    for position in positions {
        let mut in_position: Vec<Vec<Fretting>> = vec![Vec::new()];
        for ways in first {
            let there = ways.iter().filter(|way| way.position == position && way.finger.0 > 0);
            let there: Vec<Fretting> = there.copied().collect();
            let longer =
                in_position.iter().flat_map(|shape| there.iter().map(|way| [&shape[..], &[*way]].concat()));
            in_position = longer.take(MOST).collect();
        }
        shapes.append(&mut in_position);
    }
    let at = |note: usize| {
        let cell = cells[note];
        let taken = |shape: &Vec<Fretting>| {
            moved(shape[cell.place], cell.moved).filter(|way| ways[note].contains(way))
        };
        (0..).zip(&shapes).filter_map(|(number, shape)| Some((number, taken(shape)?))).collect()
    };
    (0..cells.len()).map(at).collect()
}

/// A fretting some frets up the neck.
fn moved(way: Fretting, frets: i16) -> Option<Fretting> {
    let by = |fret: u8| u8::try_from(i16::from(fret) + frets).ok();
    Some(Fretting { fret: crate::neck::Fret(by(way.fret.0)?), position: by(way.position)?, ..way })
}
