//! Which windows are recast, by which figure, in which spelling; and why a window may not be.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use crate::line::Line;
use crate::naming::{UnknownName, named};
use crate::time::{Duration, Onset, Span};

use super::apply::can_recast;
use crate::timed::Spelling;

use super::figures::Figure;

/// A stretch of the line that takes a figure's rhythm.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Window {
    /// When it starts, from the start of the line.
    pub start: Onset,
    /// The rhythm; it says how long the window is.
    pub figure: Arc<Figure>,
    /// How it is written.
    pub spelling: Spelling,
    /// What to do when it holds another number of notes than the figure takes.
    pub fit: Fit,
}

/// What to do with a window that holds another number of notes than its figure takes. The line keeps all its notes: only what sounds
/// changes, and restoring the window brings them back.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
#[non_exhaustive]
pub enum Fit {
    /// Nothing: such a window can't be recast.
    #[default]
    Exact,
    /// Too many notes: the first ones sound, and the others are left out.
    KeepFirst,
    /// Too many notes: the last ones sound, and the others are left out.
    KeepLast,
    /// Too few notes: the last one is repeated.
    RepeatLast,
    /// Too few notes: the figure's last places are rests.
    RestLast,
}

/// The windows of a line that are recast, in order of time, at most one at each start; and the figures of the user's own.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Casting {
    windows: Vec<Window>,
    own: Vec<Arc<Figure>>,
}

/// Why a window can't be recast, in a musician's words.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The window starts between two eighths.
    #[error("a window starts on a beat or half way between two")]
    Start,
    /// The window reaches past the end of the line.
    #[error("the line ends before this window does")]
    End,
    /// A note that starts before the window sounds into it, or one sounds on after it.
    #[error("a note is held over into {}{}", counted(*beat), if *next_bar { " of the next bar" } else { "" })]
    Held {
        /// The beat that the note is held into, counted from 1.
        beat: Duration,
        /// Whether that beat lies in the bar after the window's.
        next_bar: bool,
    },
    /// Another number of notes than the figure has.
    #[error("the window holds {} and this figure takes {takes}{}", notes(*holds), remedy(*holds, *takes))]
    Count {
        /// Notes in the window.
        holds: usize,
        /// Notes in the figure.
        takes: usize,
    },
    /// A rest in the window, or one that reaches into it or out of it.
    #[error("a rest stands in this window, and the figure has none")]
    Rest,
    /// The figure can't be written so at all.
    #[error("{figure} has no `{spelling}` spelling; it has {}", names(spellings))]
    NoSpelling {
        /// The figure's name.
        figure: String,
        /// What was asked for.
        spelling: Spelling,
        /// What there is.
        spellings: Vec<Spelling>,
    },
    /// A bracket would hide a point that every reader looks for.
    #[error(
        "one bracket here would hide the {hidden}; spell it beat by beat (`tied`) or as it falls (`plain`)"
    )]
    Hides {
        /// The middle of the bar, or the bar line.
        hidden: &'static str,
    },
    /// A spelling beat by beat, from between two beats.
    #[error("beat by beat, this figure starts on a beat of a quarter note; spell it as it falls (`plain`)")]
    OffBeat,
    /// A stretch that is moved or copied would cut the window.
    #[error(
        "this would cut a recast window here, or move it out of the line; restore it first, or take it into the stretch"
    )]
    Cut,
    /// Another window of the casting shares some of this one's time.
    #[error("this window shares time with another one; restore that first")]
    Overlap,
}

/// What fits another number of notes into a figure.
fn remedy(holds: usize, takes: usize) -> &'static str {
    match () {
        () if holds > takes => "; it can keep the first ones (`keep-first`) or the last ones (`keep-last`)",
        () if holds > 0 => "; it can repeat the last one (`repeat-last`) or end with a rest (`rest-last`)",
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
    let names: Vec<_> = spellings.iter().map(|spelling| format!("`{spelling}`")).collect();
    names.join(", ")
}

fn notes(count: usize) -> String {
    match count {
        0 => "no notes".into(),
        1 => "1 note".into(),
        n => format!("{n} notes"),
    }
}

impl Window {
    /// A window whose notes are as many as the figure's.
    pub fn new(start: Onset, figure: Arc<Figure>, spelling: Spelling) -> Window {
        Window { start, figure, spelling, fit: Fit::Exact }
    }

    /// The same from another start.
    pub fn at(&self, start: Onset) -> Window {
        Window { start, ..self.clone() }
    }

    /// Its time; `None` when its end can't be held.
    pub fn span(&self) -> Option<Span> {
        Span::starting(self.start, self.figure.span()).ok()
    }
}

