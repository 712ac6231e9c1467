//! Scores that this project didn't write, as music21 reads them.

use std::collections::BTreeMap;
use std::path::Path;

use halfbar_core::Piece;
use halfbar_core::exchange::{self, Choice, ExchangeError, Imported, Keep, Remark};
use halfbar_tests::{outside, target, top};
use serde::Deserialize;

/// What music21 reads in a file.
#[derive(Deserialize)]
struct Read {
    #[serde(default)]
    staves: Vec<ReadStaff>,
    error: Option<String>,
}

#[derive(Deserialize)]
struct ReadStaff {
    /// The index of the part.
    part: usize,
    staff: u16,
    /// Whether no notes sound together.
    alone: bool,
    /// The index of the measure, the time in it, the length, and the MIDI number.
    notes: Vec<(usize, String, String, Option<f64>)>,
}

/// What music21 reads in files. It is slow, so that is kept in the target folder until the script changes.
fn scores(files: &[String]) -> Vec<Read> {
    let script = top().join("tests/outside/scores.py");
    let kept = target().join("outside/scores");
    std::fs::create_dir_all(&kept).unwrap();
    let place = |file: &String| {
        let (_, name) = file.rsplit_once("music21/").unwrap();
        kept.join(format!("{}.json", name.replace('/', "--")))
    };
    let changed = |path: &Path| path.metadata().and_then(|about| about.modified()).ok();
    let is_old = |file: &&String| changed(&place(file)) < changed(&script);
    let old: Vec<&str> = files.iter().filter(is_old).map(String::as_str).collect();
    for some in old.chunks(40) {
        let read = outside("scores.py", &[&["read"], some].concat(), "");
        assert_eq!(read.len(), some.len());
        for (file, read) in some.iter().zip(read) {
            std::fs::write(place(&file.to_string()), read).unwrap();
        }
    }
    files.iter().map(|file| serde_json::from_slice(&std::fs::read(place(file)).unwrap()).unwrap()).collect()
}

/// A number that music21 prints: `1.5`, `2/3`.
fn number(text: &str) -> f64 {
    match text.split_once('/') {
        Some((numer, denom)) => numer.parse::<f64>().unwrap() / denom.parse::<f64>().unwrap(),
        None => text.parse().unwrap(),
    }
}

/// The first difference between what was imported and what music21 reads, if there is one.
fn difference(imported: &Imported, octaves: i8, read: &ReadStaff) -> Option<String> {
    let piece = Piece::new(imported.line.clone(), imported.casting.clone()).unwrap();
    let bars = imported.line.bars();
    let is_moved = |remark: &Remark| matches!(remark, Remark::Joined { .. } | Remark::Filled { .. });
    let moved = imported.remarks.iter().any(is_moved);
    let mine: Vec<(f64, f64, f64)> = piece
        .timed()
        .events
        .iter()
        .filter_map(|event| {
            let key = f64::from(event.pitch?.midi()?.0) - 12.0 * f64::from(octaves);
            // Where bars are joined or filled, they start elsewhere.
            let onset = if moved { 0.0 } else { event.onset.since_start().to_f64() };
            Some((onset, event.duration.to_f64(), key))
        })
        .collect();
    let theirs: Vec<(f64, f64, f64)> = read
        .notes
        .iter()
        .map(|(bar, offset, length, key)| {
            let start = if moved { 0.0 } else { bars.span(*bar).unwrap().start().since_start().to_f64() };
            let offset = if moved { 0.0 } else { number(offset) };
            (start + offset, number(length), key.unwrap_or(0.0))
        })
        .collect();
    let differ = |(one, other): &(&(f64, f64, f64), &(f64, f64, f64))| {
        (one.0 - other.0).abs() > 1e-6 || (one.1 - other.1).abs() > 1e-6 || one.2 != other.2
    };
    let first = mine.iter().zip(&theirs).position(|pair| differ(&pair));
    match first {
        Some(index) => Some(format!("note {index}: {:?}, music21: {:?}", mine[index], theirs[index])),
        None if mine.len() != theirs.len() => {
            Some(format!("{} notes, music21: {}", mine.len(), theirs.len()))
        }
        None => None,
    }
}

/// Source: the scores that the music21 package carries, as music21 reads them.
#[test]
fn scores_are_read_or_refused_in_words() {
    let all = outside("scores.py", &["list"], "");
    let is_thorough = std::env::var_os("HALFBAR_THOROUGH").is_some();
    // Without that, a sample.
    let is_asked = |(index, _): &(usize, &String)| is_thorough || index % 60 == 7;
    let files: Vec<String> = all.iter().enumerate().filter(is_asked).map(|(_, file)| file.clone()).collect();
    let (mut opened, mut refused, mut alone, mut imported, mut equal, mut thinned) = (0, 0, 0, 0, 0, 0);
    let mut reasons: BTreeMap<String, usize> = BTreeMap::new();
    for (file, read) in files.iter().zip(scores(&files)) {
        let name = file.rsplit_once('/').unwrap().1;
        let contents = match exchange::open(&std::fs::read(file).unwrap()) {
            Ok(contents) => contents,
            Err(error) => {
                refused += 1;
                println!("{name}: {error}");
                continue;
            }
        };
        opened += 1;
        // Whatever is chosen, there is an answer.
        for choice in contents.choices() {
            let voice = &contents.parts[choice.part].staves[choice.staff].voices[choice.voice];
            for keep in [Keep::Top, Keep::Bottom].into_iter().filter(|_| voice.together > 0) {
                let is_taken = contents.take(&Choice { keep, ..choice.clone() }).is_ok();
                thinned += usize::from(is_taken);
            }
        }
        assert_eq!(read.error, None, "{name}");
        for staff in read.staves.iter().filter(|staff| staff.alone && !staff.notes.is_empty()) {
            alone += 1;
            let mine = contents.choices().into_iter().find(|choice| {
                choice.part == staff.part
                    && contents.parts[choice.part].staves[choice.staff].number == staff.staff
            });
            let Some(choice) = mine else {
                println!("{name}, part {} staff {}: not there", staff.part + 1, staff.staff);
                continue;
            };
            let octaves = match contents.take(&choice) {
                Err(ExchangeError::OffNeck { octaves, fits: true, .. }) => octaves,
                _ => 0,
            };
            match contents.take(&Choice { octaves, ..choice }) {
                Ok(line) => {
                    imported += 1;
                    match difference(&line, octaves, staff) {
                        Some(difference) => {
                            println!("{name}, part {} staff {}: {difference}", staff.part + 1, staff.staff)
                        }
                        None => equal += 1,
                    }
                }
                Err(error) => {
                    let error = error.to_string();
                    let (_, reason) = error.rsplit_once(": ").unwrap_or(("", &error));
                    let reason: String = reason
                        .chars()
                        .map(|letter| if letter.is_ascii_digit() { '#' } else { letter })
                        .take(60)
                        .collect();
                    *reasons.entry(reason).or_default() += 1;
                }
            }
        }
    }
    println!("{} files: {opened} opened, {refused} refused in words", files.len());
    println!("{alone} monophonic staves: {imported} imported, {equal} of them equal to music21's");
    println!("{thinned} times the top or bottom notes of a voice imported");
    for (reason, count) in reasons {
        println!("{count} refused: {reason}");
    }
    assert!(imported * 2602 >= alone * 2300, "{imported} of {alone}");
    assert!(equal * 1000 >= imported * 995, "{equal} of {imported}");
}
