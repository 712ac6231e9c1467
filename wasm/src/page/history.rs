//! Undo and redo: the texts that stood in the page, one for each tap and each spell of typing.

/// The texts before and after the one in the page.
#[derive(Default)]
pub(super) struct History {
    past: Vec<String>,
    future: Vec<String>,
    /// What stands in the page.
    now: String,
    /// When the last change was typed, in milliseconds: typing without a pause goes on in the same step.
    typed: Option<f64>,
}

/// A pause in typing that starts a new step, in milliseconds.
const PAUSE: f64 = 1200.0;
/// Enough for a lesson's work.
const DEEPEST: usize = 200;

impl History {
    /// The text changed: by typing at a moment, or by a tap.
    pub(super) fn change(&mut self, text: &str, typed: Option<f64>) {
        if text == self.now {
            return;
        }
        let before = std::mem::replace(&mut self.now, text.into());
        let goes_on = typed.zip(self.typed).is_some_and(|(now, before)| now - before < PAUSE);
        if !goes_on {
            self.past.push(before);
            self.past.drain(..self.past.len().saturating_sub(DEEPEST));
        }
        self.typed = typed;
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
        self.typed = None;
        Some(&self.now)
    }

    /// The text that the last undo took back.
    pub(super) fn redo(&mut self) -> Option<&str> {
        let after = self.future.pop()?;
        self.past.push(std::mem::replace(&mut self.now, after));
        self.typed = None;
        Some(&self.now)
    }

    pub(super) fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    pub(super) fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }
}
