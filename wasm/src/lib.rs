//! Halfbar in the browser.
//!
//! Two things and nothing else: [`Piece`], what a script can ask of a line, and [`start`], the behaviour of the page in `www`.
//! Whatever is musical is decided in `halfbar-core`.

mod page;

use wasm_bindgen::prelude::*;

pub use halfbar_view::{Piece, check};

/// Brings the page to life. Called once, when the module has loaded.
///
/// # Errors
/// A JavaScript `Error` that names what the page lacks.
#[wasm_bindgen]
pub fn start() -> Result<(), JsValue> {
    page::start()
}
