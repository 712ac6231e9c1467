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
use halfbar_core::exchange::{Imported, open};
use halfbar_core::line::{Feel, Heading, Line, SwingRatio, Tempo};
use halfbar_core::recast::{self, Casting, Figure, Window};
use halfbar_core::time::{Duration, Onset};
use halfbar_core::{Piece, read};
use halfbar_tests::midi::{Jitter, played};
use halfbar_tests::{gallery, lines};
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

/// The same in a row.
fn said(piece: &Piece) -> String {
    onsets(piece).iter().map(|(at, key)| format!("{at}:{key}")).collect::<Vec<_>>().join(" ")
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

/// A file of ours as it is read without the line's text.
fn there_and_back(piece: &Piece, options: &MidiOptions) -> Result<Piece, String> {
    let bytes = document(piece, "", options).map_err(|error| error.to_string())?;
    Ok(self::piece(take(&bytes)?))
}

#[test]
fn own_files_are_exact_without_their_text() {
    let options = MidiOptions::default();
    let (mut right_of_all, mut all) = (0, 0);
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
                if right < of {
                    if std::env::var("SHOW").is_ok() {
                        let heading = |piece: &Piece| piece.line().heading().feel;
                        println!("{name} {} {}", heading(&piece), heading(&back));
                        println!("  {}\n  {}", said(&piece), said(&back));
                    }
                    wrong.push(format!("{name}: {right} of {of}"));
                }
            }
            Err(error) => {
                all += 1;
                wrong.push(format!("{name}: {error}"));
            }
        }
    }
    println!("own files without text: {right_of_all} of {all} half-bars right");
    assert!(right_of_all * 100 >= 97 * all, "{right_of_all} of {all}");
    for wrong in wrong.iter().take(40) {
        println!("  {wrong}");
    }
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
