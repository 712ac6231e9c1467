//! Names that are easy to read in another key.
//!
//! A note keeps its letter relative to the key, unless that takes a double accidental or names a white key by its
//! neighbor (E#, Fb, B#, Cb) where neither the key signature nor the chord calls for it. Every dominant calls for its
//! flat ninth, whether or not its symbol has it. A chord is renamed with its tones where that leaves fewer such names
//! (common practice, no source).

use crate::bars::Place;
use crate::chord::{Chord, ChordSymbol, Degree, Quality};
use crate::key::Key;
use crate::naming::all_of;
use crate::order;
use crate::pitch::{Alter, Interval, Letter, Pitch, PitchName};

/// What a copy names differently than its key alone would.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Renamed {
    /// Where the copy starts.
    pub place: Place,
    /// Its key there.
    pub key: Key,
    /// Each name that was avoided, of notes, roots and basses.
    pub names: Vec<RenamedName>,
}

/// A name that was avoided.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct RenamedName {
    /// The name by the key alone.
    pub from: PitchName,
    /// What is written for it.
    pub to: PitchName,
    /// Where it is written first.
    pub place: Place,
}

impl Renamed {
    /// The remark about it: it starts with the first bar that has one of the names, and adds the others.
    pub(crate) fn remark(&self) -> String {
        let mut names = self.names.clone();
        order::sort(&mut names, |name| name.place);
        let first = names.first().map_or(self.place, |name| name.place);
        let names = all_of(names.iter().map(|RenamedName { from, to, place }| match place.bar {
            bar if bar == first.bar => format!("{to} instead of {from}"),
            bar => format!("{to} instead of {from} in bar {bar}"),
        }));
        format!("{}: in {}, {names}, which is easier to read", first.spoken(), self.key)
    }

    /// Adds the names of a chord that changed.
    pub(crate) fn add_chord(&mut self, from: &ChordSymbol, to: &ChordSymbol, place: Place) {
        if let (Some(from), Some(to)) = (from.chord(), to.chord()) {
            self.add(from.root(), to.root(), place);
            if let (Some(from), Some(to)) = (from.bass(), to.bass()) {
                self.add(from, to, place);
            }
        }
    }

    /// Adds a pair of names once, where it is first.
    pub(crate) fn add(&mut self, from: PitchName, to: PitchName, place: Place) {
        if from == to {
            return;
        }
        match self.names.iter_mut().find(|name| (name.from, name.to) == (from, to)) {
            Some(name) => name.place = name.place.min(place),
            None => self.names.push(RenamedName { from, to, place }),
        }
    }
}

/// A chord in another key.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Named {
    pub(crate) symbol: ChordSymbol,
    /// By how many letters its names moved to be easier to read.
    letters: i32,
}

impl Named {
    /// A chord by the name it has.
    pub(crate) fn as_written(symbol: ChordSymbol) -> Named {
        Named { symbol, letters: 0 }
    }

    /// A chord that was transposed letter by letter, by a readable name.
    pub(crate) fn new(literal: &ChordSymbol, key: Key) -> Named {
        let written = Named::as_written(literal.clone());
        let Some(chord) = literal.chord() else { return written };
        let cost = |named: &Named| named.symbol.chord().map_or(0, |chord| chord_cost(chord, key));
        let others = [-1, 1].map(|letters| {
            let symbol = literal.transposed(Interval { letters, half_steps: 0 });
            Named { symbol, letters }
        });
        let best = match is_hard(chord, key) {
            true => others
                .into_iter()
                .fold(written, |best, way| if cost(&way) < cost(&best) { way } else { best }),
            false => written,
        };
        let bass = chord.bass().map(|bass| best.name(bass, key));
        Named { symbol: best.symbol.over(bass), ..best }
    }

    /// A name, transposed letter by letter, as it is written over this chord.
    fn name(&self, literal: PitchName, key: Key) -> PitchName {
        let with_chord = literal.transposed(Interval { letters: self.letters, half_steps: 0 });
        match () {
            () if self.letters != 0 && self.demands(with_chord) => with_chord,
            () if self.demands(literal) || is_plain(literal, key) => literal,
            () if is_plain(with_chord, key) => with_chord,
            () => literal.simplest(),
        }
    }

    /// A pitch, transposed letter by letter, as it is written over this chord; the same sound.
    pub(crate) fn pitch(&self, literal: Pitch, key: Key) -> Option<Pitch> {
        let with_chord = literal.name.transposed(Interval { letters: self.letters, half_steps: 0 });
        let name = if self.is_tension(with_chord) { with_chord } else { self.name(literal.name, key) };
        literal.renamed(name)
    }

    /// Whether a name is that of the chord's root, third, fifth or seventh; a double accidental only for a third
    /// or a seventh.
    fn demands(&self, name: PitchName) -> bool {
        let is_double = name.alter.half_steps().abs() > 1;
        let chord = self.symbol.chord().into_iter();
        chord.flat_map(essential).any(|(degree, tone)| tone == name && !(is_double && degree.number() == 5))
    }

    /// Whether a name is that of a ninth, eleventh or thirteenth which the symbol has, or of a dominant's flat ninth, and
    /// has no double accidental.
    fn is_tension(&self, name: PitchName) -> bool {
        let Some(chord) = self.symbol.chord() else { return false };
        let is_dominant = chord.quality().is_ok_and(Quality::is_dominant);
        let flat_nine = is_dominant.then(|| chord.root().transposed(Degree::FlatNine.interval()));
        let of_symbol = chord.tones().filter(|(degree, _)| degree.number() > 7).map(|(_, tone)| tone);
        name.alter.half_steps().abs() < 2 && of_symbol.chain(flat_nine).any(|tone| tone == name)
    }
}

