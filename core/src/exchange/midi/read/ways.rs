//! What a stretch of time may have for a rhythm, and what that costs.
//!
//! Quantizing is a trade: a rhythm that is closer to what was played against one that is more likely to be meant. Both are in the same
//! currency here, negative logarithms of probabilities, so that they can be added: an error of one standard deviation costs a half, and a
//! rhythm that is met *e* times as seldom costs one more. This is the Bayesian view of Cemgil, Desain and Kappen, "Rhythm quantization for
//! transcription" (2000; from memory). The costs are ours: what an improvised line in eighths has (common practice, no source), with the figures of
//! the catalogue, which such lines are brought here for.

use crate::recast::{Figure, Spelling};
use crate::time::Duration;

/// An eighth in which a note starts at the beginning: the usual thing.
const NOTE: f64 = 0.3;
/// An eighth in which nothing starts. Rests and long notes are usual, too.
const HOLD: f64 = 1.0;
/// An eighth divided into 2, 4 or 8.
const SIXTEENTHS: f64 = 3.0;
const THIRTY_SECONDS: f64 = 6.0;
const SIXTY_FOURTHS: f64 = 9.0;
/// The same for each note that doesn't start with a part of the next coarser division.
const FINER: f64 = 0.4;
/// An eighth that is divided, but doesn't start with a note: there is a tie or a rest.
const NO_START: f64 = 0.8;
/// An eighth divided into 3, in meters such as 6/8.
const TRIPLET_IN_EIGHTH: f64 = 6.5;
/// A beat divided into 3; all other divisions are seldom.
const TRIPLET: f64 = 2.4;
const SEXTUPLET: f64 = 5.5;
const QUINTUPLET: f64 = 7.0;
const SEPTUPLET: f64 = 8.5;
const NONUPLET: f64 = 11.0;
/// A beat divided twice as finely as these.
const TWICE: f64 = 4.0;
/// Each part of a tuplet in which no note starts.
const MISSING: f64 = 0.8;
/// A figure of the catalogue: with a half-bar, with another beat, or between beats.
const FIGURE: f64 = 2.6;
const FIGURE_ON_BEAT: f64 = 3.4;
const FIGURE_OFF_BEAT: f64 = 4.2;

/// A rhythm for a stretch of one or more eighths.
#[derive(Clone, Debug)]
pub(super) struct Way {
    /// How many eighths it takes.
    pub(super) cells: usize,
    pub(super) shape: Shape,
    pub(super) start: Start,
    cost: f64,
}

/// Where notes may start.
#[derive(Clone, Debug)]
pub(super) enum Shape {
    /// Nowhere.
    Hold,
    /// With any of so many even parts. `literal` parts don't swing.
    Even { parts: u16, literal: bool },
    /// With each of these moments, as the offset from the start, and whether it is literal.
    Listed(Vec<(Duration, bool)>),
}

/// Where a rhythm may start.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Start {
    Anywhere,
    /// On a beat of a quarter note.
    Beat,
    /// In a meter with other beats.
    OtherMeter,
}

impl Way {
    /// What it costs with notes at these parts of it, wherever they are. What is listed always costs the same.
    pub(super) fn cost(&self, parts_with_notes: &[u16], starts_half: bool, starts_beat: bool) -> f64 {
        match &self.shape {
            Shape::Hold => self.cost,
            Shape::Listed(_) if starts_half => FIGURE,
            Shape::Listed(_) => {
                if starts_beat {
                    FIGURE_ON_BEAT
                } else {
                    FIGURE_OFF_BEAT
                }
            }
            Shape::Even { literal: true, parts } => {
                let notes = u16::try_from(parts_with_notes.len()).unwrap_or(*parts);
                let no_start = if parts_with_notes.first() == Some(&0) { 0.0 } else { NO_START };
                self.cost + MISSING * f64::from(parts.saturating_sub(notes)) + no_start
            }
            Shape::Even { literal: false, .. } => {
                let finer = parts_with_notes.iter().filter(|part| *part % 2 == 1).count();
                let no_start = if parts_with_notes.first() == Some(&0) { 0.0 } else { NO_START };
                self.cost + FINER * f64::from(u16::try_from(finer).unwrap_or(u16::MAX)) + no_start
            }
        }
    }
}

/// All ways. Exact files may have finer divisions than a hand can be understood to mean.
pub(super) fn ways(is_exact: bool) -> Vec<Way> {
    let even = |cells, parts, literal, start, cost| Way {
        cells,
        shape: Shape::Even { parts, literal },
        start,
        cost,
    };
    let mut ways = vec![
        Way { cells: 1, shape: Shape::Hold, start: Start::Anywhere, cost: HOLD },
        even(1, 1, false, Start::Anywhere, NOTE),
        even(1, 2, false, Start::Anywhere, SIXTEENTHS),
        even(1, 4, false, Start::Anywhere, THIRTY_SECONDS),
        even(1, 3, true, Start::OtherMeter, TRIPLET_IN_EIGHTH),
        even(2, 3, true, Start::Beat, TRIPLET),
        even(2, 6, true, Start::Beat, SEXTUPLET),
        even(2, 5, true, Start::Beat, QUINTUPLET),
        even(2, 7, true, Start::Beat, SEPTUPLET),
    ];
    if is_exact {
        ways.extend([
            even(1, 8, false, Start::Anywhere, SIXTY_FOURTHS),
            even(1, 6, true, Start::OtherMeter, TRIPLET_IN_EIGHTH + TWICE),
            even(1, 5, true, Start::OtherMeter, QUINTUPLET + TWICE),
            even(1, 7, true, Start::OtherMeter, SEPTUPLET + TWICE),
            even(2, 9, true, Start::Beat, NONUPLET),
            even(2, 10, true, Start::Beat, QUINTUPLET + TWICE),
            even(2, 12, true, Start::Beat, SEXTUPLET + TWICE),
            even(2, 14, true, Start::Beat, SEPTUPLET + TWICE),
            even(2, 18, true, Start::Beat, NONUPLET + TWICE),
        ]);
    }
    for figure in Figure::all().iter().filter(|figure| !figure.is_accented()) {
        for &spelling in figure.spellings() {
            ways.extend(of_figure(figure, spelling));
        }
    }
    ways
}

/// A figure: what lies on thirds of a beat, or is as long, is in a triplet, and literal.
fn of_figure(figure: &Figure, spelling: Spelling) -> Option<Way> {
    let (mut at, mut notes) = (Duration::ZERO, Vec::new());
    for stretch in figure.stretches(spelling) {
        if stretch.sounds {
            notes.push((at, at.denom() % 3 == 0 || stretch.duration.denom() % 3 == 0));
        }
        at = at.checked_add(stretch.duration).ok()?;
    }
    let cells = usize::try_from(at.checked_mul(2).ok()?.numer()).ok()?;
    Some(Way { cells, shape: Shape::Listed(notes), start: Start::Anywhere, cost: 0.0 })
}
