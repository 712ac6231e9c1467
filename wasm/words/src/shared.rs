//! Fields and lists in any part of the page.

use std::fmt::Display;

pub const UNTITLED: &str = "untitled";
pub const TEXT_HAS_A_MISTAKE: &str = "fix the mistake in the text first";

pub fn whole_number(what: impl Display, least: impl Display, most: impl Display) -> String {
    format!("{what} must be a whole number from {least} to {most}")
}

/// A sentence from the core as readers of the page see it: without the text format's names in parentheses.
///
/// ```
/// assert_eq!(halfbar_words::shared::seen("write the literal values (`plain`), or not"), "write the literal values, or not");
/// ```
pub fn seen(sentence: &str) -> String {
    let (mut seen, mut rest) = (String::new(), sentence);
    while let Some((before, after)) = rest.split_once(" (`") {
        seen += before;
        rest = after.split_once("`)").map_or(after, |(_, behind)| behind);
    }
    seen + rest
}
