//! The little that the modules need of the document, with errors instead of `Option`s.

pub mod files;
pub mod form;
pub mod markup;
pub mod store;

use std::fmt::Display;
use std::iter::successors;

use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{Document, Element, HtmlElement, Window};

/// For all modules: the standard library's allocator would make each of them 3 KB larger (gzipped).
#[cfg(all(target_family = "wasm", not(target_feature = "atomics")))]
#[global_allocator]
static ALLOCATOR: talc::wasm::WasmDynamicTalc = talc::wasm::new_wasm_dynamic_allocator();

/// The longest line that a page works with, in bars: longer ones would make it wait for seconds. The command line takes them.
pub const MOST_BARS: usize = 2_000;

/// What may fail in a browser.
pub type Result<T> = std::result::Result<T, JsValue>;

/// What went wrong, as a JavaScript `Error` that says it.
pub fn thrown(error: impl Display) -> JsValue {
    js_sys::Error::new(&error.to_string()).into()
}

/// The window.
///
/// # Errors
/// An `Error` where there is none, as in a worker.
pub fn window() -> Result<Window> {
    web_sys::window().ok_or_else(|| thrown("there is no window"))
}

/// The document.
///
/// # Errors
/// An `Error` where there is none, as in a worker.
pub fn document() -> Result<Document> {
    window()?.document().ok_or_else(|| thrown("there is no document"))
}

/// The element of the page with this id, which has to be there and of this kind.
///
/// # Errors
/// An `Error` that names it.
pub fn by_id<T: JsCast>(id: &str) -> Result<T> {
    let found = document()?.get_element_by_id(id);
    found.and_then(|element| element.dyn_into().ok()).ok_or_else(|| lacking(id))
}

// Not part of what is compiled for each kind of element.
fn lacking(id: &str) -> JsValue {
    thrown(format!("the page lacks its `{id}`"))
}

/// A new element.
///
/// # Errors
/// An `Error` when there is no such element, or it is of another kind.
pub fn create<T: JsCast>(name: &str) -> Result<T> {
    document()?.create_element(name)?.dyn_into().map_err(|_| of_another_kind(name))
}

fn of_another_kind(name: &str) -> JsValue {
    thrown(format!("`{name}` is of another kind"))
}

/// The elements inside an element, in their order.
pub fn children(of: &Element) -> impl Iterator<Item = Element> + use<> {
    successors(of.first_element_child(), Element::next_element_sibling)
}

/// What has the focus.
///
/// # Errors
/// None in practice.
pub fn focused() -> Result<Option<Element>> {
    Ok(document()?.active_element())
}

/// Gives the focus on to the first of some selectors that finds anything, when what had it is gone, hidden or disabled: the browser would drop it,
/// and who goes by keys would start again at the top.
///
/// # Errors
/// A selector that is none.
pub fn hand_on_focus(had: Option<&Element>, to: &[&str]) -> Result<()> {
    let Some(had) = had else { return Ok(()) };
    if had.is_connected() && !had.matches(":disabled, [hidden]")? && had.closest("[hidden]")?.is_none() {
        return Ok(());
    }
    for selector in to {
        let found = document()?.query_selector(selector)?;
        if let Some(found) = found.and_then(|found| found.dyn_into::<HtmlElement>().ok()) {
            return found.focus();
        }
    }
    Ok(())
}
