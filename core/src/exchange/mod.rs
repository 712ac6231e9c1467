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

mod container;
mod error;
mod remark;
mod choice;
mod draft;
mod beginning;
pub mod midi;
pub mod musicxml;
mod hands;
mod own;
mod assemble;
mod contents;

pub use assemble::Imported;
pub use choice::{Choice, Format, Keep, PartContents, StaffContents, VoiceContents};
pub use container::ContainerError;
pub use contents::{Contents, open};
pub use error::{ExchangeError, Result};
pub use remark::Remark;
