//! Pitch as written ([`Pitch`]) and as sounded ([`MidiKey`]).
//!
//! All pitches are sounding pitches in scientific pitch notation. The staff shows them an octave higher, as
//! guitar music is written.

use std::fmt;
use std::ops::{Add, Neg};
use std::str::FromStr;

use crate::naming::{quoted, remedy};

/// The error for text that isn't a pitch or a pitch name.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PitchError {
    /// Text that isn't a pitch.
    #[error(
        "`{text}` is not a pitch: {}",
        remedy(instead.as_deref(), "a letter A to G, then #, b, ## or bb if needed, and an octave 0 to 9")
    )]
    Pitch {
        /// The text that was read.
        text: String,
        /// What to write instead, if that is clear: `F#3` for `fis3`.
        instead: Option<String>,
    },
    /// Text that isn't a pitch name.
    #[error(
        "`{text}` is not a pitch name: {}",
        remedy(instead.as_deref(), "a letter A to G, then #, b, ## or bb if needed")
    )]
    Name {
        /// The text that was read.
        text: String,
        /// What to write instead, if that is clear: `B` for the German `H`.
        instead: Option<String>,
    },
}

type Result<T> = std::result::Result<T, PitchError>;

/// One of the seven note letters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
#[allow(missing_docs)]
pub enum Letter {
    C,
    D,
    E,
    F,
    G,
    A,
    B,
}

/// How far a letter is altered, in half steps from -2 (double flat) to 2 (double sharp).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash, Default)]
pub struct Alter(i8);

/// A letter with its alteration, in no particular octave, such as a key's tonic or a chord's root.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct PitchName {
    /// The letter.
    pub letter: Letter,
    /// Its sharp or flat, or natural.
    pub alter: Alter,
}

/// A spelled, sounding pitch: E2 is the open sixth string, C4 is middle C (ISO 16: A4 = 440 Hz).
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Pitch {
    /// The letter and its alteration.
    pub name: PitchName,
    /// The octave; each one starts at C.
    pub octave: u8,
}

/// The distance from one pitch up to another, in letters and in half steps; negative for down. The letters
/// preserve the spelling: three half steps are two letters in a minor third and one in an augmented second.
///
/// ```
/// use halfbar_core::pitch::{Interval, Pitch};
///
/// let pitch = |text: &str| text.parse::<Pitch>();
/// let third = Interval::between(pitch("C4")?, pitch("Eb4")?);
/// assert_eq!((third.letters, third.half_steps), (2, 3));
/// assert_eq!(pitch("Ab3")?.transposed(third), Some(pitch("Cb4")?));
/// assert_eq!(pitch("Cb4")?.transposed(-third), Some(pitch("Ab3")?));
/// // There is no triple flat, so the letter changes.
/// assert_eq!(pitch("Cbb4")?.transposed(third), Some(pitch("Db4")?));
/// # Ok::<(), halfbar_core::pitch::PitchError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, Default)]
pub struct Interval {
    /// Letters up.
    pub letters: i32,
    /// Half steps up.
    pub half_steps: i32,
}

/// A key number as MIDI counts them: 60 is C4.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct MidiKey(pub u8);

/// The ways to write an accidental, longer ones first.
const SIGNS: [(&str, i8); 10] = [
    ("##", 2),
    ("\u{266F}\u{266F}", 2),
    ("\u{1D12A}", 2),
    ("bb", -2),
    ("\u{266D}\u{266D}", -2),
    ("\u{1D12B}", -2),
    ("#", 1),
    ("\u{266F}", 1),
    ("b", -1),
    ("\u{266D}", -1),
];

/// `text` with its sharp and flat signs as they are typed.
pub(crate) fn typed(text: &str) -> String {
    let mut typed = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\u{266F}' => typed.push('#'),
            '\u{266D}' => typed.push('b'),
            '\u{1D12A}' => typed.push_str("##"),
            '\u{1D12B}' => typed.push_str("bb"),
            _ => typed.push(letter),
        }
    }
    typed
}

impl Letter {
    /// All letters, starting at C.
    pub const ALL: [Letter; 7] =
        [Letter::C, Letter::D, Letter::E, Letter::F, Letter::G, Letter::A, Letter::B];

    /// The letter for an upper-case character.
    pub fn from_char(char: char) -> Option<Letter> {
        Letter::ALL.into_iter().find(|letter| letter.as_char() == char)
    }

