//! What practice, exercises and the lines that are kept say.

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
pub const TEXT_HAS_A_MISTAKE: &str = "the text has a mistake; mend it first";
pub const STRETCH_ENDS_FIRST: &str = "the stretch ends before it starts";
pub const NUMBER_OF_STEPS: &str = "the number of steps";
pub const CHOOSE_A_STRETCH: &str = "open `Repeat or shift a stretch` and choose its bars and beats";
pub const LISTENING: &str = "Listening. Use headphones, so that the guitar alone is heard.";
pub const NO_MICROPHONE: &str = "The microphone can't be used here: allow it for this page, or tap along.";
pub const PRESS_PLAY_FIRST: &str = "Press Play first, and tap along with the line.";
pub const DELAY_OF_TAPS: &str = "delay of taps";
pub const DELAY_OF_THE_MICROPHONE: &str = "delay of the microphone";
pub const TAP_EVENLY: &str = "Play or tap with the clicks, evenly.";
pub const ON_TIME: &str = ". On the whole on time";
pub const HURRYING: &str = "hurrying";
pub const SLOWING: &str = "slowing";
pub const EARLY: &str = "early";
pub const LATE: &str = "late";
pub const TEMPO: &str = "the tempo";
pub const TEMPO_OUT_OF_REACH: &str = "the tempo is out of reach";
pub const TAP_A_PAD_FIRST: &str = "tap a pad first: its half-bar is played";
pub const FIRST_TEMPO: &str = "the first tempo";
pub const LAST_TEMPO: &str = "the last tempo";
pub const STEP: &str = "the step";
pub const HOW_OFTEN_A_STEP: &str = "how often a step is played";
pub const A_JUMP: &str = ", a jump";
pub const STRAIGHT: &str = "Straight eighths.";
pub const NO_TWO_SPELLINGS: &str = " No window here has two spellings.";
pub const SAME_SOUND: &str = " The two spellings are the same sound.";
pub const HEARD: &str = "enough to hear";
pub const NOT_HEARD: &str = "too little to hear";
pub const NOTHING_RECAST: &str = " Nothing is recast yet.";
pub const SHORT_NOTES: &str =
    " The short notes of the triplet figures last less than 100 ms: few play them cleanly.";
pub const HEAR_IT: &str = "Hear it";
pub const WRITE_IT: &str = "Write it into the text";
pub const STEP_WRITTEN: &str = "Written into the text. Undo brings the line back.";
pub const CHOOSE_A_FIGURE: &str = "choose a figure on the shelf first";
pub const CHOOSE_A_START: &str = "choose where the steps start";
pub const NO_SOUND: &str = "This browser gives no sound here. The line can still be read and printed.";
pub const SOUND_HELD: &str = "The browser is holding the sound back. Tap anywhere on the page to go on.";
pub const NO_MUSIC_YET: &str = "there is no music to play yet";
pub const HOW_OFTEN: &str = "how often it is played";
pub const WAV_SAVED: &str = "Saved as line.wav.";
pub const TEMPO_BEYOND: &str = "this tempo is beyond what a line can have";
pub const NO_MUSIC: &str = "there is no music in this text";
pub const STRIP: &str = "each note, early above the line and late below it";

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

pub fn bars_written(bars: impl Display) -> String {
    format!("{bars} bars, written into the text. Undo brings the line back.")
}

pub fn delay_found(what: impl Display, ms: impl Display) -> String {
    format!("The {what} is {ms} ms: it is taken off from now on. It holds how early you tend to be, too.")
}

pub fn played(time: impl Display, matched: impl Display, all: impl Display) -> String {
    format!("Time {time}: {matched} of {all} notes")
}

pub fn too_many(extra: impl Display) -> String {
    format!(", and {extra} too many")
}

pub fn on_the_whole(off: impl Display) -> String {
    format!(". On the whole {off}")
}

pub fn give_or_take(ms: impl Display) -> String {
    format!(", give or take {ms} ms")
}

pub fn drifting(way: impl Display, ms: impl Display) -> String {
    format!(", {way} by {ms} ms a second")
}

pub fn off(ms: impl Display, way: impl Display) -> String {
    format!("{ms} ms {way}")
}

pub fn bars_are(first: impl Display, last: impl Display) -> String {
    format!("the bars are {first} to {last}")
}

pub fn step(
    step: impl Display,
    steps: impl Display,
    tempo: impl Display,
    aside: impl Display,
    repeat: impl Display,
) -> String {
    format!("Step {step} of {steps}: {tempo}{aside}, time {repeat}.")
}

pub fn swing_by_tempo(swing: impl Display) -> String {
    format!("Eighths swing {swing} : 1, as soloists do at this tempo.")
}

pub fn swing(swing: impl Display) -> String {
    format!("Eighths swing {swing} : 1.")
}

pub fn apart(ms: impl Display, heard: impl Display) -> String {
    format!(" The two spellings are up to {ms} ms apart: {heard}.")
}

pub fn button_of_step(label: impl Display, step: impl Display) -> String {
    format!("{label}: step {step}")
}

pub fn of(some: impl Display, all: impl Display) -> String {
    format!("{some} of {all}")
}

pub fn milliseconds(ms: impl Display) -> String {
    format!("{ms} ms")
}
