//! Voicings over a progression, note by note.

use crate::chord::Chord;
use crate::harmony::{POSITIONS, Position};
use crate::meter::Meter;
use crate::pitch::Pitch;
use crate::technique::Pin;
use crate::time::{Duration, Onset};

use super::error::{MaterialError, Result};
use super::made::{Made, Maker, next_beat};
use super::order::NoteOrder;
use super::path::cheapest;
use super::placing::{Placing, middle, no_room, placings, some_strings, span};
use super::progression::{Progression, Timed};
use super::remark::Remark;
use super::setup::Setup;
use super::stack::{Stack, half_steps, key, left_out};
use super::weights::{self, Cost};

/// Voicings to make: the chords of a progression in one position.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Voicing {
    /// Bars, neck and region.
    pub setup: Setup,
    /// The chords.
    pub chords: Progression,
    /// The position.
    pub position: Position,
    /// The number of the degree that is lowest: one that the chord has, such as 1, 3, 5 or 7. `None` for whichever is nearest to the voicing before.
    pub lowest: Option<u8>,
    /// The order of the notes.
    pub order: NoteOrder,
}

impl Voicing {
    /// Drop-two voicings, from the lowest note up, in 4/4 and in the key that the chords suggest.
    pub fn new(chords: Progression) -> Voicing {
        let setup = Setup::new(Meter::COMMON, chords.key());
        Voicing { setup, chords, position: Position::DropTwo, lowest: None, order: NoteOrder::default() }
    }
}

/// A voicing on the neck.
#[derive(Clone)]
struct Choice {
    /// From the lowest up.
    notes: Vec<Pitch>,
    placing: Placing,
    /// Which of the chords it is for.
    chord: usize,
    cost: Cost,
}

/// Plays the chords of a progression as voicings, a string for each note, in eighths and each from a beat on, as often as there is room for.
///
/// The voicings are chosen so that all their notes together move by the fewest half steps, with an extra cost for stretches wider than a hand. While a chord
/// lasts, its voicings climb.
///
/// ```
/// use halfbar_core::harmony;
/// use halfbar_core::material::{self, Voicing};
///
/// let made = material::voicing(&Voicing::new("Cm7:4".parse()?))?;
/// let said: Vec<_> = harmony::names(&made.line).drawn().map(|name| name.to_string()).collect();
/// assert!(said.iter().all(|name| name.starts_with("Cm7 drop two")), "{said:?}");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// - [`MaterialError::Unfilled`] if the chords don't fill bars; [`MaterialError::Short`] for a chord that is shorter than its notes.
/// - [`MaterialError::Position`] for a position that takes another number of notes; [`MaterialError::Lowest`] for a note that can't be the lowest.
/// - [`MaterialError::NoRoom`] for a chord that is nowhere on the strings.
pub fn voicing(asked: &Voicing) -> Result<Made> {
    let setup = &asked.setup;
    let mut maker = Maker::new(setup)?;
    let timed = asked.chords.timed(setup)?;
    for chord in &timed {
        remarks_on(setup, chord)?.into_iter().for_each(|remark| maker.remark(remark));
    }
    let (starts, layers): (Vec<Onset>, Vec<Vec<Choice>>) = layers(asked, &timed)?.into_iter().unzip();
    // A joint is always possible.
    let path = cheapest(&layers, |choice| choice.cost, |from, to| Some(joint(from, to))).unwrap_or_default();
    let mut made = layers.iter().zip(starts).zip(path).peekable();
    for chord in &timed {
        maker.rest_to(chord.start)?;
        maker.chord(chord.symbol);
        while let Some(((layer, start), at)) = made.next_if(|((_, start), _)| *start < chord.end) {
            maker.rest_to(start)?;
            let choice = &layer[at];
            let notes: Vec<_> = choice.notes.iter().copied().zip(choice.placing.iter().copied()).collect();
            for (pitch, (string, _)) in asked.order.of(&notes)? {
                maker.note(pitch, Pin { string: Some(string), ..Pin::default() })?;
            }
        }
        maker.rest_to(chord.end)?;
    }
    maker.made()
}

/// What is different over a chord than asked.
fn remarks_on(setup: &Setup, chord: &Timed<'_>) -> Result<Vec<Remark>> {
    let place = setup.bars.place(chord.start)?;
    let Some(own) = chord.symbol.chord() else { return Ok(vec![Remark::Silent { place }]) };
    let (stack, degrees) = Stack::own(own)?;
    Ok(left_out(place, own, &stack, degrees))
}

