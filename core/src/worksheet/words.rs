//! What a worksheet says.

pub(crate) const NAME: &str = "Name";
pub(crate) const DATE: &str = "Date";
pub(crate) const TASK: &str = "Recast the marked beats yourself:";
pub(crate) const NAMES: &str = "Under each bracket, write what its notes are:";
pub(crate) const NOTES: &str = "Notes";
pub(crate) const ANSWERS: &str = "Answer key";
pub(crate) const EMPTY: &str = "Blank staves to write on.";
