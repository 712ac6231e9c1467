//! The chords of a scale.

use crate::chord::{Chord, Degree, Quality};
use crate::pitch::{Alter, PitchName};
use crate::scale::Scale;

/// How many tones a scale has whose thirds make chords.
const TONES: usize = 7;

/// The chord on a step of a scale, counted from 0, that has the tones with these numbers above its root: 1, 3 and 5 make a triad. `None` if
/// the scale doesn't have seven tones, or if its tones there make no chord.
pub(crate) fn chord_on(scale: Scale, step: usize, numbers: impl IntoIterator<Item = u8>) -> Option<Chord> {
    let names: Vec<PitchName> = scale.degrees().collect();
    if names.len() != TONES {
        return None;
    }
    let root = names[step % TONES];
    let degree = |number: u8| {
        let name = names[(step + usize::from(number.checked_sub(1)?)) % TONES];
        let altered = (-2..=2).filter_map(|alter| Degree::new(Alter::new(alter)?, number));
        altered.into_iter().find(|degree| root.transposed(degree.interval()) == name)
    };
    let degrees: Option<Vec<Degree>> = numbers.into_iter().map(degree).collect();
    Some(Chord::new(root, Quality::new(degrees?).ok()?, None))
}
