//! What is said of the lines that a browser keeps, and of handing one on.

use std::fmt::Display;

pub const NOTHING_MORE_KEPT: &str =
    "This browser keeps nothing more here. Save the text, so that it is not lost.";
pub const KEPT_UNREADABLE: &str =
    "What was kept here could not be read. It is put aside, and nothing was deleted.";
pub const CHANGED_ELSEWHERE: &str =
    "This line was changed in another window. Both are kept: yours goes on as a copy.";
pub const LINK_UNREADABLE: &str = "the line in this link can't be read: it was cut off or changed on its way";
pub const FILE_UNREADABLE: &str = "This file can't be opened: it is larger than 20 MB, or no text.";
pub const FILE_IS_NO_LINE: &str = "This file is no line's text, or too long for a page.";
pub const FILE_OPEN: &str = "The file is open. Its line is kept here from now on.";
pub const DELETED: &str = "Deleted, until you bring it back.";
pub const BACK: &str = "It is back.";
pub const MEND_FIRST: &str = "The text has a mistake; mend it first.";
pub const NO_PICTURE: &str = "This browser can't make the picture; save it as SVG.";
pub const LINK_COPIED: &str =
    "The link is copied. The line is in the link itself, and is sent to nobody else.";
pub const COPY_THE_LINK: &str = "Copy the link from the field. The line is in the link itself.";
pub const TITLE: &str = "title";
pub const OPEN: &str = "Open";
pub const COPY: &str = "Copy";
pub const DELETE: &str = "Delete";
pub const DRAWS_NO_PICTURES: &str = "this browser draws no pictures";
pub const PICTURE_TOO_LARGE: &str = "the picture is too large";

pub fn long_for_a_link(letters: impl Display, longest_link: impl Display) -> String {
    format!(
        "this line is too long for a link: {letters} letters, where {longest_link} are safe; save the text as a file instead"
    )
}

pub fn lines_read(count: impl Display) -> String {
    format!("{count} lines read; what was here already is here once.")
}

pub fn button(label: impl Display, title: impl Display) -> String {
    format!("{label} {title}")
}
