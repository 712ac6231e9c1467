//! MIDI files, in: what is exact comes back exactly, and what was played by hand is understood.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    reason = "a test that can't continue has to stop"
)]

use std::collections::BTreeSet;

use halfbar_core::exchange::midi::{MidiOptions, document};
use halfbar_core::exchange::{Choice, Imported, Keep, open};
use halfbar_core::line::{Feel, Heading, Line, SwingRatio, Tempo};
use halfbar_core::recast::{self, Casting, Figure, Window};
use halfbar_core::time::{Duration, Onset};
use halfbar_core::{Piece, read, write};
use halfbar_tests::midi::{Jitter, file, key, meter, note, played};
use halfbar_tests::{gallery, lines, outside, target};
use midly::num::{u4, u7, u24};
use midly::{MetaMessage, MidiMessage, TrackEventKind};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng};

fn take(bytes: &[u8]) -> Result<Imported, String> {
    let contents = open(bytes).map_err(|error| error.to_string())?;
    let choice = contents.usual().ok_or("no notes")?;
    contents.take(&choice).map_err(|error| error.to_string())
}

/// When the notes of a piece start, from the bar line at or before its first note, and their keys.
fn onsets(piece: &Piece) -> Vec<(Duration, u8)> {
    let first = piece.line().bars().downbeat(0).unwrap();
    let events = piece.timed().events.iter();
    let notes =
        events.filter_map(|event| Some((event.onset.checked_since(first).unwrap(), event.pitch?.midi()?.0)));
    notes.collect()
}

fn piece(imported: Imported) -> Piece {
    Piece::new(imported.line, imported.casting).unwrap()
}

/// How many half-bars with notes a piece has, and in how many another one has the same notes at the same times.
fn right(truth: &Piece, other: &Piece) -> (usize, usize) {
    let bars = truth.line().bars();
    let first = bars.downbeat(0).unwrap();
    let (ours, theirs) = (onsets(truth), onsets(other));
    let (mut right, mut all) = (0, 0);
    for index in 0..truth.line().bar_count() {
        let meter = bars.meter(index);
        let start = bars.downbeat(index).unwrap().checked_since(first).unwrap();
        let mut cuts = meter.window_starts(false);
        cuts.push(meter.bar());
        for cut in cuts.windows(2) {
            let (from, to) = (start.checked_add(cut[0]).unwrap(), start.checked_add(cut[1]).unwrap());
            let inside = |notes: &[(Duration, u8)]| -> BTreeSet<(i64, i64, u8)> {
                let inside = notes.iter().filter(|(at, _)| (from..to).contains(at));
                inside.map(|(at, key)| (at.numer(), at.denom(), *key)).collect()
            };
            let (ours, theirs) = (inside(&ours), inside(&theirs));
            if !ours.is_empty() {
                all += 1;
                right += usize::from(ours == theirs);
            }
        }
    }
    (right, all)
}

/// How far apart notes may start that sound together, in seconds.
const ALIKE: f64 = 0.002;

/// When the notes of a piece sound, in seconds from the first one, and their keys.
fn heard(piece: &Piece) -> Vec<(f64, u8)> {
    let sounds = piece.sounds().unwrap();
    let seconds = |at: Onset| piece.performed().seconds(at);
    let first = sounds.first().map_or(0.0, |sound| seconds(sound.start));
    sounds.iter().map(|sound| (seconds(sound.start) - first, sound.key.0)).collect()
}

/// A file of ours as it is read without the line's text.
fn there_and_back(piece: &Piece, options: &MidiOptions) -> Result<Piece, String> {
    let bytes = document(piece, "", options).map_err(|error| error.to_string())?;
    Ok(self::piece(take(&bytes)?))
}

