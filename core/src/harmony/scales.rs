//! The scales that a chord may take.

use crate::chord::{Chord, Degree, Quality};
use crate::key::{Key, Mode};
use crate::pitch::PitchName;
use crate::scale::{Scale, ScaleKind};

use super::tones::Tones;

/// The scales that improvisers play over a chord, the first choice first. Of the diatonic ones, those within the key come before others.
///
/// The lists are those of M. Levine, *The Jazz Theory Book*, 1995, and B. Nettles & R. Graf, *The Chord Scale Theory and Jazz Harmony*, 1997,
/// from memory. Empty for a chord whose quality isn't known.
///
/// ```
/// use halfbar_core::chord::ChordSymbol;
/// use halfbar_core::harmony::scales;
/// use halfbar_core::key::Key;
///
/// let over = |symbol: &str| {
///     let symbol: ChordSymbol = symbol.parse()?;
///     let found = scales(symbol.chord().expect("not `NC`"), Key::C);
///     Ok::<_, halfbar_core::Error>(found.iter().map(|scale| scale.to_string()).collect::<Vec<_>>())
/// };
/// assert_eq!(over("G7alt")?, ["G altered", "G whole tone", "G half-whole diminished"]);
/// assert_eq!(over("Em7")?[..2], ["E phrygian", "E dorian"]);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn scales(chord: &Chord, key: Key) -> Vec<Scale> {
    let own = key_tones(key);
    let is_own = |scale: &Scale| own.has_all(scale.degrees().collect());
    let mut scales = scales_of(chord);
    // Few, and equals keep their order.
    scales.sort_by_key(|scale| !is_own(scale));
    scales
}

/// The same scales where no key is known, the chord's own first choice first.
pub(crate) fn scales_of(chord: &Chord) -> Vec<Scale> {
    let Ok(quality) = chord.quality() else { return Vec::new() };
    let named = kinds(quality).iter().filter_map(|name| ScaleKind::usual(name));
    let mut scales: Vec<Scale> = named.filter_map(|kind| scale_on(chord.root(), kind)).collect();
    // What the symbol says must be in it, unless that is true of none. `7alt` says that anything altered will do.
    let tones: Tones = chord.tones().map(|(_, name)| name).collect();
    let holds = |scale: &Scale| scale.degrees().collect::<Tones>().has_all(tones);
    let is_any = quality.has(Degree::FlatNine) && quality.has(Degree::SharpNine);
    if !is_any && scales.iter().any(holds) {
        scales.retain(holds);
    }
    scales
}

/// The scale of a kind on a root, by a simpler name of the root if signs run out.
pub(crate) fn scale_on(root: PitchName, kind: &'static ScaleKind) -> Option<Scale> {
    [root, root.simplest()].into_iter().find_map(|root| Scale::new(root, kind).ok())
}

/// The scale of a key.
pub(crate) fn key_scale(key: Key) -> Option<Scale> {
    let name = if key.mode() == Mode::Minor { "natural minor" } else { "major" };
    Scale::new(key.tonic(), ScaleKind::usual(name)?).ok()
}

/// The tones of a key.
pub(crate) fn key_tones(key: Key) -> Tones {
    key_scale(key).into_iter().flat_map(Scale::degrees).collect()
}

/// The kinds of scales for a quality, by name.
fn kinds(quality: Quality) -> &'static [&'static str] {
    use Degree::{
        DoubleFlatSeven, FlatFive, FlatNine, FlatSeven, FlatThirteen, Seven, SharpEleven, SharpFive,
        SharpNine, Six, Thirteen,
    };
    let has = |degree| quality.has(degree);
    let is_minor = quality.third() == Some(Degree::FlatThree);
    let is_suspended = quality.third().is_none() && quality.suspension().is_some();
    match () {
        () if has(DoubleFlatSeven) => &["whole-half diminished"],
        () if is_minor && has(FlatFive) => &["locrian", "locrian natural 2", "locrian natural 6"],
        () if is_minor && has(Seven) => &["melodic minor", "harmonic minor"],
        () if is_minor && has(Six) => &["dorian", "melodic minor"],
        () if is_minor => &["dorian", "natural minor", "phrygian", "melodic minor", "harmonic minor"],
        () if is_suspended && has(FlatNine) => &["dorian b2"],
        () if is_suspended => &["mixolydian", "dorian"],
        () if has(FlatSeven) && has(FlatNine) && (has(SharpNine) || has(FlatFive)) => {
            &["altered", "whole tone", "half-whole diminished"]
        }
        () if has(FlatSeven) && has(FlatNine) && has(Thirteen) => &["half-whole diminished"],
        () if has(FlatSeven) && has(FlatNine) => &["half-whole diminished", "phrygian dominant", "altered"],
        () if has(FlatSeven) && has(SharpNine) => &["altered", "half-whole diminished"],
        () if has(FlatSeven) && (has(SharpFive) || has(FlatThirteen)) => {
            &["whole tone", "mixolydian b6", "altered"]
        }
        () if has(FlatSeven) && has(SharpEleven) => &["lydian dominant"],
        () if has(FlatSeven) => &[
            "mixolydian",
            "lydian dominant",
            "phrygian dominant",
            "altered",
            "half-whole diminished",
            "mixolydian b6",
            "whole tone",
        ],
        () if has(SharpFive) => &["lydian augmented", "ionian #5"],
        () if has(SharpEleven) => &["lydian"],
        () => &["major", "lydian"],
    }
}
