//! Samples: how many a time takes, and how they are faded and added.

use crate::pitch::MidiKey;

/// The longest that anything rings, in seconds: nothing is left of it by then.
const LONGEST: f64 = 20.0;

/// The frequency of a key in equal temperament, with A4 at 440 Hz (ISO 16).
pub(super) fn hertz(key: MidiKey) -> f64 {
    // `exp2` would bring a table of 4 KB into the module.
    440.0 * ((f64::from(key.0) - 69.0) / 12.0 * std::f64::consts::LN_2).exp()
}

/// Seconds in samples, limited to how long anything rings.
pub(super) fn samples(seconds: f64, rate: u32) -> usize {
    nearest(seconds.min(LONGEST) * f64::from(rate))
}

/// The nearest whole number; 0 for anything below.
#[allow(clippy::cast_possible_truncation, reason = "a conversion to an integer type saturates")]
pub(super) fn nearest(length: f64) -> usize {
    length.round() as usize
}

/// Converts a computed value to a sample.
#[allow(clippy::cast_possible_truncation, reason = "a sample has 24 bits")]
pub(super) fn single(sample: f64) -> f32 {
    sample as f32
}

/// Rises from 0 to 1 without a corner as `part` goes from 0 to 1: half a period of a cosine.
fn rise(part: f64) -> f64 {
    0.5 - 0.5 * (std::f64::consts::PI * part.clamp(0.0, 1.0)).cos()
}

/// Adds a sound to a row of samples starting at one of them; the row grows as needed.
pub(super) fn add(row: &mut Vec<f32>, at: usize, sound: &[f32], level: f32) {
    let end = at.saturating_add(sound.len());
    if row.len() < end {
        row.resize(end, 0.0);
    }
    for (place, sample) in row[at..end].iter_mut().zip(sound) {
        *place += level.min(1.0) * sample;
    }
}

/// Fades samples in over the first `attack` and out over the last `release` of them, without a step at either
/// end.
pub(super) fn shape(sound: &mut [f64], attack: usize, release: usize) {
    let last = sound.len().saturating_sub(1);
    for index in 0..attack.min(sound.len()) {
        sound[index] *= rise(index as f64 / attack as f64);
    }
    for index in 0..release.min(sound.len()) {
        sound[last - index] *= rise(index as f64 / release as f64);
    }
}
