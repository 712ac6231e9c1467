//! Every way to fret a note, and which of them are left by what is settled for it.

use std::sync::Arc;

use crate::bars::Place;
use crate::neck::{Finger, Fret, Neck, StringNo, Strings};
use crate::pitch::Pitch;
use crate::technique::Constraint;

use super::Fretting;
use super::error::{FingeringError, Result};

/// The ways to fret each pitch of a neck, found once.
pub(super) struct Reach<'a> {
    neck: &'a Neck,
    /// By MIDI key.
    keys: Vec<Option<Arc<[Fretting]>>>,
}

impl Reach<'_> {
    pub(super) fn of(neck: &Neck) -> Reach<'_> {
        Reach { neck, keys: vec![None; 128] }
    }

    /// Every way to fret a pitch: string, fret, finger and position.
    fn everywhere(&mut self, pitch: Pitch) -> Arc<[Fretting]> {
        let Some(key) = pitch.midi() else { return Arc::from([]) };
        let found = || {
            let places = self.neck.places(key);
            places.flat_map(|(string, fret)| at(string, fret, self.neck.frets())).collect()
        };
        match self.keys.get_mut(usize::from(key.0)) {
            Some(kept) => Arc::clone(kept.get_or_insert_with(found)),
            None => found(),
        }
    }

    /// Every way to fret a note that what is settled leaves; at least one.
    ///
    /// # Errors
    /// [`FingeringError::OffNeck`] and [`FingeringError::Pin`].
    pub(super) fn frettings(
        &mut self,
        place: Place,
        pitch: Pitch,
        wants: &[Constraint],
    ) -> Result<Arc<[Fretting]>> {
        let all = self.everywhere(pitch);
        if all.is_empty() {
            let (lowest, highest) = self.neck.range();
            return Err(FingeringError::OffNeck { place, pitch, lowest, highest });
        }
        if wants.is_empty() {
            return Ok(all);
        }
        let left = all.iter().filter(|fretting| wants.iter().all(|want| allows(*want, fretting)));
        let left: Arc<[Fretting]> = left.copied().collect();
        match left.is_empty() {
            true => Err(FingeringError::Pin { place, pitch, wants: conflict(&all, wants) }),
            false => Ok(left),
        }
    }

    /// The strings of two notes, the first of which leads into the second, when what is settled keeps them apart.
    pub(super) fn kept_apart(
        &mut self,
        settled: [&[Fretting]; 2],
        pitches: [Pitch; 2],
    ) -> Option<[Strings; 2]> {
        let strings =
            |frettings: &[Fretting]| frettings.iter().map(|fretting| fretting.string).collect::<Strings>();
        let settled = settled.map(strings);
        let free = pitches.map(|pitch| strings(&self.everywhere(pitch)));
        (!settled[0].meets(settled[1]) && free[0].meets(free[1])).then_some(settled)
    }
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
        Constraint::Stroke(_) | Constraint::Slurs => true,
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
