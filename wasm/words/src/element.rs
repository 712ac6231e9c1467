//! The element, for readers and for scripts.

use std::fmt::Display;

pub const FIGURES: &str = "Pick a rhythm, then tap a half-bar";
pub const SPELLINGS: &str = "Notation";
pub const FIX_THEN_RECAST: &str = "fix the mistake in the text first, then recast.";
pub const PLAIN_AGAIN: &str = "plain again";
pub const TEXT_HAS_A_MISTAKE: &str = "fix the mistake in the text first";
pub const BEING_DRAWN: &str = "the example is being drawn";
pub const WIDTHS: &str =
    "the width must be 20 to 1000 staff spaces; leave it out to use all the room there is";
pub const NO_MUSIC: &str = "there is no music in this text";
pub const TEMPO_BEYOND: &str = "this tempo is out of range";

pub fn problem(line: impl Display, column: impl Display, message: impl Display) -> String {
    format!("Line {line}, column {column}: {message}.")
}

pub fn no_view(view: impl Display) -> String {
    format!("there is no view `{view}`: use both, staff, tab or rhythm")
}

pub fn no_words(words: impl Display) -> String {
    format!("there are no words `{words}`: use us or uk")
}

pub fn no_spelling(spelling: impl Display, names: impl Display) -> String {
    format!("there is no spelling `{spelling}`: use one of {names}")
}

pub fn no_figure(name: impl Display, names: impl Display) -> String {
    format!("there is no figure `{name}`: use one of {names}, or define it in the text")
}
