//! Text to SVG, whole and stage by stage, and listening: `cargo bench -p halfbar-core`; with `--features exchange`, files for
//! other programs, too.

#![allow(clippy::unwrap_used, reason = "a benchmark that can't continue has to stop")]

use std::sync::Arc;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use halfbar_core::engrave::{Before, Layout};
use halfbar_core::hand::{self, Fingering};
use halfbar_core::listen::{Onsets, WINDOW, align};
use halfbar_core::perform::Practice;
use halfbar_core::scene::Scene;
use halfbar_core::sound::{self, Levels};
use halfbar_core::technique::FingeringStyle;
use halfbar_core::time::{Onset, Span};
use halfbar_core::{Piece, harmony, notate, read, recast, write};

const BARS: [usize; 4] = [8, 100, 1_000, 10_000];

fn main() {
    divan::main();
}

/// A line of this many bars, every third half-bar recast. The same at every run.
fn text(bars: usize) -> String {
    const PATTERNS: [&str; 4] = [
        "@Fm7 F3 Ab C Eb  G F Eb C",
        "@Bb7alt D4 F B Ab  F# E D B",
        "@Ebmaj7 Bb3 D F G  Bb G F D",
        "@C7b9 C#4 E G Bb  C# Bb G E",
    ];
    let mut text = "title: Bench\nkey: Eb\n".to_string();
    let places: Vec<_> = (0..2 * bars)
        .step_by(3)
        .map(|half| format!("{}.{} {}", half / 2 + 1, half % 2 * 2 + 1, ["bracket", "tied"][half % 2]))
        .collect();
    text += &format!("recast: split-last at {}\n", places.join(", "));
    for bar in 0..bars {
        text += PATTERNS[bar % PATTERNS.len()];
        text += " |\n";
    }
    text
}

fn piece(bars: usize) -> Piece {
    let reading = read::text(&text(bars));
    assert_eq!(reading.diagnostics, []);
    Piece::new(reading.line.unwrap(), reading.casting).unwrap()
}

#[divan::bench(args = BARS)]
fn text_to_svg(bencher: Bencher<'_, '_>, bars: usize) {
    let text = text(bars);
    bencher.counter(ItemsCount::new(bars)).bench(|| {
        let reading = read::text(black_box(&text));
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        write::svg::document(&piece.engrave(&Layout::default()))
    });
}

#[divan::bench(args = BARS)]
fn reading(bencher: Bencher<'_, '_>, bars: usize) {
    let text = text(bars);
    bencher.counter(ItemsCount::new(bars)).bench(|| read::text(black_box(&text)));
}

#[divan::bench(args = BARS)]
fn recasting(bencher: Bencher<'_, '_>, bars: usize) {
    let piece = piece(bars);
    bencher.counter(ItemsCount::new(bars)).bench(|| recast::apply(black_box(piece.line()), piece.casting()));
}

#[divan::bench(args = BARS)]
fn notating(bencher: Bencher<'_, '_>, bars: usize) {
    let piece = piece(bars);
    bencher.counter(ItemsCount::new(bars)).bench(|| notate::notate(black_box(piece.timed())));
}

/// The heart of it, on long pieces.
#[divan::bench(args = [100, 1_000, 10_000])]
fn recast_and_notate(bencher: Bencher<'_, '_>, bars: usize) {
    let piece = piece(bars);
    bencher.counter(ItemsCount::new(bars)).bench(|| {
        let timed = recast::apply(black_box(piece.line()), piece.casting()).unwrap();
        notate::notate(&timed)
    });
}

/// A minute of sound: line, clicks and chords.
#[divan::bench]
fn a_minute_of_sound(bencher: Bencher<'_, '_>) {
    // 30 bars at 120.
    let piece = piece(30);
    let stretch = Span::new(Onset::ZERO, piece.line().end()).unwrap();
    let metronome = "every, eighths".parse().unwrap();
    let practice = Practice { stretch, times: 1, count_in: 0, metronome };
    let levels = Levels { chords: 0.6, bass: 0.8, ..Levels::default() };
    bencher.bench(|| {
        let take = black_box(&piece).take(&practice).unwrap();
        sound::mix(&take, &levels, 48_000)
    });
}

fn both_hands(piece: &Piece) -> Fingering {
    let fretting = Arc::new(hand::fret(piece.line(), None).unwrap());
    hand::pick(piece.timed(), piece.line(), fretting, None).unwrap()
}

/// Both hands; 1,250 bars are 10,000 notes.
#[divan::bench(args = [100, 1_250, 10_000])]
fn fingering(bencher: Bencher<'_, '_>, bars: usize) {
    let piece = piece(bars);
    bencher.counter(ItemsCount::new(bars)).bench(|| both_hands(black_box(&piece)));
}

/// 10,000 notes in other styles and ways of picking, where more is open at each note.
#[divan::bench(args = ["economy", "sweep", "alternate, slurs", "along", "one-per-string", "three-per-string"])]
fn fingering_otherwise(bencher: Bencher<'_, '_>, way: &str) {
    let header = if way.parse::<FingeringStyle>().is_ok() { "style" } else { "picking" };
    let reading = read::text(&format!("{header}: {way}\n{}", text(1_250)));
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    bencher.counter(ItemsCount::new(10_000usize)).bench(|| both_hands(black_box(&piece)));
}

