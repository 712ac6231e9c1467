//! A line in time: what recasting produces, and what notation, picking and sound start from.

use crate::bars::Bars;
use crate::line::{Event, NoteId};
use crate::naming::by_name;
use crate::time::Span;

/// A line in time, with every event where its written form puts it. Swing comes later.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Timed {
    /// The bars of the line.
    pub bars: Bars,
    /// Notes and rests, each starting where the previous one ends. Ids and pitches are those of the line. An
    /// event that a window adds, such as a figure's rest or a repeated note, has an id after the line's last.
    pub events: Vec<Event>,
    /// The recast windows, in order of time.
    pub windows: Vec<TimedWindow>,
}

/// A recast window, and how its figure should be written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TimedWindow {
    /// When it starts and ends.
    pub span: Span,
    /// How it should be notated.
    pub spelling: Spelling,
    /// The single tuplet that can hold the whole window, as actual and normal number: 3 in the time of 2.
    /// `None` if no single tuplet can.
    pub tuplet: Option<(u8, u8)>,
    /// Notes of the line that aren't played because the figure takes fewer.
    pub left_out: Vec<NoteId>,
    /// The notes added because the figure takes more, each with the note of the line that it repeats, in order of
    /// time.
    pub repeats: Vec<(NoteId, NoteId)>,
}

impl Timed {
    /// All notes that windows add, each with the note of the line that it repeats, in order of time and of id.
    pub fn repeats(&self) -> impl Iterator<Item = (NoteId, NoteId)> {
        self.windows.iter().flat_map(|window| window.repeats.iter().copied())
    }
}

/// The ways to notate a figure. `Bracket` and `Tied` sound the same only at a swing ratio of 2.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Spelling {
    /// The whole window under one bracket.
    Bracket,
    /// Each beat on its own: plain eighths where swing gives them the right timing, a triplet elsewhere, and
    /// a tie for a note that sounds across the beat.
    Tied,
    /// The literal lengths, notated as the meter requires.
    Plain,
    /// The literal lengths, beamed by the groups of the figure instead of the meter, even across the middle
    /// of the bar.
    Grouped,
}

impl Spelling {
    /// All spellings, in the order they are offered.
    pub const ALL: [Spelling; 4] = [Spelling::Bracket, Spelling::Tied, Spelling::Plain, Spelling::Grouped];

    /// Its name in the text format.
    pub fn name(self) -> &'static str {
        match self {
            Spelling::Bracket => "bracket",
            Spelling::Tied => "tied",
            Spelling::Plain => "plain",
            Spelling::Grouped => "grouped",
        }
    }

    /// What it is called where there is room for words.
    pub fn label(self) -> &'static str {
        match self {
            Spelling::Bracket => "one bracket",
            Spelling::Tied => "tied",
            Spelling::Plain => "literal values",
            Spelling::Grouped => "beamed in groups",
        }
    }
}

by_name!(Spelling, "a notation for a figure");
