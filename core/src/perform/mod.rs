//! What is written against what is heard.

mod swing;
mod time;

pub use swing::{Apart, apart, ratio};
pub use time::{Performed, perform};
