//! What page and element say of the music and of the choices.

use std::fmt::Display;

use crate::shared::seen;

pub const OWN_FIGURE: &str = "a figure of your own";
pub const NO_OBJECT: &str = "the options are no object";
pub const PLAIN_EIGHTHS: &str = "plain eighths";
pub const UNDER_ONE_BRACKET: &str = "under one bracket";
pub const BEAT_BY_BEAT: &str = "beat by beat, tied";
pub const AS_IT_FALLS: &str = "as it falls";
pub const BEAMED_BY_THE_GROUP: &str = "beamed by the group";

pub fn too_many_bars(bars: impl Display, most_bars: impl Display) -> String {
    format!("This line has {bars} bars; the page draws up to {most_bars}")
}

pub fn unknown(name: impl Display) -> String {
    format!("there is no `{name}`")
}

pub fn wrong_option(name: impl Display) -> String {
    format!("the option `{name}` is of another kind")
}

pub fn no_words(words: impl Display) -> String {
    format!("there are no words `{words}`")
}

pub fn no_view(view: impl Display) -> String {
    format!("there is no view `{view}`")
}

pub fn no_option(name: impl Display) -> String {
    format!("there is no option `{name}`")
}

pub fn bar(first: impl Display) -> String {
    format!("bar {first}")
}

pub fn bars(first: impl Display, last: impl Display) -> String {
    format!("bars {first} to {last}")
}

pub fn refused(why: impl Display) -> String {
    format!("can't be recast: {}", seen(&why.to_string()))
}

pub fn left_out(notes: impl Display) -> String {
    format!(". Left out: {notes}; restoring brings them back")
}
