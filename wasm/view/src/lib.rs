//! What the page and the element share.
//!
//! [`Sheet`] is the music with its pads, in whatever element it is given; [`Choices`] are the figures and spellings to choose from, with
//! their [`Pictures`]. Whatever is musical is decided in `halfbar-core`.

mod choices;
mod pictures;
mod piece;
mod reader;
mod sheet;
mod words;

pub use choices::{Choices, spelling_for};
pub use pictures::{Pictures, Rhythm};
pub use piece::{Problem, layout, piece_of, recast, restore, thrown};
pub use reader::Reader;
pub use sheet::{Go, Look, Sheet, pad_of};
pub use words::{capital, left_out, named, own, spoken};