    /// The letter as an upper-case character.
    pub fn as_char(self) -> char {
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
    /// One half step down.
    pub const FLAT: Alter = Alter(-1);
    /// One half step up.
    pub const SHARP: Alter = Alter(1);

    /// Two half steps down.
    pub(crate) const DOUBLE_FLAT: Alter = Alter(-2);

    /// At most a single accidental.
    pub(crate) const PLAIN: [Alter; 3] = [Alter::FLAT, Alter::NATURAL, Alter::SHARP];

    /// The alteration by this many half steps; `None` outside -2 to 2.
    pub fn new(half_steps: i8) -> Option<Alter> {
        (-2..=2).contains(&half_steps).then_some(Alter(half_steps))
    }

    /// Half steps up; negative for down.
    pub fn half_steps(self) -> i8 {
        self.0
    }

    /// Splits a leading accidental off `text`, typed or as a musical sign, and returns it with the rest.
    pub(crate) fn split_from(text: &str) -> (Alter, &str) {
        SIGNS
            .into_iter()
            .find_map(|(sign, half_steps)| text.strip_prefix(sign).map(|rest| (Alter(half_steps), rest)))
            .unwrap_or((Alter::NATURAL, text))
    }
}

impl Interval {
    /// The letters and half steps in an octave.
    const OCTAVE: (i32, i32) = (7, 12);

    /// Whole octaves up; negative for down.
    pub fn octaves(octaves: i32) -> Interval {
        let (letters, half_steps) = Interval::OCTAVE;
        Interval { letters: letters.saturating_mul(octaves), half_steps: half_steps.saturating_mul(octaves) }
    }

    /// The interval from `from` up to `to`.
    pub fn between(from: Pitch, to: Pitch) -> Interval {
        to.height() + -from.height()
    }

    /// The name and octave at this height above C0. Where that would take more than a double accidental, it
    /// is respelled with as few accidentals as possible, then on the nearest letter.
    fn above_c0(self) -> (PitchName, i32) {
        let Interval { letters, half_steps } = self;
        let (a_letter, an_octave) = Interval::OCTAVE;
        let spelled = |letters: i32| {
            let (octave, letter) =
                (letters.div_euclid(a_letter), Letter::ALL[letters.rem_euclid(a_letter) as usize]);
            let natural = octave.saturating_mul(an_octave).saturating_add(letter.half_steps().into());
            let alter = Alter::new(i8::try_from(half_steps.saturating_sub(natural)).ok()?)?;
            Some((PitchName { letter, alter }, octave))
        };
        // Every key is at most one accidental away from a letter this near.
        let about = half_steps.saturating_mul(a_letter).div_euclid(an_octave);
        let respelled = || {
            let near = (-2..=2).map(|more| about.saturating_add(more));
            let ways = near.filter_map(|other| Some((letters.abs_diff(other), spelled(other)?)));
            ways.min_by_key(|(far, (name, _))| (name.alter.0.abs(), *far)).map(|(_, way)| way)
        };
        spelled(letters).or_else(respelled).unwrap_or((Letter::C.into(), i32::MAX))
    }
}

impl Add for Interval {
    type Output = Interval;
    fn add(self, more: Interval) -> Interval {
        Interval {
            letters: self.letters.saturating_add(more.letters),
            half_steps: self.half_steps.saturating_add(more.half_steps),
        }
    }
}

impl Neg for Interval {
    type Output = Interval;
    fn neg(self) -> Interval {
        Interval { letters: self.letters.saturating_neg(), half_steps: self.half_steps.saturating_neg() }
    }
}

impl Pitch {
    /// A pitch from its parts.
    pub fn new(letter: Letter, alter: Alter, octave: u8) -> Pitch {
        Pitch { name: PitchName { letter, alter }, octave }
    }

    /// The key that sounds, if it is in MIDI's range.
    ///
    /// ```
    /// use halfbar_core::pitch::{MidiKey, Pitch};
    ///
    /// let pitch: Pitch = "Bb3".parse()?;
    /// assert_eq!(pitch.midi(), Some(MidiKey(58)));
    /// let wrong = "H3".parse::<Pitch>().unwrap_err();
    /// assert_eq!(wrong.to_string(), "`H3` is not a pitch: write `B3`");
    /// # Ok::<(), halfbar_core::pitch::PitchError>(())
    /// ```
    pub fn midi(self) -> Option<MidiKey> {
        let Pitch { name, octave } = self;
        let key = (i16::from(octave) + 1) * 12 + name.letter.half_steps() + i16::from(name.alter.0);
        u8::try_from(key).ok().filter(|&key| key < 128).map(MidiKey)
    }

