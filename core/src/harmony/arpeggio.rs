//! The tones of a chord, one after another.

use crate::pitch::PitchName;

use super::candidate::Candidate;
use super::name::{Direction, Kind, Term};
use super::setting::{Charges, Meant, Setting, Tone};
use super::shapes::{self, Shape};
use super::tones::fifths;
use super::weights;

/// A chord on a root.
#[derive(Clone, Copy)]
pub(super) struct On {
    pub(super) root: u8,
    pub(super) shape: &'static Shape,
}

impl On {
    /// Which member of the chord a note is.
    pub(super) fn member(self, note: &Tone) -> Option<usize> {
        let above = (note.class + 12 - self.root) % 12;
        self.shape.at[usize::from(above)].map(usize::from)
    }

    /// Every chord that has a note and two or more after it as tones, and how many in all.
    pub(super) fn all_from(setting: &Setting, first: usize) -> Vec<(On, usize)> {
        let notes = &setting.notes[first..setting.reach(first)];
        let mut all = Vec::with_capacity(weights::LONGEST);
        for shape in shapes::all() {
            for member in &shape.members {
                let on = On { root: (notes[0].class + 12 - member % 12) % 12, shape };
                let count = notes.iter().take_while(|note| on.member(note).is_some()).count();
                if count >= 3 {
                    all.push((on, count));
                }
            }
        }
        all
    }

    /// The name of its root as the notes spell it, and how many of them are spelled otherwise.
    pub(super) fn spelled(self, setting: &Setting, first: usize, end: usize) -> (PitchName, u32) {
        let own = &setting.notes[first..end];
        let (shape, member) = (self.shape, |note: &Tone| self.member(note));
        let named = own.iter().find(|note| member(note) == Some(0)).map(|note| note.name);
        let by_note = |note: &Tone| Some(note.name.transposed(-shape.degrees[member(note)?].interval()));
        let root = named.or_else(|| own.iter().find_map(by_note)).unwrap_or(own[0].name);
        let above = fifths(root);
        let is_other =
            |note: &&Tone| member(note).is_none_or(|member| above + shape.fifths[member] != note.fifths);
        (root, u32::try_from(own.iter().filter(is_other).count()).unwrap_or(u32::MAX))
    }

    /// Whether a symbol over some notes is this chord, to the letter.
    pub(super) fn is_written(self, setting: &Setting, first: usize, end: usize) -> bool {
        setting
            .says(first, end, |over| over.root == Some(self.root) && over.quality == Some(self.shape.quality))
    }

    /// What decides between chords that cost the same: the symbol's own, the one that the spelling suggests, the one on the lowest note.
    pub(super) fn tie(self, setting: &Setting, first: usize, end: usize, others: u32) -> u32 {
        let lowest = setting.notes[first..end].iter().min_by_key(|note| note.key);
        let is_lowest = lowest.is_some_and(|note| self.member(note) == Some(0));
        200 * u32::from(!self.is_written(setting, first, end)) + 4 * others + u32::from(!is_lowest)
    }
}

/// How the tones come: what it costs that they aren't straight up or down.
struct Order {
    charges: Charges,
    direction: Direction,
    folded: bool,
    broken: bool,
    /// The index of the lowest note, and how many half steps above it the highest one is, as they would be without the fold.
    lowest: usize,
    range: i32,
}

pub(super) fn find(setting: &Setting, first: usize, chords: &[(On, usize)], found: &mut Vec<Candidate>) {
    let mut members = Vec::with_capacity(weights::LONGEST);
    for &(on, most) in chords {
        members.clear();
        members.extend(setting.notes[first..first + most].iter().filter_map(|note| on.member(note)));
        for count in 3..=members.len() {
            found.extend(named(setting, first, on, &members[..count]));
        }
    }
}

fn named(setting: &Setting, first: usize, on: On, members: &[usize]) -> Option<Candidate> {
    let (end, size) = (first + members.len(), on.shape.members.len());
    let mut missing = (0..size).filter(|member| !members.contains(member));
    let (missing, another) = (missing.next(), missing.next());
    if another.is_some() || (missing.is_some() && size <= 3) {
        return None;
    }
    let notes = &setting.notes[first..end];
    let order = order(notes, members, &on.shape.members)?;
    let is_written = on.is_written(setting, first, end);

    let mut charges = setting.any(first, end);
    setting.fit(first, end, Meant::Chord(on.root), &mut charges);
    charges.add(Term::Rare, if is_written { 0 } else { on.shape.cost });
    if let Some(member) = missing {
        let is_own = setting.says(first, end, |over| over.root == Some(on.root));
        match member == 0 && is_own {
            true => charges.add(Term::Rootless, weights::ROOTLESS),
            false => charges.add(Term::Missing, weights::MISSING),
        }
    }
    if members.len() == 3 {
        charges.add(Term::ThreeNotes, weights::THREE_TRIAD);
    }
    charges.extend(&order.charges);

    let inversion = (order.range <= 12).then(|| u8::try_from(members[order.lowest]).ok()).flatten();
    let (root, others) = on.spelled(setting, first, end);
    let kind = Kind::Arpeggio {
        root,
        quality: on.shape.quality,
        inversion,
        from: on.shape.degrees[members[0]],
        folded: order.folded,
        broken: order.broken,
    };
    Some(Candidate {
        end,
        kind,
        direction: order.direction,
        charges,
        tie: on.tie(setting, first, end, others),
    })
}

