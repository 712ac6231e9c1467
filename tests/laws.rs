//! Laws over random lines, castings and texts. `PROPTEST_CASES` sets how many.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't go on has to stop"
)]

use std::sync::Arc;

use halfbar_core::bars::Bars;
use halfbar_core::chord::ChordSymbol;
use halfbar_core::engrave::{Before, Layout};
use halfbar_core::line::{ChordAt, Heading, Join, Line, Part, Pin, Tempo};
use halfbar_core::meter::Meter;
use halfbar_core::pitch::{Alter, MidiKey, Pitch, Step};
use halfbar_core::recast::{Casting, Direction};
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_core::tuning::{Fret, Tuning};
use halfbar_core::{Error, Piece, read, write};
use halfbar_tests::laws;
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;

/// Lengths from numerators and denominators.
fn lengths(list: &[(i32, u16)]) -> Vec<Duration> {
    list.iter().map(|&(numer, denom)| Duration::of(numer, denom)).collect()
}

/// Rhythms of half a 4/4 bar, in quarter notes; many plain eighths, and whatever else a line may hold.
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

/// Every meter, and some groups of one's own.
const METERS: [&str; 19] = [
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
const GROUPED: [&str; 4] = ["7/8 3+2+2", "3/4 3", "4/4 1+3", "5/4 2+3"];

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

/// Meters, one a bar, with the rhythms of their bars; most lines keep one meter.
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

/// Makes the end of the first bar a pickup, and leaves its length away at the line's end where an event starts there.
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
        let goal = (last.bar() - pickup).unwrap();
        let kept = (1..rhythm.len()).find(|&kept| Duration::sum(rhythm[..kept].iter().copied()) == Ok(goal));
        rhythm.truncate(kept.unwrap_or(rhythm.len()));
    }
    pickup
}

/// A sounding pitch on the standard neck, in one of its spellings.
fn pitch() -> impl Strategy<Value = Pitch> {
    (40u8..=86, 0usize..3).prop_map(|(key, choice)| {
        let spellings = Step::ALL.into_iter().flat_map(|step| {
            (-1..=1).flat_map(move |alter| {
                (1..=7).map(move |octave| Pitch::new(step, Alter::new(alter).unwrap(), octave))
            })
        });
        let same: Vec<_> = spellings.filter(|pitch| pitch.midi() == Some(MidiKey(key))).collect();
        same[choice % same.len()]
    })
}

fn note(pitch: Option<Pitch>, pinned: usize, duration: Duration) -> Part {
    let places = pitch.and_then(Pitch::midi).map(|key| Tuning::standard().places(key).collect::<Vec<_>>());
    // One note in eight is pinned to one of its places, half of those to the string only.
    let pin = places.filter(|_| pinned.is_multiple_of(8)).map(|places| {
        let (string, fret) = places[pinned / 8 % places.len()];
        Pin { string, fret: (pinned.is_multiple_of(16)).then_some(Fret(fret.0)) }
    });
    // Every tenth note leads into the next.
    let join = [None, Some(Join::Slur), Some(Join::Slide)].get(pinned % 20).copied().flatten();
    Part { duration, pitch, pin, join }
}

/// A line, some notes held over the bar line, with a casting.
fn line() -> impl Strategy<Value = (Line, Casting)> {
    let notes = prop::collection::vec((prop::option::weighted(0.9, pitch()), any::<usize>()), 80);
    let held = prop::collection::vec(any::<bool>(), 6);
    let pickup = prop::option::weighted(0.3, 1usize..6);
    (bars(), pickup, held, notes, any::<u64>()).prop_map(|(mut rhythms, pickup, held, notes, choices)| {
        let mut notes = notes.into_iter().cycle();
        let mut parts: Vec<Part> = Vec::new();
        let pickup = pickup.map_or(Duration::ZERO, |events| with_pickup(&mut rhythms, events));
        let mut bars = Bars::of(rhythms[0].0);
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
                        last.duration = (last.duration + duration).unwrap();
                    }
                    _ => {
                        let (pitch, pinned) = notes.next().unwrap();
                        parts.push(note(pitch, pinned, duration));
                    }
                }
            }
        }
        let chord = ChordAt { onset: Onset::ZERO, symbol: "Bb7alt/D".parse::<ChordSymbol>().unwrap() };
        let tempo = Tempo::new(200).unwrap();
        let heading = Heading { title: "A line".into(), tempo, ..Heading::default() };
        let line = Line::new(heading, bars, parts, vec![chord]).unwrap();
        let mut casting = laws::everywhere(&line, usize::try_from(choices % 25).unwrap());
        let starts: Vec<_> = casting.windows().iter().map(|window| window.start).collect();
        for (index, start) in starts.into_iter().enumerate() {
            if choices >> (8 + index % 48) & 1 == 0 {
                casting.restore(start);
            }
        }
        (line, casting)
    })
}

