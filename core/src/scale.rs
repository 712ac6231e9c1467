//! Scales: a tonic and a kind, and where pitches lie in them.

use std::fmt;
use std::hash::{Hash, Hasher};
use std::str::FromStr;

use crate::naming::{quoted, remedy};
use crate::pitch::{Interval, Pitch, PitchName, typed};

/// The error for a scale that can't be read or spelled.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ScaleError {
    /// Text that isn't a scale.
    #[error(
        "`{text}` is not a scale: {}",
        remedy(instead.as_deref(), &format!("a tonic, such as `Eb`, and one of {}", ScaleKind::allowed()))
    )]
    Unknown {
        /// The text that was read.
        text: String,
        /// What to write instead, if that is clear: `Eb dorian` for `Es dorian`.
        instead: Option<String>,
    },
    /// A scale on a tonic where a letter would need a triple accidental.
    #[error("`{scale}` would need a triple sharp or flat: write `{instead}`")]
    Spelling {
        /// The scale.
        scale: String,
        /// The same sounds on a tonic with fewer accidentals.
        instead: String,
    },
}

type Result<T> = std::result::Result<T, ScaleError>;

/// A scale whose tones are all spelled with at most a double accidental.
///
/// ```
/// use halfbar_core::scale::Scale;
///
/// let scale: Scale = "Bb dorian".parse()?;
/// let names: Vec<_> = scale.degrees().map(|name| name.to_string()).collect();
/// assert_eq!(names, ["Bb", "C", "Db", "Eb", "F", "G", "Ab"]);
/// assert_eq!("e Half-Whole Diminished".parse::<Scale>()?.to_string(), "E half-whole diminished");
/// let wrong = "Bb doric".parse::<Scale>().unwrap_err();
/// assert!(wrong.to_string().starts_with("`Bb doric` is not a scale: write a tonic, such as `Eb`, and one of major, dorian, "));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Scale {
    tonic: PitchName,
    kind: &'static ScaleKind,
}

/// What scales of the same kind have in common, whatever the tonic.
#[derive(Debug)]
pub struct ScaleKind {
    /// Its names, the usual one first.
    names: &'static [&'static str],
    /// How many letters each tone lies above the tonic, from 0.
    letters: &'static [u8],
    /// How many half steps each tone lies above the tonic, from 0.
    half_steps: &'static [u8],
}

/// A pitch as a place in a scale.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Tone {
    /// The tone of the scale, counted up through all octaves; 0 is the tonic in octave 0.
    pub index: i32,
    /// How far the pitch lies from that tone; zero if it sounds as a tone of the scale.
    pub beside: Interval,
}

/// One letter for each of seven tones.
const EACH: &[u8] = &[0, 1, 2, 3, 4, 5, 6];

