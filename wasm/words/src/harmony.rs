//! What is in a line, and where it could be recast.

use std::fmt::Display;

pub const TAP_A_NAME: &str = "Tap a name, here or in the music, for its reasons and for other readings.";
pub const NOTHING_NAMED: &str = "There is nothing in this line that has a name.";
pub const OTHER_READINGS: &str = "Other readings";
pub const USE_THIS_NAME: &str = "Use this name";
pub const OWN_WORDS: &str = "Or call it";
pub const CALLED_BY_YOU: &str = "You named it this.";
pub const AS_FOUND: &str = "Go back to the suggested name";
pub const EMPTY_WORDS: &str = "write the name first.";
pub const BEYOND_THE_LINE: &str = "this name can't be kept in the text.";

/// A place, and what starts there.
pub fn named(place: impl Display, says: impl Display) -> String {
    format!("{place} {says}")
}

pub fn doubts(doubts: &[&str]) -> String {
    format!("Less obvious because {}.", doubts.join("; "))
}

pub fn other(says: impl Display, more: u32, reasons: &[&str]) -> String {
    match (more, reasons) {
        (0, []) => format!("{says} (just as likely)"),
        (0, reasons) => format!("{says} (just as likely: {})", reasons.join("; ")),
        (_, []) => format!("{says} (less likely)"),
        (_, reasons) => format!("{says} (less likely: {})", reasons.join("; ")),
    }
}

pub fn called(says: impl Display) -> String {
    format!("named {says}.")
}

pub const RECAST_IT: &str = "Recast it";

/// Why a half-bar could be recast, and what speaks against it.
pub fn suggestion(place: impl Display, reasons: &[String], against: &[String]) -> String {
    let reasons = match reasons {
        [] => format!("{place}."),
        reasons => format!("{place}: {}.", reasons.join("; ")),
    };
    match against {
        [] => reasons,
        against => format!("{reasons} Against it: {}.", against.join("; ")),
    }
}

pub fn suggested(count: usize) -> String {
    match count {
        1 => "1 half-bar to recast, marked in the music.".into(),
        count => format!("{count} half-bars to recast, marked in the music."),
    }
}

pub fn taken(count: usize) -> String {
    match count {
        1 => "recast.".into(),
        count => format!("{count} half-bars are recast. Undo takes them all back."),
    }
}
