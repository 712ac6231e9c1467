//! The music, its fingering and its text.

use std::fmt::Display;

use crate::shared::seen;

pub const WITH_TIES: &str = "With ties";
pub const UNDER_A_BRACKET: &str = "Under one bracket";
pub const THE_SAME: &str = "the same sound";
pub const YES: &str = "yes";
pub const NO: &str = "no";
pub const NO_OTHER_FINGERING: &str = "there is no other fingering that differs by more than a note or two.";
pub const ORIGINAL_FINGERING: &str = "as it is now";
pub const OPEN_STRINGS: &str = "Open strings";
pub const SHIFT: &str = "shift";
pub const SHIFTS: &str = "shifts";
pub const STRETCH: &str = "stretch";
pub const STRETCHES: &str = "stretches";
pub const INSIDE_CROSSING: &str = "inside crossing";
pub const INSIDE_CROSSINGS: &str = "inside crossings";
pub const OUTSIDE_CROSSING: &str = "outside crossing";
pub const OUTSIDE_CROSSINGS: &str = "outside crossings";
pub const DONE_AGAIN: &str = "redone.";
pub const UNDONE: &str = "undone.";
pub const TAP_TO_RECAST: &str = "tap a half-bar to recast it";
pub const PUT_BACK: &str = "Put it back";
pub const FIX_THEN_RECAST: &str = "fix the mistake in the text first, then recast.";
pub const PLAIN_AGAIN: &str = "plain again";
pub const ONE_PIN: &str = "1 pin";
pub const FIX_THEN_TAP: &str = "fix the mistake in the text first, then tap the neck.";
pub const SAY_WHERE_FIRST: &str =
    "first tap a note in the music, or put the cursor in the text: that is the note the neck changes.";
pub const SELECT_A_NOTE_FIRST: &str = "select a note in the music first.";
pub const NO_STRING_THERE: &str = "this note can't be played on the next string.";
pub const ANOTHER_PITCH: &str =
    "another note sounds there. To change the selected one, choose “changes its pitch” beside the neck.";
pub const FINGERINGS_LISTED: &str = "choose a fingering to see it in the music and on the neck.";
pub const FITS_NOWHERE: &str =
    "this figure doesn't fit anywhere in the selected bars, so nothing has changed.";
pub const NOTHING_FOUND: &str =
    "no figure is written out in this text; half-bars that are already recast stay as they are.";
pub const ONE_FIGURE: &str = "1 figure";
pub const AS_IT_STOOD: &str = "The text has a mistake. This is the music before it.";
pub const CHOOSE_A_PLACE: &str = "choose a bar and a beat";
pub const SELECTION_ENDS_FIRST: &str = "the selection ends before it starts";
pub const NOWHERE: &str = "not at all";
pub const ONCE: &str = "once";
pub const SHORTENS: &str = "shortens";
pub const PUSHES_OUT: &str = "pushes out";
pub const NOTHING_LOST: &str = "no notes are lost";

pub fn with_the_other(other: impl Display, how: impl Display) -> String {
    format!("{other}: {how}.")
}

pub fn away_and_heard(ms: impl Display) -> String {
    format!("{ms} ms different, enough to hear")
}

pub fn away_unheard(ms: impl Display) -> String {
    format!("{ms} ms different, too little to hear")
}

pub fn at_tempo(tempo: impl Display, swing: impl Display) -> String {
    format!("At {tempo} quarter notes per minute with a swing of {swing} : 1")
}

pub fn no_two_spellings(lead: impl Display) -> String {
    format!("{lead}, nothing in this line can be written both with a bracket and with ties.")
}

pub fn two_spellings_sound(lead: impl Display, windows: impl Display) -> String {
    format!("{lead}, bracket and tie sound like this: {windows}.")
}

pub fn milliseconds(ms: impl Display) -> String {
    format!("{ms} ms")
}

pub fn way(number: impl Display) -> String {
    format!("fingering {number}")
}

