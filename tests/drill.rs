//! Laws of what is made of a line to practise: shapes through a scale, twelve keys. `PROPTEST_CASES` sets how many.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't go on has to stop"
)]

use std::collections::BTreeSet;

use halfbar_core::drill::{self, Cycle, DrillError, Exercise, Shape};
use halfbar_core::key::{Key, Mode};
use halfbar_core::line::{Event, Heading, Line, Part};
use halfbar_core::neck::{Neck, StringNo};
use halfbar_core::notate::NotateError;
use halfbar_core::pitch::{Alter, Interval, Letter, MidiKey, Pitch, PitchName};
use halfbar_core::recast::{Casting, Window};
use halfbar_core::scale::{Scale, ScaleKind};
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_core::{Error, Piece};
use halfbar_tests::{laws, lines, random};
use proptest::prelude::*;

/// Where failing cases are kept.
const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/drill.regressions");

/// Part of the standard neck, wide enough for two octaves and a shape's stretching, so that many copies have to be folded.
fn neck() -> Neck {
    Neck::default().sized("16 frets, capo 2").unwrap()
}

fn alter() -> impl Strategy<Value = Alter> {
    (-1i8..=1).prop_map(|half_steps| Alter::new(half_steps).unwrap())
}

fn name() -> impl Strategy<Value = PitchName> {
    (prop::sample::select(&Letter::ALL[..]), alter()).prop_map(|(letter, alter)| PitchName { letter, alter })
}

fn key() -> impl Strategy<Value = Key> {
    let mode = prop::sample::select(&[Mode::Major, Mode::Minor][..]);
    (name(), mode).prop_filter_map("a key", |(tonic, mode)| Key::new(tonic, mode).ok())
}

fn scale() -> impl Strategy<Value = Scale> {
    let kind = prop::sample::select(ScaleKind::all().iter().collect::<Vec<_>>());
    (name(), kind).prop_filter_map("a scale", |(tonic, kind)| Scale::new(tonic, kind).ok())
}

/// A random line within two octaves, in a random key, with a casting.
fn line() -> impl Strategy<Value = (Line, Casting)> {
    (lines::line(), key()).prop_map(|((line, casting), key)| {
        let near = |pitch: Pitch| {
            let octave = |octaves| pitch.transposed(Interval::octaves(octaves));
            let mut all = [0, -1, 1, -2, 2].into_iter().filter_map(octave);
            all.find(|pitch| pitch.midi().is_some_and(|key| (48..72).contains(&key.0))).unwrap()
        };
        let parts = line.events().iter().map(|event| Part {
            pitch: event.pitch.map(near),
            legato: event.legato,
            grace: event.grace.map(near),
            ..Part::rest(event.duration)
        });
        let heading = Heading { neck: neck(), ..line.heading().clone() };
        let bars = line.bars().clone().in_key(key);
        (Line::new(heading, bars, parts, line.chords().to_vec()).unwrap(), casting)
    })
}

/// The notes of two events, and their grace notes.
fn pairs(before: &Event, after: &Event) -> impl Iterator<Item = (Pitch, Pitch)> {
    before.pitch.zip(after.pitch).into_iter().chain(before.grace.zip(after.grace))
}

fn octave_4(name: PitchName) -> Pitch {
    Pitch { name, octave: 4 }
}

fn midi(pitch: Pitch) -> i32 {
    pitch.midi().unwrap().0.into()
}

/// The events of a stretch, rests cut at its edges, as onsets from its start.
fn inside(line: &Line, stretch: Span) -> Vec<(Onset, Duration, Event)> {
    let events = line.events().iter().filter(|event| event.span().unwrap().overlaps(stretch));
    let cut = events.map(|event| {
        let span = event.span().unwrap();
        let (start, end) = (span.start().max(stretch.start()), span.end().min(stretch.end()));
        (
            Onset::after(start.checked_since(stretch.start()).unwrap()),
            end.checked_since(start).unwrap(),
            *event,
        )
    });
    cut.collect()
}

