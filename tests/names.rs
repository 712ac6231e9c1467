//! Names of what is in a line: laws over random lines, and measures on real ones. `PROPTEST_CASES` sets the number of random cases.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use halfbar_core::bars::Bars;
use halfbar_core::chord::Degree;
use halfbar_core::font::Face;
use halfbar_core::harmony::{Direction, Kind, Name, Names, names, scales};
use halfbar_core::key::{Key, Mode};
use halfbar_core::line::{ChordAt, Line, Part};
use halfbar_core::pitch::{Interval, Pitch};
use halfbar_core::recast::Casting;
use halfbar_core::scale::Scale;
use halfbar_core::time::{Duration, Onset};
use halfbar_core::{Piece, read, write};
use halfbar_tests::lines::line;
use halfbar_tests::{jazz, outside, random};
use proptest::prelude::*;

/// Where failing cases are kept.
const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/names.regressions");

/// The same line with other pitches and chords.
fn changed(line: &Line, pitches: &[Pitch], chords: Vec<ChordAt>) -> Line {
    let mut pitches = pitches.iter().copied();
    let parts = line.events().iter().map(|event| {
        let pitch = event.pitch.and_then(|_| pitches.next());
        Part { pitch, ..Part::rest(event.duration) }
    });
    Line::new(line.heading().clone(), line.bars().clone(), parts.collect::<Vec<_>>(), chords).unwrap()
}

fn pitches(line: &Line) -> Vec<Pitch> {
    line.events().iter().filter_map(|event| event.pitch).collect()
}

/// A line's chords, half steps higher.
fn chords_up(line: &Line, half_steps: i32) -> Vec<ChordAt> {
    const LETTERS: [i32; 12] = [0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6];
    let interval = Interval { letters: LETTERS[usize::try_from(half_steps).unwrap()], half_steps };
    let chords = line.chords().iter();
    chords.map(|chord| ChordAt { onset: chord.onset, symbol: chord.symbol.transposed(interval) }).collect()
}

proptest! {
    #![proptest_config(random(KEPT))]

    /// Every note is in one group, all charges are counted, and an octave changes nothing.
    #[test]
    fn names_hold((line, _) in line()) {
        let found = names(&line);
        let notes: Vec<_> = line.events().iter().filter(|event| event.pitch.is_some()).map(|event| event.id).collect();
        let mut next = 0;
        for name in found.all() {
            let [first, last] = [name.notes.0, name.notes.1].map(|note| notes.iter().position(|id| *id == note).unwrap());
            // A name may begin with the last note of the one before.
            prop_assert!(first == next || first + 1 == next, "{:?}", name);
            prop_assert!(last >= next, "{:?}", name);
            prop_assert!(!name.to_string().is_empty());
            next = last + 1;
        }
        prop_assert_eq!(next, notes.len());
        prop_assert_eq!(found.cost(), found.all().iter().map(Name::cost).sum::<u32>());

        let up: Option<Vec<Pitch>> = pitches(&line).into_iter().map(|pitch| pitch.transposed(Interval::octaves(1)).filter(|up| up.midi().is_some())).collect();
        if let Some(up) = up {
            let higher = names(&changed(&line, &up, line.chords().to_vec()));
            let plain = names(&changed(&line, &pitches(&line), line.chords().to_vec()));
            let said = |names: &Names| names.all().iter().map(Name::to_string).collect::<Vec<_>>();
            prop_assert_eq!(said(&higher), said(&plain));
        }
    }
}

/// All of a name that doesn't depend on the key.
fn shape(name: &Name) -> String {
    let target = match &name.kind {
        Kind::Chromatic { target } => *target,
        Kind::Approach { target } | Kind::Enclosure { target } => Some(*target),
        _ => None,
    };
    let kind = match &name.kind {
        Kind::Arpeggio { quality, inversion, from, folded, broken, .. } => {
            format!("{quality} {inversion:?} {from} {folded} {broken}")
        }
        Kind::Voicing { quality, position, degrees, .. } => format!("{quality} {position:?} {degrees:?}"),
        Kind::Pentatonic { scale, groups, skips } => format!("{} {groups:?} {skips}", scale.kind().name()),
        Kind::Pattern { scale, cell, advance } => format!("{} {cell:?} {advance}", scale.kind().name()),
        Kind::Run { scale, passing } => format!("{} {passing}", scale.kind().name()),
        Kind::Landing(landing) => landing.to_string(),
        _ => String::new(),
    };
    format!("{:?} {} {kind} {:?} {target:?} {:?}", name.notes, name.kind.name(), name.direction, name.charges)
}