/// When each voicing starts, and what it may be.
fn layers(asked: &Voicing, timed: &[Timed<'_>]) -> Result<Vec<(Onset, Vec<Choice>)>> {
    let setup = &asked.setup;
    let (strings, middle) = (some_strings(setup)?, middle(setup));
    let mut layers = Vec::new();
    for (index, chord) in timed.iter().enumerate() {
        let Some(own) = chord.symbol.chord() else { continue };
        let (stack, _) = Stack::own(own)?;
        let shapes = shapes(asked, own, &stack)?;
        let count = shapes.first().map_or(0, |(_, steps)| steps.len() + 1);
        let voicings = || {
            let each = shapes.iter();
            each.flat_map(|(member, steps)| stack.by_steps(*member, steps.iter().copied()))
        };
        let starts = starts_of(setup, chord, count)?;
        let placed = |notes: Vec<Pitch>| {
            let placings = placings(setup, &strings, &notes, true).into_iter();
            placings.map(move |placing| Choice::new(middle, notes.clone(), placing, index))
        };
        let layer: Vec<Choice> = voicings().flat_map(placed).collect();
        if layer.is_empty() {
            let shape = format!("{} {}", stack.chord, asked.position.says());
            return Err(no_room(setup, shape, voicings(), &strings));
        }
        layers.extend(starts.into_iter().map(|start| (start, layer.clone())));
    }
    Ok(layers)
}

/// The lowest members that a chord may have in a position, with the steps from member to member above them.
fn shapes(asked: &Voicing, own: &Chord, stack: &Stack) -> Result<Vec<(usize, Vec<usize>)>> {
    let (symbol, position, has) = (own.to_string(), spoken(asked.position), stack.names.len());
    let mut takes = 0;
    let mut shapes = Vec::new();
    let numbers: Vec<u8> = stack.chord.tones().map(|(degree, _)| degree.number()).collect();
    for (_, steps, size, from_root) in POSITIONS.iter().filter(|(position, ..)| *position == asked.position) {
        takes = *size;
        let members = if *from_root { 1 } else { has };
        let is_asked =
            |member: &usize| asked.lowest.is_none_or(|number| numbers.get(*member) == Some(&number));
        let steps: Vec<usize> = steps.iter().filter_map(|step| usize::try_from(*step).ok()).collect();
        shapes.extend((0..members).filter(is_asked).map(|member| (member, steps.clone())));
    }
    if takes != has {
        let help = match has {
            3 => format!(
                "write a chord with a sixth or a seventh, such as `{}6`, or ask for a spread triad",
                own.root()
            ),
            _ => format!("write a triad, such as `{}`, or ask for another position", own.root()),
        };
        return Err(MaterialError::Position { symbol, has, position, takes, help });
    }
    match asked.lowest.filter(|_| shapes.is_empty()) {
        Some(number) if asked.position == Position::Shell => {
            Err(MaterialError::Lowest { symbol, number, position, help: "its root is always lowest".into() })
        }
        Some(number) => {
            let numbers = crate::naming::all_of(numbers);
            Err(MaterialError::Lowest { symbol, number, position, help: format!("it has {numbers}") })
        }
        None => Ok(shapes),
    }
}

/// A position with its article.
fn spoken(position: Position) -> &'static str {
    match position {
        Position::Shell => "a shell voicing",
        Position::DropTwo => "a drop-two voicing",
        Position::DropThree => "a drop-three voicing",
        Position::DropTwoAndFour => "a drop-two-and-four voicing",
        Position::Spread => "a spread triad",
    }
}

/// When the voicings of a chord start.
fn starts_of(setup: &Setup, chord: &Timed<'_>, count: usize) -> Result<Vec<Onset>> {
    let needs = Duration::EIGHTH.checked_mul(i64::try_from(count).unwrap_or(0))?;
    let mut starts = Vec::new();
    let mut start = chord.start;
    loop {
        let end = start.checked_add(needs)?;
        if end > chord.end {
            break;
        }
        starts.push(start);
        start = next_beat(setup, end)?;
    }
    match starts.is_empty() {
        true => Err(MaterialError::Short { symbol: chord.symbol.to_string(), count, needs }),
        false => Ok(starts),
    }
}

impl Choice {
    fn new(middle: i32, notes: Vec<Pitch>, placing: Placing, chord: usize) -> Choice {
        let span = span(&placing);
        let height = notes.iter().map(|note| 2 * key(*note)).sum::<i32>();
        let middle = middle * i32::try_from(notes.len()).unwrap_or(0);
        let stretch = weights::STRETCH * u32::from(span.saturating_sub(weights::HAND));
        Choice { cost: Cost([stretch, span.into(), height.abs_diff(middle)]), notes, placing, chord }
    }
}

/// How far a voicing is from the one before.
fn joint(from: &Choice, to: &Choice) -> Cost {
    let moves = from.notes.iter().zip(&to.notes);
    let moved: u32 = moves.map(|(a, b)| half_steps(*a, *b).unsigned_abs()).sum();
    let again = match from.notes.first().zip(to.notes.first()) {
        Some((a, b)) if from.chord == to.chord && moved == 0 && a == b => weights::REPEATED,
        Some((a, b)) if from.chord == to.chord && half_steps(*a, *b) <= 0 => weights::BACK,
        _ => 0,
    };
    Cost([moved + again, 0, 0])
}

#[cfg(test)]
mod tests {
    use super::super::proof::{least, of};
    use super::*;

    #[test]
    fn no_voicings_are_nearer() {
        for (chords, position) in [
            ("Cm7:4", Position::DropTwo),
            ("Dm7:2 G7:2 Cmaj7:2 A7:2", Position::Shell),
            ("Fm7:2 Bb7:2 Ebmaj7:2 Cm7:2", Position::DropThree),
            ("C:2 F:2 G:2 C:2", Position::Spread),
        ] {
            let mut asked = Voicing::new(chords.parse().unwrap());
            (asked.position, asked.setup.region.strings) = (position, Some("5-2".parse().unwrap()));
            if position == Position::DropThree {
                asked.setup.region.strings = Some("6,4-2".parse().unwrap());
            }
            let timed = asked.chords.timed(&asked.setup).unwrap();
            let layers: Vec<Vec<Choice>> =
                layers(&asked, &timed).unwrap().into_iter().map(|(_, layer)| layer).collect();
            let alone = |choice: &Choice| choice.cost;
            let joint = |from: &Choice, to: &Choice| Some(joint(from, to));
            let path = cheapest(&layers, alone, joint).unwrap();
            assert_eq!(
                Some(of(&layers, &path, &alone, &joint)),
                least(&layers, &alone, &joint, None),
                "{chords}"
            );
        }
    }
}
