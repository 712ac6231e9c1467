//! What is wrong with a text, where, and how to fix it.

use std::fmt;

use crate::bars::BarsError;
use crate::bars::Place;
use crate::chord::ChordError;
use crate::error::Error;
use crate::line::LineError;
use crate::meter::Meter;
use crate::names::quarters;
use crate::naming::{UnknownName, number, visible};
use crate::neck::{Fret, Position, StringNo, Strings};
use crate::pitch::{MidiKey, Pitch, beyond};
use crate::recast::{Figure, FigureError, Fit, RecastError, Spelling};
use crate::technique::Pin;
use crate::time::Duration;

/// One mistake in a text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Diagnostic {
    /// The line of text, from 1.
    pub line: usize,
    /// The column in characters, from 1; a tab is one character.
    pub column: usize,
    /// How many characters it covers, at least 1.
    pub length: usize,
    /// What is wrong.
    pub problem: Problem,
}

/// What can be wrong with a text.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message of each variant explains it")]
pub enum Problem {
    #[error("this byte is not UTF-8: save the text as UTF-8")]
    Utf8,
    #[error("the text is {bytes} bytes long; at most {allowed} are read, so split it up")]
    TooLong { bytes: usize, allowed: usize },
    #[error("there is no music here yet: write a bar, such as `F3 Ab C Eb G F Eb C |`")]
    NoMusic,
    #[error("there are more mistakes below; only the first {shown} are shown")]
    More { shown: usize },

