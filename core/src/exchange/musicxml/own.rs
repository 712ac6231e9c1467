//! What is this project's own in a file.

/// The name of the miscellaneous field that has a line's text.
pub(super) const TEXT_FIELD: &str = "halfbar-text";
