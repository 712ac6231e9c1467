//! Written -> [`Performed`]: when each note starts as performed, and how far apart the two notations of a
//! figure sound.

mod gap;
mod performed;

pub use gap::{SpellingGap, ratio, spelling_gap};
pub use performed::{Performed, perform};
#[cfg(feature = "exchange")]
pub(crate) use gap::ratio_parts;
pub(crate) use performed::{long_eighth, swung};
