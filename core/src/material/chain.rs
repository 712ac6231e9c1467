//! Arpeggios over a progression, each joined to the next.

use std::str::FromStr;

use crate::bars::Place;
use crate::chord::{Chord, ChordSymbol, Degree, Quality};
use crate::drill::Region;
use crate::harmony::{chord_on, scales};
use crate::key::Key;
use crate::naming::{by_name, quoted};
use crate::pitch::Pitch;
use crate::technique::Pin;
use crate::time::{Duration, Onset};

use super::error::{MaterialError, Result};
use super::made::{Made, Maker};
use super::over::{guides, is_avoided, is_within_a_scale};
use super::path::{Stuck, cheapest};
use super::placing::{has, middle, some_strings};
use super::progression::{Progression, Timed};
use super::remark::Remark;
use super::setup::Setup;
use super::stack::{Stack, half_steps, key, left_out};
use super::way::Way;
use super::weights::{self, Cost};

/// A chain to make: shapes over the chords of a progression.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Chain {
    /// Bars, neck and region.
    pub setup: Setup,
    /// The chords.
    pub chords: Progression,
    /// Which shapes the chords get.
    pub shapes: Shapes,
    /// The inversion of each shape; 0 is root position. `None` for whichever joins best.
    pub inversion: Option<u8>,
    /// The direction of each shape; `None` for whichever joins best.
    pub direction: Option<Way>,
    /// How many notes each chord gets before it rests; as many as it has room for by default.
    pub notes: Option<u8>,
    /// How far a joint may leap.
    pub leap: Leap,
}

/// Which shapes chords get.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum Shapes {
    /// Each chord its own.
    #[default]
    Own,
    /// The sevenths on all steps of the chord's scale.
    Scale,
    /// Those of a list that have only tones of the chord's scales.
    Listed(Vec<Upper>),
}

/// A shape on a degree of whatever chord it is over: `b3 maj7`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Upper {
    /// The degree that its root is.
    pub on: Degree,
    /// Its quality.
    pub quality: Quality,
}

/// How far the first note of a shape may be from the last note before it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
#[allow(missing_docs)]
pub enum Leap {
    Step,
    #[default]
    Third,
    Fourth,
    Fifth,
    Octave,
}

impl Leap {
    /// Every one, the smallest first.
    pub const ALL: [Leap; 5] = [Leap::Step, Leap::Third, Leap::Fourth, Leap::Fifth, Leap::Octave];

    /// Its name.
    pub fn name(self) -> &'static str {
        ["step", "third", "fourth", "fifth", "octave"][self as usize]
    }

    /// With an article.
    fn spoken(self) -> &'static str {
        ["a step", "a third", "a fourth", "a fifth", "an octave"][self as usize]
    }

    /// The most half steps.
    fn half_steps(self) -> i32 {
        [2, 4, 5, 7, 12][self as usize]
    }
}

by_name!(Leap, "a leap");

impl Chain {
    /// Each chord's own shape, joined by thirds at most, in 4/4 and in the key that the chords suggest.
    pub fn new(chords: Progression) -> Chain {
        let setup = Setup::new(crate::meter::Meter::COMMON, chords.key());
        let (shapes, leap) = (Shapes::Own, Leap::Third);
        Chain { setup, chords, shapes, inversion: None, direction: None, notes: None, leap }
    }
}

