//! MusicXML 4.0, the standard of the W3C Music Notation Community Group.

mod error;
mod own;
mod read;
mod write;

pub use error::{MusicXmlError, Spot};
pub(super) use read::{Score, read};
pub use write::{MOST_DIVISIONS, Staves, compressed, divisions, document};
