//! What the page and the element share.
//!
//! [`Sheet`] is the music with its pads, in whatever element it is given; [`Choices`] are the figures and spellings to choose from, with
//! their [`Pictures`]. Their markup is `halfbar-markup`'s. Whatever is musical is decided in `halfbar-core`.

mod choices;
pub mod names;
mod pictures;
mod piece;
mod reader;
mod sheet;

pub use choices::Choices;
pub use pictures::{Pictures, Rhythm};
pub use piece::{
    Problem, Undrawable, Worded, coded, layout, piece_of, recast, record, restore, thrown, unworded,
};
pub use reader::Reader;
pub use sheet::{Go, Mark, Sheet, pad_of};
