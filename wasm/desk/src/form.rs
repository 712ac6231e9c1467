//! What stands in the page's fields.

use halfbar_core::line::Line;
use halfbar_core::time::{Onset, Span};
use halfbar_dom::{Result, by_id, create};
use web_sys::{Element, HtmlElement, HtmlInputElement, HtmlOptionElement, HtmlSelectElement};

/// What stands against something, for the reader.
pub(crate) type Told<T> = std::result::Result<T, String>;

/// What is chosen from a list.
pub(crate) fn chosen(id: &str) -> Result<String> {
    Ok(by_id::<HtmlSelectElement>(id)?.value())
}

/// What is written in a field.
pub(crate) fn entered(id: &str) -> Result<String> {
    Ok(by_id::<HtmlInputElement>(id)?.value())
}

/// Whether a box is ticked.
pub(crate) fn ticked(id: &str) -> Result<bool> {
    Ok(by_id::<HtmlInputElement>(id)?.checked())
}

/// The whole number in a field, from the least to the most that the field says it takes.
pub(crate) fn number(id: &str, what: &str) -> Result<Told<u16>> {
    let field: HtmlInputElement = by_id(id)?;
    let number = field.value().parse::<u16>().ok();
    let within = number.filter(|number| {
        let edge = |text: String, otherwise| text.parse().unwrap_or(otherwise);
        (edge(field.min(), 0)..=edge(field.max(), u16::MAX)).contains(number)
    });
    Ok(within.ok_or_else(|| format!("{what} is a whole number from {} to {}", field.min(), field.max())))
}

/// Shows a text.
pub(crate) fn say(id: &str, text: &str) -> Result<()> {
    by_id::<HtmlElement>(id)?.set_text_content(Some(text));
    Ok(())
}

/// Adds a choice to a list.
pub(crate) fn offer(select: &Element, name: &str) -> Result<()> {
    let option: HtmlOptionElement = create("option")?;
    option.set_value(name);
    option.set_text(name);
    select.append_child(&option)?;
    Ok(())
}

/// From one place of a line up to another, or to its end.
pub(crate) fn between(line: &Line, start: Onset, end: Onset) -> Told<Span> {
    let end = end.min(line.end());
    Span::new(start, end).filter(|_| start < end).ok_or("the stretch ends before it starts".into())
}

/// What stands against something, as a sentence.
pub(crate) fn sentence(why: &str) -> String {
    let mut sentence = format!("{why}.");
    if let Some(first) = sentence.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    sentence
}
