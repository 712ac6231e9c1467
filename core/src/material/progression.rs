//! Chords with their lengths.

use std::fmt;
use std::str::FromStr;

use crate::chord::{Chord, ChordError, ChordSymbol, Degree};
use crate::drill;
use crate::key::{Key, Mode};
use crate::naming::quoted;
use crate::scale::Scale;
use crate::time::{Duration, Onset};

use super::error::{MaterialError, Result};
use super::made::not_too_long;
use super::setup::Setup;

/// Chords with their lengths in quarter notes, as in a line's text: `Fm7:2 Bb7alt:2 Ebmaj7:4`. A chord without a length lasts to the end
/// of its bar.
///
/// ```
/// use halfbar_core::material::Progression;
///
/// let chords: Progression = "Fm7:2 Bb7alt:2 Ebmaj7".parse()?;
/// assert_eq!(chords.to_string(), "Fm7:2 Bb7alt:2 Ebmaj7");
/// assert_eq!(chords.key().to_string(), "Eb");
/// let wrong = "Fm7:2 Hb7:2".parse::<Progression>().unwrap_err();
/// assert_eq!(wrong.to_string(), "chord 2: `Hb7` is not a chord: write `Bb7`");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Progression {
    chords: Vec<Lasting>,
}

/// A chord and how long it lasts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Lasting {
    /// The symbol.
    pub symbol: ChordSymbol,
    /// How long it lasts, a number of eighths; up to the end of its bar if it isn't said.
    pub length: Option<Duration>,
}

/// A chord at its place in a line.
pub(super) struct Timed<'a> {
    pub(super) symbol: &'a ChordSymbol,
    pub(super) start: Onset,
    pub(super) end: Onset,
}

/// The longest chord, in quarter notes, and the most chords.
const LONGEST: Duration = Duration::of(64, 1);
const MOST: usize = 256;

impl Progression {
    /// Chords, one after another.
    ///
    /// # Errors
    /// [`MaterialError::NoChords`] if there are none, [`MaterialError::ManyChords`] for too many, [`MaterialError::Chord`] for one whose quality is
    /// not known, [`MaterialError::Length`] for a length that isn't a number of eighths up to sixteen bars of 4/4.
    pub fn new(chords: impl IntoIterator<Item = Lasting>) -> Result<Progression> {
        let chords: Vec<Lasting> = chords.into_iter().take(MOST + 1).collect();
        match chords.len() {
            0 => return Err(MaterialError::NoChords),
            count if count > MOST => return Err(MaterialError::ManyChords { most: MOST }),
            _ => {}
        }
        for (number, Lasting { symbol, length }) in (1..).zip(&chords) {
            if let Some(Err(error)) = symbol.chord().map(Chord::quality) {
                return Err(MaterialError::Chord {
                    number,
                    symbol: symbol.to_string(),
                    error: error.clone(),
                });
            }
            let is_length = |length: &Duration| {
                *length > Duration::ZERO && *length <= LONGEST && length.is_multiple_of(Duration::EIGHTH)
            };
            if let Some(length) = length.filter(|length| !is_length(length)) {
                return Err(MaterialError::Length { number, text: length.to_string() });
            }
        }
        Ok(Progression { chords })
    }

    /// The chords and their lengths.
    pub fn chords(&self) -> &[Lasting] {
        &self.chords
    }

    /// The key that its last chord suggests: minor if that has a minor third. C major if that can't be written.
    pub fn key(&self) -> Key {
        let last = self.chords.iter().rev().find_map(|lasting| lasting.symbol.chord());
        let key = last.and_then(|chord| {
            let third = chord.quality().ok()?.third();
            let mode = if third == Some(Degree::FlatThree) { Mode::Minor } else { Mode::Major };
            Key::new(chord.root(), mode).ok()
        });
        key.unwrap_or_default()
    }