pub fn way_in_position(position: impl Display) -> String {
    format!("position {position}")
}

pub fn costs(way: impl Display, counts: &[String], cost: impl Display) -> String {
    match counts {
        [] => format!("{way} (cost {cost})"),
        counts => format!("{way}: {} (cost {cost})", counts.join(", ")),
    }
}

pub fn position_set(position: impl Display) -> String {
    format!("position {position} is set in the text. Undo removes it.")
}

pub fn position(low: impl Display) -> String {
    format!("Position {low}")
}

pub fn positions(low: impl Display, high: impl Display) -> String {
    format!("Positions {low} to {high}")
}

pub fn hands(position: impl Display, counts: &[String]) -> String {
    match counts {
        [] => format!("{position}."),
        counts => format!("{position}: {}.", counts.join(", ")),
    }
}

pub fn stroke_turned(stroke: impl Display) -> String {
    format!("{stroke}stroke. Undo turns it back.")
}

pub fn filled(windows: usize, plain: usize) -> String {
    let places = if windows == 1 { "1 place".into() } else { format!("{windows} places") };
    match plain {
        0 => format!("recast in {places}."),
        1 => format!("recast in {places}; 1 more can't take the figure and stays plain."),
        _ => format!("recast in {places}; {plain} more can't take the figure and stay plain."),
    }
}

pub fn selected(first: usize, last: usize) -> String {
    if first == last { format!("Bar {first} selected:") } else { format!("Bars {first} to {last} selected:") }
}

pub fn bar(number: impl Display) -> String {
    format!("Bar {number}")
}

pub fn repeated(told: impl Display) -> String {
    format!("repeated {told}.")
}

pub fn pins(count: impl Display) -> String {
    format!("{count} pins")
}

pub fn kept_by(pins: impl Display) -> String {
    format!("saved in the text with {pins}. Undo removes them.")
}

pub fn put_on(pitch: impl Display, string: impl Display, fret: impl Display) -> String {
    format!("{pitch} on string {string}, fret {fret}.")
}

pub fn at_place(string: impl Display, fret: impl Display, pitch: impl Display) -> String {
    format!("string {string}, fret {fret}: {pitch}.")
}

pub fn in_place(place: impl Display) -> String {
    format!("in {place}")
}

pub fn out_of_position(put_on: impl Display) -> String {
    format!("{put_on} That is outside the position.")
}

pub fn shifted(told: impl Display) -> String {
    format!("displaced: {told}. Undo reverses this.")
}

pub fn figures(count: impl Display) -> String {
    format!("{count} figures")
}

pub fn gathered(figures: impl Display) -> String {
    format!("{figures} found and recast. The text was rewritten; Undo restores it.")
}

pub fn and_more(more: impl Display) -> String {
    format!("and {more} more")
}

pub fn problem(line: impl Display, problem: impl Display) -> String {
    format!("Line {line}: {problem}.")
}

pub fn the_and_of(beat: impl Display) -> String {
    format!("the and of {beat}")
}

pub fn times(times: impl Display) -> String {
    format!("{times} times")
}

pub fn stops(times: impl Display, place: impl Display, why: impl Display) -> String {
    format!("{times}; stops at {place}: {}", seen(&why.to_string()))
}

pub fn left_over(times: impl Display, place: impl Display, left: impl Display) -> String {
    format!("{times}; the rest, {left} from {place} on, stays plain")
}

pub fn nothing_left_over(times: impl Display) -> String {
    format!("{times}; nothing left over")
}

pub fn lost(what: impl Display, pitch: impl Display, place: impl Display) -> String {
    format!("{what} {pitch} at {place}")
}

pub fn respelled(place: impl Display) -> String {
    format!("the figure now at {place} is notated differently there")
}

pub fn all_respelled(first: impl Display, others: impl Display) -> String {
    format!("the figures now at {first} and {others} other places are notated differently there")
}
