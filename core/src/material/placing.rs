//! How notes lie on strings.

use crate::neck::{Fret, StringNo, Strings};
use crate::pitch::Pitch;

use super::error::{MaterialError, Result};
use super::setup::Setup;

/// A string and a fret for each of some notes, from the lowest note up.
pub(super) type Placing = Vec<(StringNo, Fret)>;

/// The strings of the region that the neck has, the lowest first.
pub(super) fn strings(setup: &Setup) -> Vec<StringNo> {
    let all = (1..=setup.heading.neck.strings()).rev().map(StringNo);
    all.filter(|string| setup.region.strings.is_none_or(|strings| strings.contains(*string))).collect()
}

/// The same, where there has to be one.
pub(super) fn some_strings(setup: &Setup) -> Result<Vec<StringNo>> {
    let found = strings(setup);
    match (found.is_empty(), setup.region.strings) {
        (true, Some(strings)) => {
            Err(MaterialError::NoString { strings, count: setup.heading.neck.strings() })
        }
        _ => Ok(found),
    }
}

/// Whether the region has a pitch.
pub(super) fn has(setup: &Setup, pitch: Pitch) -> bool {
    setup.region.has(&setup.heading.neck, pitch, None, true, true)
}

/// Twice the key in the middle of the region.
pub(super) fn middle(setup: &Setup) -> i32 {
    let neck = &setup.heading.neck;
    let highest = Fret(setup.region.up_to.0.min(neck.frets()));
    let strings = strings(setup);
    let at = |fret: Fret| strings.iter().filter_map(move |string| neck.sounding(*string, fret));
    let (lowest, highest) = (at(Fret(0)).min(), at(highest).max());
    lowest.zip(highest).map_or(0, |(lowest, highest)| i32::from(lowest.0) + i32::from(highest.0))
}

/// The fret of a pitch on a string, which the neck needn't have; negative below the open string.
pub(super) fn fret_on(setup: &Setup, string: StringNo, pitch: Pitch) -> Option<i32> {
    let open = setup.heading.neck.sounding(string, Fret(0))?;
    Some(i32::from(pitch.midi()?.0) - i32::from(open.0))
}

/// The fret of a pitch on a string, if the neck has it.
pub(super) fn on_neck(setup: &Setup, string: StringNo, pitch: Pitch) -> Option<Fret> {
    let fret = Fret(u8::try_from(fret_on(setup, string, pitch)?).ok()?);
    setup.heading.neck.sounding(string, fret).map(|_| fret)
}

/// The fret of a pitch on a string, if the region has it.
fn in_region(setup: &Setup, string: StringNo, pitch: Pitch) -> Option<Fret> {
    on_neck(setup, string, pitch).filter(|fret| *fret <= setup.region.up_to)
}

/// Every way to play rising notes on strings that don't go back to lower ones; on a string for each note, if `one_each`.
pub(super) fn placings(setup: &Setup, strings: &[StringNo], notes: &[Pitch], one_each: bool) -> Vec<Placing> {
    let Some((&note, rest)) = notes.split_first() else { return vec![Vec::new()] };
    let mut all = Vec::new();
    for (index, &string) in strings.iter().enumerate() {
        let Some(fret) = in_region(setup, string, note) else { continue };
        for mut placing in placings(setup, &strings[index + usize::from(one_each)..], rest, one_each) {
            placing.insert(0, (string, fret));
            all.push(placing);
        }
    }
    all
}

/// The number of frets from the lowest to the highest one.
pub(super) fn span(placing: &Placing) -> u8 {
    let frets = || placing.iter().map(|(_, fret)| fret.0);
    frets().max().unwrap_or(0) - frets().min().unwrap_or(0)
}

/// The lowest fret.
pub(super) fn lowest(placing: &Placing) -> i32 {
    placing.iter().map(|(_, fret)| i32::from(fret.0)).min().unwrap_or(0)
}

/// The error for a shape that has no place on some strings: the string and the fret that it lacks in the octave that comes nearest.
pub(super) fn no_room(
    setup: &Setup,
    shape: String,
    octaves: impl IntoIterator<Item = Vec<Pitch>>,
    strings: &[StringNo],
) -> MaterialError {
    let up_to = i32::from(setup.region.up_to.0.min(setup.heading.neck.frets()));
    let beyond = |fret: i32| (fret - up_to).max(-fret).max(0);
    let ways = octaves.into_iter().flat_map(|notes| {
        let count = notes.len().min(strings.len());
        let ways = strings.windows(count.max(1)).filter_map(move |set| {
            // More notes than strings share the highest one.
            let on = (0..notes.len()).map(|index| set[index.min(set.len() - 1)]);
            let frets = notes
                .iter()
                .zip(on)
                .filter_map(|(note, string)| Some((string, fret_on(setup, string, *note)?)));
            frets.max_by_key(|(_, fret)| beyond(*fret))
        });
        ways.collect::<Vec<_>>()
    });
    let nearest =
        ways.filter(|(_, fret)| beyond(*fret) > 0).min_by_key(|(_, fret)| (beyond(*fret), *fret < 0));
    match nearest {
        Some((string, fret)) => MaterialError::NoRoom { shape, strings: setup.region.strings, string, fret },
        None => MaterialError::nowhere(shape, &setup.region, "allow more strings or higher frets".into()),
    }
}

/// A set of strings from a list of them.
pub(super) fn set(strings: &[StringNo]) -> Strings {
    strings.iter().copied().collect()
}
