//! The neck, and terms for what the hands do on it.

use std::fmt;
use std::str::FromStr;

use crate::naming::quoted;
use crate::pitch::{MidiKey, Pitch, PitchError};

/// The error for a neck that can't be used.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum NeckError {
    /// Text that isn't a tuning, or too many or too few strings.
    #[error(
        "this is not a tuning: write {}, or 4 to 8 open strings from the lowest, such as `E2 A2 D3 G3 B3 E4`",
        Tuning::names()
    )]
    Tuning,
    /// An open string that isn't a pitch, although it is clear which one is meant.
    #[error(transparent)]
    OpenString(#[from] PitchError),
    /// A size that a neck can't have.
    #[error(
        "this is not a neck size: write frets, scale length and capo in any combination, such as `24 frets, 628 mm, capo 2`; allowed are {}",
        Neck::allowed()
    )]
    Size,
    /// Text that isn't a position.
    #[error("`{text}` is not a position: write a fret for the index finger, such as `V` or `5`")]
    Position {
        /// The text that was read.
        text: String,
    },
    /// Text that isn't a set of strings.
    #[error("`{text}` is not a set of strings: write numbers from 1 to 8, such as `4-2` or `6,4,2`")]
    Strings {
        /// The text that was read.
        text: String,
    },
}

type Result<T> = std::result::Result<T, NeckError>;

/// A string, counted from 1, the highest-sounding one.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct StringNo(pub u8);

/// A fret, counted from the capo; 0 is the open string.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Fret(pub u8);

/// A finger of the fretting hand: 1 is the index finger, 4 the little finger, 0 none (an open string).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Finger(pub u8);

/// A position of the fretting hand: the fret at which the index finger rests, counted from the capo. It is read as a
/// Roman or an Arabic numeral, and written as a Roman one.
///
/// ```
/// use halfbar_core::neck::Position;
///
/// assert_eq!("V".parse(), Ok(Position(5)));
/// assert_eq!("12".parse::<Position>()?.to_string(), "XII");
/// assert!("VX".parse::<Position>().is_err());
/// # Ok::<(), halfbar_core::neck::NeckError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Position(pub u8);

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const SIGNS: [(u8, &str); 9] = [
            (100, "C"),
            (90, "XC"),
            (50, "L"),
            (40, "XL"),
            (10, "X"),
            (9, "IX"),
            (5, "V"),
            (4, "IV"),
            (1, "I"),
        ];
        let mut left = self.0;
        for (value, sign) in SIGNS {
            while left >= value {
                f.write_str(sign)?;
                left -= value;
            }
        }
        Ok(())
    }
}

impl FromStr for Position {
    type Err = NeckError;

    fn from_str(text: &str) -> Result<Position> {
        let mut all = (1..=MOST_FRETS).map(Position);
        let is_meant = |position: &Position| position.to_string() == text || position.0.to_string() == text;
        all.find(is_meant).ok_or_else(|| NeckError::Position { text: quoted(text) })
    }
}

/// A pick stroke.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Stroke {
    /// Toward the floor, to the higher-sounding strings.
    Down,
    /// Away from the floor.
    Up,
}

impl Stroke {
    /// `down` or `up`.
    pub fn name(self) -> &'static str {
        match self {
            Stroke::Down => "down",
            Stroke::Up => "up",
        }
    }

    /// The opposite stroke.
    pub fn other(self) -> Stroke {
        match self {
            Stroke::Down => Stroke::Up,
            Stroke::Up => Stroke::Down,
        }
    }
}

/// A set of strings: `4-2`, `6,4,2`.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Strings {
    /// Bit `n` is set for string `n + 1`.
    bits: u8,
}

impl Strings {
    /// Whether the set contains a string.
    pub fn contains(self, string: StringNo) -> bool {
        (1..=8).contains(&string.0) && self.bits >> (string.0 - 1) & 1 == 1
    }

    /// Whether the two sets share a string.
    pub fn meets(self, other: Strings) -> bool {
        self.bits & other.bits != 0
    }

    /// The set in words: `string 3`, `strings 4-2`.
    pub(crate) fn spoken(self) -> String {
        format!("string{} {self}", if self.iter().count() == 1 { "" } else { "s" })
    }

