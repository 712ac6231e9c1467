//! Practice: playback, step by step, timing check.

use std::fmt::Display;

pub const LISTENING: &str = "Listening. Wear headphones, so that only the guitar is heard.";
pub const NO_MICROPHONE: &str = "The microphone isn't available. Allow it for this page, or tap instead.";
pub const TAP_ALONG: &str = "Tap along after the count-in.";
pub const TAP_LATENCY: &str = "tap latency";
pub const MICROPHONE_LATENCY: &str = "microphone latency";
pub const TAP_EVENLY: &str = "Play or tap evenly with the click.";
pub const ON_TIME: &str = ". On average right on the beat";
pub const RUSHING: &str = "rushing";
pub const DRAGGING: &str = "dragging";
pub const AHEAD: &str = "ahead of the beat";
pub const BEHIND: &str = "behind the beat";
pub const TEMPO: &str = "the tempo";
pub const TEMPO_OUT_OF_REACH: &str = "the tempo is out of range";
pub const TAP_A_HALF_BAR_FIRST: &str = "tap a half-bar first: that is the one that plays";
pub const FIRST_TEMPO: &str = "the first tempo";
pub const LAST_TEMPO: &str = "the last tempo";
pub const STEP: &str = "the step";
pub const HOW_OFTEN_A_STEP: &str = "the number of times per step";
pub const A_JUMP: &str = ", jump";
pub const STRAIGHT: &str = "Straight eighths.";
pub const NO_TWO_SPELLINGS: &str = " Nothing here can be written both with a bracket and with ties.";
pub const SAME_SOUND: &str = " Bracket and tie sound the same.";
pub const HEARD: &str = "enough to hear";
pub const NOT_HEARD: &str = "too little to hear";
pub const NOTHING_RECAST: &str = " Nothing is recast yet.";
pub const SHORT_NOTES: &str =
    " The short notes in the triplet figures last less than 100 ms; few players get them clean.";
pub const PLAY: &str = "Play";
pub const ORIGINAL: &str = "Original";
pub const RECAST: &str = "Recast";
pub const BRACKET: &str = "Bracket";
pub const TIED: &str = "Tied";
pub const STOP: &str = "Stop";

pub fn version(name: impl Display) -> String {
    format!("Versions: {name}.")
}

pub const COPY_IT: &str = "Open as a new line";
pub const STEP_WRITTEN: &str = "This step is a new line. The one before it is under Your lines.";
pub const CHOOSE_A_START: &str = "choose where the steps start";
pub const NO_SOUND: &str = "This browser can't play sound here. You can still read and print the line.";
pub const SOUND_HELD: &str = "The browser is holding the sound back. Tap anywhere on the page to continue.";
pub const NO_MUSIC_YET: &str = "there is no music to play yet";
pub const HOW_OFTEN: &str = "the number of times";
pub const WAV_SAVED: &str = "Saved as line.wav.";
pub const STRIP: &str = "each note: ahead of the beat above the line, behind it below";

pub fn delay_found(what: impl Display, ms: impl Display) -> String {
    format!(
        "The {what} is {ms} ms and is subtracted from now on. It includes your own tendency to be early or late."
    )
}

pub fn played(time: impl Display, matched: impl Display, all: impl Display, on_time: impl Display) -> String {
    format!("Take {time}: {matched} of {all} notes, {on_time} within 50 ms")
}

pub fn played_plain(places: impl Display) -> String {
    format!(" Played as plain eighths, not as the figure: {places}.")
}

pub fn at(place: impl Display, off: impl Display) -> String {
    format!("{place}, {off}")
}

pub fn farthest_off(places: impl Display) -> String {
    format!(" Farthest off: {places}.")
}

pub fn too_many(extra: impl Display) -> String {
    format!(", {extra} extra")
}

pub fn on_the_whole(off: impl Display) -> String {
    format!(". On average {off}")
}

pub fn give_or_take(ms: impl Display) -> String {
    format!(" (\u{B1} {ms} ms)")
}

pub fn drifting(way: impl Display, ms: impl Display) -> String {
    format!(", {way} by {ms} ms per second")
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
    format!("Step {step} of {steps}: {tempo}{aside}, take {repeat}.")
}

pub fn short_step(tempo: impl Display, step: impl Display, steps: impl Display) -> String {
    format!("{tempo} ({step} of {steps})")
}

pub fn swing_by_tempo(swing: impl Display) -> String {
    format!("Eighths swing {swing} : 1, as soloists do at this tempo.")
}

pub fn swing(swing: impl Display) -> String {
    format!("Eighths swing {swing} : 1.")
}

pub fn apart(ms: impl Display, heard: impl Display) -> String {
    format!(" Bracket and tie are up to {ms} ms apart: {heard}.")
}

pub fn step_number(step: impl Display) -> String {
    format!("step {step}")
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
