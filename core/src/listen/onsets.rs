//! Detects when notes start in a sound as it comes in.
//!
//! The sound goes through narrow filters. In each one, a note that starts stands out from the loudest of the
//! moments before, however loud another note still is in other bands. The rises are added up over all bands,
//! as logarithms. (Log-compressed spectral flux against a maximum of the past: Böck and Widmer, "Maximum
//! filter vibrato suppression for onset detection", 2013, from memory; with filters instead of a Fourier
//! transform, which for this many bands would be no faster and no smaller.)

use std::f64::consts::{PI, TAU};

/// The length of one step of the detector, in seconds.
const STEP: f64 = 0.003;

/// The lowest and highest band, in hertz: a guitar's lowest notes, and the noise of the pick. No band comes
/// too close to the highest frequency that a sample rate can carry.
const LOWEST: f64 = 90.0;
const HIGHEST: f64 = 14_000.0;
const USABLE: f64 = 0.42;

/// The width of a band relative to the ear's own bandwidth. Half of it separates notes of a line that are a
/// step apart.
const BANDWIDTH: f64 = 0.5;

/// The energy of silence: 80 dB below the loudest sine.
const SILENCE: f64 = 0.5e-8;

/// How fast the estimate of a band's noise falls and rises with each step.
const LESS: f64 = 0.1;
const MORE: f64 = 1.002;
/// How many steps at the beginning count as noise: 0.15 s.
const LISTENING: usize = 50;
/// How many times the noise a rise must exceed.
const NOISE: f64 = 6.0;

/// How many steps of a start are taken together, and how many before them they have to exceed: longer than
/// the period of a low note, during which its energy comes and goes.
const AFTER: usize = 4;
const BEFORE: usize = 6;
/// The fewest steps from one start to the next: 45 ms, so that notes 60 ms apart are two.
const APART: usize = 15;
/// The least average rise of a start over the bands, in nepers of energy, both at all and above what is
/// usual.
const RISE: f64 = 0.085;
/// How many steps the usual level is averaged over: 0.3 s.
const USUAL: f64 = 100.0;

/// Detects the starts of notes in blocks of sound, such as a microphone delivers.
///
/// It keeps the loudness of the last 30 ms in a number of frequency bands, and nothing of the sound itself.
///
/// ```
/// use halfbar_core::listen::Onsets;
///
/// // One second of silence, except for a note that starts after a quarter of it.
/// let sound: Vec<f32> = (0..48_000).map(|at| {
///     let since = (at as f32 - 12_000.0) / 48_000.0;
///     if since < 0.0 { 0.0 } else { (-5.0 * since).exp() * (since * 440.0 * std::f32::consts::TAU).sin() }
/// }).collect();
/// let mut onsets = Onsets::new(48_000.0);
/// let heard: Vec<f64> = sound.chunks(128).flat_map(|block| onsets.hear(block)).collect();
/// assert!(heard.len() == 1 && (heard[0] - 0.25).abs() < 0.005);
/// ```
#[derive(Clone, Debug)]
pub struct Onsets {
    rate: f64,
    bands: Vec<Band>,
    /// The latest sample.
    last: f64,
    /// The number of samples in a step, and how many of the next step have come in.
    step: usize,
    inside: usize,
    steps: usize,
    /// How much the bands rose in the latest steps, and how loud they were.
    rises: [f64; 3],
    levels: [f64; AFTER + 4],
    usual: f64,
    since_start: usize,
}