/// Failing cases are kept beside this file and tried first the next time.
fn config() -> ProptestConfig {
    let kept = FileFailurePersistence::Direct(concat!(env!("CARGO_MANIFEST_DIR"), "/laws.regressions"));
    ProptestConfig { failure_persistence: Some(Box::new(kept)), ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn all_laws((line, casting) in line()) {
        laws::hold(&line, &casting);
    }

    #[test]
    fn shifts((line, casting) in line(), edges in any::<[prop::sample::Index; 2]>(), later: bool) {
        let edges = edges.map(|edge| edge.index(line.events().len() + 1)).map(|index| {
            line.events().get(index).map_or(line.end(), |event| event.onset)
        });
        let direction = if later { Direction::Later } else { Direction::Earlier };
        let stretch = Span::new(edges[0].min(edges[1]), edges[0].max(edges[1])).unwrap();
        laws::shifts(&line, &casting, stretch, direction);
        laws::shifts(&line, &Casting::default(), stretch, direction);
    }

    #[test]
    fn a_line_survives_its_text((line, casting) in line()) {
        let text = write::text::line(&line, &casting).unwrap();
        let reading = read::text(&text);
        prop_assert_eq!(&reading.diagnostics, &[], "{}", text);
        prop_assert_eq!(reading.line.as_ref(), Some(&line), "{}", text);
        prop_assert_eq!(&reading.casting, &casting, "{}", text);
        prop_assert_eq!(write::text::line(&line, &reading.casting).unwrap(), text);
    }

    #[test]
    fn a_casting_is_put_into_a_text((line, casting) in line()) {
        let plain = write::text::line(&line, &Casting::default()).unwrap();
        let bars = line.bars();
        let cast = write::text::with_casting(&plain, &casting, bars).unwrap();
        let reading = read::text(&cast);
        prop_assert_eq!(&reading.diagnostics, &[], "{}", cast);
        prop_assert_eq!(reading.casting, casting);
        prop_assert_eq!(write::text::with_casting(&cast, &Casting::default(), bars).unwrap(), plain);
    }

    #[test]
    fn the_same_line_gives_the_same_bytes((line, casting) in line(), width in 30.0..160.0f64) {
        let layout = Layout { width, ..Layout::default() };
        let draw = || {
            let piece = Piece::new(line.clone(), casting.clone()).unwrap();
            write::svg::document(&piece.engrave(&layout))
        };
        prop_assert_eq!(draw(), draw());
    }

    #[test]
    fn any_text_is_read_to_its_end(text in r"([A-Gr@|:~^/.,0-9a-z#\n\t ]|recast: |key: |bracket|split-last at |\PC){0,200}") {
        let reading = read::text(&text);
        for diagnostic in &reading.diagnostics {
            prop_assert!(diagnostic.line >= 1 && diagnostic.line <= text.lines().count().max(1));
            prop_assert!(diagnostic.column >= 1 && diagnostic.length >= 1);
            prop_assert!(diagnostic.render(&text).contains('^'));
        }
        if let Some(line) = reading.line {
            // Whatever was kept fills its bars, and every stage takes it or says why not.
            if let Err(error) = Piece::new(line, reading.casting) {
                prop_assert!(matches!(error, Error::Unwritable { .. } | Error::OffNeck { .. }), "{}", error);
            }
        }
    }

    /// A page that is made from an earlier one is the page that would be made anew, and systems that look alike are shared.
    #[test]
    fn a_page_is_made_from_the_one_before((line, casting) in line(), which in any::<prop::sample::Index>(), width in 30.0..100.0f64) {
        let layout = Layout { width, ..Layout::default() };
        let before = Piece::new(line.clone(), casting.clone()).unwrap();
        let scene = before.engrave(&layout);
        let mut casting = casting;
        if !casting.windows().is_empty() {
            let start = casting.windows()[which.index(casting.windows().len())].start;
            casting.restore(start);
        }
        let after = Piece::new(line, casting).unwrap();
        let again = after.engrave_after(&layout, Before { piece: &before, layout: &layout, scene: &scene });
        prop_assert_eq!(&again, &after.engrave(&layout));
        for (old, new) in scene.systems.iter().zip(&again.systems) {
            let same_bars = scene.width == again.width
                && old.bars == new.bars
                && before.written.bars[old.bars.clone()] == after.written.bars[old.bars.clone()];
            prop_assert!(!same_bars || old.top != new.top || Arc::ptr_eq(old, new) || !old.looks_like(new));
        }
    }

    #[test]
    fn any_bytes_are_read(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let reading = read::bytes(&bytes);
        let valid = std::str::from_utf8(&bytes).is_ok();
        prop_assert_eq!(reading.diagnostics.iter().any(|d| d.problem.code() == "utf8"), !valid);
    }

    /// The fractions agree with arithmetic in wider integers.
    #[test]
    fn time_is_exact(a in -10_000i64..10_000, b in 1i64..500, c in -10_000i64..10_000, d in 1i64..500, n in 1i64..50) {
        let (x, y) = (Duration::new(a, b).unwrap(), Duration::new(c, d).unwrap());
        let wide = |duration: Duration| (i128::from(duration.numer()), i128::from(duration.denom()));
        let same = |duration: Duration, numer: i64, denom: i64| {
            let (p, q) = wide(duration);
            p * i128::from(denom) == q * i128::from(numer)
        };
        prop_assert!(same((x + y).unwrap(), a * d + c * b, b * d));
        prop_assert!(same((x - y).unwrap(), a * d - c * b, b * d));
        prop_assert!(same((x * n).unwrap(), a * n, b));
        prop_assert!(same((x / n).unwrap(), a, b * n));
        prop_assert_eq!(x.cmp(&y), (i128::from(a) * i128::from(d)).cmp(&(i128::from(c) * i128::from(b))));
        prop_assert_eq!(((Onset::after(x) + y).unwrap() - y).unwrap(), Onset::after(x));
        prop_assert_eq!((Onset::after(x) - Onset::after(y)).unwrap(), (x - y).unwrap());
    }
}