/// Chains shapes over a progression, in eighths.
///
/// A chord's time is cut at bar lines, and then into shapes of four notes; what is left over makes the last one longer, through the next octave. The
/// joints decide which inversions, directions and octaves are taken: a half step is best, then a whole step, the same note, a third, a fourth; a
/// leap that goes on in the direction of the shape is dearer (common practice, no source). Of all ways to chain the shapes, it is the cheapest. Where
/// joints are equal, it stays near the middle of the region.
///
/// ```
/// use halfbar_core::material::{self, Chain};
/// use halfbar_core::{harmony, write};
///
/// let made = material::chain(&Chain::new("Fm7:2 Bb7alt:2 Ebmaj7:4".parse()?))?;
/// let names = harmony::names(&made.line);
/// let said: Vec<_> = names.drawn().map(|name| name.to_string()).collect();
/// assert!(said[0].starts_with("Fm7 arpeggio"), "{said:?}");
/// let text = write::text::line(&made.line, &Default::default())?;
/// assert!(text.contains("@Bb7alt"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// - [`MaterialError::Unfilled`] if the chords don't fill bars.
/// - [`MaterialError::TwoNotes`], [`MaterialError::Inversion`], [`MaterialError::NoShape`] for a chord without a shape as asked.
/// - [`MaterialError::Nowhere`] if no shape for a chord is in the region, [`MaterialError::NoJoint`] if none starts near enough to the last note. Both
///   say what would help.
pub fn chain(asked: &Chain) -> Result<Made> {
    if asked.notes.is_some_and(|notes| !(1..=64).contains(&notes)) {
        return Err(MaterialError::Notes { notes: asked.notes.unwrap_or(0) });
    }
    some_strings(&asked.setup)?;
    let mut maker = Maker::new(&asked.setup)?;
    let timed = asked.chords.timed(&asked.setup)?;
    let groups = groups(asked, &timed)?;
    let layers = layers(asked, &groups)?;
    let path = match cheapest(&layers, |choice| choice.cost, |from, to| joint(asked.leap, from, to)) {
        Ok(path) => path,
        Err(stuck) => return Err(explained(asked, &groups, &layers, &stuck)),
    };
    let mut groups = groups.iter().zip(&layers).zip(path).peekable();
    for chord in &timed {
        maker.rest_to(chord.start)?;
        maker.chord(chord.symbol);
        let place = maker.place()?;
        if chord.symbol.chord().is_none() {
            maker.remark(Remark::Silent { place });
        }
        let mut first = true;
        while let Some(((group, layer), at)) = groups.next_if(|((group, _), _)| group.start < chord.end) {
            if first {
                group.remarks.iter().for_each(|remark| maker.remark(remark.clone()));
                let all = layer[at].members;
                let notes = group.chord_notes;
                // As few as were asked for are not too few.
                if notes < all && asked.notes.is_none_or(|asked| notes < usize::from(asked)) {
                    maker.remark(Remark::Short { place, symbol: chord.symbol.clone(), notes });
                }
                first = false;
            }
            maker.rest_to(group.start)?;
            for pitch in &layer[at].notes {
                maker.note(*pitch, Pin::default())?;
            }
        }
        maker.rest_to(chord.end)?;
    }
    maker.made()
}

/// A part of a chord's time that gets one shape.
struct Group<'a> {
    symbol: &'a ChordSymbol,
    start: Onset,
    notes: usize,
    /// How many notes the chord gets in all.
    chord_notes: usize,
    stacks: Vec<Stack>,
    remarks: Vec<Remark>,
}

/// A shape for a group.
struct Choice {
    notes: Vec<Pitch>,
    /// How many tones its chord has.
    members: usize,
    cost: Cost,
}

/// The fewest notes of a group that isn't the last one of its bar.
const GROUP: usize = 4;

fn groups<'a>(asked: &Chain, timed: &[Timed<'a>]) -> Result<Vec<Group<'a>>> {
    let bars = &asked.setup.bars;
    let mut groups = Vec::new();
    for chord in timed {
        let Some(own) = chord.symbol.chord() else { continue };
        let (bar, _) = bars.split(chord.start)?;
        let (stacks, remarks) = stacks(asked, own, bars.key(bar), bars.place(chord.start)?)?;
        let mut left = asked.notes.map_or(usize::MAX, usize::from);
        let mut sizes: Vec<(Onset, usize)> = Vec::new();
        let mut start = chord.start;
        while start < chord.end {
            let end = bars.span(bars.split(start)?.0)?.end().min(chord.end);
            let mut notes = eighths(end.checked_since(start)?).min(left);
            left -= notes;
            let mut onset = start;
            while notes > 0 {
                let size = if notes >= 2 * GROUP { GROUP } else { notes };
                sizes.push((onset, size));
                notes -= size;
                onset = onset.checked_add(Duration::EIGHTH.checked_mul(i64::try_from(size).unwrap_or(0))?)?;
            }
            start = end;
        }
        let chord_notes = sizes.iter().map(|(_, size)| size).sum();
        let made = sizes.into_iter().map(|(start, notes)| {
            let (stacks, remarks) = (stacks.clone(), remarks.clone());
            Group { symbol: chord.symbol, start, notes, chord_notes, stacks, remarks }
        });
        groups.extend(made);
    }
    Ok(groups)
}