/// The events of the copies that start at these moments, and are as long as the source.
fn copies(made: &Exercise, starts: &[Onset], length: Duration) -> Vec<Vec<(Onset, Duration, Event)>> {
    let copy = |&start: &Onset| inside(&made.line, Span::starting(start, length).unwrap());
    starts.iter().map(copy).collect()
}

/// Rhythm, slurs, slides and grace notes are the source's; every note is in range.
fn keeps_the_rhythm(source: &[(Onset, Duration, Event)], copy: &[(Onset, Duration, Event)]) {
    assert_eq!(source.len(), copy.len());
    for (index, (before, after)) in source.iter().zip(copy).enumerate() {
        assert_eq!((before.0, before.1), (after.0, after.1));
        let (before, after) = (before.2, after.2);
        assert_eq!(before.pitch.is_some(), after.pitch.is_some());
        assert_eq!(before.grace.is_some(), after.grace.is_some());
        // The last note leads nowhere; nor does one whose pitch comes again.
        let again = copy.get(index + 1).is_none_or(|(.., next)| next.pitch == after.pitch);
        assert_eq!(if again { None } else { before.legato }, after.legato);
        for pitch in after.pitch.into_iter().chain(after.grace) {
            assert!(neck().places(pitch.midi().unwrap()).next().is_some(), "{pitch}");
        }
    }
}

/// Every bar is full, every stage takes the line, and the windows of every copy stand, or are told.
fn is_whole(made: &Exercise, windows: usize, writable: bool) {
    let bar = made.line.bar(made.line.bar_count() - 1).unwrap();
    assert_eq!(bar.end(), made.line.end());
    assert_eq!(made.casting.windows().len() + made.plain.len(), windows);
    match Piece::new(made.line.clone(), made.casting.clone()) {
        Ok(_) => laws::hold(&made.line, &made.casting),
        Err(error) => {
            assert!(!writable && matches!(error, Error::Notate(NotateError::Unwritable { .. })), "{error}")
        }
    }
}

/// Every key of MIDI that sounds as a tone of the scale, from the lowest.
fn sounds(scale: Scale) -> Vec<i32> {
    let classes: BTreeSet<i32> = scale.degrees().map(|name| midi(octave_4(name)).rem_euclid(12)).collect();
    (-120i32..300).filter(|key| classes.contains(&key.rem_euclid(12))).collect()
}

/// Where a note may go, `steps` further: from a tone, to a tone; from beside a tone, to beside a tone.
fn goes(sounds: &[i32], from: i32, steps: i32) -> Vec<i32> {
    let moved = |index: usize| sounds[usize::try_from(i32::try_from(index).unwrap() + steps).unwrap()];
    match sounds.binary_search(&from) {
        Ok(index) => vec![moved(index)],
        Err(above) => {
            let beside = [above - 1, above].into_iter().filter(|&index| (sounds[index] - from).abs() == 1);
            beside.map(|index| moved(index) + from - sounds[index]).collect()
        }
    }
}

/// Why a stretch is no shape: a note is held over its edge, nothing sounds in it, or a window would be cut.
fn refusal(line: &Line, casting: &Casting, stretch: Span) -> Option<&'static str> {
    let spans = line.events().iter().filter(|event| event.pitch.is_some()).map(|event| event.span().unwrap());
    let notes: Vec<Span> = spans.collect();
    let is_held = |edge: Onset| notes.iter().any(|span| span.start() < edge && edge < span.end());
    let is_cut = |window: &Window| {
        let span = window.span().unwrap();
        let inside = stretch.start() <= span.start() && span.end() <= stretch.end();
        span.overlaps(stretch) && !inside
    };
    match () {
        () if is_held(stretch.start()) || is_held(stretch.end()) => Some("window"),
        () if !notes.iter().any(|span| stretch.contains(span.start())) => Some("silent"),
        () if casting.windows().iter().any(is_cut) => Some("window"),
        () => None,
    }
}

