//! MusicXML in: there and back, and files that this project didn't write.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::collections::BTreeMap;
use std::path::Path;

use halfbar_core::attack::Attack;
use halfbar_core::bars::Bars;
use halfbar_core::exchange::musicxml::{Staves, document};
use halfbar_core::exchange::{self, Choice, ExchangeError, Imported, Remark};
use halfbar_core::line::{Event, Legato, Line};
use halfbar_core::pitch::Pitch;
use halfbar_core::recast::Casting;
use halfbar_core::time::{Duration, Onset};
use halfbar_core::{Piece, read, write};
use halfbar_tests::{gallery, lines, outside, random, target, top};
use proptest::prelude::*;
use serde::Deserialize;

fn taken(file: &str) -> Imported {
    let contents = exchange::open(file.as_bytes()).unwrap();
    contents.take(&contents.usual().unwrap()).unwrap()
}

/// L1: a text comes back to the byte.
fn comes_back(line: &Line, casting: &Casting, text: &str) -> Result<(), TestCaseError> {
    let piece = Piece::new(line.clone(), casting.clone()).unwrap();
    for staves in [Staves::Both, Staves::Staff] {
        let file = document(&piece, text, staves).unwrap();
        let back = taken(&file);
        prop_assert_eq!(&back.text, text);
        prop_assert_eq!(back.remarks, []);
    }
    Ok(())
}

/// What a file can say about a line without its text.
#[derive(PartialEq, Debug)]
struct Said {
    title: String,
    tempo: u16,
    tuning: String,
    capo: u8,
    breaks: Vec<bool>,
    bars: Vec<(String, String)>,
    pickup: Duration,
    chords: Vec<(Onset, String)>,
    notes: Vec<Note>,
}

/// A note as it sounds, and how it is played.
#[derive(PartialEq, Debug)]
struct Note {
    onset: Onset,
    duration: Duration,
    pitch: Pitch,
    grace: Option<Pitch>,
    leads: Option<Legato>,
    place: (u8, u8, u8),
    attack: Option<Attack>,
}

/// Equal groups are not written, because few programs read them.
fn meter(bars: &Bars, index: usize) -> String {
    let meter = bars.meter(index);
    let groups: Vec<u8> = meter.groups().collect();
    match groups.iter().all(|group| *group == groups[0]) {
        true => format!("{}/{}", meter.count(), meter.unit()),
        false => meter.to_string(),
    }
}

fn said(piece: &Piece) -> Said {
    let (line, fingering) = (piece.line(), piece.fingering());
    let (bars, heading) = (line.bars(), line.heading());
    let note = |event: &Event| {
        let pitch = event.pitch?;
        let fretting = fingering.of(event.id).unwrap();
        Some(Note {
            onset: event.onset,
            duration: event.duration,
            pitch,
            grace: event.grace,
            leads: fingering.attacks().leads(event.id),
            place: (fretting.string.0, fretting.fret.0, fretting.finger.0),
            attack: fingering.attacks().of(event.id),
        })
    };
    Said {
        title: heading.title.clone(),
        tempo: heading.tempo.quarters_per_minute(),
        tuning: heading.neck.tuning().to_string(),
        capo: heading.neck.capo(),
        // The first bar starts a system anyway.
        breaks: heading.systems.starts(bars).take(line.bar_count()).skip(1).collect(),
        bars: (0..line.bar_count()).map(|index| (meter(bars, index), bars.key(index).to_string())).collect(),
        pickup: bars.pickup(),
        chords: line.chords().iter().map(|chord| (chord.onset, chord.symbol.to_string())).collect(),
        notes: piece.timed().events.iter().filter_map(note).collect(),
    }
}

impl Said {
    fn joins_across_strings(&self) -> bool {
        self.notes.windows(2).any(|pair| pair[0].leads.is_some() && pair[0].place.0 != pair[1].place.0)
    }

    fn forget_hands(&mut self) {
        for note in &mut self.notes {
            (note.place, note.attack, note.leads) = ((0, 0, 0), None, None);
        }
    }
}

/// L2: without its text, all that a file can say comes back.
fn says_the_same(line: &Line, casting: &Casting) -> Result<(), TestCaseError> {
    let piece = Piece::new(line.clone(), casting.clone()).unwrap();
    for staves in [Staves::Both, Staves::Staff] {
        let back = taken(&document(&piece, "", staves).unwrap());
        let reading = read::text(&back.text);
        prop_assert_eq!(reading.diagnostics, [], "{}", back.text);
        prop_assert_eq!(reading.line.as_ref(), Some(&back.line));
        let again = Piece::new(back.line, back.casting).unwrap();
        let (mut again, mut before) = (said(&again), said(&piece));
        if before.joins_across_strings() {
            // No pin can ask for that.
            [&mut again, &mut before].into_iter().for_each(Said::forget_hands);
        }
        for (again, before) in again.notes.iter().zip(&before.notes) {
            prop_assert_eq!(again, before);
        }
        prop_assert_eq!(again, before);
    }
    Ok(())
}

/// Random lines that aren't silent.
fn sounding() -> impl Strategy<Value = (Line, Casting)> {
    lines::line().prop_filter("silent", |(line, _)| line.events().iter().any(|event| event.pitch.is_some()))
}

proptest! {
    #![proptest_config(random("import.regressions"))]

    #[test]
    fn texts_come_back((line, casting) in sounding()) {
        let text = write::text::line(&line, &casting).unwrap();
        comes_back(&line, &casting, &text)?;
    }

    #[test]
    fn files_say_all_they_can((line, casting) in sounding()) {
        says_the_same(&line, &casting)?;
    }
}

#[test]
fn the_gallery_comes_back() {
    for case in gallery::cases() {
        let (line, casting) = (case.piece.line(), case.piece.casting());
        let text = write::text::line(line, casting).unwrap();
        comes_back(line, casting, &text).unwrap_or_else(|error| panic!("{}: {error}", case.name));
        says_the_same(line, casting).unwrap_or_else(|error| panic!("{}: {error}", case.name));
    }
}

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
    let files: Vec<String> = all
        .iter()
        .enumerate()
        .filter(|(index, file)| {
            (is_thorough
                && (std::env::var_os("CACHED").is_none()
                    || target()
                        .join("outside/scores")
                        .join(format!("{}.json", file.rsplit_once("music21/").unwrap().1.replace('/', "--")))
                        .exists()))
                || index % 60 == 7
        })
        .map(|(_, file)| file.clone())
        .collect();
    let (mut opened, mut refused, mut alone, mut imported, mut equal) = (0, 0, 0, 0, 0);
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
    for (reason, count) in reasons {
        println!("{count} refused: {reason}");
    }
    assert!(imported * 2602 >= alone * 2300, "{imported} of {alone}");
    assert!(equal * 1000 >= imported * 995, "{equal} of {imported}");
}
