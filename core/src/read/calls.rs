//! `call` headers: `C6 at 1.1 to 1.3`.

use crate::line::{Call, Line};
use crate::order;

use super::diagnostic::Problem;
use super::passages::{at, passages};
use super::words::{Findings, Spot, Words};

/// The most characters of a call.
const LONGEST: usize = 100;

/// Reads the headers, each with the spot of its value.
pub(super) fn read(line: &Line, headers: Vec<(&str, Spot)>, found: &mut Findings) -> Vec<Call> {
    let mut calls: Vec<Call> = Vec::new();
    for (value, spot) in headers {
        // The words may have an `at` of their own.
        let Some((words, places)) = at(value).filter(|(words, _)| !words.trim().is_empty()) else {
            found.add(spot, Problem::CallForm);
            continue;
        };
        let words = words.trim();
        let length = words.chars().count();
        if length > LONGEST {
            found.add(spot.from(0, length), Problem::CallWords { allowed: LONGEST });
            continue;
        }
        let column = spot.column + value.chars().count() - places.chars().count();
        let places = Words::new(places, spot.line, column);
        for (span, at) in passages(line, places, || Problem::CallForm, found) {
            let next = calls.partition_point(|call| call.span.start() < span.end());
            let is_taken = calls[..next].last().is_some_and(|call| call.span.overlaps(span));
            let mut notes = line.events().iter().filter(|event| event.pitch.is_some());
            match () {
                () if is_taken => found.add(at, Problem::CallTwice),
                () if !notes.any(|event| span.contains(event.onset)) => found.add(at, Problem::NoNotes),
                () => order::insert(&mut calls, Call { span, words: words.into() }, |call| call.span.start()),
            }
        }
    }
    calls
}
