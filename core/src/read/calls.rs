//! `call` headers: `C6 at 1.1 to 1.3`.

use crate::line::{Call, Line};
use crate::order;

use super::diagnostic::Problem;
use super::passages::{at, passages};
use super::words::{Findings, Spot, Words};

/// Reads the headers, each with the spot of its value.
pub(super) fn read(line: &Line, headers: Vec<(&str, Spot)>, found: &mut Findings) -> Vec<Call> {
    let mut calls: Vec<Call> = Vec::new();
    for (value, spot) in headers {
        // The words may have an `at` of their own.
        let Some((words, places)) = at(value).filter(|(words, _)| !words.trim().is_empty()) else {
            found.add(spot, Problem::CallForm);
            continue;
        };
        let column = spot.column + value.chars().count() - places.chars().count();
        let places = Words::new(places, spot.line, column);
        for (span, at) in passages(line, places, || Problem::CallForm, found) {
            let next = calls.partition_point(|call| call.span().start() < span.end());
            let is_taken = calls[..next].last().is_some_and(|call| call.span().overlaps(span));
            let first = line.events().partition_point(|event| event.onset < span.start());
            let note = line.events().iter().skip(first).find(|event| event.pitch.is_some());
            match Call::new(span, words) {
                _ if is_taken => found.add(at, Problem::CallTwice),
                _ if note.is_none_or(|note| !span.contains(note.onset)) => found.add(at, Problem::NoNotes),
                Ok(call) => order::insert(&mut calls, call, |call| call.span().start()),
                Err(error) => {
                    found.add(spot.from(0, words.trim().chars().count()), Problem::CallWords(error));
                }
            }
        }
    }
    calls
}
