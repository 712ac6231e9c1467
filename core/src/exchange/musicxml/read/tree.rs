//! Text -> a tree of elements, within limits; and what is in an element.

use roxmltree::{Document, Error, Node, ParsingOptions};

use super::limits;
use crate::exchange::musicxml::MusicXmlError;
use crate::time::Duration;

/// The most nodes that are read. A full orchestral score has about a million.
const MOST_NODES: u32 = 2_000_000;

/// The tree of a text. Nothing that it refers to is fetched.
pub(super) fn tree(text: &str) -> Result<Document<'_>, MusicXmlError> {
    limits::check(text)?;
    let options = ParsingOptions { allow_dtd: true, nodes_limit: MOST_NODES, ..ParsingOptions::default() };
    Document::parse_with_options(text, options).map_err(|error| match error {
        Error::NodesLimitReached => MusicXmlError::Nodes { allowed: MOST_NODES },
        error => {
            let place = error.pos();
            let why = error.to_string();
            // The place is said once.
            let why = why.split(" at ").next().unwrap_or_default().to_string();
            MusicXmlError::Damaged { row: place.row, column: place.col, why }
        }
    })
}

/// The first child with this name.
pub(super) fn child<'a, 'i>(node: Node<'a, 'i>, name: &str) -> Option<Node<'a, 'i>> {
    children(node, name).next()
}

/// The children with this name.
pub(super) fn children<'a, 'i>(node: Node<'a, 'i>, name: &str) -> impl Iterator<Item = Node<'a, 'i>> {
    node.children().filter(move |child| child.tag_name().name() == name)
}

/// All elements with this name inside a node.
pub(super) fn inside<'a, 'i>(node: Node<'a, 'i>, name: &str) -> impl Iterator<Item = Node<'a, 'i>> {
    node.descendants().filter(move |child| child.tag_name().name() == name)
}

/// The text of a child, without white space around it; empty if there is none.
pub(super) fn text_of<'a>(node: Node<'a, '_>, name: &str) -> &'a str {
    child(node, name).map_or("", text)
}

/// The text of an element, without white space around it.
pub(super) fn text<'a>(node: Node<'a, '_>) -> &'a str {
    node.text().unwrap_or_default().trim()
}

/// The number in a child.
pub(super) fn number_of<T: std::str::FromStr>(node: Node<'_, '_>, name: &str) -> Option<T> {
    text_of(node, name).parse().ok()
}

/// Whether an attribute says `yes`.
pub(super) fn says_yes(node: Node<'_, '_>, name: &str) -> bool {
    node.attribute(name) == Some("yes")
}

/// Whether an element has `type="start"`.
pub(super) fn starts(node: Node<'_, '_>) -> bool {
    node.attribute("type") == Some("start")
}

/// Words on one row: white space is a single space.
pub(super) fn row(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A decimal number, exactly, as a fraction.
pub(super) fn decimal(text: &str) -> Option<Duration> {
    let (sign, size) = text.strip_prefix('-').map_or((1, text), |size| (-1, size));
    let (whole, part) = size.split_once('.').unwrap_or((size, ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if !digits(whole) || !digits(part) || whole.len() + part.len() > 15 || whole.len() + part.len() == 0 {
        return None;
    }
    let numer: i64 = format!("{whole}{part}").parse().ok()?;
    Duration::new(sign * numer, 10_i64.pow(u32::try_from(part.len()).ok()?)).ok()
}

/// The whole number in a child, which may be written as a decimal; `None` for any other.
pub(super) fn whole_of(node: Node<'_, '_>, name: &str) -> Option<i32> {
    let number = decimal(text_of(node, name)).filter(|number| number.denom() == 1)?;
    i32::try_from(number.numer()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact() {
        let read = |text: &str| decimal(text).map(|number| number.to_string());
        for (text, expected) in
            [("6", "6"), ("0.5", "1/2"), ("-1.25", "-5/4"), ("10080", "10080"), ("2.", "2")]
        {
            assert_eq!(read(text).as_deref(), Some(expected), "{text}");
        }
        for wrong in ["", ".", "-", "1e3", "1,5", "1.2.3", "99999999999999999999", "--1"] {
            assert_eq!(read(wrong), None, "{wrong}");
        }
    }
}
