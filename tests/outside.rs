//! Checks against what this project did not write. Each names its source; `tests/outside/README.md` tells how the scripts work.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't go on has to stop"
)]

use std::collections::HashSet;
use std::sync::Arc;

use halfbar_core::line::Line;
use halfbar_core::recast::{Casting, Figure, Spelling, Window};
use halfbar_core::time::{Duration, Onset};
use halfbar_core::tuning::{Fret, StringNo, Tuning};
use halfbar_core::write::dump::Dump;
use halfbar_core::{Piece, read};
use halfbar_tests::{laws, outside, top};
use serde::Deserialize;
use serde_json::{Value, json};

fn line_of(text: &str) -> Line {
    let reading = read::text(text);
    assert!(reading.diagnostics.is_empty(), "{}\n{text}", reading.diagnostics[0].render(text));
    reading.line.unwrap()
}

/// A piece as `written.py` reads it: a line of JSON.
fn case(name: &str, piece: &Piece) -> Value {
    let dump = Dump::of(piece).unwrap();
    let mut bars: Vec<Vec<Value>> = vec![Vec::new(); piece.written.bars.len()];
    let rests: HashSet<u32> =
        dump.notes.iter().filter(|note| note.pitch.is_none()).map(|note| note.id).collect();
    for written in &dump.written {
        let bar = &piece.written.bars[written.bar - 1];
        let outermost = bar.tuplets_of(bars[written.bar - 1].len()).next();
        let span = outermost.map(|tuplet| (tuplet.unit.length() * tuplet.normal.into()).unwrap().to_string());
        let rest = rests.contains(&written.note);
        bars[written.bar - 1].push(json!({
            "start": written.start, "value": written.value, "dots": written.dots, "tuplets": written.tuplets,
            "tie": written.tie, "beams": written.beams, "rest": rest, "span": span,
        }));
    }
    json!({ "name": name, "meter": dump.line.meter, "bars": bars })
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
/// The figures of one triplet bracket, in both spellings, on beats 1 and 3, alone and beside plain eighths, a half note, quarters, dotted notes and rests.
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
                    casting.put(Window {
                        start: Onset::at(beat - 1, 1),
                        figure: Arc::clone(figure),
                        spelling,
                    });
                    let piece = Piece::new(line, casting).unwrap();
                    assert_eq!(
                        piece.written.bars[0].tuplets.len(),
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
/// in compound meters, a dotted beat). The same bars at every run.
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
    let meters = [
        ("4/4", &BEAT[..], 4),
        ("2/2", &BEAT, 4),
        ("2/4", &BEAT, 2),
        ("3/4", &BEAT, 3),
        ("5/4", &BEAT, 5),
        ("3/8", &DOTTED, 1),
        ("6/8", &DOTTED, 2),
        ("9/8", &DOTTED, 3),
        ("12/8", &DOTTED, 4),
    ];
    let (mut state, mut cases) = (5u32, Vec::new());
    for (meter, cells, beats) in meters {
        for _ in 0..250 {
            let bar: Vec<&str> = (0..beats)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    cells[(state >> 16) as usize % cells.len()]
                })
                .collect();
            let text = format!("meter: {meter}\n{} |", bar.join(" "));
            let piece = Piece::new(line_of(&text), Casting::default()).unwrap();
            cases.push(case(&text, &piece));
        }
    }
    assert!(cases.len() >= 2_000);
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
    println!("{} bars, {judged} hooks judged by the handbook, {} differences", cases.len(), wrong.len());
    for problem in wrong.iter().take(12) {
        println!("{problem}");
    }
    assert!(wrong.is_empty());
}

/// One bracket; or, beat by beat, one triplet for each beat that is not two plain eighths.
fn tuplets(figure: &Figure, spelling: Spelling) -> usize {
    match (spelling, figure.name()) {
        (Spelling::Tied, "split-first") => 2,
        _ => 1,
    }
}