#[test]
fn own_files_are_exact_without_their_text() {
    let options = MidiOptions::default();
    let (mut right_of_all, mut all, mut same, mut sounds) = (0, 0, 0, 0);
    let mut wrong = Vec::new();
    let count = ProptestConfig::default().cases.min(1_000) as usize;
    let of_gallery = gallery::cases().into_iter().map(|case| (case.name, case.piece));
    let random = lines::sample(count)
        .enumerate()
        .map(|(index, (line, casting))| (format!("random {index}"), Piece::new(line, casting).unwrap()));
    for (name, piece) in of_gallery.chain(random) {
        // A MIDI file doesn't say what neck it is for.
        if piece.line().heading().neck != Heading::default().neck {
            continue;
        }
        match there_and_back(&piece, &options) {
            Ok(back) => {
                let (right, of) = right(&piece, &back);
                (right_of_all, all) = (right_of_all + right, all + of);
                let (ours, theirs) = (heard(&piece), heard(&back));
                let is_alike = |(one, other): (&(f64, u8), &(f64, u8))| {
                    one.1 == other.1 && (one.0 - other.0).abs() < ALIKE
                };
                sounds += ours.len();
                same += ours.iter().zip(&theirs).filter(|pair| is_alike(*pair)).count();
                if right < of {
                    wrong.push(format!("{name}: {right} of {of}"));
                }
            }
            Err(error) => {
                all += 1;
                wrong.push(format!("{name}: {error}"));
            }
        }
    }
    println!(
        "own files without text: {right_of_all} of {all} half-bars right; {same} of {sounds} notes sound when they did"
    );
    assert!(right_of_all * 100 >= 97 * all, "{right_of_all} of {all}");
    for wrong in wrong.iter().take(40) {
        println!("  {wrong}");
    }
}

/// Law (there and back): with its text, a line comes back to the byte from whatever was written with it, and nothing is missed; with another note,
/// the notes are the file's.
#[test]
fn own_files_come_back_to_the_byte() {
    let click = Some("2+4".parse().unwrap());
    let mut tried = 0;
    for gallery::Case { name, piece, .. } in gallery::cases() {
        let text = write::text::line(piece.line(), piece.casting()).unwrap();
        for (straight, count_in, comp) in
            [(false, 0, false), (true, 1, true), (false, 4, true), (true, 2, false)]
        {
            let options = MidiOptions { straight, click, count_in, comp };
            let imported = take(&document(&piece, &text, &options).unwrap()).unwrap();
            assert_eq!((imported.text, imported.remarks), (text.clone(), vec![]), "{name}: {options:?}");
            tried += 1;
        }
    }
    assert!(tried > 100);
    let text = "C4 D E F  G A B C |\n";
    let other = read::text("C4 D E F  G A B D |\n");
    let other = Piece::new(other.line.unwrap(), other.casting).unwrap();
    let imported =
        take(&document(&other, text, &MidiOptions { count_in: 1, ..MidiOptions::default() }).unwrap())
            .unwrap();
    assert!(imported.text.ends_with("B D |\n"), "{}", imported.text);
}

/// Lines in eighths with figures in two half-bars of five, as they are brought here.
fn figured(rng: &mut TestRng, tempo: u16, feel: Feel) -> Piece {
    let bars = 8;
    let mut text = String::new();
    let mut at: i32 = 55;
    for _ in 0..bars {
        let mut left = 8;
        while left > 0 {
            at = (at + rng.random_range(-4..=4)).clamp(45, 79);
            let name = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"][(at % 12) as usize];
            let pitch = format!("{name}{}", at / 12 - 1);
            // Some notes are longer, and there are some rests.
            match rng.random_range(0..20) {
                0 | 1 if left > 1 => {
                    text += &format!("{pitch}:1 ");
                    left -= 2;
                }
                2 => {
                    text += "r:1/2 ";
                    left -= 1;
                }
                _ => {
                    text += &format!("{pitch}:1/2 ");
                    left -= 1;
                }
            }
        }
        text += "| ";
    }
    let line = read::text(&text).line.unwrap();
    let heading = Heading { tempo: Tempo::new(tempo).unwrap(), feel, ..line.heading().clone() };
    let line: Line = line.with_heading(heading);
    let mut casting = Casting::default();
    let figures: Vec<_> = Figure::all().iter().filter(|figure| !figure.is_accented()).collect();
    for half in 0..2 * bars {
        if rng.random_range(0..5) < 2 {
            let figure = figures[rng.random_range(0..figures.len())];
            let spelling = figure.spellings()[rng.random_range(0..figure.spellings().len())];
            let window = Window::new(Onset::at(2 * half, 1), figure.clone(), spelling);
            if recast::can_recast(&line, &window).is_ok() && !casting.overlaps(&window) {
                casting.put(window);
            }
        }
    }
    Piece::new(line, casting).unwrap()
}

