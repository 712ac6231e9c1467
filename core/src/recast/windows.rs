//! Which windows are recast, by which figure, in which spelling; and why a window may not be.

use crate::meter::Meter;
use crate::time::{Duration, Onset};

use super::figures::{Figure, Spelling};

/// A stretch of the line that takes a figure's rhythm.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Window {
    /// When it starts, from the start of the line.
    pub start: Onset,
    /// The rhythm; it says how long the window is.
    pub figure: &'static Figure,
    /// How it is written.
    pub spelling: Spelling,
}

/// The windows of a line that are recast, in order of time, at most one at each start.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Casting {
    windows: Vec<Window>,
}

/// Why a window can't be recast, in a musician's words.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The meter has no half-bars of two quarter notes.
    #[error("half-bars are recast in 4/4 and 2/2, and this line is in {meter}")]
    Meter {
        /// The line's meter.
        meter: Meter,
    },
    /// The window does not start with a half-bar.
    #[error("a window starts on the first beat or in the middle of the bar")]
    Start,
    /// The window reaches past the end of the line.
    #[error("the line ends before this window does")]
    End,
    /// A note that starts before the window sounds into it, or one sounds on after it.
    #[error("a note is held over into beat {beat}{}", if *next_bar { " of the next bar" } else { "" })]
    Held {
        /// The beat that the note is held into, counted from 1.
        beat: Duration,
        /// Whether that beat lies in the bar after the window's.
        next_bar: bool,
    },
    /// Another number of notes than the figure has.
    #[error("the window holds {} and this figure takes {takes}", notes(*holds))]
    Count {
        /// Notes in the window.
        holds: usize,
        /// Notes in the figure.
        takes: usize,
    },
    /// A rest in the window, or one that reaches into it or out of it.
    #[error("a rest stands in this window, and the figure has none")]
    Rest,
    /// Another window of the casting shares some of this one's time.
    #[error("this window shares time with the one before it")]
    Overlap,
}

fn notes(count: usize) -> String {
    match count {
        0 => "no notes".into(),
        1 => "1 note".into(),
        n => format!("{n} notes"),
    }
}

impl Casting {
    /// The windows in order of time.
    pub fn windows(&self) -> &[Window] {
        &self.windows
    }

    /// The window that starts at `start`.
    pub fn at(&self, start: Onset) -> Option<&Window> {
        self.find(start).ok().map(|index| &self.windows[index])
    }

    /// Recasts a window, in place of what stood at its start.
    pub fn put(&mut self, window: Window) {
        match self.find(window.start) {
            Ok(index) => self.windows[index] = window,
            Err(index) => self.windows.insert(index, window),
        }
    }

    /// What a tap on a window does: recasts it, or, when it is just so already, restores it. Says whether it is recast now.
    pub fn toggle(&mut self, window: Window) -> bool {
        if self.at(window.start) == Some(&window) {
            self.restore(window.start);
            return false;
        }
        self.put(window);
        true
    }

    /// Takes the window at `start` back to its plain rhythm, and says what stood there.
    pub fn restore(&mut self, start: Onset) -> Option<Window> {
        self.find(start).ok().map(|index| self.windows.remove(index))
    }

    fn find(&self, start: Onset) -> Result<usize, usize> {
        self.windows.binary_search_by_key(&start, |window| window.start)
    }
}
