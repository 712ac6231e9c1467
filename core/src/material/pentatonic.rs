//! A pentatonic scale in groups, as it lies on the strings.

use crate::chord::ChordSymbol;
use crate::meter::Meter;
use crate::neck::{Fret, StringNo};
use crate::pitch::Pitch;
use crate::scale::{Scale, Tone};
use crate::technique::Pin;

use super::error::{MaterialError, Result};
use super::made::{Made, Maker};
use super::pentatonics::{fits, is_pentatonic};
use super::placing::{has, no_room, on_neck, some_strings};
use super::remark::Remark;
use super::setup::{Setup, key_of};
use super::way::Way;

/// A pentatonic scale to play.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Pentatonic {
    /// Bars, neck and region.
    pub setup: Setup,
    /// The scale: minor, major, minor 6 or major b6 pentatonic.
    pub scale: Scale,
    /// How many notes a group has, 2 to 6; straight through the scale by default.
    pub groups: Option<u8>,
    /// How many scale tones each group starts after the one before.
    pub advance: u8,
    /// Whether the notes of a group skip every other tone. Without groups, it goes in pairs.
    pub skips: bool,
    /// How many notes lie on each string, 2 or 3; as the hand finds them by default.
    pub per_string: Option<u8>,
    /// Which way to go.
    pub direction: Way,
    /// A chord that it is played over, which has to suit it.
    pub over: Option<ChordSymbol>,
}

impl Pentatonic {
    /// The scale straight up, in 4/4 and in the key that it suggests.
    pub fn new(scale: Scale) -> Pentatonic {
        Pentatonic {
            setup: Setup::new(Meter::COMMON, key_of(scale)),
            scale,
            groups: None,
            advance: 1,
            skips: false,
            per_string: None,
            direction: Way::Up,
            over: None,
        }
    }
}

/// A tone of the scale, on a string if that is chosen.
type Rung = (Pitch, Option<StringNo>);

/// Plays a pentatonic scale in eighths, straight or in groups that move on through it.
///
/// With two or three notes per string, it covers all strings of the region, as low as possible: from the tonic if that stays below the highest fret, otherwise
/// from another tone. If no tone does, it goes above that fret. A remark says so. Without, it goes from the lowest tonic of the region to its highest note,
/// and the hand chooses the strings. If the strings leave gaps, it is the longest stretch from a tonic without one, and a remark says so.
///
/// ```
/// use halfbar_core::material::{self, Pentatonic};
///
/// let mut asked = Pentatonic::new("G minor pentatonic".parse()?);
/// (asked.groups, asked.per_string) = (Some(4), Some(2));
/// let made = material::pentatonic(&asked)?;
/// let first: Vec<_> = made.line.events()[..8].iter().filter_map(|note| Some(note.pitch?.to_string())).collect();
/// assert_eq!(first, ["G2", "Bb2", "C3", "D3", "Bb2", "C3", "D3", "F3"]);
///
/// asked.scale = "A minor pentatonic".parse()?;
/// asked.over = Some("G7".parse()?);
/// let wrong = material::pentatonic(&asked).unwrap_err();
/// assert_eq!(wrong.to_string(), "A minor pentatonic over `G7` has the 11: use it over `G7sus`");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// - [`MaterialError::NotPentatonic`] for another scale; [`MaterialError::Groups`], [`MaterialError::Advance`] and [`MaterialError::PerString`] for numbers
///   that aren't made.
/// - [`MaterialError::Clash`] if it doesn't suit the chord that it is played over.
/// - [`MaterialError::NoRoom`] if the strings have no room for it, [`MaterialError::Narrow`] if they have none for a group.
pub fn pentatonic(asked: &Pentatonic) -> Result<Made> {
    let Pentatonic { setup, scale, .. } = asked;
    if !is_pentatonic(*scale) {
        return Err(MaterialError::NotPentatonic { scale: *scale });
    }
    if let Some(groups) = asked.groups.filter(|groups| !(2..=6).contains(groups)) {
        return Err(MaterialError::Groups { groups });
    }
    if !(1..=6).contains(&asked.advance) {
        return Err(MaterialError::Advance { advance: asked.advance });
    }
    if let Some(per_string) = asked.per_string.filter(|number| !(2..=3).contains(number)) {
        return Err(MaterialError::PerString { per_string });
    }
    if let Some(symbol) = &asked.over {
        fits(*scale, symbol)?;
    }
    let (ladder, remarks) = match asked.per_string {
        Some(per_string) => laid_out(setup, *scale, usize::from(per_string))?,
        None => as_it_lies(setup, *scale)?,
    };
    let mut order = in_groups(asked, ladder.len())?;
    if asked.direction == Way::Down {
        order.reverse();
    }
    let mut maker = Maker::new(setup)?;
    remarks.into_iter().for_each(|remark| maker.remark(remark));
    if let Some(symbol) = &asked.over {
        maker.chord(symbol);
    }
    for (pitch, string) in order.into_iter().filter_map(|at| ladder.get(at)) {
        maker.note(*pitch, Pin { string: *string, ..Pin::default() })?;
    }
    maker.made()
}

