//! The metronome's click: a small wood block with two damped partials.

use std::f64::consts::TAU;

use crate::perform::ClickKind;

use super::samples::{samples, shape, single};

/// Frequency in Hz, loudness, and how fast it dies away in seconds.
const ACCENT: (f64, f64, f64) = (1_320.0, 0.50, 0.014);
const BEAT: (f64, f64, f64) = (880.0, 0.36, 0.014);
const DIVISION: (f64, f64, f64) = (880.0, 0.12, 0.007);
/// The second partial of a bar that is free at both ends, and its loudness relative to the first (Fletcher
/// and Rossing 1998, from memory).
const PARTIAL: (f64, f64) = (2.756, 0.4);
/// In seconds: the attack, and the whole length.
const ATTACK: f64 = 0.000_5;
const LENGTH: f64 = 0.1;

/// One click at this sample rate. It starts and ends at zero.
pub fn click(kind: ClickKind, rate: u32) -> Vec<f32> {
    let (frequency, loudness, decay) = match kind {
        ClickKind::Accent => ACCENT,
        ClickKind::Beat => BEAT,
        ClickKind::Subdivision => DIVISION,
    };
    let (ratio, second) = PARTIAL;
    let length = samples(LENGTH, rate);
    let wood = (0..length).map(|index| {
        let time = index as f64 / f64::from(rate);
        let partial = |ratio: f64| (TAU * frequency * ratio * time).sin() * (-time * ratio / decay).exp();
        loudness * (partial(1.0) + second * partial(ratio))
    });
    let mut wood: Vec<f64> = wood.collect();
    shape(&mut wood, samples(ATTACK, rate), length / 4);
    wood.into_iter().map(single).collect()
}
