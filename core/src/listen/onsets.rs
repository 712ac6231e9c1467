//! When notes start in a sound, as it comes in.

use std::f64::consts::TAU;

/// How long a step of the detector is, in seconds: what it can tell apart.
const STEP: f64 = 0.003;

/// The middle of each band, in hertz, an octave apart: from a guitar's lowest notes to the brightness of a pick.
const BANDS: [f64; 6] = [200.0, 400.0, 800.0, 1600.0, 3200.0, 6400.0];

/// The quality of a filter that is an octave wide.
const QUALITY: f64 = std::f64::consts::SQRT_2;

/// The energy of what counts as silence: 80 dB under full scale, as a sine.
const SILENCE: f64 = 0.5e-8;

/// How many steps of energy are taken together: what follows a start.
const AFTER: usize = 3;
/// How many steps before that it has to outdo: longer than a period of the lowest note, which comes and goes in energy.
const BEFORE: usize = 6;
/// How many steps pass before a rise is known to be the highest around.
const AHEAD: usize = 5;
/// How many steps pass from a start to the next: 45 ms, so that notes 60 ms apart are told apart.
const APART: usize = 15;
/// The least rise of a start, in nepers of energy, over all bands.
const LEAST: f64 = 4.0;
/// How much higher than what is usual.
const ABOVE: f64 = 2.5;

const KEPT: usize = AFTER + BEFORE + AHEAD + 4;

/// Finds the starts of notes in blocks of sound, such as a microphone gives.
///
/// ```
/// use halfbar_core::listen::Onsets;
///
/// let mut onsets = Onsets::new(48_000.0);
/// let sound: Vec<f32> = (0..48_000).map(|at| {
///     let since = (at as f32 - 12_000.0) / 48_000.0; // one note, after a quarter of a second
///     if since < 0.0 { 0.0 } else { (-5.0 * since).exp() * (since * 440.0 * 6.283).sin() }
/// }).collect();
/// let heard: Vec<f64> = sound.chunks(128).flat_map(|block| onsets.hear(block)).collect();
/// assert!(heard.len() == 1 && (heard[0] - 0.25).abs() < 0.005);
/// ```
#[derive(Clone, Debug)]
pub struct Onsets {
    rate: f64,
    step: usize,
    bands: Vec<Band>,
    first: Option<f64>,
    last: f64,
    inside: usize,
    steps: usize,
    rises: [f64; KEPT],
    levels: [f64; KEPT],
    usual: f64,
    quiet: usize,
}

#[derive(Clone, Debug)]
struct Band {
    gain: f64,
    feedback: [f64; 2],
    state: [f64; 2],
    energy: f64,
    noise: f64,
    energies: [f64; AFTER],
    sums: [f64; KEPT],
}

impl Onsets {
    /// A detector for sound at this sample rate, in hertz.
    pub fn new(sample_rate: f64) -> Onsets {
        let rate = if sample_rate.is_finite() { sample_rate.clamp(8_000.0, 192_000.0) } else { 48_000.0 };
        #[allow(clippy::cast_possible_truncation, reason = "at most some hundred")]
        let step = (rate * STEP).round() as usize;
        let bands = BANDS
            .iter()
            .filter(|&&middle| middle < 0.45 * rate)
            .map(|&middle| Band::new(middle, rate))
            .collect();
        Onsets {
            rate,
            step,
            bands,
            first: None,
            last: 0.0,
            inside: 0,
            steps: 0,
            rises: [0.0; KEPT],
            levels: [0.0; KEPT],
            usual: 0.0,
            quiet: 0,
        }
    }

    /// Takes the next samples in, as many as there are, and gives the starts found: in seconds from the first sample ever heard.
    pub fn hear(&mut self, block: &[f32]) -> Vec<f64> {
        let mut found = Vec::new();
        for &sample in block {
            let sample = f64::from(sample);
            if sample.is_finite() {
                self.last = sample.clamp(-2.0, 2.0);
            }
            let level = self.last - *self.first.get_or_insert(self.last);
            for band in &mut self.bands {
                band.take(level);
            }
            self.inside += 1;
            if self.inside == self.step {
                self.inside = 0;
                found.extend(self.step());
            }
        }
        found
    }

    fn step(&mut self) -> Option<f64> {
        self.steps += 1;
        let (mut rise, mut level) = (0.0, 0.0);
        for band in &mut self.bands {
            let (r, l) = band.step(self.step as f64);
            rise += r;
            level += l;
        }
        push(&mut self.rises, rise);
        push(&mut self.levels, level);
        self.quiet += 1;
        let at = KEPT - 1 - AHEAD;
        let peak = self.rises[at];
        let around = &self.rises[at - AHEAD..];
        self.usual += (self.rises[at] - self.usual) / 100.0;
        let highest = around.iter().all(|&other| other <= peak) && peak > self.rises[at - 1];
        if !(highest && self.quiet >= APART && peak > LEAST + ABOVE * self.usual) {
            return None;
        }
        self.quiet = 0;
        // Back to the steepest step.
        let mut best = at;
        let mut steepest = f64::MIN;
        for i in at - AFTER - 1..=at {
            let slope = self.levels[i] - self.levels[i - 1];
            if slope > steepest {
                steepest = slope;
                best = i;
            }
        }
        let step = self.steps - (KEPT - best);
        Some((step as f64) * self.step as f64 / self.rate)
    }
}

fn push<const N: usize>(ring: &mut [f64; N], value: f64) {
    ring.copy_within(1.., 0);
    ring[N - 1] = value;
}

impl Band {
    fn new(middle: f64, rate: f64) -> Band {
        let (sin, cos) = (TAU * middle / rate).sin_cos();
        let alpha = sin / (2.0 * QUALITY);
        Band {
            gain: alpha / (1.0 + alpha),
            feedback: [-2.0 * cos / (1.0 + alpha), (1.0 - alpha) / (1.0 + alpha)],
            state: [0.0; 2],
            energy: 0.0,
            noise: SILENCE,
            energies: [0.0; AFTER],
            sums: [SILENCE.ln(); KEPT],
        }
    }

    fn take(&mut self, sample: f64) {
        let input = self.gain * sample;
        let out = input + self.state[0];
        self.state[0] = self.state[1] - self.feedback[0] * out;
        self.state[1] = -input - self.feedback[1] * out;
        self.energy += out * out;
    }

    fn step(&mut self, samples: f64) -> (f64, f64) {
        let energy = self.energy / samples;
        self.energy = 0.0;
        push(&mut self.energies, energy);
        let sum: f64 = self.energies.iter().sum::<f64>() / AFTER as f64;
        self.noise =
            if sum < self.noise { self.noise + (sum - self.noise) * 0.1 } else { self.noise * 1.002 }
                .max(SILENCE);
        push(&mut self.sums, (sum + 2.0 * self.noise).ln());
        let now = self.sums[KEPT - 1];
        let before =
            self.sums[KEPT - 1 - AFTER - BEFORE..KEPT - AFTER].iter().copied().fold(f64::MIN, f64::max);
        let floor = 2.0 * self.noise;
        ((now - before).max(0.0), (energy + floor).ln())
    }
}
