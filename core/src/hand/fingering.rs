//! The fretting hand: the cheapest way along the neck, by dynamic programming over string, fret and hand position.
//!
//! A hand in position `p` has its index finger at fret `p` and covers four frets, one a finger; the index reaches one fret back and
//! the little finger one fret on. Costs are small whole numbers. Their order is common practice (no source): a shift costs most,
//! then a stretch, a skipped string, a change of string; the height on the neck decides the rest.

use crate::bars::Bars;
use crate::error::{Error, Result};
use crate::line::{Event, Join};
use crate::recast::Timed;
use crate::time::Duration;
use crate::tuning::{Fret, StringNo, Tuning};

use super::{Finger, Fretting};

type Cost = u32;

/// Moving the hand at all: the eye and the thumb have to follow.
const SHIFT: Cost = 24;
/// For each fret that it moves.
const SHIFT_BY_FRET: Cost = 4;
/// A long note or a rest before gives time to move: the cost of a shift is divided by this.
const SHIFT_WITH_TIME: Cost = 2;
/// A note this long gives time to move.
const TIME_TO_SHIFT: Duration = Duration::QUARTER;
/// Leaving four frets to four fingers: dearer than skipping a string, cheaper than a shift.
const STRETCH: Cost = 10;
/// For each millimetre that a hand over five frets is spread beyond `RELAXED`.
const STRETCH_BY_MM: f64 = 0.25;
/// The span of a hand at rest over five frets, in mm.
const RELAXED: f64 = 60.0;
/// The length of an open string in mm: 25.5 inches, a usual scale.
const SCALE_LENGTH: f64 = 648.0;
/// Going to a neighbouring string.
const STRING_CHANGE: Cost = 2;
/// For each string that is skipped.
const STRING_SKIP: Cost = 5;
/// The same finger for two notes at different frets.
const SAME_FINGER: Cost = 12;
/// The same finger laid over two strings at one fret.
const ROLL: Cost = 4;
/// An open string in a swung line rings on and sounds different.
const OPEN: Cost = 18;
/// A hammer, a pull or a slide from one string to another can't be played as written.
const JOINED_APART: Cost = 200;
/// Where frets are neither wide nor cramped: a note outside costs this for each fret that it lies away.
const EASY_FRETS: (u8, u8) = (3, 12);
const HEIGHT: Cost = 1;
/// The body of the guitar is in the way from this fret on, and each fret above it costs more.
const HIGH: u8 = 15;
const HIGHER: Cost = 3;
/// The highest position; beyond it the body is in the way.
const HIGHEST_POSITION: u8 = 19;

/// The fretting of every event of the line with the lowest total [`cost`]; rests have none.
pub(super) fn finger(timed: &Timed, tuning: &Tuning) -> Result<Vec<Option<Fretting>>> {
    let mut layers: Vec<Layer> = Vec::new();
    let mut before: Option<usize> = None;
    for (index, event) in timed.events.iter().enumerate() {
        if event.pitch.is_none() {
            continue;
        }
        let frettings = candidates(event, tuning, &timed.bars)?;
        let way = before.map_or(Way::default(), |before| Way::between(&timed.events[before..=index]));
        let states = frettings.iter().map(|&fretting| {
            let own = alone(fretting);
            match layers.last() {
                None => (own, 0),
                Some(layer) => {
                    let states = layer.states.iter().zip(&layer.frettings).zip(0..);
                    let costs = states
                        .map(|(((cost, _), &from), index)| (cost + between(from, fretting, way), index));
                    // The first of equals, so that the same line always gets the same plan.
                    let (cost, index) = costs.min_by_key(|(cost, _)| *cost).unwrap_or((0, 0));
                    (cost + own, index)
                }
            }
        });
        let states = states.collect();
        layers.push(Layer { event: index, frettings, states });
        before = Some(index);
    }
    Ok(trace(&layers, timed.events.len()))
}

/// The ways to play one note.
struct Layer {
    event: usize,
    frettings: Vec<Fretting>,
    /// For each: the lowest cost up to it, and which of the layer before it comes from.
    states: Vec<(Cost, usize)>,
}