/// How many eighths fit into a length.
fn eighths(length: Duration) -> usize {
    let whole = 2 * length.numer() / length.denom().max(1);
    usize::try_from(whole).unwrap_or(0)
}

/// The shapes that a chord may get at a place, and what is to be said about them.
fn stacks(asked: &Chain, chord: &Chord, in_key: Key, place: Place) -> Result<(Vec<Stack>, Vec<Remark>)> {
    let symbol = ChordSymbol::Chord(chord.clone());
    let own = || -> Result<(Vec<Stack>, Vec<Remark>)> {
        let (stack, degrees) = Stack::own(chord)?;
        let remarks = left_out(place, chord, &stack, degrees);
        Ok((vec![stack], remarks))
    };
    let (stacks, remarks) = match &asked.shapes {
        Shapes::Own => own()?,
        Shapes::Scale => {
            let mut scales = scales(chord, in_key).into_iter();
            let scale = scales.find(|scale| scale.degrees().count() == 7);
            let on = |step: usize| Some(Stack::new(&chord_on(scale?, step, [1, 3, 5, 7])?));
            let stacks: Vec<Stack> = (0..7).filter_map(on).collect();
            if stacks.is_empty() {
                let (stacks, mut remarks) = own()?;
                remarks.push(Remark::OwnShape { place, symbol: symbol.clone() });
                (stacks, remarks)
            } else {
                (stacks, Vec::new())
            }
        }
        Shapes::Listed(all) => {
            let stack = |upper: &Upper| {
                let root = chord.root().transposed(upper.on.interval());
                Stack::new(&Chord::new(root, upper.quality, None))
            };
            let is_right = |stack: &Stack| is_within_a_scale(chord, stack.tones()) && stack.names.len() >= 3;
            let stacks: Vec<Stack> = all.iter().map(stack).filter(is_right).collect();
            if stacks.is_empty() {
                let quality = Stack::own(chord)?.0.chord.suffix().to_string();
                return Err(MaterialError::NoShape { symbol: symbol.to_string(), quality });
            }
            (stacks, Vec::new())
        }
    };
    if let Some(inversion) = asked.inversion
        && let Some(stack) = stacks.iter().find(|stack| usize::from(inversion) >= stack.names.len())
    {
        let (chord, highest) = (format!("`{}`", stack.chord), stack.names.len() - 1);
        return Err(MaterialError::Inversion { inversion, chord, highest });
    }
    Ok((stacks, remarks))
}

/// What each group may get.
fn layers(asked: &Chain, groups: &[Group<'_>]) -> Result<Vec<Vec<Choice>>> {
    let middle = middle(&asked.setup);
    let layer = |group: &Group<'_>| {
        let mut choices = Vec::new();
        for stack in &group.stacks {
            let members = stack.names.len();
            let own = shape_cost(group.symbol, stack);
            for member in (0..members)
                .filter(|member| asked.inversion.is_none_or(|asked| usize::from(asked) == *member))
            {
                for rising in stack.rising(member, group.notes) {
                    if !rising.iter().all(|pitch| has(&asked.setup, *pitch)) {
                        continue;
                    }
                    let ends = rising.first().zip(rising.last());
                    let height = ends.map_or(0, |(low, high)| key(*low) + key(*high));
                    let cost = Cost([own, height.abs_diff(middle), 0]);
                    for way in
                        Way::ALL.into_iter().filter(|way| asked.direction.is_none_or(|asked| asked == *way))
                    {
                        let mut notes = rising.clone();
                        if way == Way::Down {
                            notes.reverse();
                        }
                        choices.push(Choice { notes, members, cost });
                    }
                }
            }
        }
        choices
    };
    let layers: Vec<Vec<Choice>> = groups.iter().map(layer).collect();
    let empty = layers.iter().zip(groups).find(|(layer, _)| layer.is_empty());
    match empty {
        Some((_, group)) => {
            let help = "allow more strings or higher frets, or give the chord fewer notes".into();
            Err(MaterialError::nowhere(group.symbol.to_string(), &asked.setup.region, help))
        }
        None => Ok(layers),
    }
}

