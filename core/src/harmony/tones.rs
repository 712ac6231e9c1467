//! Sets of the twelve tones, however they are spelled.

use crate::pitch::PitchName;

/// A set of the twelve tones, a bit for each; bit 0 is C.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub(crate) struct Tones(u16);

/// The tone of a pitch class, 0 to 11.
pub(crate) fn class(name: PitchName) -> u8 {
    // `rem_euclid` by 12.
    u8::try_from(name.pitch_class().rem_euclid(12)).unwrap_or(0)
}

/// Where a name is in the circle of fifths: how many fifths above C, negative for below. There, every interval is a number, and no name is simplified.
pub(super) fn fifths(name: PitchName) -> i32 {
    // From C to B.
    const LETTERS: [i32; 7] = [0, 2, 4, -1, 1, 3, 5];
    LETTERS[name.letter as usize] + 7 * i32::from(name.alter.half_steps())
}

impl Tones {
    pub(crate) fn add(&mut self, class: u8) {
        self.0 |= 1 << (class % 12);
    }

    pub(crate) fn has(self, class: u8) -> bool {
        self.0 >> (class % 12) & 1 > 0
    }

    /// Whether a note sounds as one of them.
    pub(crate) fn sound(self, key: i32) -> bool {
        u8::try_from(key.rem_euclid(12)).is_ok_and(|class| self.has(class))
    }

    /// How many of them it is from one note to another, negative for down.
    pub(crate) fn steps(self, from: i32, to: i32) -> i32 {
        let between = (from.min(to) + 1..=from.max(to)).filter(|key| self.sound(*key)).count();
        i32::try_from(between).unwrap_or(i32::MAX) * (to - from).signum()
    }

    pub(crate) fn has_all(self, others: Tones) -> bool {
        others.0 & !self.0 == 0
    }

    pub(crate) fn count(self) -> u32 {
        self.0.count_ones()
    }
}

impl FromIterator<u8> for Tones {
    fn from_iter<I: IntoIterator<Item = u8>>(classes: I) -> Tones {
        let mut tones = Tones::default();
        classes.into_iter().for_each(|class| tones.add(class));
        tones
    }
}

impl FromIterator<PitchName> for Tones {
    fn from_iter<I: IntoIterator<Item = PitchName>>(names: I) -> Tones {
        names.into_iter().map(class).collect()
    }
}
