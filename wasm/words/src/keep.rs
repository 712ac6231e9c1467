//! Saved lines, sharing and export.

use std::fmt::Display;

pub const STORAGE_IS_FULL: &str = "Browser storage is full. Export this line so that it isn't lost.";
pub const KEPT_UNREADABLE: &str =
    "Your saved lines could not be read. They were set aside; nothing was deleted.";
pub const CHANGED_ELSEWHERE: &str =
    "This line was also changed in another window. Both versions are kept; yours continues as a copy.";
pub const LINK_UNREADABLE: &str = "the line in this link can't be read: the link was cut off or changed";
pub const FILE_UNREADABLE: &str = "This file can't be opened: it is larger than 20 MB, or not text.";
pub const FILE_IS_NOT_A_LINE: &str = "This file isn't the text of a line, or is too long for the page.";
pub const FILE_OPEN: &str = "File opened. Its line is now saved in this browser.";
pub const DELETED: &str = "Deleted. It stays under Deleted lines, below your lines.";
pub const RESTORE: &str = "Restore";
pub const BACK: &str = "Back to the line before";
pub const EMPTY_BIN: &str = "Delete them for good";
pub const BIN_EMPTIED: &str = "The deleted lines are gone.";
pub const SAVED: &str = "Saved";
pub const NOT_SAVED: &str = "Not saved";
pub const RESTORED: &str = "Restored.";
pub const FIX_FIRST: &str = "Fix the mistake in the text first.";
pub const NO_PICTURE: &str = "this browser can't make a PNG. Save as SVG instead";
pub const LINK_COPIED: &str = "Link copied. It contains the line itself; nothing was uploaded.";
pub const COPY_THE_LINK: &str = "Copy the link from the field. It contains the line itself.";
pub const TITLE: &str = "title";
pub const OPEN: &str = "Open";
pub const DUPLICATE: &str = "Duplicate";
pub const DELETE: &str = "Delete";
pub const DRAWS_NO_PICTURES: &str = "this browser can't draw pictures";
pub const PICTURE_TOO_LARGE: &str = "the picture is too large";

pub fn long_for_a_link(letters: impl Display, longest_link: impl Display) -> String {
    format!(
        "this line is too long for a link: {letters} characters, and at most {longest_link} are safe. Save the text as a file instead"
    )
}

pub fn lines_read(count: impl Display) -> String {
    format!("{count} lines read. Lines that you already had are not duplicated.")
}

pub fn delete_for_good(count: usize) -> String {
    if count == 1 { "Delete 1 line for good".into() } else { format!("Delete {count} lines for good") }
}

pub fn saved(file: impl Display) -> String {
    format!("Saved as {file}.")
}

pub fn back_up(count: impl Display) -> String {
    format!(
        "{count} lines aren't backed up yet. A browser can lose what it stores, so back them up now and then."
    )
}

pub fn button(label: impl Display, title: impl Display) -> String {
    format!("{label} {title}")
}