impl Onsets {
    /// A detector for sound at this sample rate in hertz; 8,000 to 192,000 are tested. A rate that isn't
    /// above 0 detects nothing.
    pub fn new(sample_rate: f64) -> Onsets {
        let (mut bands, mut middle) = (Vec::new(), LOWEST);
        while middle < HIGHEST && middle < USABLE * sample_rate {
            let width = BANDWIDTH * ear_width(middle);
            bands.push(Band::new(middle, width, sample_rate));
            middle += width;
        }
        #[allow(clippy::cast_possible_truncation, reason = "a float cast saturates")]
        let step = ((sample_rate * STEP).round() as usize).max(1);
        Onsets {
            rate: sample_rate,
            bands,
            last: 0.0,
            step,
            inside: 0,
            steps: 0,
            rises: [0.0; 3],
            levels: [0.0; AFTER + 4],
            usual: 0.0,
            since_start: 0,
        }
    }

    /// Takes in the next samples, any number of them from -1 to 1, and returns the starts that are certain by
    /// now, in seconds from the first sample ever heard. A start is reported about 15 ms after it.
    ///
    /// The first 0.15 s are used to measure noise, so a start in them may be missed. A sample that isn't
    /// finite counts as the one before.
    pub fn hear(&mut self, block: &[f32]) -> Vec<f64> {
        let mut starts = Vec::new();
        for &sample in block {
            if sample.is_finite() {
                // Anything beyond full scale isn't sound.
                self.last = f64::from(sample).clamp(-2.0, 2.0);
            }
            for band in &mut self.bands {
                band.take(self.last);
            }
            self.inside += 1;
            if self.inside == self.step {
                self.inside = 0;
                starts.extend(self.end_step());
            }
        }
        starts
    }

    /// Checks the step before the latest one: is the rise greatest there, and when did it begin?
    fn end_step(&mut self) -> Option<f64> {
        let (mut rise, mut level) = (0.0, 0.0);
        for band in &mut self.bands {
            let (rises, is) = band.end_step(self.step as f64, self.steps < LISTENING);
            rise += rises;
            level += is;
        }
        push(&mut self.rises, rise / self.bands.len() as f64);
        push(&mut self.levels, level);
        self.steps += 1;
        self.since_start += 1;

        let [before, rise, after] = self.rises;
        self.usual += (rise - self.usual) / USUAL;
        let is_start = before < rise && rise >= after && rise >= RISE + self.usual;
        if !is_start || self.since_start < APART {
            return None;
        }
        self.since_start = 0;
        // The rise there came from the latest steps together. The note starts with the step that rose the
        // most from the one before.
        let slope = |at: usize| self.levels[at + 1] - self.levels[at];
        let steepest = (0..=AFTER + 1).fold(0, |best, at| if slope(at) > slope(best) { at } else { best });
        let step = self.steps - (self.levels.len() - 1 - steepest);
        Some((step * self.step) as f64 / self.rate)
    }
}

/// The sound around one pitch: two resonators in series.
#[derive(Clone, Debug)]
struct Band {
    gain: f64,
    feedback: [f64; 2],
    state: [[f64; 2]; 2],
    /// The energy that came through in this step.
    energy: f64,
    /// The energy that came through in the latest steps.
    energies: [f64; AFTER],
    /// The logarithms of the energy over [`AFTER`] steps, up to each of the latest.
    levels: [f64; BEFORE + AFTER],
    /// The energy that comes through when nothing is played.
    noise: f64,
}

impl Band {
    fn new(middle: f64, width: f64, rate: f64) -> Band {
        let (cos, damping) = ((TAU * middle / rate).cos(), (PI * width / rate).tan());
        Band {
            gain: damping / (1.0 + damping),
            feedback: [-2.0 * cos / (1.0 + damping), (1.0 - damping) / (1.0 + damping)],
            state: [[0.0; 2]; 2],
            energy: 0.0,
            energies: [0.0; AFTER],
            levels: [f64::MAX; BEFORE + AFTER],
            noise: SILENCE,
        }
    }

    /// Second-order band-pass filters with gain 1 at the center and half the energy at the edges of the band
    /// (the bilinear transform of a resonant circuit), in transposed form.
    fn take(&mut self, sample: f64) {
        let mut sample = sample;
        for state in &mut self.state {
            let input = self.gain * sample;
            sample = input + state[0];
            *state = [state[1] - self.feedback[0] * sample, -input - self.feedback[1] * sample];
        }
        self.energy += sample * sample;
    }

