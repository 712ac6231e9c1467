//! [`Take`](crate::perform::Take) -> samples: a plucked string, a metronome's click, soft chords, and the mix
//! of all of them.
//!
//! Samples are mono, from -1 to 1, at any usual rate (22,050 to 192,000 Hz). The same call always gives the
//! same samples.
//!
//! ```
//! use halfbar_core::attack::Attack;
//! use halfbar_core::neck::{StringNo, Stroke};
//! use halfbar_core::pitch::MidiKey;
//! use halfbar_core::sound::{self, Note};
//!
//! let attack = Attack::Struck(Stroke::Down);
//! let note = Note { key: MidiKey(57), string: Some(StringNo(4)), accent: false, attack };
//! let samples = sound::pluck(&note, 48_000, 0.5);
//! assert_eq!((samples[0], samples[samples.len() - 1]), (0.0, 0.0));
//! assert!(samples.iter().all(|sample| sample.abs() < 1.0));
//! ```

mod click;
mod comp;
mod mix;
mod note;
mod pluck;
mod samples;

pub use click::click;
pub use comp::{Voicing, chord, pad};
pub use mix::{Levels, mix};
pub use note::Note;
pub use pluck::pluck;
