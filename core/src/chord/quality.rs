//! What a chord consists of, apart from its root.

use std::fmt;

use crate::pitch::Alter;

use super::{ChordError, Degree};

/// The quality of a chord: its degrees, including the root.
///
/// Two ways to write the same degrees are the same quality: `+7` and `7#5`, `ø7` and `m7b5`. It is valid by construction: at most one
/// third, or a second or fourth instead; one fifth, or altered ones; one sixth or seventh; each degree either natural or altered, not
/// both; and no two degrees that sound the same.
///
/// ```
/// use halfbar_core::chord::{Degree, Quality};
///
/// let quality: Quality = "7b9b13".parse()?;
/// let degrees: Vec<_> = quality.degrees().map(|degree| degree.to_string()).collect();
/// assert_eq!(degrees, ["1", "3", "5", "b7", "b9", "b13"]);
/// assert_eq!(quality.third(), Some(Degree::Three));
/// assert_eq!("ø7".parse::<Quality>()?.to_string(), "m7b5");
///
/// let refused = "2".parse::<Quality>().unwrap_err();
/// assert_eq!(refused.to_string(), "`2` can mean `sus2` or `add9`: write the one you mean");
/// # Ok::<(), halfbar_core::chord::ChordError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Quality(Degrees);

/// A set of degrees, a bit for each.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub(super) struct Degrees(u32);

/// Degrees of which a chord has at most one.
const EITHER: [&[Degree]; 6] = [
    &[Degree::Two, Degree::FlatThree, Degree::Three, Degree::Four],
    &[Degree::Six, Degree::DoubleFlatSeven, Degree::FlatSeven, Degree::Seven],
    &[Degree::Eleven, Degree::SharpEleven],
    &[Degree::FlatThirteen, Degree::Thirteen],
    // Only a diminished triad has a diminished seventh; over other triads it is the sixth.
    &[Degree::DoubleFlatSeven, Degree::Two, Degree::Three, Degree::Four],
    &[Degree::DoubleFlatSeven, Degree::Five, Degree::SharpFive],
];
/// A degree, and the altered ones that can replace it, one or both.
const ALTERED: [(Degree, [Degree; 2]); 2] = [
    (Degree::Five, [Degree::FlatFive, Degree::SharpFive]),
    (Degree::Nine, [Degree::FlatNine, Degree::SharpNine]),
];
/// The degrees of `7alt`: those of the altered scale, except the one that would be a second third (common practice, no source).
const ALT: [Degree; 7] = [
    Degree::One,
    Degree::Three,
    Degree::FlatFive,
    Degree::FlatSeven,
    Degree::FlatNine,
    Degree::SharpNine,
    Degree::FlatThirteen,
];
/// Degrees by how much they characterize a chord: the third or its replacement, the seventh or sixth, the fifth, then the others (common
/// practice, no source).
const GUIDES: [Degree; 19] = [
    Degree::Two,
    Degree::FlatThree,
    Degree::Three,
    Degree::Four,
    Degree::Six,
    Degree::DoubleFlatSeven,
    Degree::FlatSeven,
    Degree::Seven,
    Degree::FlatFive,
    Degree::Five,
    Degree::SharpFive,
    Degree::FlatNine,
    Degree::Nine,
    Degree::SharpNine,
    Degree::Eleven,
    Degree::SharpEleven,
    Degree::FlatThirteen,
    Degree::Thirteen,
    Degree::One,
];

impl Quality {
    /// The quality that has these degrees; the root is understood.
    ///
    /// # Errors
    /// [`ChordError::Both`] and [`ChordError::SameSound`] for two degrees that can't be combined; [`ChordError::Alone`] if there are none.
    pub fn new(degrees: impl IntoIterator<Item = Degree>) -> Result<Quality, ChordError> {
        Quality::checked(degrees.into_iter().collect())
    }

