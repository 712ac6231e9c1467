//! MIDI files, as three independent readers find them.

use std::collections::BTreeSet;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use halfbar_core::exchange::midi::{self, MidiOptions};
use halfbar_core::perform::{self, ClickKind, count_in};
use halfbar_core::pitch::Pitch;
use halfbar_core::time::{Onset, Span};
use halfbar_core::{Piece, read};
use halfbar_tests::outside;
use serde::Deserialize;
use serde_json::json;

use crate::cases::{Case, cases, count};

#[derive(Deserialize)]
struct Heard {
    name: String,
    mido: Midi,
    pretty_midi: Vec<(u8, u8, i64, i64, u8)>,
    music21: Vec<(Option<u8>, i64, i64, u8)>,
}

#[derive(Deserialize)]
struct Midi {
    format: u8,
    ticks: i64,
    notes: Vec<(u8, u8, i64, i64, u8)>,
    meters: Vec<(i64, u8, u8)>,
    keys: Vec<(i64, String)>,
    markers: Vec<(i64, String)>,
    texts: Vec<String>,
    tempos: Vec<f64>,
    programs: Vec<(u8, u8)>,
}

/// What files are written with.
fn options() -> [MidiOptions; 3] {
    let usual = MidiOptions::default();
    [
        usual.clone(),
        MidiOptions { straight: true, ..usual.clone() },
        MidiOptions { click: Some("2+4, eighths".parse().unwrap()), count_in: 1, comp: true, ..usual },
    ]
}

