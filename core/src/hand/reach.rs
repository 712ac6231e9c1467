//! Every way to fret a note, and which of them are left by what is settled for it.

use std::sync::Arc;

use crate::bars::{BarsError, Place};
use crate::neck::{Finger, Fret, Neck, StringNo, Strings};
use crate::pitch::Pitch;
use crate::technique::Constraint;

use super::error::{FingeringError, Result};

/// Where a note is fretted, and by what.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Fretting {
    /// The string.
    pub string: StringNo,
    /// The fret.
    pub fret: Fret,
    /// The finger.
    pub finger: Finger,
    /// The fret at which the index finger rests. An open string leaves the hand where it is.
    pub position: u8,
}

impl Fretting {
    /// Whether it lies beyond the four frets of the four fingers.
    pub(super) fn is_stretched(self) -> bool {
        self.finger.0 > 0 && !(self.position..=self.position + 3).contains(&self.fret.0)
    }

    /// Whether its finger lies at the fret of the finger above it.
    pub(super) fn is_doubled(self) -> bool {
        (1..=3).contains(&self.finger.0) && self.fret.0 == self.position + self.finger.0
    }

    /// The fret of a grace note on the string of the note that it leads into, where a neck of so many frets has it.
    pub fn grace_fret(self, grace: Pitch, note: Pitch, frets: u8) -> Option<Fret> {
        let (grace, note) = (grace.midi()?, note.midi()?);
        let fret = i16::from(self.fret.0) + i16::from(grace.0) - i16::from(note.0);
        u8::try_from(fret).ok().filter(|fret| *fret <= frets).map(Fret)
    }
}

/// Ways to fret a note.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Ways {
    /// One finger a fret.
    pub(super) plain: Arc<[Fretting]>,
    /// By a finger that shares its fret with the one above it.
    doubled: Arc<[Fretting]>,
}

impl Ways {
    /// One way only.
    pub(super) fn just(fretting: Fretting) -> Ways {
        Ways { plain: Arc::from([fretting]), doubled: Arc::from([]) }
    }

    /// Whether this is one of them.
    pub(super) fn have(&self, fretting: &Fretting) -> bool {
        self.plain.contains(fretting) || self.doubled.contains(fretting)
    }

    pub(super) fn narrowed(&self, keep: impl Fn(&Fretting) -> bool) -> Ways {
        let few = |all: &[Fretting]| all.iter().copied().filter(&keep).collect();
        Ways { plain: few(&self.plain), doubled: few(&self.doubled) }
    }

    /// All that lie on the string and at the fret of one of them.
    pub(super) fn on(&self, at: Fretting, doubled: bool) -> Ways {
        let there = |other: &&Fretting| (other.string, other.fret) == (at.string, at.fret);
        let doubled = self.doubled.iter().filter(|other| doubled && there(other));
        Ways {
            plain: self.plain.iter().filter(there).chain(doubled).copied().collect(),
            doubled: Arc::from([]),
        }
    }
}

/// The ways to fret each pitch of a neck, found once.
pub(super) struct Reach<'a> {
    neck: &'a Neck,
    /// By MIDI key.
    keys: Vec<Option<Ways>>,
}

