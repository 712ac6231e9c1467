//! Help.

pub const TRIED: &str = "The example is a new line. The one before it is under Your lines.";
