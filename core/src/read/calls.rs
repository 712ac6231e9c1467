//! `call` headers: `C6 at 1.1 to 1.3`.

use crate::line::{Call, Line};
use crate::order;

use super::diagnostic::Problem;
use super::passages::passages;
use super::words::{Findings, Spot, Words};

/// The most characters of a call.
const LONGEST: usize = 100;

/// Reads the headers, each with the spot of its value.
pub(super) fn read(line: &Line, headers: Vec<(&str, Spot)>, found: &mut Findings) -> Vec<Call> {
    let mut calls: Vec<Call> = Vec::new();
    for (value, at) in headers {
        // The words may have an `at` of their own.
        let Some((words, places)) = value.rsplit_once(" at ").filter(|(words, _)| !words.trim().is_empty())
        else {
            found.add(at, Problem::CallForm);
            continue;
        };
        let words = words.trim();
        let length = words.chars().count();
        if length > LONGEST {
            found.add(at.from(0, length), Problem::CallWords { allowed: LONGEST });
            continue;
        }
        let column = at.column + value.chars().count() - places.chars().count();
        let places = Words::new(places, at.line, column);
        passages(line, places, &Problem::CallForm, found, |span, at, found| {
            let next = calls.partition_point(|call| call.span.start() < span.end());
            let is_taken = calls[..next].last().is_some_and(|call| call.span.overlaps(span));
            let mut notes = line.events().iter().filter(|event| event.pitch.is_some());
            match () {
                () if is_taken => found.add(at, Problem::CallTwice),
                () if !notes.any(|event| span.contains(event.onset)) => found.add(at, Problem::NoNotes),
                () => order::insert(&mut calls, Call { span, words: words.into() }, |call| call.span.start()),
            }
        });
    }
    calls
}
