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
}
