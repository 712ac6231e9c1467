//! Soft chords under the line: the third and the seventh in the middle, and the root in the bass.

use std::f64::consts::TAU;

use crate::chord::{ChordSymbol, Degree};
use crate::pitch::MidiKey;

use super::samples::{add, hertz, samples, shape, single};

/// The keys of a chord that sound.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Voicing {
    /// The root, or the bass that the symbol names, from E2 to D#3.
    pub bass: MidiKey,
    /// Third and seventh, or what the chord has instead of them ([`Quality::guide_tones`](crate::chord::Quality::guide_tones)), from E3 to D#4.
    /// So one chord's seventh is close to the next one's third. `None` if the symbol doesn't specify them.
    pub shell: Option<[MidiKey; 2]>,
}

/// The lowest keys of bass and shell.
const BASS: u8 = 40;
const SHELL: u8 = 52;
/// The loudness of one key, and of its harmonics relative to the first.
const LEVEL: f64 = 0.07;
const HARMONICS: [f64; 4] = [1.0, 0.35, 0.12, 0.04];
/// How fast the first harmonic dies away, in seconds; the others are faster.
const DECAY: f64 = 2.5;
/// How long a chord takes to start and to end, in seconds.
const ATTACK: f64 = 0.030;
pub(super) const RELEASE: f64 = 0.120;

impl Voicing {
    /// The bass and the guide tones of a chord; `None` if no chord sounds, and no shell if the symbol's quality is unknown.
    ///
    /// ```
    /// use halfbar_core::sound::Voicing;
    ///
    /// let voicing = Voicing::of(&"Bb7alt/D".parse()?).expect("a chord");
    /// assert_eq!(voicing.bass.to_string(), "D3");
    /// assert_eq!(voicing.shell.map(|shell| shell.map(|key| key.to_string())), Some(["D4".into(), "G#3".into()]));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn of(symbol: &ChordSymbol) -> Option<Voicing> {
        let chord = symbol.chord()?;
        let above = |lowest: u8, pitch_class: i32| {
            let up = (pitch_class - i32::from(lowest)).rem_euclid(12);
            MidiKey(lowest + u8::try_from(up).unwrap_or(0))
        };
        let key = |degree: Degree| above(SHELL, chord.root().pitch_class() + i32::from(degree.half_steps()));
        Some(Voicing {
            bass: above(BASS, chord.bass().unwrap_or(chord.root()).pitch_class()),
            shell: chord.quality().ok().map(|quality| quality.guide_tones().map(key)),
        })
    }

    /// All its keys, the bass first.
    pub fn keys(self) -> impl Iterator<Item = MidiKey> {
        [self.bass].into_iter().chain(self.shell.into_iter().flatten())
    }
}

/// One key of a chord for this many seconds, at `rate` samples per second, plus 120 ms to die away. It starts and ends at zero.
pub fn pad(key: MidiKey, rate: u32, seconds: f64) -> Vec<f32> {
    let release = samples(RELEASE, rate);
    let mut sound = vec![0.0; samples(seconds, rate) + release];
    for (number, loudness) in (1u8..).zip(HARMONICS) {
        let omega = TAU * hertz(key) * f64::from(number) / f64::from(rate);
        let fall = (-f64::from(number).sqrt() / (DECAY * f64::from(rate))).exp();
        // A damped sine as a vector that turns and shrinks: two products per sample instead of a sine.
        let (turn_x, turn_y) = (fall * omega.cos(), fall * omega.sin());
        let (mut x, mut y) = (LEVEL * loudness, 0.0);
        for sample in &mut sound {
            *sample += y;
            (x, y) = (x * turn_x - y * turn_y, x * turn_y + y * turn_x);
        }
    }
    shape(&mut sound, samples(ATTACK, rate), release);
    sound.into_iter().map(single).collect()
}

/// All keys of a chord together for this many seconds, as [`pad`] plays them; silence if no chord sounds.
pub fn chord(symbol: &ChordSymbol, rate: u32, seconds: f64) -> Vec<f32> {
    let mut sound = Vec::new();
    for key in Voicing::of(symbol).into_iter().flat_map(Voicing::keys) {
        add(&mut sound, 0, &pad(key, rate, seconds), 1.0);
    }
    sound
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sevenths_lie_beside_thirds() {
        let shell =
            |symbol: &str| Voicing::of(&symbol.parse().unwrap()).unwrap().shell.unwrap().map(|key| key.0);
        assert_eq!((shell("Fm7"), shell("Bb7"), shell("Ebmaj7")), ([56, 63], [62, 56], [55, 62]));
        assert_eq!(Voicing::of(&ChordSymbol::NoChord), None);
    }

    #[test]
    fn a_quality_that_is_not_known_does_not_sound() {
        let voicing = Voicing::of(&"C2/E".parse().unwrap()).unwrap();
        assert_eq!((voicing.shell, voicing.keys().map(|key| key.0).collect()), (None, vec![40]));
    }
}
