//! Swing: how long the long eighth is, and how far apart the two spellings of a figure sound.

use crate::line::{Feel, Tempo};
use crate::recast::{Figure, Spelling};
use crate::time::Duration;

/// The soloist's swing ratio falls with the tempo: constants from Friberg's published rule source for Friberg
/// and Sundström, "Swing ratios and ensemble timing in jazz performance" (2002), measured at about 120 to 320
/// quarter notes per minute.
///
/// In ten-thousandths: the ratio at tempo 0, the decrease for each quarter note per minute, and the lowest
/// and highest ratio.
const AT_REST: i64 = 20_483;
const FALL: i64 = 31;
const RANGE: (i64, i64) = (10_000, 18_000);

/// The just-noticeable displacement of one note in a steady sequence: 6 ms, or 2.5 % of the interval before
/// it if that is more (Friberg and Sundberg, "Time discrimination in a monotonic, isochronous sequence",
/// 1995).
const NOTICEABLE_MS: f64 = 6.0;
const NOTICEABLE_PART: f64 = 0.025;

/// The ratio of the long eighth to the short one.
///
/// ```
/// use halfbar_core::line::{Feel, Tempo};
/// use halfbar_core::perform::ratio;
///
/// assert_eq!(ratio(Feel::Straight, Tempo::new(120).unwrap()), 1.0);
/// assert!((ratio(Feel::SwingAuto, Tempo::new(200).unwrap()) - 1.4283).abs() < 1e-9);
/// ```
pub fn ratio(feel: Feel, tempo: Tempo) -> f64 {
    let (long, short) = ratio_parts(feel, tempo);
    long as f64 / short as f64
}

/// The long eighth and the short one, exactly, in the same unit.
pub(crate) fn ratio_parts(feel: Feel, tempo: Tempo) -> (i64, i64) {
    let by_tempo = AT_REST - FALL * i64::from(tempo.quarters_per_minute());
    match feel {
        Feel::Straight => (1, 1),
        Feel::SwingAuto => (by_tempo.clamp(RANGE.0, RANGE.1), 10_000),
        Feel::Swing(ratio) => (i64::from(ratio.hundredths()), 100),
    }
}

/// How far apart the bracket and tied spellings of a figure sound.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct SpellingGap {
    /// The largest difference between the starts of a note, in milliseconds; 0 if both sound the same.
    pub ms: f64,
    /// The smallest difference that can be heard at that note, in milliseconds.
    pub noticeable: f64,
}

impl SpellingGap {
    /// Whether the difference can be heard.
    pub fn is_heard(self) -> bool {
        self.ms >= self.noticeable
    }
}

/// How far apart the two spellings of a figure sound if it starts on a beat; `None` if it doesn't have both.
///
/// Written triplets are literal. Swing moves the second of two plain eighths to r / (r + 1) of its beat.
///
/// ```
/// use halfbar_core::line::Tempo;
/// use halfbar_core::perform::spelling_gap;
/// use halfbar_core::recast::Figure;
///
/// let figure = Figure::named("split-last").unwrap();
/// let straight = spelling_gap(&figure, Tempo::new(120).unwrap(), 1.0).unwrap();
/// assert!((straight.ms - 83.3).abs() < 0.1 && straight.is_heard());
/// assert_eq!(spelling_gap(&figure, Tempo::new(120).unwrap(), 2.0).unwrap().ms.round(), 0.0);
/// ```
pub fn spelling_gap(figure: &Figure, tempo: Tempo, ratio: f64) -> Option<SpellingGap> {
    let has = |spelling| figure.spellings().contains(&spelling);
    if !has(Spelling::Bracket) || !has(Spelling::Tied) {
        return None;
    }
    let quarter_ms = 60_000.0 / f64::from(tempo.quarters_per_minute());
    let (bracket, tied) = (starts(figure, Spelling::Bracket)?, starts(figure, Spelling::Tied)?);
    let mut most = SpellingGap { ms: 0.0, noticeable: NOTICEABLE_MS };
    for (index, (&literal, &written)) in bracket.iter().zip(&tied).enumerate() {
        if literal == written {
            continue;
        }
        let swung = written.to_f64().floor() + ratio / (ratio + 1.0);
        let ms = (literal.to_f64() - swung).abs() * quarter_ms;
        if ms > most.ms {
            let before = index.checked_sub(1).map_or(literal, |before| bracket[before]);
            let interval = (literal.to_f64() - before.to_f64()) * quarter_ms;
            most = SpellingGap { ms, noticeable: NOTICEABLE_MS.max(NOTICEABLE_PART * interval) };
        }
    }
    Some(most)
}

/// When each note or rest starts, from the start of the figure.
fn starts(figure: &Figure, spelling: Spelling) -> Option<Vec<Duration>> {
    let mut at = Duration::ZERO;
    let starts = figure.stretches(spelling).iter().map(|stretch| {
        let start = at;
        at = at.checked_add(stretch.duration).ok()?;
        Some(start)
    });
    starts.collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The rule's own arithmetic at both ends.
    #[test]
    fn ratio_follows_the_tempo() {
        for (tempo, expected) in [(30, 1.8), (80, 1.8), (120, 1.6763), (320, 1.0563)] {
            let ratio = ratio(Feel::SwingAuto, Tempo::new(tempo).unwrap());
            assert!((ratio - expected).abs() < 1e-9, "{tempo}: {ratio}");
        }
    }

    /// (2/3 - r/(r+1)) * 60000 / bpm: arithmetic.
    #[test]
    fn spellings_apart() {
        for name in ["split-last", "split-middle"] {
            let figure = Figure::named(name).unwrap();
            for (r, expected) in [(2.0, 0.0), (1.5, 33.333), (1.0, 83.333), (3.0, 41.667)] {
                let apart = spelling_gap(&figure, Tempo::new(120).unwrap(), r).unwrap();
                assert!((apart.ms - expected).abs() < 0.001, "{name} at {r}: {}", apart.ms);
                assert_eq!(apart.is_heard(), r != 2.0);
            }
        }
        // Nothing in it is a plain eighth, so both sound the same at any ratio.
        assert_eq!(
            spelling_gap(&Figure::named("split-first").unwrap(), Tempo::new(120).unwrap(), 1.0).unwrap().ms,
            0.0
        );
        assert_eq!(
            spelling_gap(&Figure::named("dotted-pairs").unwrap(), Tempo::new(120).unwrap(), 1.0),
            None
        );
    }
}
