//! Scores, as the schema and two independent readers find them.

use std::collections::BTreeSet;

use halfbar_core::Piece;
use halfbar_core::attack::Attack;
use halfbar_core::exchange::musicxml::{Staves, document};
use halfbar_core::key::Mode;
use halfbar_core::line::Legato;
use halfbar_core::meter::Meter;
use halfbar_core::neck::{Fret, StringNo};
use halfbar_core::notate::{Accidental, Beam, Symbol, WrittenBar};
use halfbar_core::pitch::{Letter, Pitch, PitchName};
use halfbar_core::value::NoteValue;
use halfbar_tests::outside;
use serde::Deserialize;
use serde_json::{Value, json};

use crate::cases::{Case, QUALITIES, cases, count};

#[derive(Deserialize)]
struct Found {
    name: String,
    schema: Vec<String>,
    music21: Score,
    partitura: Vec<(i64, String, String, bool)>,
}

#[derive(Deserialize)]
struct Score {
    title: Option<String>,
    tempos: Vec<u16>,
    measures: Vec<Value>,
    notes: Vec<Value>,
    chords: Vec<Chord>,
    places: Vec<Value>,
}

#[derive(Deserialize)]
struct Chord {
    onset: String,
    classes: BTreeSet<i32>,
}

/// Published sources: the W3C's schema of MusicXML 4.0; music21 (PyPI); partitura (PyPI).
#[test]
fn others_read_the_same_scores() {
    let cases = cases(count());
    let asked: Vec<(&Case, Staves)> =
        cases.iter().flat_map(|case| Staves::ALL.map(|staves| (case, staves))).collect();
    let input: Vec<String> = (asked.iter())
        .map(|(case, staves)| {
            let xml = document(&case.piece, &case.text, *staves).unwrap();
            json!({ "name": case.name, "xml": xml }).to_string()
        })
        .collect();
    let found = outside("exported.py", &[], &input.join("\n"));
    assert_eq!(found.len(), asked.len(), "an answer for each file");
    let (mut notes, mut measures, mut chords) = (0, 0, 0);
    for (&(case, staves), line) in asked.iter().zip(&found) {
        let found: Found = serde_json::from_str(line).unwrap();
        let name = format!("{} ({staves})", case.name);
        assert_eq!((found.name, found.schema), (case.name.clone(), Vec::new()), "{name}");
        let score = found.music21;
        let heading = case.piece.line().heading();
        assert_eq!(score.title.unwrap_or_default(), heading.title, "{name}");
        assert_eq!(score.tempos, [heading.tempo.quarters_per_minute()], "{name}");
        same(&name, &score.measures, &expected_measures(&case.piece));
        same(&name, &score.notes, &expected_notes(&case.piece));
        same(&name, &score.places, &expected_places(&case.piece, staves));
        let wanted = expected_chords(&case.piece);
        assert_eq!(score.chords.len(), wanted.len(), "{name}");
        for (found, (onset, classes, symbol)) in score.chords.iter().zip(wanted) {
            assert_eq!(found.onset, onset, "{name}: {symbol}");
            assert_eq!(found.classes, classes, "{name}: {symbol}");
            chords += 1;
        }
        // partitura takes a tab for more notes.
        if staves == Staves::Staff {
            let mut found = found.partitura;
            found.sort();
            assert_eq!(found, expected_sounds(&case.piece), "{name}");
        }
        notes += score.notes.len();
        measures += score.measures.len();
    }
    println!(
        "{} files of {} lines are valid; partitura reads all of them; music21 reads {notes} notes and rests in {measures} measures, {chords} chords \
         and {} of {} chord qualities as they were written",
        asked.len(),
        cases.len(),
        QUALITIES.len(),
        QUALITIES.len(),
    );
}

fn same(name: &str, found: &[Value], wanted: &[Value]) {
    for (found, wanted) in found.iter().zip(wanted) {
        assert_eq!(found, wanted, "{name}");
    }
    assert_eq!(found.len(), wanted.len(), "{name}");
}