    #[error(
        "`{name}` is not a header: the headers are title, key, meter, pickup, tempo, feel, tuning, neck, style, \
         picking, systems, names, degrees, figure, recast, hand and call"
    )]
    UnknownHeader { name: String },
    #[error("`{name}` is already set above; the first one counts, so remove one")]
    RepeatedHeader { name: &'static str },
    #[error("a title can have at most {allowed} characters")]
    Title { allowed: usize },
    #[error("{0}")]
    Style(UnknownName),
    #[error(
        "write what to do and where, for a passage or a note, such as `hand: position 5 at 1.1 to 3.1, 4.3`"
    )]
    HandForm,
    #[error(
        "`{text}` can't be set here: write `string` and 1 to {strings}, `strings 4-2`, `fret` and 0 to {frets}, \
         `frets 0-14`, `finger` and 1 to 4, `position` and I to {} or 1 to {frets}, `down`, `up` or `slurs`", Position(*frets)
    )]
    Constraint { text: String, strings: u8, frets: u8 },
    #[error("{0}")]
    Names(UnknownName),
    #[error("{0}")]
    Degrees(UnknownName),
    #[error("write your words for the notes, `at`, and where they are, such as `call: Am7 at 1.1 to 1.3`")]
    CallForm,
    #[error("{0}")]
    CallWords(LineError),
    #[error("some of these notes are called something already; the first one counts, so remove one")]
    CallTwice,
    #[error("no note starts in this passage")]
    NoNotes,
    #[error("no note starts here; for a passage, write `to` and the place where it ends")]
    NoNote,
    #[error("this passage ends before it starts: swap the two places")]
    Backwards,
    #[error("{0}")]
    Header(Error),

    #[error("`{text}` is not a note: a note starts with A to G, a rest is `r`, a chord starts with `@`")]
    Note { text: String },
    #[error("`{text}` is not a note here: write `{instead}`")]
    NoteName { text: String, instead: String },
    #[error(
        "`{text}` can't follow a note: write `:length`, `~`, `_` or `_s`, and a pin such as `^4.7`, each at most once"
    )]
    Suffix { text: String },
    #[error("a rest takes only a length, such as `r:2`")]
    RestSuffix,
    #[error("the first note needs an octave, such as `{name}3`")]
    NoOctave { name: String },
    #[error("{pitch} is not on this neck{}, which goes from {lowest} to {highest}{}", capo_on(*capo), beyond(*pitch, *lowest, *highest))]
    OffNeck { pitch: Pitch, capo: u8, lowest: MidiKey, highest: MidiKey },
    #[error("`{text}` is below octave 0: write an octave from 0 to 9")]
    TooLow { text: String },
    #[error(
        "`{text}` is not a length: write quarter notes above 0 and up to {longest}, as a whole number or a fraction \
         such as `1/2` or `2/3`, with a denominator made of 2s, 3s, 5 and 7"
    )]
    Length { text: String, longest: u16 },
    #[error("`~` ties a note to the same pitch, but {found}")]
    Tie { found: String },
    #[error("a grace note goes in parentheses right before its note: `(Ab)A`")]
    Grace,
    #[error("`_` connects a note to a different pitch, but {found}")]
    Join { found: String },
    #[error(
        "this doesn't pin a note to this neck: write `^` and a string 1 to {strings}, `.` and a fret 0 to {frets}, \
         `/` and a finger 1 to 4, and `d` or `u`, or just some of these, such as `^4.7/2d` or `^4`"
    )]
    PinForm { strings: u8, frets: u8 },
    #[error("{pitch} is not at string {string} fret {fret}: {sounding} sounds there{}{}", from_capo(*capo), write_pin(*could))]
    PinPitch {
        pitch: Pitch,
        string: u8,
        fret: u8,
        sounding: MidiKey,
        could: Option<(StringNo, Fret)>,
        capo: u8,
    },
    #[error("{pitch} is not on string {string}, which goes from {lowest} to {highest}; it is on {}", could.spoken())]
    PinString { pitch: Pitch, string: u8, lowest: MidiKey, highest: MidiKey, could: Strings },
    #[error("{0}")]
    Chord(ChordError),
    #[error("{0}; until then, the chord is drawn as written and only its bass sounds")]
    Quality(ChordError),
    #[error("this is a second chord at the same place; the first one counts, so remove one")]
    ChordTwice,
    #[error("no note or rest follows this chord: write it before the one it starts on")]
    ChordAtEnd,

    #[error("{} is empty: fill it with notes or rests, such as `r:{length}`", called(*bar))]
    EmptyBar { bar: usize, meter: Meter, length: Duration },
    #[error("{} has {}{}", called(*bar), miscounted(*holds, *by, "missing"), or_pickup(*bar, *holds, *meter))]
    ShortBar { bar: usize, by: Duration, holds: Duration, meter: Meter, length: Duration },
    #[error("{} so far has {}", called(*bar), miscounted(*holds, *by, "to come"))]
    OpenBar { bar: usize, by: Duration, holds: Duration },
    #[error("{} has {}{}", called(*bar), miscounted(*holds, *by, "too many"), or_pickup(*bar, *holds, *meter))]
    LongBar { bar: usize, by: Duration, holds: Duration, meter: Meter, length: Duration },
    #[error(
        "a new meter goes at the start of a bar, as in `| 3/4 C4:1 D:1 E:1 |`; the line's first meter goes in a `meter:` header"
    )]
    MeterPlace,
    #[error("`{text}` groups the units of a meter: write the meter before it, as in `7/8 2+2+3`")]
    GroupsAlone { text: String },
    #[error(
        "a new key goes at the start of a bar, as in `| =Eb` or `| =Cm`; the line's first key goes in a `key:` header"
    )]
    KeyPlace,
    #[error("no bar follows this change: write one, or remove the change")]
    ChangeAtEnd,

    #[error("`{name}` is not a figure: the figures are {}", figures())]
    Figure { name: String },
    #[error("write a figure as `figure: name = lengths`, such as `figure: lilt = 2/3 1/3 1/3 2/3`")]
    FigureForm,
    #[error(
        "`{name}` can't name a figure: use lowercase letters, digits and `-`, and a name that isn't taken"
    )]
    FigureName { name: String },
    #[error("{0}")]
    OwnFigure(FigureError),
    #[error(
        "after the figure, write `at` and the places, such as `recast: split-last at 1.1 bracket, 2.3 tied`"
    )]
    RecastForm,
    #[error("{0}")]
    Place(BarsError),
    #[error(
        "`{text}` can't follow a place: write `to` and a place, a notation ({}), or what to do if the note count doesn't fit ({})",
        listed(&Spelling::ALL),
        listed(&Fit::ALL[1..])
    )]
    Spelling { text: String },
    #[error("a figure already starts here; the first one counts, so remove one")]
    RecastTwice,
    #[error("{0}")]
    Recast(RecastError),
    #[error("nothing is recast: the figure takes {}, which is more than there is before this place", quarters(*span))]
    NothingRepeated { span: Duration },
    #[error("the remainder, {} from {} on, stays plain", quarters(*left), place.spoken())]
    LeftOver { left: Duration, place: Place },
}