/// All kinds, in the order they are offered. Names and spellings are common practice, no source. A mode has
/// one tone per letter, and so does the altered scale: C altered is C Db Eb Fb Gb Ab Bb, the seventh mode of
/// Db melodic minor. Eight-tone scales use one letter twice. The minor 6 pentatonic is 1 b3 4 5 6, the
/// major b6 pentatonic 1 2 3 5 b6 (common practice, no source).
#[rustfmt::skip]
static KINDS: [ScaleKind; 28] = [
    ScaleKind::new(&["major", "ionian"], EACH, &[0, 2, 4, 5, 7, 9, 11]),
    ScaleKind::new(&["dorian"], EACH, &[0, 2, 3, 5, 7, 9, 10]),
    ScaleKind::new(&["phrygian"], EACH, &[0, 1, 3, 5, 7, 8, 10]),
    ScaleKind::new(&["lydian"], EACH, &[0, 2, 4, 6, 7, 9, 11]),
    ScaleKind::new(&["mixolydian"], EACH, &[0, 2, 4, 5, 7, 9, 10]),
    ScaleKind::new(&["natural minor", "aeolian", "minor"], EACH, &[0, 2, 3, 5, 7, 8, 10]),
    ScaleKind::new(&["locrian"], EACH, &[0, 1, 3, 5, 6, 8, 10]),
    // As in jazz: the ascending form in both directions.
    ScaleKind::new(&["melodic minor", "jazz minor"], EACH, &[0, 2, 3, 5, 7, 9, 11]),
    ScaleKind::new(&["dorian b2", "phrygian natural 6"], EACH, &[0, 1, 3, 5, 7, 9, 10]),
    ScaleKind::new(&["lydian augmented", "lydian #5"], EACH, &[0, 2, 4, 6, 8, 9, 11]),
    ScaleKind::new(&["lydian dominant", "lydian b7", "mixolydian #4", "mixolydian #11"], EACH, &[0, 2, 4, 6, 7, 9, 10]),
    ScaleKind::new(&["mixolydian b6", "mixolydian b13"], EACH, &[0, 2, 4, 5, 7, 8, 10]),
    ScaleKind::new(&["locrian natural 2", "locrian #2", "aeolian b5"], EACH, &[0, 2, 3, 5, 6, 8, 10]),
    ScaleKind::new(&["altered", "super locrian"], EACH, &[0, 1, 3, 4, 6, 8, 10]),
    ScaleKind::new(&["harmonic minor"], EACH, &[0, 2, 3, 5, 7, 8, 11]),
    ScaleKind::new(&["locrian natural 6", "locrian #6"], EACH, &[0, 1, 3, 5, 6, 9, 10]),
    ScaleKind::new(&["ionian #5", "ionian augmented", "major #5"], EACH, &[0, 2, 4, 5, 8, 9, 11]),
    ScaleKind::new(&["dorian #4", "dorian #11"], EACH, &[0, 2, 3, 6, 7, 9, 10]),
    ScaleKind::new(&["phrygian dominant", "mixolydian b9 b13"], EACH, &[0, 1, 4, 5, 7, 8, 10]),
    ScaleKind::new(&["lydian #2", "lydian #9"], EACH, &[0, 3, 4, 6, 7, 9, 11]),
    ScaleKind::new(&["altered bb7", "super locrian bb7"], EACH, &[0, 1, 3, 4, 6, 8, 9]),
    ScaleKind::new(&["major pentatonic"], &[0, 1, 2, 4, 5], &[0, 2, 4, 7, 9]),
    ScaleKind::new(&["minor pentatonic"], &[0, 2, 3, 4, 6], &[0, 3, 5, 7, 10]),
    ScaleKind::new(&["minor 6 pentatonic"], &[0, 2, 3, 4, 5], &[0, 3, 5, 7, 9]),
    ScaleKind::new(&["major b6 pentatonic"], &[0, 1, 2, 4, 5], &[0, 2, 4, 7, 8]),
    ScaleKind::new(&["half-whole diminished", "half-whole", "dominant diminished"], &[0, 1, 2, 2, 3, 4, 5, 6], &[0, 1, 3, 4, 6, 7, 9, 10]),
    ScaleKind::new(&["whole-half diminished", "whole-half", "diminished"], &[0, 1, 2, 3, 4, 5, 5, 6], &[0, 2, 3, 5, 6, 8, 9, 11]),
    ScaleKind::new(&["whole tone"], &[0, 1, 2, 3, 4, 6], &[0, 2, 4, 6, 8, 10]),
];

/// There is one of each kind, so that comparing them is comparing addresses.
impl PartialEq for ScaleKind {
    fn eq(&self, other: &ScaleKind) -> bool {
        std::ptr::eq(self, other)
    }
}

impl Eq for ScaleKind {}

impl Hash for ScaleKind {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.name().hash(state);
    }
}

