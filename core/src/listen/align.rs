//! Matching played notes to expected ones.

use crate::order;

/// How far a note can be from its time and still be that note, in seconds: common practice, no source. An
/// eighth-note triplet note lasts this long at 133 quarter notes per minute.
pub const WINDOW: f64 = 0.15;

/// How far a note can be from its time and count as on time, in seconds: the tolerance of MIREX's audio onset detection, and of
/// `mir_eval.onset`, for whether a note start was found.
pub const HIT: f64 = 0.05;

/// What happened to an expected note.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Heard {
    /// It was played.
    At {
        /// How late it was, in seconds; negative if early.
        late: f64,
    },
    /// It wasn't played.
    Missed,
}

impl Heard {
    /// How late the note was in seconds, negative if early; `None` if it was missed.
    pub fn late(self) -> Option<f64> {
        match self {
            Heard::At { late } => Some(late),
            Heard::Missed => None,
        }
    }
}

/// Which played notes match expected ones, and which are extra.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Alignment {
    /// What happened to each expected note, in their order.
    pub heard: Vec<Heard>,
    /// When notes were played that weren't expected, in seconds.
    pub extra: Vec<f64>,
}

/// Matches played notes to expected ones at the lowest cost, keeping the order of time. A match costs the
/// seconds between the two notes, at most `window`; a missed or extra note costs `window` itself.
///
/// Times are in seconds, in any order. A time that isn't finite is ignored: an expected note is then missed,
/// and a played one is left out. A `window` that isn't finite and positive matches nothing.
///
/// Matching the nearest note would often be wrong. Here the second played note is nearest to the third
/// expected one, but is still the second:
///
/// ```
/// use halfbar_core::listen::{Heard, align};
///
/// let alignment = align(&[0.0, 0.1, 0.2], &[0.02, 0.16, 0.24, 1.0], 0.15);
/// let late: Vec<_> = alignment.heard.iter().map(|heard| (heard.late().unwrap() * 1000.0).round()).collect();
/// assert_eq!(late, [20.0, 60.0, 40.0]);
/// assert_eq!(alignment.extra, [1.0]);
/// assert_eq!(align(&[0.0], &[0.2], 0.15).heard, [Heard::Missed]);
/// ```
pub fn align(expected: &[f64], played: &[f64], window: f64) -> Alignment {
    let mut notes: Vec<(usize, f64)> =
        expected.iter().copied().enumerate().filter(|note| note.1.is_finite()).collect();
    order::sort(&mut notes, |note| order::of_time(note.1));
    let played = order::finite(played);
    let rows = rows(&notes, &played, if window.is_finite() { window } else { 0.0 });

    let mut alignment = Alignment { heard: vec![Heard::Missed; expected.len()], extra: Vec::new() };
    let mut end = played.len();
    let mut extra = |end: &mut usize| {
        *end -= 1;
        alignment.extra.push(played[*end]);
    };
    for (index, row) in rows.iter().enumerate().rev() {
        let before = |end: usize| index.checked_sub(1).map_or(0.0, |before| rows[before].saved(end));
        // Back along the row, past notes that save nothing there, to the entry it was made from.
        while end > row.first && (end > row.last() || row.saved(end) == row.saved(end - 1)) {
            extra(&mut end);
        }
        if row.saved(end) > before(end) {
            end -= 1;
            let (note, time) = notes[index];
            alignment.heard[note] = Heard::At { late: played[end] - time };
        }
    }
    while end > 0 {
        extra(&mut end);
    }
    alignment.extra.reverse();
    alignment
}

/// The most that can be saved with the expected notes up to one, for each number of played notes so far.
///
/// Counting every expected note as missed and every played note as extra costs the most. Every match saves
/// two windows, minus its own cost. Only played notes within the window of a note can change anything there,
/// so a row has one entry for each of those.
struct Row {
    /// The number of played notes before the window.
    first: usize,
    /// The most that can be saved with `first` played notes, with one more, and so on.
    saved: Vec<f64>,
}