    pub(super) fn checked(mut degrees: Degrees) -> Result<Quality, ChordError> {
        degrees.add(Degree::One);
        if degrees == Degrees::from(Degree::One) {
            return Err(ChordError::Alone);
        }
        for either in EITHER {
            let mut here = either.iter().copied().filter(|degree| degrees.has(*degree));
            if let (Some(first), Some(second)) = (here.next(), here.next()) {
                return Err(ChordError::Both(first, second));
            }
        }
        for (natural, altered) in ALTERED {
            if let Some(altered) = degrees.first(&altered).filter(|_| degrees.has(natural)) {
                return Err(ChordError::Both(natural, altered));
            }
        }
        for first in degrees.iter() {
            let sounds_alike = |second: &Degree| *second > first && second.half_steps() == first.half_steps();
            if let Some(second) = degrees.iter().find(sounds_alike) {
                return Err(ChordError::SameSound(first, second));
            }
        }
        Ok(Quality(degrees))
    }

    /// The quality of `7alt`.
    pub(super) fn alt() -> Quality {
        Quality(ALT.into_iter().collect())
    }

    /// Its degrees as they are stacked, the root first. No two sound the same.
    pub fn degrees(self) -> impl Iterator<Item = Degree> {
        self.0.iter()
    }

    /// Whether a degree is part of the chord.
    pub fn has(self, degree: Degree) -> bool {
        self.0.has(degree)
    }

    /// The degree that sounds this many half steps above the root, if there is one.
    pub fn sounding(self, half_steps: u8) -> Option<Degree> {
        self.degrees().find(|degree| degree.half_steps() == half_steps % 12)
    }

    /// The third, major or minor; `None` in a suspended chord, or if it is left out.
    pub fn third(self) -> Option<Degree> {
        self.0.first(&[Degree::FlatThree, Degree::Three])
    }

    /// The 2 or the 4 of a suspended chord.
    pub fn suspension(self) -> Option<Degree> {
        self.0.first(&[Degree::Two, Degree::Four])
    }

    /// The seventh of any kind.
    pub fn seventh(self) -> Option<Degree> {
        self.0.first(&[Degree::DoubleFlatSeven, Degree::FlatSeven, Degree::Seven])
    }

    /// Whether it is a dominant: with a minor seventh, and a major third or a suspension.
    pub fn is_dominant(self) -> bool {
        let third = self.has(Degree::Three) || self.suspension().is_some();
        third && self.has(Degree::FlatSeven)
    }

    /// The two degrees that identify the chord: the first two that it has of third (or suspension), seventh (or sixth) and fifth.
    ///
    /// ```
    /// use halfbar_core::chord::{Degree, Quality};
    ///
    /// let guides = |text: &str| text.parse().map(Quality::guide_tones);
    /// assert_eq!(guides("9sus")?, [Degree::Four, Degree::FlatSeven]);
    /// assert_eq!(guides("m")?, [Degree::FlatThree, Degree::Five]);
    /// assert_eq!(guides("5")?, [Degree::Five, Degree::One]);
    /// # Ok::<(), halfbar_core::chord::ChordError>(())
    /// ```
    pub fn guide_tones(self) -> [Degree; 2] {
        let mut guides = GUIDES.into_iter().filter(|degree| self.has(*degree));
        // Every chord has two.
        [guides.next().unwrap_or(Degree::One), guides.next().unwrap_or(Degree::One)]
    }