    /// Letters above C0: the vertical position on a staff, whatever the accidental.
    pub fn diatonic(self) -> i16 {
        i16::from(self.octave) * 7 + self.name.letter as i16
    }

    /// The highest octave that text can name.
    const HIGHEST: i32 = 9;

    /// The pitch an interval above this one, spelled as the interval says. Where that would take more than a
    /// double accidental, it is respelled with as few accidentals as possible. `None` outside octaves 0 to 9.
    pub fn transposed(self, interval: Interval) -> Option<Pitch> {
        let (name, octave) = (self.height() + interval).above_c0();
        let octave = u8::try_from(octave).ok().filter(|_| octave <= Pitch::HIGHEST)?;
        Some(Pitch { name, octave })
    }

    /// The same sound with at most one accidental; unchanged if it has no more.
    pub(crate) fn without_double_accidental(self) -> Option<Pitch> {
        self.renamed(if self.name.alter.0.abs() > 1 { self.name.simplest() } else { self.name })
    }

    /// The same sound by another name, on this letter or a neighboring one.
    pub(crate) fn renamed(self, name: PitchName) -> Option<Pitch> {
        let letters = (name.letter as i32 - self.name.letter as i32 + 1).rem_euclid(7) - 1;
        self.transposed(Interval { letters, half_steps: 0 })
    }

    /// Its height above C0.
    fn height(self) -> Interval {
        Interval::octaves(self.octave.into()) + self.name.above_c()
    }

    /// The pitch of this name that is nearest to `before` by letter: at most a fourth up or down. `None`
    /// below octave 0.
    pub fn nearest(name: PitchName, before: Pitch) -> Option<Pitch> {
        // The distances -3 to 3 all differ modulo 7, so exactly one fits.
        let up = (name.letter as i16 - before.name.letter as i16 + 3).rem_euclid(7) - 3;
        let octave = (before.diatonic() + up).div_euclid(7);
        u8::try_from(octave).ok().map(|octave| Pitch { name, octave })
    }
}

impl From<Letter> for PitchName {
    /// The natural of this letter.
    fn from(letter: Letter) -> PitchName {
        PitchName { letter, alter: Alter::NATURAL }
    }
}

impl FromStr for PitchName {
    type Err = PitchError;

    /// Reads `C`, `F#`, `Bb` or `Abb`.
    fn from_str(text: &str) -> Result<PitchName> {
        match PitchName::split_from(text) {
            Some((name, "")) => Ok(name),
            _ => {
                let instead = PitchName::meant_by(text).map(|name| name.to_string());
                Err(PitchError::Name { text: quoted(text), instead })
            }
        }
    }
}

impl PitchName {
    /// The name an interval above this one: like [`Pitch::transposed`], in no particular octave.
    pub fn transposed(self, interval: Interval) -> PitchName {
        (self.above_c() + interval).above_c0().0
    }

    /// Half steps above C. Names that sound the same may differ by octaves here: compare modulo 12.
    pub(crate) fn pitch_class(self) -> i32 {
        self.above_c().half_steps
    }

    /// The enharmonic name with the fewest accidentals; unchanged if none has fewer.
    pub(crate) fn simplest(self) -> PitchName {
        self.enharmonics()
            .fold(self, |best, way| if way.alter.0.abs() < best.alter.0.abs() { way } else { best })
    }

    /// This name and those on the next letters that sound the same, its own first.
    pub(crate) fn enharmonics(self) -> impl Iterator<Item = PitchName> {
        [0, -1, 1].into_iter().map(move |letters| self.transposed(Interval { letters, half_steps: 0 }))
    }

    /// Its height above the C below its letter.
    fn above_c(self) -> Interval {
        let half_steps = i32::from(self.letter.half_steps()) + i32::from(self.alter.0);
        Interval { letters: self.letter as i32, half_steps }
    }

