//! What is wrong with a text, where, and what was allowed.

use std::fmt;

use crate::bars::BarsError;
use crate::bars::Place;
use crate::chord::ChordError;
use crate::error::Error;
use crate::meter::Meter;
use crate::names::quarters;
use crate::naming::{UnknownName, visible};
use crate::pitch::{MidiKey, Pitch, beyond};
use crate::recast::{Figure, FigureError, Fit, RecastError, Spelling};
use crate::time::Duration;

/// One thing wrong with a text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Diagnostic {
    /// The line of text, from 1.
    pub line: usize,
    /// The column in characters, from 1; a tab is one character.
    pub column: usize,
    /// How many characters are meant, at least 1.
    pub length: usize,
    /// What is wrong.
    pub problem: Problem,
}

/// What can be wrong with a text.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message beside each variant is its meaning")]
pub enum Problem {
    #[error("this is not text: a byte that is not UTF-8 stands here")]
    Utf8,
    #[error("the text is {bytes} bytes long; up to {allowed} are read")]
    TooLong { bytes: usize, allowed: usize },
    #[error("there is no music here yet: write a bar, such as `F3 Ab C Eb G F Eb C |`")]
    NoMusic,
    #[error("more is wrong below; these first {shown} are shown")]
    More { shown: usize },

