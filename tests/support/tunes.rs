//! Tunes as the scripts of the outside checks print them.

use halfbar_core::line::Line;
use halfbar_core::read;
use serde::Deserialize;

use crate::outside;

/// A tune as line text.
#[derive(Deserialize)]
pub struct Tune {
    /// The collection and a running number.
    pub name: String,
    /// Its notes.
    pub text: String,
    /// Whether it is eighth notes throughout.
    #[serde(default)]
    pub plain: bool,
}

/// What a script prints, tune by tune.
pub fn tunes(script: &str, arguments: &[&str]) -> Vec<Tune> {
    outside(script, arguments, "").iter().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// Reads a line in which nothing is wrong.
pub fn line_of(text: &str) -> Line {
    let reading = read::text(text);
    assert!(reading.diagnostics.is_empty(), "{}\n{text}", reading.diagnostics[0].render(text));
    reading.line.unwrap()
}
