//! A line in time: what recasting makes, and what notation, picking and sound start from.

use std::fmt;
use std::str::FromStr;

use crate::bars::Bars;
use crate::line::{Event, NoteId};
use crate::naming::{UnknownName, named};
use crate::time::Span;

/// A line in time: every event where it sounds, as its written form says (swing comes later).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Timed {
    /// The bars.
    pub bars: Bars,
    /// Notes and rests, each starting where the one before ends. Ids and pitches are the line's; what a window adds, a figure's rest or
    /// a note that is repeated, has an id after the line's last.
    pub events: Vec<Event>,
    /// The windows that were recast, in order of time.
    pub windows: Vec<TimedWindow>,
}

/// A window that was recast, and how its notation is to look.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct TimedWindow {
    /// Its time.
    pub span: Span,
    /// How it is to be written.
    pub spelling: Spelling,
    /// The one tuplet that can hold all of it, as actual and normal number: 3 in the time of 2. `None` when no single one can.
    pub tuplet: Option<(u8, u8)>,
    /// The notes of the line that do not sound, because the figure takes fewer.
    pub left_out: Vec<NoteId>,
    /// The notes that it adds, because the figure takes more: each with the note of the line that it repeats, in order of time.
    pub repeats: Vec<(NoteId, NoteId)>,
}

impl Timed {
    /// All notes that windows add, each with the note of the line that it repeats, in order of time and of their ids.
    pub fn repeats(&self) -> impl Iterator<Item = (NoteId, NoteId)> {
        self.windows.iter().flat_map(|window| window.repeats.iter().copied())
    }
}

/// The ways to write a figure. The first two are the same sound only when the swing ratio is 2.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Spelling {
    /// The whole window under one bracket.
    Bracket,
    /// Each beat on its own: two plain eighths where a swing feel makes them sound as wanted, a triplet elsewhere, a tie where a
    /// note sounds over the beat.
    Tied,
    /// The literal lengths, written as the meter asks.
    Plain,
    /// The same under beams of its own, which follow the figure and not the meter, over the middle of the bar too.
    Grouped,
}

impl Spelling {
    /// All, in the order in which they are offered.
    pub const ALL: [Spelling; 4] = [Spelling::Bracket, Spelling::Tied, Spelling::Plain, Spelling::Grouped];

    /// What the text format calls it.
    pub fn name(self) -> &'static str {
        match self {
            Spelling::Bracket => "bracket",
            Spelling::Tied => "tied",
            Spelling::Plain => "plain",
            Spelling::Grouped => "grouped",
        }
    }
}

impl FromStr for Spelling {
    type Err = UnknownName;

    fn from_str(text: &str) -> Result<Spelling, UnknownName> {
        named(text, "a notation of a figure", &Spelling::ALL, Spelling::name)
    }
}

impl fmt::Display for Spelling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
