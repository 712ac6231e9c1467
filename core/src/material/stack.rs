//! The tones of a chord that a shape is made of, and where they are.

use crate::bars::Place;
use crate::chord::{Chord, ChordSymbol, Degree, Quality};
use crate::harmony::class;
use crate::pitch::{Pitch, PitchName};

use super::error::{MaterialError, Result};
use super::remark::Remark;

/// A chord as a shape: a triad or four tones.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Stack {
    /// The chord that they make.
    pub(super) chord: Chord,
    /// Their names as they are stacked, the root first.
    pub(super) names: Vec<PitchName>,
}

impl Stack {
    /// The tones of a chord up to its seventh.
    pub(super) fn new(chord: &Chord) -> Stack {
        let names = chord.tones().filter(|(degree, _)| degree.number() <= 7).map(|(_, name)| name).collect();
        Stack { chord: chord.clone(), names }
    }

    /// A symbol's own shape: root, third, fifth and seventh, or what it has in their place. Of an altered dominant's two fifths it is the upper
    /// one, its b13 (common practice, no source). With it, the degrees that the symbol has and the shape doesn't.
    ///
    /// # Errors
    /// [`MaterialError::Quality`] for a symbol whose quality can't be read; [`MaterialError::TwoNotes`] for one with fewer than three of these tones.
    pub(super) fn own(chord: &Chord) -> Result<(Stack, Vec<Degree>)> {
        let symbol = || chord.to_string();
        let quality = chord
            .quality()
            .map_err(|error| MaterialError::Quality { symbol: symbol(), error: error.clone() })?;
        let has = |degree: &Degree| quality.has(*degree);
        let third = quality.third().or(quality.suspension());
        let is_altered = quality.is_dominant() && has(&Degree::FlatFive) && has(&Degree::FlatThirteen);
        let fifths = [Degree::Five, Degree::SharpFive, Degree::FlatThirteen, Degree::FlatFive];
        let mut fifths = fifths.into_iter().filter(|degree| degree.number() == 5 || is_altered);
        let fifth = fifths.find(has);
        let seventh = quality.seventh().or(Some(Degree::Six).filter(has));
        let own: Vec<Degree> = [Some(Degree::One), third, fifth, seventh].into_iter().flatten().collect();
        // A b13 in place of the fifth is a raised fifth to the shape.
        let as_fifth =
            |degree: Degree| if degree == Degree::FlatThirteen { Degree::SharpFive } else { degree };
        let shape = Quality::new(own.iter().copied().map(as_fifth)).ok().filter(|_| own.len() >= 3);
        let Some(shape) = shape else { return Err(MaterialError::TwoNotes { symbol: symbol() }) };
        let names = own.iter().map(|degree| chord.root().transposed(degree.interval())).collect();
        let left_out = quality.degrees().filter(|degree| !own.contains(degree)).collect();
        Ok((Stack { chord: Chord::new(chord.root(), shape, None), names }, left_out))
    }

    /// Its tones as a set.
    pub(super) fn tones(&self) -> crate::harmony::Tones {
        self.names.iter().copied().collect()
    }

    /// This many of its tones, one above the other, starting with a member in each octave from the lowest up.
    pub(super) fn rising(&self, member: usize, count: usize) -> impl Iterator<Item = Vec<Pitch>> {
        self.by_steps(member, std::iter::repeat_n(1, count.saturating_sub(1)))
    }

    /// Its tones from a member up by steps from member to member, in each octave.
    pub(super) fn by_steps(
        &self,
        member: usize,
        steps: impl IntoIterator<Item = usize>,
    ) -> impl Iterator<Item = Vec<Pitch>> {
        let steps: Vec<usize> = steps.into_iter().collect();
        (0..=9).filter_map(move |octave| {
            let mut at = member % self.names.len();
            let mut pitches = vec![Pitch { name: self.names[at], octave }];
            for step in &steps {
                let mut pitch = *pitches.last()?;
                for _ in 0..*step {
                    at = (at + 1) % self.names.len();
                    pitch = above(pitch, self.names[at])?;
                }
                pitches.push(pitch);
            }
            Some(pitches).filter(|pitches| pitches.iter().all(|pitch| pitch.midi().is_some()))
        })
    }
}

/// What a chord has and its own shape doesn't: some degrees, or a bass that is none of its tones.
pub(super) fn left_out(place: Place, chord: &Chord, stack: &Stack, degrees: Vec<Degree>) -> Vec<Remark> {
    let symbol = ChordSymbol::Chord(chord.clone());
    let bass = chord.bass().filter(|bass| !stack.tones().has(class(*bass)));
    let bass = bass.map(|bass| Remark::NoBass { place, symbol: symbol.clone(), bass });
    let degrees = (!degrees.is_empty()).then_some(Remark::LeftOut { place, symbol, degrees });
    degrees.into_iter().chain(bass).collect()
}

/// The nearest pitch of a name above another pitch.
pub(super) fn above(pitch: Pitch, name: PitchName) -> Option<Pitch> {
    let octaves = pitch.octave.saturating_sub(1)..=pitch.octave.saturating_add(2).min(9);
    octaves.map(|octave| Pitch { name, octave }).find(|other| other.midi() > pitch.midi())
}

/// The half steps from one pitch up to another.
pub(super) fn half_steps(from: Pitch, to: Pitch) -> i32 {
    crate::pitch::Interval::between(from, to).half_steps
}

/// A pitch as a number of half steps.
pub(super) fn key(pitch: Pitch) -> i32 {
    pitch.midi().map_or(0, |key| key.0.into())
}