    #[error(
        "there is no header `{name}`; the headers are title, key, meter, pickup, tempo, feel, tuning, neck, style, \
         picking, systems, figure, recast, hand"
    )]
    UnknownHeader { name: String },
    #[error("`{name}` stands here a second time; the first one holds")]
    RepeatedHeader { name: &'static str },
    #[error("a title has at most {allowed} characters")]
    Title { allowed: usize },
    #[error("{0}")]
    Style(UnknownName),
    #[error("what the hands do is settled for a stretch or a note: `hand: position 5 at 1.1 to 3.1, 4.3`")]
    HandForm,
    #[error(
        "`{text}` can't be settled: write `string` and 1 to {strings}, `strings 4-2`, `fret` and 0 to {frets}, `finger` and 1 to 4, \
         `position` and a fret, `down`, `up` or `slurs`"
    )]
    Constraint { text: String, strings: u8, frets: u8 },
    #[error("no note starts here; a stretch is written with `to` and the place where it ends")]
    NoNote,
    #[error("this stretch ends before it starts")]
    Backwards,
    #[error("{0}")]
    Header(Error),

    #[error("`{text}` is no note: a note starts with A to G, a rest is `r`, a chord starts with `@`")]
    Note { text: String },
    #[error("`{text}` is not a note here: write `{instead}`")]
    NoteName { text: String, instead: String },
    #[error(
        "`{text}` can't follow a note: allowed are `:length`, `~`, `_` or `_s`, and a pin such as `^4.7`, each once"
    )]
    Suffix { text: String },
    #[error("a rest takes a length only, such as `r:2`")]
    RestSuffix,
    #[error("the first note needs an octave, such as `{name}3`")]
    NoOctave { name: String },
    #[error("{pitch} is not on this neck, which goes from {lowest} to {highest}{}", beyond(*pitch, *lowest, *highest))]
    OffNeck { pitch: Pitch, lowest: MidiKey, highest: MidiKey },
    #[error("`{text}` is below every octave; write one from 0 to 9")]
    TooLow { text: String },
    #[error(
        "`{text}` is no length: write quarter notes above 0 and up to {longest}, divided by twos, threes, fives or a seven, \
         such as `2`, `1/2` or `2/3`"
    )]
    Length { text: String, longest: u16 },
    #[error("`~` ties to the same pitch in the next note, and {found}")]
    Tie { found: String },
    #[error("a grace note stands in parentheses right before its note: `(Ab)A`")]
    Grace,
    #[error("`_` leads to another pitch in the next note, and {found}")]
    Join { found: String },
    #[error(
        "no pin of this neck: write `^` and a string 1 to {strings}, perhaps `.` and a fret 0 to {frets}, `/` and a finger 1 to 4, `d` or `u`, \
         such as `^4.7/2d`"
    )]
    PinForm { strings: u8, frets: u8 },
    #[error("{pitch} is not at string {string} fret {fret}: {sounding} sounds there")]
    PinPitch { pitch: Pitch, string: u8, fret: u8, sounding: MidiKey },
    #[error("{pitch} is not on string {string}, which goes from {lowest} to {highest}")]
    PinString { pitch: Pitch, string: u8, lowest: MidiKey, highest: MidiKey },
    #[error("{0}")]
    Chord(ChordError),
    #[error("{0}; until then the chord is drawn as it is written, and only its bass sounds")]
    Quality(ChordError),
    #[error("a second chord at the same moment; the first one holds")]
    ChordTwice,
    #[error("no note follows this chord")]
    ChordAtEnd,

    #[error("bar {bar} is empty; {}", full(*bar, *meter, *length))]
    EmptyBar { bar: usize, meter: Meter, length: Duration },
    #[error(
        "bar {bar} is too short by {by}: it holds {holds} quarter notes, and {}{}",
        full(*bar, *meter, *length),
        if *bar == 1 { format!("; a pickup is told by `pickup: {holds}`") } else { String::new() }
    )]
    ShortBar { bar: usize, by: Duration, holds: Duration, meter: Meter, length: Duration },
    #[error("bar {bar} is too long by {by}: it holds {holds} quarter notes, and {}", full(*bar, *meter, *length))]
    LongBar { bar: usize, by: Duration, holds: Duration, meter: Meter, length: Duration },
    #[error(
        "a new meter stands at the start of a bar, as in `| 3/4 C4:1 D:1 E:1 |`; the first one is told by `meter:`"
    )]
    MeterPlace,
    #[error("`{text}` groups the units of a meter that stands before it, as in `7/8 2+2+3`")]
    GroupsAlone { text: String },
    #[error(
        "a new key stands at the start of a bar, as in `| =Eb` or `| =Cm`; the first one is told by `key:`"
    )]
    KeyPlace,
    #[error("no bar follows this change")]
    ChangeAtEnd,

    #[error("`{name}` is no figure; the figures are {}", figures())]
    Figure { name: String },
    #[error("a figure is written `figure: name = lengths`, such as `figure: lilt = 2/3 1/3 1/3 2/3`")]
    FigureForm,
    #[error(
        "`{name}` can't name a figure of your own: use small letters, digits and `-`, and no name of the catalogue or used before"
    )]
    FigureName { name: String },
    #[error("{0}")]
    OwnFigure(FigureError),
    #[error("after the figure comes `at` and then places: `recast: split-last at 1.1 bracket, 2.3 tied`")]
    RecastForm,
    #[error("{0}")]
    Place(BarsError),
    #[error(
        "`{text}` can't follow a place: allowed are `to` and a place, a spelling ({}), and for other numbers of notes {}",
        listed(&Spelling::ALL),
        listed(&Fit::ALL[1..])
    )]
    Spelling { text: String },
    #[error("this window is recast twice; the first one holds")]
    RecastTwice,
    #[error("{0}")]
    Recast(RecastError),
    #[error("nothing is recast: a window of {span} quarter notes does not fit before this place")]
    NothingRepeated { span: Duration },
    #[error("what is left over, {} from {} on, stays plain", quarters(*left), place.spoken())]
    LeftOver { left: Duration, place: Place },
}

fn listed(names: &[impl ToString]) -> String {
    let names: Vec<_> = names.iter().map(|name| format!("`{}`", name.to_string())).collect();
    names.join(", ")
}

/// What a bar should hold. Bar 0 is the pickup.
fn full(bar: usize, meter: Meter, length: Duration) -> String {
    match bar {
        0 => format!("the pickup holds {length}"),
        _ => format!("a {meter} bar holds {length}"),
    }
}

fn figures() -> String {
    let names: Vec<_> = Figure::all().iter().map(|figure| figure.name()).collect();
    names.join(", ")
}

