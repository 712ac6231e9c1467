//! Damages files of ours at random and reads them. Nothing may panic or take long; overflow checks are on in this profile.
//!
//! `cargo run -p halfbar-tests --bin fuzz -- 100000` tries so many cases, and `-- 600s` as many as fit in ten minutes; a second number starts another series.
//! What panics, or takes more than a second, is kept in `fuzz` in cargo's target folder, as small as it can be made.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::panic::catch_unwind;
use std::time::{Duration, Instant};

use halfbar_core::Piece;
use halfbar_core::exchange::midi::{MidiOptions, document};
use halfbar_core::exchange::musicxml::{self, Staves};
use halfbar_core::exchange::{Keep, open};
use halfbar_tests::{gallery, lines, midi, target, zip};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng};

/// A case that takes longer than this is kept.
const LONG: Duration = Duration::from_secs(1);

fn main() {
    let mut arguments = std::env::args().skip(1);
    let most = arguments.next().unwrap_or("100000".into());
    let series: u8 = arguments.next().map_or(1, |series| series.parse().expect("a number from 0 to 255"));
    let (cases, seconds) = match most.strip_suffix('s') {
        Some(seconds) => (u64::MAX, seconds.parse().expect("seconds, such as 600s")),
        None => (most.parse().expect("a number of cases, or seconds, such as 600s"), u64::MAX),
    };
    let mut rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[series; 32]);
    let files = files(&mut rng);
    println!(
        "{} files of {} bytes in all",
        files.len(),
        files.iter().map(|file| file.bytes.len()).sum::<usize>()
    );
    // Panics are counted; where they happened is said for what is kept.
    std::panic::set_hook(Box::new(|_| {}));
    let start = Instant::now();
    let (mut done, mut opened, mut taken, mut kept) = (0u64, 0u64, 0u64, Vec::new());
    while done < cases && start.elapsed().as_secs() < seconds {
        let bytes = damaged(&files, &mut rng);
        let began = Instant::now();
        match catch_unwind(|| read(&bytes)) {
            Ok((is_open, count)) => {
                opened += u64::from(is_open);
                taken += count;
                if began.elapsed() > LONG {
                    kept.push(keep("slow", &bytes));
                }
            }
            Err(_) => kept.push(keep("panic", &smallest(&bytes))),
        }
        done += 1;
        if done.is_multiple_of(20_000) {
            println!(
                "{done} cases in {} s: {opened} opened, {taken} lines, {} kept",
                start.elapsed().as_secs(),
                kept.len()
            );
        }
    }
    println!(
        "{done} cases in {} s: {opened} files opened, {taken} lines taken, {} kept",
        start.elapsed().as_secs(),
        kept.len()
    );
    for path in &kept {
        println!("  {path}");
    }
    std::process::exit(i32::from(!kept.is_empty()));
}

/// What is damaged.
struct Sound {
    bytes: Vec<u8>,
    /// Whether it is to be compressed once it is damaged.
    compressed: bool,
}

/// Short files of each kind.
fn files(rng: &mut TestRng) -> Vec<Sound> {
    let mut files = Vec::new();
    let mut add = |bytes: Vec<u8>, compressed: bool| files.push(Sound { bytes, compressed });
    let of_gallery = gallery::cases().into_iter().map(|case| case.piece);
    let random = lines::sample(48).map(|(line, casting)| Piece::new(line, casting).unwrap());
    for (index, piece) in of_gallery.chain(random).enumerate() {
        if piece.line().bar_count() > 2 {
            continue;
        }
        let text = halfbar_core::write::text::line(piece.line(), piece.casting()).unwrap();
        // Without the text, every note counts.
        let text = if index % 3 == 0 { text.as_str() } else { "" };
        let staves = if index % 2 == 0 { Staves::Both } else { Staves::Staff };
        let xml = musicxml::document(&piece, text, staves).unwrap().into_bytes();
        match index % 6 {
            0 => add(musicxml::compressed(&piece, text, staves).unwrap(), false),
            1 => add(xml.clone(), true),
            2 => {
                let xml = String::from_utf8(xml.clone()).unwrap();
                add(
                    [0xff, 0xfe].into_iter().chain(xml.encode_utf16().flat_map(u16::to_le_bytes)).collect(),
                    false,
                );
            }
            _ => {}
        }
        add(xml, false);
        let options = MidiOptions {
            comp: index % 4 == 0,
            click: None,
            count_in: u8::from(index % 5 == 0),
            ..MidiOptions::default()
        };
        add(document(&piece, text, &options).unwrap(), false);
        add(midi::played(&piece, midi::Jitter::Normal(0.015), rng), false);
    }
    files
}

/// One of the files, damaged.
fn damaged(files: &[Sound], rng: &mut TestRng) -> Vec<u8> {
    let file = &files[rng.random_range(0..files.len())];
    let mut bytes = file.bytes.clone();
    for _ in 0..1 << rng.random_range(0..4) {
        let other = &files[rng.random_range(0..files.len())].bytes;
        damage(&mut bytes, other, rng);
    }
    if file.compressed { zip::score(&bytes) } else { bytes }
}