impl Fit {
    /// All, in the order in which they are offered.
    pub const ALL: [Fit; 5] = [Fit::Exact, Fit::KeepFirst, Fit::KeepLast, Fit::RepeatLast, Fit::RestLast];

    /// What the text format calls it; [`Fit::Exact`] is never written.
    pub fn name(self) -> &'static str {
        match self {
            Fit::Exact => "exact",
            Fit::KeepFirst => "keep-first",
            Fit::KeepLast => "keep-last",
            Fit::RepeatLast => "repeat-last",
            Fit::RestLast => "rest-last",
        }
    }

    /// Whether so many notes can be brought into a figure that takes so many.
    pub(super) fn allows(self, holds: usize, takes: usize) -> bool {
        match self {
            _ if holds == takes => true,
            Fit::Exact => false,
            Fit::KeepFirst | Fit::KeepLast => holds > takes,
            Fit::RepeatLast | Fit::RestLast => (1..takes).contains(&holds),
        }
    }
}

impl FromStr for Fit {
    type Err = UnknownName;

    fn from_str(text: &str) -> Result<Fit, UnknownName> {
        named(text, "a way to fit the notes", &Fit::ALL[1..], Fit::name)
    }
}

impl fmt::Display for Fit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl Casting {
    /// The windows in order of time.
    pub fn windows(&self) -> &[Window] {
        &self.windows
    }

    /// The figures of the user's own, in the order in which they were added.
    pub fn own_figures(&self) -> &[Arc<Figure>] {
        &self.own
    }

    /// Adds a figure of the user's own, in place of one with the same name.
    pub fn add_figure(&mut self, figure: Figure) {
        self.own.retain(|own| own.name() != figure.name());
        self.own.push(Arc::new(figure));
    }

    /// The user's own figure of this name, or the catalogue's.
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

    /// Whether a window shares time with another one than what it would replace.
    pub fn overlaps(&self, window: &Window) -> bool {
        let (Some(span), index) =
            (window.span(), self.windows.partition_point(|other| other.start < window.start))
        else {
            return true;
        };
        let neighbours = self.windows[index.saturating_sub(1)..]
            .iter()
            .take(3)
            .filter(|other| other.start != window.start);
        neighbours.filter_map(Window::span).any(|other| other.overlaps(span))
    }

    /// Recasts a window, in place of what stood at its start.
    pub fn put(&mut self, window: Window) {
        match self.find(window.start) {
            Ok(index) => self.windows[index] = window,
            Err(index) => self.windows.insert(index, window),
        }
    }

    /// The same figures of the user's own, and nothing recast.
    pub fn cleared(&self) -> Casting {
        Casting { windows: Vec::new(), own: self.own.clone() }
    }

    /// Recasts a window as it is, or in the first other spelling of its figure that can stand there; gives the spelling it took.
    ///
    /// # Errors
    /// The [`Refusal`] of the window as it is, when no spelling can stand there; nothing changes then.
    pub fn put_spelled(&mut self, line: &Line, window: Window) -> Result<Spelling, Refusal> {
        let fitting = match can_recast(line, &window) {
            Ok(()) => window,
            Err(why) => {
                let spellings = window.figure.spellings().iter();
                let mut others = spellings.map(|&spelling| Window { spelling, ..window.clone() });
                others.find(|other| can_recast(line, other).is_ok()).ok_or(why)?
            }
        };
        let spelling = fitting.spelling;
        self.put(fitting);
        Ok(spelling)
    }

    /// What a tap on a window does: recasts it, or, when it is just so already or can't be otherwise, restores it. Says whether it is
    /// recast now.
    ///
    /// # Errors
    /// The [`Refusal`], when nothing stands there and the window can't be recast; nothing changes then.
    pub fn tap(&mut self, line: &Line, mut window: Window) -> Result<bool, Refusal> {
        let exact = Window { fit: Fit::Exact, ..window.clone() };
        if can_recast(line, &exact).is_ok() {
            window = exact;
        }
        let possible = match can_recast(line, &window) {
            Ok(()) if self.overlaps(&window) => Err(Refusal::Overlap),
            possible => possible,
        };
        if self.at(window.start).is_some_and(|there| *there == window || possible.is_err()) {
            self.restore(window.start);
            return Ok(false);
        }
        possible?;
        self.put(window);
        Ok(true)
    }

    /// Takes the window at `start` back to its plain rhythm, and says what stood there.
    pub fn restore(&mut self, start: Onset) -> Option<Window> {
        self.find(start).ok().map(|index| self.windows.remove(index))
    }

    fn find(&self, start: Onset) -> Result<usize, usize> {
        self.windows.binary_search_by_key(&start, |window| window.start)
    }
}
