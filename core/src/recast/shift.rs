//! Shifting: a passage of the line moves by an eighth and pushes out whatever is in its way.

use super::error::{RecastError, Result};
use crate::bars::Place;
use crate::line::{Event, Line, NoteId, Part};
use crate::pitch::Pitch;
use crate::time::{Duration, Onset, Span, TimeError};

use super::windows::{Casting, Refusal, Window};

/// Which way a passage moves.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Direction {
    /// An eighth toward the start.
    Earlier,
    /// An eighth toward the end.
    Later,
}

/// The result of a shift. Nothing has changed yet, so a caller can first say what would be lost.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Shifted {
    /// The line after the shift.
    pub line: Line,
    /// Its casting. Windows inside the passage move with it.
    pub casting: Casting,
    /// The notes that lose time, in order.
    pub pushed_out: Vec<PushedOut>,
    /// Where windows moved but couldn't keep their spelling.
    pub respelled: Vec<Place>,
}

/// A note that loses time to a shift.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct PushedOut {
    /// Where it was.
    pub place: Place,
    /// Its pitch.
    pub pitch: Pitch,
    /// The length it has left; zero if it is gone.
    pub left: Duration,
}

/// Moves the notes of a passage by an eighth. A rest is left where the passage came from, and chords stay
/// where they are. Whatever is in the way, or would leave the line, is pushed out. An empty passage moves
/// nothing.
///
/// ```
/// use halfbar_core::read;
/// use halfbar_core::recast::{Casting, Direction, shift};
/// use halfbar_core::time::{Onset, Span};
/// use halfbar_core::write;
///
/// let line = read::text("C4 D E F G A B C |").line.unwrap();
/// let stretch = Span::new(Onset::ZERO, Onset::at(2, 1)).unwrap();
/// let shifted = shift(&line, &Casting::default(), stretch, Direction::Later)?;
/// assert!(write::text::line(&shifted.line, &shifted.casting)?.ends_with("\nr C4 D E  F A B C |\n"));
/// assert_eq!(shifted.pushed_out[0].pitch.to_string(), "G4");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// [`RecastError::Window`] with the place where a note is held over an edge of the passage, where a recast
/// window would be cut, or where a window that moves could no longer be recast.
pub fn shift(line: &Line, casting: &Casting, stretch: Span, direction: Direction) -> Result<Shifted> {
    if stretch.start() == stretch.end() {
        let (line, casting) = (line.clone(), casting.clone());
        return Ok(Shifted { line, casting, pushed_out: Vec::new(), respelled: Vec::new() });
    }
    let (from, to) = match direction {
        Direction::Later => (stretch.end(), stretch.end().checked_add(Duration::EIGHTH)?),
        Direction::Earlier => (stretch.start().checked_sub(Duration::EIGHTH)?, stretch.start()),
    };
    for edge in [stretch.start(), stretch.end()] {
        whole_at(line, edge)?;
    }
    let moved = |onset: Onset| match direction {
        Direction::Later => onset.checked_add(Duration::EIGHTH),
        Direction::Earlier => onset.checked_sub(Duration::EIGHTH),
    };
    let touched = Span::new(stretch.start().min(from), stretch.end().max(to)).ok_or(TimeError)?;
    // What moves keeps its length, except at the edges of the line. What is in the way keeps the part
    // outside.
    let (mut parts, mut pushed_out) = (Parts { list: Vec::new(), end: Onset::ZERO, last: None }, Vec::new());
    for event in line.events() {
        let span = event.span()?;
        if event.pitch.is_none() && span.overlaps(touched) {
            // An empty place becomes a rest.
            continue;
        }
        let goes = stretch.contains(event.onset);
        let (start, end) = match goes {
            true => (moved(span.start())?.max(Onset::ZERO), moved(span.end())?.min(line.end())),
            false if span.start() < from => (span.start(), span.end().min(from)),
            false => (span.start().max(to), span.end()),
        };
        let left = Span::new(start, end).map_or(Ok(Duration::ZERO), Span::length)?;
        if let Some(pitch) = event.pitch.filter(|_| left < event.duration) {
            let place = line.bars().place(event.onset)?;
            pushed_out.push(PushedOut { place, pitch, left });
        }
        if left > Duration::ZERO {
            parts.put(event, start, left)?;
        }
    }
    parts.rest_to(line.end())?;
    let (heading, bars) = (line.heading().clone(), line.bars().clone());
    let shifted = Line::new(heading, bars, parts.list, line.chords().to_vec())?
        .with_constraints(line.constraints().to_vec())
        .with_calls(line.calls().to_vec());

    let (mut casting, mut respelled) = (casting.clone(), Vec::new());
    let windows: Vec<Window> = casting.windows().to_vec();
    let mut moving = Vec::new();
    for window in windows {
        let span = Span::starting(window.start, window.figure.span())?;
        if !span.overlaps(touched) {
            continue;
        }
        let start = moved(window.start)?;
        if span.start() < stretch.start() || span.end() > stretch.end() || start < Onset::ZERO {
            return Err(RecastError::Window { place: line.bars().place(window.start)?, why: Refusal::Cut });
        }
        casting.restore(window.start);
        moving.push(window.at(start));
    }
    for window in moving {
        let (place, asked) = (line.bars().place(window.start)?, window.spelling);
        let put = casting.put_spelled(&shifted, window).map_err(|why| RecastError::Window { place, why })?;
        if put != asked {
            respelled.push(place);
        }
    }
    Ok(Shifted { line: shifted, casting, pushed_out, respelled })
}