fn damage(bytes: &mut Vec<u8>, other: &[u8], rng: &mut TestRng) {
    if bytes.is_empty() {
        return;
    }
    let at = rng.random_range(0..bytes.len());
    let length = rng.random_range(1..=64.min(bytes.len() - at));
    match rng.random_range(0..11) {
        0 => bytes[at] ^= 1 << rng.random_range(0..8),
        1 => bytes[at] = rng.random(),
        2 => {
            bytes[at] =
                [0, 1, 0x7f, 0x80, 0xff, b'0', b'9', b'-', b'<', b'>', b'&', b'"'][rng.random_range(0..12)]
        }
        3 => drop(bytes.drain(at..at + length)),
        4 => {
            let piece = bytes[at..at + length].to_vec();
            bytes.splice(at..at, piece);
        }
        5 => {
            // A piece of another file.
            let from = rng.random_range(0..other.len());
            let piece = other[from..(from + length).min(other.len())].to_vec();
            bytes.splice(at..at, piece);
        }
        6 => {
            let to = rng.random_range(0..bytes.len());
            bytes.swap(at, to);
        }
        7 => bytes.truncate(at.max(1)),
        8 => number(bytes, at, rng),
        9 => element(bytes, at, rng),
        _ => tag(bytes, at, other, rng),
    }
}

/// Another number in place of the next one between tags.
fn number(bytes: &mut Vec<u8>, at: usize, rng: &mut TestRng) {
    const NUMBERS: [&str; 16] = [
        "0",
        "1",
        "-1",
        "2",
        "3",
        "7",
        "127",
        "128",
        "255",
        "65536",
        "2147483647",
        "-2147483648",
        "9223372036854775807",
        "99999999999999999999",
        "0.5",
        "1e308",
    ];
    let Some(start) = bytes[at..].iter().position(u8::is_ascii_digit).map(|digit| at + digit) else { return };
    let end = start + bytes[start..].iter().take_while(|byte| byte.is_ascii_digit()).count();
    bytes.splice(start..end, NUMBERS[rng.random_range(0..NUMBERS.len())].bytes());
}

/// The next element with all that is in it, removed or repeated.
fn element(bytes: &mut Vec<u8>, at: usize, rng: &mut TestRng) {
    let Some(start) = bytes[at..].iter().position(|&byte| byte == b'<').map(|open| at + open) else { return };
    let name: Vec<u8> = bytes[start + 1..]
        .iter()
        .take_while(|byte| byte.is_ascii_alphanumeric() || **byte == b'-')
        .copied()
        .collect();
    let close = [b"</".as_slice(), &name, b">"].concat();
    let Some(end) = bytes[start..]
        .windows(close.len())
        .position(|part| part == close)
        .map(|end| start + end + close.len())
    else {
        return;
    };
    if rng.random() {
        bytes.drain(start..end);
    } else {
        let piece = bytes[start..end].to_vec();
        for _ in 0..rng.random_range(1..4) {
            bytes.splice(end..end, piece.iter().copied());
        }
    }
}

/// An element of another file, put in between two tags.
fn tag(bytes: &mut Vec<u8>, at: usize, other: &[u8], rng: &mut TestRng) {
    let Some(here) = bytes[at..].iter().position(|&byte| byte == b'<').map(|open| at + open) else { return };
    let from = rng.random_range(0..other.len());
    let Some(start) = other[from..].iter().position(|&byte| byte == b'<').map(|open| from + open) else {
        return;
    };
    let name: Vec<u8> = other[start + 1..]
        .iter()
        .take_while(|byte| byte.is_ascii_alphanumeric() || **byte == b'-')
        .copied()
        .collect();
    let close = [b"</".as_slice(), &name, b">"].concat();
    let Some(length) = other[start..].windows(close.len()).position(|part| part == close) else { return };
    bytes.splice(here..here, other[start..start + length + close.len()].iter().copied());
}

/// Reads one voice of a file, another one and in another way for each case. Whether it could be opened, and how many lines were taken.
fn read(bytes: &[u8]) -> (bool, u64) {
    let Ok(contents) = open(bytes) else { return (false, 0) };
    let Some(mut choice) = contents.usual() else { return (true, 0) };
    let number = sum(bytes) as usize;
    if number.is_multiple_of(4) {
        choice.part = number / 4 % contents.parts.len();
        choice.staff = number / 32 % contents.parts[choice.part].staves.len().max(1);
        choice.voice = number / 64 % 2;
    }
    choice.key = number.is_multiple_of(2).then(|| "Eb".parse().unwrap());
    choice.keep = [Keep::Top, Keep::Bottom, Keep::Single][number / 128 % 3];
    (true, contents.take(&choice).is_ok().into())
}

/// A number that stands for a case.
fn sum(bytes: &[u8]) -> u32 {
    bytes.iter().fold(0u32, |sum, byte| sum.wrapping_mul(31).wrapping_add((*byte).into()))
}

/// The shortest part of a case that still panics, found by leaving out ever smaller pieces.
fn smallest(bytes: &[u8]) -> Vec<u8> {
    let mut smallest = bytes.to_vec();
    let mut piece = smallest.len() / 2;
    while piece > 0 {
        let mut at = 0;
        while at < smallest.len() {
            let end = (at + piece).min(smallest.len());
            let shorter = [&smallest[..at], &smallest[end..]].concat();
            if catch_unwind(|| read(&shorter)).is_err() { smallest = shorter } else { at = end }
        }
        piece /= 2;
    }
    smallest
}

fn keep(kind: &str, bytes: &[u8]) -> String {
    let folder = target().join("fuzz");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join(format!("{kind}-{:08x}", sum(bytes)));
    std::fs::write(&path, bytes).unwrap();
    path.display().to_string()
}