/// What is in a line; 1,250 bars are 10,000 notes.
#[divan::bench(args = [8, 125, 1_250])]
fn names(bencher: Bencher<'_, '_>, bars: usize) {
    let piece = piece(bars);
    bencher.counter(ItemsCount::new(8 * bars)).bench(|| harmony::names(black_box(piece.line())));
}

/// The same, with the signs that are drawn.
#[divan::bench(args = [8, 1_250])]
fn names_as_drawn(bencher: Bencher<'_, '_>, bars: usize) {
    let piece = piece(bars);
    let line = piece.line();
    bencher.counter(ItemsCount::new(8 * bars)).bench(|| harmony::names(black_box(line)).signs(line));
}

#[divan::bench(args = BARS)]
fn engraving(bencher: Bencher<'_, '_>, bars: usize) {
    let piece = piece(bars);
    bencher.counter(ItemsCount::new(bars)).bench(|| black_box(&piece).engrave(&Layout::default()));
}

#[divan::bench(args = BARS)]
fn writing_svg(bencher: Bencher<'_, '_>, bars: usize) {
    let scene = piece(bars).engrave(&Layout::default());
    bencher.counter(ItemsCount::new(bars)).bench(|| write::svg::document(black_box(&scene)));
}

/// One window restored in a line that stands on the page, where no break changes: from the casting to the SVG of what changed.
#[divan::bench(args = [8, 32, 128])]
fn one_window_changed(bencher: Bencher<'_, '_>, bars: usize) {
    let before = piece(bars);
    let layout = Layout::default();
    let scene = before.engrave(&layout);
    let breaks = |scene: &Scene| scene.systems.iter().map(|system| system.bars.clone()).collect::<Vec<_>>();
    let castings = before.casting().windows().iter().map(|window| {
        let mut casting = before.casting().clone();
        casting.restore(window.start);
        casting
    });
    let mut same = castings.filter(|casting| {
        let after = Piece::new(before.line().clone(), casting.clone()).unwrap();
        breaks(&after.engrave(&layout)) == breaks(&scene)
    });
    let casting = same.next().unwrap();
    bencher.bench(|| {
        let after = Piece::new(before.line().clone(), casting.clone()).unwrap();
        let again =
            after.engrave_after(&layout, Before { score: before.score(), layout: &layout, scene: &scene });
        let changed =
            again.systems.iter().filter(|new| !scene.systems.iter().any(|old| Arc::ptr_eq(old, new)));
        changed.map(|system| write::svg::system(&again, system).len()).sum::<usize>()
    });
}

/// A minute of sound in blocks as a browser gives them: a sawtooth that starts anew eight times a second, and fades.
#[divan::bench]
fn hearing_a_minute(bencher: Bencher<'_, '_>) {
    let sound: Vec<f32> = (0..60 * 48_000u32)
        .map(|at| ((at % 200) as f32 / 100.0 - 1.0) * (-((at % 6_000) as f32) / 2_000.0).exp())
        .collect();
    bencher.counter(ItemsCount::new(sound.len())).bench(|| {
        let mut onsets = Onsets::new(48_000.0);
        black_box(&sound).chunks(128).map(|block| onsets.hear(block).len()).sum::<usize>()
    });
}

/// A take of so many notes, every tenth of them missed and every tenth played twice.
#[divan::bench(args = [100, 10_000])]
fn aligning(bencher: Bencher<'_, '_>, notes: u32) {
    let expected: Vec<f64> = (0..notes).map(|note| f64::from(note) / 8.0).collect();
    let times = (0..notes).filter(|note| note % 10 != 0).flat_map(|note| {
        let time = f64::from(note) / 8.0 + 0.02;
        [Some(time), (note % 10 == 5).then_some(time + 0.04)]
    });
    let played: Vec<f64> = times.flatten().collect();
    bencher.counter(ItemsCount::new(notes)).bench(|| align(black_box(&expected), &played, WINDOW));
}

/// What an export waits for, once the piece is there.
#[cfg(feature = "exchange")]
#[divan::bench(args = [32, 1_000])]
fn writing_musicxml(bencher: Bencher<'_, '_>, bars: usize) {
    use halfbar_core::exchange::musicxml::{Staves, document};

    let (piece, text) = (piece(bars), text(bars));
    bencher.counter(ItemsCount::new(bars)).bench(|| document(black_box(&piece), &text, Staves::Both));
}

#[cfg(feature = "exchange")]
#[divan::bench(args = [32, 1_000])]
fn writing_midi(bencher: Bencher<'_, '_>, bars: usize) {
    use halfbar_core::exchange::midi::{MidiOptions, document};

    let (piece, text) = (piece(bars), text(bars));
    bencher
        .counter(ItemsCount::new(bars))
        .bench(|| document(black_box(&piece), &text, &MidiOptions::default()));
}