/// The pitch of a scale's tone, counted from the tonic in octave 0.
fn tone(scale: Scale, index: usize) -> Option<Pitch> {
    scale.pitch(Tone { index: i32::try_from(index).ok()?, beside: Default::default() })
}

/// The tones that are looked at: ten octaves of five.
const TONES: std::ops::Range<usize> = 0..50;

/// The tones of the region from its lowest tonic up; where it leaves gaps, the longest stretch from a tonic without one.
fn as_it_lies(setup: &Setup, scale: Scale) -> Result<(Vec<Rung>, Vec<Remark>)> {
    let strings = some_strings(setup)?;
    let all: Vec<Pitch> = TONES.filter_map(|index| tone(scale, index)).collect();
    let stretches = all.split(|pitch| !has(setup, *pitch)).filter_map(|stretch| {
        let tonic = stretch.iter().position(|pitch| pitch.name == scale.tonic())?;
        stretch.get(tonic..)
    });
    let stretches: Vec<&[Pitch]> = stretches.collect();
    // The lowest one of equally long ones.
    let longest = stretches.iter().rev().max_by_key(|stretch| stretch.len());
    let ends = longest.and_then(|stretch| stretch.first().copied().zip(stretch.last().copied()));
    let (Some(longest), Some((lowest, highest))) = (longest, ends) else {
        return Err(no_room(setup, scale.to_string(), tonics(scale), &strings));
    };
    let all = all.iter().filter(|pitch| has(setup, **pitch)).skip_while(|pitch| pitch.name != scale.tonic());
    let gap = (all.count() > longest.len()).then_some(Remark::Gap { lowest, highest });
    Ok((longest.iter().map(|pitch| (*pitch, None)).collect(), gap.into_iter().collect()))
}

fn tonics(scale: Scale) -> impl Iterator<Item = Vec<Pitch>> {
    (0..=9).map(move |octave| vec![Pitch { name: scale.tonic(), octave }])
}

/// So many tones per string from the lowest string up.
fn laid_out(setup: &Setup, scale: Scale, per_string: usize) -> Result<(Vec<Rung>, Vec<Remark>)> {
    let strings = some_strings(setup)?;
    let tones: Vec<Pitch> = TONES.filter_map(|index| tone(scale, index)).collect();
    // The notes from a tone on, and the highest fret.
    let from = |start: usize| -> Option<(Vec<Rung>, Fret)> {
        let own = tones.get(start..start + strings.len() * per_string)?;
        let on = strings.iter().flat_map(|string| std::iter::repeat_n(*string, per_string));
        let ladder: Vec<Rung> = own.iter().copied().zip(on.map(Some)).collect();
        let frets = ladder.iter().map(|(pitch, string)| on_neck(setup, (*string)?, *pitch));
        let highest = frets.collect::<Option<Vec<Fret>>>()?.into_iter().max()?;
        Some((ladder, highest))
    };
    let ladders = (0..tones.len()).filter_map(from);
    // Below the highest fret, from the tonic, and as low as possible. A wide layout is above that fret anyway, and then the tonic comes first.
    let up_to = setup.region.up_to;
    let is_other = |ladder: &[Rung]| ladder.first().is_some_and(|(pitch, _)| pitch.name != scale.tonic());
    let best = ladders.min_by_key(|(ladder, highest)| (*highest > up_to, is_other(ladder), *highest));
    let Some((ladder, highest)) = best else {
        return Err(no_room(setup, scale.to_string(), tonics(scale), &strings));
    };
    let off = is_other(&ladder).then(|| Remark::OffTonic { first: ladder[0].0 });
    let above = (highest > up_to).then_some(Remark::Above { fret: highest });
    Ok((ladder, off.into_iter().chain(above).collect()))
}

/// The tones in the order in which they are played, by their places in the ladder.
fn in_groups(asked: &Pentatonic, has: usize) -> Result<Vec<usize>> {
    let step = 1 + usize::from(asked.skips);
    let size = match asked.groups {
        Some(groups) => usize::from(groups),
        None if asked.skips => 2,
        None => return Ok((0..has).collect()),
    };
    let takes = (size - 1) * step + 1;
    if takes > has {
        return Err(MaterialError::Narrow { takes, has });
    }
    let starts = (0..=has - takes).step_by(usize::from(asked.advance));
    Ok(starts.flat_map(|start| (0..size).map(move |at| start + at * step)).collect())
}
