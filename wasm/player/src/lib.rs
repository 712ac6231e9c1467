//! A stretch of a line on the browser's audio clock: what the page and its element sound with.
//!
//! [`Player`] says what sounds when, a little ahead of the clock; [`Audio`] has it sound.

mod audio;
mod player;

pub use audio::{Audio, Part, What, page_now};
pub use player::{Due, Plan, Player};
