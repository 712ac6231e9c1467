//! Undo and redo: the texts that stood in the page, one for each tap and each spell of typing.

/// The texts before and after the one in the page.
#[derive(Default)]
pub(super) struct History {
    past: Vec<String>,
    future: Vec<String>,
    /// What stands in the page.
    now: String,
    /// Whether the last change was typed: typing goes on in the same step.
    typing: bool,
}

/// Enough for a lesson's work.
const DEEPEST: usize = 200;

impl History {
    /// The text changed by a tap (`typed` false) or by typing.
    pub(super) fn change(&mut self, text: &str, typed: bool) {
        if text == self.now {
            return;
        }
        let before = std::mem::replace(&mut self.now, text.into());
        if !(typed && self.typing) {
            self.past.push(before);
            self.past.drain(..self.past.len().saturating_sub(DEEPEST));
        }
        self.typing = typed;
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
        self.typing = false;
        Some(&self.now)
    }

    /// The text that the last undo took back.
    pub(super) fn redo(&mut self) -> Option<&str> {
        let after = self.future.pop()?;
        self.past.push(std::mem::replace(&mut self.now, after));
        self.typing = false;
        Some(&self.now)
    }

    pub(super) fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    pub(super) fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }
}
