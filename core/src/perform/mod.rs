//! What is written against what is heard.

mod swing;

pub use swing::{Apart, apart, ratio};