/// The lowest of some notes, with its index, and the highest.
struct Extent {
    lowest: (i32, usize),
    highest: i32,
    count: usize,
}

impl Extent {
    fn of(key: i32) -> Extent {
        Extent { lowest: (key, 0), highest: key, count: 1 }
    }

    fn add(&mut self, key: i32) {
        self.lowest = self.lowest.min((key, self.count));
        self.highest = self.highest.max(key);
        self.count += 1;
    }
}

/// The order of a chord's tones; `None` where a note is repeated.
fn order(notes: &[Tone], members: &[usize], shape: &[u8]) -> Option<Order> {
    let size = i32::try_from(shape.len()).ok()?;
    let (mut turns, mut skips, mut folds, mut skipped, mut broken) = (0, 0, 0, 0, false);
    let (mut way, mut first_way, mut shift) = (0, 0, 0);
    let mut unfolded = Extent::of(notes[0].key);
    for (pair, notes) in members.windows(2).zip(notes.windows(2)) {
        let half_steps = notes[1].key - notes[0].key;
        let up = i32::try_from((pair[1] + shape.len() - pair[0]) % shape.len()).ok()?;
        // From member to member in the direction that the notes go.
        let steps = if half_steps > 0 { up } else { size - up };
        if half_steps == 0 {
            return None;
        }
        let is_near = half_steps.abs() < 12 && up > 0;
        let goes = half_steps.signum();
        // Above the seventh, a chord is stacked further and doesn't begin again.
        let wraps = shape.len() > 4 && (pair[1] > pair[0]) != (half_steps > 0);
        let (step, is_fold) = match is_near && !wraps {
            true if steps <= 2 => (steps * goes, false),
            false if wraps => {
                broken = true;
                (steps * goes, false)
            }
            // One member on, in another octave.
            _ if up == 1 => (1, true),
            _ if up == size - 1 => (-1, true),
            _ => {
                broken = true;
                (steps * goes, false)
            }
        };
        if is_fold {
            folds += 1;
            let stacked = i32::from(shape[pair[1]]) - i32::from(shape[pair[0]]);
            let straight = if step > 0 { stacked.rem_euclid(12) } else { -(-stacked).rem_euclid(12) };
            shift += straight - half_steps;
        }
        skips += i32::from(!is_fold && step.abs() == 2);
        skipped += (steps + size * (half_steps.abs() / 12) - 1).max(0);
        if way != 0 && step.signum() != way {
            turns += 1;
        }
        way = step.signum();
        first_way = if first_way == 0 { way } else { first_way };
        unfolded.add(notes[1].key + shift);
    }
    let is_ordered = !broken && turns <= 1 && folds <= 1 && skips <= 1;
    let cost = |count: i32, each: u32| each * u32::try_from(count).unwrap_or(0);
    let mut straight = Charges::default();
    straight.add(Term::Turn, cost(turns, weights::TURN));
    straight.add(Term::Skip, cost(skips, weights::SKIP));
    straight.add(Term::Folded, cost(folds, weights::FOLDED));
    // Each turn after the first makes it harder to hear as one chord.
    let crooked = Charges::default()
        .with(Term::Broken, weights::BROKEN + cost(skipped, weights::SKIPPED_MEMBER))
        .with(Term::Turn, cost((turns - 1).max(0), weights::TURN));
    let is_straight = is_ordered && straight.cost() <= crooked.cost();
    // Three notes make a chord only if they are in order, and so do those of a ninth chord.
    let has_to_be = notes.len() == 3 || shape.len() > 4;
    if has_to_be && (!is_straight || folds > 0) {
        return None;
    }
    let direction = match (is_straight, turns, first_way) {
        (false, ..) => Direction::Mixed,
        (true, 0, 1) => Direction::Up,
        (true, 0, _) => Direction::Down,
        (true, _, 1) => Direction::UpDown,
        (true, ..) => Direction::DownUp,
    };
    let extent = match is_straight {
        true => unfolded,
        false => notes[1..].iter().fold(Extent::of(notes[0].key), |mut extent, note| {
            extent.add(note.key);
            extent
        }),
    };
    Some(Order {
        charges: if is_straight { straight } else { crooked },
        direction,
        folded: is_straight && folds > 0,
        broken: !is_straight,
        lowest: extent.lowest.1,
        range: extent.highest - extent.lowest.0,
    })
}
