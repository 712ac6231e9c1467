//! MusicXML and MIDI files.

use std::fmt::Display;

pub const OPENING: &str = "Opening the file …";
pub const NO_NOTES: &str = "there are no notes in this file";
pub const TOP_NOTES: &str = "top notes";
pub const BOTTOM_NOTES: &str = "bottom notes";
pub const KEY: &str = "Key";
pub const OPEN_IN_THIS_KEY: &str = "Open in this key";
pub const MAJOR: &str = "major";
pub const MINOR: &str = "minor";

pub fn part(number: impl Display) -> String {
    format!("Part {number}")
}

pub fn staff(number: impl Display) -> String {
    format!(", staff {number}")
}

pub fn voice(name: impl Display) -> String {
    format!(", voice {name}")
}

/// A voice, or the top or bottom notes of one.
pub fn label(place: impl Display, which: &str, notes: usize) -> String {
    let notes = if notes == 1 { "1 note".to_string() } else { format!("{notes} notes") };
    match which {
        "" => format!("{place}: {notes}"),
        which => format!("{place}: {which} ({notes} in all)"),
    }
}

pub fn choose(file: impl Display) -> String {
    format!("What should be opened from {}? Each choice becomes a new line.", own(file))
}

pub fn key(tonic: impl Display, mode: impl Display) -> String {
    format!("{tonic} {mode}")
}

pub fn octaves(octaves: i8) -> String {
    let where_to = if octaves > 0 { "higher" } else { "lower" };
    match octaves.unsigned_abs() {
        1 => format!("Open it an octave {where_to}"),
        many => format!("Open it {many} octaves {where_to}"),
    }
}

/// What came of opening a file.
pub fn opened(name: impl Display, bars: usize, remarks: usize) -> String {
    let bars = if bars == 1 { "1 bar".to_string() } else { format!("{bars} bars") };
    match remarks {
        0 => format!("Opened {name}: {bars}."),
        1 => format!("Opened {name}: {bars}, 1 thing left out or changed."),
        many => format!("Opened {name}: {bars}, {many} things left out or changed."),
    }
}

pub fn left_out(name: impl Display) -> String {
    format!("Left out of {name}, or changed")
}

pub fn not_opened(file: impl Display, why: impl Display) -> String {
    format!("{} can't be opened: {why}", own(file))
}

/// The name of a file in a sentence.
pub fn own(file: impl Display) -> String {
    format!("\u{201c}{file}\u{201d}")
}

pub fn no_choice(index: impl Display) -> String {
    format!("there is no choice {index}")
}

pub fn no_click(click: impl Display) -> String {
    format!("there is no click `{click}`")
}

pub fn no_staves(view: impl Display) -> String {
    format!("there is no view `{view}` in MusicXML: use both or staff")
}

pub fn no_key(key: impl Display) -> String {
    format!("there is no key `{key}`")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_are_sentences() {
        assert_eq!(opened("Fog bell", 12, 3), "Opened Fog bell: 12 bars, 3 things left out or changed.");
        assert_eq!(opened("Fog bell", 1, 1), "Opened Fog bell: 1 bar, 1 thing left out or changed.");
        assert_eq!(opened("Fog bell", 2, 0), "Opened Fog bell: 2 bars.");
        assert_eq!(label("Piano, staff 1", TOP_NOTES, 84), "Piano, staff 1: top notes (84 notes in all)");
        assert_eq!(label("Guitar", "", 1), "Guitar: 1 note");
        assert_eq!([octaves(1), octaves(-2)], ["Open it an octave higher", "Open it 2 octaves lower"]);
    }
}