    /// The strings in the set, starting at string 1.
    pub fn iter(self) -> impl DoubleEndedIterator<Item = StringNo> {
        (1..=8).map(StringNo).filter(move |&string| self.contains(string))
    }
}

impl FromIterator<StringNo> for Strings {
    /// Numbers outside 1 to 8 are left out: no neck has such strings.
    fn from_iter<I: IntoIterator<Item = StringNo>>(strings: I) -> Strings {
        let bits = strings.into_iter().filter(|string| (1..=8).contains(&string.0));
        Strings { bits: bits.fold(0, |bits, string| bits | 1 << (string.0 - 1)) }
    }
}

impl FromStr for Strings {
    type Err = NeckError;

    /// Reads string numbers and ranges, separated by commas, in any order.
    fn from_str(whole: &str) -> Result<Strings> {
        let wrong = || NeckError::Strings { text: quoted(whole) };
        let number = |text: &str| text.parse().ok().filter(|n| (1..=8).contains(n)).ok_or_else(wrong);
        let mut bits = 0;
        for part in whole.split(',') {
            let (one, other) = part.split_once('-').unwrap_or((part, part));
            let (one, other): (u8, u8) = (number(one)?, number(other)?);
            (one.min(other)..=one.max(other)).for_each(|string| bits |= 1 << (string - 1));
        }
        Ok(Strings { bits })
    }
}

impl fmt::Display for Strings {
    /// Writes the set from the lowest-sounding string: `4-2`, `6,4,2`, `3`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let strings: Vec<u8> = self.iter().map(|string| string.0).rev().collect();
        let runs = strings.chunk_by(|a, b| a - b == 1).map(|run| match run {
            [first, .., last] => format!("{first}-{last}"),
            _ => run.iter().map(u8::to_string).collect(),
        });
        f.write_str(&runs.collect::<Vec<_>>().join(","))
    }
}

/// The open strings of a neck without a capo.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tuning {
    /// Starting at string 1.
    open: Vec<(Pitch, MidiKey)>,
}

/// Named tunings, sounding, from the lowest string (scientific pitch notation; common practice, no source).
const NAMED: [(&str, &str); 4] = [
    ("standard", "E2 A2 D3 G3 B3 E4"),
    ("drop-d", "D2 A2 D3 G3 B3 E4"),
    ("fourths", "E2 A2 D3 G3 C4 F4"),
    ("seven-string", "B1 E2 A2 D3 G3 B3 E4"),
];

impl Tuning {
    /// A tuning of these open strings, from the lowest-sounding.
    ///
    /// # Errors
    /// [`NeckError::Tuning`] for fewer than 4 or more than 8 strings, or if a string's highest fret is out of
    /// MIDI's range.
    pub fn new(low_to_high: &[Pitch]) -> Result<Tuning> {
        let open = low_to_high.iter().rev().map(|&pitch| {
            let key = pitch.midi().filter(|key| key.0 + MOST_FRETS < 128)?;
            Some((pitch, key))
        });
        let open: Vec<_> = open.collect::<Option<_>>().ok_or(NeckError::Tuning)?;
        match (4..=8).contains(&open.len()) {
            true => Ok(Tuning { open }),
            false => Err(NeckError::Tuning),
        }
    }

    /// The open strings from the lowest-sounding one, which is usually the last string.
    pub fn open(&self) -> impl ExactSizeIterator<Item = Pitch> {
        self.open.iter().rev().map(|(pitch, _)| *pitch)
    }

    /// Standard tuning: E2 A2 D3 G3 B3 E4.
    pub fn standard() -> Tuning {
        // A test checks that this constant parses; if it didn't, an empty neck would be the honest answer.
        NAMED[0].1.parse().unwrap_or(Tuning { open: Vec::new() })
    }

    /// The names of the named tunings, listed for messages.
    pub fn names() -> String {
        NAMED.map(|(name, _)| format!("`{name}`")).join(", ")
    }
}

impl Default for Tuning {
    fn default() -> Tuning {
        Tuning::standard()
    }
}

impl FromStr for Tuning {
    type Err = NeckError;