impl Problem {
    /// A short name that stays the same when the words change.
    pub fn code(&self) -> &'static str {
        match self {
            Problem::Utf8 => "utf8",
            Problem::TooLong { .. } => "too-long",
            Problem::NoMusic => "no-music",
            Problem::More { .. } => "more",
            Problem::UnknownHeader { .. } => "unknown-header",
            Problem::RepeatedHeader { .. } => "repeated-header",
            Problem::Title { .. } => "title",
            Problem::Style(_) => "style",
            Problem::HandForm => "hand-form",
            Problem::Constraint { .. } => "hand-want",
            Problem::NoNote => "hand-note",
            Problem::Backwards => "hand-backwards",
            Problem::Note { .. } | Problem::NoteName { .. } => "note",
            Problem::Suffix { .. } => "suffix",
            Problem::RestSuffix => "rest-suffix",
            Problem::NoOctave { .. } => "no-octave",
            Problem::OffNeck { .. } => "off-neck",
            Problem::TooLow { .. } => "too-low",
            Problem::Length { .. } => "length",
            Problem::Tie { .. } => "tie",
            Problem::Join { .. } => "join",
            Problem::Grace => "grace",
            Problem::PinForm { .. } => "pin-form",
            Problem::PinPitch { .. } => "pin-pitch",
            Problem::PinString { .. } => "pin-string",
            Problem::ChordTwice => "chord-twice",
            Problem::ChordAtEnd => "chord-at-end",
            Problem::EmptyBar { .. } => "empty-bar",
            Problem::ShortBar { .. } => "short-bar",
            Problem::LongBar { .. } => "long-bar",
            Problem::MeterPlace => "meter-place",
            Problem::GroupsAlone { .. } => "groups-alone",
            Problem::KeyPlace => "key-place",
            Problem::ChangeAtEnd => "change-at-end",
            Problem::Figure { .. } => "figure",
            Problem::FigureForm => "figure-form",
            Problem::FigureName { .. } => "figure-name",
            Problem::OwnFigure(_) => "figure-lengths",
            Problem::RecastForm => "recast-form",
            Problem::Place(_) => "recast-place",
            Problem::Spelling { .. } => "spelling",
            Problem::RecastTwice => "recast-twice",
            Problem::NothingRepeated { .. } => "nothing-repeated",
            Problem::LeftOver { .. } => "left-over",
            Problem::Chord(_) => "chord",
            Problem::Quality(_) => "chord-quality",
            Problem::Header(error) => error.code(),
            Problem::Recast(error) => error.code(),
        }
    }
}

/// Characters of the source shown on each side of a mistake in a long line.
const CONTEXT: usize = 48;

impl Diagnostic {
    /// The message, the line of `source` it is about, and a caret under the place.
    ///
    /// Of a long line only the neighbourhood is shown. Characters that could reorder or hide text are shown as `?`.
    pub fn render(&self, source: &str) -> String {
        let row = source.lines().nth(self.line - 1).unwrap_or("");
        let skipped = self.column.saturating_sub(1 + CONTEXT);
        let lead = if skipped > 0 { "..." } else { "" };
        let shown: String = row.chars().skip(skipped).take(2 * CONTEXT).map(visible).collect();
        let trail = if row.chars().nth(skipped + 2 * CONTEXT).is_some() { "..." } else { "" };
        // A tab before the place stays a tab, so that the caret lines up wherever tabs stop.
        let blank = |c: char| if c == '\t' { '\t' } else { ' ' };
        let pad: String = shown.chars().take(self.column - 1 - skipped).map(blank).collect();
        let pad = " ".repeat(lead.len()) + &pad;
        let carets = "^".repeat(self.length.clamp(1, CONTEXT));
        format!("{self}\n  {lead}{shown}{trail}\n  {pad}{carets}")
    }
}

impl fmt::Display for Diagnostic {
    /// `3:12: message`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.line, self.column, self.problem)
    }
}
