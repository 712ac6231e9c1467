//! An `attributes` element: how time is counted, the meter, the key, the neck and how a staff transposes.

use std::collections::BTreeMap;

use roxmltree::Node;

use crate::key::{Key, Mode};
use crate::meter::Meter;
use crate::pitch::{Alter, Interval, Letter, Pitch, PitchName};
use crate::time::Duration;

use super::model::{Bar, StaffNeck};
use super::tree::{child, children, decimal, number_of, text, text_of, whole_of};

/// What holds until it is changed.
#[derive(Clone, Debug)]
pub(super) struct Attributes {
    /// Divisions of a quarter note.
    divisions: Duration,
    /// How much higher a staff sounds than it is written; `None` stands for all other staves.
    higher: BTreeMap<Option<u16>, Interval>,
}

impl Default for Attributes {
    fn default() -> Attributes {
        Attributes { divisions: Duration::QUARTER, higher: BTreeMap::new() }
    }
}

impl Attributes {
    /// A length in divisions as quarter notes; `None` if it isn't a number.
    pub(super) fn quarters(&self, text: &str) -> Option<Duration> {
        let (length, unit) = (decimal(text)?, self.divisions);
        let numer = length.numer().checked_mul(unit.denom())?;
        Duration::new(numer, length.denom().checked_mul(unit.numer())?).ok()
    }

    /// How much higher a staff sounds than it is written.
    pub(super) fn higher(&self, staff: u16) -> Interval {
        self.higher.get(&Some(staff)).or(self.higher.get(&None)).copied().unwrap_or_default()
    }

    /// Reads an `attributes` element. The meter and the key are noted in `bar`.
    pub(super) fn read(&mut self, node: Node<'_, '_>, bar: &mut Bar, necks: &mut BTreeMap<u16, StaffNeck>) {
        let divisions = child(node, "divisions").and_then(|divisions| decimal(text(divisions)));
        self.divisions = divisions.filter(|divisions| *divisions > Duration::ZERO).unwrap_or(self.divisions);
        for transpose in children(node, "transpose") {
            self.higher.insert(staff_of(transpose), interval(transpose));
        }
        if let Some(time) = child(node, "time") {
            bar.meter = Some(meter(time));
        }
        for written in children(node, "key") {
            let staff = staff_of(written);
            match key(written) {
                Some(key) => bar.keys.push((staff, moved(key, self.higher(staff.unwrap_or(1))))),
                None => *bar.left_out.entry("unusual key signature").or_default() += 1,
            }
        }
        for clef in children(node, "clef") {
            let neck = necks.entry(staff_of(clef).unwrap_or(1)).or_default();
            neck.is_tab = neck.is_tab || text_of(clef, "sign") == "TAB";
        }
        for details in children(node, "staff-details") {
            let neck = necks.entry(staff_of(details).unwrap_or(1)).or_default();
            neck.capo = number_of(details, "capo").or(neck.capo);
            for string in children(details, "staff-tuning") {
                let line = string.attribute("line").and_then(|line| line.parse().ok());
                if let (Some(line), Some(pitch)) = (line, pitch(string, "tuning-")) {
                    neck.open.insert(line, pitch);
                }
            }
        }
    }
}

fn staff_of(node: Node<'_, '_>) -> Option<u16> {
    node.attribute("number").and_then(|number| number.parse().ok())
}

/// The letters of an interval that a file gives in half steps only: those of the most usual name (common practice, no source).
const LETTERS: [i32; 12] = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];

fn interval(transpose: Node<'_, '_>) -> Interval {
    let whole = |name: &str| whole_of(transpose, name);
    let half_steps = whole("chromatic").unwrap_or(0).clamp(-127, 127);
    let size = half_steps.unsigned_abs() as usize;
    let usual = (LETTERS[size % 12] + 7 * (half_steps.abs() / 12)) * half_steps.signum();
    let letters = whole("diatonic").filter(|letters| letters.abs_diff(usual) <= 1).unwrap_or(usual);
    let octaves = whole("octave-change").unwrap_or(0).clamp(-9, 9);
    Interval { letters, half_steps } + Interval::octaves(octaves)
}

fn meter(time: Node<'_, '_>) -> Result<Meter, String> {
    let pairs: Vec<(&str, &str)> =
        children(time, "beats").map(text).zip(children(time, "beat-type").map(text)).collect();
    let known = || {
        let [(beats, unit)] = pairs.as_slice() else { return None };
        let groups: Vec<u8> =
            beats.split('+').map(|group| group.trim().parse().ok()).collect::<Option<_>>()?;
        let count = groups.iter().try_fold(0u8, |sum, group| sum.checked_add(*group))?;
        let meter = Meter::new(count, unit.parse().ok()?).ok()?;
        if groups.len() > 1 { meter.grouped(&groups).ok() } else { Some(meter) }
    };
    known().ok_or_else(|| {
        let said: Vec<String> = pairs.iter().map(|(beats, unit)| format!("{beats}/{unit}")).collect();
        if said.is_empty() { "without beats".into() } else { said.join(" + ") }
    })
}

/// The written key; `None` for one that isn't so many fifths from C major.
fn key(key: Node<'_, '_>) -> Option<Key> {
    let fifths: i8 = number_of(key, "fifths")?;
    let mode = match text_of(key, "mode") {
        // The modes with a minor third have the signature of a minor key.
        "minor" | "aeolian" | "dorian" | "phrygian" | "locrian" => Mode::Minor,
        _ => Mode::Major,
    };
    let names =
        Letter::ALL.into_iter().flat_map(|letter| Alter::PLAIN.map(|alter| PitchName { letter, alter }));
    names.filter_map(|tonic| Key::new(tonic, mode).ok()).find(|key| key.fifths() == fifths)
}

/// The key this much higher; if it would have too many sharps or flats, the one that sounds the same.
fn moved(key: Key, higher: Interval) -> Key {
    let named = Key::new(key.tonic().transposed(higher), key.mode());
    named.unwrap_or_else(|_| key.moved(higher.half_steps))
}

/// A pitch: a step, how it is altered, and an octave. `prefix` is `tuning-` for an open string. `None` if it isn't one in half steps.
pub(super) fn pitch(node: Node<'_, '_>, prefix: &str) -> Option<Pitch> {
    let letter = Letter::from_char(text_of(node, &format!("{prefix}step")).chars().next()?)?;
    let alter = match child(node, &format!("{prefix}alter")) {
        Some(alter) => decimal(text(alter))?,
        None => Duration::ZERO,
    };
    let alter = Alter::new(i8::try_from(alter.numer()).ok().filter(|_| alter.denom() == 1)?)?;
    let octave = number_of(node, &format!("{prefix}octave")).filter(|octave| *octave <= 9)?;
    Some(Pitch::new(letter, alter, octave))
}