fn trace(layers: &[Layer], events: usize) -> Vec<Option<Fretting>> {
    let mut plan = vec![None; events];
    let Some(last) = layers.last() else { return plan };
    let best = last.states.iter().zip(0..).min_by_key(|((cost, _), _)| *cost);
    let mut state = best.map_or(0, |(_, index)| index);
    for layer in layers.iter().rev() {
        plan[layer.event] = Some(layer.frettings[state]);
        state = layer.states[state].1;
    }
    plan
}

/// Every way to play a note: string, fret, finger and position.
fn candidates(event: &Event, tuning: &Tuning, bars: &Bars) -> Result<Vec<Fretting>> {
    let Some(pitch) = event.pitch else { return Ok(Vec::new()) };
    let places: Vec<_> = pitch.midi().map(|key| tuning.places(key).collect()).unwrap_or_default();
    if places.is_empty() {
        let (lowest, highest) = tuning.range();
        return Err(Error::OffNeck { place: bars.place(event.onset)?, pitch, lowest, highest });
    }
    let pinned = |&(string, fret): &(StringNo, Fret)| {
        event.pin.is_none_or(|pin| pin.string == string && pin.fret.is_none_or(|wanted| wanted == fret))
    };
    let frettings: Vec<_> =
        places.iter().copied().filter(pinned).flat_map(|(string, fret)| at(string, fret)).collect();
    match event.pin {
        Some(pin) if frettings.is_empty() => {
            Err(Error::Pin { place: bars.place(event.onset)?, pitch, string: pin.string, fret: pin.fret })
        }
        _ => Ok(frettings),
    }
}

/// The fingers and positions for one place on the neck.
fn at(string: StringNo, fret: Fret) -> impl Iterator<Item = Fretting> {
    // From the natural reach outwards: fingers 1 to 4 at their frets, then the two stretches.
    let reaches: [(i16, u8); 6] = [(0, 1), (1, 2), (2, 3), (3, 4), (-1, 1), (4, 4)];
    let open = fret.0 == 0;
    let fretted = reaches.into_iter().filter_map(move |(reach, finger)| {
        let position = u8::try_from(i16::from(fret.0) - reach).ok()?;
        let playable = !open && (1..=HIGHEST_POSITION).contains(&position);
        playable.then_some(Fretting { string, fret, finger: Finger(finger), position })
    });
    let opened =
        (1..=HIGHEST_POSITION).map(move |position| Fretting { string, fret, finger: Finger(0), position });
    fretted.chain(opened.filter(move |_| open))
}

/// What lies between two notes.
#[derive(Clone, Copy, Default)]
struct Way {
    /// There is time to move the hand.
    unhurried: bool,
    /// The first leads into the second.
    join: Option<Join>,
}

impl Way {
    /// From the first of these events to the last, with rests between.
    fn between(events: &[Event]) -> Way {
        let [first, rests @ .., _] = events else { return Way::default() };
        Way { unhurried: !rests.is_empty() || first.duration >= TIME_TO_SHIFT, join: first.join }
    }
}

/// What a note costs by itself.
fn alone(fretting: Fretting) -> Cost {
    let fret = fretting.fret.0;
    let away = EASY_FRETS.0.saturating_sub(fret) + fret.saturating_sub(EASY_FRETS.1);
    let height = HEIGHT * Cost::from(away) + HIGHER * Cost::from(fret.saturating_sub(HIGH));
    match fretting.finger.0 {
        0 => OPEN,
        _ => height + stretch(fretting),
    }
}

/// What spreading the hand costs: in mm, so the same frets cost less up the neck.
fn stretch(Fretting { fret, position, .. }: Fretting) -> Cost {
    let reach = i16::from(fret.0) - i16::from(position);
    if (0..=3).contains(&reach) {
        return 0;
    }
    // Twelve frets halve the string: equal temperament.
    let nut_to = |fret: u8| SCALE_LENGTH * (1.0 - (-f64::from(fret) / 12.0).exp2());
    let spread =
        if reach < 0 { nut_to(position + 3) - nut_to(fret.0) } else { nut_to(fret.0) - nut_to(position) };
    let cost = ((spread - RELAXED).max(0.0) * STRETCH_BY_MM).round();
    // Between 0 and a few dozen: a neck is 648 mm long.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let cost = cost as Cost;
    STRETCH + cost
}

