//! What the element says, to its reader and to scripts.

use std::fmt::Display;

pub const FIGURES: &str = "Tap a pad to write this figure";
pub const SPELLINGS: &str = "spelled";
pub const MEND_THEN_RECAST: &str = "the text has a mistake; mend it first, then recast.";
pub const PLAIN_AGAIN: &str = "plain again";
pub const TEXT_HAS_A_MISTAKE: &str = "the text has a mistake; mend it first";
pub const BEING_DRAWN: &str = "the example is being drawn";
pub const WIDTHS: &str = "the width is 20 to 1000 staff spaces, or as wide as there is room for without it";
pub const NO_MUSIC: &str = "there is no music in this text";
pub const TEMPO_BEYOND: &str = "this tempo is beyond what a line can have";

pub fn problem(line: impl Display, column: impl Display, message: impl Display) -> String {
    format!("Line {line}, column {column}: {message}.")
}

pub fn no_view(view: impl Display) -> String {
    format!("there is no view `{view}`; there are both, staff, tab and rhythm")
}

pub fn no_words(words: impl Display) -> String {
    format!("there are no words `{words}`; there are us and uk")
}

pub fn no_spelling(spelling: impl Display, names: impl Display) -> String {
    format!("there is no spelling `{spelling}`; there are {names}")
}

pub fn no_figure(name: impl Display, names: impl Display) -> String {
    format!("there is no figure `{name}`; there are {names}, and those that the text adds")
}
