//! Degrees: what a tone is called over a root.

use std::fmt;

use crate::pitch::{Alter, Interval};

/// A degree over a root, as musicians number it: 9, 11 and 13 above the seventh. The 2, 4 and 6 are for chords that have them instead of
/// the 9, 11 and 13: `sus2`, `sus4`, `m6`.
///
/// The order is the one in which a chord is stacked.
///
/// ```
/// use halfbar_core::chord::Degree;
///
/// let degree: Degree = "#11".parse()?;
/// assert_eq!((degree, degree.half_steps()), (Degree::SharpEleven, 6));
/// assert_eq!(degree.to_string(), "#11");
/// assert_eq!("b10".parse::<Degree>().unwrap_err().to_string(), "a chord has no b10: write `#9`");
/// # Ok::<(), halfbar_core::chord::ChordError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
#[allow(missing_docs)]
pub enum Degree {
    One,
    Two,
    FlatThree,
    Three,
    Four,
    FlatFive,
    Five,
    SharpFive,
    Six,
    DoubleFlatSeven,
    FlatSeven,
    Seven,
    FlatNine,
    Nine,
    SharpNine,
    Eleven,
    SharpEleven,
    FlatThirteen,
    Thirteen,
}

impl Degree {
    /// Every degree, in the order in which a chord is stacked.
    pub const ALL: [Degree; 19] = [
        Degree::One,
        Degree::Two,
        Degree::FlatThree,
        Degree::Three,
        Degree::Four,
        Degree::FlatFive,
        Degree::Five,
        Degree::SharpFive,
        Degree::Six,
        Degree::DoubleFlatSeven,
        Degree::FlatSeven,
        Degree::Seven,
        Degree::FlatNine,
        Degree::Nine,
        Degree::SharpNine,
        Degree::Eleven,
        Degree::SharpEleven,
        Degree::FlatThirteen,
        Degree::Thirteen,
    ];

    /// The degree of this number, altered from the one in a major chord with a major seventh; `None` for one that no chord has, such as a
    /// sharp third.
    pub fn new(alter: Alter, number: u8) -> Option<Degree> {
        Degree::ALL.into_iter().find(|degree| degree.alter() == alter && degree.number() == number)
    }

    /// 1 to 7, 9, 11 or 13.
    pub fn number(self) -> u8 {
        match self {
            Degree::One => 1,
            Degree::Two => 2,
            Degree::FlatThree | Degree::Three => 3,
            Degree::Four => 4,
            Degree::FlatFive | Degree::Five | Degree::SharpFive => 5,
            Degree::Six => 6,
            Degree::DoubleFlatSeven | Degree::FlatSeven | Degree::Seven => 7,
            Degree::FlatNine | Degree::Nine | Degree::SharpNine => 9,
            Degree::Eleven | Degree::SharpEleven => 11,
            Degree::FlatThirteen | Degree::Thirteen => 13,
        }
    }

    /// How far it is altered from the degree in a major chord with a major seventh.
    pub fn alter(self) -> Alter {
        match self {
            Degree::DoubleFlatSeven => Alter::DOUBLE_FLAT,
            Degree::FlatThree
            | Degree::FlatFive
            | Degree::FlatSeven
            | Degree::FlatNine
            | Degree::FlatThirteen => Alter::FLAT,
            Degree::SharpFive | Degree::SharpNine | Degree::SharpEleven => Alter::SHARP,
            _ => Alter::NATURAL,
        }
    }

    /// How far it lies above the root, within an octave.
    pub fn interval(self) -> Interval {
        /// Half steps of a major scale.
        const MAJOR: [i32; 7] = [0, 2, 4, 5, 7, 9, 11];
        let letters = (self.number() - 1) % 7;
        let half_steps = MAJOR[usize::from(letters)] + i32::from(self.alter().half_steps());
        Interval { letters: letters.into(), half_steps }
    }

    /// Half steps above the root, 0 to 11.
    pub fn half_steps(self) -> u8 {
        u8::try_from(self.interval().half_steps).unwrap_or(0)
    }
}

impl fmt::Display for Degree {
    /// `b9`, `#11`, `bb7`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.alter(), self.number())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn degrees_are_in_order_and_read_back() {
        assert!(Degree::ALL.is_sorted());
        for degree in Degree::ALL {
            assert_eq!(degree.to_string().parse(), Ok(degree));
            assert!(degree.half_steps() < 12);
        }
        let half_steps = Degree::ALL.map(Degree::half_steps);
        assert_eq!(half_steps, [0, 2, 3, 4, 5, 6, 7, 8, 9, 9, 10, 11, 1, 2, 3, 5, 6, 8, 9]);
    }
}
