//! MIDI -> a song.

use super::error::MidiError;
use crate::exchange::choice::{Choice, PartContents};
use crate::exchange::draft::Draft;
use crate::exchange::error::Result;

/// A song as it was read.
#[derive(Clone, Debug)]
pub(crate) struct Song {}

pub(crate) fn read(_bytes: &[u8]) -> Result<Song> {
    Err(MidiError::Empty.into())
}

impl Song {
    pub(crate) fn title(&self) -> &str {
        ""
    }

    pub(crate) fn parts(&self) -> Vec<PartContents> {
        Vec::new()
    }

    pub(crate) fn take(&self, _choice: &Choice) -> Result<Draft> {
        Err(MidiError::Empty.into())
    }
}