/// A line with chords of all kinds, one every two beats.
fn with_chords(line: &Line, symbols: &[usize]) -> Line {
    const SYMBOLS: [&str; 12] = [
        "Cm7",
        "F7",
        "Bbmaj7",
        "G7alt",
        "Am7b5",
        "D7b9",
        "Eb6",
        "Gm(maj7)",
        "E7#5",
        "Bdim7",
        "NC",
        "Abmaj7#11",
    ];
    let chords = symbols.iter().zip(0..).filter_map(|(index, half)| {
        let onset = Onset::at(2 * half, 1);
        let symbol = SYMBOLS[index % SYMBOLS.len()].parse().unwrap();
        (onset < line.end()).then_some(ChordAt { onset, symbol })
    });
    changed(line, &pitches(line), chords.collect())
}

/// A line in another key, spelled as it was; `None` where a note has more than one accidental here or there. With more, chords would need names with
/// three, and such names are simplified.
fn transposed(line: &Line, interval: Interval) -> Option<Line> {
    let up: Option<Vec<Pitch>> = pitches(line)
        .into_iter()
        .map(|pitch| {
            pitch.transposed(interval).filter(|up| {
                up.midi().is_some()
                    && [pitch, *up].iter().all(|pitch| pitch.name.alter.half_steps().abs() <= 1)
            })
        })
        .collect();
    let chords = line.chords().iter();
    let chords =
        chords.map(|chord| ChordAt { onset: chord.onset, symbol: chord.symbol.transposed(interval) });
    let line = changed(line, &up?, chords.collect());
    let tonic = line.bars().key(0).tonic().transposed(interval);
    let key = Key::new(tonic, Mode::Major).ok()?;
    let old = line.bars();
    let mut bars = Bars::new(old.meter(0)).in_key(key);
    if old.pickup() > Duration::ZERO {
        bars = bars.with_pickup(old.pickup()).unwrap();
    }
    for (index, meter) in old.changes().filter(|(index, _)| *index > 0) {
        bars.change(index, meter).unwrap();
    }
    let parts = line.events().iter().map(|event| Part { pitch: event.pitch, ..Part::rest(event.duration) });
    Line::new(line.heading().clone(), bars, parts.collect::<Vec<_>>(), line.chords().to_vec()).ok()
}

proptest! {
    #![proptest_config(random(KEPT))]

    /// In another key, everything but the names of notes is the same, to the last charge.
    #[test]
    fn transposing_keeps_the_names((line, _) in line(), symbols in prop::collection::vec(0usize..12, 12), which in 0usize..6) {
        const INTERVALS: [(i32, i32); 6] = [(1, 2), (2, 4), (3, 5), (1, 1), (2, 3), (4, 7)];
        let line = with_chords(&line, &symbols);
        let mut intervals = INTERVALS.into_iter().cycle().skip(which).take(INTERVALS.len());
        let moved = intervals.find_map(|(letters, half_steps)| transposed(&line, Interval { letters, half_steps }));
        if let Some(moved) = moved {
            let texts = [&line, &moved].map(|line| write::text::line(line, &Casting::default()).unwrap());
            let (plain, moved) = (names(&line), names(&moved));
            let shapes = |names: &Names| names.all().iter().map(shape).collect::<Vec<_>>();
            for (moved, plain) in shapes(&moved).iter().zip(shapes(&plain)) {
                prop_assert_eq!(moved, &plain, "{:?}", texts);
            }
            prop_assert_eq!(moved.all().len(), plain.all().len());
            let landings = |names: &Names| names.landings().iter().map(ToString::to_string).collect::<Vec<_>>();
            prop_assert_eq!(landings(&moved), landings(&plain));
        }
    }

    /// However a line is recast, and written and read again, its names and what the writer calls its notes are the same.
    #[test]
    fn names_outlast_recasts_and_texts((line, casting) in line()) {
        let plain = Piece::new(line.clone(), Casting::default()).unwrap();
        let named = plain.with_names(names(&line).signs(&line).into());
        let recast = Piece::after(&named, line.clone(), casting.clone()).unwrap();
        prop_assert_eq!(recast.names(), named.names());
        let text = write::text::line(&line, &casting).unwrap();
        let again = read::text(&text).line.unwrap();
        prop_assert_eq!(names(&again).signs(&again), names(&line).signs(&line));
        let signs = names(&line).signs(&line);
        // Sharps and flats are signs; every other letter of a name has an outline.
        for word in signs.iter().filter(|sign| sign.index.is_some()).flat_map(|sign| &sign.short) {
            prop_assert!(Face::Semibold.has(&word.replace(['♭', '♯'], "")), "{}", word);
        }
        // In order, every call once, and nothing drawn over it.
        prop_assert!(signs.is_sorted_by_key(|sign| sign.first));
        let brackets: Vec<_> = signs.iter().filter(|sign| !sign.is_landing).collect();
        prop_assert!(brackets.windows(2).all(|pair| pair[0].last <= pair[1].first));
        for call in line.calls() {
            prop_assert_eq!(brackets.iter().filter(|sign| sign.says == call.words() && sign.index.is_none()).count(), 1);
        }
        // Another note is another name, perhaps.
        let other: Vec<Pitch> = pitches(&line).into_iter().rev().collect();
        if other != pitches(&line) {
            let reversed = changed(&line, &other, line.chords().to_vec());
            let after = Piece::after(&named, reversed, Casting::default()).unwrap();
            prop_assert_eq!(after.names(), None);
        }
    }
}

