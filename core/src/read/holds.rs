//! `hand` headers: `position 5 at 1.1 to 3.1`, `strings 4-2 at 2.1 to 3.1`, `down at 4.3`.

use crate::line::Line;
use crate::naming::quoted;
use crate::neck::Neck;
use crate::technique::{Constraint, ConstraintSpan};

use super::diagnostic::Problem;
use super::passages::{at, passages};
use super::words::{Findings, Spot, Words};

/// Reads the headers, each with the spot of its value.
pub(super) fn read(line: &Line, headers: Vec<(&str, Spot)>, found: &mut Findings) -> Vec<ConstraintSpan> {
    let mut holds = Vec::new();
    for (value, spot) in headers {
        let Some((want, places)) = at(value) else {
            found.add(spot, Problem::HandForm);
            continue;
        };
        let Some(want) = want.parse().ok().filter(|want| is_on(&line.heading().neck, *want)) else {
            let neck = &line.heading().neck;
            let (strings, frets) = (neck.strings(), neck.frets());
            found.add(
                spot.from(0, want.chars().count()),
                Problem::Constraint { text: quoted(want.trim()), strings, frets },
            );
            continue;
        };
        let column = spot.column + value.chars().count() - places.chars().count();
        let words = Words::new(places, spot.line, column);
        let passages = passages(line, words, || Problem::HandForm, found);
        holds.extend(passages.into_iter().map(|(span, _)| ConstraintSpan { span, want }));
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
