//! The worksheet.

use std::fmt::Display;

pub const UP: &str = "Up";
pub const DOWN: &str = "Down";
pub const REMOVE: &str = "Remove";
pub const TEXT_HAS_A_MISTAKE: &str = "The text has a mistake, or is too long for the page. Fix that first.";
pub const ONE_PAGE: &str = "1 page.";

pub fn full(most: impl Display) -> String {
    format!("A worksheet holds {most} examples. Remove some first.")
}

pub fn button(label: impl Display, title: impl Display) -> String {
    format!("{label}: {title}")
}

pub fn example_has_a_mistake(number: impl Display) -> String {
    format!("Example {number} has a mistake in its text. Open that line and fix it.")
}

pub fn too_many_bars(most_bars: impl Display, bars: impl Display) -> String {
    format!("A worksheet holds {most_bars} bars; these are {bars}.")
}

pub fn pages(count: impl Display) -> String {
    format!("{count} pages.")
}

pub fn missing_letters(missing: impl Display) -> String {
    format!(" The PDF shows a frame for each character that it can't draw: {missing}")
}
