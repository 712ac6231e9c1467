//! Exercises.

use std::fmt::Display;

pub const NEW_LINE: &str = "This is a new line. The one before it is under Your lines.";
pub const SEQUENCE: &str = "in sequence";
pub const TWELVE_KEYS: &str = "in twelve keys";
pub const THE_SEQUENCE: &str = "the sequence";
pub const THE_KEYS: &str = "all twelve keys";
pub const NUMBER_OF_STEPS: &str = "the number of steps";
pub const HIGHEST_FRET: &str = "the highest fret";
pub const CHOOSE_A_SELECTION: &str = "open `Edit selection` and choose its bars and beats";

pub fn titled(title: &str, what: &str) -> String {
    if title.is_empty() { format!("A line {what}") } else { format!("{title}, {what}") }
}

pub fn bars_written(bars: impl Display) -> String {
    format!("{bars} bars.")
}
