//! A plucked string: a delay line as long as a period, fed back through a filter that loses a little on each
//! round (Karplus and Strong 1983), tuned by an allpass and shaped as in Jaffe and Smith 1983. The losses are
//! those of a one-pole filter (Välimäki et al. 1996).

use std::f64::consts::{LN_10, TAU};

use super::note::Note;
use super::samples::{hertz, nearest, samples, shape, single};

/// How long the fundamental takes to decay by 60 dB: this many seconds at this frequency, and half as long
/// two octaves higher. By ear, a dark guitar with flat-wound strings.
const DECAY: f64 = 4.0;
const DECAY_AT: f64 = 82.4;
/// This harmonic decays in this fraction of that time. Plain strings keep their harmonics longer.
const HARMONIC: f64 = 6.0;
const WOUND: f64 = 0.35;
const PLAIN: f64 = 0.45;
/// The lowest-numbered wound string. The third is wound too, as on a jazz guitar (common practice, no
/// source).
const FIRST_WOUND: u8 = 3;
/// Where the pick strikes and where the pickup listens, as a fraction of the string's length from the bridge:
/// the neck pickup.
const PICK: f64 = 0.16;
const PICKUP: f64 = 0.27;
/// The loudness of the first period (root mean square), and the cutoff in Hz of the pick or the finger:
/// louder is brighter.
const STRUCK: (f64, f64) = (0.15, 1_400.0);
const ACCENTED: (f64, f64) = (0.21, 2_200.0);
const LED: (f64, f64) = (0.11, 800.0);
/// How much noise there is besides the pulse.
const NOISE: f64 = 0.12;
/// The scratch of the pick: its loudness, and how fast it dies away in seconds.
const SCRATCH: (f64, f64) = (0.10, 0.001);
/// How long a note takes to start and to be damped, in seconds. A finger is softer than a pick.
const ATTACK: f64 = 0.001;
const LED_ATTACK: f64 = 0.006;
pub(super) const RELEASE: f64 = 0.030;

/// A note that sounds for `seconds` at this sample rate and is then damped, which adds 30 ms. It starts and
/// ends at zero.
pub fn pluck(note: &Note, rate: u32, seconds: f64) -> Vec<f32> {
    let struck = note.attack.stroke().is_some();
    let (level, cutoff) = match () {
        () if !struck => LED,
        () if note.accent => ACCENTED,
        () => STRUCK,
    };
    let period = f64::from(rate) / hertz(note.key);
    let mut noise =
        Noise::new(u32::from(note.key.0) << 8 | u32::from(note.string.map_or(0, |string| string.0)));
    let excitation = excitation(period, TAU * cutoff / f64::from(rate), level, &mut noise);
    let mut string = StringLoop::new(period, note.string.is_some_and(|string| string.0 >= FIRST_WOUND), rate);
    let held = samples(seconds, rate);
    let release = samples(RELEASE, rate);
    let sound = (0..held + release).map(|index| string.next(excitation.get(index).copied().unwrap_or(0.0)));
    let mut sound: Vec<f64> = sound.collect();
    let attack = if struck { ATTACK } else { LED_ATTACK };
    if struck {
        scratch(&mut sound, rate, level, &mut noise);
    }
    shape(&mut sound, samples(attack, rate), release);
    sound.into_iter().map(single).collect()
}

/// What sets the string in motion: a pulse and some noise without a DC part, filtered by the positions of the
/// pick and the pickup.
///
/// The string only repeats what it is given, so everything that colors the tone is done here, on a few
/// periods.
fn excitation(period: f64, omega: f64, level: f64, noise: &mut Noise) -> Vec<f64> {
    let length = nearest(period).max(1);
    let mut wave: Vec<f64> = (0..length).map(|_| NOISE * noise.next()).collect();
    wave[0] += (length as f64).sqrt();
    // A pluck travels along the string in both directions, and one of them comes back inverted from the
    // bridge. The same goes for what the pickup hears.
    for place in [PICK, PICKUP] {
        let later = nearest(place * period);
        let direct = wave.clone();
        wave.resize(direct.len() + later, 0.0);
        for (index, sample) in direct.iter().enumerate() {
            wave[index + later] -= sample;
        }
    }
    // The partials of a plucked string fall off with their number, as the first of these lowpasses makes
    // them. The second is the softness of the pick.
    let poles = [TAU / period, omega].map(|omega| (-omega).exp());
    wave.resize(wave.len() + 2 * length, 0.0);
    for pole in poles {
        let mut kept = 0.0;
        for sample in &mut wave {
            kept = (1.0 - pole) * *sample + pole * kept;
            *sample = kept;
        }
    }
    // What circulates is the sum of all periods.
    let mut round = vec![0.0; length];
    for (index, sample) in wave.iter().enumerate() {
        round[index % length] += sample;
    }
    let power = round.iter().map(|sample| sample * sample).sum::<f64>() / length as f64;
    let scale = level / power.sqrt().max(f64::MIN_POSITIVE);
    wave.iter_mut().for_each(|sample| *sample *= scale);
    wave
}

