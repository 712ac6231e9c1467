//! MIDI -> a song.

use super::error::MidiError;
use crate::exchange::assemble::Draft;
use crate::exchange::contents::{Choice, PartContents};
use crate::exchange::error::Result;

/// A song as it was read.
#[derive(Clone, Debug)]
pub(in crate::exchange) struct Song {}

pub(in crate::exchange) fn read(_bytes: &[u8]) -> Result<Song> {
    Err(MidiError::Empty.into())
}

impl Song {
    pub(in crate::exchange) fn title(&self) -> &str {
        ""
    }

    pub(in crate::exchange) fn parts(&self) -> Vec<PartContents> {
        Vec::new()
    }

    pub(in crate::exchange) fn take(&self, _choice: &Choice) -> Result<Draft> {
        Err(MidiError::Empty.into())
    }
}