proptest! {
    #![proptest_config(random(KEPT))]

    #[test]
    fn shapes((line, casting) in line(), scale in scale(), steps in -9i8..=9, edges in any::<[prop::sample::Index; 2]>()) {
        let edges = edges.map(|edge| edge.index(line.events().len() + 1)).map(|index| {
            line.events().get(index).map_or(line.end(), |event| event.onset)
        });
        let stretch = Span::new(edges[0].min(edges[1]), edges[0].max(edges[1])).unwrap();
        let shape = Shape { stretch, scale, steps, strings: None };
        let refused = refusal(&line, &casting, stretch);
        let made = drill::sequence(&line, &casting, &shape);
        prop_assert_eq!(made.as_ref().err().map(DrillError::code), refused);
        let Ok(made) = made else { return Ok(()) };
        let (index, offset) = line.bars().split(stretch.start()).unwrap();
        prop_assert_eq!((made.line.bars().meter(3), made.line.bars().key(3)), (line.bars().meter(index), line.bars().key(index)));

        let (source, sounds) = (inside(&line, stretch), sounds(scale));
        let length = stretch.length().unwrap();
        let count = usize::from(steps.unsigned_abs()) + 1;
        // What is on a beat stays on one, and after the last copy the bar is filled up.
        let lead = offset.checked_sub(offset.floor_to(line.bars().meter(index).unit_length()).unwrap()).unwrap();
        let starts: Vec<Onset> =
            (0..count).map(|copy| Onset::after(lead).checked_add(length.checked_mul(i64::try_from(copy).unwrap()).unwrap()).unwrap()).collect();
        let rest = made.line.end().checked_since(starts.last().unwrap().checked_add(length).unwrap()).unwrap();
        prop_assert!(Duration::ZERO <= rest && rest < line.bars().meter(index).bar());

        for (copy, (step, start)) in copies(&made, &starts, length).iter().zip((0i32..).zip(&starts)) {
            keeps_the_rhythm(&source, copy);
            let place = made.line.bars().place(*start).unwrap();
            let octaves = made.folded.iter().find(|folded| folded.place == place).map_or(0, |folded| folded.octaves);
            let mut left = false;
            for (before, after) in source.iter().zip(copy) {
                for (from, to) in pairs(&before.2, &after.2) {
                    let unfolded = midi(to) - 12 * octaves;
                    let allowed = if step == 0 { vec![midi(from)] } else { goes(&sounds, midi(from), step * i32::from(steps).signum()) };
                    prop_assert!(allowed.contains(&unfolded), "{from} to {to} in {scale}, {step} steps: {allowed:?}");
                    let there = |string: StringNo| {
                        let key = u8::try_from(unfolded).ok().map(MidiKey);
                        key.is_some_and(|key| neck().places(key).any(|(place, _)| place == string))
                    };
                    let pinned = after.2.pin.string.filter(|_| Some(to) == after.2.pitch);
                    left |= !pinned.map_or((1..=6).map(StringNo).any(there), there);
                    if step > 0 && sounds.contains(&midi(to)) {
                        prop_assert!(scale.degrees().any(|name| name == to.name), "{to} in {scale}");
                    }
                }
            }
            prop_assert_eq!(left, octaves != 0, "folded, but not out of range");
        }
        let windows = casting.windows().iter().filter(|window| stretch.contains(window.start)).count();
        // Half a tuplet away from where it was may be beyond any notation.
        let sixteenth = Duration::of(1, 4);
        let is_plain = source.iter().all(|(_, length, _)| length.is_multiple_of(sixteenth));
        is_whole(&made, windows * count, is_plain && lead.is_multiple_of(sixteenth));
    }

    #[test]
    fn twelve_keys((line, casting) in line(), cycle in prop::sample::select(&Cycle::ALL[..])) {
        let made = drill::keys(&line, &casting, cycle).unwrap();
        let (bars, all) = (made.line.bars(), Span::new(Onset::ZERO, line.end()).unwrap());
        let source = inside(&line, all);
        // Each copy starts where the pickup does, right after the one before or after less than a bar.
        let mut starts = vec![Onset::ZERO];
        for _ in 1..12 {
            let end = starts.last().unwrap().checked_add(all.length().unwrap()).unwrap();
            let gap = match line.bars().pickup() {
                pickup if pickup == Duration::ZERO || bars.split(end).unwrap().1 > Duration::ZERO => Duration::ZERO,
                pickup => line.bars().meter(0).bar().checked_sub(pickup).unwrap(),
            };
            starts.push(end.checked_add(gap).unwrap());
        }
        prop_assert_eq!(made.line.end(), starts[11].checked_add(all.length().unwrap()).unwrap());

        let mut classes = BTreeSet::new();
        for (number, copy) in copies(&made, &starts, all.length().unwrap()).iter().enumerate() {
            keeps_the_rhythm(&source, copy);
            let half_steps = cycle.half_steps()[number];
            // The key stands from the first bar line on, and changes where the line's does.
            let (first, _) = bars.split(starts[number]).unwrap();
            let from = usize::from(line.bars().pickup() > Duration::ZERO);
            for index in from..line.bar_count() {
                let (home, key) = (line.bars().key(index), bars.key(first + index));
                let class = (midi(octave_4(key.tonic())) - midi(octave_4(home.tonic()))).rem_euclid(12);
                prop_assert_eq!(class, half_steps.rem_euclid(12));
                prop_assert_eq!(key.mode(), home.mode());
                prop_assert!(key == home || number > 0 && key.fifths().abs() <= 6);
                classes.insert(class);
            }
            let place = bars.place(starts[number]).unwrap();
            let octaves = made.folded.iter().find(|folded| folded.place == place).map_or(0, |folded| folded.octaves);
            for (before, after) in source.iter().zip(copy) {
                for (from_pitch, to_pitch) in pairs(&before.2, &after.2) {
                    prop_assert_eq!(midi(to_pitch) - midi(from_pitch), half_steps + 12 * octaves);
                    let (index, _) = line.bars().split(before.0).unwrap();
                    if index >= from {
                        // By as many letters as the tonic, unless that asks for more than a double accidental.
                        let (home, key) = (line.bars().key(index), bars.key(first + index));
                        let letters = key.tonic().letter as usize + 7 - home.tonic().letter as usize;
                        let letter = Letter::ALL[(from_pitch.name.letter as usize + letters) % 7];
                        let spelled = (-2..=2).filter_map(Alter::new).any(|alter| {
                            (midi(octave_4(PitchName { letter, alter })) - midi(to_pitch)) % 12 == 0
                        });
                        prop_assert!(to_pitch.name.letter == letter || !spelled, "{from_pitch} to {to_pitch} in {key}");
                    }
                }
            }
            // The chord comes again, too.
            let root = made.line.chords()[number].symbol.chord().expect("a chord").root();
            prop_assert_eq!(made.line.chords()[number].onset, starts[number]);
            prop_assert_eq!((midi(octave_4(root)) - 70 - half_steps).rem_euclid(12), 0);
        }
        prop_assert!(classes.is_empty() || classes.len() == 12);
        // A pickup in another meter's bar may be beyond any notation.
        let changes = line.bars().changes().count() > 0 && line.bars().pickup() > Duration::ZERO;
        is_whole(&made, 12 * casting.windows().len(), !changes);
        prop_assert!(changes || made.plain.is_empty() && made.respelled.is_empty());
    }

    #[test]
    fn there_and_back(name in name(), octave in 3u8..7, double: bool, letters in -14i32..=14, more in -2i32..=2) {
        let alter = if double { Alter::new(2 * name.alter.half_steps()).unwrap() } else { name.alter };
        let pitch = Pitch::new(name.letter, alter, octave);
        let natural = Pitch::new(Letter::C, Alter::NATURAL, 4);
        let above = Letter::ALL[usize::try_from(letters.rem_euclid(7)).unwrap()];
        let octaves = u8::try_from(4 + letters.div_euclid(7)).unwrap();
        let half_steps = Interval::between(natural, Pitch::new(above, Alter::NATURAL, octaves)).half_steps + more;
        let interval = Interval { letters, half_steps };
        let there = pitch.transposed(interval).unwrap();
        prop_assert_eq!(midi(there) - midi(pitch), half_steps);
        let back = there.transposed(-interval).unwrap();
        prop_assert_eq!(midi(back), midi(pitch));
        if Interval::between(pitch, there) == interval {
            prop_assert_eq!(back, pitch);
        } else {
            prop_assert!(there.name.alter.half_steps().abs() <= 1);
        }
    }
}
