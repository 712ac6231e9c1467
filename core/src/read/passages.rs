//! Places and passages in headers: `1.1 to 3.1, 4.3`.

use crate::line::Line;
use crate::time::{Onset, Span};

use super::diagnostic::Problem;
use super::recasts::place_at;
use super::words::{Findings, Spot, Words};

/// Reads `1.1 to 3.1, 4.3`: passages from one place to another, or single notes. `form` makes what is wrong if they aren't written like that.
pub(super) fn passages(
    line: &Line,
    mut words: Words<'_>,
    form: fn() -> Problem,
    found: &mut Findings,
) -> Vec<(Span, Spot)> {
    let mut passages = Vec::new();
    let wrong = loop {
        let Some((text, at)) = words.next(',').filter(|(text, _)| *text != ",") else {
            break words.here();
        };
        let start = place_at(line, text);
        let (span, more) = match words.next(',') {
            None => (start.and_then(|start| note_at(line, start)), false),
            Some((",", _)) => (start.and_then(|start| note_at(line, start)), true),
            Some(("to", _)) => {
                let Some((text, _)) = words.next(',').filter(|(text, _)| *text != ",") else {
                    break words.here();
                };
                let end = place_at(line, text);
                let span = start.and_then(|start| {
                    let end = end?.min(line.end());
                    Span::new(start, end).filter(|_| start < end).ok_or(Problem::Backwards)
                });
                match words.next(',') {
                    None => (span, false),
                    Some((",", _)) => (span, true),
                    Some((_, at)) => break at,
                }
            }
            Some((_, at)) => break at,
        };
        match span {
            Ok(span) => passages.push((span, at)),
            Err(problem) => found.add(at, problem),
        }
        if !more {
            return passages;
        }
    };
    found.add(wrong, form());
    passages
}

/// What stands before the last `at` of a value, and the places after it.
pub(super) fn at(value: &str) -> Option<(&str, &str)> {
    let mut before = value;
    loop {
        (before, _) = before.rsplit_once(' ')?;
        if let Some(what) = before.strip_suffix(" at") {
            return Some((what, value.get(before.len() + 1..)?));
        }
    }
}

/// The span of the note that starts here.
fn note_at(line: &Line, start: Onset) -> Result<Span, Problem> {
    let events = line.events();
    let event = events.get(events.partition_point(|event| event.onset < start));
    event
        .filter(|event| event.onset == start && event.pitch.is_some())
        .and_then(|event| event.span().ok())
        .ok_or(Problem::NoNote)
}
