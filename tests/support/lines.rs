//! Random lines: every meter, values, tuplets, pickups, changes of meter, pins, and windows wherever they fit.

use halfbar_core::bars::Bars;
use halfbar_core::chord::ChordSymbol;
use halfbar_core::harmony::NameSign;
use halfbar_core::line::{Call, ChordAt, Degrees, Heading, Legato, Line, NoteId, Part, Tempo};
use halfbar_core::meter::Meter;
use halfbar_core::neck::{Finger, Fret, Neck, Stroke};
use halfbar_core::pitch::{Alter, Letter, MidiKey, Pitch, PitchName};
use halfbar_core::recast::Casting;
use halfbar_core::technique::{Constraint, ConstraintSpan, FingeringStyle, Picking, PickingStyle, Pin};
use halfbar_core::time::{Duration, Onset};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use crate::laws::everywhere;

/// Lengths from numerators and denominators.
fn lengths(list: &[(i32, u16)]) -> Vec<Duration> {
    list.iter().map(|&(numer, denom)| Duration::of(numer, denom)).collect()
}

/// Rhythms of half a 4/4 bar, in quarter notes: mostly plain eighths, plus everything else that a line may have.
fn half_bar() -> impl Strategy<Value = Vec<Duration>> {
    prop_oneof![
        8 => Just(lengths(&[(1, 2), (1, 2), (1, 2), (1, 2)])),
        1 => Just(lengths(&[(1, 1), (1, 1)])),
        1 => Just(lengths(&[(2, 1)])),
        1 => Just(lengths(&[(3, 2), (1, 2)])),
        1 => Just(lengths(&[(1, 2), (1, 1), (1, 2)])),
        1 => Just(lengths(&[(3, 4), (1, 4), (1, 4), (3, 4)])),
        1 => Just(lengths(&[(1, 4), (1, 4), (1, 4), (1, 4), (1, 1)])),
        1 => Just(lengths(&[(1, 3), (1, 3), (1, 3), (1, 2), (1, 2)])),
        1 => Just(lengths(&[(2, 3), (2, 3), (2, 3)])),
        1 => Just(lengths(&[(2, 3), (1, 3), (1, 1)])),
        1 => Just(lengths(&[(2, 5), (2, 5), (2, 5), (2, 5), (2, 5)])),
        1 => Just(lengths(&[(1, 2), (3, 2)])),
        1 => Just(lengths(&[(7, 4), (1, 4)])),
    ]
}

/// Rhythms of a quarter note.
fn beat() -> impl Strategy<Value = Vec<Duration>> {
    prop_oneof![
        6 => Just(lengths(&[(1, 2), (1, 2)])),
        1 => Just(lengths(&[(1, 1)])),
        1 => Just(lengths(&[(3, 4), (1, 4)])),
        1 => Just(lengths(&[(1, 4), (1, 2), (1, 4)])),
        1 => Just(lengths(&[(1, 3), (1, 3), (1, 3)])),
    ]
}

/// Rhythms of a dotted quarter note.
fn dotted_beat() -> impl Strategy<Value = Vec<Duration>> {
    prop_oneof![
        6 => Just(lengths(&[(1, 2), (1, 2), (1, 2)])),
        1 => Just(lengths(&[(1, 1), (1, 2)])),
        1 => Just(lengths(&[(1, 2), (1, 1)])),
        1 => Just(lengths(&[(3, 4), (1, 4), (1, 2)])),
        1 => Just(lengths(&[(3, 2)])),
    ]
}

/// Every meter, some with groups of their own.
pub const METERS: [&str; 19] = [
    "4/4",
    "4/4",
    "4/4",
    "4/4",
    "4/4",
    "2/2",
    "3/2",
    "2/4",
    "3/4",
    "5/4",
    "6/4",
    "3/8",
    "5/8",
    "6/8",
    "7/8",
    "8/8",
    "9/8",
    "12/8",
    "4/4 1+1+1+1",
];
/// User-defined groups.
pub const GROUPED: [&str; 6] = ["7/8 3+2+2", "7/8 2+3+2", "5/8 2+3", "3/4 3", "4/4 1+3", "5/4 2+3"];

/// The rhythm of a bar, group by group.
fn bar(meter: Meter) -> BoxedStrategy<Vec<Duration>> {
    let eighths = 8 / usize::from(meter.unit());
    meter
        .groups()
        .flat_map(|group| match usize::from(group) * eighths {
            3 => vec![dotted_beat().boxed()],
            4 => vec![half_bar().boxed()],
            8 => vec![half_bar().boxed(), half_bar().boxed()],
            eighths => vec![beat().boxed(); eighths / 2],
        })
        .collect::<Vec<_>>()
        .prop_map(|cells| cells.concat())
        .boxed()
}

