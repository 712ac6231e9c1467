//! The words in which a ladder says what to do.

use crate::line::Feel;
use crate::naming::{all_of, number};
use crate::time::Duration;
use crate::value::Base;

const ORDINALS: [&str; 7] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"];

/// How to play plain eighths with the line's feel.
pub(crate) fn plain(feel: Feel) -> &'static str {
    match feel {
        Feel::Straight => "Play eighth notes evenly",
        Feel::SwingAuto | Feel::Swing(_) => "Play swung eighth notes",
    }
}

/// A note by its index, out of `count`: `the second note`, `the last note`. From the eighth on, which would read
/// as a length, `note 8`.
pub(crate) fn note(index: usize, count: usize) -> String {
    match ORDINALS.get(index) {
        _ if index > 0 && index + 1 == count => "the last note".into(),
        Some(word) => format!("the {word} note"),
        None => format!("note {}", index + 1),
    }
}

/// The same, after another note was named: `the third`.
pub(crate) fn other(index: usize, count: usize) -> String {
    note(index, count).trim_end_matches(" note").into()
}

/// Equal notes that fill a length together: `eighth notes`, `quarter-note triplets` or
/// `five notes over two beats`.
pub(crate) fn evenly(unit: Duration, length: Duration) -> String {
    let named = |times: (i64, i64)| {
        let base = Base::from_length(unit.checked_mul(times.0).ok()?.checked_div(times.1).ok()?)?;
        let names = ["whole", "half", "quarter", "eighth", "sixteenth", "thirty-second", "sixty-fourth"];
        Some(names[base as usize])
    };
    if let Some(name) = named((1, 1)) {
        return format!("{name} notes");
    }
    if let Some(name) = named((3, 2)) {
        return format!("{name}-note triplets");
    }
    if let Some(name) = named((2, 3)) {
        return format!("dotted {name} notes");
    }
    let notes = (length.numer() * unit.denom()) / (length.denom() * unit.numer()).max(1);
    let (notes, halves) = (number(notes), length.numer() * 2 / length.denom());
    match (halves, halves % 2) {
        (2, _) => format!("{notes} notes to the beat"),
        (_, 0) => format!("{notes} notes over {} beats", number(halves / 2)),
        _ => format!("{notes} notes over {} eighths", number(halves)),
    }
}

/// A list of beats, counted from 1 in the meter's units: `1, 2 and the and of 3`.
pub(crate) fn beats(all: &[Duration]) -> String {
    all_of(all.iter().map(|beat| match beat.denom() {
        2 => format!("the and of {}", beat.numer() / 2),
        _ => beat.to_string(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn notes_are_counted() {
        assert_eq!(
            [(0, 1), (1, 4), (3, 4), (7, 9), (8, 9)].map(|(index, count)| note(index, count)),
            ["the first note", "the second note", "the last note", "note 8", "the last note"]
        );
        assert_eq!(
            [(1, 4), (3, 4), (7, 9)].map(|(index, count)| other(index, count)),
            ["the second", "the last", "note 8"]
        );
    }

    #[test]
    fn lengths_have_names() {
        for (unit, length, name) in [
            ((1, 2), (2, 1), "eighth notes"),
            ((2, 3), (2, 1), "quarter-note triplets"),
            ((1, 3), (1, 1), "eighth-note triplets"),
            ((3, 4), (3, 2), "dotted eighth notes"),
            ((2, 5), (2, 1), "five notes over two beats"),
            ((1, 5), (1, 1), "five notes to the beat"),
            ((3, 14), (3, 2), "seven notes over three eighths"),
        ] {
            let [unit, length] = [unit, length].map(|(numer, denom)| Duration::of(numer, denom));
            assert_eq!(evenly(unit, length), name);
        }
    }

    #[test]
    fn beats_are_listed() {
        let all = [Duration::of(1, 1), Duration::of(2, 1), Duration::of(7, 2)];
        assert_eq!(
            [&all[..1], &all[1..], &all].map(beats),
            ["1", "2 and the and of 3", "1, 2 and the and of 3"]
        );
    }
}