/// Where the notes of the two spellings start. Source: arithmetic from the written lengths; what swing makes of them is tested beside
/// `perform::apart`.
#[test]
fn the_spellings_start_where_they_are_written() {
    let figure = Figure::named("split-last").unwrap();
    let onsets = |spelling| {
        let mut onset = Onset::ZERO;
        let starts = figure.stretches(spelling).iter().map(|stretch| {
            let start = onset;
            onset = (onset + stretch.duration).unwrap();
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
    let neck = Tuning::standard();
    let lines = outside("pitches.py", &[], "");
    let places: Vec<Place> = serde_json::from_str(&lines.join("\n")).unwrap();
    assert_eq!(places.len(), 6 * 23);
    for Place { string, fret, midi } in places {
        let sounding = neck.sounding(StringNo(string), Fret(fret)).map(|key| key.0);
        assert_eq!(sounding, Some(midi), "string {string} fret {fret}");
    }
}

#[derive(Deserialize)]
struct Tune {
    name: String,
    text: String,
    #[serde(default)]
    plain: bool,
}

fn tunes(script: &str, arguments: &[&str]) -> Vec<Tune> {
    outside(script, arguments, "").iter().map(|line| serde_json::from_str(line).unwrap()).collect()
}

/// All laws on a tune: plain, with every half-bar recast that can be, and with every figure wherever it fits. Gives how many windows
/// were recast, and the three pieces.
fn through(tune: &Tune, first: usize) -> (usize, [Piece; 3]) {
    let line = line_of(&tune.text);
    let (halves, everywhere) = (laws::half_bars(&line, first), laws::everywhere(&line, first));
    for start in plain_half_bars(&line) {
        assert!(halves.at(start).is_some(), "{}: the plain half-bar at {start} is not recast", tune.name);
    }
    let windows = halves.windows().len() + everywhere.windows().len();
    let pieces = [Casting::default(), halves, everywhere].map(|casting| {
        laws::hold(&line, &casting);
        Piece::new(line.clone(), casting).unwrap()
    });
    (windows, pieces)
}

/// Source: the tune collections `ryansMammoth` and `oneills1850` bundled with music21 (melodies printed before 1910), read from the
/// installed package. Also checks the notation of each, plain and recast, against music21's own.
#[test]
fn real_tunes_are_recast_and_restored() {
    let tunes = tunes("tunes.py", &["--limit", "300"]);
    assert!(tunes.len() >= 200, "only {} tunes", tunes.len());
    let (mut windows, mut cases) = (0, Vec::new());
    for (index, tune) in tunes.iter().enumerate() {
        let (count, pieces) = through(tune, index);
        windows += count;
        cases.extend(pieces.iter().map(|piece| case(&tune.name, piece)));
    }
    let verdicts = verdicts(&cases);
    let wrong: Vec<_> = verdicts.iter().filter(|verdict| !verdict.ok).collect();
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
    assert!(wrong.is_empty());
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
    let plain = halves.filter(|&start| (0..4).all(|index| eighth((start + Duration::of(index, 2)).unwrap())));
    plain.collect()
}

/// Source: eighth-note lines of the Weimar Jazz Database (Jazzomat Research Project, ODbL 1.0), kept apart from this repository in
/// `../shared/outside/jazz`, or where `HALFBAR_JAZZ` says. Without that folder the test says that it is skipped.
#[test]
fn real_jazz_lines_are_recast_and_restored() {
    let folder =
        std::env::var_os("HALFBAR_JAZZ").map_or_else(|| top().join("../shared/outside/jazz"), Into::into);
    if !folder.join("lines.jsonl").exists() {
        println!("SKIPPED: there is no {}", folder.join("lines.jsonl").display());
        return;
    }
    let lines = tunes("jazz.py", &[folder.to_str().unwrap()]);
    let (mut plain, mut windows) = (0, 0);
    for (index, line) in lines.iter().enumerate() {
        windows += through(line, index).0;
        plain += usize::from(line.plain);
    }
    println!("{} lines ({plain} plain), {windows} windows recast", lines.len());
    assert!(plain >= 264, "only {plain} plain lines");
    assert!(windows > 1000, "only {windows} windows");
}
