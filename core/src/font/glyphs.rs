//! The shapes that are drawn: musical signs and letters, with their dimensions.

use crate::geometry::{Segment, Sp};

use super::outlines::{self, Contour, Outline};

/// A musical sign. The origin of heads and accidentals is at the height of the note's center, that of the
/// clef on its line, that of rests on the middle line, and that of flags at the tip of the stem.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum Glyph {
    ClefG8Below,
    HeadBlack,
    HeadHalf,
    HeadWhole,
    Flag8Up,
    Flag8Down,
    Flag16Up,
    Flag16Down,
    Flag32Up,
    Flag32Down,
    RestQuarter,
    Rest8,
    Rest16,
    Rest32,
    Flat,
    Natural,
    Sharp,
    DoubleSharp,
    DoubleFlat,
}

/// A text face.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum Face {
    Regular,
    Semibold,
    /// Digits only, for time signatures.
    Black,
    /// Digits only, for tuplets.
    BoldItalic,
}

/// Units of the music font per staff space: its staff is one em tall.
pub(crate) const UNITS_A_SPACE: f64 = 250.0;
/// Units of a text face per em.
pub(crate) const UNITS_AN_EM: f64 = 1000.0;

impl Glyph {
    /// The accidental for an alteration in half steps; a natural for 0.
    pub fn accidental(half_steps: i8) -> Glyph {
        match half_steps {
            -2 => Glyph::DoubleFlat,
            -1 => Glyph::Flat,
            1 => Glyph::Sharp,
            2 => Glyph::DoubleSharp,
            _ => Glyph::Natural,
        }
    }

    fn outline(self) -> &'static Outline {
        &outlines::MUSIC[self as usize]
    }

    /// Walks along its contours, with [`UNITS_A_SPACE`] units per staff space.
    pub(crate) fn trace(self, each: &mut dyn FnMut(Contour)) {
        self.outline().trace(each);
    }

    /// Its outline, and the size of one of its units in staff spaces.
    pub fn segments(self) -> (Vec<Segment>, f64) {
        (self.outline().segments(), 1.0 / UNITS_A_SPACE)
    }

    /// Left, top, right and bottom from the origin, in staff spaces.
    pub fn bounds(self) -> [Sp; 4] {
        self.outline().bounds.map(|edge| f64::from(edge) / UNITS_A_SPACE)
    }

    /// The width of the ink, in staff spaces.
    pub fn width(self) -> Sp {
        let [left, _, right, _] = self.bounds();
        right - left
    }
}

impl Face {
    fn outlines(self) -> &'static [Outline] {
        match self {
            Face::Regular => &outlines::REGULAR,
            Face::Semibold => &outlines::SEMIBOLD,
            Face::Black => &outlines::BLACK,
            Face::BoldItalic => &outlines::BOLD_ITALIC,
        }
    }

    fn outline(self, letter: char) -> Option<&'static Outline> {
        let outlines = self.outlines();
        let found = outlines.binary_search_by_key(&u32::from(letter), |outline| outline.key);
        found.ok().map(|index| &outlines[index])
    }

    /// Whether every letter of `text` has an outline.
    pub fn has(self, text: &str) -> bool {
        text.chars().all(|letter| self.outline(letter).is_some())
    }

    /// Walks along the contours of a letter, with [`UNITS_AN_EM`] units per em.
    pub(crate) fn trace(self, letter: char, each: &mut dyn FnMut(Contour)) {
        if let Some(outline) = self.outline(letter) {
            outline.trace(each);
        }
    }

    /// The outline of a letter, and the size of one of its units in ems.
    pub fn segments(self, letter: char) -> Option<(Vec<Segment>, f64)> {
        self.outline(letter).map(|outline| (outline.segments(), 1.0 / UNITS_AN_EM))
    }

    /// How far a letter advances the pen, in ems. Letters without an outline count as half an em.
    pub fn advance(self, letter: char) -> f64 {
        self.outline(letter).map_or(0.5, |outline| f64::from(outline.advance) / UNITS_AN_EM)
    }

    /// The width of a text, in ems.
    pub fn width(self, text: &str) -> f64 {
        text.chars().map(|letter| self.advance(letter)).sum()
    }

    /// The highest and lowest point of a text relative to its baseline, in ems. The highest is negative.
    pub fn extent(self, text: &str) -> (f64, f64) {
        let bounds = text
            .chars()
            .map(|letter| self.outline(letter).map_or([0, -700, 0, 200], |outline| outline.bounds));
        let (top, bottom) = bounds.fold((0, 0), |(top, bottom), [_, t, _, b]| (top.min(t), bottom.max(b)));
        (f64::from(top) / UNITS_AN_EM, f64::from(bottom) / UNITS_AN_EM)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_and_letters_are_found() {
        let keys = |outlines: &[Outline]| outlines.iter().map(|outline| outline.key).collect::<Vec<_>>();
        assert_eq!(keys(&outlines::MUSIC), (0..=Glyph::DoubleFlat as u32).collect::<Vec<_>>());
        for face in [Face::Regular, Face::Semibold, Face::Black, Face::BoldItalic] {
            assert!(keys(face.outlines()).is_sorted(), "{face:?}");
            assert!(face.has("0123456789"));
        }
        assert!(Face::Semibold.has("Ligne “à” quai – 2 Δ"));
        assert!(!Face::Semibold.has("港"));
    }

    /// SMuFL's engraving defaults give the black notehead of its reference font as 1.18 staff spaces wide;
    /// ours may differ a little.
    #[test]
    fn a_notehead_is_as_wide_as_usual() {
        assert!((Glyph::HeadBlack.width() - 1.18).abs() < 0.05);
    }
}