    /// Reads a name, such as `standard` or `drop-d`, or the open strings from the lowest.
    fn from_str(text: &str) -> Result<Tuning> {
        let text = NAMED.iter().find(|(name, _)| *name == text).map_or(text, |(_, open)| open);
        let open: std::result::Result<Vec<Pitch>, PitchError> =
            text.split_whitespace().map(str::parse).collect();
        match open {
            Ok(open) => Tuning::new(&open),
            Err(error @ PitchError::Pitch { instead: Some(_), .. }) => Err(error.into()),
            Err(_) => Err(NeckError::Tuning),
        }
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

/// A neck: open strings, frets, a scale length and an optional capo.
///
/// ```
/// use halfbar_core::neck::{Fret, Neck, StringNo};
/// use halfbar_core::pitch::MidiKey;
///
/// let neck = Neck::default();
/// assert_eq!(neck.sounding(StringNo(6), Fret(0)), Some(MidiKey(40)));
/// assert_eq!(neck.sounding(StringNo(3), Fret(23)), None);
/// let higher = neck.sized("24 frets, capo 2")?;
/// assert_eq!(higher.sounding(StringNo(6), Fret(0)), Some(MidiKey(42)));
/// assert_eq!(higher.frets(), 22);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Neck {
    tuning: Tuning,
    /// Counted from the nut.
    frets: u8,
    scale_mm: u16,
    capo: u8,
}

/// The fewest frets a neck may have.
const FEWEST_FRETS: u8 = 12;
pub(crate) const MOST_FRETS: u8 = 36;
/// The shortest and the longest scale length, in mm.
const SCALES_MM: (u16, u16) = (300, 900);
/// The highest fret for a capo.
const HIGHEST_CAPO: u8 = 12;
/// A typical neck; some have 20, 21 or 24 frets. 648 mm is 25.5 inches, a common scale length (common
/// practice, no source).
const USUAL: (u8, u16, u8) = (22, 648, 0);

impl Neck {
    /// A typical neck with these open strings.
    pub fn new(tuning: Tuning) -> Neck {
        let (frets, scale_mm, capo) = USUAL;
        Neck { tuning, frets, scale_mm, capo }
    }

    /// The same open strings on a neck of another size: `24 frets, 628 mm, capo 2`, each part optional.
    ///
    /// # Errors
    /// [`NeckError::Size`], which says what is allowed.
    pub fn sized(&self, text: &str) -> Result<Neck> {
        let mut neck = Neck::new(self.tuning.clone());
        for part in text.split(',') {
            let mut words = part.split_whitespace();
            let (first, second, more) = (words.next(), words.next(), words.next());
            let set = match (first, second, more) {
                (Some(n), Some("frets"), None) => n.parse().ok().map(|n| neck.frets = n),
                (Some(n), Some("mm"), None) => n.parse().ok().map(|n| neck.scale_mm = n),
                (Some("capo"), Some(n), None) => n.parse().ok().map(|n| neck.capo = n),
                _ => None,
            };
            set.ok_or(NeckError::Size)?;
        }
        let sound = (FEWEST_FRETS..=MOST_FRETS).contains(&neck.frets)
            && (SCALES_MM.0..=SCALES_MM.1).contains(&neck.scale_mm)
            && neck.capo <= HIGHEST_CAPO
            && neck.frets - neck.capo >= FEWEST_FRETS;
        if sound { Ok(neck) } else { Err(NeckError::Size) }
    }

    /// What [`Neck::sized`] allows, as one phrase for messages.
    pub fn allowed() -> String {
        let (shortest, longest) = SCALES_MM;
        format!(
            "{FEWEST_FRETS} to {MOST_FRETS} frets, {shortest} to {longest} mm from nut to bridge, and a capo up to fret {HIGHEST_CAPO} with \
             at least {FEWEST_FRETS} frets above it"
        )
    }

    /// The fret the capo is on; 0 if there is none.
    pub fn capo(&self) -> u8 {
        self.capo
    }

    /// The open strings, without the capo.
    pub fn tuning(&self) -> &Tuning {
        &self.tuning
    }

    /// The number of strings.
    pub fn strings(&self) -> u8 {
        u8::try_from(self.tuning.open.len()).unwrap_or(u8::MAX)
    }

    /// The number of frets above the nut or the capo.
    pub fn frets(&self) -> u8 {
        self.frets - self.capo
    }