/// Refuses an edge that a note is held over, or that lies outside the line.
pub(crate) fn whole_at(line: &Line, edge: Onset) -> Result<()> {
    let held = line.events().iter().any(|event| {
        event.pitch.is_some() && event.onset < edge && event.span().is_ok_and(|span| span.end() > edge)
    });
    let refused = |why| Ok::<_, RecastError>(RecastError::Window { place: line.bars().place(edge)?, why });
    match () {
        () if edge < Onset::ZERO || edge > line.end() => Err(refused(Refusal::End)?),
        () if held => Err(refused(Refusal::Held { beat: line.bars().place(edge)?.beat, next_bar: false })?),
        () => Ok(()),
    }
}

/// The parts of a line under construction, with rests in the empty places.
struct Parts {
    list: Vec<Part>,
    end: Onset,
    /// The last note added.
    last: Option<NoteId>,
}

impl Parts {
    fn put(&mut self, event: &Event, start: Onset, duration: Duration) -> Result<()> {
        self.rest_to(start)?;
        // A connection into a note that was pushed out leads nowhere.
        let leads_on = self.last.replace(event.id).is_none_or(|before| before.0 + 1 == event.id.0);
        if let Some(before) = self.list.last_mut().filter(|_| !leads_on) {
            before.legato = None;
        }
        self.list.push(event.lasting(duration));
        self.end = start.checked_add(duration)?;
        Ok(())
    }

    /// Fills up with a rest to a moment.
    fn rest_to(&mut self, onset: Onset) -> Result<()> {
        let duration = onset.checked_since(self.end)?;
        if duration > Duration::ZERO {
            self.list.push(Part::rest(duration));
            self.end = onset;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Error, read, write};

    fn shifted(text: &str, from: Onset, to: Onset, direction: Direction) -> crate::Result<(String, usize)> {
        let reading = read::text(text);
        let line = reading.line.unwrap();
        let stretch = Span::new(from, to).unwrap();
        let shifted = shift(&line, &reading.casting, stretch, direction)?;
        let text = write::text::line(&shifted.line, &shifted.casting)?;
        let music = text.trim_end().rsplit('\n').next().unwrap_or_default().to_string();
        Ok((music, shifted.pushed_out.len()))
    }

    #[test]
    fn both_ways() {
        let line = "C4 D E F G A B C:1/2 |";
        let shift =
            |from, to, direction| shifted(line, Onset::at(from, 2), Onset::at(to, 2), direction).unwrap();
        assert_eq!(shift(2, 4, Direction::Later), ("C4 D r E  F A B C |".into(), 1));
        assert_eq!(shift(2, 4, Direction::Earlier), ("C4 E F r  G A B C |".into(), 1));
        // At the edges of the line, the passage itself loses its end.
        assert_eq!(shift(0, 8, Direction::Later), ("r C4 D E  F G A B |".into(), 1));
        assert_eq!(shift(0, 8, Direction::Earlier), ("D4 E F G  A B C r |".into(), 1));
    }

    #[test]
    fn long_notes_are_shortened_and_rests_give_way() {
        let later = |text: &str| shifted(text, Onset::ZERO, Onset::at(1, 1), Direction::Later).unwrap();
        assert_eq!(later("C4 D E:2 F:1 |"), ("r C4 D E:3/2 F:1 |".into(), 1));
        assert_eq!(later("C4 D r E:3/2 F:1 |"), ("r C4 D E:3/2 F:1 |".into(), 0));
    }

    #[test]
    fn windows_move_with_their_notes_or_refuse() {
        let text = |at: &str| format!("recast: split-last at {at}\nC4 D E F G F E D | C D E F G F E D |");
        let shift = |at: &str, from, to, direction| {
            shifted(&text(at), Onset::at(from, 1), Onset::at(to, 1), direction).map(|(_, lost)| lost)
        };
        assert_eq!(shift("1.3", 2, 4, Direction::Later), Ok(1));
        let refused = |result: crate::Result<usize>| {
            matches!(result, Err(Error::Recast(RecastError::Window { why: Refusal::Cut, .. })))
        };
        assert!(refused(shift("1.3", 0, 2, Direction::Later)));
        assert!(refused(shift("1.1", 2, 4, Direction::Earlier)));
        assert!(refused(shift("1.1", 0, 4, Direction::Earlier)));
        assert!(refused(shift("1.3", 0, 3, Direction::Earlier)));
    }

    #[test]
    fn nothing_moves_nothing() {
        let line = "C4 D E F G A B C |";
        let shifted = shifted(line, Onset::at(1, 1), Onset::at(1, 1), Direction::Later);
        assert_eq!(shifted, Ok(("C4 D E F  G A B C |".into(), 0)));
    }

    #[test]
    fn edges_that_are_none() {
        let held = shifted("C4:1 D:1 E:2 |", Onset::at(1, 2), Onset::at(2, 1), Direction::Later);
        assert!(matches!(held, Err(Error::Recast(RecastError::Window { why: Refusal::Held { .. }, .. }))));
        let outside = shifted("C4:4 |", Onset::ZERO, Onset::at(5, 1), Direction::Later);
        assert!(matches!(outside, Err(Error::Recast(RecastError::Window { why: Refusal::End, .. }))));
    }

    #[test]
    fn what_led_into_a_note_pushed_out_leads_nowhere() {
        let (music, lost) =
            shifted("C4_ D E_ F G:2 |", Onset::at(1, 1), Onset::at(2, 1), Direction::Earlier).unwrap();
        assert_eq!((music.as_str(), lost), ("C4 E_ F r  G:2 |", 1));
    }
}