impl Row {
    /// The number of played notes before the end of the window.
    fn last(&self) -> usize {
        self.first + self.saved.len() - 1
    }

    /// The most that can be saved with this many played notes, at least `first`.
    fn saved(&self, notes: usize) -> f64 {
        self.saved[notes.min(self.last()) - self.first]
    }
}

fn rows(notes: &[(usize, f64)], played: &[f64], window: f64) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::with_capacity(notes.len());
    for &(_, time) in notes {
        let first = played.partition_point(|&played| time - played > window);
        let within = played[first..].iter().take_while(|&&played| (played - time).abs() <= window).count();
        let before = |end: usize| rows.last().map_or(0.0, |row: &Row| row.saved(end));
        let mut saved = vec![before(first)];
        for end in first + 1..=first + within {
            let matched = before(end - 1) + 2.0 * window - (played[end - 1] - time).abs();
            saved.push(matched.max(before(end)).max(saved[end - 1 - first]));
        }
        rows.push(Row { first, saved });
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    /// In hundredths of a second.
    fn aligned(expected: &[f64], played: &[f64]) -> (Vec<Option<f64>>, Vec<f64>) {
        let seconds = |times: &[f64]| times.iter().map(|time| time / 100.0).collect::<Vec<_>>();
        let hundredths = |seconds: f64| (seconds * 100.0).round();
        let alignment = align(&seconds(expected), &seconds(played), 0.15);
        let late = alignment.heard.iter().map(|heard| heard.late().map(hundredths)).collect();
        (late, alignment.extra.into_iter().map(hundredths).collect())
    }

    #[test]
    fn early_late_missed_and_extra() {
        let (late, extra) = aligned(&[0.0, 50.0, 100.0, 150.0], &[-3.0, 54.0, 75.0, 150.0, 190.0]);
        assert_eq!(late, [Some(-3.0), Some(4.0), None, Some(0.0)]);
        assert_eq!(extra, [75.0, 190.0]);
    }

    /// Each is nearer to the note after its own. Matching the nearest would miss the first and leave the last
    /// one over.
    #[test]
    fn late_notes_keep_their_order() {
        let (late, extra) = aligned(&[0.0, 10.0, 20.0], &[6.0, 16.0, 26.0]);
        assert_eq!((late, extra), (vec![Some(6.0); 3], vec![]));
    }

    #[test]
    fn the_nearer_of_two_is_the_note() {
        assert_eq!(aligned(&[10.0], &[0.0, 8.0, 14.0]), (vec![Some(-2.0)], vec![0.0, 14.0]));
        assert_eq!(aligned(&[10.0, 14.0], &[13.0]), (vec![None, Some(-1.0)], vec![]));
    }

    #[test]
    fn the_window_ends_where_it_says() {
        assert_eq!(align(&[1.0], &[1.25], 0.25).heard, [Heard::At { late: 0.25 }]);
        assert_eq!(align(&[1.0], &[0.75], 0.25).heard, [Heard::At { late: -0.25 }]);
        assert_eq!(align(&[1.0], &[1.250_001], 0.25).heard, [Heard::Missed]);
    }

    #[test]
    fn nothing_to_match() {
        assert_eq!(align(&[], &[], WINDOW), Alignment::default());
        assert_eq!(align(&[], &[2.0, 1.0, f64::NAN], WINDOW).extra, [1.0, 2.0]);
        assert_eq!(align(&[f64::NAN, 1.0], &[], WINDOW).heard, [Heard::Missed; 2]);
        for window in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            let alignment = align(&[1.0, 2.0], &[1.0, 2.0], window);
            assert_eq!(
                (alignment.heard, alignment.extra),
                (vec![Heard::Missed; 2], vec![1.0, 2.0]),
                "{window}"
            );
        }
    }
}
