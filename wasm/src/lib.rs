//! Halfbar's page, as a module for the browser.
//!
//! [`start`] brings the page in `www` to life: `page` is the line with its pads and its text, `practice` hears and times it, `make`
//! writes exercises, `worksheet` puts lines on paper, and `keep` has the browser keep them. Each stands alone; `app` has all of them,
//! hands them what a reader does, and tells one what has come of another. Around them, `parts` opens one part of the page at a time, `keys`
//! has the keyboard shortcuts, and `help` explains the text. Whatever is musical is decided in `halfbar-core`.

mod app;
mod help;
mod keep;
mod keys;
mod make;
mod material;
mod page;
mod parts;
mod practice;
mod worksheet;

use wasm_bindgen::prelude::*;

/// Brings the page to life. Called once, when the module has loaded. `worklet` is the address of the script that hands over what a
/// microphone hears; `files` has the module for files of other programs do something,
/// by name, and gives a promise.
///
/// # Errors
/// A JavaScript `Error` that names what the page lacks.
#[wasm_bindgen]
pub fn start(worklet: String, files: js_sys::Function) -> Result<(), JsValue> {
    app::start(worklet, files)
}
