//! Pentatonic scales, and those that fit a chord.

use std::fmt;

use crate::chord::{Chord, ChordSymbol, Degree};
use crate::harmony::{Tones, class, degree, scales_of};
use crate::naming::{all_of, quoted};
use crate::scale::{Scale, ScaleKind};

use super::error::{MaterialError, Result};
use super::over::{degrees, guide_degrees, is_avoided, is_within_a_scale, known, readable};

/// The kinds that are looked for. A major one has the tones of a minor one, so it comes last.
const KINDS: [&str; 4] =
    ["minor pentatonic", "minor 6 pentatonic", "major b6 pentatonic", "major pentatonic"];

/// The pentatonic scale that a text names: `G minor`, `Eb major b6`, `C minor 6 pentatonic`.
///
/// ```
/// use halfbar_core::material::pentatonic_scale;
///
/// assert_eq!(pentatonic_scale("G minor")?.to_string(), "G minor pentatonic");
/// assert!(pentatonic_scale("G dorian").is_err());
/// # Ok::<(), halfbar_core::material::MaterialError>(())
/// ```
///
/// # Errors
/// [`MaterialError::Pentatonic`] for any other text.
pub fn pentatonic_scale(text: &str) -> Result<Scale> {
    let text = text.trim();
    let short = text.strip_suffix("pentatonic").unwrap_or(text).trim_end();
    let scale = format!("{short} pentatonic").parse::<Scale>().ok().filter(|scale| is_pentatonic(*scale));
    scale.ok_or_else(|| MaterialError::Pentatonic { text: quoted(text) })
}

pub(super) fn is_pentatonic(scale: Scale) -> bool {
    KINDS.contains(&scale.kind().name())
}

/// A pentatonic scale that fits a chord.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Fit {
    /// The scale.
    pub scale: Scale,
    /// What its tones are over the chord, in the scale's order.
    pub degrees: Vec<Degree>,
    /// The scale of the chord that has all of them.
    pub within: Scale,
    /// The degrees that identify the chord, as far as they are among them.
    pub guides: Vec<Degree>,
}

impl fmt::Display for Fit {
    /// The scale, its degrees, and why it fits: `G minor pentatonic: 3 5 13 7 9; in Eb major, with the 3 and 7`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let degrees: Vec<String> = self.degrees.iter().map(Degree::to_string).collect();
        write!(f, "{}: {}; in {}", self.scale, degrees.join(" "), self.within)?;
        match self.guides.is_empty() {
            true => Ok(()),
            false => write!(f, ", with the {}", all_of(&self.guides)),
        }
    }
}

/// The pentatonic scales that fit a chord, those with both its third and its seventh (or what it has in their place) first, then by the scale of the chord
/// that they are in.
///
/// All tones of one that fits are in one scale that the chord may take, and none is a half step above its root, third, fifth or seventh, except the b9
/// and b13 of a dominant (common practice, no source). A major pentatonic scale has the tones of a minor one and is listed as that.
///
/// ```
/// use halfbar_core::material::pentatonics;
///
/// let fits = pentatonics(&"Ebmaj7".parse()?)?;
/// assert_eq!(fits[0].to_string(), "G minor pentatonic: 3 5 13 7 9; in Eb major, with the 3 and 7");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`MaterialError::NoSymbol`] for `NC`, [`MaterialError::Quality`] for a symbol whose quality can't be read.
pub fn pentatonics(symbol: &ChordSymbol) -> Result<Vec<Fit>> {
    let chord = known(symbol)?;
    let mut fits: Vec<(Tones, Fit)> = Vec::new();
    for within in scales_of(chord) {
        for kind in KINDS.into_iter().filter_map(ScaleKind::named) {
            for tonic in within.degrees() {
                let Ok(scale) = Scale::new(readable(tonic), kind) else { continue };
                let tones: Tones = scale.degrees().collect();
                let is_within = within.degrees().collect::<Tones>().has_all(tones);
                let is_new = fits.iter().all(|(known, _)| *known != tones);
                if is_within && is_new && !scale.degrees().any(|name| is_avoided(name, chord)) {
                    let guides = guide_degrees(chord, tones);
                    fits.push((
                        tones,
                        Fit { scale, degrees: degrees(scale.degrees(), symbol), within, guides },
                    ));
                }
            }
        }
    }
    // Few, and equals keep their order.
    fits.sort_by_key(|(_, fit)| fit.guides.len() < 2);
    Ok(fits.into_iter().map(|(_, fit)| fit).collect())
}

/// Whether a pentatonic scale may be played over a symbol.
///
/// # Errors
/// [`MaterialError::Clash`] if not, with what could be played instead.
pub(super) fn fits(scale: Scale, symbol: &ChordSymbol) -> Result<()> {
    let chord = known(symbol)?;
    let Some(degree) = clash(scale, symbol, chord) else { return Ok(()) };
    let is_eleven = degree == Degree::Eleven && chord.quality().is_ok_and(|quality| quality.is_dominant());
    let sus: Option<ChordSymbol> = format!("{}7sus", chord.root()).parse().ok().filter(|_| is_eleven);
    let suits = |other: &ChordSymbol| other.chord().is_some_and(|chord| clash(scale, other, chord).is_none());
    let help = if let Some(sus) = sus.filter(suits) {
        format!("use it over `{sus}`")
    } else {
        let some = pentatonics(symbol)?;
        let some: Vec<String> = some.iter().take(3).map(|fit| fit.scale.to_string()).collect();
        match some.is_empty() {
            true => "use it over another chord".into(),
            false => format!("over `{symbol}`, use {}", all_of(some)),
        }
    };
    Err(MaterialError::Clash { scale, symbol: symbol.to_string(), degree, help })
}

/// The first tone of a scale that clashes with a chord, as a degree of it: an avoided one, or one outside of its scales.
fn clash(scale: Scale, symbol: &ChordSymbol, chord: &Chord) -> Option<Degree> {
    let mut avoided = scale.degrees().filter(|name| is_avoided(*name, chord));
    let outside = || {
        let own: Tones = scales_of(chord).first()?.degrees().collect();
        let is_in_one = is_within_a_scale(chord, scale.degrees().collect());
        scale.degrees().find(|name| !is_in_one && !own.has(class(*name)))
    };
    degree(avoided.next().or_else(outside)?, symbol)
}
