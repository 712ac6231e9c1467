//! What a reader of the page opens when the line is there: exercises made of it, and practice.
//!
//! A module of its own, so that an example in a lesson page need not fetch it. The two share the page and nothing else: this one reads the
//! line's text, writes into it as a reader does, and hears when the music is drawn anew.

mod form;
mod keep;
mod lesson;
mod make;
mod practice;
mod store;

use std::cell::RefCell;
use std::rc::Rc;

use halfbar_dom::{Result, listen, window};
use js_sys::Function;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{Event, EventTarget};

use lesson::Lesson;

/// Brings the parts of the page to life that this module is for. Called once, when a reader has opened one of them. `draw` gives the
/// picture of a line's text, of a width in staff spaces, with its head or without, as SVG; `worklet` is the address of the script that hands over what a microphone hears.
///
/// # Errors
/// A JavaScript `Error` that names what the page lacks.
#[wasm_bindgen]
pub fn open(draw: Function, worklet: String) -> Result<()> {
    let lesson = Rc::new(RefCell::new(Lesson::new()?));
    make::open(&lesson)?;
    keep::open(&lesson, draw.clone())?;
    practice::open(&lesson, draw, worklet)
}

/// Calls `heard` at every event; what goes wrong is thrown, so that the browser's console shows it.
fn on<T: 'static>(
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
fn every<T: 'static>(
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

/// An error of the core as a JavaScript `Error`.
fn thrown(error: halfbar_core::Error) -> JsValue {
    js_sys::Error::new(&error.to_string()).into()
}