/// One meter per bar, with the rhythm of the bar; most lines keep the same meter.
fn bars() -> impl Strategy<Value = Vec<(Meter, Vec<Duration>)>> {
    let meter = prop::sample::select([METERS.as_slice(), &GROUPED].concat());
    (prop::collection::vec(meter, 6), 1usize..7, prop::bool::weighted(0.2)).prop_flat_map(
        |(meters, count, changes)| {
            let meters: Vec<Meter> = meters.iter().map(|text| text.parse().unwrap()).collect();
            let bars = (0..count).map(|index| meters[if changes { index } else { 0 }]);
            bars.map(|meter| (Just(meter), bar(meter))).collect::<Vec<_>>()
        },
    )
}

/// Makes the end of the first bar a pickup, and removes as much at the end of the line if an event starts there.
fn with_pickup(bars: &mut [(Meter, Vec<Duration>)], events: usize) -> Duration {
    let first = &mut bars[0].1;
    let skip = first.len().saturating_sub(events);
    if skip == 0 {
        return Duration::ZERO;
    }
    let pickup = Duration::sum(first[skip..].iter().copied()).unwrap();
    if !pickup.is_multiple_of(Duration::of(1, 16)) {
        return Duration::ZERO;
    }
    first.drain(..skip);
    if let [_, .., (last, rhythm)] = bars {
        let goal = last.bar().checked_sub(pickup).unwrap();
        let kept = (1..rhythm.len()).find(|&kept| Duration::sum(rhythm[..kept].iter().copied()) == Ok(goal));
        rhythm.truncate(kept.unwrap_or(rhythm.len()));
    }
    pickup
}

/// A sounding pitch on the standard neck, in one of its spellings.
fn pitch() -> impl Strategy<Value = Pitch> {
    (40u8..=86, 0usize..3).prop_map(|(key, choice)| {
        let spellings = Letter::ALL.into_iter().flat_map(|step| {
            (-1..=1).flat_map(move |alter| {
                (1..=7).map(move |octave| Pitch::new(step, Alter::new(alter).unwrap(), octave))
            })
        });
        let same: Vec<_> = spellings.filter(|pitch| pitch.midi() == Some(MidiKey(key))).collect();
        same[choice % same.len()]
    })
}

fn note(pitch: Option<Pitch>, pinned: usize, duration: Duration) -> Part {
    let places = pitch.and_then(Pitch::midi).map(|key| Neck::default().places(key).collect::<Vec<_>>());
    // One note in eight is pinned to one of its places, half of these only to the string; some have a stroke, some a finger.
    let pin = places.filter(|_| pinned.is_multiple_of(8)).map_or_else(Pin::default, |places| {
        let (string, fret) = places[pinned / 8 % places.len()];
        let stroke = [None, Some(Stroke::Down), Some(Stroke::Up)].get(pinned / 16 % 8).copied().flatten();
        Pin {
            string: Some(string),
            fret: pinned.is_multiple_of(16).then_some(Fret(fret.0)),
            finger: (fret.0 > 4 && pinned % 64 == 16).then_some(Finger(2)),
            stroke,
        }
    });
    // One note in ten leads into the next.
    let legato = [None, Some(Legato::Slur), Some(Legato::Slide)].get(pinned % 20).copied().flatten();
    // Sometimes there is a grace note a step below.
    let below = |pitch: Pitch| {
        Pitch::nearest(PitchName { letter: Letter::ALL[pinned % 7], alter: Alter::NATURAL }, pitch)
    };
    let grace = pitch.filter(|_| pinned % 12 == 5).and_then(below);
    let grace =
        grace.filter(|grace| grace.midi().is_some_and(|key| Neck::default().places(key).next().is_some()));
    Part { duration, pitch, pin, legato, grace }
}