    /// How much the band rose above its past, and how loud it is in this step; both above the noise, in
    /// nepers of energy.
    fn end_step(&mut self, samples: f64, is_noise: bool) -> (f64, f64) {
        if self.energy == 0.0 {
            // A state that rings on in silence gets so small that processors slow down.
            self.state = [[0.0; 2]; 2];
        }
        push(&mut self.energies, self.energy / samples);
        self.energy = 0.0;
        let energy = self.energies.iter().sum::<f64>() / AFTER as f64;
        let noise = match self.noise {
            noise if is_noise => noise.max(energy),
            noise if energy < noise => noise + (energy - noise) * LESS,
            noise => noise * MORE,
        };
        self.noise = noise.max(SILENCE);
        let over_noise = |energy: f64| (energy + NOISE * self.noise).ln();
        let level = over_noise(energy);
        push(&mut self.levels, level);
        let loudest = self.levels[..BEFORE].iter().copied().fold(f64::MIN, f64::max);
        let rise = if is_noise { 0.0 } else { (level - loudest).max(0.0) };
        (rise, over_noise(self.energies[AFTER - 1]))
    }
}

/// The width of the band of pitches that the ear takes together, in hertz: the equivalent rectangular
/// bandwidth of Glasberg and Moore, "Derivation of auditory filter shapes from notched-noise data", 1990,
/// from memory.
fn ear_width(hertz: f64) -> f64 {
    24.7 * (4.37 * hertz / 1000.0 + 1.0)
}

/// Adds the newest value at the end and drops the oldest.
fn push<const N: usize>(recent: &mut [f64; N], value: f64) {
    recent.copy_within(1.., 0);
    recent[N - 1] = value;
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The gain of a band at a pitch, measured over one second.
    fn gain(band: &Band, hertz: f64) -> f64 {
        let (mut band, rate) = (band.clone(), 48_000u32);
        for at in 0..rate {
            if at == rate / 2 {
                band.energy = 0.0;
            }
            band.take((TAU * hertz * f64::from(at) / f64::from(rate)).sin());
        }
        (band.energy * 4.0 / f64::from(rate)).sqrt()
    }

    #[test]
    fn bands_pass_what_is_theirs() {
        for middle in [100.0, 1_000.0, 10_000.0] {
            let width = BANDWIDTH * ear_width(middle);
            let band = Band::new(middle, width, 48_000.0);
            let at = |off: f64| gain(&band, middle + off * width);
            assert!((at(0.0) - 1.0).abs() < 0.01, "{middle}: {}", at(0.0));
            // One resonator halves the energy there, so two quarter it.
            assert!((at(0.5) - 0.5).abs() < 0.05 && (at(-0.5) - 0.5).abs() < 0.05, "{middle}: {}", at(0.5));
            assert!(at(4.0) < 0.04 && at(-4.0) < 0.04, "{middle}");
        }
    }

    /// The bandwidths that the paper's formula gives, worked out by hand.
    #[test]
    fn the_ear_is_wider_higher_up() {
        assert!((ear_width(1_000.0) - 132.639).abs() < 1e-9);
        assert!((ear_width(100.0) - 35.4939).abs() < 1e-9);
    }

    #[test]
    fn fewer_bands_where_less_can_be_carried() {
        let counts = [8_000.0, 48_000.0, 192_000.0].map(|rate| Onsets::new(rate).bands.len());
        assert_eq!(counts, [47, 73, 73]);
    }

    #[test]
    fn no_rate_hears_nothing() {
        for rate in [0.0, -1.0, f64::NAN, f64::INFINITY, f64::MIN_POSITIVE] {
            assert!(Onsets::new(rate).hear(&[0.5; 1_000]).is_empty(), "{rate}");
        }
    }
}
