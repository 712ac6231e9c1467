//! The neck: open strings and frets.

use std::fmt;
use std::str::FromStr;

use crate::error::{Error, Result};
use crate::pitch::{MidiKey, Pitch};

/// A string, counted from 1, the highest-sounding.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct StringNo(pub u8);

/// A fret; 0 is the open string.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Fret(pub u8);

/// Open strings, each with the same number of frets.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tuning {
    /// From string 1.
    open: Vec<(Pitch, MidiKey)>,
}

/// A common neck; some have 20, 21 or 24.
const FRETS: u8 = 22;

/// Tunings with a name, sounding, from the lowest string (scientific pitch notation; common practice, no source).
const NAMED: [(&str, &str); 4] = [
    ("standard", "E2 A2 D3 G3 B3 E4"),
    ("drop-d", "D2 A2 D3 G3 B3 E4"),
    ("fourths", "E2 A2 D3 G3 C4 F4"),
    ("seven-string", "B1 E2 A2 D3 G3 B3 E4"),
];

impl Tuning {
    /// Open strings from the lowest-sounding.
    ///
    /// # Errors
    /// [`Error::Tuning`] for fewer than 4 or more than 8 strings, or one whose highest fret MIDI can't name.
    pub fn new(low_to_high: &[Pitch]) -> Result<Tuning> {
        let open = low_to_high.iter().rev().map(|&pitch| {
            let key = pitch.midi().filter(|key| key.0 + FRETS < 128)?;
            Some((pitch, key))
        });
        let open: Vec<_> = open.collect::<Option<_>>().ok_or(Error::Tuning)?;
        match (4..=8).contains(&open.len()) {
            true => Ok(Tuning { open }),
            false => Err(Error::Tuning),
        }
    }

    /// E2 A2 D3 G3 B3 E4.
    pub fn standard() -> Tuning {
        // The constant is right, and a test says so; an empty neck would be the honest answer if it were not.
        NAMED[0].1.parse().unwrap_or(Tuning { open: Vec::new() })
    }

    /// How many strings there are.
    pub fn strings(&self) -> u8 {
        u8::try_from(self.open.len()).unwrap_or(u8::MAX)
    }

    /// How many frets each string has.
    pub fn frets(&self) -> u8 {
        FRETS
    }

    /// What sounds at a string and fret, where the neck has them.
    ///
    /// ```
    /// use halfbar_core::pitch::MidiKey;
    /// use halfbar_core::tuning::{Fret, StringNo, Tuning};
    ///
    /// let neck = Tuning::standard();
    /// assert_eq!(neck.sounding(StringNo(6), Fret(0)), Some(MidiKey(40)));
    /// assert_eq!(neck.sounding(StringNo(3), Fret(23)), None);
    /// ```
    pub fn sounding(&self, string: StringNo, fret: Fret) -> Option<MidiKey> {
        let (_, open) = self.open.get(usize::from(string.0.checked_sub(1)?))?;
        (fret.0 <= FRETS).then(|| MidiKey(open.0 + fret.0))
    }

    /// Every string and fret where `key` sounds, from string 1.
    pub fn places(&self, key: MidiKey) -> impl Iterator<Item = (StringNo, Fret)> {
        (1u8..).zip(&self.open).filter_map(move |(string, (_, open))| {
            let fret = key.0.checked_sub(open.0).filter(|&fret| fret <= FRETS)?;
            Some((StringNo(string), Fret(fret)))
        })
    }

    /// The lowest open string and the highest fret's key.
    pub fn range(&self) -> (MidiKey, MidiKey) {
        let keys = || self.open.iter().map(|&(_, key)| key.0);
        (MidiKey(keys().min().unwrap_or(0)), MidiKey(keys().max().unwrap_or(0) + FRETS))
    }

    /// The names that tunings have, as one phrase for messages.
    pub fn names() -> String {
        NAMED.map(|(name, _)| format!("`{name}`")).join(", ")
    }

    /// Whether this is standard tuning.
    pub fn is_standard(&self) -> bool {
        *self == Tuning::standard()
    }
}

impl Default for Tuning {
    fn default() -> Tuning {
        Tuning::standard()
    }
}

impl FromStr for Tuning {
    type Err = Error;

    /// A name, such as `standard` or `drop-d`, or the open strings from the lowest.
    fn from_str(text: &str) -> Result<Tuning> {
        let text = NAMED.iter().find(|(name, _)| *name == text).map_or(text, |(_, open)| open);
        let open: Result<Vec<Pitch>> = text.split_whitespace().map(str::parse).collect();
        Tuning::new(&open.map_err(|_| Error::Tuning)?)
    }
}

impl fmt::Display for Tuning {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let open: Vec<_> = self.open.iter().rev().map(|(pitch, _)| pitch.to_string()).collect();
        let open = open.join(" ");
        let name = NAMED.iter().find(|(_, named)| *named == open).map(|(name, _)| *name);
        f.write_str(name.unwrap_or(&open))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn standard_has_six_strings() {
        assert_eq!(Tuning::standard().strings(), 6);
        assert_eq!(Tuning::standard().range(), (MidiKey(40), MidiKey(86)));
    }

    #[test]
    fn places_sound_right() {
        let neck = Tuning::standard();
        let places: Vec<_> = neck.places(MidiKey(64)).map(|(s, f)| (s.0, f.0)).collect();
        assert_eq!(places, [(1, 0), (2, 5), (3, 9), (4, 14), (5, 19)]);
    }

    #[test]
    fn other_tunings() {
        let read = |text: &str| text.parse::<Tuning>().unwrap();
        assert_eq!(read("D2 G2 D3 G3 B3 D4").to_string(), "D2 G2 D3 G3 B3 D4");
        assert_eq!((read("D2 A2 D3 G3 B3 E4").to_string(), read("drop-d").strings()), ("drop-d".into(), 6));
        assert_eq!((read("seven-string").strings(), read("seven-string").range().0), (7, MidiKey(35)));
        // Fourths everywhere: five half steps from string to string.
        let open: Vec<_> =
            (1..=6).map(|string| read("fourths").sounding(StringNo(string), Fret(0)).unwrap().0).collect();
        assert!(open.windows(2).all(|pair| pair[0] - pair[1] == 5), "{open:?}");
        assert!("E2 A2 D3".parse::<Tuning>().is_err());
        assert!("E2 A2 D3 G9".parse::<Tuning>().is_err());
    }
}