    /// Its shortest written form, in parts.
    pub fn form(self) -> Form {
        let has = |degree| self.has(degree);
        let seventh = self.0.first(&[Degree::Six]).or(self.seventh());
        let only = |fifth, other| has(fifth) && !has(other);
        let triad = match (self.third(), seventh) {
            (_, Some(Degree::DoubleFlatSeven)) => Triad::Diminished,
            (Some(Degree::FlatThree), None) if only(Degree::FlatFive, Degree::SharpFive) => Triad::Diminished,
            (Some(Degree::FlatThree), _) => Triad::Minor,
            (Some(_), None) if only(Degree::SharpFive, Degree::FlatFive) => Triad::Augmented,
            (Some(_), _) => Triad::Major,
            (None, seventh) => match self.suspension() {
                Some(Degree::Two) => Triad::SuspendedSecond,
                Some(_) => Triad::SuspendedFourth,
                None if seventh.is_none() && has(Degree::Five) => Triad::Power,
                None => Triad::Major,
            },
        };
        let extension = self.extension(triad, seventh);
        let stacked: Degrees =
            triad.degrees().iter().chain(&seventh).chain(stack(triad, extension)).copied().collect();

        let rest = self.degrees().filter(|degree| *degree != Degree::One && !stacked.has(*degree));
        let alters = |degree: &Degree| match degree.number() {
            5 => true,
            _ => seventh.is_some() && degree.alter() != Alter::NATURAL,
        };
        let (alterations, added) = rest.partition(alters);
        let is_left_out = |degree: &Degree| {
            let altered = ALTERED.iter().find(|(natural, _)| natural == degree).map(|(_, altered)| altered);
            !has(*degree) && altered.is_none_or(|altered| self.0.first(altered).is_none())
        };
        let omitted = triad.degrees().iter().copied().filter(is_left_out).collect();
        Form { triad, seventh, extension, alterations, added, omitted }
    }

    /// The highest natural degree up to which the stack of thirds over the seventh is there, altered or not.
    fn extension(self, triad: Triad, seventh: Option<Degree>) -> Option<Degree> {
        let has = |degree| self.has(degree);
        let ninth = has(Degree::Nine) || has(Degree::FlatNine) || has(Degree::SharpNine);
        let eleventh = has(Degree::Eleven) || has(Degree::SharpEleven);
        match seventh? {
            Degree::Six => has(Degree::Nine).then_some(Degree::Nine),
            Degree::DoubleFlatSeven => None,
            _ if has(Degree::Thirteen) && ninth && (eleventh || triad != Triad::Minor) => {
                Some(Degree::Thirteen)
            }
            _ if has(Degree::Eleven) && ninth => Some(Degree::Eleven),
            _ => has(Degree::Nine).then_some(Degree::Nine),
        }
    }
}

/// What a number above 7 stacks over the seventh. A 13 has its 11 only over a minor third: over a major one, it is left out (common practice,
/// no source).
pub(super) fn stack(triad: Triad, extension: Option<Degree>) -> &'static [Degree] {
    match extension {
        Some(Degree::Nine) => &[Degree::Nine],
        Some(Degree::Eleven) => &[Degree::Nine, Degree::Eleven],
        Some(Degree::Thirteen) if matches!(triad, Triad::Minor | Triad::Diminished) => {
            &[Degree::Nine, Degree::Eleven, Degree::Thirteen]
        }
        Some(Degree::Thirteen) => &[Degree::Nine, Degree::Thirteen],
        _ => &[],
    }
}

/// The lowest part of a chord.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum Triad {
    Major,
    Minor,
    Diminished,
    Augmented,
    SuspendedSecond,
    SuspendedFourth,
    /// Root and fifth.
    Power,
}

impl Triad {
    /// Its degrees above the root.
    pub fn degrees(self) -> &'static [Degree] {
        match self {
            Triad::Major => &[Degree::Three, Degree::Five],
            Triad::Minor => &[Degree::FlatThree, Degree::Five],
            Triad::Diminished => &[Degree::FlatThree, Degree::FlatFive],
            Triad::Augmented => &[Degree::Three, Degree::SharpFive],
            Triad::SuspendedSecond => &[Degree::Two, Degree::Five],
            Triad::SuspendedFourth => &[Degree::Four, Degree::Five],
            Triad::Power => &[Degree::Five],
        }
    }
}