    /// The names that `text` may start with if it uses German, Dutch or Latin names, words or lowercase letters,
    /// such as `fis`, `Bes`, `H`, `mi`, `B flat` or `eb`, each with the rest of the text.
    pub(crate) fn meant(text: &str) -> impl Iterator<Item = (PitchName, &str)> {
        /// After any letter, and after a vowel, where `es` loses its `e`.
        const ENDINGS: [(&str, i8); 6] =
            [("isis", 2), ("is", 1), ("eses", -2), ("es", -1), ("sharp", 1), ("flat", -1)];
        const AFTER_VOWEL: [(&str, i8); 2] = [("ses", -2), ("s", -1)];
        const LATIN: [(&str, Letter); 9] = [
            ("do", Letter::C),
            ("ut", Letter::C),
            ("re", Letter::D),
            ("mi", Letter::E),
            ("fa", Letter::F),
            ("sol", Letter::G),
            ("la", Letter::A),
            ("si", Letter::B),
            ("ti", Letter::B),
        ];
        let signed = |letter, text| {
            let (alter, rest) = Alter::split_from(text);
            (PitchName { letter, alter }, rest)
        };
        let mut letters = text.chars();
        let letter = match letters.next().map(|letter| letter.to_ascii_uppercase()) {
            Some('H') => Some(Letter::B),
            letter => letter.and_then(Letter::from_char),
        };
        let rest = letters.as_str();
        let by_letter = letter.into_iter().flat_map(move |letter| {
            let shortened: &[_] = if matches!(letter, Letter::A | Letter::E) { &AFTER_VOWEL } else { &[] };
            let word = rest.trim_start_matches([' ', '-']);
            let ended = ENDINGS.iter().chain(shortened).filter_map(move |&(ending, half_steps)| {
                Some((PitchName { letter, alter: Alter(half_steps) }, word.strip_prefix(ending)?))
            });
            ended.chain([signed(letter, rest)])
        });
        let by_syllable = LATIN.into_iter().filter_map(move |(syllable, letter)| {
            let (start, rest) = text.split_at_checked(syllable.len())?;
            start.eq_ignore_ascii_case(syllable).then(|| signed(letter, rest))
        });
        by_letter.chain(by_syllable)
    }

    /// The name that the whole of `text` may stand for, by the rules of [`PitchName::meant`].
    pub(crate) fn meant_by(text: &str) -> Option<PitchName> {
        PitchName::meant(text).find(|(_, rest)| rest.is_empty()).map(|(name, _)| name)
    }

    /// Splits a leading pitch name off `text`, and returns it with the rest.
    pub(crate) fn split_from(text: &str) -> Option<(PitchName, &str)> {
        let mut letters = text.chars();
        let letter = Letter::from_char(letters.next()?)?;
        let (alter, rest) = Alter::split_from(letters.as_str());
        Some((PitchName { letter, alter }, rest))
    }
}

impl FromStr for Pitch {
    type Err = PitchError;

