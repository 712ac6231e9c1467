//! Where a line lies on the neck, and how it is picked.
//!
//! The two hands are planned apart. The fretting hand plays the plain line: strings, frets and fingers are the same at every tempo and in every
//! rhythm that the line is recast into ([`fret`]). The picking hand plays what sounds, on these frets ([`pick`]).
//!
//! ```
//! use halfbar_core::attack::Attack;
//! use halfbar_core::neck::Stroke;
//! use halfbar_core::{Piece, read};
//!
//! let reading = read::text("picking: economy\nC4^2 E G A G E C A^4.7 |");
//! let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
//! let first = piece.timed().events[0].id;
//! let fretting = piece.fingering().of(first).expect("a note, not a rest");
//! assert_eq!((fretting.string.0, fretting.fret.0), (2, 1));
//! assert_eq!(piece.fingering().attacks().of(first), Some(Attack::Struck(Stroke::Down)));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod beats;
mod cells;
#[cfg(test)]
mod earned;
mod error;
mod explain;
mod fingering;
mod fretting;
mod picking;
mod plan;
mod positions;
#[cfg(test)]
mod proof;
mod reach;
mod search;
mod terms;
mod ways;
mod weights;
mod words;

pub use error::FingeringError;
pub use fingering::{Crossings, Fingering, pick};
pub use plan::{FrettingPlan, fret};
pub use positions::{Bound, Way, in_position, picked};
pub use reach::Fretting;
pub use terms::{Charge, Term};
pub use weights::Cost;
pub use words::Reason;