fn expected_measures(piece: &Piece) -> Vec<Value> {
    let bars = &piece.written().bars;
    let measure = |(index, bar): (usize, &WrittenBar)| {
        let before = index.checked_sub(1).map(|before| &bars[before]);
        let mode = if bar.key.mode() == Mode::Minor { "minor" } else { "major" };
        let is_new =
            |same: fn(&WrittenBar, &WrittenBar) -> bool| before.is_none_or(|before| !same(before, bar));
        json!({
            "number": piece.line().bars().number(index),
            "start": bar.span.start().to_string(),
            "length": bar.span.length().unwrap().to_string(),
            "key": is_new(|one, other| one.key == other.key).then(|| json!([bar.key.fifths(), mode])),
            "meter": is_new(|one, other| signature(one.meter) == signature(other.meter))
                .then(|| format!("{}/{}", bar.meter.count(), bar.meter.unit())),
        })
    };
    bars.iter().enumerate().map(measure).collect()
}

/// What a time signature shows of a meter: its groups, if they are unequal and unusual.
fn signature(meter: Meter) -> (Vec<u8>, u8) {
    let groups: Vec<u8> = meter.groups().collect();
    let is_plain = meter == meter.usual() || groups.iter().all(|group| *group == groups[0]);
    (if is_plain { vec![meter.count()] } else { groups }, meter.unit())
}

fn expected_notes(piece: &Piece) -> Vec<Value> {
    let attacks = piece.fingering().attacks();
    let symbols: Vec<(&WrittenBar, usize, &Symbol)> = (piece.written().bars.iter())
        .flat_map(|bar| bar.symbols.iter().enumerate().map(move |(index, symbol)| (bar, index, symbol)))
        .collect();
    let mut notes = Vec::new();
    for (at, &(bar, index, symbol)) in symbols.iter().enumerate() {
        let onset = bar.onset(symbol).unwrap();
        let stroke = attacks.of(symbol.note).and_then(Attack::stroke).map(|stroke| stroke.name());
        if let Some(grace) = symbol.grace {
            notes.push(json!({
                "onset": onset.to_string(), "length": "0", "pitch": grace.pitch.to_string(), "grace": true,
                "value": "eighth", "dots": 0, "tie": null, "tuplets": [], "brackets": [], "beams": [],
                "accidental": grace.accidental.map(accidental), "accent": false, "stroke": stroke, "finger": null,
                "leads": null,
            }));
        }
        let tuplets: Vec<_> = bar.tuplets_of(index).collect();
        let finger = piece.fingering().of(symbol.note).map(|fretting| fretting.finger.0);
        let begins = !symbol.tied_from && symbol.pitch.is_some();
        let tie = match (symbol.tied_from, symbol.tied_to) {
            (false, false) => None,
            (false, true) => Some("start"),
            (true, true) => Some("continue"),
            (true, false) => Some("stop"),
        };
        let next = symbols.get(at + 1).map(|(.., next)| *next);
        let leads = attacks.leads(symbol.note).filter(|_| !symbol.tied_to);
        let leads = leads.map(|leads| led(leads, symbol.pitch.unwrap(), next.unwrap()));
        let NoteValue { base, dots } = symbol.value;
        notes.push(json!({
            "onset": onset.to_string(),
            "length": symbol.length.to_string(),
            "pitch": symbol.pitch.map(|pitch| pitch.to_string()),
            "grace": false,
            // A rest that fills its bar has no value of its own.
            "value": (!bar.is_silent()).then(|| base.name()),
            "dots": if bar.is_silent() { 0 } else { dots },
            "tie": tie,
            "tuplets": tuplets.iter().map(|one| json!([one.actual, one.normal, one.unit.name()])).collect::<Vec<_>>(),
            "brackets": tuplets.iter().map(|one| {
                match (one.symbols.start == index, one.symbols.end == index + 1) {
                    (true, _) => Some("start"),
                    (_, true) => Some("stop"),
                    _ => None,
                }
            }).collect::<Vec<_>>(),
            "beams": symbol.beams.iter().map(|beam| Beam::name(*beam)).collect::<Vec<_>>(),
            "accidental": symbol.accidental.map(accidental),
            "accent": symbol.accent,
            "stroke": stroke.filter(|_| begins && symbol.grace.is_none()),
            "finger": finger.filter(|finger| begins && *finger > 0),
            "leads": leads,
        }));
    }
    notes
}

