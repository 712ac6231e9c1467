//! What fields and lists say in every part of the page.

use std::fmt::Display;

pub const WITHOUT_A_TITLE: &str = "without a title";

pub fn whole_number(what: impl Display, least: impl Display, most: impl Display) -> String {
    format!("{what} is a whole number from {least} to {most}")
}