/// What it costs to go from one note to the next.
fn between(from: Fretting, to: Fretting, way: Way) -> Cost {
    let frets = Cost::from(from.position.abs_diff(to.position));
    let open = from.finger.0 == 0 || to.finger.0 == 0;
    let shift = match frets {
        0 => 0,
        // A slide is the shift.
        _ if way.join == Some(Join::Slide) && from.string == to.string => frets,
        _ if way.unhurried || open => (SHIFT + frets * SHIFT_BY_FRET) / SHIFT_WITH_TIME,
        _ => SHIFT + frets * SHIFT_BY_FRET,
    };
    let strings = Cost::from(from.string.0.abs_diff(to.string.0));
    let strings_cost = match strings {
        0 => 0,
        n => STRING_CHANGE + (n - 1) * STRING_SKIP,
    };
    let same_finger = from.finger == to.finger && !open && frets == 0;
    let finger = match same_finger {
        true if from.fret != to.fret => SAME_FINGER,
        true if from.string != to.string => ROLL,
        _ => 0,
    };
    let joined = if way.join.is_some() && strings > 0 { JOINED_APART } else { 0 };
    shift + strings_cost + finger + joined
}

/// What a whole fingering costs, one fretting for each note of `events`, none for rests: what [`plan`](super::plan) makes
/// smallest.
pub fn cost(events: &[Event], frettings: &[Option<Fretting>]) -> Cost {
    let mut total = 0;
    let mut before: Option<(usize, Fretting)> = None;
    for (index, fretting) in frettings.iter().enumerate() {
        let Some(fretting) = *fretting else { continue };
        total += alone(fretting);
        if let Some((from, earlier)) = before {
            total += between(earlier, fretting, Way::between(&events[from..=index]));
        }
        before = Some((index, fretting));
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{read, recast};

    fn timed(text: &str) -> Timed {
        let reading = read::text(text);
        assert_eq!(reading.diagnostics, [], "{text}");
        recast::apply(&reading.line.unwrap(), &reading.casting).unwrap()
    }

    /// Every assignment of candidates, by plain enumeration.
    fn cheapest(timed: &Timed) -> Cost {
        let choices: Vec<Vec<Option<Fretting>>> = timed
            .events
            .iter()
            .map(|event| match candidates(event, &Tuning::standard(), &timed.bars).unwrap() {
                none if none.is_empty() => vec![None],
                some => some.into_iter().map(Some).collect(),
            })
            .collect();
        let mut all: Vec<Vec<Option<Fretting>>> = vec![vec![]];
        for choice in &choices {
            all = all
                .iter()
                .flat_map(|one| choice.iter().map(move |&next| [one.as_slice(), &[next]].concat()))
                .collect();
        }
        all.iter().map(|one| cost(&timed.events, one)).min().unwrap()
    }

    #[test]
    fn no_assignment_is_cheaper() {
        for text in [
            "G4 A B r:5/2 |",
            "F3 Ab C r:5/2 |",
            "E2 E4 D5 r:5/2 |",
            "C5:1 F#5 G r:2 |",
            "A3 r:1 E4 D6 r:3/2 |",
            "recast: split-last at 1.1\nC5^2 D E A4^3 r:2 |",
            "F3:1/4 Bb Eb Ab r:9/4 |",
        ] {
            let timed = timed(text);
            let plan = finger(&timed, &Tuning::standard()).unwrap();
            assert_eq!(cost(&timed.events, &plan), cheapest(&timed), "{text}");
        }
    }

    #[test]
    fn the_same_frets_are_nearer_up_the_neck() {
        let stretched = |position| {
            stretch(Fretting { string: StringNo(1), fret: Fret(position + 4), finger: Finger(4), position })
        };
        assert!(stretched(1) > stretched(5) && stretched(5) > stretched(12));
    }

    #[test]
    fn pins_are_obeyed() {
        let timed = timed("C4^5 D^4.12 E F r:2 |");
        let plan = finger(&timed, &Tuning::standard()).unwrap();
        let place = |index: usize| plan[index].map(|f| (f.string.0, f.fret.0)).unwrap();
        assert_eq!(place(0), (5, 15));
        assert_eq!(place(1), (4, 12));
    }

    #[test]
    fn a_major_scale_stays_in_one_position() {
        let timed = timed("G3 A B C D E F# G |");
        let plan = finger(&timed, &Tuning::standard()).unwrap();
        let positions: Vec<_> = plan.iter().flatten().map(|f| f.position).collect();
        assert!(positions.iter().all(|&p| p == positions[0]), "{positions:?}");
    }
}