/// What leads into what is heard next: a grace note, or the note itself.
fn led(by: Legato, from: Pitch, next: &Symbol) -> &'static str {
    let to = next.grace.map(|grace| grace.pitch).or(next.pitch).unwrap();
    Attack::led(by, from, to).name()
}

fn accidental(sign: Accidental) -> String {
    let names = ["double-flat", "flat", "natural", "sharp", "double-sharp"];
    let name = names[usize::try_from(sign.alter.half_steps() + 2).unwrap()];
    format!("{name}{}", if sign.courtesy { " in parentheses" } else { "" })
}

/// Strings and frets in order; those of grace notes only as far as they are on the neck.
fn expected_places(piece: &Piece, staves: Staves) -> Vec<Value> {
    let neck = &piece.line().heading().neck;
    let mut places = Vec::new();
    for symbol in piece.written().bars.iter().flat_map(|bar| &bar.symbols) {
        let Some(fretting) = piece.fingering().of(symbol.note).filter(|_| symbol.pitch.is_some()) else {
            continue;
        };
        if let Some(grace) = symbol.grace {
            let near = |&(string, fret): &(StringNo, Fret)| {
                (string != fretting.string, fret.0.abs_diff(fretting.fret.0))
            };
            match neck.places(grace.pitch.midi().unwrap()).min_by_key(near) {
                Some((string, fret)) => places.push(json!([string.0, fret.0])),
                None if staves == Staves::Staff => places.push(json!([null, null])),
                None => {}
            }
        }
        places.push(json!([fretting.string.0, fretting.fret.0]));
    }
    places
}

/// When chords start, and their pitch classes.
fn expected_chords(piece: &Piece) -> Vec<(String, BTreeSet<i32>, String)> {
    let class = |name: PitchName| {
        let natural = match name.letter {
            Letter::C => 0,
            Letter::D => 2,
            Letter::E => 4,
            Letter::F => 5,
            Letter::G => 7,
            Letter::A => 9,
            Letter::B => 11,
        };
        (natural + i32::from(name.alter.half_steps())).rem_euclid(12)
    };
    let chords = piece.line().chords().iter();
    let classes = chords.map(|at| {
        let classes = at.symbol.chord().map(|chord| {
            let quality = chord.quality().unwrap();
            let tones =
                quality.degrees().map(|degree| (class(chord.root()) + i32::from(degree.half_steps())) % 12);
            tones.chain(chord.bass().map(class)).collect()
        });
        (at.onset.since_start().to_string(), classes.unwrap_or_default(), at.symbol.to_string())
    });
    classes.collect()
}

/// Keys with their times, tied notes as one, grace notes marked.
fn expected_sounds(piece: &Piece) -> Vec<(i64, String, String, bool)> {
    let mut sounds = Vec::new();
    for event in &piece.timed().events {
        let Some(pitch) = event.pitch else { continue };
        let key = |pitch: Pitch| i64::from(pitch.midi().unwrap().0);
        let at = event.onset.since_start().to_string();
        if let Some(grace) = event.grace {
            sounds.push((key(grace), at.clone(), "0".into(), true));
        }
        sounds.push((key(pitch), at, event.duration.to_string(), false));
    }
    sounds.sort();
    sounds
}