    /// The key that sounds at a string and fret, if the neck has them.
    pub fn sounding(&self, string: StringNo, fret: Fret) -> Option<MidiKey> {
        let (_, open) = self.tuning.open.get(usize::from(string.0.checked_sub(1)?))?;
        (fret.0 <= self.frets()).then(|| MidiKey(open.0 + self.capo + fret.0))
    }

    /// Every string and fret where `key` sounds, starting at string 1.
    pub fn places(&self, key: MidiKey) -> impl Iterator<Item = (StringNo, Fret)> {
        (1u8..).zip(&self.tuning.open).filter_map(move |(string, (_, open))| {
            let fret = key.0.checked_sub(open.0 + self.capo).filter(|&fret| fret <= self.frets())?;
            Some((StringNo(string), Fret(fret)))
        })
    }

    /// The keys of the lowest open string and of the highest fret.
    pub fn range(&self) -> (MidiKey, MidiKey) {
        let keys = || self.tuning.open.iter().map(|&(_, key)| key.0);
        let (lowest, highest) = (keys().min().unwrap_or(0), keys().max().unwrap_or(0));
        (MidiKey(lowest + self.capo), MidiKey(highest + self.frets))
    }

    /// The distance from the nut or the capo to a fret, in mm. In equal temperament, twelve frets halve the
    /// string.
    pub fn mm(&self, fret: u8) -> f64 {
        /// The twelfth root of 1/2.
        const FRET: f64 = 0.943_874_312_681_693_5;
        let from_nut = |fret: u8| 1.0 - FRET.powi(i32::from(fret));
        f64::from(self.scale_mm) * (from_nut(fret.saturating_add(self.capo)) - from_nut(self.capo))
    }

    /// How the size differs from a typical neck, as [`Neck::sized`] reads it; `None` if it doesn't.
    pub fn size(&self) -> Option<String> {
        let (frets, scale_mm, capo) = USUAL;
        let parts = [
            (self.frets != frets).then(|| format!("{} frets", self.frets)),
            (self.scale_mm != scale_mm).then(|| format!("{} mm", self.scale_mm)),
            (self.capo != capo).then(|| format!("capo {}", self.capo)),
        ];
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join(", "))
    }
}

impl FromStr for Neck {
    type Err = NeckError;

    /// Reads a tuning, a size, or both separated by a comma: `drop-d, 24 frets, capo 2`.
    fn from_str(text: &str) -> Result<Neck> {
        let (first, rest) = text.split_once(',').map_or((text, None), |(first, rest)| (first, Some(rest)));
        match (first.trim().parse(), rest) {
            (Ok(tuning), None) => Ok(Neck::new(tuning)),
            (Ok(tuning), Some(size)) => Neck::new(tuning).sized(size),
            (Err(error @ NeckError::OpenString(_)), _) => Err(error),
            (Err(_), _) => Neck::default().sized(text),
        }
    }
}

impl fmt::Display for Neck {
    /// Writes the form that is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.tuning.fmt(f)?;
        self.size().map_or(Ok(()), |size| write!(f, ", {size}"))
    }
}

