//! Checks against things that this project didn't write. Each names its source; `tests/outside/README.md` says how the scripts work.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

use halfbar_core::chord::ChordSymbol;
use halfbar_core::drill::{self, Region, Shape};
use halfbar_core::key::Key;
use halfbar_core::line::Line;
use halfbar_core::meter::Meter;
use halfbar_core::neck::{Fret, Neck, StringNo};
use halfbar_core::notate::{Beam, WrittenBar};
use halfbar_core::pitch::{Interval, MidiKey, Pitch};
use halfbar_core::recast::{Casting, Figure, Spelling, Window};
use halfbar_core::scale::{Scale, ScaleKind, Tone};
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_core::write::dump::Dump;
use halfbar_core::{Error, Piece, read};
use halfbar_tests::lines::{GROUPED, METERS};
use halfbar_tests::tunes::{Tune, line_of, tunes};
use halfbar_tests::{jazz, laws, outside};
use serde::Deserialize;
use serde_json::{Value, json};

/// A piece as `written.py` reads it: a line of JSON.
fn case(name: &str, piece: &Piece) -> Value {
    let dump = Dump::of(piece).unwrap();
    let mut bars: Vec<Vec<Value>> = vec![Vec::new(); piece.written().bars.len()];
    let rests: HashSet<u32> =
        dump.notes.iter().filter(|note| note.pitch.is_none()).map(|note| note.id).collect();
    for written in &dump.written {
        let bar = &piece.written().bars[written.bar - 1];
        let outermost = bar.tuplets_of(bars[written.bar - 1].len()).next();
        let span = outermost
            .map(|tuplet| tuplet.unit.length().checked_mul(tuplet.normal.into()).unwrap().to_string());
        let rest = rests.contains(&written.note);
        bars[written.bar - 1].push(json!({
            "start": written.start, "value": written.value, "dots": written.dots, "tuplets": written.tuplets,
            "tie": written.tie, "beams": written.beams, "rest": rest, "span": span,
        }));
    }
    let bars: Vec<Value> = bars
        .into_iter()
        .zip(&piece.written().bars)
        .map(|(entries, bar)| {
            let (length, full) = (bar.span.length().unwrap(), bar.meter.bar());
            json!({
                "meter": signature(bar.meter), "groups": bar.meter.groups().collect::<Vec<_>>(), "entries": entries,
                "pickup": (length < full).then(|| length.to_string()), "short": bar.begins == Duration::ZERO,
            })
        })
        .collect();
    json!({ "name": name, "meter": signature(piece.line().bars().meter(0)), "bars": bars })
}

fn signature(meter: Meter) -> String {
    format!("{}/{}", meter.count(), meter.unit())
}

#[derive(Deserialize)]
struct Verdict {
    name: String,
    ok: bool,
    problems: Vec<String>,
    #[serde(default)]
    exceptions: Vec<String>,
}

