//! What a worksheet should be like.

use crate::dialect::Dialect;
use crate::engrave::View;
use crate::naming::by_name;

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
    /// Which names of what is in the lines are on it, if the examples have any: see [`Piece::with_names`](crate::Piece::with_names).
    pub names: SheetNames,
    /// Whether there are ruled lines for notes after each example.
    pub notes: bool,
    /// Whether recast lines are given in their original rhythm, their windows marked, with blank staves to
    /// recast them on.
    pub recast_yourself: bool,
    /// Whether there is an answer key that shows what was to be recast and named; none if nothing was.
    pub answers: bool,
    /// The dialect for length names.
    pub words: Dialect,
}

/// Which names of what is in a line are on a worksheet.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum SheetNames {
    /// Those of the lines whose text asks for them.
    #[default]
    AsWritten,
    /// All of them.
    Printed,
    /// All brackets, each with a line to write its name on. The names are in the answer key.
    Blank,
}

impl SheetNames {
    /// All of them, in the order they are offered.
    pub const ALL: [SheetNames; 3] = [SheetNames::AsWritten, SheetNames::Printed, SheetNames::Blank];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            SheetNames::AsWritten => "as-written",
            SheetNames::Printed => "printed",
            SheetNames::Blank => "blank",
        }
    }
}

by_name!(SheetNames, "a way to print names");

impl Default for Worksheet {
    /// Examples as they are, on A4.
    fn default() -> Worksheet {
        Worksheet {
            title: "Worksheet".into(),
            workshop: String::new(),
            format: Format::default(),
            view: View::default(),
            fingers: false,
            names: SheetNames::default(),
            notes: false,
            recast_yourself: false,
            answers: false,
            words: Dialect::American,
        }
    }
}
