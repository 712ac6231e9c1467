//! Chord symbols: a root, a quality, and a bass.
//!
//! ```
//! use halfbar_core::chord::{ChordSymbol, Degree};
//!
//! let symbol: ChordSymbol = "Bb7b9/D".parse()?;
//! let chord = symbol.chord().expect("not `NC`");
//! let tones: Vec<_> = chord.tones().map(|(degree, name)| format!("{degree} {name}")).collect();
//! assert_eq!(tones, ["1 Bb", "3 D", "5 F", "b7 Ab", "b9 Cb"]);
//!
//! // A quality that can't be read, or could mean two things, is not an error in the text: the symbol is kept as written.
//! let symbol: ChordSymbol = "C2".parse()?;
//! assert_eq!(symbol.to_string(), "C2");
//! let refused = symbol.chord().expect("not `NC`").quality().unwrap_err();
//! assert_eq!(refused.to_string(), "`2` can mean `sus2` or `add9`: write the one you mean");
//! # Ok::<(), halfbar_core::chord::ChordError>(())
//! ```
//!
//! What is accepted follows C. Brandt & C. Roemer, *Standardized Chord Symbol Notation*, 1976, and what C. Harte et al., "Symbolic
//! Representation of Musical Chords" (ISMIR 2005) found in use; both from memory.

mod degree;
mod error;
mod quality;
mod reader;
mod sign;

use std::fmt;
use std::str::FromStr;

use crate::pitch::{Alter, Interval, PitchName, typed};

pub use degree::Degree;
pub use error::ChordError;
pub use quality::{Form, Quality, Triad};
pub(crate) use sign::{Sign, signs};

/// A chord symbol.
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
pub enum ChordSymbol {
    /// No chord sounds from here: `NC`.
    NoChord,
    /// A chord.
    Chord(Chord),
}

/// A chord as written, and what it means.
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
pub struct Chord {
    root: PitchName,
    suffix: String,
    quality: Result<Quality, ChordError>,
    bass: Option<PitchName>,
}

/// The longest quality that is read, in bytes; the longest in use have about a dozen characters.
const LONGEST_QUALITY: usize = 48;

impl ChordSymbol {
    /// The chord, if one sounds.
    pub fn chord(&self) -> Option<&Chord> {
        match self {
            ChordSymbol::NoChord => None,
            ChordSymbol::Chord(chord) => Some(chord),
        }
    }

    /// The same chord an interval higher. Root and bass keep their spelling, as [`PitchName::transposed`] does.
    ///
    /// ```
    /// use halfbar_core::chord::ChordSymbol;
    /// use halfbar_core::pitch::Interval;
    ///
    /// let chord: ChordSymbol = "Fm7/Eb".parse()?;
    /// assert_eq!(chord.transposed(Interval { letters: 2, half_steps: 3 }).to_string(), "Abm7/Gb");
    /// # Ok::<(), halfbar_core::chord::ChordError>(())
    /// ```
    pub fn transposed(&self, interval: Interval) -> ChordSymbol {
        match self {
            ChordSymbol::NoChord => ChordSymbol::NoChord,
            ChordSymbol::Chord(chord) => ChordSymbol::Chord(chord.transposed(interval)),
        }
    }

    /// The same chord over another bass, or over its root.
    pub(crate) fn over(self, bass: Option<PitchName>) -> ChordSymbol {
        match self {
            ChordSymbol::NoChord => ChordSymbol::NoChord,
            ChordSymbol::Chord(chord) => ChordSymbol::Chord(Chord { bass, ..chord }),
        }
    }
}

impl Chord {
    /// A chord, written with the fewest signs.
    pub fn new(root: PitchName, quality: Quality, bass: Option<PitchName>) -> Chord {
        Chord { root, suffix: quality.to_string(), quality: Ok(quality), bass }
    }

    /// A chord from its written parts.
    fn read(root: PitchName, suffix: String, bass: Option<PitchName>) -> Chord {
        let quality = suffix.parse();
        let is_unread = matches!(quality, Err(ChordError::Unread { .. }));
        let mut chord = Chord { root, suffix, quality, bass };
        // German and Dutch names can look like a root with letters after it: `Es7`.
        let text = chord.to_string();
        if let Some(instead) = meant(&text).filter(|_| is_unread) {
            chord.quality = Err(ChordError::symbol(&text, Some(instead)));
        }
        chord
    }

    fn transposed(&self, interval: Interval) -> Chord {
        // After another root, `b5` could be the root's own flat.
        let suffix = match (Alter::split_from(&self.suffix).0, &self.quality) {
            (Alter::NATURAL, _) => self.suffix.clone(),
            (_, Ok(quality)) => quality.to_string(),
            (_, Err(_)) => format!("({})", self.suffix),
        };
        Chord::read(self.root.transposed(interval), suffix, self.bass.map(|bass| bass.transposed(interval)))
    }

