//! Chords that move through a scale with a shape.

use crate::chord::{ChordSymbol, Degree};
use crate::harmony::chord_on;
use crate::pitch::PitchName;
use crate::scale::Scale;

/// How many tones a scale has whose thirds make chords.
const TONES: usize = 7;

/// A chord of a scale, moved by steps of the scale as a triad or seventh chord: in E flat major, a step above Fm7 is Gm7, and three steps
/// above it Bb7. A sixth counts as a seventh, since not every step has one. `None` for a chord with another tone, or if the tones there make
/// no chord.
pub(crate) fn moved(symbol: &ChordSymbol, scale: Scale, steps: i32) -> Option<ChordSymbol> {
    let Some(chord) = symbol.chord().filter(|_| steps != 0) else { return Some(symbol.clone()) };
    let names: Vec<PitchName> = scale.degrees().collect();
    if names.len() != TONES {
        return None;
    }
    let place = |name: PitchName| names.iter().position(|tone| *tone == name);
    let up = |tones: usize, place: usize| names[(place + tones) % TONES];
    let here = |degree: Degree| usize::from(degree.number()) - 1;
    let root = place(chord.root())?;
    if chord.quality().is_err() || chord.tones().any(|(degree, name)| up(here(degree), root) != name) {
        return None;
    }
    let steps = usize::try_from(steps.rem_euclid(i32::try_from(TONES).ok()?)).ok()?;
    // Ninths and above stay behind: not every step has them, either.
    let numbers = chord.tones().map(|(degree, _)| degree).filter(|degree| degree.number() <= 7);
    let numbers = numbers.map(|degree| if degree == Degree::Six { 7 } else { degree.number() });
    let there = chord_on(scale, root + steps, numbers)?;
    let bass = match chord.bass() {
        Some(bass) => Some(up(steps, place(bass)?)),
        None => None,
    };
    Some(ChordSymbol::Chord(there).over(bass))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn through(chord: &str, scale: &str, steps: std::ops::Range<i32>) -> Option<Vec<String>> {
        let (chord, scale): (ChordSymbol, Scale) = (chord.parse().unwrap(), scale.parse().unwrap());
        steps.map(|step| moved(&chord, scale, step).map(|chord| chord.to_string())).collect()
    }

    /// The seventh chords of a major and of a harmonic minor key (common practice, no source).
    #[test]
    fn chords_of_a_key_follow_each_other() {
        let all = |chord, scale| through(chord, scale, 0..7).unwrap().join(" ");
        assert_eq!(all("Ebmaj7", "Eb major"), "Ebmaj7 Fm7 Gm7 Abmaj7 Bb7 Cm7 Dm7b5");
        assert_eq!(all("Cm(maj7)", "C harmonic minor"), "Cm(maj7) Dm7b5 Ebmaj7#5 Fm7 G7 Abmaj7 Bdim7");
        assert_eq!(all("F", "F major"), "F Gm Am Bb C Dm Edim");
        assert_eq!(through("Fm7/Ab", "Eb major", -1..0).unwrap(), ["Ebmaj7/G"]);
        assert_eq!(through("C6", "C major", 1..2).unwrap(), ["Dm7"]);
        assert_eq!(through("Dm9", "C major", 0..3).unwrap(), ["Dm9", "Em7", "Fmaj7"]);
    }

    #[test]
    fn other_chords_do_not_move() {
        for (chord, scale) in
            [("F7", "Eb major"), ("Bb7alt", "Eb major"), ("C7", "C minor pentatonic"), ("C2", "C major")]
        {
            assert_eq!(through(chord, scale, 1..2), None, "{chord} in {scale}");
        }
        assert_eq!(through("NC", "C major", 0..3).unwrap(), ["NC", "NC", "NC"]);
    }
}
