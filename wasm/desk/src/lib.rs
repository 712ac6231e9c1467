//! What a reader of the page opens when the line is there: exercises made of it, and practice.
//!
//! A module of its own, so that an example in a lesson page need not fetch it. The two share the page and nothing else: this one reads the
//! line's text, writes into it as a reader does, and hears when the music is drawn anew.

mod lesson;
mod make;

use std::cell::RefCell;
use std::rc::Rc;

use halfbar_dom::{Result, by_id, listen};
use wasm_bindgen::prelude::*;
use web_sys::{Element, EventTarget};

use lesson::Lesson;

/// Brings the parts of the page to life that this module is for. Called once, when a reader has opened one of them.
///
/// # Errors
/// A JavaScript `Error` that names what the page lacks.
#[wasm_bindgen]
pub fn open() -> Result<()> {
    let lesson = Rc::new(RefCell::new(Lesson::new()?));
    make::open(&lesson)?;
    let sheet: Element = by_id("sheet")?;
    on(&lesson, &sheet, "drawn", |lesson| {
        lesson.read();
        Ok(())
    })
}

/// Calls `heard` at every event; what goes wrong is thrown, so that the browser's console shows it.
fn on<T: 'static>(
    state: &Rc<RefCell<T>>,
    target: &EventTarget,
    event: &str,
    mut heard: impl FnMut(&mut T) -> Result<()> + 'static,
) -> Result<()> {
    let state = Rc::clone(state);
    listen(target, event, move |_| {
        // What an event sets off while it is being handled, such as a new drawing, is heard by then.
        let Ok(mut state) = state.try_borrow_mut() else { return };
        if let Err(error) = heard(&mut state) {
            wasm_bindgen::throw_val(error);
        }
    })
}

/// What stands against something, as a sentence.
fn sentence(why: &str) -> String {
    let mut sentence = format!("{why}.");
    if let Some(first) = sentence.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    sentence
}
