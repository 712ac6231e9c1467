//! The key: a tonic and a mode, and the key signature they imply.

use std::fmt;
use std::str::FromStr;

use crate::naming::{quoted, remedy};
use crate::pitch::{Alter, Interval, Letter, MidiKey, Pitch, PitchName};

/// The error for text that isn't a key with at most seven sharps or flats.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error(
    "`{text}` is not a key: {}",
    remedy(instead.as_deref(), "a tonic, then `major` or `minor` if needed, such as `Eb` or `C minor`")
)]
pub struct KeyError {
    /// The text that was read.
    pub text: String,
    /// What to write instead, if that is clear: `Eb` for the German `Es`.
    pub instead: Option<String>,
}

type Result<T, E = KeyError> = std::result::Result<T, E>;

/// Major or minor. Each key shares its signature with a relative key of the other mode.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[allow(missing_docs)]
pub enum Mode {
    Major,
    Minor,
}

/// A key with at most seven sharps or flats.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Key {
    tonic: PitchName,
    mode: Mode,
}

/// The order of sharps in a key signature; flats come in reverse.
const SHARPS: [Letter; 7] = [Letter::F, Letter::C, Letter::G, Letter::D, Letter::A, Letter::E, Letter::B];

/// How many letters each of the twelve half steps lies above the tonic. This is the harmonic chromatic scale,
/// the same in major and minor. It holds the tones of both, plus the lowered second and the raised fourth: so
/// major also has a lowered third, sixth and seventh, and minor has them raised. (Harmony textbooks, from
/// memory.)
const CHROMATIC: [i32; 12] = [0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6];

impl Default for Key {
    fn default() -> Key {
        Key::C
    }
}

impl Key {
    /// C major.
    pub const C: Key =
        Key { tonic: PitchName { letter: Letter::C, alter: Alter::NATURAL }, mode: Mode::Major };

    /// The key on this tonic, in this mode.
    ///
    /// # Errors
    /// [`KeyError`] if it would need more than seven sharps or flats.
    pub fn new(tonic: PitchName, mode: Mode) -> Result<Key> {
        let key = Key { tonic, mode };
        match key.fifths().abs() <= 7 {
            true => Ok(key),
            false => Err(KeyError { text: key.to_string(), instead: None }),
        }
    }

    /// The short form that a change of key has in a line's text: `Eb`, `Cm`.
    pub fn short(self) -> String {
        format!("{}{}", self.tonic, if self.mode == Mode::Minor { "m" } else { "" })
    }

    /// Reads the short form: `Eb`, `Cm`.
    ///
    /// # Errors
    /// [`KeyError`] if the text isn't a key in short form.
    pub fn from_short(text: &str) -> Result<Key> {
        let (tonic, mode) = text.strip_suffix('m').map_or((text, Mode::Major), |tonic| (tonic, Mode::Minor));
        Key::on(tonic, mode).map_err(|meant| KeyError { text: quoted(text), instead: meant.map(Key::short) })
    }

    /// The key on a tonic as it was written or, as the error, the key that was meant, if that is clear.
    fn on(tonic: &str, mode: Mode) -> Result<Key, Option<Key>> {
        match tonic.parse() {
            Ok(tonic) => Key::new(tonic, mode).map_err(|_| None),
            Err(_) => Err(PitchName::meant_by(tonic).and_then(|tonic| Key::new(tonic, mode).ok())),
        }
    }

