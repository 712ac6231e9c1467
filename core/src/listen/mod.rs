//! What was played compared with what was written: when notes start in a sound, which written note each one
//! is, and how early or late it was.
//!
//! Times are in seconds from any one moment. Nothing here stores sound: [`Onsets`] holds a fraction of a
//! second of loudness, and no more.

mod error;
mod align;
mod onsets;
mod rhythm;
mod timing;

pub use align::{Alignment, HIT, Heard, WINDOW, align};
pub use error::{LEAST_TAPS, LatencyError, MOST_SPREAD_MS};
pub use onsets::Onsets;
pub use rhythm::is_other_rhythm;
pub use timing::{Latency, Timing, latency, timing, timing_by_group};
