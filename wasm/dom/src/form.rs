//! What stands in the page's fields.

use halfbar_words::shared as says;
use web_sys::{
    Element, HtmlButtonElement, HtmlElement, HtmlInputElement, HtmlOptionElement, HtmlSelectElement,
};

use crate::{Result, by_id, create};

/// What stands against something, for the reader.
pub type Told<T> = std::result::Result<T, String>;

/// What is chosen from a list.
///
/// # Errors
/// When the page lacks the field.
pub fn chosen(id: &str) -> Result<String> {
    Ok(by_id::<HtmlSelectElement>(id)?.value())
}

/// What is written in a field.
///
/// # Errors
/// When the page lacks the field.
pub fn entered(id: &str) -> Result<String> {
    Ok(by_id::<HtmlInputElement>(id)?.value())
}

/// Whether a box is ticked.
///
/// # Errors
/// When the page lacks the field.
pub fn ticked(id: &str) -> Result<bool> {
    Ok(by_id::<HtmlInputElement>(id)?.checked())
}

/// Ticks a box, or not.
///
/// # Errors
/// When the page lacks the field.
pub fn tick(id: &str, on: bool) -> Result<()> {
    by_id::<HtmlInputElement>(id)?.set_checked(on);
    Ok(())
}

/// The whole number in a field, from the least to the most that the field says it takes.
///
/// # Errors
/// When the page lacks the field.
pub fn number(id: &str, what: &str) -> Result<Told<u16>> {
    let field: HtmlInputElement = by_id(id)?;
    let number = field.value().parse::<u16>().ok();
    let within = number.filter(|number| {
        let edge = |text: String, otherwise| text.parse().unwrap_or(otherwise);
        (edge(field.min(), 0)..=edge(field.max(), u16::MAX)).contains(number)
    });
    Ok(within.ok_or_else(|| says::whole_number(what, field.min(), field.max())))
}

/// Shows a text.
///
/// # Errors
/// When the page lacks the field.
pub fn say(id: &str, text: &str) -> Result<()> {
    by_id::<HtmlElement>(id)?.set_text_content(Some(text));
    Ok(())
}

/// Adds a button to what an element says; an attribute and its value tell what it does.
///
/// # Errors
/// When the page lacks the element.
pub fn offer_in(id: &str, label: &str, attribute: &str, value: &str) -> Result<()> {
    let (place, button): (Element, HtmlButtonElement) = (by_id(id)?, create("button")?);
    button.set_type("button");
    button.set_attribute(attribute, value)?;
    button.set_text_content(Some(label));
    place.append_with_str_1(" ")?;
    place.append_child(&button).map(|_| ())
}

/// Adds a choice to a list.
///
/// # Errors
/// None in practice.
pub fn offer(select: &Element, name: &str) -> Result<()> {
    offer_as(select, name, name)
}

/// Puts a choice at the end of a field, with another label than its value.
///
/// # Errors
/// None in practice.
pub fn offer_as(select: &Element, name: &str, label: &str) -> Result<()> {
    let option: HtmlOptionElement = create("option")?;
    option.set_value(name);
    option.set_text(label);
    select.append_child(&option)?;
    Ok(())
}

/// What stands against something, as a sentence.
pub fn sentence(why: &str) -> String {
    let mut sentence = format!("{why}.");
    if let Some(first) = sentence.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    sentence
}

/// The title of a line's text, as a list shows it.
pub fn title(text: &str) -> &str {
    let row = text.lines().find_map(|row| row.trim_start().strip_prefix("title:"));
    row.map(str::trim).filter(|title| !title.is_empty()).unwrap_or(says::UNTITLED)
}
