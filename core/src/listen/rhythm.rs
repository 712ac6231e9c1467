//! Which of two rhythms somebody played.

/// How few notes can tell two rhythms apart: with two, one gap is all there is.
const LEAST: usize = 3;
/// How much better another rhythm must fit, as a ratio of variances. Two rhythms that fit about as well are not told apart.
const CLEARLY: f64 = 0.5;

/// Whether somebody played another rhythm than the expected one: the same notes at other times. For each note that was played, `notes` has
/// how late it was and how much later the other rhythm has it, in seconds.
///
/// Each rhythm fits as well as the notes vary around their average lateness, so somebody who drags is not taken for somebody who plays
/// something else; the other one must fit clearly better.
///
/// ```
/// use halfbar_core::listen::is_other_rhythm;
///
/// // At 120 quarter notes per minute: a quarter-note triplet with its last note split, and straight eighths.
/// let (expected, other) = ([0.0, 2.0 / 6.0, 4.0 / 6.0, 5.0 / 6.0], [0.0, 0.25, 0.5, 0.75]);
/// let notes = |played: [f64; 4]| -> Vec<_> {
///     (0..4).map(|note| (played[note] - expected[note], other[note] - expected[note])).collect()
/// };
/// assert!(is_other_rhythm(&notes([0.01, 0.27, 0.5, 0.76])), "eighths, a little late");
/// assert!(!is_other_rhythm(&notes([0.04, 0.36, 0.72, 0.86])), "the triplet, dragging");
/// ```
pub fn is_other_rhythm(notes: &[(f64, f64)]) -> bool {
    if notes.len() < LEAST {
        return false;
    }
    let variance = |late: fn(&(f64, f64)) -> f64| {
        let count = notes.len() as f64;
        let mean = notes.iter().map(late).sum::<f64>() / count;
        notes.iter().map(|note| (late(note) - mean).powi(2)).sum::<f64>() / count
    };
    variance(|(late, other)| late - other) < CLEARLY * variance(|(late, _)| *late)
}
