//! Soft chords under the line: the third and the seventh in the middle, and the root in the bass.

use std::f64::consts::TAU;

use crate::chord::ChordSymbol;
use crate::pitch::MidiKey;

use super::{hertz, samples, shape, single};

/// What sounds of a chord.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Voicing {
    /// The root, or the bass that the symbol names, from E2 to D#3.
    pub bass: MidiKey,
    /// Third and seventh, or what the symbol has instead of them, from E3 to D#4. So one chord's seventh lies beside the next one's third.
    pub shell: [MidiKey; 2],
}

/// The lowest keys of bass and shell.
const BASS: u8 = 40;
const SHELL: u8 = 52;
/// The loudness of one key, and of its harmonics beside the first.
const LEVEL: f64 = 0.07;
const HARMONICS: [f64; 4] = [1.0, 0.35, 0.12, 0.04];
/// How fast the first harmonic dies away, in seconds; the others are faster.
const DECAY: f64 = 2.5;
/// How long a chord takes to start and to end, in seconds.
const ATTACK: f64 = 0.030;
pub(super) const RELEASE: f64 = 0.120;

impl Voicing {
    /// The shell of a chord by its symbol; `None` where no chord sounds.
    ///
    /// A triad has its fifth for the seventh, a sixth chord its sixth; a suspended fourth or second stands for the third (common practice, no
    /// source).
    ///
    /// ```
    /// use halfbar_core::sound::Voicing;
    ///
    /// let voicing = Voicing::of(&"Bb7alt/D".parse()?).expect("a chord");
    /// assert_eq!(voicing.bass.to_string(), "D3");
    /// assert_eq!(voicing.shell.map(|key| key.to_string()), ["D4", "G#3"]);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn of(symbol: &ChordSymbol) -> Option<Voicing> {
        let ChordSymbol::Chord { root, quality, bass } = symbol else { return None };
        let (third, seventh) = shell(quality);
        let above = |lowest: u8, pitch_class: i32| {
            let up = (pitch_class - i32::from(lowest)).rem_euclid(12);
            MidiKey(lowest + u8::try_from(up).unwrap_or(0))
        };
        let root_class = root.pitch_class();
        Some(Voicing {
            bass: above(BASS, bass.unwrap_or(*root).pitch_class()),
            shell: [above(SHELL, root_class + third), above(SHELL, root_class + seventh)],
        })
    }
}

/// Third and seventh, or what is there for them, in half steps above the root, by the words that chord symbols use.
fn shell(quality: &str) -> (i32, i32) {
    let starts = |words: &[&str]| words.iter().any(|word| quality.starts_with(word));
    let says = |words: &[&str]| words.iter().any(|word| quality.contains(word));
    let diminished = starts(&["dim", "o", "\u{b0}"]);
    let half_diminished = starts(&["\u{f8}"]);
    let minor = diminished || half_diminished || starts(&["-"]) || (starts(&["m"]) && !starts(&["ma"]));
    let third = match () {
        () if says(&["sus2"]) => 2,
        () if says(&["sus"]) => 5,
        () if minor => 3,
        () => 4,
    };
    let seventh = match () {
        () if says(&["maj", "Maj", "ma7", "ma9", "M7", "M9", "\u{394}", "^"]) => 11,
        () if diminished => 9,
        () if half_diminished || says(&["7", "alt"]) => 10,
        () if says(&["6"]) => 9,
        () if says(&["add"]) => 7,
        () if says(&["9", "11", "13"]) => 10,
        () if says(&["b5"]) => 6,
        () if says(&["#5", "aug"]) || starts(&["+"]) => 8,
        () => 7,
    };
    (third, seventh)
}

/// One key of a chord for so many seconds, at so many samples a second; then it dies away in 120 ms more. It starts and ends at zero.
pub fn pad(key: MidiKey, rate: u32, seconds: f64) -> Vec<f32> {
    let release = samples(RELEASE, rate);
    let mut sound = vec![0.0; samples(seconds, rate) + release];
    for (number, loudness) in (1u8..).zip(HARMONICS) {
        let omega = TAU * hertz(key) * f64::from(number) / f64::from(rate);
        let fall = (-f64::from(number).sqrt() / (DECAY * f64::from(rate))).exp();
        // A damped sine as a vector that turns and shrinks: two products a sample instead of a sine.
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

/// All keys of a chord together for so many seconds, as [`pad`]; silence where no chord sounds.
pub fn chord(symbol: &ChordSymbol, rate: u32, seconds: f64) -> Vec<f32> {
    let mut sound = Vec::new();
    let keys = Voicing::of(symbol)
        .into_iter()
        .flat_map(|Voicing { bass, shell: [third, seventh] }| [bass, third, seventh]);
    for key in keys {
        super::mix::add(&mut sound, 0, &pad(key, rate, seconds), 1.0);
    }
    sound
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice, no source.
    #[test]
    fn shells_by_the_symbol() {
        for (quality, expected) in [
            ("", (4, 7)),
            ("m", (3, 7)),
            ("maj7", (4, 11)),
            ("M7", (4, 11)),
            ("m7", (3, 10)),
            ("-7", (3, 10)),
            ("7", (4, 10)),
            ("m7b5", (3, 10)),
            ("\u{f8}7", (3, 10)),
            ("o7", (3, 9)),
            ("dim7", (3, 9)),
            ("7alt", (4, 10)),
            ("7#9#5", (4, 10)),
            ("6/9", (4, 9)),
            ("m6", (3, 9)),
            ("7sus4", (5, 10)),
            ("sus2", (2, 7)),
            ("m(maj7)", (3, 11)),
            ("13", (4, 10)),
            ("9", (4, 10)),
            ("add9", (4, 7)),
            ("maj9", (4, 11)),
            ("+", (4, 8)),
            ("+7", (4, 10)),
        ] {
            assert_eq!(shell(quality), expected, "{quality}");
        }
    }

    #[test]
    fn sevenths_lie_beside_thirds() {
        let shell = |symbol: &str| Voicing::of(&symbol.parse().unwrap()).unwrap().shell.map(|key| key.0);
        assert_eq!((shell("Fm7"), shell("Bb7"), shell("Ebmaj7")), ([56, 63], [62, 56], [55, 62]));
        assert_eq!(Voicing::of(&ChordSymbol::NoChord), None);
    }
}
