//! MusicXML -> a score.

use super::error::MusicXmlError;
use crate::exchange::assemble::Draft;
use crate::exchange::contents::{Choice, PartContents};
use crate::exchange::error::Result;

/// A score as it was read.
#[derive(Clone, Debug)]
pub(in crate::exchange) struct Score {}

pub(in crate::exchange) fn read(_text: &str) -> Result<Score> {
    Err(MusicXmlError::Empty.into())
}

impl Score {
    pub(in crate::exchange) fn title(&self) -> &str {
        ""
    }

    pub(in crate::exchange) fn parts(&self) -> Vec<PartContents> {
        Vec::new()
    }

    pub(in crate::exchange) fn take(&self, _choice: &Choice) -> Result<Draft> {
        Err(MusicXmlError::Empty.into())
    }
}
