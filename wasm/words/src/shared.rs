//! What fields and lists say in every part of the page.

use std::fmt::Display;

pub const WITHOUT_A_TITLE: &str = "without a title";
pub const TEXT_HAS_A_MISTAKE: &str = "the text has a mistake; mend it first";

pub fn whole_number(what: impl Display, least: impl Display, most: impl Display) -> String {
    format!("{what} is a whole number from {least} to {most}")
}

/// A sentence of the core's, for who looks at the page and not at its text: without the names in brackets that the text has for things.
///
/// ```
/// assert_eq!(halfbar_words::shared::seen("spell it as it falls (`plain`), or not"), "spell it as it falls, or not");
/// ```
pub fn seen(sentence: &str) -> String {
    let (mut seen, mut rest) = (String::new(), sentence);
    while let Some((before, after)) = rest.split_once(" (`") {
        seen += before;
        rest = after.split_once("`)").map_or(after, |(_, behind)| behind);
    }
    seen + rest
}
