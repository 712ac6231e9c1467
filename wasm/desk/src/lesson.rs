//! The line of the page, as its text says.

use halfbar_core::line::Line;
use halfbar_core::time::{Onset, Span};
use halfbar_core::{Piece, read};
use halfbar_dom::form::Told;
use halfbar_dom::{MOST_BARS, Result, by_id};
use halfbar_words::desk as says;
use web_sys::{Event, EventInit, HtmlTextAreaElement};

/// The text of the page, and the music in it.
pub(crate) struct Lesson {
    text: HtmlTextAreaElement,
    /// The last text that was right.
    source: String,
    piece: Option<Piece>,
}

impl Lesson {
    pub(crate) fn new() -> Result<Lesson> {
        let mut lesson = Lesson { text: by_id("text")?, source: String::new(), piece: None };
        lesson.read();
        Ok(lesson)
    }

    /// Reads the text, when it is another one. Says whether the music is another now.
    pub(crate) fn read(&mut self) -> bool {
        let source = self.text.value();
        if self.piece.is_some() && source == self.source {
            return false;
        }
        let reading = read::text(&source);
        let line =
            reading.line.filter(|line| reading.diagnostics.is_empty() && line.bar_count() <= MOST_BARS);
        let piece = line.and_then(|line| match &self.piece {
            // A tap changes little: the hands are searched where it does.
            Some(before) => Piece::after(before, line, reading.casting).ok(),
            None => Piece::new(line, reading.casting).ok(),
        });
        let Some(piece) = piece else { return false };
        (self.source, self.piece) = (source, Some(piece));
        true
    }

    /// The music of the last text that was right; none when there was no such text.
    pub(crate) fn piece(&self) -> Option<&Piece> {
        self.piece.as_ref()
    }

    /// The music, unless the text has a mistake now.
    pub(crate) fn right(&mut self) -> std::result::Result<&Piece, String> {
        self.read();
        let right = self.piece.as_ref().filter(|_| self.text.value() == self.source);
        right.ok_or(says::TEXT_HAS_A_MISTAKE.into())
    }

    /// Puts another text into the page, as a reader does by pasting it.
    pub(crate) fn write(&mut self, text: &str) -> Result<()> {
        self.text.set_value(text);
        self.read();
        let init = EventInit::new();
        init.set_bubbles(true);
        self.text.dispatch_event(&Event::new_with_event_init_dict("input", &init)?)?;
        Ok(())
    }
}

/// From one place of a line up to another, or to its end.
pub(crate) fn between(line: &Line, start: Onset, end: Onset) -> Told<Span> {
    let end = end.min(line.end());
    Span::new(start, end).filter(|_| start < end).ok_or(says::STRETCH_ENDS_FIRST.into())
}