impl Default for Neck {
    fn default() -> Neck {
        Neck::new(Tuning::standard())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn neck(tuning: &str) -> Neck {
        Neck::new(tuning.parse().unwrap())
    }

    #[test]
    fn standard_has_six_strings() {
        assert_eq!(Neck::default().strings(), 6);
        assert_eq!(Neck::default().range(), (MidiKey(40), MidiKey(86)));
    }

    #[test]
    fn places_sound_right() {
        let places: Vec<_> = Neck::default().places(MidiKey(64)).map(|(s, f)| (s.0, f.0)).collect();
        assert_eq!(places, [(1, 0), (2, 5), (3, 9), (4, 14), (5, 19)]);
        let capo = Neck::default().sized("capo 3").unwrap();
        let places: Vec<_> = capo.places(MidiKey(64)).map(|(s, f)| (s.0, f.0)).collect();
        assert_eq!(places, [(2, 2), (3, 6), (4, 11), (5, 16)]);
        assert_eq!(capo.range(), (MidiKey(43), MidiKey(86)));
    }

    #[test]
    fn other_tunings() {
        assert_eq!(neck("D2 G2 D3 G3 B3 D4").tuning().to_string(), "D2 G2 D3 G3 B3 D4");
        assert_eq!(
            (neck("D2 A2 D3 G3 B3 E4").tuning().to_string(), neck("drop-d").strings()),
            ("drop-d".into(), 6)
        );
        assert_eq!((neck("seven-string").strings(), neck("seven-string").range().0), (7, MidiKey(35)));
        // All fourths: five half steps from string to string.
        let open: Vec<_> =
            (1..=6).map(|string| neck("fourths").sounding(StringNo(string), Fret(0)).unwrap().0).collect();
        assert!(open.windows(2).all(|pair| pair[0] - pair[1] == 5), "{open:?}");
        assert!("E2 A2 D3".parse::<Tuning>().is_err());
        assert!("E2 A2 D3 G9".parse::<Tuning>().is_err());
        for text in ["E2 A2 D3 fis3 H3 E4", "E2 A2 D3 fis3 H3 E4, 24 frets"] {
            let error = text.parse::<Neck>().unwrap_err();
            assert_eq!(error.to_string(), "`fis3` is not a pitch: write `F#3`");
        }
        assert_eq!("drop d".parse::<Tuning>(), Err(NeckError::Tuning));
    }

    #[test]
    fn sizes_are_read_and_written() {
        let sized = |text: &str| Neck::default().sized(text).map(|neck| neck.size());
        assert_eq!(sized("24 frets, 628 mm, capo 2").unwrap().unwrap(), "24 frets, 628 mm, capo 2");
        assert_eq!(sized("capo 1").unwrap().unwrap(), "capo 1");
        assert_eq!(sized("22 frets").unwrap(), None);
        for wrong in [
            "",
            "11 frets",
            "37 frets",
            "200 mm",
            "capo 13",
            "20 frets, capo 9",
            "22",
            "frets 22",
            "-1 frets",
        ] {
            assert_eq!(sized(wrong), Err(NeckError::Size), "{wrong}");
        }
        // Anything left out is as usual, whatever was set before.
        let again = Neck::default().sized("24 frets").unwrap().sized("capo 2").unwrap();
        assert_eq!(again.size().unwrap(), "capo 2");
        // Half of the string lies above the twelfth fret.
        assert!((Neck::default().mm(12) - 324.0).abs() < 1e-9);
        let from_capo = Neck::default().sized("capo 12, 24 frets").unwrap();
        assert!((from_capo.mm(12) - 162.0).abs() < 1e-9);
    }

    #[test]
    fn necks_are_read_as_they_are_written() {
        for text in ["standard", "drop-d, 24 frets, capo 2", "D2 G2 D3 G3 B3 D4, 628 mm"] {
            assert_eq!(text.parse::<Neck>().unwrap().to_string(), text);
        }
        assert_eq!("capo 2".parse::<Neck>().unwrap().to_string(), "standard, capo 2");
        assert_eq!("standard, 99 frets".parse::<Neck>(), Err(NeckError::Size));
    }

    #[test]
    fn positions_are_roman_or_arabic() {
        for number in 1..=MOST_FRETS {
            let position = Position(number);
            assert_eq!(position.to_string().parse(), Ok(position));
            assert_eq!(number.to_string().parse(), Ok(position));
        }
        let roman = [1, 4, 9, 14, 19, 22].map(|number| Position(number).to_string());
        assert_eq!(roman, ["I", "IV", "IX", "XIV", "XIX", "XXII"]);
        for wrong in ["", "0", "IIII", "37", "v", "5th"] {
            assert!(wrong.parse::<Position>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn sets_of_strings() {
        for (text, written) in
            [("4-2", "4-2"), ("2-4", "4-2"), ("6,4,2", "6,4,2"), ("3", "3"), ("1,2,3,6", "6,3-1")]
        {
            let strings: Strings = text.parse().unwrap();
            assert_eq!(strings.to_string(), written);
        }
        assert!(
            "0-3".parse::<Strings>().is_err()
                && "9".parse::<Strings>().is_err()
                && "".parse::<Strings>().is_err()
        );
        let middle: Strings = "4-2".parse().unwrap();
        assert!(
            middle.contains(StringNo(3)) && !middle.contains(StringNo(1)) && !middle.contains(StringNo(0))
        );
    }
}
