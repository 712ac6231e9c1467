//! What is said: [`Piece`](crate::Piece) -> words, each bar and each note as one would say it to a player who doesn't see the page.
//!
//! ```
//! use halfbar_core::{Piece, read, words};
//!
//! let reading = read::text("recast: split-last at 1.1\n@Fm7 F3 Ab C Eb  G F Eb C |");
//! let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
//! let bar = words::bar(&piece, 0, true)?;
//! assert_eq!(bar.opening, "Bar 1, F minor 7");
//! assert_eq!(bar.events[0].says, "F 3, beat 1, quarter note in a triplet, string 5 fret 8, finger 4, down");
//! assert!(bar.events[1].says.starts_with("A flat 3, the last third of beat 1, quarter note in a triplet, "));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod bar;
pub(crate) mod ladder;
mod lengths;
mod names;
pub(crate) mod worksheet;

pub use bar::{Bar, Event, bar, heading, is_said_alike, summary};
pub use lengths::Words;
pub(crate) use names::alter;
pub use names::{chord, key, pitch, quarters};
