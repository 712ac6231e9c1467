//! Exercises.

use std::fmt::Display;

pub const NEW_LINE: &str = "This is a new line. The one before it is under Your lines.";
pub const NUMBER_OF_STEPS: &str = "the number of steps";
pub const CHOOSE_A_SELECTION: &str = "open `Edit selection` and choose its bars and beats";

pub fn bars_written(bars: impl Display) -> String {
    format!("{bars} bars.")
}
