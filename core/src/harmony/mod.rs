//! What is in a line: the degree of each note over its chord, and the names of the groups that the notes form.

mod approach;
mod arpeggio;
mod candidate;
mod degrees;
mod diatonic;
mod name;
mod naming;
mod path;
mod pattern;
mod reasons;
mod run;
mod scales;
mod setting;
mod shapes;
mod sign;
mod tones;
mod voicing;
mod weights;
mod words;

pub use degrees::{degree, is_chord_tone};
pub(crate) use diatonic::chord_on;
pub use name::{Charge, Direction, Kind, Landing, Name, Position, Target, Term};
pub use naming::{Names, Reading, names};
pub use scales::scales;
pub(crate) use scales::{key_scale, key_tones, scale_on, scales_of};
pub use sign::NameSign;
pub(crate) use tones::{Tones, class};
pub(crate) use voicing::POSITIONS;
pub(crate) use words::symbol;
