//! Standard MIDI Files, by *The Complete MIDI 1.0 Detailed Specification*, 1996.

mod error;
mod read;
mod write;

pub use error::MidiError;
pub(super) use read::{Song, read};
pub use write::{MidiOptions, document};
