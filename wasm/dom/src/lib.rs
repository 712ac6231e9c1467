//! The little that the modules need of the document, with errors instead of `Option`s.

pub mod files;
pub mod form;
pub mod store;

use std::cell::RefCell;
use std::rc::Rc;

use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{Document, Element, Event, EventTarget, HtmlElement, Window};

/// The longest line that a page works with, in bars: longer ones would make it wait for seconds. The command line takes them.
pub const MOST_BARS: usize = 2_000;

/// What may fail in a browser.
pub type Result<T> = std::result::Result<T, JsValue>;

/// The window.
///
/// # Errors
/// An `Error` where there is none, as in a worker.
pub fn window() -> Result<Window> {
    web_sys::window().ok_or_else(|| js_sys::Error::new("there is no window").into())
}

/// The document.
///
/// # Errors
/// An `Error` where there is none, as in a worker.
pub fn document() -> Result<Document> {
    window()?.document().ok_or_else(|| js_sys::Error::new("there is no document").into())
}

/// The element of the page with this id, which has to be there and of this kind.
///
/// # Errors
/// An `Error` that names it.
pub fn by_id<T: JsCast>(id: &str) -> Result<T> {
    let found = document()?.get_element_by_id(id).and_then(|element| element.dyn_into().ok());
    found.ok_or_else(|| js_sys::Error::new(&format!("the page lacks its `{id}`")).into())
}

/// A new element.
///
/// # Errors
/// An `Error` when there is no such element, or it is of another kind.
pub fn create<T: JsCast>(name: &str) -> Result<T> {
    let element: Element = document()?.create_element(name)?;
    element.dyn_into().map_err(|_| js_sys::Error::new(&format!("`{name}` is of another kind")).into())
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

/// Calls `heard` at every event, for as long as the page lives.
///
/// # Errors
/// None in practice.
pub fn listen(target: &EventTarget, event: &str, heard: impl FnMut(Event) + 'static) -> Result<()> {
    let closure = Closure::<dyn FnMut(Event)>::new(heard);
    target.add_event_listener_with_callback(event, closure.as_ref().unchecked_ref())?;
    // The page never stops listening.
    closure.forget();
    Ok(())
}

/// Calls `heard` at every event; what goes wrong is thrown, so that the browser's console shows it.
///
/// # Errors
/// None in practice.
pub fn on<T: 'static>(
    state: &Rc<RefCell<T>>,
    target: &EventTarget,
    event: &str,
    mut heard: impl FnMut(&mut T, &Event) -> Result<()> + 'static,
) -> Result<()> {
    let state = Rc::clone(state);
    listen(target, event, move |event| {
        // What an event sets off while it is being handled, such as a new drawing, is heard by then.
        let Ok(mut state) = state.try_borrow_mut() else { return };
        if let Err(error) = heard(&mut state, &event) {
            wasm_bindgen::throw_val(error);
        }
    })
}

/// Calls `due` every so many milliseconds.
///
/// # Errors
/// None in practice.
pub fn every<T: 'static>(
    state: &Rc<RefCell<T>>,
    milliseconds: i32,
    mut due: impl FnMut(&mut T) -> Result<()> + 'static,
) -> Result<()> {
    let state = Rc::clone(state);
    let tick = Closure::<dyn FnMut()>::new(move || {
        let Ok(mut state) = state.try_borrow_mut() else { return };
        if let Err(error) = due(&mut state) {
            wasm_bindgen::throw_val(error);
        }
    });
    let call = tick.as_ref().unchecked_ref();
    window()?.set_interval_with_callback_and_timeout_and_arguments_0(call, milliseconds)?;
    // The page never stops.
    tick.forget();
    Ok(())
}
