//! The chords of a scale, one after another.

use crate::chord::ChordSymbol;
use crate::drill::Folded;
use crate::harmony::chord_on;
use crate::meter::Meter;
use crate::naming::by_name;
use crate::neck::StringNo;
use crate::pitch::Pitch;
use crate::scale::Scale;
use crate::technique::Pin;

use super::error::{MaterialError, Result};
use super::made::{Made, Maker};
use super::order::NoteOrder;
use super::path::cheapest;
use super::placing::{self, Placing, lowest, placings, some_strings, span};
use super::remark::Remark;
use super::setup::{Setup, key_of};
use super::stack::{Stack, half_steps};
use super::way::Way;
use super::weights::Cost;

/// Arpeggios to make: the chords of a scale.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Arpeggios {
    /// Bars, neck and region.
    pub setup: Setup,
    /// The scale, which needs seven tones.
    pub scale: Scale,
    /// Triads or seventh chords.
    pub size: ChordSize,
    /// The inversion; 0 is root position. `None` for all of them on each step.
    pub inversion: Option<u8>,
    /// The order of the notes.
    pub order: NoteOrder,
    /// Which way each arpeggio goes. Down, the order is reversed.
    pub direction: Way,
    /// Whether each note has a string of its own. Otherwise, notes share strings as they lie.
    pub one_per_string: bool,
    /// How many steps of the scale to go from the tonic; negative for down.
    pub steps: i8,
}

/// How many tones the chords have.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
#[allow(missing_docs)]
pub enum ChordSize {
    #[default]
    Triads,
    Sevenths,
}

impl ChordSize {
    /// Both.
    pub const ALL: [ChordSize; 2] = [ChordSize::Triads, ChordSize::Sevenths];

    /// `triads` or `sevenths`.
    pub fn name(self) -> &'static str {
        ["triads", "sevenths"][self as usize]
    }

    /// The numbers of the tones.
    fn numbers(self) -> &'static [u8] {
        match self {
            ChordSize::Triads => &[1, 3, 5],
            ChordSize::Sevenths => &[1, 3, 5, 7],
        }
    }

    fn spoken(self) -> &'static str {
        ["a triad", "a seventh chord"][self as usize]
    }
}

by_name!(ChordSize, "a size of chords");

impl Arpeggios {
    /// Triads in root position, up through an octave of a scale, in 4/4 and in the key that the scale suggests.
    pub fn new(scale: Scale) -> Arpeggios {
        Arpeggios {
            setup: Setup::new(Meter::COMMON, key_of(scale)),
            scale,
            size: ChordSize::Triads,
            inversion: Some(0),
            order: NoteOrder::default(),
            direction: Way::Up,
            one_per_string: false,
            steps: 7,
        }
    }
}

/// An arpeggio on the neck.
struct Choice {
    /// From the lowest up.
    notes: Vec<Pitch>,
    placing: Placing,
    /// Which step of the scale it is on, counted from the tonic.
    step: i32,
    /// Its lowest member.
    member: usize,
}

/// Plays the chords of a scale step by step, in eighths, each from a beat on.
///
/// Each arpeggio lies where it spans the fewest frets, over all octaves and all ways to put it on the strings without going back to a lower one.
/// Where several span as few, the line goes on without a jump by octaves, and the hand moves least. A jump that can't be avoided is a remark.
///
/// ```
/// use halfbar_core::harmony;
/// use halfbar_core::material::{self, Arpeggios, ChordSize};
///
/// let mut asked = Arpeggios::new("Eb major".parse()?);
/// asked.size = ChordSize::Sevenths;
/// asked.inversion = Some(1);
/// asked.setup.region.strings = Some("4-2".parse()?);
/// let made = material::arpeggios(&asked)?;
/// let first: Vec<_> = made.line.events()[..4].iter().filter_map(|note| Some(note.pitch?.to_string())).collect();
/// assert_eq!(first, ["G3", "Bb3", "D4", "Eb4"]);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// - [`MaterialError::NoThirds`] for a scale without chords in thirds.
/// - [`MaterialError::Inversion`] and [`MaterialError::Order`] for what its chords don't have.
/// - [`MaterialError::FewStrings`] for fewer strings than notes, if each has its own.
/// - [`MaterialError::NoRoom`] for a chord that is nowhere on the strings.
pub fn arpeggios(asked: &Arpeggios) -> Result<Made> {
    let Arpeggios { setup, scale, size, .. } = asked;
    let strings = some_strings(setup)?;
    let count = size.numbers().len();
    if let Some(inversion) = asked.inversion.filter(|inversion| usize::from(*inversion) >= count) {
        return Err(MaterialError::Inversion { inversion, chord: size.spoken().into(), highest: count - 1 });
    }
    let sets = string_sets(asked, &strings, count)?;
    let mut layers = Vec::new();
    for steps in 0..=i32::from(asked.steps).abs() {
        let step = steps * i32::from(asked.steps).signum();
        let place = usize::try_from(step.rem_euclid(7)).unwrap_or(0);
        let chord = chord_on(*scale, place, size.numbers().iter().copied());
        let stack = Stack::new(&chord.ok_or(MaterialError::NoThirds { scale: *scale })?);
        for member in
            (0..count).filter(|member| asked.inversion.is_none_or(|asked| usize::from(asked) == *member))
        {
            let layer: Vec<Choice> = choices(asked, &stack, member, &sets, step).collect();
            if layer.is_empty() {
                return Err(no_room(asked, &stack, member, &strings));
            }
            layers.push((stack.clone(), layer));
        }
    }
    let (stacks, layers): (Vec<Stack>, Vec<Vec<Choice>>) = layers.into_iter().unzip();
    // A joint is always possible.
    let path = cheapest(&layers, alone, |from, to| Some(joint(from, to))).unwrap_or_default();
    let mut maker = Maker::new(setup)?;
    let mut before: Option<&Choice> = None;
    for ((stack, layer), at) in stacks.iter().zip(&layers).zip(path) {
        let choice = &layer[at];
        let octaves = before.map_or(0, |before| jump(before, choice));
        if octaves != 0 {
            let place = maker.place()?;
            maker.remark(Remark::Folded(Folded { place, octaves }));
        }
        maker.chord(&ChordSymbol::Chord(stack.chord.clone()));
        let notes: Vec<_> = choice.notes.iter().copied().zip(choice.placing.iter().copied()).collect();
        let mut notes = asked.order.of(&notes)?;
        if asked.direction == Way::Down {
            notes.reverse();
        }
        for (pitch, (string, _)) in notes {
            maker.note(pitch, Pin { string: Some(string), ..Pin::default() })?;
        }
        maker.rest_to_beat()?;
        before = Some(choice);
    }
    maker.made()
}