impl Reach<'_> {
    pub(super) fn of(neck: &Neck) -> Reach<'_> {
        Reach { neck, keys: vec![None; 128] }
    }

    /// Every way to fret a pitch: string, fret, finger and position.
    fn everywhere(&mut self, pitch: Pitch) -> Ways {
        let found = |places: &[(StringNo, Fret)]| Ways {
            plain: places.iter().flat_map(|&(string, fret)| at(string, fret, self.neck.frets())).collect(),
            doubled: places.iter().flat_map(|&(string, fret)| doubled(string, fret)).collect(),
        };
        let Some(key) = pitch.midi() else { return found(&[]) };
        let found = || found(&self.neck.places(key).collect::<Vec<_>>());
        match self.keys.get_mut(usize::from(key.0)) {
            Some(kept) => kept.get_or_insert_with(found).clone(),
            None => found(),
        }
    }

    /// Every way to fret a note and, where something is settled for it, those that are left; at least one.
    ///
    /// # Errors
    /// [`FingeringError::OffNeck`] and [`FingeringError::Pin`].
    pub(super) fn ways(
        &mut self,
        place: impl FnOnce() -> std::result::Result<Place, BarsError>,
        pitch: Pitch,
        wants: &[Constraint],
    ) -> Result<(Ways, Option<Ways>)> {
        let all = self.everywhere(pitch);
        if all.plain.is_empty() {
            let (lowest, highest) = self.neck.range();
            return Err(FingeringError::OffNeck { place: place()?, pitch, lowest, highest });
        }
        if wants.is_empty() {
            return Ok((all, None));
        }
        let left = all.narrowed(|fretting| wants.iter().all(|want| allows(*want, fretting)));
        match left.plain.is_empty() {
            true => Err(FingeringError::Pin { place: place()?, pitch, wants: conflict(&all.plain, wants) }),
            false => Ok((all, Some(left))),
        }
    }

    /// The strings of two notes, the first of which leads into the second, when what is settled keeps them apart.
    pub(super) fn kept_apart(&mut self, settled: [&Ways; 2], pitches: [Pitch; 2]) -> Option<[Strings; 2]> {
        let strings = |ways: &Ways| ways.plain.iter().map(|fretting| fretting.string).collect::<Strings>();
        let settled = settled.map(strings);
        let free = pitches.map(|pitch| strings(&self.everywhere(pitch)));
        (!settled[0].meets(settled[1]) && free[0].meets(free[1])).then_some(settled)
    }
}

/// The fingers and positions for one place on the neck that share a fret with the finger above: of two notes at one fret on neighboring
/// strings, as in a fourth, the lower one.
fn doubled(string: StringNo, fret: Fret) -> impl Iterator<Item = Fretting> {
    (1..=3u8).filter_map(move |finger| {
        let position = fret.0.checked_sub(finger).filter(|position| *position > 0)?;
        Some(Fretting { string, fret, finger: Finger(finger), position })
    })
}

/// The fingers and positions for one place on the neck.
///
/// A hand in position `p` has its index finger at fret `p` and covers four frets, one a finger; the index reaches one fret back and
/// the little finger one fret on.
fn at(string: StringNo, fret: Fret, highest: u8) -> impl Iterator<Item = Fretting> {
    // From the natural reach outwards: fingers 1 to 4 at their frets, then the two stretches.
    let reaches: [(i16, u8); 6] = [(0, 1), (1, 2), (2, 3), (3, 4), (-1, 1), (4, 4)];
    let open = fret.0 == 0;
    let fretted = reaches.into_iter().filter_map(move |(reach, finger)| {
        let position = u8::try_from(i16::from(fret.0) - reach).ok()?;
        let playable = !open && (1..=highest).contains(&position);
        playable.then_some(Fretting { string, fret, finger: Finger(finger), position })
    });
    // An open string leaves the hand where it is.
    let opened = (1..=highest).map(move |position| Fretting { string, fret, finger: Finger(0), position });
    fretted.chain(opened.filter(move |_| open))
}

fn allows(want: Constraint, fretting: &Fretting) -> bool {
    match want {
        Constraint::String(string) => fretting.string == string,
        Constraint::Strings(strings) => strings.contains(fretting.string),
        Constraint::Fret(fret) => fretting.fret == fret,
        Constraint::Frets(low, high) => (low..=high).contains(&fretting.fret),
        Constraint::Finger(finger) => fretting.finger == finger,
        Constraint::Position(position) => fretting.position == position,
        Constraint::Stroke(_) | Constraint::Picking(_) | Constraint::Slurs => true,
    }
}

/// As few wants as can't hold together.
fn conflict(all: &[Fretting], wants: &[Constraint]) -> Vec<Constraint> {
    let fails =
        |some: &[Constraint]| !all.iter().any(|fretting| some.iter().all(|want| allows(*want, fretting)));
    let mut few = wants.to_vec();
    // What can be left out without ending the conflict is not part of it.
    let mut index = 0;
    while index < few.len() {
        let mut without = few.clone();
        without.remove(index);
        if fails(&without) {
            few = without;
        } else {
            index += 1;
        }
    }
    few
}