/// How many half-bars are right of all, of lines played with jitter.
fn understood(jitter: Jitter, lines: usize, number: u8, show: bool) -> (usize, usize) {
    let mut rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[number; 32]);
    let (mut right_of_all, mut all) = (0, 0);
    let ratio = |hundredths| Feel::Swing(SwingRatio::from_hundredths(hundredths).unwrap());
    for index in 0..lines {
        let tempo = rng.random_range(80..=160);
        let feel = [Feel::Straight, Feel::SwingAuto, ratio(150), ratio(200)][index % 4];
        let piece = figured(&mut rng, tempo, feel);
        let bytes = played(&piece, jitter, &mut rng);
        let back = self::piece(take(&bytes).unwrap());
        let (right, of) = right(&piece, &back);
        if show && right < of {
            println!("tempo {tempo} feel {feel} -> {}: {right} of {of}", back.line().heading().feel);
        }
        (right_of_all, all) = (right_of_all + right, all + of);
    }
    (right_of_all, all)
}

#[test]
fn what_is_played_by_hand_is_understood() {
    for (jitter, goal) in [
        (Jitter::Normal(0.010), 0.95),
        (Jitter::Normal(0.020), 0.88),
        (Jitter::Uniform(0.010), 0.95),
        (Jitter::Uniform(0.020), 0.88),
    ] {
        let (right, all) = understood(jitter, 100, 7, std::env::var("SHOW").is_ok());
        let share = right as f64 / all as f64;
        println!(
            "{jitter:?}: {right} of {all} half-bars right, {:.1} % (goal {:.0} %)",
            100.0 * share,
            100.0 * goal
        );
    }
}

/// A file with a C major signature and notes from and to ticks of 480 in a quarter note.
fn notes(of: &[(u8, u32, u32)]) -> Vec<(u32, TrackEventKind<'static>)> {
    let notes = of.iter().flat_map(|&(pitch, from, to)| note(0, pitch, from, to));
    [key(0, 0, false)].into_iter().chain(notes).collect()
}

/// The notes and rests of a line: onset, length, and pitch or `r`.
fn events(line: &Line) -> String {
    let events = line.events().iter().map(|event| {
        let pitch = event.pitch.map_or("r".to_string(), |pitch| pitch.to_string());
        format!("{pitch} {} {}", event.onset, event.duration)
    });
    events.collect::<Vec<_>>().join(", ")
}