/// A quality in parts: the kind of chord, and how it differs from that kind. Chord symbols are written from it, and file formats with
/// chord kinds and degrees need it.
///
/// ```
/// use halfbar_core::chord::{Degree, Quality, Triad};
///
/// let form = "13b9".parse::<Quality>()?.form();
/// assert_eq!((form.triad, form.seventh), (Triad::Major, Some(Degree::FlatSeven)));
/// assert_eq!((form.extension, form.alterations), (Some(Degree::Thirteen), vec![Degree::FlatNine]));
/// # Ok::<(), halfbar_core::chord::ChordError>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub struct Form {
    /// The triad, before degrees are altered or left out.
    pub triad: Triad,
    /// The sixth, or the seventh.
    pub seventh: Option<Degree>,
    /// The 9, 11 or 13 up to which the chord is stacked. The degrees in between are implied, except the 11 over a major third.
    pub extension: Option<Degree>,
    /// Degrees that replace natural ones, or come over the seventh.
    pub alterations: Vec<Degree>,
    /// Added degrees.
    pub added: Vec<Degree>,
    /// Degrees of the triad that are left out.
    pub omitted: Vec<Degree>,
}

impl fmt::Display for Form {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.triad {
            Triad::Minor => "m",
            Triad::Diminished => "dim",
            Triad::Augmented => "aug",
            Triad::Power => "5",
            _ => "",
        })?;
        let number = self.extension.unwrap_or(Degree::Seven).number();
        match (self.seventh, self.triad) {
            (None, _) => {}
            (Some(Degree::Six), _) => f.write_str(if self.extension.is_some() { "69" } else { "6" })?,
            (Some(Degree::Seven), Triad::Minor) => write!(f, "(maj{number})")?,
            (Some(Degree::Seven), _) => write!(f, "maj{number}")?,
            _ => write!(f, "{number}")?,
        }
        f.write_str(match self.triad {
            Triad::SuspendedSecond => "sus2",
            Triad::SuspendedFourth => "sus4",
            _ => "",
        })?;
        // Right after the root, an accidental would belong to the root.
        let bare = self.seventh.is_none() && self.triad == Triad::Major && !self.alterations.is_empty();
        f.write_str(if bare { "(" } else { "" })?;
        self.alterations.iter().try_for_each(|degree| write!(f, "{degree}"))?;
        f.write_str(if bare { ")" } else { "" })?;
        self.added.iter().try_for_each(|degree| write!(f, "(add{degree})"))?;
        self.omitted.iter().try_for_each(|degree| write!(f, "(no{})", degree.number()))
    }
}

impl fmt::Display for Quality {
    /// Writes the shortest form, in characters that can be typed: `m7b5`, `7alt`, `(add9)`; nothing for a major triad.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if *self == Quality::alt() { f.write_str("7alt") } else { self.form().fmt(f) }
    }
}

impl fmt::Debug for Quality {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Quality({self})")
    }
}

impl Degrees {
    pub(super) fn has(self, degree: Degree) -> bool {
        self.0 & Degrees::from(degree).0 != 0
    }

    pub(super) fn add(&mut self, degree: Degree) {
        self.0 |= Degrees::from(degree).0;
    }

    pub(super) fn remove(&mut self, degree: Degree) {
        self.0 &= !Degrees::from(degree).0;
    }

    pub(super) fn iter(self) -> impl Iterator<Item = Degree> {
        Degree::ALL.into_iter().filter(move |degree| self.has(*degree))
    }

    /// The first of some degrees that is here.
    pub(super) fn first(self, of: &[Degree]) -> Option<Degree> {
        of.iter().copied().find(|degree| self.has(*degree))
    }
}

impl From<Degree> for Degrees {
    fn from(degree: Degree) -> Degrees {
        Degrees(1 << degree as u32)
    }
}

impl FromIterator<Degree> for Degrees {
    fn from_iter<I: IntoIterator<Item = Degree>>(degrees: I) -> Degrees {
        degrees.into_iter().fold(Degrees::default(), |all, degree| Degrees(all.0 | Degrees::from(degree).0))
    }
}
