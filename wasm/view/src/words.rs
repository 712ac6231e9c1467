//! Rhythms and taps in words.

use halfbar_core::Piece;
use halfbar_core::recast::{Figure, Spelling};
use halfbar_core::time::Onset;

/// What a spelling is called where there is room for words.
pub fn spoken(spelling: Spelling) -> &'static str {
    match spelling {
        Spelling::Bracket => "under one bracket",
        Spelling::Tied => "beat by beat, tied",
        Spelling::Plain => "as it falls",
        Spelling::Grouped => "beamed by the group",
    }
}

/// A rhythm in words.
pub fn named(figure: &Figure, spelling: Spelling) -> String {
    match figure.spellings() {
        [_] => figure.name().into(),
        _ => format!("{}, {}", figure.name(), spoken(spelling)),
    }
}

/// The notes that the window at `start` leaves out, as the rest of a sentence; nothing when it leaves out none.
pub fn left_out(piece: &Piece, start: Onset) -> String {
    let window = piece.timed.windows.iter().find(|window| window.span.start() == start);
    let names: Vec<String> = (window.iter().flat_map(|window| &window.left_out))
        .filter_map(|note| piece.line.events().get(note.0 as usize)?.pitch)
        .map(|pitch| pitch.to_string())
        .collect();
    match names.is_empty() {
        true => String::new(),
        false => format!(". Left out: {}; restoring brings them back", names.join(", ")),
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
