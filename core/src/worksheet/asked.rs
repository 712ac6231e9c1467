//! What a worksheet should be like.

use crate::dialect::Dialect;
use crate::engrave::View;

use super::page::Format;

/// What a worksheet should be like.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Worksheet {
    /// The title.
    pub title: String,
    /// The teacher or studio; may be empty.
    pub workshop: String,
    /// The paper size.
    pub format: Format,
    /// What each system shows.
    pub view: View,
    /// Whether the fretting hand's fingers go under each system.
    pub fingers: bool,
    /// Whether there are ruled lines for notes after each example.
    pub notes: bool,
    /// Whether recast lines are given in their original rhythm, their windows marked, with blank staves to
    /// recast them on.
    pub recast_yourself: bool,
    /// Whether there is an answer key that shows what was to be recast; none if nothing was.
    pub answers: bool,
    /// The dialect for length names.
    pub words: Dialect,
}

impl Default for Worksheet {
    /// Examples as they are, on A4.
    fn default() -> Worksheet {
        Worksheet {
            title: "Worksheet".into(),
            workshop: String::new(),
            format: Format::default(),
            view: View::default(),
            fingers: false,
            notes: false,
            recast_yourself: false,
            answers: false,
            words: Dialect::American,
        }
    }
}
