//! Parses degrees and the signs of a quality.

use std::str::FromStr;

use crate::naming::quoted;
use crate::pitch::Alter;

use super::quality::{Degrees, stack};
use super::sign::{Sign, signs};
use super::{ChordError, Degree, Quality, Triad};

/// Degrees that may be altered.
const ALTERED: [Degree; 6] = [
    Degree::FlatFive,
    Degree::SharpFive,
    Degree::FlatNine,
    Degree::SharpNine,
    Degree::SharpEleven,
    Degree::FlatThirteen,
];
/// Degrees that may be added.
const ADDED: [Degree; 7] = [
    Degree::FlatNine,
    Degree::Nine,
    Degree::SharpNine,
    Degree::Eleven,
    Degree::SharpEleven,
    Degree::FlatThirteen,
    Degree::Thirteen,
];

impl FromStr for Degree {
    type Err = ChordError;

    fn from_str(text: &str) -> Result<Degree, ChordError> {
        let (alter, number) = Alter::split_from(text);
        let degree = number.parse().ok().and_then(|number| Degree::new(alter, number));
        degree.ok_or_else(|| ChordError::no_degree(text))
    }
}

impl FromStr for Quality {
    type Err = ChordError;

    /// Reads a quality.
    fn from_str(text: &str) -> Result<Quality, ChordError> {
        let mut reader = Reader::default();
        for (index, (sign, text)) in signs(text).enumerate() {
            reader.take(sign, text, index == 0)?;
        }
        reader.finish()
    }
}

/// What has been read of a quality.
#[derive(Default)]
struct Reader {
    /// The sign that makes it minor, diminished or augmented.
    triad: Option<Sign>,
    /// A major sign, for the seventh.
    major: Option<Sign>,
    /// The number that says how far it is stacked, or that it has a sixth.
    number: Option<Number>,
    suspension: Option<Degree>,
    altered: Degrees,
    added: Degrees,
    omitted: Vec<u8>,
    is_alt: bool,
    /// Inside parentheses: whether they have any content yet.
    inside: Option<bool>,
}

/// The numbers that follow a triad.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Number {
    Power,
    Six,
    SixNine,
    Seven,
    Nine,
    Eleven,
    Thirteen,
}

impl Reader {
    fn take(&mut self, sign: Sign, text: &str, is_first: bool) -> Result<(), ChordError> {
        let misplaced = || ChordError::Misplaced { text: quoted(text) };
        let was_inside = self.inside;
        self.inside = self.inside.map(|_| true);
        match sign {
            Sign::Minor | Sign::Diminished | Sign::HalfDiminished | Sign::Augmented if is_first => {
                self.triad = Some(sign);
            }
            Sign::Augmented if self.number.is_some() => {
                return Err(ChordError::Ambiguous { text: quoted(text), first: "7#5", second: "maj7" });
            }
            Sign::Minor | Sign::Diminished | Sign::HalfDiminished | Sign::Augmented => {
                return Err(misplaced());
            }
            Sign::Major | Sign::Triangle if self.major.is_none() && self.number.is_none() => {
                self.major = Some(sign)
            }
            Sign::Major | Sign::Triangle => return Err(ChordError::TwoSevenths { text: quoted(text) }),
            Sign::Number(number) => self.number(number, text, was_inside.is_some())?,
            Sign::SixNine => self.set_number(Number::SixNine, text)?,
            Sign::Altered(alter, number) => {
                let degree = Degree::new(alter, number).filter(|degree| ALTERED.contains(degree));
                let degree = degree.ok_or_else(|| ChordError::no_degree(text))?;
                if self.altered.has(degree) || self.added.has(degree) {
                    return Err(ChordError::Twice { number });
                }
                self.altered.add(degree);
            }
            Sign::Added(alter, number) => {
                // Added degrees are counted either way.
                let number = if matches!(number, 2 | 4) { number + 7 } else { number };
                let degree = Degree::new(alter, number).filter(|degree| ADDED.contains(degree));
                self.add(degree.ok_or_else(|| ChordError::no_degree(text))?)?;
            }
            Sign::Omitted(number) => self.omitted.push(number),
            Sign::Suspended(number) => {
                let degree = if number == Some(2) { Degree::Two } else { Degree::Four };
                match self.suspension.replace(degree) {
                    None => {}
                    Some(before) if before == degree => {
                        return Err(ChordError::Twice { number: degree.number() });
                    }
                    Some(before) => return Err(ChordError::Both(before, degree)),
                }
            }
            Sign::Alt if self.is_alt => return Err(ChordError::Alt),
            Sign::Alt => self.is_alt = true,
            Sign::Open if was_inside.is_none() => self.inside = Some(false),
            Sign::Close if was_inside == Some(true) => self.inside = None,
            Sign::Open | Sign::Close => return Err(ChordError::Parentheses),
            Sign::Separator if was_inside == Some(true) => {}
            Sign::Separator => return Err(misplaced()),
            Sign::Unread => return Err(ChordError::Unread { text: quoted(text) }),
        }
        Ok(())
    }

