//! `hand` headers: `position 5 at 1.1 to 3.1`, `strings 4-2 at 2.1 to 3.1`, `down at 4.3`.

use crate::line::Line;
use crate::naming::quoted;
use crate::neck::Neck;
use crate::technique::{Constraint, ConstraintSpan};
use crate::time::{Onset, Span};

use super::diagnostic::Problem;
use super::recasts::place_at;
use super::words::{Findings, Spot, Words};

/// Reads the headers, each with the spot of its value.
pub(super) fn read(line: &Line, headers: Vec<(&str, Spot)>, found: &mut Findings) -> Vec<ConstraintSpan> {
    let mut holds = Vec::new();
    for (value, at) in headers {
        let Some((want, places)) = value.split_once(" at ") else {
            found.add(at, Problem::HandForm);
            continue;
        };
        let Some(want) = want.parse().ok().filter(|want| is_on(&line.heading().neck, *want)) else {
            let neck = &line.heading().neck;
            let (strings, frets) = (neck.strings(), neck.frets());
            found.add(
                at.from(0, want.chars().count()),
                Problem::Constraint { text: quoted(want.trim()), strings, frets },
            );
            continue;
        };
        let column = at.column + value.chars().count() - places.chars().count();
        stretches(line, want, Words::new(places, at.line, column), &mut holds, found);
    }
    holds
}

/// Whether a neck has what the constraint asks for.
fn is_on(neck: &Neck, want: Constraint) -> bool {
    match want {
        Constraint::String(string) => (1..=neck.strings()).contains(&string.0),
        Constraint::Strings(strings) => strings.iter().all(|string| string.0 <= neck.strings()),
        Constraint::Fret(fret) | Constraint::Frets(fret, _) => fret.0 <= neck.frets(),
        Constraint::Position(position) => (1..=neck.frets()).contains(&position),
        Constraint::Finger(_) | Constraint::Stroke(_) | Constraint::Picking(_) | Constraint::Slurs => true,
    }
}

/// Reads `1.1 to 3.1, 4.3`: passages from one place to another, or single notes.
fn stretches(
    line: &Line,
    want: Constraint,
    mut words: Words<'_>,
    holds: &mut Vec<ConstraintSpan>,
    found: &mut Findings,
) {
    loop {
        let Some((text, at)) = words.next(',').filter(|(text, _)| *text != ",") else {
            return found.add(words.here(), Problem::HandForm);
        };
        let start = place_at(line, text);
        let (span, more) = match words.next(',') {
            None => (start.and_then(|start| note_at(line, start)), false),
            Some((",", _)) => (start.and_then(|start| note_at(line, start)), true),
            Some(("to", _)) => {
                let Some((text, _)) = words.next(',').filter(|(text, _)| *text != ",") else {
                    return found.add(words.here(), Problem::HandForm);
                };
                let end = place_at(line, text);
                let span = start.and_then(|start| {
                    let end = end?.min(line.end());
                    Span::new(start, end).filter(|_| start < end).ok_or(Problem::Backwards)
                });
                match words.next(',') {
                    None => (span, false),
                    Some((",", _)) => (span, true),
                    Some((_, at)) => return found.add(at, Problem::HandForm),
                }
            }
            Some((_, at)) => return found.add(at, Problem::HandForm),
        };
        match span {
            Ok(span) => holds.push(ConstraintSpan { span, want }),
            Err(problem) => found.add(at, problem),
        }
        if !more {
            return;
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