fn taken(of: &[(u32, TrackEventKind<'_>)]) -> Imported {
    take(&file(480, of)).unwrap()
}

#[test]
fn gaps_are_legato_or_rests() {
    // The first gap is a 16th less a tick, the second one a 16th.
    let imported = taken(&notes(&[(60, 0, 361), (62, 480, 840), (64, 960, 1920)]));
    assert_eq!(events(&imported.line), "C4 0 1, D4 1 3/4, r 7/4 1/4, E4 2 2");
    // The bar is filled up.
    assert_eq!(events(&taken(&notes(&[(60, 0, 480)])).line), "C4 0 1, r 1 3");
    // Notes that overlap a little follow one another.
    assert_eq!(events(&taken(&notes(&[(60, 0, 500), (62, 480, 1920)])).line), "C4 0 1, D4 1 3");
}

#[test]
fn silence_at_the_start_is_a_pickup() {
    let imported = taken(&notes(&[(60, 1440, 1920), (62, 1920, 3840)]));
    assert_eq!(imported.line.bars().pickup(), Duration::QUARTER);
    assert_eq!(events(&imported.line), "C4 0 1, D4 1 4");
    // A whole bar of silence isn't.
    let imported = taken(&notes(&[(60, 1920, 3840)]));
    assert_eq!(imported.line.bars().pickup(), Duration::ZERO);
    // A first bar with a meter of its own is one, too.
    let short = [meter(0, 1, 2), meter(480, 4, 2)];
    let imported = taken(&[&short, notes(&[(60, 0, 480), (62, 480, 2400)]).as_slice()].concat());
    assert_eq!((imported.line.bars().pickup(), imported.line.bar_count()), (Duration::QUARTER, 2));
}

#[test]
fn meters_keys_chords_and_tempo_are_read() {
    let tempo = |tick, micros| (tick, TrackEventKind::Meta(MetaMessage::Tempo(u24::from(micros))));
    let marker =
        |tick, words: &'static str| (tick, TrackEventKind::Meta(MetaMessage::Marker(words.as_bytes())));
    let drum = (
        0,
        TrackEventKind::Midi {
            channel: u4::from(9),
            message: MidiMessage::NoteOn { key: u7::from(40), vel: u7::from(80) },
        },
    );
    let all = [
        tempo(0, 400_000),
        tempo(960, 600_000),
        meter(0, 3, 2),
        meter(1440, 4, 2),
        key(0, -1, false),
        key(1440, 3, true),
        marker(0, "Fmaj7"),
        marker(1440, "F#m7"),
        marker(1441, "verse"),
        drum,
    ];
    let played = [note(0, 65, 0, 1440), note(0, 66, 1440, 3360)].concat();
    let imported = taken(&[all.as_slice(), &played].concat());
    let line = &imported.line;
    assert_eq!(line.heading().tempo, Tempo::new(150).unwrap());
    assert_eq!(
        (line.bars().meter(0).to_string(), line.bars().meter(1).to_string()),
        ("3/4".into(), "4/4".into())
    );
    assert_eq!(
        (line.bars().key(0).to_string(), line.bars().key(1).to_string()),
        ("F".into(), "F# minor".into())
    );
    assert_eq!(events(line), "F4 0 3, F#4 3 4");
    let chords: Vec<_> =
        line.chords().iter().map(|chord| format!("{} {}", chord.symbol, chord.onset)).collect();
    assert_eq!(chords, ["Fmaj7 0", "F#m7 3"]);
    let remarks: Vec<_> = imported.remarks.iter().map(ToString::to_string).collect();
    assert_eq!(
        remarks,
        ["left out: 1 note on the percussion channel", "left out: 1 change of tempo", "left out: 1 marker"]
    );
}

#[test]
fn what_a_line_cannot_have_is_asked_or_refused() {
    let message = |of: &[(u32, TrackEventKind<'_>)]| take(&file(480, of)).unwrap_err();
    let two = [note(0, 60, 1920, 2400), note(0, 64, 2400, 2880), note(0, 55, 2400, 2880)].concat();
    let two = [&[key(0, 0, false)], two.as_slice()].concat();
    assert_eq!(
        message(&two),
        "bar 2 beat 2: two notes sound together; take the top one, the bottom one, or another voice"
    );
    for (keep, pitches) in [(Keep::Top, "C4 E4"), (Keep::Bottom, "C4 G3")] {
        let contents = open(&file(480, &two)).unwrap();
        assert_eq!(
            (contents.parts[0].staves[0].voices[0].notes, contents.parts[0].staves[0].voices[0].together),
            (3, 2)
        );
        let line = contents.take(&Choice { keep, ..Choice::default() }).unwrap().line;
        let kept: Vec<_> = line.events().iter().filter_map(|event| Some(event.pitch?.to_string())).collect();
        assert_eq!(kept.join(" "), pitches);
    }
    // Two flats fit all of these.
    let keyless =
        [note(0, 58, 0, 480), note(0, 63, 480, 960), note(0, 65, 960, 1440), note(0, 69, 1440, 1920)]
            .concat();
    assert_eq!(
        message(&keyless),
        "this MIDI file does not say in which key it is, so F# and Gb look the same; give a key: Bb fits its notes best (`--key \"Bb\"`)"
    );
    let asked = Choice { key: Some("Bb".parse().unwrap()), ..Choice::default() };
    let line = open(&file(480, &keyless)).unwrap().take(&asked).unwrap().line;
    assert_eq!(events(&line), "Bb3 0 1, Eb4 1 1, F4 2 1, A4 3 1");
    assert_eq!(message(&[key(0, 0, false)]), "there are no notes in this file");
    let inside = [meter(480, 3, 2)];
    assert_eq!(
        message(&[&inside, notes(&[(60, 0, 1920)]).as_slice()].concat()),
        "bar 1: the meter changes inside this bar; move the change to a bar line"
    );
    assert!(
        message(&[&[meter(0, 11, 3)], notes(&[(60, 0, 1920)]).as_slice()].concat())
            .starts_with("bar 1: the meter 11/8 can't be read")
    );
}

/// Published source: mido and pretty_midi, which write the files.
#[test]
fn files_of_other_writers_are_read_to_the_note() {
    let mut rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[9; 32]);
    let rhythms: [&[(i32, u16)]; 6] = [
        &[(0, 1), (1, 2)],
        &[(0, 1), (1, 2)],
        &[(0, 1)],
        &[(0, 1), (1, 3), (2, 3)],
        &[(0, 1), (1, 4), (1, 2), (3, 4)],
        &[(0, 1), (3, 4)],
    ];
    let mut rows = Vec::new();
    let mut truths = Vec::new();
    for _ in 0..20 {
        let tempo = rng.random_range(60..=240);
        let mut starts = Vec::new();
        for beat in 0..16 {
            let rhythm = rhythms[rng.random_range(0..rhythms.len())];
            starts.extend(
                rhythm.iter().map(|&(numer, denom)| Duration::of(numer + beat * i32::from(denom), denom)),
            );
        }
        let truth: Vec<(Duration, u8)> =
            starts.into_iter().map(|start| (start, rng.random_range(45..=80))).collect();
        let said: Vec<String> =
            truth.iter().map(|(at, key)| format!("[{}, {}, {key}]", at.numer(), at.denom())).collect();
        rows.push(format!("{{\"tempo\": {tempo}, \"notes\": [{}]}}", said.join(", ")));
        truths.push((tempo, truth));
    }
    let files = outside("midi_written.py", &[], &rows.join("\n"));
    assert_eq!(files.len(), 2 * truths.len());
    let mut notes = 0;
    for (index, hex) in files.iter().enumerate() {
        let bytes: Vec<u8> = (0..hex.len() / 2)
            .map(|byte| u8::from_str_radix(&hex[2 * byte..2 * byte + 2], 16).unwrap())
            .collect();
        let (tempo, truth) = &truths[index / 2];
        let piece = self::piece(take(&bytes).unwrap());
        assert_eq!(piece.line().heading().tempo, Tempo::new(*tempo).unwrap());
        assert_eq!(piece.line().heading().feel, Feel::Straight, "file {index}");
        assert_eq!(&onsets(&piece), truth, "file {index}");
        notes += truth.len();
    }
    println!("files of mido and pretty_midi: all {notes} notes of {} files are equal", files.len());
    // The MIDI files that come with music21, if it is there and there are any.
    let mut folders = vec![target().join("outside/lib")];
    let (mut read, mut refused) = (0, 0);
    while let Some(folder) = folders.pop() {
        for entry in folder.read_dir().into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|kind| kind == "mid" || kind == "midi") {
                match take(&std::fs::read(&path).unwrap()) {
                    Ok(_) => read += 1,
                    Err(message) => {
                        assert!(message.len() > 10, "{message}");
                        refused += 1;
                    }
                }
            }
        }
    }
    println!("MIDI files that come with other readers: {read} read, {refused} refused in words");
}
