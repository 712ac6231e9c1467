//! What a reader of the page opens when the line is there: exercises made of it, and practice.
//!
//! A module of its own, so that an example in a lesson page need not fetch it. The two share the page and nothing else: this one reads the
//! line's text, writes into it as a reader does, and hears when the music is drawn anew.

mod keep;
mod lesson;
mod make;
mod practice;
pub mod supply;

use std::cell::RefCell;
use std::rc::Rc;

use halfbar_dom::Result;
use js_sys::Function;
use wasm_bindgen::prelude::*;

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

/// An error of the core as a JavaScript `Error`.
fn thrown(error: impl Into<halfbar_core::Error>) -> JsValue {
    let error = error.into();
    js_sys::Error::new(&error.to_string()).into()
}