    /// Reads a name and an octave: `F#4`.
    fn from_str(text: &str) -> Result<Pitch> {
        let whole = |(name, octave): (PitchName, &str)| match octave.as_bytes() {
            [digit @ b'0'..=b'9'] => Some(Pitch { name, octave: digit - b'0' }),
            _ => None,
        };
        PitchName::split_from(text).and_then(whole).ok_or_else(|| {
            let instead = PitchName::meant(text).find_map(whole).map(|pitch| pitch.to_string());
            PitchError::Pitch { text: quoted(text), instead }
        })
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
        write!(f, "{}{}", self.letter.as_char(), self.alter)
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
    /// Writes the name with sharps: `F#3`. Keys below C0 are in octave -1.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
        write!(f, "{}{}", names[usize::from(self.0 % 12)], i16::from(self.0 / 12) - 1)
    }
}

/// How far a pitch lies outside a range, and in which octave it would lie inside, as the end of a sentence.
pub(crate) fn beyond(pitch: Pitch, lowest: MidiKey, highest: MidiKey) -> String {
    let half_steps = |by: u8, way: &str| {
        let octaves = i32::from(by.div_ceil(12)) * if way == "low" { 1 } else { -1 };
        let inside = |pitch: &Pitch| pitch.midi().is_some_and(|key| (lowest..=highest).contains(&key));
        let other = pitch.transposed(Interval::octaves(octaves)).filter(inside);
        let could = other.map(|other| format!("; {other} is on it")).unwrap_or_default();
        format!(": {by} half step{} too {way}{could}", if by == 1 { "" } else { "s" })
    };
    match pitch.midi() {
        Some(key) if key < lowest => half_steps(lowest.0 - key.0, "low"),
        Some(key) if key > highest => half_steps(key.0 - highest.0, "high"),
        // In a gap between the strings, or outside MIDI's range.
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pitch(text: &str) -> Pitch {
        text.parse().unwrap()
    }

    #[test]
    fn accidentals_are_typed_or_signs() {
        for (text, typed) in [
            ("B♭3", "Bb3"),
            ("F♯4", "F#4"),
            ("C𝄪5", "C##5"),
            ("E𝄫2", "Ebb2"),
            ("D♭♭2", "Dbb2"),
            ("G♯♯2", "G##2"),
        ] {
            assert_eq!(
                (pitch(text).to_string(), super::typed(text).parse()),
                (typed.into(), Ok(pitch(typed)))
            );
        }
    }

    /// German, Dutch and Latin names: common practice, no source.
    #[test]
    fn names_that_are_meant() {
        for (text, meant) in [
            ("fis", "F#"),
            ("cis", "C#"),
            ("Bes", "Bb"),
            ("es", "Eb"),
            ("As", "Ab"),
            ("ases", "Abb"),
            ("fisis", "F##"),
            ("ceses", "Cbb"),
            ("H", "B"),
            ("his", "B#"),
            ("eb", "Eb"),
            ("g", "G"),
            ("B flat", "Bb"),
            ("E-flat", "Eb"),
            ("fsharp", "F#"),
            ("A sharp", "A#"),
            ("Do", "C"),
            ("sib", "Bb"),
            ("fa#", "F#"),
            ("SOL", "G"),
        ] {
            let error = PitchError::Name { text: text.into(), instead: Some(meant.into()) };
            assert_eq!(text.parse::<PitchName>(), Err(error), "{text}");
            let error = PitchError::Pitch { text: format!("{text}3"), instead: Some(format!("{meant}3")) };
            assert_eq!(format!("{text}3").parse::<Pitch>(), Err(error), "{text}");
        }
        for text in ["", "x", "is", "fes3", "bs", "sus", "dos", "é"] {
            let error = PitchError::Name { text: text.into(), instead: None };
            assert_eq!(text.parse::<PitchName>(), Err(error), "{text}");
        }
        for text in ["F", "fis", "F10", "do"] {
            let error = PitchError::Pitch { text: text.into(), instead: None };
            assert_eq!(text.parse::<Pitch>(), Err(error), "{text}");
        }
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
    fn intervals_keep_the_spelling() {
        for (from, letters, half_steps, to) in [
            ("C4", 2, 3, "Eb4"),
            ("C4", 1, 3, "D#4"),
            ("B3", 0, 1, "B#3"),
            ("F#4", 4, 7, "C#5"),
            ("C4", -1, -1, "B3"),
            ("Bb3", -3, -6, "Fb3"),
            ("G#3", 7, 12, "G#4"),
            // A third accidental: the fewest accidentals, then the nearest letter.
            ("B##3", 0, 1, "D4"),
            ("C##4", 0, 1, "D#4"),
            ("Dbb4", 0, -1, "B3"),
            ("Abb4", 0, -1, "Gb4"),
            ("C4", 0, 6, "F#4"),
            ("C4", 5, 6, "Gb4"),
        ] {
            let interval = Interval { letters, half_steps };
            assert_eq!(pitch(from).transposed(interval), Some(pitch(to)), "{from} {interval:?}");
        }
    }

    #[test]
    fn intervals_out_of_reach() {
        assert_eq!(pitch("B9").transposed(Interval { letters: 1, half_steps: 1 }), None);
        assert_eq!(pitch("C0").transposed(Interval { letters: -1, half_steps: -1 }), None);
        for far in [i32::MIN, i32::MAX] {
            assert_eq!(pitch("C4").transposed(Interval { letters: far, half_steps: far }), None);
            assert_eq!(pitch("C4").transposed(-Interval { letters: 0, half_steps: far }), None);
            assert_eq!(
                Interval::octaves(far) + Interval::octaves(far),
                Interval { letters: far, half_steps: far }
            );
        }
    }

    #[test]
    fn simplest_names() {
        for (name, simplest) in [
            ("Dbb", "C"),
            ("Fbb", "Eb"),
            ("E##", "F#"),
            ("Cb", "B"),
            ("Db", "Db"),
            ("G#", "G#"),
            ("B##", "C#"),
        ] {
            assert_eq!(name.parse::<PitchName>().unwrap().simplest().to_string(), simplest, "{name}");
        }
    }

    #[test]
    fn edges_of_midi() {
        assert_eq!(pitch("C4").midi(), Some(MidiKey(60)));
        assert_eq!(pitch("Cb0").midi(), Some(MidiKey(11)));
        assert_eq!(pitch("G9").midi(), Some(MidiKey(127)));
        assert_eq!(pitch("G#9").midi(), None);
    }
}
