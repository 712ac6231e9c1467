//! Undo and redo: the texts that stood in the page, one for each tap, each spell of typing and each half-bar that figures are chosen for.

use halfbar_core::time::Onset;

/// What changed the text. Some changes go on in the step of the one before.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum By {
    /// A tap, and whatever else is a step of its own.
    Tap,
    /// A key in the text, pressed at this moment in milliseconds: typing without a pause is one step.
    Typing(f64),
    /// Another figure or notation for the half-bar that starts here: walking over the figures by arrow keys is one step.
    Choice(Onset),
}

/// The texts before and after the one in the page.
#[derive(Default)]
pub(super) struct History {
    past: Vec<String>,
    future: Vec<String>,
    /// What stands in the page.
    now: String,
    /// What made the last step, while that can go on.
    last: Option<By>,
}

/// A pause in typing that starts a new step, in milliseconds.
const PAUSE: f64 = 1200.0;
/// Enough for a lesson's work.
const DEEPEST: usize = 200;

impl History {
    /// The text changed.
    pub(super) fn change(&mut self, text: &str, by: By) {
        if text == self.now {
            return;
        }
        let before = std::mem::replace(&mut self.now, text.into());
        let goes_on = match (self.last, by) {
            (Some(By::Typing(before)), By::Typing(now)) => now - before < PAUSE,
            (Some(By::Choice(before)), By::Choice(now)) => now == before,
            _ => false,
        };
        if !goes_on {
            self.past.push(before);
            self.past.drain(..self.past.len().saturating_sub(DEEPEST));
        }
        self.last = Some(by);
        self.future.clear();
    }

    /// Starts from a text, without a past.
    pub(super) fn start(&mut self, text: &str) {
        *self = History { now: text.into(), ..History::default() };
    }

    /// The text before the last change.
    pub(super) fn undo(&mut self) -> Option<&str> {
        let before = self.past.pop()?;
        self.future.push(std::mem::replace(&mut self.now, before));
        self.last = None;
        Some(&self.now)
    }

    /// The text that the last undo took back.
    pub(super) fn redo(&mut self) -> Option<&str> {
        let after = self.future.pop()?;
        self.past.push(std::mem::replace(&mut self.now, after));
        self.last = None;
        Some(&self.now)
    }

    pub(super) fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    pub(super) fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn started() -> History {
        let mut history = History::default();
        history.start("one");
        history
    }

    #[test]
    fn steps_go_back_and_on_to_where_they_were() {
        let mut history = started();
        assert!(!history.can_undo() && !history.can_redo());
        assert_eq!(history.undo(), None);
        assert_eq!(history.redo(), None);
        history.change("two", By::Tap);
        history.change("three", By::Tap);
        assert_eq!(history.undo(), Some("two"));
        assert_eq!(history.undo(), Some("one"));
        assert_eq!(history.undo(), None);
        assert_eq!(history.redo(), Some("two"));
        assert_eq!(history.redo(), Some("three"));
        assert!(history.can_undo() && !history.can_redo());
    }

    #[test]
    fn another_change_gives_up_what_was_taken_back() {
        let mut history = started();
        history.change("two", By::Tap);
        history.undo();
        history.change("other", By::Tap);
        assert!(!history.can_redo());
        assert_eq!(history.undo(), Some("one"));
    }

    #[test]
    fn the_same_text_is_no_step() {
        let mut history = started();
        history.change("one", By::Tap);
        assert!(!history.can_undo());
        history.change("two", By::Tap);
        history.undo();
        history.change("one", By::Tap);
        assert!(history.can_redo(), "what was taken back is still there");
    }

    #[test]
    fn typing_without_a_pause_is_one_step() {
        let mut history = started();
        for (text, at) in [("oneo", 0.0), ("oneon", PAUSE - 1.0), ("oneone", 2.0 * PAUSE - 2.0)] {
            history.change(text, By::Typing(at));
        }
        // A pause, counted from the last letter.
        history.change("oneone!", By::Typing(3.0 * PAUSE));
        assert_eq!(history.undo(), Some("oneone"));
        assert_eq!(history.undo(), Some("one"));
    }

    #[test]
    fn a_tap_ends_what_is_typed() {
        let mut history = started();
        history.change("typed", By::Typing(0.0));
        history.change("tapped", By::Tap);
        history.change("typed again", By::Typing(1.0));
        assert_eq!(history.undo(), Some("tapped"));
        // So does a step back.
        history.change("more", By::Typing(2.0));
        assert_eq!(history.undo(), Some("tapped"));
        assert_eq!(history.undo(), Some("typed"));
    }

    #[test]
    fn choosing_for_one_half_bar_is_one_step() {
        let [first, second] = [Onset::ZERO, Onset::at(2, 1)];
        let mut history = started();
        history.change("tapped", By::Tap);
        for text in ["a", "b", "c"] {
            history.change(text, By::Choice(first));
        }
        history.change("d", By::Choice(second));
        assert_eq!(history.undo(), Some("c"));
        assert_eq!(history.undo(), Some("tapped"));
        // A step back ends it.
        history.change("e", By::Choice(first));
        assert_eq!(history.undo(), Some("tapped"));
    }

    #[test]
    fn the_oldest_steps_are_given_up() {
        let mut history = started();
        for step in 0..2 * DEEPEST {
            history.change(&step.to_string(), By::Tap);
        }
        let back = std::iter::from_fn(|| history.undo().map(String::from)).collect::<Vec<_>>();
        assert_eq!(back.len(), DEEPEST);
        assert_eq!(back.last(), Some(&(DEEPEST - 1).to_string()));
    }
}