    fn number(&mut self, number: u8, text: &str, is_inside: bool) -> Result<(), ChordError> {
        let natural =
            Degree::new(Alter::NATURAL, number).filter(|degree| is_inside && ADDED.contains(degree));
        match (natural, number) {
            (Some(degree), _) if self.number.is_some() => self.add(degree),
            (Some(degree), _) if self.major.is_none() => Err(ChordError::NoSeventh { degree }),
            (_, 5) => self.set_number(Number::Power, text),
            (_, 6) => self.set_number(Number::Six, text),
            (_, 7) => self.set_number(Number::Seven, text),
            (_, 9) => self.set_number(Number::Nine, text),
            (_, 11) => self.set_number(Number::Eleven, text),
            (_, 13) => self.set_number(Number::Thirteen, text),
            (_, 2) => Err(ChordError::Ambiguous { text: quoted(text), first: "sus2", second: "add9" }),
            (_, 4) => Err(ChordError::Ambiguous { text: quoted(text), first: "sus4", second: "add11" }),
            _ => Err(ChordError::no_degree(text)),
        }
    }

    fn set_number(&mut self, number: Number, text: &str) -> Result<(), ChordError> {
        match self.number.replace(number) {
            None => Ok(()),
            Some(_) => Err(ChordError::TwoSevenths { text: quoted(text) }),
        }
    }

    fn add(&mut self, degree: Degree) -> Result<(), ChordError> {
        if self.altered.has(degree) || self.added.has(degree) {
            return Err(ChordError::Twice { number: degree.number() });
        }
        self.added.add(degree);
        Ok(())
    }

    /// The quality, when all signs are read.
    fn finish(self) -> Result<Quality, ChordError> {
        if self.inside.is_some() {
            return Err(ChordError::Parentheses);
        }
        if self.is_alt {
            return self.altered_dominant();
        }
        let triad = self.triad()?;
        let mut degrees: Degrees = triad.degrees().iter().copied().collect();
        if let Some(degree) = self.suspension {
            degrees.remove(Degree::Three);
            degrees.add(degree);
        }
        let seventh = self.seventh(triad)?;
        seventh.into_iter().for_each(|degree| degrees.add(degree));
        self.stack(triad, &mut degrees)?;
        self.alter(triad, seventh.is_some(), &mut degrees)?;
        for degree in self.added.iter() {
            if degrees.has(degree) {
                return Err(ChordError::Twice { number: degree.number() });
            }
            degrees.add(degree);
        }
        self.leave_out(&mut degrees)?;
        Quality::checked(degrees)
    }

    fn altered_dominant(&self) -> Result<Quality, ChordError> {
        let alone = self.triad.is_none()
            && self.major.is_none()
            && matches!(self.number, None | Some(Number::Seven))
            && self.suspension.is_none()
            && self.altered == Degrees::default()
            && self.added == Degrees::default()
            && self.omitted.is_empty();
        if alone { Ok(Quality::alt()) } else { Err(ChordError::Alt) }
    }

    fn triad(&self) -> Result<Triad, ChordError> {
        let triad = match (self.triad, self.number) {
            (None, Some(Number::Power)) if self.major.is_none() => Triad::Power,
            (_, Some(Number::Power)) => return Err(ChordError::Power),
            (Some(Sign::Minor), _) => Triad::Minor,
            (Some(Sign::Diminished | Sign::HalfDiminished), _) => Triad::Diminished,
            (Some(Sign::Augmented), _) => Triad::Augmented,
            _ => Triad::Major,
        };
        match self.suspension {
            Some(_) if !triad.degrees().contains(&Degree::Three) => Err(ChordError::Suspended),
            _ => Ok(triad),
        }
    }

