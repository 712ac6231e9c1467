//! Tunes, as printed by the scripts of the outside checks.

use halfbar_core::line::Line;
use halfbar_core::read;
use serde::Deserialize;

use crate::outside;

/// A tune in the text format.
#[derive(Deserialize)]
pub struct Tune {
    /// The collection and a running number.
    pub name: String,
    /// Its notes.
    pub text: String,
    /// Whether it is all eighth notes.
    #[serde(default)]
    pub plain: bool,
}

/// The tunes that a script prints.
pub fn tunes(script: &str, arguments: &[&str]) -> Vec<Tune> {
    outside(script, arguments, "").iter().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// Reads a line without mistakes.
pub fn line_of(text: &str) -> Line {
    let reading = read::text(text);
    assert!(reading.diagnostics.is_empty(), "{}\n{text}", reading.diagnostics[0].render(text));
    reading.line.unwrap()
}
