//! Exercises.

use std::fmt::Display;

pub const NUMBER_OF_STEPS: &str = "the number of steps";
pub const CHOOSE_A_SELECTION: &str = "open `Edit selection` and choose its bars and beats";

pub fn bars_written(bars: impl Display) -> String {
    format!("{bars} bars written into the text. Undo restores the line.")
}