    /// A sounding key as it is written in this key. Tones of the key follow the signature. The others are
    /// lowered 2, 3, 6, 7 and raised 4 in major, and lowered 2 and raised 3, 4, 6, 7 in minor. `None` outside
    /// octaves 0 to 9.
    ///
    /// ```
    /// use halfbar_core::key::Key;
    /// use halfbar_core::pitch::MidiKey;
    ///
    /// let spelled = |key: &str| Ok::<_, halfbar_core::Error>(key.parse::<Key>()?.spell(MidiKey(61)).unwrap().to_string());
    /// assert_eq!((spelled("Ab")?, spelled("C")?), ("Db4".into(), "Db4".into()));
    /// assert_eq!((spelled("A")?, spelled("D minor")?, spelled("G")?), ("C#4".into(), "C#4".into(), "C#4".into()));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn spell(self, key: MidiKey) -> Option<Pitch> {
        let tonic = Pitch { name: self.tonic, octave: 0 };
        let above = i32::from(key.0) - i32::from(tonic.midi()?.0);
        let (octaves, half_steps) = (above.div_euclid(12), above.rem_euclid(12));
        let letters = CHROMATIC[half_steps as usize];
        tonic.transposed(Interval { letters, half_steps } + Interval::octaves(octaves))
    }

    /// The tonic.
    pub fn tonic(self) -> PitchName {
        self.tonic
    }

    /// Major or minor.
    pub fn mode(self) -> Mode {
        self.mode
    }

    /// The key of the same mode this many half steps higher. Of two enharmonic keys, the one with fewer
    /// sharps or flats is chosen, and the flat one if both have six (common practice, no source). Whole
    /// octaves leave the key unchanged.
    pub fn moved(self, half_steps: i32) -> Key {
        if half_steps % 12 == 0 {
            return self;
        }
        let goal = self.tonic.pitch_class() + half_steps;
        let names =
            Letter::ALL.into_iter().flat_map(|letter| Alter::PLAIN.map(|alter| PitchName { letter, alter }));
        let same = names.filter(|name| (goal - name.pitch_class()) % 12 == 0);
        let keys = same.filter_map(|tonic| Key::new(tonic, self.mode).ok());
        keys.min_by_key(|key| (key.fifths().abs(), key.fifths())).unwrap_or(self)
    }

    /// The number of sharps in the signature; negative for flats.
    pub fn fifths(self) -> i8 {
        // F C G D A E B lie -1 to 5 fifths from C. An accidental adds seven fifths, and minor takes three
        // away.
        let letter =
            SHARPS.iter().zip(-1..).find(|(letter, _)| **letter == self.tonic.letter).map_or(0, |(_, n)| n);
        letter + 7 * self.tonic.alter.half_steps() - if self.mode == Mode::Minor { 3 } else { 0 }
    }

    /// The letters that the signature alters, in the order they are written, each with its accidental.
    pub fn signature(self) -> impl Iterator<Item = (Letter, Alter)> {
        let fifths = self.fifths();
        (0..usize::from(fifths.unsigned_abs())).map(move |i| match fifths > 0 {
            true => (SHARPS[i], Alter::SHARP),
            false => (SHARPS[6 - i], Alter::FLAT),
        })
    }

    /// How the signature alters a letter.
    pub fn alter(self, letter: Letter) -> Alter {
        self.signature().find(|&(altered, _)| altered == letter).map_or(Alter::NATURAL, |(_, alter)| alter)
    }
}

impl fmt::Display for Key {
    /// Writes `Eb` or `C minor`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.mode {
            Mode::Major => write!(f, "{}", self.tonic),
            Mode::Minor => write!(f, "{} minor", self.tonic),
        }
    }
}

impl FromStr for Key {
    type Err = KeyError;

