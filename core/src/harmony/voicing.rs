//! A chord in a spread position, in one direction.
//!
//! Positions are counted in members of the chord, from the lowest note up. Drop two is a close position with its second highest note an octave
//! lower, and so on; a shell is root, third and seventh (common practice, no source).

use super::arpeggio::On;
use super::candidate::Candidate;
use super::name::{Direction, Kind, Position, Term};
use super::setting::{Meant, Setting, Tone};
use super::weights;

/// The steps from each note to the next above, in members; how many members the chord has, and whether it has to start from the root.
pub(crate) const POSITIONS: [(Position, &[i32], usize, bool); 6] = [
    (Position::Shell, &[3, 2], 4, true),
    (Position::Shell, &[1, 2], 4, true),
    (Position::Spread, &[2, 2], 3, false),
    (Position::DropTwo, &[2, 1, 2], 4, false),
    (Position::DropThree, &[3, 2, 1], 4, false),
    (Position::DropTwoAndFour, &[2, 3, 2], 4, false),
];

pub(super) fn find(setting: &Setting, first: usize, chords: &[(On, usize)], found: &mut Vec<Candidate>) {
    for &(on, most) in chords {
        for (position, steps, size, from_root) in POSITIONS {
            let end = first + steps.len() + 1;
            if end <= first + most && on.shape.members.len() == size {
                found.extend(named(setting, (first, end), on, position, steps, from_root));
            }
        }
    }
}

fn named(
    setting: &Setting,
    (first, end): (usize, usize),
    on: On,
    position: Position,
    steps: &[i32],
    from_root: bool,
) -> Option<Candidate> {
    let notes = &setting.notes[first..end];
    let size = i32::try_from(on.shape.members.len()).ok()?;
    let place = |note: &Tone| {
        let octave = (note.key - i32::from(on.root)).div_euclid(12);
        Some(octave * size + i32::try_from(on.member(note)?).ok()?)
    };
    let (start, last) = (place(&notes[0])?, notes.len() - 1);
    let direction = if start < place(&notes[1])? { Direction::Up } else { Direction::Down };
    // From the lowest note up.
    let mut upward = (0..=last).map(|index| match direction {
        Direction::Up => place(&notes[index]),
        _ => place(&notes[last - index]),
    });
    let lowest = upward.next()??;
    let mut before = lowest;
    for step in steps {
        let here = upward.next()??;
        if here - before != *step {
            return None;
        }
        before = here;
    }
    if from_root && lowest.rem_euclid(size) != 0 {
        return None;
    }
    let members = notes.iter().filter_map(|note| on.member(note));
    let degrees = members.map(|member| on.shape.degrees[member]).collect();
    let mut charges = setting.any(first, end);
    setting.fit(first, end, Meant::Chord(on.root), &mut charges);
    charges.add(Term::Rare, if on.is_written(setting, first, end) { 0 } else { on.shape.cost });
    charges.add(Term::Kind, weights::VOICING);
    if notes.len() == 3 {
        charges.add(Term::ThreeNotes, weights::THREE_VOICING);
    }
    let (root, others) = on.spelled(setting, first, end);
    let kind = Kind::Voicing { root, quality: on.shape.quality, position, degrees };
    Some(Candidate { end, kind, direction, charges, tie: on.tie(setting, first, end, others) })
}
