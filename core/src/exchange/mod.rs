//! Files of other programs: MusicXML 4.0 and Standard MIDI Files, in and out.
//!
//! Out, a [`Piece`](crate::Piece) becomes a file: [`musicxml::document`], [`musicxml::compressed`] and [`midi::document`]. In, [`open`] finds what is
//! in a file, whatever its name, and [`Contents::take`] makes one voice of it a line, with a list of what was left out.
//!
//! ```text
//! Piece --musicxml--> MusicXML --container--> .mxl
//! Piece --midi-----> MIDI
//! bytes --container--> MusicXML or MIDI --musicxml, midi--> Contents --take--> Draft --assemble--> Imported
//! ```

mod error;
mod remark;
mod container;
mod contents;
mod hands;
mod own;
mod assemble;
mod beginning;
pub mod midi;
pub mod musicxml;

pub use assemble::Imported;
pub use container::ContainerError;
pub use contents::{Choice, Contents, Format, Keep, PartContents, StaffContents, VoiceContents, open};
pub use error::{ExchangeError, Result};
pub use remark::Remark;
