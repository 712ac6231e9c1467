//! Help: the text format by examples that can be tried, the figures by name, and the keys.

use halfbar_core::recast::Figure;
use halfbar_dom::{Result, by_id};
use halfbar_markup::{capital, escaped, picture};
use halfbar_words::help as says;
use web_sys::{Element, Event};

use crate::app::{App, Control};
use crate::keep::button_of;
use crate::keys;

/// What a reader does in the help.
pub(crate) const CONTROLS: &[Control] = &[("format", "click", App::try_example)];

/// Fills in what the module knows, the first time.
pub(crate) fn show() -> Result<()> {
    keys::list()?;
    let list: Element = by_id("figure-names")?;
    if list.first_element_child().is_some() {
        return Ok(());
    }
    let mut rows = String::new();
    for figure in Figure::all() {
        let picture = picture(Some((figure, figure.spellings()[0]))).unwrap_or_default();
        let (label, name) = (escaped(&capital(figure.label())), escaped(figure.name()));
        rows += &format!(
            "<li><span aria-hidden=\"true\">{picture}</span> {label} <code translate=\"no\">{name}</code></li>"
        );
    }
    list.set_inner_html(&rows);
    Ok(())
}

impl App {
    /// Puts an example into a new line.
    fn try_example(&mut self, event: &Event) -> Result<()> {
        let Some(button) = button_of(event) else { return Ok(()) };
        let Some(text) = button.previous_element_sibling().and_then(|example| example.text_content()) else {
            return Ok(());
        };
        self.keep.begin_line(&mut self.page, &text, says::TRIED)
    }
}