/// Published sources: mido, pretty_midi and music21 (PyPI). The numbers of programs and percussion keys: General MIDI, level 1 (MIDI Association).
#[test]
fn others_read_the_same_midi() {
    let cases = cases(count());
    let asked: Vec<(&Case, MidiOptions)> =
        cases.iter().flat_map(|case| options().map(|options| (case, options))).collect();
    let input: Vec<String> = (asked.iter())
        .map(|(case, options)| {
            let file = midi::document(&case.piece, &case.text, options).unwrap();
            json!({ "name": case.name, "midi": STANDARD.encode(file) }).to_string()
        })
        .collect();
    let heard = outside("midi_files.py", &[], &input.join("\n"));
    assert_eq!(heard.len(), asked.len(), "an answer for each file");
    let mut notes = 0;
    for ((case, options), line) in asked.iter().zip(&heard) {
        let heard: Heard = serde_json::from_str(line).unwrap();
        let name = format!("{} {options:?}", case.name);
        assert_eq!(heard.name, case.name);
        let found = heard.mido;
        notes += found.notes.len();
        // The three readers agree. music21 has no keys for percussion.
        let mut by_key: Vec<_> = found
            .notes
            .iter()
            .map(|&(channel, key, from, to, v)| (u8::from(channel == 9), key, from, to, v))
            .collect();
        by_key.sort_unstable();
        assert_eq!(heard.pretty_midi, by_key, "{name}");
        let pitched = by_key.iter().filter(|note| note.0 == 0);
        let mut pitched: Vec<_> = pitched.map(|&(_, key, from, to, v)| (Some(key), from, to, v)).collect();
        pitched.sort_unstable();
        let mut by_music21: Vec<_> = heard.music21.into_iter().filter(|(key, ..)| key.is_some()).collect();
        by_music21.sort_unstable();
        assert_eq!(by_music21, pitched, "{name}");

        let piece = &case.piece;
        let (bars, heading) = (piece.line().bars(), piece.line().heading());
        assert_eq!((found.format, found.texts), (1, vec![case.text.clone()]), "{name}");
        let tempo = f64::from(heading.tempo.quarters_per_minute());
        assert!(matches!(*found.tempos, [one] if (one - tempo).abs() < 0.001), "{name}: {:?}", found.tempos);
        let programs: &[_] = if options.comp { &[(0, 26), (1, 0)] } else { &[(0, 26)] };
        assert_eq!(found.programs, programs, "{name}");

        // Every written time is a whole tick, and the line starts after the count-in and the missing part of a pickup bar.
        let missing = bars.split(Onset::ZERO).unwrap().1;
        let lead =
            bars.meter(0).bar().checked_mul(options.count_in.into()).unwrap().checked_add(missing).unwrap();
        let exact = |onset: Onset| {
            let ticks = onset.checked_add(lead).unwrap().since_start().checked_mul(found.ticks).unwrap();
            assert_eq!(ticks.denom(), 1, "{name}: {onset:?} at {}", found.ticks);
            ticks.numer()
        };
        let nearest = |onset: Onset| {
            let exact = onset.since_start().checked_add(lead).unwrap().to_f64() * found.ticks as f64;
            exact.round() as i64
        };
        let count = piece.line().bar_count();
        let changes = bars.changes().filter(|(index, _)| *index < count);
        let meters = changes.map(|(index, meter)| (exact(bars.downbeat(index).unwrap()), meter));
        let meters = [(0, bars.meter(0))].into_iter().chain(meters);
        let meters: Vec<_> = meters.map(|(tick, meter)| (tick, meter.count(), meter.unit())).collect();
        assert_eq!(found.meters, meters, "{name}");
        let changes = bars.key_changes().filter(|(index, _)| *index < count);
        let keys = changes.map(|(index, key)| (exact(bars.downbeat(index).unwrap()), key.short()));
        let keys: Vec<_> = [(0, bars.key(0).short())].into_iter().chain(keys).collect();
        assert_eq!(found.keys, keys, "{name}");
        let chords: Vec<_> = piece.line().chords().iter().map(|chord| chord.symbol.to_string()).collect();
        let markers: Vec<_> = found.markers.iter().map(|(_, marker)| marker.clone()).collect();
        assert_eq!(markers, chords, "{name}");

        let line: Vec<_> =
            found.notes.iter().filter(|note| note.0 == 0).map(|note| (note.1, note.2, note.3)).collect();
        if options.straight {
            // As written: of notes without grace notes, each starts at its tick. So do the chords.
            for event in piece.timed().events.iter().filter(|event| event.grace.is_none()) {
                let Some(key) = event.pitch.and_then(Pitch::midi) else { continue };
                let tick = exact(event.onset);
                assert!(line.iter().any(|note| (note.0, note.1) == (key.0, tick)), "{name}: {event:?}");
            }
            for (chord, (tick, _)) in piece.line().chords().iter().zip(found.markers) {
                assert_eq!(tick, exact(chord.onset), "{name}");
            }
        } else {
            let sounds = piece.sounds().unwrap();
            let mut wanted: Vec<_> =
                sounds.iter().map(|sound| (sound.key.0, nearest(sound.start), nearest(sound.end))).collect();
            wanted.sort_unstable();
            assert_eq!(line, wanted, "{name}");
        }
        let clicks = found.notes.iter().filter(|note| note.0 == 9);
        let clicks: BTreeSet<_> = clicks.map(|note| (note.1, note.2)).collect();
        let (mut wanted, counted_in) =
            (BTreeSet::new(), count_in(bars, Onset::ZERO, options.count_in).unwrap().0);
        let key = |kind| if kind == ClickKind::Accent { 76 } else { 77 };
        for click in counted_in {
            wanted.insert((
                key(click.kind),
                (click.at.since_start().to_f64() * found.ticks as f64).round() as i64,
            ));
        }
        if let Some(metronome) = options.click {
            let whole = Span::new(Onset::ZERO, piece.line().end()).unwrap();
            let during = perform::clicks(bars, whole, metronome, heading).unwrap();
            wanted.extend(during.iter().map(|click| (key(click.kind), nearest(click.at))));
        }
        assert_eq!(clicks, wanted, "{name}");
    }
    println!(
        "{} MIDI files: mido, pretty_midi and music21 read the same {notes} notes, tick for tick",
        asked.len()
    );
}

/// How hard notes are struck: accented, struck, led into.
#[test]
fn velocities() {
    let reading = read::text("feel: straight\nrecast: accent-3 at 1.1\nC4 D_ E F G A B C5 |");
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let file = midi::document(&piece, "", &MidiOptions::default()).unwrap();
    let input = json!({ "name": "", "midi": STANDARD.encode(file) }).to_string();
    let heard: Heard = serde_json::from_str(&outside("midi_files.py", &[], &input)[0]).unwrap();
    let notes: Vec<_> = heard.mido.notes.iter().map(|note| (note.1, note.4)).collect();
    assert_eq!(notes, [(60, 110), (62, 80), (64, 64), (65, 80), (67, 80), (69, 80), (71, 80), (72, 80)]);
    assert_eq!(heard.mido.texts, Vec::<String>::new());
}
