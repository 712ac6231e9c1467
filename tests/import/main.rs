//! MusicXML in: there and back, and files that this project didn't write.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

mod rules;
mod scores;

use halfbar_core::attack::Attack;
use halfbar_core::bars::Bars;
use halfbar_core::exchange::musicxml::{Staves, document};
use halfbar_core::exchange::{self, Imported};
use halfbar_core::line::{Event, Legato, Line};
use halfbar_core::pitch::Pitch;
use halfbar_core::recast::Casting;
use halfbar_core::time::{Duration, Onset};
use halfbar_core::{Piece, read, write};
use halfbar_tests::{gallery, lines, random};
use proptest::prelude::*;

fn taken(file: &str) -> Imported {
    let contents = exchange::open(file.as_bytes()).unwrap();
    contents.take(&contents.usual().unwrap()).unwrap()
}

/// Both staves, or the upper one alone, by a property of the line that is as good as random.
fn staves(line: &Line) -> Staves {
    if line.events().len().is_multiple_of(2) { Staves::Both } else { Staves::Staff }
}

/// L1: a text comes back to the byte.
fn comes_back(line: &Line, casting: &Casting, text: &str) -> Result<(), TestCaseError> {
    let piece = Piece::new(line.clone(), casting.clone()).unwrap();
    let back = taken(&document(&piece, text, staves(line)).unwrap());
    prop_assert_eq!(&back.text, text);
    prop_assert_eq!(back.remarks, []);
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
            (note.place, note.attack) = ((0, 0, 0), None);
        }
    }
}

/// L2: without its text, all that a file can say comes back.
fn says_the_same(line: &Line, casting: &Casting) -> Result<(), TestCaseError> {
    let piece = Piece::new(line.clone(), casting.clone()).unwrap();
    let back = taken(&document(&piece, "", staves(line)).unwrap());
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
    Ok(())
}

/// A tenth of the usual number of random cases, which are slow: all of them in thorough runs.
fn some() -> ProptestConfig {
    let all = random("import/main.regressions");
    let is_thorough = std::env::var_os("HALFBAR_THOROUGH").is_some();
    ProptestConfig { cases: if is_thorough { all.cases } else { all.cases.div_ceil(10) }, ..all }
}

/// Random lines that aren't silent.
fn sounding() -> impl Strategy<Value = (Line, Casting)> {
    lines::line().prop_filter("silent", |(line, _)| line.events().iter().any(|event| event.pitch.is_some()))
}

proptest! {
    #![proptest_config(some())]

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