/// The sets of strings that an arpeggio may be played on.
fn string_sets<'a>(asked: &Arpeggios, strings: &'a [StringNo], count: usize) -> Result<Vec<&'a [StringNo]>> {
    if !asked.one_per_string {
        return Ok(vec![strings]);
    }
    if strings.len() < count {
        let neck = asked.setup.heading.neck.strings();
        let last = strings.last().map_or(1, |string| string.0);
        let most = u8::try_from(count).unwrap_or(u8::MAX);
        let last = last.min((neck + 1).saturating_sub(most)).max(1);
        return Err(MaterialError::FewStrings {
            chord: asked.size.spoken().into(),
            count,
            strings: placing::set(strings),
            example: (last..last.saturating_add(most)).map(StringNo).collect(),
        });
    }
    Ok(strings.windows(count).collect())
}

fn choices<'a>(
    asked: &'a Arpeggios,
    stack: &'a Stack,
    member: usize,
    sets: &'a [&[StringNo]],
    step: i32,
) -> impl Iterator<Item = Choice> + 'a {
    stack.rising(member, stack.names.len()).flat_map(move |notes| {
        let each = sets.iter().flat_map(|set| placings(&asked.setup, set, &notes, asked.one_per_string));
        let choice = |placing| Choice { notes: notes.clone(), placing, step, member };
        each.map(choice).collect::<Vec<_>>()
    })
}

fn alone(choice: &Choice) -> Cost {
    Cost([span(&choice.placing).into(), 0, 0])
}

fn joint(from: &Choice, to: &Choice) -> Cost {
    let shift = lowest(&from.placing).abs_diff(lowest(&to.placing));
    Cost([0, jump(from, to).unsigned_abs(), shift])
}

/// By how many octaves an arpeggio is from where the one before leads: to the next tone up, or down where the steps go down. From the last inversion
/// of one step to the first one of the next, it leads to the nearest tone.
fn jump(from: &Choice, to: &Choice) -> i32 {
    let moved = half_steps(from.notes[0], to.notes[0]);
    let leads = match (to.step - from.step, to.member < from.member) {
        (0, _) | (1, false) => moved.rem_euclid(12),
        (-1, false) => -(-moved).rem_euclid(12),
        _ => (moved + 5).rem_euclid(12) - 5,
    };
    (moved - leads) / 12
}

fn no_room(asked: &Arpeggios, stack: &Stack, member: usize, strings: &[StringNo]) -> MaterialError {
    let shape = match member {
        0 => format!("{} in root position", stack.chord),
        _ => format!("{} in inversion {member}", stack.chord),
    };
    super::placing::no_room(&asked.setup, shape, stack.rising(member, stack.names.len()), strings)
}

#[cfg(test)]
mod tests {
    use super::super::proof::{least, of};
    use super::*;

    #[test]
    fn no_placing_is_cheaper() {
        let mut asked = Arpeggios::new("Eb major".parse().unwrap());
        (asked.size, asked.setup.region.strings) = (ChordSize::Sevenths, Some("4-2".parse().unwrap()));
        let strings = some_strings(&asked.setup).unwrap();
        let layer = |step: usize, member: usize| -> Vec<Choice> {
            let stack = Stack::new(&chord_on(asked.scale, step, [1, 3, 5, 7]).unwrap());
            choices(&asked, &stack, member, &[&strings], i32::try_from(step).unwrap()).collect()
        };
        for member in 0..4 {
            let layers: Vec<_> = (0..4).map(|step| layer(step, member)).collect();
            let joint = |from: &Choice, to: &Choice| Some(joint(from, to));
            let path = cheapest(&layers, alone, joint).unwrap();
            assert_eq!(Some(of(&layers, &path, &alone, &joint)), least(&layers, &alone, &joint, None));
            // Each spans the fewest frets of all its placings.
            for (layer, at) in layers.iter().zip(path) {
                assert_eq!(
                    Some(span(&layer[at].placing)),
                    layer.iter().map(|choice| span(&choice.placing)).min()
                );
            }
        }
    }
}
