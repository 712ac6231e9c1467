//! The key: a tonic and a mode, and the signature they ask for.

use std::fmt;
use std::str::FromStr;

use crate::error::{Error, Result, quoted};
use crate::pitch::{Alter, PitchName, Step};

/// Major or minor; each shares its signature with a relative of the other kind.
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

/// The order in which sharps enter a signature; flats enter in the opposite order.
const SHARPS: [Step; 7] = [Step::F, Step::C, Step::G, Step::D, Step::A, Step::E, Step::B];

impl Default for Key {
    fn default() -> Key {
        Key::C
    }
}

impl Key {
    /// C major.
    pub const C: Key = Key { tonic: PitchName { step: Step::C, alter: Alter::NATURAL }, mode: Mode::Major };

    /// The key on this tonic.
    ///
    /// # Errors
    /// [`Error::Key`] when it would need more than seven sharps or flats.
    pub fn new(tonic: PitchName, mode: Mode) -> Result<Key> {
        let key = Key { tonic, mode };
        match key.fifths().abs() <= 7 {
            true => Ok(key),
            false => Err(Error::Key { text: key.to_string() }),
        }
    }

    /// As a change of key is written in a line's text: `Eb`, `Cm`.
    pub fn short(self) -> String {
        format!("{}{}", self.tonic, if self.mode == Mode::Minor { "m" } else { "" })
    }

    /// The key of a short name: `Eb`, `Cm`.
    ///
    /// # Errors
    /// [`Error::Key`].
    pub fn from_short(text: &str) -> Result<Key> {
        match text.strip_suffix('m') {
            Some(tonic) => format!("{tonic} minor").parse(),
            None => text.parse(),
        }
        .map_err(|_| Error::Key { text: quoted(text) })
    }

    /// Sharps in the signature, or flats as a negative number.
    pub fn fifths(self) -> i8 {
        // F C G D A E B lie at -1 to 5 fifths from C; an accidental moves seven fifths, minor three back.
        let letter =
            SHARPS.iter().zip(-1..).find(|(step, _)| **step == self.tonic.step).map_or(0, |(_, n)| n);
        letter + 7 * self.tonic.alter.half_steps() - if self.mode == Mode::Minor { 3 } else { 0 }
    }

    /// The letters that the signature alters, in the order they are written, with their sign.
    pub fn signature(self) -> impl Iterator<Item = (Step, Alter)> {
        let fifths = self.fifths();
        (0..usize::from(fifths.unsigned_abs())).map(move |i| match fifths > 0 {
            true => (SHARPS[i], Alter::SHARP),
            false => (SHARPS[6 - i], Alter::FLAT),
        })
    }

    /// What the signature does to a letter.
    pub fn alter(self, step: Step) -> Alter {
        self.signature().find(|&(altered, _)| altered == step).map_or(Alter::NATURAL, |(_, alter)| alter)
    }
}

impl fmt::Display for Key {
    /// `Eb`, `C minor`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.mode {
            Mode::Major => write!(f, "{}", self.tonic),
            Mode::Minor => write!(f, "{} minor", self.tonic),
        }
    }
}

impl FromStr for Key {
    type Err = Error;

    fn from_str(text: &str) -> Result<Key> {
        let wrong = || Error::Key { text: quoted(text) };
        let mut words = text.split_whitespace();
        let tonic = words.next().and_then(|word| word.parse().ok()).ok_or_else(wrong)?;
        let mode = match (words.next(), words.next()) {
            (None | Some("major"), None) => Mode::Major,
            (Some("minor"), None) => Mode::Minor,
            _ => return Err(wrong()),
        };
        Key::new(tonic, mode)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signatures() {
        for (text, fifths) in
            [("C", 0), ("Eb", -3), ("C minor", -3), ("F#", 6), ("Cb", -7), ("A# minor", 7), ("E minor", 1)]
        {
            assert_eq!(text.parse::<Key>().unwrap().fifths(), fifths, "{text}");
        }
        assert!("G#".parse::<Key>().is_err());
        let flats: Vec<_> = "Eb".parse::<Key>().unwrap().signature().map(|(step, _)| step).collect();
        assert_eq!(flats, [Step::B, Step::E, Step::A]);
    }
}