/// A line with some notes held across bar lines, and a casting.
pub fn line() -> impl Strategy<Value = (Line, Casting)> {
    let notes = prop::collection::vec((prop::option::weighted(0.9, pitch()), any::<usize>()), 80);
    let held = prop::collection::vec(any::<bool>(), 6);
    let pickup = prop::option::weighted(0.3, 1usize..6);
    (bars(), pickup, held, notes, any::<u64>()).prop_map(|(mut rhythms, pickup, held, notes, choices)| {
        let mut notes = notes.into_iter().cycle();
        let mut parts: Vec<Part> = Vec::new();
        let pickup = pickup.map_or(Duration::ZERO, |events| with_pickup(&mut rhythms, events));
        let mut bars = Bars::new(rhythms[0].0);
        if pickup > Duration::ZERO {
            bars = bars.with_pickup(pickup).unwrap();
        }
        for (index, &(meter, _)) in rhythms.iter().enumerate().skip(1) {
            bars.change(index, meter).unwrap();
        }
        for ((_, bar), held) in rhythms.into_iter().zip(held) {
            for (index, duration) in bar.into_iter().enumerate() {
                match parts.last_mut() {
                    Some(last) if held && index == 0 && last.pitch.is_some() => {
                        last.duration = last.duration.checked_add(duration).unwrap();
                    }
                    _ => {
                        let (pitch, pinned) = notes.next().unwrap();
                        let mut part = note(pitch, pinned, duration);
                        // A note that another one leads into can't be pinned to a different string or have a stroke.
                        if parts.last().is_some_and(|before| before.legato.is_some()) {
                            part.pin = Pin::default();
                        }
                        parts.push(part);
                    }
                }
            }
        }
        let chord = ChordAt { onset: Onset::ZERO, symbol: "Bb7alt/D".parse::<ChordSymbol>().unwrap() };
        let tempo = Tempo::new(200).unwrap();
        let die = |sides: u64, which: u32| usize::try_from((choices >> (5 * which)) % sides).unwrap();
        let first = [None, None, Some(Stroke::Down), Some(Stroke::Up)][die(4, 0)];
        let picking = Picking { strokes: PickingStyle::ALL[die(4, 1)], slurs: die(2, 2) == 1, first };
        let style = FingeringStyle::ALL[die(4, 3)];
        // With the first stroke set, the first note can't have one of its own.
        if first.is_some() {
            parts[0].pin = Pin::default();
        }
        let (names, degrees) = (die(2, 6) == 0, Degrees::ALL[die(3, 7)]);
        let heading =
            Heading { title: "A line".into(), tempo, style, picking, names, degrees, ..Heading::default() };
        let line = Line::new(heading, bars, parts, vec![chord]).unwrap();
        let held = ConstraintSpan { span: line.bar(0).unwrap(), want: Constraint::Slurs };
        let line = if die(3, 4) == 0 { line.with_constraints(vec![held]) } else { line };
        let first = line.bar(0).unwrap();
        let sounds = line.events().iter().any(|event| event.pitch.is_some() && first.contains(event.onset));
        let call = Call::new(first, "what we look at, ♭7 and on").unwrap();
        let line = if sounds && die(3, 5) == 0 { line.with_calls(vec![call]) } else { line };
        let mut casting = everywhere(&line, usize::try_from(choices % 25).unwrap());
        let starts: Vec<_> = casting.windows().iter().map(|window| window.start).collect();
        for (index, start) in starts.into_iter().enumerate() {
            if choices >> (8 + index % 48) & 1 == 0 {
                casting.restore(start);
            }
        }
        (line, casting)
    })
}

/// A name for every group of one to seven notes in turn, whatever they sound: more, longer and closer together than real ones. Every third lends its
/// last note to the next, and some first notes are landed on.
pub fn crowded_names(line: &Line, first: usize) -> Vec<NameSign> {
    const FORMS: [&[&str]; 6] = [
        &["D♭m(maj7), 3rd inv.", "D♭m(maj7)"],
        &["G♯ phrygian dominant", "G♯ phryg. dom."],
        &["appr. ♭13"],
        &["E minor pent. in pairs", "E minor pent."],
        &[],
        &["sevenths through C♭ major", "sevenths"],
    ];
    let notes: Vec<NoteId> =
        line.events().iter().filter(|event| event.pitch.is_some()).map(|event| event.id).collect();
    let mut signs = Vec::new();
    let mut at = 0;
    for index in first.. {
        let length = [4, 1, 3, 2, 7, 2, 1, 1][index % 8];
        let Some(group) = notes.get(at..(at + length).min(notes.len())) else { break };
        let (Some(&first), Some(&last)) = (group.first(), group.last()) else { break };
        let sign = |last, short: &[&str], is_landing| {
            let short = short.iter().map(ToString::to_string).collect();
            NameSign {
                first,
                last,
                short,
                says: String::new(),
                spoken: String::new(),
                index: None,
                is_landing,
            }
        };
        if index % 4 == 1 {
            signs.push(sign(first, &["3"], true));
        }
        signs.push(sign(last, FORMS[index % FORMS.len()], false));
        at += if index % 3 == 0 && length > 2 { length - 1 } else { length };
    }
    signs
}

/// `count` lines, the same in every run.
pub fn sample(count: usize) -> impl Iterator<Item = (Line, Casting)> {
    let mut runner = TestRunner::deterministic();
    let strategy = line();
    (0..count).map(move |_| strategy.new_tree(&mut runner).unwrap().current())
}