    /// The root.
    pub fn root(&self) -> PitchName {
        self.root
    }

    /// What follows the root as written, up to the bass: `-7b5`. Sharps and flats are `#` and `b`.
    pub fn suffix(&self) -> &str {
        &self.suffix
    }

    /// What the suffix means.
    ///
    /// # Errors
    /// Why it can't be read, and what to write instead. The symbol is still drawn as written, but only its root is known.
    pub fn quality(&self) -> Result<Quality, &ChordError> {
        self.quality.as_ref().copied()
    }

    /// The bass, if one is written: the `Eb` of `Fm7/Eb`.
    pub fn bass(&self) -> Option<PitchName> {
        self.bass
    }

    /// Its degrees with their names, as they are stacked; none if the quality is unknown. A name that would need more than a double
    /// accidental is respelled.
    pub fn tones(&self) -> impl Iterator<Item = (Degree, PitchName)> + use<> {
        let root = self.root;
        let degrees = self.quality().into_iter().flat_map(Quality::degrees);
        degrees.map(move |degree| (degree, root.transposed(degree.interval())))
    }
}

impl FromStr for ChordSymbol {
    type Err = ChordError;

    /// Sharps and flats can be typed (`#`, `b`) or be musical signs.
    ///
    /// ```
    /// use halfbar_core::chord::ChordSymbol;
    ///
    /// assert_eq!("B♭7alt/D".parse::<ChordSymbol>()?.to_string(), "Bb7alt/D");
    /// let wrong = "Hm7".parse::<ChordSymbol>().unwrap_err();
    /// assert_eq!(wrong.to_string(), "`Hm7` is not a chord: write `Bm7`");
    /// # Ok::<(), halfbar_core::chord::ChordError>(())
    /// ```
    ///
    /// # Errors
    /// [`ChordError::Symbol`]. [`Chord::quality`] reports a quality that can't be read.
    fn from_str(text: &str) -> Result<ChordSymbol, ChordError> {
        if matches!(text, "NC" | "N.C.") {
            return Ok(ChordSymbol::NoChord);
        }
        let typed = typed(text);
        match split(&typed) {
            Some((root, suffix, bass)) => Ok(ChordSymbol::Chord(Chord::read(root, suffix.into(), bass))),
            None => Err(ChordError::symbol(text, meant(&typed))),
        }
    }
}

/// Splits a symbol into root, suffix and bass. `None` if there is no root, if the bass isn't a pitch name, or if a character isn't allowed
/// in a symbol.
fn split(text: &str) -> Option<(PitchName, &str, Option<PitchName>)> {
    let (root, rest) = PitchName::split_from(text)?;
    let (suffix, bass) = split_bass(rest);
    let is_allowed =
        |letter: char| !letter.is_control() && !letter.is_whitespace() && !matches!(letter, '|' | '@');
    if suffix.len() > LONGEST_QUALITY || !suffix.chars().all(is_allowed) {
        return None;
    }
    match bass {
        Some(name) => Some((root, suffix, Some(name.parse().ok()?))),
        None => Some((root, suffix, None)),
    }
}

/// Cuts off the bass. `6/9` has a slash of its own, so only a slash before a letter starts a bass, and none inside parentheses.
fn split_bass(text: &str) -> (&str, Option<&str>) {
    match text.rsplit_once('/') {
        Some((chord, bass)) if !bass.contains(')') && !bass.starts_with(|c: char| c.is_ascii_digit()) => {
            (chord, Some(bass))
        }
        _ => (text, None),
    }
}

/// The symbol that German, Dutch or Latin names or lowercase letters stand for, if it is a chord: `Bbm7` for `Besm7`, `Am` for `am`.
fn meant(text: &str) -> Option<String> {
    let (chord, bass) = split_bass(text);
    let bass = match bass {
        Some(bass) => format!("/{}", PitchName::meant_by(bass)?),
        None => String::new(),
    };
    let mut meant = PitchName::meant(chord).map(|(root, suffix)| format!("{root}{suffix}{bass}"));
    let is_chord = |text: &str| split(text).is_some_and(|(_, suffix, _)| suffix.parse::<Quality>().is_ok());
    meant.find(|meant| meant != text && is_chord(meant))
}

impl fmt::Display for ChordSymbol {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChordSymbol::NoChord => f.write_str("NC"),
            ChordSymbol::Chord(chord) => chord.fmt(f),
        }
    }
}

impl fmt::Display for Chord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.root, self.suffix)?;
        self.bass.map_or(Ok(()), |bass| write!(f, "/{bass}"))
    }
}

#[cfg(test)]
mod tests;
