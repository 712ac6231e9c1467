//! What the page says.

use std::fmt::Display;

use crate::shared::seen;

pub const SPELLED_BEAT_BY_BEAT: &str = "Spelled beat by beat";
pub const SPELLED_UNDER_A_BRACKET: &str = "Spelled under one bracket";
pub const THE_SAME: &str = "the same";
pub const YES: &str = "yes";
pub const NO: &str = "no";
pub const NO_OTHER_WAY: &str = "there is no other way that differs in more than a note or two.";
pub const AS_IT_WAS: &str = "as it was";
pub const OPEN_STRINGS: &str = "Open strings";
pub const SHIFT: &str = "shift";
pub const SHIFTS: &str = "shifts";
pub const STRETCH: &str = "stretch";
pub const STRETCHES: &str = "stretches";
pub const INSIDE_CROSSING: &str = "inside crossing";
pub const INSIDE_CROSSINGS: &str = "inside crossings";
pub const OUTSIDE: &str = "outside";
pub const DONE_AGAIN: &str = "done again.";
pub const UNDONE: &str = "undone.";
pub const MEND_THEN_RECAST: &str = "the text has a mistake; mend it first, then recast.";
pub const PLAIN_AGAIN: &str = "plain again";
pub const ONE_PIN: &str = "1 pin";
pub const MEND_THEN_TAP: &str = "the text has a mistake; mend it first, then tap the neck.";
pub const SAY_WHERE_FIRST: &str =
    "tap a note of the music, or put the cursor in the text: there the neck's note goes.";
pub const NOTHING_TO_GATHER: &str =
    "no figure is written out in this text; windows that are recast stay as they are.";
pub const ONE_FIGURE: &str = "1 figure";
pub const AS_IT_STOOD: &str = "The text has a mistake: this is how it stood before.";
pub const CHOOSE_A_PLACE: &str = "choose a bar and a beat";
pub const STRETCH_ENDS_FIRST: &str = "the stretch ends before it starts";
pub const NOWHERE: &str = "nowhere";
pub const ONCE: &str = "once";
pub const SHORTENS: &str = "shortens";
pub const PUSHES_OUT: &str = "pushes out";
pub const NOTHING_LOST: &str = "no note is lost";

pub fn would_sound(other: impl Display, how: impl Display) -> String {
    format!("{other}, it would sound {how}.")
}

pub fn away_and_heard(ms: impl Display) -> String {
    format!("{ms} ms away, enough to hear")
}

pub fn away_unheard(ms: impl Display) -> String {
    format!("{ms} ms away, too little to hear")
}

pub fn at_tempo(tempo: impl Display, swing: impl Display) -> String {
    format!("At {tempo} quarter notes a minute and a swing of {swing} : 1")
}

pub fn no_two_spellings(lead: impl Display) -> String {
    format!("{lead}, this line has no window with two spellings.")
}

pub fn two_spellings_sound(lead: impl Display, windows: impl Display) -> String {
    format!("{lead}, the two spellings sound, in {windows}.")
}

pub fn milliseconds(ms: impl Display) -> String {
    format!("{ms} ms")
}

pub fn way(number: impl Display, count: impl Display) -> String {
    format!("way {number} of {count}: keep it, or look at the next")
}

pub fn position(low: impl Display) -> String {
    format!("Position {low}")
}

pub fn positions(low: impl Display, high: impl Display) -> String {
    format!("Positions {low} to {high}")
}

pub fn hands(
    position: impl Display,
    shifts: impl Display,
    stretches: impl Display,
    inside: impl Display,
    outside: impl Display,
) -> String {
    format!("{position}: {shifts}, {stretches}; the pick has {inside}, {outside}.")
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
    format!("kept by {pins} in the text. Undo takes them away.")
}

pub fn put_on(pitch: impl Display, string: impl Display, fret: impl Display) -> String {
    format!("{pitch} on string {string}, fret {fret}.")
}

pub fn shifted(told: impl Display) -> String {
    format!("shifted: {told}. Undo brings it back.")
}

pub fn figures(count: impl Display) -> String {
    format!("{count} figures")
}

pub fn gathered(figures: impl Display) -> String {
    format!("{figures} gathered. The music is laid out anew in the text; Undo brings it back.")
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
    format!("{times}; it stops at {place}: {}", seen(&why.to_string()))
}

pub fn left_over(times: impl Display, place: impl Display, left: impl Display) -> String {
    format!("{times}; what is left over, {left} from {place} on, stays plain")
}

pub fn nothing_left_over(times: impl Display) -> String {
    format!("{times}; nothing is left over")
}

pub fn lost(what: impl Display, pitch: impl Display, place: impl Display) -> String {
    format!("{what} {pitch} at {place}")
}

pub fn respelled(place: impl Display) -> String {
    format!("the window now at {place} is spelled another way there")
}

pub fn all_respelled(first: impl Display, others: impl Display) -> String {
    format!("the windows now at {first} and {others} other places are spelled another way there")
}
