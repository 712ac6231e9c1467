//! The staves and voices of a part: what there is to choose.

use std::collections::{BTreeMap, BTreeSet};

use crate::exchange::choice::{StaffContents, VoiceContents};
use crate::time::Duration;

use super::model::{Note, Part, Staff, Voice};

/// A note at its place: the index of its bar, and the note.
type Placed<'p> = (usize, &'p Note);

/// The staves of a part that have notes.
pub(super) fn staves(part: &Part) -> Vec<Staff> {
    let mut by_staff: BTreeMap<u16, Vec<Placed<'_>>> = BTreeMap::new();
    for (bar, note) in notes(part) {
        by_staff.entry(note.staff).or_default().push((bar, note));
    }
    for notes in by_staff.values_mut() {
        notes.sort_by_key(|(bar, note)| (*bar, note.onset));
    }
    let copies = copies(part, &by_staff);
    let staff = |(number, notes): (&u16, &Vec<Placed<'_>>)| {
        let tab = copies.iter().find(|(_, copied)| *copied == number).map(|(tab, _)| *tab);
        let is_fretted = tab.is_some() || notes.iter().any(|(_, note)| is_fretted(note));
        Staff { number: *number, tab, is_fretted, voices: voices(notes) }
    };
    by_staff.iter().filter(|(number, _)| !copies.contains_key(number)).map(staff).collect()
}

/// The notes that sound and take time, bar by bar.
pub(super) fn notes(part: &Part) -> impl Iterator<Item = Placed<'_>> {
    let bars = part.bars.iter().enumerate();
    let notes = bars.flat_map(|(bar, content)| content.notes.iter().map(move |note| (bar, note)));
    notes.filter(|(_, note)| note.sounds() && !note.is_grace)
}

fn is_fretted(note: &Note) -> bool {
    note.hand.string.is_some() && note.hand.fret.is_some()
}

/// The tab staves that repeat another staff of the part, each with that staff.
fn copies(part: &Part, by_staff: &BTreeMap<u16, Vec<Placed<'_>>>) -> BTreeMap<u16, u16> {
    let sounds = |notes: &[Placed<'_>]| -> BTreeSet<(usize, Duration, Duration, Option<u8>)> {
        let sound = |(bar, note): &Placed<'_>| {
            (*bar, note.onset, note.duration, note.pitch().and_then(|pitch| pitch.midi()).map(|key| key.0))
        };
        notes.iter().map(sound).collect()
    };
    let mut copies = BTreeMap::new();
    for (number, notes) in
        by_staff.iter().filter(|(number, _)| part.necks.get(number).is_some_and(|neck| neck.is_tab))
    {
        let mine = sounds(notes);
        let is_copied = |(other, theirs): &(&u16, &Vec<Placed<'_>>)| {
            let is_tab = part.necks.get(other).is_some_and(|neck| neck.is_tab);
            *other != number && !is_tab && theirs.len() == notes.len() && sounds(theirs) == mine
        };
        if let Some((copied, _)) = by_staff.iter().find(is_copied) {
            copies.insert(*number, *copied);
        }
    }
    copies
}

/// The voices of a staff in order of their first notes; one if no two of them ever sound together.
fn voices(notes: &[Placed<'_>]) -> Vec<Voice> {
    let (mut order, mut by_voice) = (Vec::new(), BTreeMap::<usize, Vec<Placed<'_>>>::new());
    for (bar, note) in notes {
        let voice = by_voice.entry(note.voice).or_default();
        if voice.is_empty() {
            order.push(note.voice);
        }
        voice.push((*bar, note));
    }
    let voice = |members: BTreeSet<usize>, notes: &[Placed<'_>]| {
        let count = notes.iter().filter(|(_, note)| !note.tied_from).count();
        Voice { members, notes: count, together: together(notes) }
    };
    let apart: Vec<Voice> = order
        .iter()
        .filter_map(|index| Some(voice(BTreeSet::from([*index]), by_voice.get(index)?)))
        .collect();
    let joined = voice(order.iter().copied().collect(), notes);
    let are_apart = joined.together > apart.iter().map(|voice| voice.together).sum();
    if are_apart { apart } else { vec![joined] }
}

/// How many notes sound together with another one.
fn together(notes: &[Placed<'_>]) -> usize {
    // The note that rings longest, whether it was counted, and the others.
    let (mut longest, mut count): (Option<(Placed<'_>, bool)>, usize) = (None, 0);
    for &(bar, note) in notes {
        let rings = |&((other, held), _): &(Placed<'_>, bool)| other == bar && held.end() > note.onset;
        match longest.filter(rings) {
            Some((held, was_counted)) => {
                count += 1 + usize::from(!was_counted);
                let next = if note.end() > held.1.end() { (bar, note) } else { held };
                longest = Some((next, true));
            }
            None => longest = Some(((bar, note), false)),
        }
    }
    count
}

/// The staves as they are offered.
pub(super) fn listed(part: &Part, staves: &[Staff]) -> Vec<StaffContents> {
    let name = |voice: &Voice| {
        let names = part.voices.iter().filter(|(_, index)| voice.members.contains(index));
        names.map(|(name, _)| name.as_str()).collect::<Vec<_>>().join("+")
    };
    let listed =
        |voice: &Voice| VoiceContents { name: name(voice), notes: voice.notes, together: voice.together };
    let staff = |staff: &Staff| StaffContents {
        number: staff.number,
        is_fretted: staff.is_fretted,
        voices: staff.voices.iter().map(listed).collect(),
    };
    staves.iter().map(staff).collect()
}
