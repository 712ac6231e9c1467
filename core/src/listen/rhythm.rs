//! Which of two rhythms somebody played.

use super::align::{WINDOW, align};

/// How few notes can tell two rhythms apart: with two, one gap is all there is.
const LEAST: usize = 3;
/// How much better another rhythm must fit, as a ratio of squares. Two rhythms that fit about as well are not told apart.
const CLEARLY: f64 = 0.5;

/// Whether somebody played another rhythm than the expected one. All times are in seconds; what was played outside of both rhythms is left
/// aside.
///
/// A rhythm fits as well as the notes stay at one distance from it, so somebody who drags is not taken for somebody who plays something else. A
/// note that is missing counts as far away as any can be. The other rhythm must fit clearly better.
///
/// ```
/// use halfbar_core::listen::is_other_rhythm;
///
/// // At 120 quarter notes per minute: a quarter-note triplet with its last note split, and straight eighths.
/// let (figure, eighths) = ([0.0, 2.0 / 6.0, 4.0 / 6.0, 5.0 / 6.0], [0.0, 0.25, 0.5, 0.75]);
/// assert!(is_other_rhythm(&figure, &eighths, &[0.01, 0.27, 0.5, 0.76]), "eighths, a little late");
/// assert!(!is_other_rhythm(&figure, &eighths, &[0.04, 0.36, 0.72, 0.86]), "the figure, dragging");
/// ```
pub fn is_other_rhythm(expected: &[f64], other: &[f64], played: &[f64]) -> bool {
    match (misfit(other, played), misfit(expected, played)) {
        (Some(other), Some(expected)) => other < CLEARLY * expected,
        (Some(_), None) => true,
        (None, _) => false,
    }
}

/// How badly a rhythm fits what was played, as a sum of squares; `None` if too few notes were played in it.
fn misfit(rhythm: &[f64], played: &[f64]) -> Option<f64> {
    let heard = align(rhythm, played, WINDOW).heard;
    let lates: Vec<f64> = heard.iter().filter_map(|heard| heard.late()).collect();
    if lates.len() < LEAST {
        return None;
    }
    let mean = lates.iter().sum::<f64>() / lates.len() as f64;
    let missed = (heard.len() - lates.len()) as f64;
    Some(lates.iter().map(|late| (late - mean).powi(2)).sum::<f64>() + missed * WINDOW.powi(2))
}