impl ScaleKind {
    const fn new(
        names: &'static [&'static str],
        letters: &'static [u8],
        half_steps: &'static [u8],
    ) -> ScaleKind {
        assert!(letters.len() == half_steps.len(), "a letter for each tone");
        ScaleKind { names, letters, half_steps }
    }

    /// Every kind, in the order they are offered.
    pub fn all() -> &'static [ScaleKind] {
        &KINDS
    }

    /// Its usual name.
    pub fn name(&self) -> &'static str {
        self.names[0]
    }

    /// All its names, the usual one first.
    pub fn names(&self) -> &'static [&'static str] {
        self.names
    }

    /// The kind with exactly this usual name.
    pub(crate) fn usual(name: &str) -> Option<&'static ScaleKind> {
        KINDS.iter().find(|kind| kind.name() == name)
    }

    /// The kind with this name. Case, hyphens and extra spaces don't matter.
    pub fn named(name: &str) -> Option<&'static ScaleKind> {
        let words = |text: &str| -> Vec<String> {
            let words = text.split([' ', '\t', '-']).filter(|word| !word.is_empty());
            words.map(str::to_lowercase).collect()
        };
        let wanted = words(&typed(name));
        KINDS.iter().find(|kind| kind.names.iter().any(|name| words(name) == wanted))
    }

    /// The usual names of all kinds, listed for messages.
    pub(crate) fn allowed() -> String {
        KINDS.each_ref().map(ScaleKind::name).join(", ")
    }

    /// The number of tones in an octave.
    fn tones(&self) -> i32 {
        self.letters.iter().fold(0, |count, _| count + 1)
    }

    /// How far each tone lies above the tonic.
    fn intervals(&self) -> impl Iterator<Item = Interval> {
        let tones = self.letters.iter().zip(self.half_steps);
        tones.map(|(&letters, &half_steps)| Interval {
            letters: letters.into(),
            half_steps: half_steps.into(),
        })
    }
}

impl Scale {
    /// The scale of this kind on this tonic.
    ///
    /// # Errors
    /// [`ScaleError::Spelling`] if a tone would need more than a double accidental, as in `Cb altered bb7`;
    /// the error says what to write instead.
    pub fn new(tonic: PitchName, kind: &'static ScaleKind) -> Result<Scale> {
        let spelled = |tonic: PitchName| {
            kind.intervals().zip(kind.letters).all(|(interval, &letters)| {
                let tone = tonic.transposed(interval);
                (tonic.letter as i32 + i32::from(letters)) % 7 == tone.letter as i32
            })
        };
        match spelled(tonic) {
            true => Ok(Scale { tonic, kind }),
            false => Err(ScaleError::Spelling {
                scale: Scale { tonic, kind }.to_string(),
                instead: Scale { tonic: tonic.simplest(), kind }.to_string(),
            }),
        }
    }

    /// The tonic.
    pub fn tonic(self) -> PitchName {
        self.tonic
    }

    /// The kind.
    pub fn kind(self) -> &'static ScaleKind {
        self.kind
    }

    /// Its tones from the tonic up, through one octave.
    pub fn degrees(self) -> impl Iterator<Item = PitchName> {
        self.kind.intervals().map(move |interval| self.tonic.transposed(interval))
    }

    /// The degree with this number, counted from 1, the tonic; `None` for 0 and past the last tone of an
    /// octave.
    pub fn degree(self, number: usize) -> Option<PitchName> {
        self.degrees().nth(number.checked_sub(1)?)
    }

    /// Locates a pitch in the scale. A pitch that sounds as a tone of the scale is that tone, however it is
    /// spelled. Any other pitch belongs to the nearest tone; if two are equally near, to the one with its own
    /// letter, or else to the lower one.
    ///
    /// ```
    /// use halfbar_core::pitch::Pitch;
    /// use halfbar_core::scale::{Scale, Tone};
    ///
    /// let scale: Scale = "C major".parse()?;
    /// let moved = |pitch: &str, steps: i32| {
    ///     let tone = scale.place(pitch.parse()?);
    ///     let moved = scale.pitch(Tone { index: tone.index + steps, ..tone });
    ///     Ok::<_, halfbar_core::Error>(moved.unwrap().to_string())
    /// };
    /// assert_eq!((moved("B3", 1)?, moved("C4", -9)?), ("C4".into(), "A2".into()));
    /// // C sharp is an altered C, and D flat an altered D.
    /// assert_eq!((moved("C#4", 1)?, moved("Db4", 1)?), ("D#4".into(), "Eb4".into()));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn place(self, pitch: Pitch) -> Tone {
        let above = Interval::between(self.lowest(), pitch);
        let first = above.half_steps.div_euclid(12) * self.kind.tones();
        let tone = |index| Tone { index, beside: above + -self.above_lowest(index) };
        let cost = |tone: &Tone| (tone.beside.half_steps.abs(), tone.beside.letters != 0);
        // The first of the best is the lowest.
        let best = (first + 1..=first + self.kind.tones())
            .map(tone)
            .fold(tone(first), |best, other| if cost(&other) < cost(&best) { other } else { best });
        match best.beside.half_steps {
            0 => Tone { beside: Interval::default(), ..best },
            _ => best,
        }
    }

    /// The pitch at a place in the scale. One that sounds as a tone of the scale is spelled as that tone; any
    /// other has no double accidental. `None` outside octaves 0 to 9. After [`Scale::place`], the result
    /// sounds the same as the original pitch.
    pub fn pitch(self, tone: Tone) -> Option<Pitch> {
        let at = |tone: Tone| self.lowest().transposed(self.above_lowest(tone.index) + tone.beside);
        let pitch = at(tone)?;
        match self.place(pitch) {
            own if own.beside.half_steps == 0 => at(own),
            _ => pitch.without_double_accidental(),
        }
    }

    /// The tonic in octave 0.
    fn lowest(self) -> Pitch {
        Pitch { name: self.tonic, octave: 0 }
    }

    /// How far a tone lies above the tonic in octave 0.
    fn above_lowest(self, index: i32) -> Interval {
        let (octaves, degree) = (index.div_euclid(self.kind.tones()), index.rem_euclid(self.kind.tones()));
        let interval = self.kind.intervals().nth(degree as usize).unwrap_or_default();
        interval + Interval::octaves(octaves)
    }
}