fn verdicts(cases: &[Value]) -> Vec<Verdict> {
    let input: Vec<_> = cases.iter().map(Value::to_string).collect();
    let output = outside("written.py", &[], &input.join("\n"));
    assert_eq!(output.len(), cases.len(), "one verdict for each case");
    output.iter().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// Source: music21 (PyPI), its durations, tuplets and `TimeSignature.getBeams`.
///
/// The figures with one triplet bracket, in both spellings, on beats 1 and 3, alone and beside plain eighths, a half note, quarters, dotted notes and rests.
#[test]
fn music21_agrees_on_every_figure() {
    const BESIDE: [&str; 7] =
        ["C4 D E F", "C4:2", "C4:1 D:1", "C4:3/2 D", "C4 D:1 E", "r:2", "C4:3/4 D:1/4 E:1/4 F:3/4"];
    let mut cases = Vec::new();
    for figure in Figure::all().iter().filter(|figure| figure.spellings().contains(&Spelling::Bracket)) {
        for spelling in [Spelling::Bracket, Spelling::Tied] {
            for beside in BESIDE {
                for (beat, text) in
                    [(1, format!("G3 A B C4 {beside} |")), (3, format!("{beside} G3 A B C4 |"))]
                {
                    let line = line_of(&text);
                    let mut casting = Casting::default();
                    casting.put(Window::new(Onset::at(beat - 1, 1), Arc::clone(figure), spelling));
                    let piece = Piece::new(line, casting).unwrap();
                    assert_eq!(
                        piece.written().bars[0].tuplets.len(),
                        tuplets(figure, spelling),
                        "{} {spelling}",
                        figure.name()
                    );
                    cases.push(case(
                        &format!("{} {spelling} on {beat} beside {beside}", figure.name()),
                        &piece,
                    ));
                }
            }
        }
    }
    assert_eq!(cases.len(), 3 * 2 * 7 * 2);
    for verdict in verdicts(&cases) {
        assert!(verdict.ok && verdict.exceptions.is_empty(), "{}: {:?}", verdict.name, verdict.problems);
    }
}

/// Source: music21 (PyPI), as above: lengths, tuplets and beams of bars generated in every meter, from cells that fill a beat (or,
/// in compound meters, a dotted beat). The bars are the same in every run.
#[test]
fn music21_agrees_in_every_meter() {
    const BEAT: [&str; 9] = [
        "C4 D",
        "C4:1",
        "C4:1/4 D:1/4 E:1/4 F:1/4",
        "C4:3/4 D:1/4",
        "C4:1/4 D:3/4",
        "C4:1/4 D E:1/4",
        "C4 D:1/4 E:1/4",
        "C4:1/3 D:1/3 E:1/3",
        "r C4",
    ];
    const DOTTED: [&str; 8] = [
        "C4 D E",
        "C4:1 D",
        "C4 D:1",
        "C4:3/2",
        "C4:3/4 D:1/4 E",
        "C4 D:1/4 E:1/4 F",
        "r C4 D",
        "C4:1/4 D:1/4 E F:1/4 G:1/4",
    ];
    let meters: BTreeSet<&str> = METERS.into_iter().chain(GROUPED).collect();
    let (mut state, mut cases) = (5u32, Vec::new());
    for meter in meters {
        let groups: Vec<u8> = meter.parse::<Meter>().unwrap().groups().collect();
        let unit = meter.parse::<Meter>().unwrap().unit();
        for _ in 0..100 {
            let mut cell = |cells: &[&'static str]| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                cells[(state >> 16) as usize % cells.len()]
            };
            let bar: Vec<&str> = (groups.iter())
                .flat_map(|&group| match (group, unit) {
                    (3, 8) => vec![cell(&DOTTED)],
                    _ => (0..group * 4 / unit).map(|_| cell(&BEAT)).collect(),
                })
                .collect();
            let text = format!("meter: {meter}\n{} |", bar.join(" "));
            let piece = Piece::new(line_of(&text), Casting::default()).unwrap();
            cases.push(case(&text, &piece));
        }
    }
    assert_eq!(cases.len(), 2_100);
    // Dotted eighth, sixteenth, eighth under one beam: music21 lets the sixteenth's hook point forward. Gould 2011, from memory: it
    // points back to the dotted note that it completes.
    const JUDGED: &str = "beams ['continue', 'backward hook'], music21 ['continue', 'forward hook']";
    let verdicts = verdicts(&cases);
    let (mut judged, mut wrong) = (0, Vec::new());
    for verdict in &verdicts {
        let (hooks, others): (Vec<_>, Vec<_>) =
            verdict.problems.iter().partition(|problem| problem.ends_with(JUDGED));
        judged += hooks.len();
        wrong.extend(others.iter().map(|problem| format!("{}: {problem}", verdict.name)));
    }
    println!("{} bars, {judged} hooks judged by the textbook, {} differences", cases.len(), wrong.len());
    assert!(judged <= 200);
    for problem in wrong.iter().take(12) {
        println!("{problem}");
    }
    assert!(wrong.is_empty());
}

/// One bracket; or, beat by beat, a triplet for each beat that is not two plain eighths.
fn tuplets(figure: &Figure, spelling: Spelling) -> usize {
    match (spelling, figure.name()) {
        (Spelling::Tied, "split-first") => 2,
        _ => 1,
    }
}

/// Where the notes of the two spellings start. Source: arithmetic from the written lengths; how they are swung is tested in
/// `swing::gap`.
#[test]
fn the_spellings_start_where_they_are_written() {
    let figure = Figure::named("split-last").unwrap();
    let onsets = |spelling| {
        let mut onset = Onset::ZERO;
        let starts = figure.stretches(spelling).iter().map(|stretch| {
            let start = onset;
            onset = onset.checked_add(stretch.duration).unwrap();
            start.to_string()
        });
        starts.collect::<Vec<_>>()
    };
    assert_eq!(onsets(Spelling::Bracket), ["0", "2/3", "4/3", "5/3"]);
    assert_eq!(onsets(Spelling::Tied), ["0", "1/2", "4/3", "5/3"]);
}

#[derive(Deserialize)]
struct Place {
    string: u8,
    fret: u8,
    midi: u8,
}

/// Source: scientific pitch notation and MIDI key numbers as music21 (PyPI) has them, for the open strings E2 A2 D3 G3 B3 E4.
#[test]
fn every_fret_sounds_its_published_pitch() {
    let neck = Neck::default();
    let lines = outside("pitches.py", &[], "");
    let places: Vec<Place> = serde_json::from_str(&lines.join("\n")).unwrap();
    assert_eq!(places.len(), 6 * 23);
    for Place { string, fret, midi } in places {
        let sounding = neck.sounding(StringNo(string), Fret(fret)).map(|key| key.0);
        assert_eq!(sounding, Some(midi), "string {string} fret {fret}");
    }
}

/// All laws on a tune: plain, with every possible half-bar recast, and with every figure wherever it fits. Returns the number of windows
/// that were recast, and the three pieces.
fn through(tune: &Tune, first: usize) -> (usize, [Piece; 3]) {
    let line = line_of(&tune.text);
    let (halves, everywhere) = (laws::half_bars(&line, first), laws::everywhere(&line, first));
    for start in plain_half_bars(&line) {
        assert!(halves.at(start).is_some(), "{}: the plain half-bar at {start} is not recast", tune.name);
    }
    let windows = halves.windows().len() + everywhere.windows().len();
    let pieces = [Casting::default(), halves, everywhere].map(|casting| {
        laws::hold(&line, &casting);
        // music21 beams by the meter only.
        let mut by_meter = casting.clone();
        for window in casting.windows().iter().filter(|window| window.spelling == Spelling::Grouped) {
            by_meter.put(Window { spelling: Spelling::Plain, ..window.clone() });
        }
        Piece::new(line.clone(), by_meter).unwrap()
    });
    (windows, pieces)
}

/// Source: the tune collections `ryansMammoth` and `oneills1850` bundled with music21 (melodies printed before 1910), read from the
/// installed package. Also checks the notation of each, plain and recast, against music21's own.
#[test]
fn real_tunes_are_recast_and_restored() {
    let tunes = tunes("tunes.py", &["--limit", "300"]);
    assert_eq!(tunes.len(), 300);
    let (mut windows, mut cases, mut judged_bars) = (0, Vec::new(), Vec::new());
    for (index, tune) in tunes.iter().enumerate() {
        let (count, pieces) = through(tune, index);
        windows += count;
        cases.extend(pieces.iter().map(|piece| case(&tune.name, piece)));
        judged_bars.extend(pieces.iter().map(bars_with_rests_under_beams));
    }
    let mut verdicts = verdicts(&cases);
    // music21 ends a beam at every rest. Gould 2011, from memory: inside a beat it runs over short ones.
    let mut judged = 0;
    for (verdict, bars) in verdicts.iter_mut().zip(&judged_bars) {
        let before = verdict.problems.len();
        verdict.problems.retain(|problem| {
            !(problem.contains("beams") && bars.iter().any(|bar| problem.starts_with(bar)))
        });
        judged += before - verdict.problems.len();
    }
    println!("{judged} beams over rests judged by the textbook");
    assert!(judged <= 60);
    let wrong: Vec<_> = verdicts.iter().filter(|verdict| !verdict.problems.is_empty()).collect();
    let exceptions: usize = verdicts.iter().map(|verdict| verdict.exceptions.len()).sum();
    println!(
        "{} tunes, {windows} windows recast, {} of {} scores differ, {exceptions} exceptions",
        tunes.len(),
        wrong.len(),
        cases.len()
    );
    for verdict in wrong.iter().take(20) {
        println!("{}: {:?}", verdict.name, verdict.problems);
    }
    assert!(wrong.is_empty() && windows > 15_000 && exceptions <= 30);
}

/// `bar 3:` for every bar in which a beam runs over a rest.
fn bars_with_rests_under_beams(piece: &Piece) -> Vec<String> {
    let runs_over = |bar: &WrittenBar| {
        let mut open = false;
        bar.symbols.iter().any(|symbol| {
            match symbol.beams.first() {
                Some(Beam::Begin) => open = true,
                Some(Beam::End) => open = false,
                _ => {}
            }
            open && symbol.pitch.is_none()
        })
    };
    let bars = piece.written().bars.iter().zip(1..).filter(|(bar, _)| runs_over(bar));
    bars.map(|(_, number)| format!("bar {number}:")).collect()
}

#[derive(Deserialize)]
struct Spelled {
    name: String,
    text: String,
    written: Vec<Vec<Source>>,
}

/// A note or rest as its source writes it.
#[derive(Deserialize, PartialEq, Debug)]
struct Source {
    /// `None` if no single note has this length, or if ABC counts a tuplet differently than print.
    value: Option<String>,
    dots: u8,
    tuplets: Vec<[u8; 2]>,
    tie: String,
    rest: bool,
}

/// How a bar is written here, in the same terms as the sources.
fn as_source(piece: &Piece) -> Vec<Vec<Source>> {
    let mut bars: Vec<Vec<Source>> = piece.written().bars.iter().map(|_| Vec::new()).collect();
    let dump = Dump::of(piece).unwrap();
    for written in dump.written {
        let bar = &piece.written().bars[written.bar - 1];
        let rest = bar.symbols[bars[written.bar - 1].len()].pitch.is_none();
        bars[written.bar - 1].push(Source {
            value: Some(written.value.into()),
            dots: written.dots,
            tuplets: written.tuplets,
            tie: written.tie.into(),
            rest,
        });
    }
    bars
}

/// Source: the collections `ryansMammoth`, `oneills1850`, `airdsAirs` and `northumbrianminstrelsyopus` bundled with music21 (melodies
/// printed 1778 to 1903), with the note values of their own encodings.
///
/// The differences, some of which are printed, are cases where printed music varies: a tie or a dot across a beat of 3/4, a six or two threes,
/// dotted rests; and sources that hide a dotted beat of 6/8 or 6/4.
#[test]
fn real_tunes_are_spelled_as_their_sources_are() {
    let lines = outside("spelled.py", &[], "");
    let (mut tunes, mut unwritable, mut all) = (0, 0, (0, 0));
    let mut meters = BTreeMap::new();
    let mut differences: Vec<String> = Vec::new();
    for line in &lines {
        let tune: Spelled = serde_json::from_str(line).unwrap();
        let line = line_of(&tune.text);
        if let Err(error) = Piece::new(line.clone(), Casting::default()) {
            // Nine notes in a dotted eighth: a flourish that occurs once.
            println!("{}: {error}", tune.name);
            unwritable += 1;
            continue;
        }
        laws::hold(&line, &Casting::default());
        let piece = Piece::new(line, Casting::default()).unwrap();
        tunes += 1;
        let ours = as_source(&piece);
        assert_eq!(ours.len(), tune.written.len(), "{}", tune.name);
        for (index, (ours, source)) in ours.iter().zip(&tune.written).enumerate() {
            if source.iter().any(|note| note.value.is_none()) {
                continue;
            }
            let meter = signature(piece.written().bars[index].meter);
            let counts: &mut (u32, u32) = meters.entry(meter.clone()).or_default();
            let same = ours == source;
            counts.0 += u32::from(same);
            counts.1 += 1;
            all = (all.0 + u32::from(same), all.1 + 1);
            if !same {
                differences.push(format!(
                    "{meter} {} bar {}\n  ours   {}\n  source {}",
                    tune.name,
                    index,
                    shown(ours),
                    shown(source)
                ));
            }
        }
    }
    println!("{tunes} tunes: {} of {} bars are spelled as in the source", all.0, all.1);
    for (meter, (same, bars)) in &meters {
        println!("  {meter}: {same} of {bars}");
    }
    for difference in differences.iter().step_by((differences.len() / 30).max(1)) {
        println!("{difference}");
    }
    // Eight meters have at least a hundred bars.
    assert!(tunes >= 1_458 && meters.values().filter(|(_, bars)| *bars >= 100).count() >= 8);
    assert!(unwritable <= 1);
    assert!(all.0 >= 23_650 && all.1 >= 23_800);
}

/// `e. s q~`: letters for the values, dots, a tie, small `r` before a rest.
fn shown(bar: &[Source]) -> String {
    let notes = bar.iter().map(|note| {
        let value = note.value.as_deref().unwrap_or("?");
        let letter = match value {
            "16th" => "s",
            "32nd" => "t",
            other => &other[..1],
        };
        let tuplets: String = note.tuplets.iter().map(|[actual, _]| actual.to_string()).collect();
        let tie = if matches!(note.tie.as_str(), "start" | "both") { "~" } else { "" };
        format!("{}{letter}{}{tuplets}{tie}", if note.rest { "r" } else { "" }, ".".repeat(note.dots.into()))
    });
    notes.collect::<Vec<_>>().join(" ")
}

/// Where four plain eighths fill a half-bar.
fn plain_half_bars(line: &Line) -> Vec<Onset> {
    let eighth = |onset: Onset| {
        line.events().binary_search_by_key(&onset, |event| event.onset).is_ok_and(|index| {
            let event = &line.events()[index];
            event.pitch.is_some() && event.duration == Duration::EIGHTH
        })
    };
    let halves = (0..2 * line.bar_count()).map(|half| Onset::at(2 * i32::try_from(half).unwrap(), 1));
    let plain = halves
        .filter(|&start| (0..4).all(|index| eighth(start.checked_add(Duration::of(index, 2)).unwrap())));
    plain.collect()
}

/// Source: eighth-note lines of the Weimar Jazz Database (Jazzomat Research Project, ODbL 1.0), kept apart from this repository in
/// `../shared/outside/jazz`, or where `HALFBAR_JAZZ` says. Without that folder, the test prints that it is skipped.
#[test]
fn real_jazz_lines_are_recast_and_restored() {
    let Some(folder) = jazz() else { return };
    let lines = tunes("jazz.py", &[folder.to_str().unwrap()]);
    let (mut plain, mut windows) = (0, 0);
    for (index, line) in lines.iter().enumerate() {
        windows += through(line, index).0;
        plain += usize::from(line.plain);
    }
    println!("{} lines ({plain} plain), {windows} windows recast", lines.len());
    assert!(lines.len() >= 934 && plain >= 264, "only {} lines, {plain} plain", lines.len());
    assert!(windows > 5_400, "only {windows} windows");
}

#[derive(Deserialize)]
#[serde(tag = "what", rename_all = "lowercase")]
enum Known {
    Scale { scale: String, names: Option<Vec<String>>, sounds: Option<Vec<i32>> },
    Step { scale: String, pitch: String, steps: i32, degree: usize, there: String },
    Interval { pitch: String, letters: i32, half_steps: i32, signs: u8, there: String },
    Key { key: String, sharps: i8, names: Vec<Marked> },
}

#[derive(Deserialize)]
struct Marked {
    midi: u8,
    pitch: String,
    own: bool,
}

/// The chords of a sequence through a scale, from the seventh chord on its tonic: in root position, thirds of the scale, whose tones music21 has
/// named. Returns whether there are such chords: not every scale has them on all of its tones.
fn seventh_chords(scale: Scale, names: &[String]) -> bool {
    // In every scale, one of these is the chord on the tonic, if there is any.
    const KINDS: [&str; 9] = ["maj7", "m7", "7", "m7b5", "dim7", "m(maj7)", "maj7#5", "7#5", "7b5"];
    let third = |root: usize, number: usize| names[(root + 2 * number) % names.len()].as_str();
    let tones = |symbol: &ChordSymbol| -> Vec<String> {
        symbol.chord().unwrap().tones().map(|(_, name)| name.to_string()).collect()
    };
    let symbols = KINDS.iter().map(|kind| format!("{}{kind}", names[0]).parse::<ChordSymbol>().unwrap());
    let Some(first) =
        symbols.into_iter().find(|symbol| tones(symbol) == [0, 1, 2, 3].map(|number| third(0, number)))
    else {
        return false;
    };
    let reading = read::text(&format!("@{first} {}3:4 |", names[0]));
    let (line, stretch) = (reading.line.unwrap(), Span::new(Onset::ZERO, Onset::at(4, 1)).unwrap());
    let shape = Shape { stretch, scale, steps: 6, region: Region::default() };
    let made = drill::sequence(&line, &reading.casting, &shape).unwrap();
    for (root, chord) in made.line.chords().iter().enumerate() {
        assert_eq!(
            tones(&chord.symbol),
            [0, 1, 2, 3].map(|number| third(root, number)),
            "{} in {scale}",
            chord.symbol
        );
    }
    assert!([0, 7].contains(&made.line.chords().len()), "{first} in {scale}");
    !made.line.chords().is_empty()
}

/// Source: music21 (PyPI), its scale classes, `ConcreteScale.nextPitch` and `getScaleDegreeFromPitch`, `Interval.transposePitch`, and `Key`:
/// `scales.py` says which.
#[test]
fn music21_agrees_on_scales_keys_and_intervals() {
    let pitch = |text: &str| text.parse::<Pitch>().unwrap();
    let (mut kinds, mut walked, mut counts) = (BTreeSet::new(), BTreeSet::new(), [0; 4]);
    let mut with_chords: BTreeMap<&str, usize> = BTreeMap::new();
    for line in outside("scales.py", &[], "") {
        match serde_json::from_str(&line).unwrap() {
            Known::Scale { scale: text, names, sounds } => {
                counts[0] += 1;
                let Some(names) = names else {
                    let error = Error::from(text.parse::<Scale>().unwrap_err());
                    assert_eq!(error.code(), "scale-spelling", "{text}");
                    continue;
                };
                let scale: Scale = text.parse().unwrap();
                kinds.insert(scale.kind().name());
                let ours: Vec<_> = scale.degrees().map(|name| name.to_string()).collect();
                assert_eq!(ours, names, "{text}");
                if names.len() == 7 && seventh_chords(scale, &names) {
                    *with_chords.entry(scale.kind().name()).or_default() += 1;
                }
                if let Some(sounds) = sounds {
                    let keys = scale.degrees().map(|name| Pitch { name, octave: 4 }.midi().unwrap());
                    let mut classes: Vec<_> = keys.map(|key| i32::from(key.0 % 12)).collect();
                    classes.sort_unstable();
                    assert_eq!(classes, sounds, "{text}");
                }
            }
            Known::Step { scale: text, pitch: from, steps, degree, there } => {
                counts[1] += 1;
                let (scale, from): (Scale, _) = (text.parse().unwrap(), pitch(&from));
                walked.insert(scale.kind().name());
                let tone = scale.place(from);
                let moved = scale.pitch(Tone { index: tone.index + steps, ..tone });
                assert_eq!(moved, Some(pitch(&there)), "{steps} steps from {from} in {text}");
                assert_eq!(scale.degree(degree), Some(from.name), "degree {degree} of {text}");
                let tones = i32::try_from(scale.degrees().count()).unwrap();
                assert_eq!(tone.index.rem_euclid(tones) + 1, i32::try_from(degree).unwrap());
            }
            Known::Interval { pitch: from, letters, half_steps, signs, there } => {
                counts[2] += 1;
                let (from, there) = (pitch(&from), pitch(&there));
                let ours = from.transposed(Interval { letters, half_steps }).unwrap();
                assert_eq!(ours.midi(), there.midi(), "{from} {letters} {half_steps}");
                // The choice of an enharmonic name is a matter of taste: music21 has C#, Eb, F#, G# and Bb.
                match signs > 2 {
                    true => assert!(ours.name.alter.half_steps().abs() <= 1, "{from} {letters} {half_steps}"),
                    false => {
                        assert_eq!(ours, there, "{from} {letters} {half_steps}");
                        assert_eq!(Interval::between(from, there), Interval { letters, half_steps });
                    }
                }
            }
            Known::Key { key: text, sharps, names } => {
                counts[3] += 1;
                let key: Key = text.parse().unwrap();
                assert_eq!(key.fifths(), sharps, "{text}");
                for Marked { midi, pitch: name, own } in names {
                    assert_eq!(key.spell(MidiKey(midi)), Some(pitch(&name)), "{midi} in {text}");
                    let name = pitch(&name).name;
                    assert!(!own || key.alter(name.letter) == name.alter, "{name} in {text}");
                }
            }
        }
    }
    println!("{counts:?} scales, steps, intervals and keys; seventh chords on every tone: {with_chords:?}");
    // The keys whose seventh chords every player knows.
    assert!(
        ["major", "natural minor", "harmonic minor", "melodic minor"]
            .iter()
            .all(|kind| with_chords[kind] >= 15)
    );
    assert_eq!((kinds.len(), walked.len()), (ScaleKind::all().len(), ScaleKind::all().len()));
    assert_eq!(counts, [21 * 28, 7_880, 3_000, 30]);
}
