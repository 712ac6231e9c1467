//! What is written against what is heard, and how fast.

mod error;
mod clicks;
mod clock;
mod pace;
mod sounds;
mod swing;
mod take;
mod time;

pub use clicks::{Beats, Click, ClickKind, Metronome, MetronomeError, Subdivision, clicks, count_in};
pub use clock::Clock;
pub use error::PerformError;
pub use pace::{Jumps, Pace, PaceError, Pass, tapped};
pub use sounds::{Sound, sounds};
pub use swing::{SpellingGap, ratio, spelling_gap};
pub use take::{Change, LONGEST_MINUTES, Practice, Take, changes, take};
pub use time::{Performed, perform};
