//! What practice says.

use std::fmt::Display;

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
pub const CHOOSE_A_START: &str = "choose where the steps start";
pub const NO_SOUND: &str = "This browser gives no sound here. The line can still be read and printed.";
pub const SOUND_HELD: &str = "The browser is holding the sound back. Tap anywhere on the page to go on.";
pub const NO_MUSIC_YET: &str = "there is no music to play yet";
pub const HOW_OFTEN: &str = "how often it is played";
pub const WAV_SAVED: &str = "Saved as line.wav.";
pub const STRIP: &str = "each note, early above the line and late below it";

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
