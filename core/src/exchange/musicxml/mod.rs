//! MusicXML 4.0, the standard of the W3C Music Notation Community Group.

mod error;
mod read;
mod write;

pub use error::{MusicXmlError, Spot};
pub(super) use read::{Score, read};
pub use write::{Staves, compressed, document};
