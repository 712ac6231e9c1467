//! What is wrong with the text, beside it.

use halfbar_core::read::{Diagnostic, Reading, Spot};
use halfbar_words::page as says;
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlElement, HtmlTextAreaElement};

use super::{caret, overlay};
use halfbar_dom::{Result, by_id, create};

/// How many problems are shown; the others would push these away.
const SHOWN: usize = 4;

/// Shows what is wrong, with a rule under it in the text: with the text, or, when that is right, with writing it out. When nothing is wrong,
/// what is worth saying.
pub(super) fn show(reading: &Reading, unwritable: Option<String>, text: &HtmlTextAreaElement) -> Result<()> {
    let problems: HtmlElement = by_id("problems")?;
    problems.set_inner_html("");
    let diagnostics = &reading.diagnostics;
    let wrong = !diagnostics.is_empty() || unwritable.is_some();
    text.set_attribute("aria-invalid", if wrong { "true" } else { "false" })?;
    if let Some(marked) = text.next_element_sibling() {
        marked.remove();
    }
    if let Some(&Diagnostic { line, column, length, .. }) = diagnostics.first() {
        overlay::over(text, Spot { line, column, length })?;
        overlay::scroll_along(text);
    }
    let shown: &[Diagnostic] = if wrong { diagnostics } else { &reading.remarks };
    for diagnostic in shown.iter().take(SHOWN) {
        let button: HtmlElement = create("button")?;
        button.set_attribute("type", "button")?;
        button.set_class_name(if wrong { "problem" } else { "problem remark" });
        button.set_attribute("data-line", &diagnostic.line.to_string())?;
        button.set_attribute("data-column", &diagnostic.column.to_string())?;
        button.set_attribute("data-length", &diagnostic.length.to_string())?;
        button.set_text_content(Some(&says::problem(diagnostic.line, &diagnostic.problem)));
        problems.append_child(&button)?;
    }
    let more = shown.len().saturating_sub(SHOWN);
    let rest = unwritable.or((more > 0).then(|| says::and_more(more)));
    if let Some(rest) = rest {
        let message: HtmlElement = create("p")?;
        message.set_text_content(Some(&format!("{rest}.")));
        problems.append_child(&message)?;
    }
    Ok(())
}

/// Puts the cursor where the problem is that an event came from.
pub(super) fn go_to(target: &EventTarget, text: &HtmlTextAreaElement) -> Result<()> {
    let Some(button) =
        target.dyn_ref::<Element>().map(|element| element.closest("button.problem")).transpose()?.flatten()
    else {
        return Ok(());
    };
    let number =
        |name: &str| button.get_attribute(name).and_then(|value| value.parse::<usize>().ok()).unwrap_or(1);
    let (line, column, length) = (number("data-line"), number("data-column"), number("data-length"));
    caret::select(text, Spot { line, column, length }, true)
}
