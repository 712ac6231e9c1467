//! When notes start as performed: the written form, swung.

use crate::line::{Feel, Heading, Tempo};
use crate::notate::Written;
use crate::time::{Duration, Onset, TimeError};

use super::gap::ratio_parts;

/// When each event of a line starts as performed, exactly, in quarter notes from the start of the line. Only
/// seconds are floats.
///
/// Written triplets are literal. A plain eighth off the beat starts where the long eighth ends, and plain
/// sixteenths divide the long and the short eighth evenly.
///
/// ```
/// use halfbar_core::{Piece, perform, read};
///
/// let reading = read::text("tempo: 120\nfeel: swing 2\nF3 Ab C Eb G F Eb C |");
/// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
/// let performed = perform::perform(piece.written(), piece.line().heading())?;
/// assert_eq!(performed.starts()[1].to_string(), "2/3");
/// assert!((performed.seconds(performed.starts()[2]) - 0.5).abs() < 1e-9);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Performed {
    starts: Vec<Onset>,
    tempo: Tempo,
}

impl Performed {
    /// The start of each event of the timed line, in its order.
    pub fn starts(&self) -> &[Onset] {
        &self.starts
    }

    /// The tempo it is performed at.
    pub fn tempo(&self) -> Tempo {
        self.tempo
    }

    /// A moment in seconds from the start of the line.
    pub fn seconds(&self, onset: Onset) -> f64 {
        onset.since_start().to_f64() * 60.0 / f64::from(self.tempo.quarters_per_minute())
    }
}

/// Performs what is written, with the tempo and feel of the heading.
///
/// # Errors
/// [`TimeError`] for times out of range.
pub fn perform(written: &Written, heading: &Heading) -> Result<Performed, TimeError> {
    let long = long_eighth(heading.feel, heading.tempo)?;
    let (mut starts, mut before) = (Vec::new(), None);
    for bar in &written.bars {
        let swings = bar.meter.has_quarter_beats();
        for (index, symbol) in bar.symbols.iter().enumerate() {
            // Tied notes, and the parts of a long rest, are one event.
            if before.replace(symbol.note) == Some(symbol.note) {
                continue;
            }
            let onset = bar.onset(symbol)?;
            let in_beat = symbol.start.checked_sub(symbol.start.floor_to(Duration::QUARTER)?)?;
            let literal = !swings || in_beat == Duration::ZERO || bar.tuplets_of(index).next().is_some();
            starts.push(if literal {
                onset
            } else {
                onset.checked_sub(in_beat)?.checked_add(swung(in_beat, long)?)?
            });
        }
    }
    Ok(Performed { starts, tempo: heading.tempo })
}

/// How long the first of two swung eighths is, in quarter notes.
pub(crate) fn long_eighth(feel: Feel, tempo: Tempo) -> Result<Duration, TimeError> {
    let (long, short) = ratio_parts(feel, tempo);
    Duration::new(long, long + short)
}

/// Where a moment within a beat falls if the first half of the beat lasts `long` and the second takes the
/// remainder.
pub(crate) fn swung(in_beat: Duration, long: Duration) -> Result<Duration, TimeError> {
    let scaled =
        |length: Duration, part: Duration| length.checked_mul(2 * part.numer())?.checked_div(part.denom());
    if in_beat <= Duration::EIGHTH {
        return scaled(long, in_beat);
    }
    long.checked_add(scaled(Duration::QUARTER.checked_sub(long)?, in_beat.checked_sub(Duration::EIGHTH)?)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Piece, read};

    fn starts(text: &str) -> String {
        let reading = read::text(text);
        assert_eq!(reading.diagnostics, [], "{text}");
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        let performed = perform(piece.written(), piece.line().heading()).unwrap();
        assert_eq!(performed.starts().len(), piece.timed().events.len());
        let starts: Vec<_> = performed.starts().iter().map(|onset| onset.since_start().to_string()).collect();
        starts.join(" ")
    }

    #[test]
    fn plain_eighths_swing_and_triplets_do_not() {
        assert_eq!(starts("feel: swing 1.5\nC4 D E F G:2 |"), "0 3/5 1 8/5 2");
        assert_eq!(starts("feel: straight\nC4 D E F G:2 |"), "0 1/2 1 3/2 2");
        let bar = "C4 D E F G A B C |";
        assert_eq!(
            starts(&format!("feel: swing 1.5\nrecast: split-last at 1.1 bracket, 1.3 tied\n{bar}")),
            "0 2/3 4/3 5/3 2 13/5 10/3 11/3"
        );
        // Sixteenths divide the long and the short eighth in half.
        assert_eq!(starts("feel: swing 1.5\nC4:1/4 D:1/4 E:1/4 F:1/4 G:3 |"), "0 3/10 3/5 4/5 1");
    }

    #[test]
    fn the_ratio_by_tempo_is_exact() {
        assert_eq!(
            long_eighth(Feel::SwingAuto, Tempo::new(200).unwrap()).unwrap(),
            Duration::of(14283, 24283)
        );
        assert_eq!(long_eighth(Feel::SwingAuto, Tempo::new(30).unwrap()).unwrap(), Duration::of(9, 14));
        assert_eq!(long_eighth(Feel::Straight, Tempo::new(30).unwrap()).unwrap(), Duration::EIGHTH);
    }

    #[test]
    fn rests_ties_and_compound_meters() {
        assert_eq!(starts("feel: swing 2\nr C4 D r F:2~ | F:1 r:3 |"), "0 2/3 1 5/3 2 5");
        assert_eq!(starts("meter: 6/8\nfeel: swing 2\nC4 D E F G A |"), "0 1/2 1 3/2 2 5/2");
        assert_eq!(starts("pickup: 1/2\nfeel: swing 1.5\nC4 | D:4 |"), "1/10 1/2");
    }
}