    /// These chords and copies of them, each moved by some more steps through a scale: 1 for the next step, 2 for thirds, negative for down. The copies are
    /// triads and seventh chords: a sixth becomes a seventh, and ninths and above are left out, since not every step has them.
    ///
    /// ```
    /// use halfbar_core::material::Progression;
    ///
    /// let one: Progression = "Ebmaj7:4".parse()?;
    /// let thirds = one.through("Eb major".parse()?, 2, 3)?;
    /// assert_eq!(thirds.to_string(), "Ebmaj7:4 Gm7:4 Bb7:4 Dm7b5:4");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`MaterialError::OutsideScale`] for a chord that isn't one of the scale's own.
    pub fn through(&self, scale: Scale, steps: i32, copies: u8) -> Result<Progression> {
        let moved = (0..=i32::from(copies)).flat_map(|copy| {
            self.chords.iter().map(move |lasting| {
                let symbol = &lasting.symbol;
                let moved = drill::moved(symbol, scale, steps.saturating_mul(copy));
                // At no steps any chord is left as it is, so it is tried at one.
                let is_own = drill::moved(symbol, scale, 1).is_some();
                let symbol = moved
                    .filter(|_| is_own)
                    .ok_or_else(|| MaterialError::OutsideScale { symbol: symbol.to_string(), scale })?;
                Ok(Lasting { symbol, length: lasting.length })
            })
        });
        Progression::new(moved.collect::<Result<Vec<_>>>()?)
    }

    /// The chords at their places in some bars, which they have to fill.
    pub(super) fn timed(&self, setup: &Setup) -> Result<Vec<Timed<'_>>> {
        let bars = &setup.bars;
        let mut end = Onset::ZERO;
        let mut timed = Vec::with_capacity(self.chords.len());
        for Lasting { symbol, length } in &self.chords {
            let start = end;
            end = match length {
                Some(length) => start.checked_add(*length)?,
                None => bars.span(bars.split(start)?.0)?.end(),
            };
            timed.push(Timed { symbol, start, end });
        }
        not_too_long(bars, end)?;
        let (index, over) = bars.split(end)?;
        let bar = bars.meter(index).bar();
        let short = bar.checked_sub(bars.pickup())?;
        if let (true, Some(last)) = (over > Duration::ZERO && over != short, timed.last()) {
            let goal = if over < short { short } else { bar };
            let length = last.end.checked_since(last.start)?;
            let fills = length.checked_add(goal)?.checked_sub(over)?;
            return Err(MaterialError::Unfilled { bar, symbol: last.symbol.to_string(), fills });
        }
        Ok(timed)
    }
}

impl FromStr for Progression {
    type Err = MaterialError;

    /// Reads chords separated by spaces, each perhaps with `:` and a length. An `@` before a chord, as in a line's text, is left out.
    fn from_str(text: &str) -> Result<Progression> {
        let chord = |(number, word): (usize, &str)| {
            let (symbol, length) = match word.rsplit_once(':') {
                Some((symbol, length)) => {
                    let wrong = || MaterialError::Length { number, text: quoted(length) };
                    (symbol, Some(length.parse().map_err(|_| wrong())?))
                }
                None => (word, None),
            };
            let symbol = symbol.strip_prefix('@').unwrap_or(symbol);
            let wrong = |error: ChordError| MaterialError::NoChord { number, error };
            Ok(Lasting { symbol: symbol.parse().map_err(wrong)?, length })
        };
        let words = (1..).zip(text.split_whitespace().take(MOST + 1));
        Progression::new(words.map(chord).collect::<Result<Vec<_>>>()?)
    }
}

impl From<ChordSymbol> for Lasting {
    /// A chord up to the end of its bar.
    fn from(symbol: ChordSymbol) -> Lasting {
        Lasting { symbol, length: None }
    }
}

impl fmt::Display for Progression {
    /// Writes the form that is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, lasting) in self.chords.iter().enumerate() {
            write!(f, "{}{lasting}", if index > 0 { " " } else { "" })?;
        }
        Ok(())
    }
}

impl fmt::Display for Lasting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.symbol)?;
        self.length.map_or(Ok(()), |length| write!(f, ":{length}"))
    }
}
