//! Chord symbols: a root, a quality in the writer's own words, and a bass.

use std::fmt;
use std::str::FromStr;

use crate::naming::quoted;
use crate::pitch::{Interval, PitchName};

/// A text that is not a chord symbol.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("`{text}` is not a chord: write a root, a quality and perhaps a bass, such as `Fm7` or `Bb7alt/D`")]
pub struct ChordError {
    /// What was read.
    pub text: String,
}

type Result<T> = std::result::Result<T, ChordError>;

/// A chord symbol as written. The quality is kept as text.
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
pub enum ChordSymbol {
    /// No chord sounds from here: `NC`.
    NoChord,
    /// A chord.
    Chord {
        /// The root.
        root: PitchName,
        /// What follows the root, up to the bass: `m7b5`, or empty for a plain major triad.
        quality: String,
        /// The bass, when it is named: the `Eb` of `Fm7/Eb`.
        bass: Option<PitchName>,
    },
}

/// The longest quality that is read; the longest in use have about a dozen characters.
const LONGEST_QUALITY: usize = 24;

impl ChordSymbol {
    /// The same chord an interval higher. Root and bass keep their spelling, as [`PitchName::transposed`] does.
    ///
    /// ```
    /// use halfbar_core::chord::ChordSymbol;
    /// use halfbar_core::pitch::Interval;
    ///
    /// let chord: ChordSymbol = "Fm7/Eb".parse()?;
    /// assert_eq!(chord.transposed(Interval { letters: 2, half_steps: 3 }).to_string(), "Abm7/Gb");
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn transposed(&self, interval: Interval) -> ChordSymbol {
        match self {
            ChordSymbol::NoChord => ChordSymbol::NoChord,
            ChordSymbol::Chord { root, quality, bass } => ChordSymbol::Chord {
                root: root.transposed(interval),
                quality: quality.clone(),
                bass: bass.map(|bass| bass.transposed(interval)),
            },
        }
    }
}

impl FromStr for ChordSymbol {
    type Err = ChordError;

    /// ```
    /// use halfbar_core::chord::ChordSymbol;
    ///
    /// assert_eq!("Bb7alt/D".parse::<ChordSymbol>()?.to_string(), "Bb7alt/D");
    /// assert!("hm7".parse::<ChordSymbol>().is_err());
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    fn from_str(text: &str) -> Result<ChordSymbol> {
        if matches!(text, "NC" | "N.C.") {
            return Ok(ChordSymbol::NoChord);
        }
        let wrong = || ChordError { text: quoted(text) };
        let (root, rest) = PitchName::split_from(text).ok_or_else(wrong)?;
        // `6/9` holds a slash of its own, so only a slash before a letter starts a bass.
        let (quality, bass) = match rest.rsplit_once('/') {
            Some((quality, name)) if !name.starts_with(|c: char| c.is_ascii_digit()) => {
                (quality, Some(name.parse().map_err(|_| wrong())?))
            }
            _ => (rest, None),
        };
        if quality.len() > LONGEST_QUALITY
            || quality.chars().any(|c| c.is_control() || c.is_whitespace() || "|@".contains(c))
        {
            return Err(wrong());
        }
        Ok(ChordSymbol::Chord { root, quality: quality.into(), bass })
    }
}

impl fmt::Display for ChordSymbol {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChordSymbol::NoChord => f.write_str("NC"),
            ChordSymbol::Chord { root, quality, bass } => {
                write!(f, "{root}{quality}")?;
                bass.map_or(Ok(()), |bass| write!(f, "/{bass}"))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_nine_is_no_bass() {
        let parts = |text: &str| match text.parse().unwrap() {
            ChordSymbol::Chord { root, quality, bass } => {
                (root.to_string(), quality, bass.map(|b| b.to_string()))
            }
            ChordSymbol::NoChord => unreachable!(),
        };
        assert_eq!(parts("C6/9"), ("C".into(), "6/9".into(), None));
        assert_eq!(parts("C6/9/E"), ("C".into(), "6/9".into(), Some("E".into())));
        assert_eq!(parts("F#m7b5"), ("F#".into(), "m7b5".into(), None));
    }
}
