//! What a tap on a window does to the casting: it recasts what can be recast, and restores what is.

use crate::line::Line;
use crate::timed::Spelling;

use super::apply::can_recast;
use super::windows::{Casting, Fit, Refusal, Window};

impl Casting {
    /// Recasts a window as it is, or in the first other spelling of its figure that works there, and returns
    /// the spelling used.
    ///
    /// # Errors
    /// The [`Refusal`] of the window as it is, if no spelling works there. Nothing changes then.
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

    /// What a tap on a window does: recasts it or, if it is recast that way already or can't be recast,
    /// restores it. Returns whether it is recast now.
    ///
    /// # Errors
    /// The [`Refusal`] if nothing is recast there and the window can't be. Nothing changes then.
    pub fn tap(&mut self, line: &Line, window: Window) -> Result<bool, Refusal> {
        let start = window.start;
        let before = self.at(start).cloned();
        let recast = self.put_fitting(line, window);
        if before.as_ref().is_some_and(|before| recast.is_err() || self.at(start) == Some(before)) {
            self.restore(start);
            return Ok(false);
        }
        recast.map(|()| true)
    }

    /// Recasts a window, replacing any that starts at the same moment. Its fit is used only if the notes don't fit
    /// exactly.
    ///
    /// # Errors
    /// The [`Refusal`] if the window can't be recast. Nothing changes then.
    pub fn put_fitting(&mut self, line: &Line, window: Window) -> Result<(), Refusal> {
        let exact = Window { fit: Fit::Exact, ..window.clone() };
        let window = if can_recast(line, &exact).is_ok() { exact } else { window };
        can_recast(line, &window)?;
        if self.overlaps(&window) {
            return Err(Refusal::Overlap);
        }
        self.put(window);
        Ok(())
    }
}
