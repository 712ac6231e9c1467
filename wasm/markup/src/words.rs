//! Rhythms and taps in words.

use halfbar_core::Piece;
use halfbar_core::recast::{Figure, Spelling};
use halfbar_core::time::Onset;
use halfbar_words::view as says;

/// Words of the reader's own inside a sentence.
pub fn own(text: &str) -> String {
    format!("\u{201C}{text}\u{201D}")
}

/// A rhythm in words. The name of a user-defined figure is quoted.
pub fn named(figure: &Figure, spelling: Spelling) -> String {
    let name = if figure.label().is_empty() { own(figure.name()) } else { figure.label().into() };
    match figure.spellings() {
        [_] => name,
        _ => says::in_notation(name, spelling.label()),
    }
}

/// The notes that the window at `start` leaves out, as the rest of a sentence; nothing when it leaves out none.
pub fn left_out(piece: &Piece, start: Onset) -> String {
    let window = piece.timed().windows.iter().find(|window| window.span.start() == start);
    let names: Vec<String> = (window.iter().flat_map(|window| &window.left_out))
        .filter_map(|note| piece.line().events().get(note.0 as usize)?.pitch)
        .map(|pitch| pitch.to_string())
        .collect();
    match names.is_empty() {
        true => String::new(),
        false => says::left_out(names.join(", ")),
    }
}

/// A sentence with its first letter large. These modules' own words start with plain letters.
pub fn capital(text: &str) -> String {
    let mut text = text.to_string();
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    text
}