/// How well a shape suits a chord.
fn shape_cost(symbol: &ChordSymbol, stack: &Stack) -> u32 {
    let Some(chord) = symbol.chord() else { return 0 };
    let avoided = stack.names.iter().filter(|name| is_avoided(**name, chord)).count();
    let avoided = u32::try_from(avoided).unwrap_or(0);
    weights::GUIDES[guides(chord, stack.tones()).min(2)] + weights::AVOIDED * avoided
}

/// What it costs to go from one shape to the next.
fn joint(leap: Leap, from: &Choice, to: &Choice) -> Option<Cost> {
    let (last, first) = (from.notes.last()?, to.notes.first()?);
    let half_steps = half_steps(*last, *first);
    if half_steps.abs() > leap.half_steps() {
        return None;
    }
    let way = from.notes.first().map_or(0, |first| key(*last) - key(*first)).signum();
    let size = half_steps.unsigned_abs();
    let onward = if size >= weights::A_LEAP && half_steps.signum() == way { weights::ONWARD } else { 0 };
    let cost = *weights::JOINTS.get(usize::try_from(size).ok()?)?;
    Some(Cost([cost + onward, 0, 0]))
}

/// The error for a group that no shape can join, with what would help.
fn explained(asked: &Chain, groups: &[Group<'_>], layers: &[Vec<Choice>], stuck: &Stuck) -> MaterialError {
    let group = &groups[stuck.layer];
    let (symbol, help) = (group.symbol.to_string(), help(asked, groups));
    let before = stuck.before.and_then(|at| layers.get(stuck.layer.checked_sub(1)?)?.get(at)?.notes.last());
    match (asked.setup.bars.place(group.start), before) {
        (Err(error), _) => error.into(),
        (Ok(place), Some(from)) => {
            MaterialError::NoJoint { place, symbol, leap: asked.leap.spoken(), from: *from, help }
        }
        (Ok(_), None) => MaterialError::nowhere(symbol, &asked.setup.region, help),
    }
}

/// What could be asked for instead: the smallest leap that is enough, or one of the things that are narrowed down; or two of these together.
fn help(asked: &Chain, groups: &[Group<'_>]) -> String {
    let works = |other: &Chain| {
        layers(other, groups).is_ok_and(|layers| {
            cheapest(&layers, |choice| choice.cost, |from, to| joint(other.leap, from, to)).is_ok()
        })
    };
    let leap_of = |other: &Chain| {
        let mut wider = Leap::ALL.into_iter().filter(|leap| *leap > asked.leap);
        wider.find(|leap| works(&Chain { leap: *leap, ..other.clone() })).map(Leap::spoken)
    };
    let Setup { region, heading, .. } = &asked.setup;
    let on_all = Setup { region: Region { strings: None, ..*region }, ..asked.setup.clone() };
    let freed = [
        (
            region.strings.is_some(),
            format!("strings {} to 1", heading.neck.strings()),
            Chain { setup: on_all, ..asked.clone() },
        ),
        (asked.inversion.is_some(), "any inversion".into(), Chain { inversion: None, ..asked.clone() }),
        (asked.direction.is_some(), "both directions".into(), Chain { direction: None, ..asked.clone() }),
    ];
    let freed: Vec<(String, Chain)> = freed
        .into_iter()
        .filter(|(is_asked, ..)| *is_asked)
        .map(|(_, words, other)| (words, other))
        .collect();
    let mut help: Vec<String> = leap_of(asked).into_iter().map(String::from).collect();
    help.extend(freed.iter().filter(|(_, other)| works(other)).map(|(words, _)| words.clone()));
    if help.is_empty() {
        let both = freed.iter().find_map(|(words, other)| Some(format!("{} and {words}", leap_of(other)?)));
        help.extend(both);
    }
    match help.is_empty() {
        true => "choose other shapes, more strings or higher frets".into(),
        false => format!("allow {}", help.join(", or ")),
    }
}

impl FromStr for Upper {
    type Err = MaterialError;

    /// Reads a degree and a quality; none for a major triad: `b3 maj7`, `9`. A shape ends with its seventh.
    fn from_str(text: &str) -> Result<Upper> {
        let wrong = || MaterialError::Shape { text: quoted(text) };
        let (on, quality) = text.trim().split_once(' ').unwrap_or((text.trim(), ""));
        let quality: Quality = quality.trim().parse().map_err(|_| wrong())?;
        if quality.degrees().any(|degree| degree.number() > 7) {
            return Err(MaterialError::TallShape { text: quoted(text.trim()) });
        }
        Ok(Upper { on: on.parse().map_err(|_| wrong())?, quality })
    }
}

impl FromStr for Shapes {
    type Err = MaterialError;

    /// Reads `own`, `scale`, or shapes separated by commas: `b3 maj7, b7 m7b5`.
    fn from_str(text: &str) -> Result<Shapes> {
        match text.trim() {
            "own" => Ok(Shapes::Own),
            "scale" => Ok(Shapes::Scale),
            list => list.split(',').map(str::parse).collect::<Result<_>>().map(Shapes::Listed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::path::cheapest;
    use super::super::proof::{least, of};
    use super::*;

    /// The notes of a line that was made, and their costs by trying all ways.
    #[test]
    fn no_chain_is_cheaper() {
        for (chords, shapes, strings) in [
            ("Fm7:2 Bb7alt:2 Ebmaj7:4", "own", None),
            ("Dm7:2 G7:2 Cmaj7:2 A7b9:2", "own", Some("4-2")),
            ("Cm7b5:2 F7alt:2", "scale", Some("4-1")),
            ("G7alt:4 Cm(maj7):4", "b9 m(maj7), b7 m7b5, 1 m(maj7)", None),
            ("C:3/2 F:3/2 G7:1", "own", Some("3-1")),
        ] {
            let mut asked = Chain::new(chords.parse().unwrap());
            asked.shapes = shapes.parse().unwrap();
            asked.setup.region.strings = strings.map(|strings| strings.parse().unwrap());
            let timed = asked.chords.timed(&asked.setup).unwrap();
            let layers = layers(&asked, &groups(&asked, &timed).unwrap()).unwrap();
            for leap in Leap::ALL {
                let alone = |choice: &Choice| choice.cost;
                let joint = |from: &Choice, to: &Choice| joint(leap, from, to);
                let found = cheapest(&layers, alone, joint).ok();
                let found = found.map(|path| of(&layers, &path, &alone, &joint));
                assert_eq!(found, least(&layers, &alone, &joint, None), "{chords} {leap}");
            }
        }
    }

    #[test]
    fn joints_cost_what_the_table_says() {
        let choice = |notes: &str| Choice {
            notes: notes.split(' ').map(|note| note.parse().unwrap()).collect(),
            members: 4,
            cost: Cost::default(),
        };
        let up = choice("F3 Ab3 C4 Eb4");
        for (next, cost) in [
            ("D4 F4", Some(0)),
            ("E4 G4", Some(0)),
            ("F4 A4", Some(1)),
            ("Eb4 G4", Some(2)),
            ("C4 E4", Some(3)),
            // On in the direction of the arpeggio.
            ("G4 B4", Some(5)),
            ("Bb3 D4", Some(5)),
            ("Ab4 C5", Some(7)),
            ("A4 C5", None),
        ] {
            let found = joint(Leap::Fourth, &up, &choice(next));
            assert_eq!(found, cost.map(|cost| Cost([cost, 0, 0])), "{next}");
        }
        assert_eq!(joint(Leap::Third, &up, &choice("Bb3 D4")), None);
    }
}
