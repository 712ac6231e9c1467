//! What is written against what is heard.

mod clicks;
mod clock;
mod sounds;
mod swing;
mod take;
mod time;

pub use clicks::{Beats, Click, Division, Kind, Metronome, clicks, count_in};
pub use clock::Clock;
pub use sounds::{Sound, sounds};
pub use swing::{Apart, apart, ratio};
pub use take::{Change, LONGEST_MINUTES, Practice, Take, changes, take};
pub use time::{Performed, perform};