impl FromStr for Scale {
    type Err = ScaleError;

    /// Reads a tonic and the name of a kind, in upper or lower case.
    fn from_str(text: &str) -> Result<Scale> {
        let wrong = |instead| ScaleError::Unknown { text: quoted(text), instead };
        let (tonic, kind) = text.trim().split_once(char::is_whitespace).ok_or_else(|| wrong(None))?;
        let mut signs = tonic.chars();
        let letter = signs.next().map(|letter| letter.to_ascii_uppercase());
        let tonic: String = letter.into_iter().chain(signs.map(|sign| sign.to_ascii_lowercase())).collect();
        let kind = ScaleKind::named(kind).ok_or_else(|| wrong(None))?;
        match tonic.parse() {
            Ok(tonic) => Scale::new(tonic, kind),
            Err(_) => {
                let meant = PitchName::meant_by(&tonic).and_then(|tonic| Scale::new(tonic, kind).ok());
                Err(wrong(meant.map(|scale| scale.to_string())))
            }
        }
    }
}

impl fmt::Display for Scale {
    /// Writes the form that is read: `Bb dorian`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.tonic, self.kind.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::{Alter, Letter};

    fn scale(text: &str) -> Scale {
        text.parse().unwrap()
    }

    fn pitch(text: &str) -> Pitch {
        text.parse().unwrap()
    }

    /// Every kind on every tonic that can be named, or an error if it can't be spelled.
    fn scales() -> impl Iterator<Item = Result<Scale>> {
        let alters = (-2..=2).filter_map(Alter::new);
        let tonics = alters.flat_map(|alter| Letter::ALL.map(|letter| PitchName { letter, alter }));
        tonics.flat_map(|tonic| ScaleKind::all().iter().map(move |kind| Scale::new(tonic, kind)))
    }

    #[test]
    fn tones_rise_within_an_octave() {
        for kind in ScaleKind::all() {
            for tones in [kind.half_steps, kind.letters] {
                assert!(tones[0] == 0 && tones.is_sorted(), "{kind:?}");
            }
            assert!(kind.half_steps.windows(2).all(|pair| pair[0] < pair[1]), "{kind:?}");
            assert!(kind.half_steps.iter().all(|&tone| tone < 12), "{kind:?}");
        }
    }

