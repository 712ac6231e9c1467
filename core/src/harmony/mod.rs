//! What a note is over the chord that sounds.

mod degrees;

pub use degrees::{degree, is_chord_tone};
