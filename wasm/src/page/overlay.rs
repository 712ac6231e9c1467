//! The text once more over its box, in the same lines: a text box can't say where its words are, or have a rule under one.

use halfbar_core::read::Spot;
use halfbar_dom::{Result, by_id, create};
use web_sys::{Element, HtmlElement, HtmlTextAreaElement};

/// Sets the text once more over its box, with a mark where something is.
pub(super) fn over(text: &HtmlTextAreaElement, spot: Spot) -> Result<(Element, HtmlElement)> {
    let (overlay, mark): (HtmlElement, HtmlElement) = (create("pre")?, create("mark")?);
    let source = text.value();
    let start: usize = source.split_inclusive('\n').take(spot.line - 1).map(str::len).sum();
    let (before, rest) = source.split_at(start);
    let row = rest.split('\n').next().unwrap_or("");
    let byte = |column: usize| row.char_indices().nth(column).map_or(row.len(), |(byte, _)| byte);
    let (first, end) = (byte(spot.column - 1), byte(spot.column - 1 + spot.length));
    // At the end of a row there is nothing to mark but the place.
    mark.set_text_content(Some(if first == end { "\u{A0}" } else { &row[first..end] }));
    overlay.set_class_name("overlay");
    overlay.set_attribute("aria-hidden", "true")?;
    overlay.append_with_str_2(before, &row[..first])?;
    overlay.append_child(&mark)?;
    // A break at the very end makes no row without something in it.
    overlay.append_with_str_2(&rest[end..], "\u{200B}")?;
    by_id::<Element>("typed")?.append_child(&overlay)?;
    // A scroll bar takes room from the words.
    let width = text.client_width() + overlay.offset_width() - overlay.client_width();
    overlay.style().set_property("width", &format!("{width}px"))?;
    Ok((overlay.into(), mark))
}

/// Keeps the overlay of a mistake over its words as the text scrolls.
pub(super) fn scroll_along(text: &HtmlTextAreaElement) {
    if let Some(overlay) = text.next_element_sibling() {
        overlay.set_scroll_top(text.scroll_top());
    }
}
