//! Laws of exercises made from a line: shapes through a scale, twelve keys. `PROPTEST_CASES` sets the number of random cases.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::collections::BTreeSet;

use halfbar_core::drill::{self, Cycle, DrillError, Exercise, Region, Shape};
use halfbar_core::key::{Key, Mode};
use halfbar_core::line::{ChordAt, Event, Heading, Line, Part};
use halfbar_core::neck::{Fret, Neck, StringNo, Stroke};
use halfbar_core::notate::NotateError;
use halfbar_core::pitch::{Alter, Interval, Letter, MidiKey, Pitch, PitchName};
use halfbar_core::recast::{Casting, Window};
use halfbar_core::scale::{Scale, ScaleKind};
use halfbar_core::technique::{Constraint, ConstraintSpan, Pin};
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_core::{Error, Piece};
use halfbar_tests::{laws, lines, random};
use proptest::prelude::*;

/// Where failing cases are kept.
const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/drill.regressions");

/// Part of the standard neck, wide enough for two octaves and a stretched shape, so that many copies have to be moved by octaves.
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

/// A line with some of its notes fixed as it is played anyway, and perhaps one of its bars in a position that can hold it.
fn fixed(line: &Line, picks: &[u8], position: Option<[prop::sample::Index; 2]>) -> Line {
    let Ok(piece) = Piece::new(line.clone(), Casting::default()) else { return line.clone() };
    let led = line.events().iter().map(|event| event.legato.is_some());
    let led: Vec<bool> = [false].into_iter().chain(led).collect();
    let part = |(event, (pick, led)): (&Event, (&u8, &bool))| {
        let mut pin = Pin::default();
        if let Some(at) = piece.fingering().of(event.id) {
            let (has_place, has_finger) = (pick & 1 > 0, pick & 2 > 0 && at.finger.0 > 0);
            pin = Pin {
                string: has_place.then_some(at.string),
                fret: (has_place && pick & 4 > 0).then_some(at.fret),
                finger: has_finger.then_some(at.finger),
                stroke: (pick & 8 > 0 && !led).then_some(if pick & 4 > 0 {
                    Stroke::Down
                } else {
                    Stroke::Up
                }),
            };
        }
        Part {
            pitch: event.pitch,
            pin,
            legato: event.legato,
            grace: event.grace,
            ..Part::rest(event.duration)
        }
    };
    let picks = picks.iter().chain(std::iter::repeat(&0));
    let parts: Vec<Part> = line.events().iter().zip(picks.zip(&led)).map(part).collect();
    let bar = position.map(|[bar, _]| line.bar(bar.index(line.bar_count())).unwrap());
    let held = position.zip(bar).and_then(|([_, way], bar)| {
        let ways = piece.fingering().positions(line, bar);
        let position = ways.get(way.index(ways.len().max(1)))?.position?;
        Some(ConstraintSpan { span: bar, want: Constraint::Position(position.0) })
    });
    // Not both, so that the law can say what is possible.
    let parts = parts.into_iter().map(|part| match held {
        Some(_) => Part { pin: Pin { stroke: part.pin.stroke, ..Pin::default() }, ..part },
        None => part,
    });
    let pinned =
        Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec()).unwrap();
    let fixed = pinned.with_constraints(held.into_iter().collect());
    // Where notes lead into others on another string for lack of anything better, that can't be asked for.
    if Piece::new(fixed.clone(), Casting::default()).is_ok() { fixed } else { line.clone() }
}

/// What is fixed for a note if it is so many frets up.
fn moved_pin(pin: Pin, frets: i32) -> Option<Pin> {
    let fret = match pin.fret {
        Some(Fret(fret)) => Some(Fret(u8::try_from(i32::from(fret) + frets).ok()?)),
        None => None,
    };
    Some(Pin { fret, ..pin })
}

/// Whether a note can be fretted as is fixed for it, at or below a fret; only what is fixed to a string has to be if the
/// copy goes `above` anyway.
fn can_be_fretted(key: i32, pin: Pin, up_to: Fret, above: bool) -> bool {
    let all = places(key, Region { strings: None, up_to });
    all.into_iter().any(|(string, fret)| {
        let is_there = pin.string.is_none_or(|pinned| pinned == string)
            && (fret <= up_to || above && pin.string.is_none());
        // A finger's own fret is the first or later: the hand can't lie beyond the nut.
        let has_finger = pin.finger.is_none_or(|finger| fret.0 >= finger.0);
        is_there && pin.fret.is_none_or(|pinned| pinned == fret) && has_finger
    })
}

