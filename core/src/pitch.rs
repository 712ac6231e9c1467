//! Pitch as written ([`Pitch`]) and as sounded ([`MidiKey`]). All pitches are sounding pitches in scientific pitch notation;
//! the staff shows them an octave higher (guitar music is written so).

use std::fmt;
use std::str::FromStr;

use crate::error::{Error, Result, quoted};

/// One of the seven letters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
#[allow(missing_docs)]
pub enum Step {
    C,
    D,
    E,
    F,
    G,
    A,
    B,
}

/// How far a letter is altered, in half steps: -2 (double flat) to 2 (double sharp).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash, Default)]
pub struct Alter(i8);

/// A letter with its alteration, in no particular octave: a key's tonic, a chord's root.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct PitchName {
    /// The letter.
    pub step: Step,
    /// Sharp or flat.
    pub alter: Alter,
}

/// A spelled, sounding pitch: E2 is the open sixth string, C4 is middle C (ISO 16: A4 = 440 Hz).
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Pitch {
    /// The letter and its alteration.
    pub name: PitchName,
    /// The octave, counted from C.
    pub octave: u8,
}

/// A sounding key number as MIDI counts: 60 is C4.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct MidiKey(pub u8);

impl Step {
    /// All letters, from C.
    pub const ALL: [Step; 7] = [Step::C, Step::D, Step::E, Step::F, Step::G, Step::A, Step::B];

    /// The letter of an upper-case character.
    pub fn from_letter(letter: char) -> Option<Step> {
        Step::ALL.into_iter().find(|step| step.letter() == letter)
    }

    /// The upper-case letter.
    pub fn letter(self) -> char {
        ['C', 'D', 'E', 'F', 'G', 'A', 'B'][self as usize]
    }

    /// Half steps above C.
    fn half_steps(self) -> i16 {
        [0, 2, 4, 5, 7, 9, 11][self as usize]
    }
}

impl Alter {
    /// Neither sharp nor flat.
    pub const NATURAL: Alter = Alter(0);
    /// A half step down.
    pub const FLAT: Alter = Alter(-1);
    /// A half step up.
    pub const SHARP: Alter = Alter(1);

    /// From half steps; `None` outside -2 to 2.
    pub fn new(half_steps: i8) -> Option<Alter> {
        (-2..=2).contains(&half_steps).then_some(Alter(half_steps))
    }

    /// Half steps up (negative: down).
    pub fn half_steps(self) -> i8 {
        self.0
    }

    /// The accidental that `text` starts with, and what follows it.
    pub(crate) fn split_from(text: &str) -> (Alter, &str) {
        [("##", 2), ("#", 1), ("bb", -2), ("b", -1)]
            .into_iter()
            .find_map(|(sign, half_steps)| text.strip_prefix(sign).map(|rest| (Alter(half_steps), rest)))
            .unwrap_or((Alter::NATURAL, text))
    }
}

impl Pitch {
    /// A pitch from its parts.
    pub fn new(step: Step, alter: Alter, octave: u8) -> Pitch {
        Pitch { name: PitchName { step, alter }, octave }
    }

    /// The key that sounds, when MIDI has it.
    ///
    /// ```
    /// use halfbar_core::pitch::{MidiKey, Pitch};
    ///
    /// let pitch: Pitch = "Bb3".parse()?;
    /// assert_eq!(pitch.midi(), Some(MidiKey(58)));
    /// assert!("H3".parse::<Pitch>().is_err());
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn midi(self) -> Option<MidiKey> {
        let Pitch { name, octave } = self;
        let key = (i16::from(octave) + 1) * 12 + name.step.half_steps() + i16::from(name.alter.0);
        u8::try_from(key).ok().filter(|&key| key < 128).map(MidiKey)
    }

    /// Letters above C0: the vertical place on a staff, whatever the accidental.
    pub fn diatonic(self) -> i16 {
        i16::from(self.octave) * 7 + self.name.step as i16
    }

    /// The pitch of this name nearest to `before` by letter: a fourth or less, up or down. `None` below octave 0.
    pub fn nearest(name: PitchName, before: Pitch) -> Option<Pitch> {
        // Letter distances -3 to 3 are all different modulo 7, so there is one answer.
        let up = (name.step as i16 - before.name.step as i16 + 3).rem_euclid(7) - 3;
        let octave = (before.diatonic() + up).div_euclid(7);
        u8::try_from(octave).ok().map(|octave| Pitch { name, octave })
    }
}

impl FromStr for PitchName {
    type Err = Error;

    /// `C`, `F#`, `Bb`, `Abb`.
    fn from_str(text: &str) -> Result<PitchName> {
        match PitchName::split_from(text) {
            Some((name, "")) => Ok(name),
            _ => Err(Error::Pitch { text: quoted(text) }),
        }
    }
}

impl PitchName {
    /// The name that `text` starts with, and what follows it.
    pub(crate) fn split_from(text: &str) -> Option<(PitchName, &str)> {
        let mut letters = text.chars();
        let step = Step::from_letter(letters.next()?)?;
        let (alter, rest) = Alter::split_from(letters.as_str());
        Some((PitchName { step, alter }, rest))
    }
}

impl FromStr for Pitch {
    type Err = Error;

    /// A name and an octave: `F#4`.
    fn from_str(text: &str) -> Result<Pitch> {
        let wrong = || Error::Pitch { text: quoted(text) };
        let (name, octave) = PitchName::split_from(text).ok_or_else(wrong)?;
        match octave.as_bytes() {
            [digit @ b'0'..=b'9'] => Ok(Pitch { name, octave: digit - b'0' }),
            _ => Err(wrong()),
        }
    }
}

impl fmt::Display for Alter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.0 {
            -2 => "bb",
            -1 => "b",
            1 => "#",
            2 => "##",
            _ => "",
        })
    }
}

impl fmt::Display for PitchName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.step.letter(), self.alter)
    }
}

impl fmt::Display for Pitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.name, self.octave)
    }
}

impl fmt::Debug for PitchName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "PitchName({self})")
    }
}

impl fmt::Debug for Pitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Pitch({self})")
    }
}

impl fmt::Display for MidiKey {
    /// Its name with sharps: `F#3`; keys below C0 have the octave -1.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
        write!(f, "{}{}", names[usize::from(self.0 % 12)], i16::from(self.0 / 12) - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pitch(text: &str) -> Pitch {
        text.parse().unwrap()
    }

    #[test]
    fn nearest_by_letter() {
        for (before, name, expected) in [
            ("F3", "B", "B3"),
            ("B3", "F", "F3"),
            ("C4", "B", "B3"),
            ("B3", "Cb", "Cb4"),
            ("E2", "A", "A2"),
            ("G4", "C", "C5"),
        ] {
            assert_eq!(
                Pitch::nearest(name.parse().unwrap(), pitch(before)).unwrap(),
                pitch(expected),
                "{before} {name}"
            );
        }
        assert_eq!(Pitch::nearest("B".parse().unwrap(), pitch("C0")), None);
    }

    #[test]
    fn edges_of_midi() {
        assert_eq!(pitch("C4").midi(), Some(MidiKey(60)));
        assert_eq!(pitch("Cb0").midi(), Some(MidiKey(11)));
        assert_eq!(pitch("G9").midi(), Some(MidiKey(127)));
        assert_eq!(pitch("G#9").midi(), None);
    }
}
