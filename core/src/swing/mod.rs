//! Written -> [`Performed`]: when each note starts as performed, and how far apart the two notations of a
//! figure sound.

mod gap;
mod performed;

#[cfg(feature = "exchange")]
pub(crate) use gap::ratio_parts;
pub use gap::{SpellingGap, ratio, spelling_gap};
pub use performed::{Performed, perform};
pub(crate) use performed::{long_eighth, swung};