/// What music21 makes of an arpeggio.
#[derive(serde::Deserialize)]
struct Arpeggio {
    symbol: String,
    quality: String,
    notes: Vec<String>,
    root: String,
    inversion: u8,
}

/// The first name of some eighths, over this chord.
fn first_name(symbol: &str, notes: &[&str]) -> Name {
    let text = format!("@{symbol} {} r:{}/2 |", notes.join(" "), 8 - notes.len());
    let reading = read::text(&text);
    assert!(reading.diagnostics.is_empty(), "{text}: {:?}", reading.diagnostics);
    names(&reading.line.unwrap()).all()[0].clone()
}

/// Source: music21 (PyPI): the roots and inversions of triads and sevenths on 15 tonics. What it gets wrong is left out: see `arpeggios.py`. Law: backwards, an
/// arpeggio is the same one in the other direction.
#[test]
fn arpeggios_have_the_roots_that_music21_finds() {
    let mut count = 0;
    for row in outside("arpeggios.py", &[], "") {
        let theirs: Arpeggio = serde_json::from_str(&row).unwrap();
        let notes: Vec<&str> = theirs.notes.iter().map(String::as_str).collect();
        let backwards: Vec<&str> = notes.iter().rev().copied().collect();
        let [up, down] = [&notes, &backwards].map(|notes| first_name(&theirs.symbol, notes));
        for (name, direction, from) in
            [(&up, Direction::Up, notes[0]), (&down, Direction::Down, backwards[0])]
        {
            let Kind::Arpeggio { root, quality, inversion, .. } = &name.kind else {
                panic!("{}: {name}", theirs.symbol);
            };
            let ours = (root.to_string(), quality.to_string(), *inversion, name.direction);
            assert_eq!(
                ours,
                (theirs.root.clone(), theirs.quality.clone(), Some(theirs.inversion), direction),
                "{} from {from}",
                theirs.symbol
            );
        }
        assert_eq!(up.cost(), down.cost(), "{}", theirs.symbol);
        count += 1;
    }
    println!("{count} arpeggios");
    assert!(count > 500);
}

/// The share of notes that have a name.
fn named(names: &Names) -> (usize, usize) {
    let count = |name: &Name| (name.notes.0.0..=name.notes.1.0).count();
    let all = names.all().iter().map(count).sum();
    (names.drawn().map(count).sum(), all)
}

/// The same pitches in another order, the same each time for a number.
fn shuffled(pitches: &[Pitch], number: u32) -> Vec<Pitch> {
    let mut pitches = pitches.to_vec();
    let mut state = 7919 * number + 1;
    for index in (1..pitches.len()).rev() {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        pitches.swap(index, (state >> 16) as usize % (index + 1));
    }
    pitches
}

/// How many notes of a line are in the first scale of their chord, in any of its scales, and over a chord at all.
fn in_scales(line: &Line, chords: &[ChordAt]) -> [usize; 3] {
    let mut counts = [0; 3];
    for event in line.events() {
        let at = chords.partition_point(|chord| chord.onset <= event.onset);
        let chord = at.checked_sub(1).and_then(|before| chords[before].symbol.chord());
        let (Some(pitch), Some(chord)) = (event.pitch, chord) else { continue };
        let bar = line.bars().split(event.onset).unwrap().0;
        let sound = |pitch: Pitch| pitch.midi().map(|key| key.0 % 12);
        let is_in = |scale: &Scale| {
            let mut tones = scale.degrees().map(|name| Pitch { name, octave: 4 });
            tones.any(|tone| sound(tone) == sound(pitch))
        };
        let scales = scales(chord, line.bars().key(bar));
        if scales.is_empty() {
            continue;
        }
        counts[0] += usize::from(is_in(&scales[0]));
        counts[1] += usize::from(scales.iter().any(is_in));
        counts[2] += 1;
    }
    counts
}

/// How many times the first note of a chord comes after another note.
fn changes_followed(line: &Line) -> usize {
    let notes: Vec<Onset> =
        line.events().iter().filter(|event| event.pitch.is_some()).map(|event| event.onset).collect();
    let chord = |onset: Onset| line.chords().partition_point(|chord| chord.onset <= onset);
    let sounds = |onset: Onset| line.chord_at(onset).is_some_and(|symbol| symbol.chord().is_some());
    notes.windows(2).filter(|pair| chord(pair[0]) != chord(pair[1]) && sounds(pair[1])).count()
}