    #[test]
    fn names_are_read_and_written() {
        let mut names: Vec<_> = ScaleKind::all().iter().flat_map(ScaleKind::names).collect();
        let count = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), count, "a name that means two kinds");
        for kind in ScaleKind::all() {
            for name in kind.names() {
                let read = scale(&format!(" bB  {} ", name.to_uppercase()));
                assert_eq!((read.kind(), read.tonic().to_string()), (kind, "Bb".into()), "{name}");
            }
        }
        for scale in scales().flatten() {
            assert_eq!(scale.to_string().parse(), Ok(scale));
        }
        for (wrong, instead) in [
            ("", None),
            ("C", None),
            ("major", None),
            ("H major", Some("B major")),
            ("fis dorian", Some("F# dorian")),
            ("Es mixolydian", Some("Eb mixolydian")),
            ("C doric", None),
            ("Cbbb major", None),
            ("C major minor", None),
            ("é dorian", None),
        ] {
            let error = ScaleError::Unknown { text: wrong.into(), instead: instead.map(String::from) };
            assert_eq!(wrong.parse::<Scale>(), Err(error));
        }
        assert_eq!(scale("E♭ dorian ♭2"), scale("Eb dorian b2"));
    }

    #[test]
    fn another_tonic_is_named_where_signs_run_out() {
        let error = "Cb altered bb7".parse::<Scale>().unwrap_err().to_string();
        assert!(error.ends_with("write `B altered bb7`"), "{error}");
        for scale in scales() {
            if let Err(error) = scale {
                let ScaleError::Spelling { instead, .. } = error else { panic!("{error}") };
                assert!(instead.parse::<Scale>().is_ok(), "{instead}");
            }
        }
    }

    #[test]
    fn degrees_count_from_one() {
        let altered = scale("C altered");
        assert_eq!(altered.degree(4).unwrap().to_string(), "Fb");
        assert_eq!((altered.degree(0), altered.degree(8)), (None, None));
        assert_eq!(scale("C half-whole").degree(8).unwrap().to_string(), "Bb");
    }

    #[test]
    fn other_pitches_hang_on_a_tone() {
        let moved = |text: &str, from: &str, steps: i32| {
            let (scale, from) = (scale(text), pitch(from));
            let tone = scale.place(from);
            scale.pitch(Tone { index: tone.index + steps, ..tone }).unwrap().to_string()
        };
        for (scale, from, steps, to) in [
            // Equally near to C and D: its own letter decides.
            ("C major", "C#4", 3, "F#4"),
            ("C major", "Db4", 3, "Gb4"),
            ("C major", "D#4", 3, "G#4"),
            ("C major", "Eb4", 3, "Ab4"),
            // Nearer to E flat than to C, and no tone has the letter D.
            ("C minor pentatonic", "D4", 1, "E4"),
            // A half step below the leading tone.
            ("C harmonic minor", "A#3", 1, "B3"),
            // Equally near to D flat and E flat.
            ("C half-whole diminished", "D4", 1, "E4"),
            // What ends up sounding as a tone is spelled as one.
            ("C major", "D#4", 1, "F4"),
            ("C major", "Eb4", 1, "E4"),
            // It sounds as a tone of the scale.
            ("Gb major", "B3", 1, "Db4"),
            ("Gb major", "B3", 0, "Cb4"),
            ("Cb major", "Cb4", -7, "Cb3"),
            ("B# locrian", "B#3", 1, "C#4"),
        ] {
            assert_eq!(moved(scale, from, steps), to, "{scale} {from} {steps}");
        }
    }

    #[test]
    fn a_place_sounds_as_its_pitch() {
        for scale in scales().flatten() {
            for (step, octave, alter) in Letter::ALL
                .into_iter()
                .flat_map(|step| (1..=8).flat_map(move |o| (-2..=2).map(move |a| (step, o, a))))
            {
                let pitch = Pitch::new(step, Alter::new(alter).unwrap(), octave);
                let tone = scale.place(pitch);
                let again = scale.pitch(tone).unwrap();
                assert_eq!(again.midi(), pitch.midi(), "{scale} {pitch} {tone:?}");
                let own = scale.degrees().any(|name| name == pitch.name);
                assert!(!own || again == pitch, "{scale} {pitch} {again}");
                // Only one kind has a step wider than three half steps.
                let widest = if scale.kind().name() == "major b6 pentatonic" { 2 } else { 1 };
                assert!(tone.beside.half_steps.abs() <= widest, "{scale} {pitch} {tone:?}");
            }
        }
        assert_eq!(scale("C major").place(pitch("C0")).index, 0);
    }
}