/// The pick on the string, short and without low frequencies.
fn scratch(sound: &mut [f64], rate: u32, level: f64, noise: &mut Noise) {
    let (loudness, seconds) = SCRATCH;
    let fall = (-1.0 / (seconds * f64::from(rate))).exp();
    let (mut size, mut before) = (loudness * level, 0.0);
    for sample in sound.iter_mut().take(samples(8.0 * seconds, rate)) {
        let now = noise.next();
        *sample += size * (now - before);
        (size, before) = (size * fall, now);
    }
}

/// The delay line with its filters.
struct StringLoop {
    delay: Vec<f64>,
    at: usize,
    /// What one round keeps, and the pole of the lowpass.
    gain: f64,
    pole: f64,
    lowpassed: f64,
    /// The allpass that adds what the line lacks of a full period.
    allpass: f64,
    allpass_in: f64,
    allpass_out: f64,
}

impl StringLoop {
    fn new(period: f64, wound: bool, rate: u32) -> StringLoop {
        let omega = TAU / period;
        let frequency = f64::from(rate) / period;
        let seconds = DECAY * (DECAY_AT / frequency).sqrt();
        // How much one round keeps of a partial that decays by 60 dB in this many seconds.
        let kept = |seconds: f64| (-3.0 * LN_10 / (frequency * seconds)).exp();
        let (fundamental, harmonic) = (kept(seconds), kept(seconds * if wound { WOUND } else { PLAIN }));
        let (gain, pole) = losses(fundamental, harmonic, omega, (HARMONIC * omega).min(0.8 * TAU / 2.0));
        // The phase delays of both filters, exact at the fundamental.
        let left = period - (pole * omega.sin()).atan2(1.0 - pole * omega.cos()) / omega;
        let whole = (left - 0.5).floor().max(1.0);
        let part = left - whole;
        let allpass = ((1.0 - part) * omega / 2.0).sin() / ((1.0 + part) * omega / 2.0).sin();
        StringLoop {
            delay: vec![0.0; nearest(whole)],
            at: 0,
            gain,
            pole,
            lowpassed: 0.0,
            allpass,
            allpass_in: 0.0,
            allpass_out: 0.0,
        }
    }

    fn next(&mut self, excitation: f64) -> f64 {
        let round = self.delay[self.at];
        self.lowpassed = self.gain * (1.0 - self.pole) * round + self.pole * self.lowpassed;
        self.allpass_out = self.allpass * (self.lowpassed - self.allpass_out) + self.allpass_in;
        self.allpass_in = self.lowpassed;
        let sample = excitation + self.allpass_out;
        self.delay[self.at] = sample;
        self.at = if self.at + 1 == self.delay.len() { 0 } else { self.at + 1 };
        sample
    }
}

/// The gain and pole of the one-pole lowpass g (1 - p) / (1 - p / z) that keeps a given part at one frequency
/// and another at a higher one.
///
/// Its gain squared is g^2 / (1 + q (1 - cos w)) with q = 2 p / (1 - p)^2. The two conditions determine q and
/// g.
fn losses(fundamental: f64, harmonic: f64, omega: f64, high: f64) -> (f64, f64) {
    let ratio = (harmonic / fundamental).powi(2);
    let (low, high) = (1.0 - omega.cos(), 1.0 - high.cos());
    let q = ((1.0 - ratio) / (ratio * high - low).max(f64::MIN_POSITIVE)).clamp(1e-9, 1e3);
    let pole = (q + 1.0 - (2.0 * q + 1.0).sqrt()) / q;
    // A string doesn't add energy.
    ((fundamental * (1.0 + q * low).sqrt()).min(1.0), pole)
}

/// Noise from -1 to 1, the same for the same note (xorshift, Marsaglia 2003).
struct Noise(u32);

impl Noise {
    fn new(note: u32) -> Noise {
        let mut noise = Noise(note.wrapping_mul(0x9E37_79B9) | 1);
        // Seeds that differ a little take a few steps to diverge.
        (0..8).for_each(|_| _ = noise.next());
        noise
    }

    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 17;
        self.0 ^= self.0 << 5;
        f64::from(self.0) / f64::from(u32::MAX) * 2.0 - 1.0
    }
}