fn listed(names: &[impl ToString]) -> String {
    let names: Vec<_> = names.iter().map(|name| format!("`{}`", name.to_string())).collect();
    names.join(", ")
}

/// A capo, after the neck that it is on.
fn capo_on(capo: u8) -> String {
    if capo == 0 { String::new() } else { format!(" with a capo on fret {capo}") }
}

/// How frets are counted if there is a capo.
fn from_capo(capo: u8) -> String {
    if capo == 0 { String::new() } else { format!(" (frets are counted from the capo, on fret {capo})") }
}

/// The pin to write instead.
fn write_pin(could: Option<(StringNo, Fret)>) -> String {
    could.map(|(string, fret)| format!("; write `^{}`", Pin::at(string, fret))).unwrap_or_default()
}

/// A bar by its number. Bar 0 is the pickup.
fn called(bar: usize) -> String {
    match bar {
        0 => "the pickup".into(),
        _ => format!("bar {bar}"),
    }
}

/// What a bar has and by how much that is wrong, in the longest value that counts both: `nine eighths: one too many`.
fn miscounted(holds: Duration, by: Duration, wrong: &str) -> String {
    const UNITS: [(Duration, &str); 3] = [
        (Duration::QUARTER, "quarter note"),
        (Duration::EIGHTH, "eighth"),
        (Duration::of(1, 4), "sixteenth"),
    ];
    let counts_both = |unit: Duration| holds.is_multiple_of(unit) && by.is_multiple_of(unit);
    let Some((unit, name)) = UNITS.into_iter().find(|(unit, _)| counts_both(*unit)) else {
        return format!("{}: {} {wrong}", quarters(holds), quarters(by));
    };
    let count = |time: Duration| time.numer().saturating_mul(unit.denom()) / time.denom();
    let plural = if count(holds) == 1 { "" } else { "s" };
    format!("{} {name}{plural}: {} {wrong}", number(count(holds)), number(count(by)))
}

/// What to write if a first bar is meant to be a pickup as long as it is.
fn or_pickup(bar: usize, holds: Duration, meter: Meter) -> String {
    match bar {
        0 | 1 if holds < meter.bar() => format!("; if it is a pickup, write `pickup: {holds}`"),
        _ => String::new(),
    }
}

fn figures() -> String {
    let names: Vec<_> = Figure::all().iter().map(|figure| figure.name()).collect();
    names.join(", ")
}

impl Problem {
    /// A short identifier that stays the same when the message is reworded.
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
            Problem::Names(_) => "names",
            Problem::Degrees(_) => "degrees",
            Problem::CallForm => "call-form",
            Problem::CallWords(_) => "call-words",
            Problem::CallTwice => "call-twice",
            Problem::NoNotes => "call-notes",
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
            Problem::OpenBar { .. } => "open-bar",
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

/// How many characters of a long line to show on each side of a mistake.
const CONTEXT: usize = 48;

impl Diagnostic {
    /// The message, the line of `source` it refers to, and carets under the place.
    ///
    /// Only part of a long line is shown. Characters that could reorder or hide text are shown as `?`.
    pub fn render(&self, source: &str) -> String {
        let row = source.lines().nth(self.line - 1).unwrap_or("");
        let skipped = self.column.saturating_sub(1 + CONTEXT);
        let lead = if skipped > 0 { "..." } else { "" };
        let shown: String = row.chars().skip(skipped).take(2 * CONTEXT).map(visible).collect();
        let trail = if row.chars().nth(skipped + 2 * CONTEXT).is_some() { "..." } else { "" };
        // A tab before the place stays a tab, so that the caret lines up at any tab width.
        let blank = |c: char| if c == '\t' { '\t' } else { ' ' };
        let pad: String = shown.chars().take(self.column - 1 - skipped).map(blank).collect();
        let pad = " ".repeat(lead.len()) + &pad;
        let carets = "^".repeat(self.length.clamp(1, CONTEXT));
        format!("{self}\n  {lead}{shown}{trail}\n  {pad}{carets}")
    }
}

impl fmt::Display for Diagnostic {
    /// Writes `3:12: message`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}: {}", self.line, self.column, self.problem)
    }
}
