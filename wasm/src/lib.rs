//! Halfbar in the browser.
//!
//! The behaviour of the page in `www`: [`start`], and [`picture`] for the module that is fetched later. Whatever is musical is decided in
//! `halfbar-core`.

mod page;

use halfbar_core::engrave::{Layout, Width};
use halfbar_core::{Piece, read, write};
use wasm_bindgen::prelude::*;

/// Brings the page to life. Called once, when the module has loaded.
///
/// # Errors
/// A JavaScript `Error` that names what the page lacks.
#[wasm_bindgen]
pub fn start() -> Result<(), JsValue> {
    page::start()
}

/// The picture of a line's text as SVG, so many staff spaces wide, with its title and tempo or without; nothing for a text that is wrong.
#[wasm_bindgen]
pub fn picture(text: &str, width: f64, head: bool) -> Option<String> {
    let reading = read::text(text);
    let line = reading.line.filter(|_| reading.diagnostics.is_empty())?;
    let piece = Piece::new(line, reading.casting).ok()?;
    Some(write::svg::document(&piece.engrave(&Layout {
        width: Width::nearest(width),
        head,
        words: page::words(),
        ..Layout::default()
    })))
}
