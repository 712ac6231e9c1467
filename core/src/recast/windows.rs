//! Which windows are recast, with which figure and spelling; and why a window can't be.

use std::sync::Arc;

use crate::naming::{by_name, one_of};
use crate::time::{Duration, Onset, Span};

use crate::timed::Spelling;

use super::figures::Figure;

/// A passage of the line that takes a figure's rhythm.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Window {
    /// When it starts, from the start of the line.
    pub start: Onset,
    /// Its rhythm, which also sets the length of the window.
    pub figure: Arc<Figure>,
    /// How it is written.
    pub spelling: Spelling,
    /// What to do if its notes are more or fewer than the figure takes.
    pub fit: Fit,
}

/// What to do if the notes in a window are more or fewer than its figure takes. The line keeps all its notes:
/// only what sounds changes, and restoring the window brings them back.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
#[non_exhaustive]
pub enum Fit {
    /// Nothing: the window can't be recast.
    #[default]
    Exact,
    /// Too many notes: the first ones are played, and the others are left out.
    KeepFirst,
    /// Too many notes: the last ones are played, and the others are left out.
    KeepLast,
    /// Too few notes: the last one is repeated.
    RepeatLast,
    /// Too few notes: the figure ends with rests.
    RestLast,
}

/// The recast windows of a line, in order of time and at most one at each start, along with the user's own
/// figures.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Casting {
    windows: Vec<Window>,
    own: Vec<Arc<Figure>>,
}

/// Why a window can't be recast, in terms a musician understands.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The window starts between two eighths.
    #[error("a figure starts on a beat or halfway between two")]
    Start,
    /// The window reaches past the end of the line.
    #[error("the line ends before this figure does")]
    End,
    /// A note from before the window sounds into it, or one of its own sounds on after it.
    #[error("a note is held over into {}{}", counted(*beat), if *next_bar { " of the next bar" } else { "" })]
    Held {
        /// The beat that the note is held into, counted from 1.
        beat: Duration,
        /// Whether that beat is in the bar after the window's.
        next_bar: bool,
    },
    /// The notes in the window are more or fewer than the figure takes.
    #[error("there {} here and this figure takes {takes}{}", notes(*holds), remedy(*holds, *takes))]
    Count {
        /// The number of notes in the window.
        holds: usize,
        /// The number of notes in the figure.
        takes: usize,
    },
    /// There is a rest in the window, or one that reaches into it or out of it.
    #[error("there is a rest here, and this figure has none")]
    Rest,
    /// The figure can't be written this way anywhere.
    #[error("{figure} has no `{spelling}` notation; use {}", names(spellings))]
    NoSpelling {
        /// The figure's name.
        figure: String,
        /// The spelling asked for.
        spelling: Spelling,
        /// The spellings there are.
        spellings: Vec<Spelling>,
    },
    /// A bracket would hide a point that readers look for.
    #[error("one bracket here would hide the {hidden}; use ties (`tied`) or literal values (`plain`)")]
    Hides {
        /// The middle of the bar, or the bar line.
        hidden: &'static str,
    },
    /// A spelling beat by beat that would start between two beats.
    #[error("with ties, this figure has to start on a quarter-note beat; use literal values here (`plain`)")]
    OffBeat,
    /// A passage that is moved or copied would cut the window.
    #[error(
        "this would cut a figure here, or move it out of the line; remove it first, or include all of it"
    )]
    Cut,
    /// Another window of the casting shares some of this window's time.
    #[error("overlaps another figure; remove that one first")]
    Overlap,
}

/// How to fit more or fewer notes into a figure.
fn remedy(holds: usize, takes: usize) -> &'static str {
    match () {
        () if holds > takes => "; play only the first ones (`keep-first`) or the last ones (`keep-last`)",
        () if holds > 0 => "; repeat the last one (`repeat-last`) or end with a rest (`rest-last`)",
        () => "",
    }
}

/// `beat 3`, or `the and of 3`.
fn counted(beat: Duration) -> String {
    match beat.denom() {
        2 => format!("the and of {}", beat.numer() / 2),
        _ => format!("beat {beat}"),
    }
}

fn names(spellings: &[Spelling]) -> String {
    one_of(&spellings.iter().map(|spelling| spelling.name()).collect::<Vec<_>>())
}