    /// The sixth or the seventh that the number asks for.
    fn seventh(&self, triad: Triad) -> Result<Option<Degree>, ChordError> {
        let is_half = self.triad == Some(Sign::HalfDiminished);
        let is_diminished = triad == Triad::Diminished && !is_half;
        let second = |text: &str| Err(ChordError::TwoSevenths { text: text.into() });
        let either =
            |text: &str, first, second| Err(ChordError::Ambiguous { text: text.into(), first, second });
        Ok(match (self.number, self.major) {
            (_, Some(_)) if is_half => return second("maj7"),
            (Some(Number::Power), _) => None,
            (Some(Number::Six | Number::SixNine), None) if is_diminished => {
                return either("dim6", "dim7", "m6");
            }
            (Some(Number::Six | Number::SixNine), None) if !is_half => Some(Degree::Six),
            (Some(Number::Six | Number::SixNine), Some(Sign::Major)) if triad == Triad::Major => {
                Some(Degree::Six)
            }
            (Some(Number::Six | Number::SixNine), _) => return second("6"),
            (Some(_), Some(_)) | (None, Some(Sign::Triangle)) => Some(Degree::Seven),
            (None, Some(_)) if triad == Triad::Major => None,
            (None, Some(_)) => return Err(ChordError::NoNumber),
            (Some(Number::Seven), None) if is_diminished => Some(Degree::DoubleFlatSeven),
            (Some(Number::Nine), None) if is_diminished => return either("dim9", "dim7(add9)", "m9b5"),
            (Some(Number::Eleven), None) if is_diminished => return either("dim11", "dim7(add11)", "m11b5"),
            (Some(Number::Thirteen), None) if is_diminished => {
                return either("dim13", "dim7(addb13)", "m13b5");
            }
            (Some(_), None) => Some(Degree::FlatSeven),
            (None, None) => is_half.then_some(Degree::FlatSeven),
        })
    }

    /// Adds what the number stacks over the seventh, unless it is altered.
    fn stack(&self, triad: Triad, degrees: &mut Degrees) -> Result<(), ChordError> {
        let extension = match self.number {
            Some(Number::Nine | Number::SixNine) => Some(Degree::Nine),
            Some(Number::Eleven) => Some(Degree::Eleven),
            Some(Number::Thirteen) => Some(Degree::Thirteen),
            _ => None,
        };
        for &degree in stack(triad, extension) {
            let is_altered = self.altered.iter().any(|altered| altered.number() == degree.number());
            if is_altered && Some(degree) == extension {
                return Err(ChordError::Twice { number: degree.number() });
            }
            // A fourth that is suspended is the eleventh already.
            let is_suspended = degree == Degree::Eleven && self.suspension == Some(Degree::Four);
            if !is_altered && !is_suspended {
                degrees.add(degree);
            }
        }
        Ok(())
    }

    /// Adds altered degrees: a fifth instead of the natural one, the others over a sixth or a seventh.
    fn alter(&self, triad: Triad, has_seventh: bool, degrees: &mut Degrees) -> Result<(), ChordError> {
        for degree in self.altered.iter() {
            match degree.number() {
                5 if matches!(triad, Triad::Major | Triad::Minor) => degrees.remove(Degree::Five),
                5 => return Err(ChordError::Twice { number: 5 }),
                _ if has_seventh => {}
                _ => return Err(ChordError::NoSeventh { degree }),
            }
            degrees.add(degree);
        }
        Ok(())
    }

    fn leave_out(&self, degrees: &mut Degrees) -> Result<(), ChordError> {
        for &number in &self.omitted {
            let wanted: &[Degree] = match number {
                3 => &[Degree::FlatThree, Degree::Three],
                5 => &[Degree::FlatFive, Degree::Five, Degree::SharpFive],
                9 => &[Degree::Nine],
                11 => &[Degree::Eleven],
                _ => &[],
            };
            // Leaving the 11 out of a 13 is allowed as a precaution.
            let is_understood = number == 11 && self.number == Some(Number::Thirteen);
            if degrees.first(wanted).is_none() && !is_understood {
                return Err(ChordError::NotThere { number });
            }
            wanted.iter().for_each(|degree| degrees.remove(*degree));
        }
        Ok(())
    }
}