    fn from_str(text: &str) -> Result<Key> {
        let wrong =
            |meant: Option<Key>| KeyError { text: quoted(text), instead: meant.map(|key| key.to_string()) };
        let mut words = text.split_whitespace();
        let tonic = words.next().unwrap_or_default();
        let mode = match (words.next(), words.next()) {
            (None, None) => return Key::from_short(tonic),
            (Some("major"), None) => Mode::Major,
            (Some("minor"), None) => Mode::Minor,
            _ => return Err(wrong(None)),
        };
        Key::on(tonic, mode).map_err(wrong)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(text: &str) -> Key {
        text.parse().unwrap()
    }

    /// German and Dutch names, lowercase letters and musical signs: common practice, no source.
    #[test]
    fn keys_are_read_or_advised() {
        assert_eq!((key("B♭").to_string(), key("F♯ minor").to_string()), ("Bb".into(), "F# minor".into()));
        for (text, instead) in [
            ("H", Some("B")),
            ("h minor", Some("B minor")),
            ("Es", Some("Eb")),
            ("Bes major", Some("Bb")),
            ("fis minor", Some("F# minor")),
            ("eb", Some("Eb")),
            ("Q", None),
            ("C dur", None),
            // Eight sharps.
            ("gis", None),
            ("", None),
        ] {
            let error = KeyError { text: text.into(), instead: instead.map(String::from) };
            assert_eq!(text.parse::<Key>(), Err(error), "{text}");
        }
        assert_eq!("Cm".parse(), Ok(key("C minor")));
        assert_eq!(Key::from_short("E♭").map(Key::short), Ok("Eb".into()));
        assert_eq!(Key::from_short("fism").unwrap_err().to_string(), "`fism` is not a key: write `F#m`");
        assert_eq!(Key::from_short("Asm").unwrap_err().instead, Some("Abm".into()));
    }

    #[test]
    fn keys_spell_what_is_played() {
        let scale = |text: &str| -> String {
            let names = (60..72).filter_map(|midi| key(text).spell(MidiKey(midi)));
            names.map(|pitch| pitch.to_string()).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(scale("C"), "C4 Db4 D4 Eb4 E4 F4 F#4 G4 Ab4 A4 Bb4 B4");
        assert_eq!(scale("A minor"), "C4 C#4 D4 D#4 E4 F4 F#4 G4 G#4 A4 Bb4 B4");
        assert_eq!(scale("B"), "C4 C#4 D4 D#4 E4 E#4 F#4 G4 G#4 A4 A#4 B4");
        assert_eq!(key("C#").spell(MidiKey(60)).unwrap().to_string(), "B#3");
        assert_eq!(key("Cb").spell(MidiKey(59)).unwrap().to_string(), "Cb4");
        assert_eq!((key("C").spell(MidiKey(11)), key("C").spell(MidiKey(132))), (None, None));
    }

    /// Every key spells every sound, and the spelling sounds the same.
    #[test]
    fn a_spelling_sounds_as_it_was_played() {
        for tonic in
            Letter::ALL.into_iter().flat_map(|letter| Alter::PLAIN.map(|alter| PitchName { letter, alter }))
        {
            for key in [Mode::Major, Mode::Minor].into_iter().filter_map(|mode| Key::new(tonic, mode).ok()) {
                for midi in 14..128 {
                    let spelled = key.spell(MidiKey(midi)).unwrap();
                    assert_eq!(spelled.midi(), Some(MidiKey(midi)), "{key} {spelled}");
                    let own = key.alter(spelled.name.letter) == spelled.name.alter;
                    let in_key = Letter::ALL.into_iter().any(|letter| {
                        let name = PitchName { letter, alter: key.alter(letter) };
                        (name.pitch_class() - i32::from(midi)) % 12 == 0
                    });
                    assert_eq!(own, in_key, "{key} {spelled}");
                }
            }
        }
    }

    #[test]
    fn the_key_with_fewer_signs() {
        for (from, half_steps, to) in [
            ("C", 1, "Db"),
            ("C", 6, "Gb"),
            ("C", -1, "B"),
            ("Eb", -2, "Db"),
            ("F#", 12, "F#"),
            ("F#", 11, "F"),
            ("C#", -1, "C"),
            ("C minor", 3, "Eb minor"),
            ("C minor", 8, "G# minor"),
        ] {
            assert_eq!(key(from).moved(half_steps), key(to), "{from} {half_steps}");
        }
    }

    #[test]
    fn signatures() {
        for (text, fifths) in
            [("C", 0), ("Eb", -3), ("C minor", -3), ("F#", 6), ("Cb", -7), ("A# minor", 7), ("E minor", 1)]
        {
            assert_eq!(text.parse::<Key>().unwrap().fifths(), fifths, "{text}");
        }
        assert!("G#".parse::<Key>().is_err());
        let flats: Vec<_> = "Eb".parse::<Key>().unwrap().signature().map(|(letter, _)| letter).collect();
        assert_eq!(flats, [Letter::B, Letter::E, Letter::A]);
    }
}
