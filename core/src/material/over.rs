//! What tones do over a chord.

use crate::chord::{Chord, ChordSymbol, Degree, Quality};
use crate::harmony::{Tones, class, degree, is_chord_tone, scale_on, scales_of};
use crate::pitch::PitchName;
use crate::scale::{Scale, ScaleKind};

use super::error::{MaterialError, Result};

/// The chord of a symbol that can be read.
pub(super) fn known(symbol: &ChordSymbol) -> Result<&Chord> {
    let chord = symbol.chord().ok_or(MaterialError::NoSymbol)?;
    match chord.quality() {
        Ok(_) => Ok(chord),
        Err(error) => Err(MaterialError::Quality { symbol: symbol.to_string(), error: error.clone() }),
    }
}

/// How many of the two tones that identify a chord are among some tones: its third and its seventh, or what it has in their place.
pub(super) fn guides(chord: &Chord, tones: Tones) -> usize {
    guide_degrees(chord, tones).len()
}

/// Which of these two there are.
pub(super) fn guide_degrees(chord: &Chord, tones: Tones) -> Vec<Degree> {
    let guides = chord.quality().map(Quality::guide_tones).into_iter().flatten();
    guides.filter(|guide| tones.has(class(chord.root().transposed(guide.interval())))).collect()
}

/// A name without a double accidental.
pub(super) fn readable(name: PitchName) -> PitchName {
    if name.alter.half_steps().abs() > 1 { name.simplest() } else { name }
}

/// The scales of an altered dominant: melodic minor a half step up, half-whole, whole tone (common practice, no source).
pub(super) fn altered_scales(chord: &Chord) -> impl Iterator<Item = Scale> {
    let root = chord.root();
    let kinds = ["altered", "half-whole diminished", "whole tone"].into_iter().filter_map(ScaleKind::named);
    kinds.filter_map(move |kind| scale_on(root, kind))
}

/// Whether a tone is avoided over a chord: it is a half step above the chord's root, third, fifth or seventh, and none of its tones. The b9 and the
/// b13 of a dominant are not (Nettles & Graf 1997, from memory).
pub(super) fn is_avoided(name: PitchName, chord: &Chord) -> bool {
    let symbol = ChordSymbol::Chord(chord.clone());
    let Ok(quality) = chord.quality() else { return false };
    if is_chord_tone(name, &symbol) {
        return false;
    }
    let above = (class(name) + 12 - class(chord.root())) % 12;
    let is_tension = quality.is_dominant() && (above == 1 || above == 8);
    let lower = quality.degrees().filter(|degree| matches!(degree.number(), 1..=7));
    let is_above = |degree: Degree| (degree.half_steps() + 1) % 12 == above;
    !is_tension && lower.into_iter().any(is_above)
}

/// Whether a scale that a chord may take has all of some tones. A dominant may always be altered.
pub(super) fn is_within_a_scale(chord: &Chord, tones: Tones) -> bool {
    let is_dominant = chord.quality().is_ok_and(|quality| quality.is_dominant() && quality.third().is_some());
    let altered = altered_scales(chord).filter(move |_| is_dominant);
    let mut scales = scales_of(chord).into_iter().chain(altered);
    scales.any(|scale| scale.degrees().collect::<Tones>().has_all(tones))
}

/// What some names are over a symbol. Over a major third, a minor one is the #9.
pub(super) fn degrees(names: impl IntoIterator<Item = PitchName>, symbol: &ChordSymbol) -> Vec<Degree> {
    let is_major = symbol
        .chord()
        .is_some_and(|chord| chord.quality().is_ok_and(|quality| quality.third() == Some(Degree::Three)));
    let found = names.into_iter().filter_map(|name| degree(name, symbol));
    found
        .map(|found| if is_major && found == Degree::FlatThree { Degree::SharpNine } else { found })
        .collect()
}
