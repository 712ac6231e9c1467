//! MusicXML 4.0, the standard of the W3C Music Notation Community Group.

mod error;
mod read;
mod write;

pub use error::{MusicXmlError, Spot};
pub(super) use read::{Score, read};
#[allow(unused_imports, reason = "for the reader")]
pub(super) use write::TEXT_FIELD;
pub use write::{MOST_DIVISIONS, Staves, compressed, divisions, document};
