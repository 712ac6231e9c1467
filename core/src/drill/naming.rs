//! Names that are easy to read in another key.
//!
//! A note keeps its letter relative to the key, unless that takes a double accidental or names a white key by its
//! neighbor (E#, Fb, B#, Cb) where neither the key signature nor the chord calls for it. A chord is renamed with its
//! tones where that leaves fewer such names (common practice, no source).

use crate::bars::Place;
use crate::chord::{Chord, ChordSymbol, Degree};
use crate::key::Key;
use crate::naming::all_of;
use crate::pitch::{Alter, Interval, Letter, Pitch, PitchName};

/// What a copy names differently than its key alone would.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Renamed {
    /// Where the copy starts.
    pub place: Place,
    /// Its key there.
    pub key: Key,
    /// Each name that was avoided and the one that is written for it, of notes, roots and basses, in order of
    /// appearance.
    pub names: Vec<(PitchName, PitchName)>,
}

impl Renamed {
    /// The remark about it.
    pub(super) fn remark(&self) -> String {
        let names = all_of(self.names.iter().map(|(from, to)| format!("{to} for {from}")));
        format!("{}: the copy in {} has {names}, which is easier to read", self.place.spoken(), self.key)
    }

    /// Adds the names of a chord that changed.
    pub(super) fn add_chord(&mut self, from: &ChordSymbol, to: &ChordSymbol) {
        if let (Some(from), Some(to)) = (from.chord(), to.chord()) {
            self.add(from.root(), to.root());
            if let (Some(from), Some(to)) = (from.bass(), to.bass()) {
                self.add(from, to);
            }
        }
    }

    /// Adds a pair of names once.
    pub(super) fn add(&mut self, from: PitchName, to: PitchName) {
        if from != to && !self.names.contains(&(from, to)) {
            self.names.push((from, to));
        }
    }
}

/// A chord in another key.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Named {
    pub(super) symbol: ChordSymbol,
    /// By how many letters its names moved to be easier to read.
    letters: i32,
}

impl Named {
    /// A chord by the name it has.
    pub(super) fn as_written(symbol: ChordSymbol) -> Named {
        Named { symbol, letters: 0 }
    }

    /// A chord that was transposed letter by letter, by a readable name.
    pub(super) fn new(literal: &ChordSymbol, key: Key) -> Named {
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
    pub(super) fn pitch(&self, literal: Pitch, key: Key) -> Option<Pitch> {
        literal.renamed(self.name(literal.name, key))
    }

    /// Whether a name is that of the chord's root, third, fifth or seventh; a double accidental only for a third
    /// or a seventh.
    fn demands(&self, name: PitchName) -> bool {
        let is_double = name.alter.half_steps().abs() > 1;
        let chord = self.symbol.chord().into_iter();
        chord.flat_map(essential).any(|(degree, tone)| tone == name && !(is_double && degree.number() == 5))
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