/// Whether a hand in a position reaches a note: its four frets, one to either side, and open strings.
fn is_reached(key: i32, position: i32, highest: Fret) -> bool {
    let in_reach = |fret: u8| fret == 0 || (position - 1..=position + 4).contains(&i32::from(fret));
    places(key, Region::default()).iter().any(|(_, fret)| *fret <= highest && in_reach(fret.0))
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

/// Kinds of chords with the letters and half steps of third, fifth, seventh and, of dominants, flat ninth, by the
/// definition of each. A diminished seventh is read as a sixth.
const CHORDS: [(&str, &[(usize, i32)]); 6] = [
    ("maj7", &[(2, 4), (4, 7), (6, 11)]),
    ("7", &[(2, 4), (4, 7), (6, 10), (1, 1)]),
    ("7b9", &[(2, 4), (4, 7), (6, 10), (1, 1)]),
    ("m7", &[(2, 3), (4, 7), (6, 10)]),
    ("m7b5", &[(2, 3), (4, 6), (6, 10)]),
    ("dim7", &[(2, 3), (4, 6)]),
];

/// Whether a name is a white key spelled as an altered neighbor, such as E#.
fn is_neighbors(name: PitchName) -> bool {
    ["E#", "Fb", "B#", "Cb"].contains(&name.to_string().as_str())
}

/// The name of a pitch, moved by as many letters as the tonic; `None` if that takes more than a double accidental.
fn by_letter(from: PitchName, home: Key, key: Key, sounding: PitchName) -> Option<PitchName> {
    let letters = key.tonic().letter as usize + 7 - home.tonic().letter as usize;
    let letter = Letter::ALL[(from.letter as usize + letters) % 7];
    let mut names = (-2..=2).filter_map(Alter::new).map(|alter| PitchName { letter, alter });
    names.find(|name| (midi(octave_4(*name)) - midi(octave_4(sounding))) % 12 == 0)
}

/// The events of a passage with onsets from its start, rests cut at its edges.
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

/// The events of the copies that start at these moments and are as long as the source.
fn copies(made: &Exercise, starts: &[Onset], length: Duration) -> Vec<Vec<(Onset, Duration, Event)>> {
    let copy = |&start: &Onset| inside(&made.line, Span::starting(start, length).unwrap());
    starts.iter().map(copy).collect()
}

/// Rhythm, slurs, slides and grace notes are those of the source, and every note is in range.
fn keeps_the_rhythm(source: &[(Onset, Duration, Event)], copy: &[(Onset, Duration, Event)]) {
    assert_eq!(source.len(), copy.len());
    for (index, (before, after)) in source.iter().zip(copy).enumerate() {
        assert_eq!((before.0, before.1), (after.0, after.1));
        let (before, after) = (before.2, after.2);
        assert_eq!(before.pitch.is_some(), after.pitch.is_some());
        assert_eq!(before.grace.is_some(), after.grace.is_some());
        // The last note leads nowhere, and neither does one that is followed by the same pitch.
        let again = copy.get(index + 1).is_none_or(|(.., next)| next.pitch == after.pitch);
        assert_eq!(if again { None } else { before.legato }, after.legato);
        for pitch in after.pitch.into_iter().chain(after.grace) {
            assert!(neck().places(pitch.midi().unwrap()).next().is_some(), "{pitch}");
        }
    }
}

/// Every bar is full, every stage accepts the line, and the windows of every copy are there or are reported.
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

/// Every MIDI key that is a tone of the scale, from the lowest.
fn sounds(scale: Scale) -> Vec<i32> {
    let classes: BTreeSet<i32> = scale.degrees().map(|name| midi(octave_4(name)).rem_euclid(12)).collect();
    (-120i32..300).filter(|key| classes.contains(&key.rem_euclid(12))).collect()
}

/// Where a note may go when it is moved by `steps`: from a scale tone to a scale tone, from beside a tone to beside a tone.
fn goes(sounds: &[i32], from: i32, steps: i32) -> Vec<i32> {
    let moved = |index: usize| sounds[usize::try_from(i32::try_from(index).unwrap() + steps).unwrap()];
    match sounds.binary_search(&from) {
        Ok(index) => vec![moved(index)],
        Err(above) => {
            // In a step of four half steps, the middle belongs to either tone.
            let away = |index: usize| (sounds[index] - from).abs();
            let nearest = away(above - 1).min(away(above));
            let beside = [above - 1, above].into_iter().filter(|&index| away(index) == nearest);
            beside.map(|index| moved(index) + from - sounds[index]).collect()
        }
    }
}

/// Why a passage is not a shape: a note is held across its edge, nothing sounds in it, or a window would be cut.
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

/// The region for an exercise, often lower than the end of the neck.
fn region() -> impl Strategy<Value = Region> {
    let strings = prop::option::weighted(0.3, (1u8..=6, 1u8..=6));
    (strings, 4u8..=14).prop_map(|(strings, up_to)| {
        let strings = strings.map(|(a, b)| format!("{a}-{b}").parse().unwrap());
        Region { strings, up_to: Fret(up_to) }
    })
}

/// Every place for a key on the strings of the region.
fn places(key: i32, region: Region) -> Vec<(StringNo, Fret)> {
    let Ok(key) = u8::try_from(key) else { return Vec::new() };
    let neck = neck();
    let all = neck.places(MidiKey(key));
    all.filter(|(string, _)| region.strings.is_none_or(|strings| strings.contains(*string))).collect()
}

/// The pitches of a copy, grace notes included.
fn pitches(copy: &[(Onset, Duration, Event)]) -> impl Iterator<Item = Pitch> {
    copy.iter().flat_map(|(.., event)| event.grace.into_iter().chain(event.pitch))
}

/// A copy that goes above the highest fret would do so in every octave. All others are played below it.
fn stays_below(
    made: &Exercise,
    piece: &Piece,
    copy: &[(Onset, Duration, Event)],
    region: Region,
    written: bool,
) {
    let place = made.line.bars().place(copy_start(copy)).unwrap();
    let played = copy.iter().filter_map(|(.., event)| piece.fingering().of(event.id));
    let played: Vec<_> = played.collect();
    let is_above = made.above.contains(&place);
    assert_eq!(is_above, played.iter().any(|at| at.fret > region.up_to), "{place}");
    let on_strings = |string: StringNo| region.strings.is_none_or(|strings| strings.contains(string));
    assert!(played.iter().all(|at| on_strings(at.string)), "{place}");
    // Connected notes may share a string only above.
    let is_joined = copy.iter().any(|(.., event)| event.legato.is_some());
    if is_above && !written && !is_joined {
        let fits = |octaves: i32| {
            let below = |key| places(key, region).iter().any(|(_, fret)| *fret <= region.up_to);
            pitches(copy).all(|pitch| below(midi(pitch) + 12 * octaves))
        };
        assert!(!(-9..=9).any(fits), "{place}");
    }
}

/// When the first event of a copy that was cut out starts in its line.
fn copy_start(copy: &[(Onset, Duration, Event)]) -> Onset {
    let (since, _, event) = &copy[0];
    // A rest may have been cut at its start.
    Onset::after(event.onset.since_start().checked_sub(since.since_start()).unwrap())
}

/// Strings and frets, relative to the first note's, and fingers.
type Outline = (Vec<(u8, i32)>, Vec<u8>);

/// How a copy that is pinned to its strings lies on the neck, and with which fingers, and its frets; `None` if a string
/// is open.
fn outline(piece: &Piece, copy: &[(Onset, Duration, Event)]) -> Option<(Outline, Vec<u8>)> {
    let notes = copy.iter().filter(|(.., event)| event.pitch.is_some());
    let played: Vec<_> = notes.clone().map(|(.., event)| piece.fingering().of(event.id).unwrap()).collect();
    let first = i32::from(played.first()?.fret.0);
    let is_pinned = notes.clone().all(|(.., event)| event.pin.string.is_some());
    let is_fretted = is_pinned && played.iter().all(|at| at.fret.0 > 0);
    let outline = played.iter().map(|at| (at.string.0, i32::from(at.fret.0) - first)).collect();
    let fingers = played.iter().map(|at| at.finger.0).collect();
    is_fretted.then(|| ((outline, fingers), played.iter().map(|at| at.fret.0).collect()))
}

proptest! {
    #![proptest_config(random(KEPT))]

    #[test]
    fn shapes((line, casting) in line(), scale in scale(), steps in -9i8..=9, region in region(), edges in any::<[prop::sample::Index; 2]>(), picks in prop::option::of(prop::collection::vec(0u8..16, 0..24))) {
        let line = picks.map_or(line.clone(), |picks| fixed(&line, &picks, None));
        let edges = edges.map(|edge| edge.index(line.events().len() + 1)).map(|index| {
            line.events().get(index).map_or(line.end(), |event| event.onset)
        });
        let stretch = Span::new(edges[0].min(edges[1]), edges[0].max(edges[1])).unwrap();
        let shape = Shape { stretch, scale, steps, region };
        let refused = refusal(&line, &casting, stretch);
        let made = drill::sequence(&line, &casting, &shape);
        let code = made.as_ref().err().map(DrillError::code);
        // The region's strings may be unable to hold the shape or a copy of it, or to connect two notes.
        let is_short = region.strings.is_some() && matches!(code, Some("pin" | "no-octave" | "apart"));
        prop_assert!(is_short || code == refused, "{:?} {:?}", code, refused);
        let Ok(made) = made else { return Ok(()) };
        let (index, offset) = line.bars().split(stretch.start()).unwrap();
        prop_assert_eq!((made.line.bars().meter(3), made.line.bars().key(3)), (line.bars().meter(index), line.bars().key(index)));

        let (source, sounds) = (inside(&line, stretch), sounds(scale));
        let length = stretch.length().unwrap();
        let count = usize::from(steps.unsigned_abs()) + 1;
        // What is on a beat stays on a beat, and after the last copy the bar is filled with rests.
        let lead = offset.checked_sub(offset.floor_to(line.bars().meter(index).unit_length()).unwrap()).unwrap();
        let starts: Vec<Onset> =
            (0..count).map(|copy| Onset::after(lead).checked_add(length.checked_mul(i64::try_from(copy).unwrap()).unwrap()).unwrap()).collect();
        let rest = made.line.end().checked_since(starts.last().unwrap().checked_add(length).unwrap()).unwrap();
        prop_assert!(Duration::ZERO <= rest && rest < line.bars().meter(index).bar());

        let all = copies(&made, &starts, length);
        let mut near = 0;
        for (copy, (step, start)) in all.iter().zip((0i32..).zip(&starts)) {
            keeps_the_rhythm(&source, copy);
            let place = made.line.bars().place(*start).unwrap();
            let octaves = made.folded.iter().find(|folded| folded.place == place).map_or(0, |folded| folded.octaves);
            // Whether it could have stayed in the octave of the previous copy, on the strings of the shape.
            let mut could_stay = true;
            for (before, after) in source.iter().zip(copy) {
                for (from, to) in pairs(&before.2, &after.2) {
                    let unfolded = midi(to) - 12 * octaves;
                    let allowed = if step == 0 { vec![midi(from)] } else { goes(&sounds, midi(from), step * i32::from(steps).signum()) };
                    prop_assert!(allowed.contains(&unfolded), "{from} to {to} in {scale}, {step} steps: {allowed:?}");
                    let pinned = after.2.pin.string.filter(|_| Some(to) == after.2.pitch);
                    let fits = |&(string, fret): &(StringNo, Fret)| {
                        fret <= region.up_to && (fret.0 > 0 || pinned.is_none()) && pinned.is_none_or(|pinned| pinned == string)
                    };
                    could_stay &= places(unfolded + 12 * near, region).iter().any(fits);
                    if step > 0 && sounds.contains(&midi(to)) {
                        prop_assert!(scale.degrees().any(|name| name == to.name), "{to} in {scale}");
                    }
                }
            }
            prop_assert!(octaves == near || !could_stay, "moved by an octave for nothing");
            near = octaves;
        }
        let windows = casting.windows().iter().filter(|window| stretch.contains(window.start)).count();
        // Moved by half a tuplet, it may be impossible to notate.
        let sixteenth = Duration::of(1, 4);
        let is_plain = source.iter().all(|(_, length, _)| length.is_multiple_of(sixteenth));
        is_whole(&made, windows * count, is_plain && lead.is_multiple_of(sixteenth));

        // A copy with the same intervals on the same strings has the fingers that are fixed, as far as that is possible.
        for copy in &all {
            let is_set = |event: &Event| Pin { stroke: None, ..event.pin } != Pin::default();
            let notes: Vec<_> = source.iter().zip(copy).map(|(before, after)| (before.2, after.2)).filter(|(before, _)| before.pitch.is_some()).collect();
            let frets: BTreeSet<i32> = notes.iter().map(|(before, after)| midi(after.pitch.unwrap()) - midi(before.pitch.unwrap())).collect();
            let place = made.line.bars().place(copy_start(copy)).unwrap();
            let is_new = made.unfixed.contains(&place);
            for (before, after) in &notes {
                prop_assert_eq!(before.pin.stroke, after.pin.stroke);
            }
            if frets.len() == 1 && !is_new && notes.iter().any(|(before, _)| is_set(before)) {
                for (before, after) in &notes {
                    let moved = moved_pin(before.pin, *frets.first().unwrap());
                    // Notes that are fixed to a string have left it if there is no room on the strings of the shape.
                    let left = after.pin.string.is_none();
                    prop_assert!(left || before.pin.string.is_none() || moved.unwrap().string == after.pin.string);
                    prop_assert!(left || before.pin.finger.is_none() || before.pin.finger == after.pin.finger, "{place}");
                }
            }
            prop_assert!(!is_new || notes.iter().any(|(before, _)| is_set(before)));
        }

        let Ok(piece) = Piece::new(made.line.clone(), made.casting.clone()) else { return Ok(()) };
        let mut shapes: Vec<(Outline, Vec<u8>)> = Vec::new();
        let has_fingers = source.iter().any(|(.., event)| event.pin.finger.is_some());
        for (number, copy) in all.iter().enumerate() {
            stays_below(&made, &piece, copy, region, number == 0);
            let Some((outline, frets)) = outline(&piece, copy) else { continue };
            match shapes.iter().find(|((known, _), _)| *known == outline.0) {
                Some(((_, known), at)) => {
                    // Fingers that are fixed may not go where the hand would have to lie beyond the nut.
                    let mut ends = known.iter().zip(&frets).chain(outline.1.iter().zip(at));
                    let is_near_nut = has_fingers && ends.any(|(finger, fret)| finger > fret);
                    prop_assert!(&outline.1 == known || is_near_nut, "{outline:?} {known:?}");
                }
                None => shapes.push((outline, frets)),
            }
        }
    }

    #[test]
    fn twelve_keys((line, casting) in line(), cycle in prop::sample::select(&Cycle::ALL[..]), up_to in 8u8..=14, chords in prop::collection::vec((name(), 0..CHORDS.len(), any::<prop::sample::Index>()), 0..4)) {
        let onset = |at: prop::sample::Index| line.events()[at.index(line.events().len())].onset;
        let mut chords: Vec<(Onset, PitchName, usize)> = chords.into_iter().map(|(root, kind, at)| (onset(at), root, kind)).collect();
        chords.sort_by_key(|(onset, ..)| *onset);
        chords.dedup_by_key(|(onset, ..)| *onset);
        let written = chords.iter().map(|(onset, root, kind)| ChordAt { onset: *onset, symbol: format!("{root}{}", CHORDS[*kind].0).parse().unwrap() });
        let parts = line.events().iter().map(|event| Part { pitch: event.pitch, legato: event.legato, grace: event.grace, ..Part::rest(event.duration) });
        let line = Line::new(line.heading().clone(), line.bars().clone(), parts, written.collect()).unwrap();

        let region = Region { up_to: Fret(up_to), ..Region::default() };
        let made = drill::keys(&line, &casting, cycle, region).unwrap();
        let (bars, all) = (made.line.bars(), Span::new(Onset::ZERO, line.end()).unwrap());
        let source = inside(&line, all);
        // Each copy starts where the pickup does, right after the previous one or less than a bar later.
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

        let piece = Piece::new(made.line.clone(), made.casting.clone());
        let mut classes = BTreeSet::new();
        for (number, copy) in copies(&made, &starts, all.length().unwrap()).iter().enumerate() {
            keeps_the_rhythm(&source, copy);
            if let Ok(piece) = &piece {
                stays_below(&made, piece, copy, region, number == 0);
            }
            let half_steps = cycle.half_steps()[number];
            // The key is set at the first bar line, and changes where the line's key does.
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
            let roots: Vec<PitchName> = made.line.chords().iter().skip(number * chords.len()).take(chords.len()).map(|chord| chord.symbol.chord().unwrap().root()).collect();
            let mut renamed: BTreeSet<String> = BTreeSet::new();
            // Moved letter by letter, some names would need a triple accidental.
            let mut all_named = true;
            let mut rename = |from: Option<PitchName>, to: PitchName| {
                all_named &= from.is_some();
                if let Some(from) = from.filter(|from| *from != to) {
                    renamed.insert(format!("{to} for {from}"));
                }
            };
            // The key may change inside; in a pickup, the first key counts.
            let key_at = |onset: Onset| {
                let (index, _) = line.bars().split(onset).unwrap();
                let home = line.bars().key(index);
                (home, home.moved(half_steps))
            };
            for ((onset, home_root, _), root) in chords.iter().zip(&roots) {
                let (home, key) = key_at(*onset);
                prop_assert_eq!((midi(octave_4(*root)) - midi(octave_4(*home_root)) - half_steps).rem_euclid(12), 0);
                if number == 0 {
                    prop_assert_eq!(root, home_root);
                    continue;
                }
                prop_assert!(root.alter.half_steps().abs() < 2, "{root}");
                prop_assert!(!is_neighbors(*root) || key.alter(root.letter) == root.alter, "{root} in {key}");
                rename(by_letter(*home_root, home, key, *root), *root);
            }
            for (before, after) in source.iter().zip(copy) {
                let chord = chords.partition_point(|(onset, ..)| *onset <= before.0).checked_sub(1);
                let (home, key) = key_at(before.0);
                for (from_pitch, to_pitch) in pairs(&before.2, &after.2) {
                    prop_assert_eq!(midi(to_pitch) - midi(from_pitch), half_steps + 12 * octaves);
                    let name = to_pitch.name;
                    if number == 0 {
                        prop_assert_eq!(name, from_pitch.name);
                        continue;
                    }
                    let literal = by_letter(from_pitch.name, home, key, name);
                    rename(literal, name);
                    // Which tone of the chord it is, by arithmetic.
                    let degree_of = |name: PitchName| chord.and_then(|at| {
                        let letters = (name.letter as usize + 7 - roots[at].letter as usize) % 7;
                        let half_steps = (midi(octave_4(name)) - midi(octave_4(roots[at]))).rem_euclid(12);
                        let tones = CHORDS[chords[at].2].1;
                        (letters == 0 && half_steps == 0 || tones.contains(&(letters, half_steps))).then_some(letters)
                    });
                    let degree = degree_of(name);
                    let in_key = key.alter(name.letter) == name.alter;
                    prop_assert!(name.alter.half_steps().abs() < 2 || matches!(degree, Some(2 | 6)), "{name} in {key}");
                    prop_assert!(!is_neighbors(name) || in_key || degree.is_some(), "{name} in {key}");
                    // If a chord keeps its letters, the notes under it keep theirs too, unless that is hard to read.
                    let keeps = chord.is_none_or(|at| by_letter(chords[at].1, key_at(chords[at].0).0, key_at(chords[at].0).1, roots[at]) == Some(roots[at]));
                    if let Some(literal) = literal.filter(|_| keeps) {
                        let is_easy = literal.alter.half_steps().abs() < 2 && !is_neighbors(literal) || key.alter(literal.letter) == literal.alter;
                        let is_easy = is_easy || literal.alter.half_steps().abs() < 2 && degree_of(literal).is_some();
                        prop_assert!(!is_easy || literal == name, "{literal} as {name} in {key}");
                    }
                }
            }
            let told = made.renamed.iter().find(|renamed| renamed.place == place);
            let told: BTreeSet<String> = told.into_iter().flat_map(|renamed| &renamed.names).map(|name| format!("{} for {}", name.to, name.from)).collect();
            // Each is told where it is.
            for name in made.renamed.iter().flat_map(|renamed| &renamed.names) {
                let chords = made.line.chords().iter().filter_map(|at| Some((at.onset, at.symbol.chord()?)));
                let roots = chords.flat_map(|(onset, chord)| [Some((onset, chord.root())), chord.bass().map(|bass| (onset, bass))]);
                let notes = made.line.events().iter().flat_map(|event| event.pitch.into_iter().chain(event.grace).map(|pitch| Some((event.onset, pitch.name))));
                let mut all = roots.chain(notes).flatten();
                prop_assert!(all.any(|(onset, to)| to == name.to && bars.place(onset).unwrap() == name.place), "{name:?}");
            }
            prop_assert!(told.is_superset(&renamed) && (told == renamed || !all_named), "{told:?} {renamed:?}");
        }
        prop_assert!(classes.is_empty() || classes.len() == 12);
        // A pickup in a bar of another meter may be impossible to notate.
        let changes = line.bars().changes().count() > 0 && line.bars().pickup() > Duration::ZERO;
        is_whole(&made, 12 * casting.windows().len(), !changes);
        prop_assert!(changes || made.plain.is_empty() && made.respelled.is_empty());
    }

    /// A fingering moves with the copies, by as many frets, where the neck and the highest fret allow it.
    #[test]
    fn fingerings_move((line, _) in line(), cycle in prop::sample::select(&Cycle::ALL[..]), up_to in 6u8..=14, picks in prop::collection::vec(0u8..16, 0..24), position in any::<Option<[prop::sample::Index; 2]>>()) {
        let line = fixed(&line, &picks, position);
        let region = Region { up_to: Fret(up_to), ..Region::default() };
        let made = drill::keys(&line, &Casting::default(), cycle, region).unwrap();
        let notes: Vec<&Event> = line.events().iter().filter(|event| event.pitch.is_some()).collect();
        let played: Vec<&Event> = made.line.events().iter().filter(|event| event.pitch.is_some()).collect();
        prop_assert_eq!(played.len(), 12 * notes.len());
        if notes.is_empty() {
            return Ok(());
        }
        let has_pins = notes.iter().any(|note| Pin { stroke: None, ..note.pin } != Pin::default());
        let is_joined = notes.iter().any(|note| note.legato.is_some());
        for copy in played.chunks(notes.len()) {
            let start = copy[0].onset.checked_sub(notes[0].onset.since_start()).unwrap();
            let place = made.line.bars().place(start).unwrap();
            let frets = midi(copy[0].pitch.unwrap()) - midi(notes[0].pitch.unwrap());
            let wanted: Vec<Option<Pin>> = notes.iter().map(|note| moved_pin(note.pin, frets)).collect();
            let above = made.above.contains(&place);
            let could = notes.iter().zip(&wanted).all(|(note, pin)| {
                let key = midi(note.pitch.unwrap()) + frets;
                pin.is_some_and(|pin| Pin { stroke: None, ..pin } == Pin::default() || can_be_fretted(key, pin, Fret(up_to), above))
            });
            let could = could && line.constraints().iter().all(|hold| {
                let Constraint::Position(position) = hold.want else { return false };
                let position = i32::from(position) + frets;
                let highest = if above { Fret(u8::MAX) } else { Fret(up_to) };
                let mut held = notes.iter().filter(|note| hold.span.contains(note.onset));
                // Without notes there, any position will do.
                let is_empty = !notes.iter().any(|note| hold.span.contains(note.onset));
                position > 0 && (is_empty || position <= i32::from(neck().frets())) && held.all(|note| is_reached(midi(note.pitch.unwrap()) + frets, position, highest))
            });
            let is_new = made.unfixed.contains(&place);
            prop_assert!(!(is_new && could) || is_joined, "{place}: could be moved by {frets}");
            prop_assert!(is_new || could, "{place}: can't be moved by {frets}");
            prop_assert!(!is_new || has_pins || !line.constraints().is_empty());
            for ((note, wanted), event) in notes.iter().zip(&wanted).zip(copy) {
                let expected = if is_new { Pin { stroke: note.pin.stroke, ..Pin::default() } } else { wanted.unwrap() };
                prop_assert_eq!(event.pin, expected, "{} by {}", place, frets);
            }
            for hold in line.constraints() {
                let Constraint::Position(position) = hold.want else { continue };
                let start = hold.span.start().checked_add(start.since_start()).unwrap();
                let span = Span::starting(start, hold.span.length().unwrap()).unwrap();
                let wanted = u8::try_from(i32::from(position) + frets).map(|position| ConstraintSpan { span, want: Constraint::Position(position) });
                prop_assert_eq!(!is_new, wanted.is_ok_and(|wanted| made.line.constraints().contains(&wanted)));
            }
        }
        prop_assert!(Piece::new(made.line, made.casting).is_ok() || Piece::new(line, Casting::default()).is_err());
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
