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
/// assert_eq!(halfbar_words::shared::seen("`Q4` (or `q`) is not a note: `"), "`Q4` (or `q`) is not a note: `");
/// ```
pub fn seen(sentence: &str) -> String {
    let mut parts = sentence.split('`');
    let mut seen = parts.next().unwrap_or_default().to_string();
    while let Some(inside) = parts.next() {
        let after = parts.next();
        match (seen.strip_suffix(" ("), after.and_then(|after| after.strip_prefix(')'))) {
            (Some(before), Some(after)) => {
                seen.truncate(before.len());
                seen += after;
            }
            _ => {
                let close = after.map_or("", |_| "`");
                seen = format!("{seen}`{inside}{close}{}", after.unwrap_or_default());
            }
        }
    }
    seen
}
