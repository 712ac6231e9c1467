//! Note values: the shapes that stand for lengths.

use crate::time::Duration;

/// Ticks per quarter note, 2^6 * 3^2 * 5 * 7: fine enough for 64ths in tuplets of 3, 5 and 7, and in triplets
/// within triplets. A length that isn't a whole number of ticks can't be written.
pub(crate) const TICKS: i64 = 20_160;

/// The shape of a note or rest, named as in MusicXML.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
#[allow(missing_docs)]
pub enum Base {
    Whole,
    Half,
    Quarter,
    Eighth,
    Sixteenth,
    ThirtySecond,
    SixtyFourth,
}

/// A note shape with its dots.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct NoteValue {
    /// The shape.
    pub base: Base,
    /// The number of dots, at most two.
    pub dots: u8,
}

impl Base {
    /// All shapes, longest first.
    pub const ALL: [Base; 7] = [
        Base::Whole,
        Base::Half,
        Base::Quarter,
        Base::Eighth,
        Base::Sixteenth,
        Base::ThirtySecond,
        Base::SixtyFourth,
    ];

    /// Its name in MusicXML (MusicXML 4.0, data type note-type-value).
    pub fn name(self) -> &'static str {
        ["whole", "half", "quarter", "eighth", "16th", "32nd", "64th"][self as usize]
    }

    /// Its length without dots.
    pub fn length(self) -> Duration {
        Duration::of(4, 1 << (self as u16))
    }

    /// The shape with this undotted length, if there is one.
    pub fn from_length(length: Duration) -> Option<Base> {
        Base::ALL.into_iter().find(|base| base.length() == length)
    }

    /// The number of beams or flags: one for an eighth.
    pub fn beams(self) -> usize {
        (self as usize).saturating_sub(Base::Quarter as usize)
    }
}

impl NoteValue {
    /// Its length outside any tuplet. Each dot adds half of what the previous one added.
    ///
    /// ```
    /// use halfbar_core::value::{Base, NoteValue};
    /// use halfbar_core::time::Duration;
    ///
    /// assert_eq!(NoteValue { base: Base::Quarter, dots: 1 }.length(), Duration::of(3, 2));
    /// assert_eq!(NoteValue { base: Base::Half, dots: 2 }.length(), Duration::of(7, 2));
    /// ```
    pub fn length(self) -> Duration {
        let dots = self.dots.min(2);
        Duration::of(4 * ((2 << dots) - 1), (1 << (self.base as u16)) << dots)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths() {
        assert_eq!(Base::Sixteenth.length(), Duration::of(1, 4));
        assert_eq!(Base::from_length(Duration::EIGHTH), Some(Base::Eighth));
        assert_eq!(Base::from_length(Duration::of(1, 3)), None);
        assert_eq!(NoteValue { base: Base::Eighth, dots: 0 }.length(), Duration::EIGHTH);
        assert_eq!(Base::ALL.map(Base::beams), [0, 0, 0, 1, 2, 3, 4]);
    }
}
