//! Line + casting -> [`Timed`]: chosen windows of a plain line get another rhythm.
//!
//! The line itself never changes. A [`Casting`] says which windows sound different, so restoring a window
//! loses nothing.
//!
//! ```
//! use halfbar_core::read;
//! use halfbar_core::recast::{self, Casting, Figure, Spelling, Window};
//! use halfbar_core::time::Onset;
//!
//! let line = read::text("F3 Ab C Eb G F Eb C |").line.expect("a full bar");
//! let mut casting = Casting::default();
//! let figure = Figure::named("split-last").unwrap();
//! casting.put(Window::new(Onset::ZERO, figure, Spelling::Bracket));
//!
//! let timed = recast::apply(&line, &casting)?;
//! let onsets: Vec<_> = timed.events.iter().take(4).map(|note| note.onset.to_string()).collect();
//! assert_eq!(onsets, ["0", "2/3", "4/3", "5/3"]);
//!
//! casting.restore(Onset::ZERO);
//! assert_eq!(recast::apply(&line, &casting)?.events, line.events());
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod error;
mod apply;
mod carry;
mod figures;
mod find;
mod shift;
mod tap;
mod tile;
mod windows;

pub use crate::timed::{Spelling, Timed, TimedWindow};
pub(crate) use apply::window_starts;
pub use apply::{Grid, Offer, apply, can_recast, offers};
pub use carry::Cast;
pub use error::RecastError;
pub use figures::{Figure, FigureError, Stretch};
#[cfg(feature = "exchange")]
pub(crate) use find::reduce_as;
pub use find::{find, reduce};
pub(crate) use shift::whole_at;
pub use shift::{Direction, PushedOut, Shifted, shift};
pub use tile::{Filled, Tiling, fill, tile};
pub use windows::{Casting, Fit, Refusal, Window};
