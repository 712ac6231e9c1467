//! Somebody's text inside a message.

/// The longest piece of a text that a message repeats.
const LONGEST_QUOTE: usize = 40;

/// A piece of somebody's text as a message may repeat it between backticks: not too long, and without backticks of its own, or characters that
/// could reorder or hide the words around it.
pub(crate) fn quoted(text: &str) -> String {
    let mut quote: String =
        text.chars().take(LONGEST_QUOTE).map(visible).map(|c| if c == '`' { '\'' } else { c }).collect();
    if text.chars().nth(LONGEST_QUOTE).is_some() {
        quote += "...";
    }
    quote
}

/// A character that shows where it stands; others become `?`. A tab stays.
pub(crate) fn visible(c: char) -> char {
    let reorders =
        matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}');
    if c != '\t' && (c.is_control() || reorders) { '?' } else { c }
}
