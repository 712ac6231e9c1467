//! The shapes that are drawn: the signs of a music font and the letters of text faces, as outlines.

mod glyphs;
mod outlines;

pub use glyphs::{Face, Glyph};
pub(crate) use glyphs::{UNITS_A_SPACE, UNITS_AN_EM};
pub(crate) use outlines::{Contour, Spot};
