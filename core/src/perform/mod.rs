//! What is heard of a line: its notes from start to damping, the metronome, and a whole take from the
//! count-in to the end; and the tempo.

mod clicks;
mod clock;
mod error;
mod pace;
mod sounds;
mod take;

pub use crate::swing::{Performed, SpellingGap, perform, ratio, spelling_gap};
pub use clicks::{Beats, Click, ClickKind, Metronome, MetronomeError, Subdivision, clicks, count_in};
pub use clock::Clock;
pub use error::{LONGEST_MINUTES, PerformError};
pub use pace::{Jumps, Pace, PaceError, Pass, tapped};
pub use sounds::{Sound, sounds};
#[cfg(feature = "exchange")]
pub(crate) use take::played;
pub use take::{Change, Practice, Take, changes, take};
