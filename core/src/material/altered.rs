//! The shapes of an altered dominant.

use std::fmt;

use crate::chord::{Chord, ChordSymbol, Degree, Quality};
use crate::drill::Named;
use crate::harmony::{Tones, chord_on, class};
use crate::key::Key;
use crate::pitch::PitchName;
use crate::scale::Scale;

use super::chain::{Chain, Shapes, Upper, chain};
use super::error::{MaterialError, Result};
use super::made::Made;
use super::over::{altered_scales, degrees, guides, known, readable};
use super::progression::{Lasting, Progression};
use super::setup::Setup;

/// A shape over an altered dominant.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct AlteredShape {
    /// The dominant.
    pub over: ChordSymbol,
    /// The shape as a chord.
    pub chord: Chord,
    /// Its tones as they are stacked.
    pub tones: Vec<PitchName>,
    /// What they are over the dominant.
    pub degrees: Vec<Degree>,
    /// The scale that it is from.
    pub scale: Scale,
}

impl fmt::Display for AlteredShape {
    /// The shape, its degrees and its scale: `Abm(maj7): b9 3 b13 1; G altered`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let degrees: Vec<String> = self.degrees.iter().map(Degree::to_string).collect();
        write!(f, "{}: {}; {}", self.chord, degrees.join(" "), self.scale)
    }
}

impl AlteredShape {
    /// A line for a bar of the dominant: the shape in two inversions, as they join best.
    ///
    /// # Errors
    /// As [`chain()`].
    pub fn line(&self, setup: &Setup) -> Result<Made> {
        let chords = Progression::new([Lasting::from(self.over.clone())])?;
        let quality = self.chord.quality().ok();
        let upper = self.degrees.first().zip(quality).map(|(on, quality)| Upper { on: *on, quality });
        let shapes = Shapes::Listed(upper.into_iter().collect());
        chain(&Chain { setup: setup.clone(), shapes, ..Chain::new(chords) })
    }
}

/// The shapes that altered dominants are played with, those with both the third and the seventh first, then those with the most altered tones.
///
/// They are from three scales: melodic minor a half step up, with a seventh chord on each tone and its four major and minor triads; half-whole, with its
/// major and minor triads and its diminished chords; whole tone, with its augmented triads (Levine 1995; Nettles & Graf 1997, from memory). What sounds the
/// same is listed once.
///
/// ```
/// use halfbar_core::material::altered;
///
/// let shapes = altered(&"G7alt".parse()?)?;
/// let said: Vec<_> = shapes.iter().map(|shape| shape.to_string()).collect();
/// assert!(said.contains(&"Fm7b5: b7 b9 3 b13; G altered".into()), "{said:?}");
/// assert!(altered(&"Ebmaj7".parse()?).unwrap_err().to_string().ends_with("write one that does, such as `Eb7alt`"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`MaterialError::NotDominant`] for a chord without a major third and a minor seventh; [`MaterialError::NoSymbol`] and [`MaterialError::Quality`] for what
/// isn't a known chord.
pub fn altered(symbol: &ChordSymbol) -> Result<Vec<AlteredShape>> {
    let chord = known(symbol)?;
    let is_dominant =
        |quality: Quality| quality.third() == Some(Degree::Three) && quality.has(Degree::FlatSeven);
    if !chord.quality().is_ok_and(is_dominant) {
        let instead = format!("{}7alt", chord.root());
        return Err(MaterialError::NotDominant { symbol: symbol.to_string(), instead });
    }
    let mut shapes: Vec<(Tones, AlteredShape)> = Vec::new();
    for scale in altered_scales(chord) {
        for (shape, tones) in chords_of(scale) {
            let set: Tones = tones.iter().copied().collect();
            if shapes.iter().all(|(known, _)| *known != set) {
                let (over, degrees) = (symbol.clone(), degrees(tones.iter().copied(), symbol));
                shapes.push((set, AlteredShape { over, chord: shape, tones, degrees, scale }));
            }
        }
    }
    // Few, and equals keep their order.
    shapes.sort_by_key(|(tones, shape)| {
        let alterations = shape.degrees.iter().filter(|degree| is_alteration(**degree)).count();
        (guides(chord, *tones) < 2, std::cmp::Reverse(alterations))
    });
    Ok(shapes.into_iter().map(|(_, shape)| shape).collect())
}

fn is_alteration(degree: Degree) -> bool {
    use Degree::{FlatFive, FlatNine, FlatThirteen, SharpEleven, SharpFive, SharpNine};
    matches!(degree, FlatFive | FlatNine | FlatThirteen | SharpEleven | SharpFive | SharpNine)
}

/// The chords that are played from an altered scale, with their tones as the scale spells them, without double accidentals.
fn chords_of(scale: Scale) -> Vec<(Chord, Vec<PitchName>)> {
    let names: Vec<PitchName> = scale.degrees().collect();
    let triads = ["", "m"];
    let sevenths = (0..7).filter_map(|step| chord_on(scale, step, [1, 3, 5, 7]));
    let (sevenths, others): (Vec<Chord>, &[&str]) = match names.len() {
        7 => (sevenths.collect(), &triads),
        8 => (Vec::new(), &["", "m", "dim7"]),
        _ => (Vec::new(), &["aug"]),
    };
    let set: Tones = names.iter().copied().collect();
    let on = |root: &PitchName| {
        let qualities = others.iter().filter_map(|suffix| suffix.parse().ok());
        qualities.map(|quality| Chord::new(*root, quality, None)).collect::<Vec<_>>()
    };
    let is_inside = |chord: &Chord| chord.tones().all(|(_, name)| set.has(class(name)));
    let all = sevenths.into_iter().chain(names.iter().flat_map(on).filter(is_inside));
    let spelled = |name: PitchName| {
        let own = names.iter().find(|own| class(**own) == class(name)).copied();
        readable(own.unwrap_or(name))
    };
    let readable_chord = |chord: Chord| {
        let tones = chord.tones().map(|(_, name)| spelled(name)).collect();
        let named = Named::new(&ChordSymbol::Chord(chord.clone()), Key::C).symbol;
        (named.chord().cloned().unwrap_or(chord), tones)
    };
    all.map(readable_chord).collect()
}
