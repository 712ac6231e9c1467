//! The music and the choice of rhythms as the page shows them, as markup.
//!
//! Nothing here needs a browser: the site is built with it, so that the first line is there before any module and without script, and the
//! modules go on from there with the same sizes and the same words.

mod choices;
mod music;
mod words;

pub use choices::{figure, figures, picture, spelling, spelling_for, spellings};
pub use music::{Look, Room, first_look, label, music, row_label};
pub use words::{capital, left_out, named, own};

/// A text whose signs can't be read as markup, in an element or an attribute.
pub fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