fn notes(count: usize) -> String {
    match count {
        0 => "are no notes".into(),
        1 => "is 1 note".into(),
        n => format!("are {n} notes"),
    }
}

impl Window {
    /// A window with exactly as many notes as the figure takes.
    pub fn new(start: Onset, figure: Arc<Figure>, spelling: Spelling) -> Window {
        Window { start, figure, spelling, fit: Fit::Exact }
    }

    /// The same window at another start.
    pub fn at(&self, start: Onset) -> Window {
        Window { start, ..self.clone() }
    }

    /// When it starts and ends; `None` if the end is out of range.
    pub fn span(&self) -> Option<Span> {
        Span::starting(self.start, self.figure.span()).ok()
    }
}

impl Fit {
    /// All choices, in the order they are offered.
    pub const ALL: [Fit; 5] = [Fit::Exact, Fit::KeepFirst, Fit::KeepLast, Fit::RepeatLast, Fit::RestLast];

    /// Its name in the text format, where [`Fit::Exact`] is never written.
    pub fn name(self) -> &'static str {
        match self {
            Fit::Exact => "exact",
            Fit::KeepFirst => "keep-first",
            Fit::KeepLast => "keep-last",
            Fit::RepeatLast => "repeat-last",
            Fit::RestLast => "rest-last",
        }
    }

    /// Whether `holds` notes can be made to fit a figure that takes `takes`.
    pub(super) fn allows(self, holds: usize, takes: usize) -> bool {
        match self {
            _ if holds == takes => true,
            Fit::Exact => false,
            Fit::KeepFirst | Fit::KeepLast => holds > takes,
            Fit::RepeatLast | Fit::RestLast => (1..takes).contains(&holds),
        }
    }
}

by_name!(Fit, "a way to fit the notes");

impl Casting {
    /// The windows in order of time.
    pub fn windows(&self) -> &[Window] {
        &self.windows
    }

    /// The user's own figures, in the order they were added.
    pub fn own_figures(&self) -> &[Arc<Figure>] {
        &self.own
    }

    /// Adds one of the user's own figures, replacing one with the same name.
    pub fn add_figure(&mut self, figure: Figure) {
        self.own.retain(|own| own.name() != figure.name());
        self.own.push(Arc::new(figure));
    }

    /// The user's own figure with this name, or else the catalogue's.
    pub fn figure(&self, name: &str) -> Option<Arc<Figure>> {
        self.own.iter().find(|figure| figure.name() == name).map(Arc::clone).or_else(|| Figure::named(name))
    }

    /// All figures, the catalogue's first.
    pub fn figures(&self) -> impl Iterator<Item = &Arc<Figure>> {
        Figure::all().iter().chain(&self.own)
    }

    /// The window that starts at `start`.
    pub fn at(&self, start: Onset) -> Option<&Window> {
        self.find(start).ok().map(|index| &self.windows[index])
    }

    /// Whether a window shares time with any window other than the one it would replace.
    pub fn overlaps(&self, window: &Window) -> bool {
        let (Some(span), index) =
            (window.span(), self.windows.partition_point(|other| other.start < window.start))
        else {
            return true;
        };
        let neighbors = self.windows[index.saturating_sub(1)..]
            .iter()
            .take(3)
            .filter(|other| other.start != window.start);
        neighbors.filter_map(Window::span).any(|other| other.overlaps(span))
    }

    /// Recasts a window, replacing any that starts at the same moment.
    pub fn put(&mut self, window: Window) {
        match self.find(window.start) {
            Ok(index) => self.windows[index] = window,
            Err(index) => self.windows.insert(index, window),
        }
    }

    /// A casting with the same figures of the user's own, and nothing recast.
    pub fn cleared(&self) -> Casting {
        Casting { windows: Vec::new(), own: self.own.clone() }
    }

    /// Restores the plain rhythm of the window at `start`, and returns the window that was there.
    pub fn restore(&mut self, start: Onset) -> Option<Window> {
        self.find(start).ok().map(|index| self.windows.remove(index))
    }

    fn find(&self, start: Onset) -> Result<usize, usize> {
        self.windows.binary_search_by_key(&start, |window| window.start)
    }
}