/// How many ways to shuffle each real line are compared with it.
const SHUFFLES: u32 = 12;

/// Source: eighth-note lines of the Weimar Jazz Database (Jazzomat Research Project, ODbL 1.0), kept apart from this repository. They have no
/// names: what is measured is whether names find order where there is some. Without that folder, the test prints that it is skipped.
#[test]
fn names_find_order_in_real_lines() {
    let Some(folder) = jazz() else { return };
    let (mut own, mut mixed, mut cheaper, mut orders, mut lines) = ((0, 0), (0, 0), 0, 0, 0);
    let (mut first, mut among, mut with_chords) = (0, 0, 0);
    let mut landings = [0; 2];
    // Changes of chord that a note follows: landed on a tone of the chord, on its ninth, and by a step either way; all of them.
    let mut changes = [0; 4];
    let mut in_scale = [[0; 3]; 12];
    for row in outside("jazz.py", &[folder.to_str().unwrap()], "") {
        let row: serde_json::Value = serde_json::from_str(&row).unwrap();
        let reading = read::text(row["text"].as_str().unwrap());
        let Some(line) = reading.line else { continue };
        let found = names(&line);
        let plain = pitches(&line);
        let (now, all) = named(&found);
        own = (own.0 + now, own.1 + all);
        for number in 0..SHUFFLES {
            let mixed_up = shuffled(&plain, number);
            let other = names(&changed(&line, &mixed_up, line.chords().to_vec()));
            let (now, all) = named(&other);
            mixed = (mixed.0 + now, mixed.1 + all);
            // A line on one note has no other order.
            if plain != mixed_up {
                orders += 1;
                cheaper += usize::from(found.cost() < other.cost());
            }
        }
        lines += 1;
        for (half_steps, sums) in (0..).zip(&mut in_scale) {
            let counts = in_scales(&line, &chords_up(&line, half_steps));
            for (sum, count) in sums.iter_mut().zip(counts) {
                *sum += count;
            }
        }
        landings[0] += found.landings().len();
        for landing in found.landings() {
            changes[0] += usize::from(landing.to != Degree::Nine);
            changes[1] += usize::from(landing.to == Degree::Nine);
            changes[2] += usize::from(landing.half_steps != 0);
        }
        changes[3] += changes_followed(&line);
        landings[1] += found.all().iter().filter(|name| matches!(name.kind, Kind::Landing(_))).count();
        if line.chords().iter().any(|chord| chord.symbol.chord().is_some()) {
            with_chords += 1;
            let cost = |half_steps| names(&changed(&line, &plain, chords_up(&line, half_steps))).cost();
            let costs: Vec<u32> = (0..12).map(cost).collect();
            let better = costs[1..].iter().filter(|cost| **cost < costs[0]).count();
            first += usize::from(better == 0);
            among += usize::from(better < 3);
        }
    }
    let share = |part: usize, all: usize| 100 * part / all.max(1);
    let [own, mixed] = [own, mixed].map(|(named, all)| share(named, all));
    let (cheaper, first, among) =
        (share(cheaper, orders), share(first, with_chords), share(among, with_chords));
    println!(
        "{lines} lines: {own} % of the notes are named, {mixed} % when they are shuffled in {SHUFFLES} ways; in {cheaper} % the line costs less"
    );
    println!(
        "of {} changes of chord, {} % are landed on a chord tone, {} % on a 9; {} % by a step either way",
        changes[3],
        share(changes[0], changes[3]),
        share(changes[1], changes[3]),
        share(changes[2], changes[3])
    );
    println!(
        "the true chords are the cheapest of 12 transpositions in {first} %, among the best three in {among} %; {landings:?} landings"
    );
    let of_chords = |which: usize| in_scale.map(|counts| share(counts[which], counts[2]));
    let (first_scale, any_scale) = (of_chords(0), of_chords(1));
    println!(
        "{} % of the notes are in the first scale of their chord, {} % in one of its scales; over chords half steps higher {:?} and {:?} %",
        first_scale[0],
        any_scale[0],
        &first_scale[1..],
        &any_scale[1..]
    );
    for shares in [first_scale, any_scale] {
        assert!(shares[1..].iter().all(|other| *other < shares[0]), "{shares:?}");
    }
    assert!(own >= 85 && own >= mixed + 15, "{own} % and {mixed} %");
    assert!(cheaper >= 90, "{cheaper} %");
    assert!(first >= 45 && among >= 68, "{first} % and {among} %");
}