/// The root, third, fifth and seventh of a chord. A diminished seventh is left out: in jazz it is named as a sixth.
fn essential(chord: &Chord) -> impl Iterator<Item = (Degree, PitchName)> + use<> {
    let others = chord
        .tones()
        .filter(|(degree, _)| matches!(degree.number(), 3 | 5 | 7) && *degree != Degree::DoubleFlatSeven);
    [(Degree::One, chord.root())].into_iter().chain(others)
}

/// Whether a name is a white key's by its neighbor: E#, Fb, B# or Cb.
fn is_neighbors(name: PitchName) -> bool {
    match name.alter {
        Alter::SHARP => matches!(name.letter, Letter::E | Letter::B),
        Alter::FLAT => matches!(name.letter, Letter::F | Letter::C),
        _ => false,
    }
}

fn is_in(key: Key, name: PitchName) -> bool {
    key.alter(name.letter) == name.alter
}

/// Whether a name is easy to read in a key.
fn is_plain(name: PitchName, key: Key) -> bool {
    is_in(key, name) || name.alter.half_steps().abs() < 2 && !is_neighbors(name)
}

/// Whether a chord has names that are hard to read in a key. Its root is harder to read as a neighbor's even in the key.
fn is_hard(chord: &Chord, key: Key) -> bool {
    is_neighbors(chord.root()) || essential(chord).any(|(_, name)| !is_plain(name, key))
}

/// How hard a chord is to read in a key. A root is never named with a double accidental, and as a neighbor's only in
/// the key, which counts too.
fn chord_cost(chord: &Chord, key: Key) -> u32 {
    let root = match chord.root() {
        root if !is_plain(root, key) => 100,
        root => u32::from(is_neighbors(root)),
    };
    let tone = |name: PitchName| match () {
        () if is_in(key, name) => 0,
        () if name.alter.half_steps().abs() > 1 => 4,
        () if is_neighbors(name) => 2,
        () => 1,
    };
    root + essential(chord).map(|(_, name)| tone(name)).sum::<u32>()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(chord: &str, key: &str) -> Named {
        Named::new(&chord.parse().unwrap(), key.parse().unwrap())
    }

    /// What charts write (common practice, no source).
    #[test]
    fn chords_are_readable() {
        for (chord, key, written) in [
            ("Ebb7", "Ab", "D7"),
            ("Abb7", "Gb", "G7"),
            ("Cb7", "Gb", "B7"),
            ("Cbmaj7", "Gb", "Cbmaj7"),
            ("Cbm7", "Gb", "Bm7"),
            ("Gbm7", "Gb", "F#m7"),
            ("Dbm7b5", "Gb", "C#m7b5"),
            ("Fbmaj7", "Ab", "Emaj7"),
            ("Bbm7b5", "Ab", "Bbm7b5"),
            ("D#7", "G# minor", "D#7"),
            ("G#7", "C# minor", "G#7"),
            ("A#7", "B", "Bb7"),
            ("B#dim7", "C# minor", "Cdim7"),
            ("Abm7/Gb", "Gb", "Abm7/Gb"),
            ("Db7/Cb", "Gb", "Db7/Cb"),
            ("Eb7/Fb", "Ab", "Eb7/E"),
            ("Abb7/Cb", "Gb", "G7/B"),
            ("C#dim7", "D", "C#dim7"),
            ("NC", "Gb", "NC"),
            ("Cb?", "Db", "B?"),
        ] {
            assert_eq!(named(chord, key).symbol.to_string(), written, "{chord} in {key}");
        }
    }

    #[test]
    fn notes_follow_key_and_chord() {
        for (note, chord, key, written) in [
            ("Abb4", "Gb6", "Gb", "G4"),
            ("Bbb3", "Db7alt", "Gb", "A3"),
            ("Ebb5", "Db7alt", "Gb", "D5"),
            ("Cb4", "Abm7", "Gb", "Cb4"),
            ("Cb4", "Ab7", "Ab", "B3"),
            // A flat ninth is one over every dominant, unless it takes a double accidental.
            ("Cb4", "Bb7", "Eb", "Cb4"),
            ("Fb4", "Eb7b9", "Ab", "Fb4"),
            ("Cb4", "Bbm7", "Eb", "B3"),
            ("Bbb3", "Ab7b9", "Db", "A3"),
            // A sharp ninth is one where the symbol says so.
            ("B#3", "A7#9", "D", "B#3"),
            ("B#3", "A7", "D", "C4"),
            ("B#3", "G#7", "C# minor", "B#3"),
            ("B#3", "C#m7", "C# minor", "C4"),
            ("F##4", "D#7", "G# minor", "F##4"),
            ("Fb4", "Bbm7b5", "Ab", "Fb4"),
            // A renamed chord takes its tones along.
            ("Cb4", "Abb7", "Gb", "B3"),
            ("Gbb4", "Abb7", "Gb", "F4"),
            ("Gb4", "Abb7", "Gb", "Gb4"),
            ("Abb4", "Bbdim7", "Gb", "G4"),
        ] {
            let (pitch, key) = (note.parse::<Pitch>().unwrap(), key.parse().unwrap());
            let there = Named::new(&chord.parse().unwrap(), key).pitch(pitch, key).unwrap();
            assert_eq!(
                (there.to_string().as_str(), there.midi()),
                (written, pitch.midi()),
                "{note} over {chord}"
            );
        }
    }
}
