//! What page and element have in common: the music and the figures to choose from.

use std::fmt::Display;

use crate::shared::seen;

pub const OWN_FIGURE: &str = "your own figure";
pub const NOT_AN_OBJECT: &str = "the options are not an object";
pub const PLAIN_EIGHTHS: &str = "plain eighths";

pub fn in_notation(figure: impl Display, notation: impl Display) -> String {
    format!("{figure} ({notation})")
}

pub fn too_many_bars(bars: impl Display, most_bars: impl Display) -> String {
    format!("This line has {bars} bars; the page draws up to {most_bars}")
}

pub fn unknown(name: impl Display) -> String {
    format!("there is no `{name}`")
}

pub fn wrong_option(name: impl Display) -> String {
    format!("the option `{name}` has the wrong type")
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
    format!(". Left out: {notes}. Remove the figure to get them back")
}
