//! Chord symbols: laws over random texts, and comparison with how other programs read the same symbols. Each outside check names its
//! source; `tests/outside/README.md` says how the scripts work.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::collections::BTreeSet;

use halfbar_core::chord::{Chord, ChordError, ChordSymbol, Degree, Form, Quality, Triad};
use halfbar_core::engrave::Layout;
use halfbar_core::harmony::degree;
use halfbar_core::pitch::{Interval, Letter, PitchName};
use halfbar_core::read;
use halfbar_core::score::Annotations;
use halfbar_core::sound::Voicing;
use halfbar_core::{Piece, names};
use halfbar_tests::{a_thousand, jazz, outside, random};
use proptest::prelude::*;
use proptest::string::string_regex;
use serde::Deserialize;

/// Random degrees, most of which make up a quality: a third or none, a fifth or none, and so on.
fn quality() -> impl Strategy<Value = Quality> {
    use Degree::*;
    let one_of = |degrees: &'static [&'static [Degree]]| prop::sample::select(degrees);
    let parts = (
        one_of(&[&[Three], &[FlatThree], &[Four], &[Two], &[]]),
        one_of(&[&[Five], &[FlatFive], &[SharpFive], &[FlatFive, SharpFive], &[]]),
        one_of(&[&[], &[Six], &[FlatSeven], &[Seven], &[DoubleFlatSeven]]),
        one_of(&[&[], &[Nine], &[FlatNine], &[SharpNine], &[FlatNine, SharpNine]]),
        one_of(&[&[], &[Eleven], &[SharpEleven]]),
        one_of(&[&[], &[Thirteen], &[FlatThirteen]]),
    );
    parts.prop_filter_map(
        "degrees that don't go together",
        |(third, fifth, seventh, ninth, eleventh, thirteenth)| {
            Quality::new([third, fifth, seventh, ninth, eleventh, thirteenth].into_iter().flatten().copied())
                .ok()
        },
    )
}

fn name() -> impl Strategy<Value = PitchName> {
    (prop::sample::select(&Letter::ALL[..]), "(b|#)?")
        .prop_map(|(letter, sign)| format!("{}{sign}", letter.as_char()).parse().unwrap())
}

fn chord() -> impl Strategy<Value = Chord> {
    (name(), quality(), prop::option::of(name()))
        .prop_map(|(root, quality, bass)| Chord::new(root, quality, bass))
}

/// Text that is almost a chord symbol, or any text at all.
fn text() -> impl Strategy<Value = String> {
    let sign = "maj|ma|M|m|mi|-|\\+|o|°|ø|Ø|△|\\^|dim|aug|sus|sus2|sus4|alt|add9|add#11|no3|omit5|b|#|♭|♯|\\(|\\)|,|/|2|4|5|6|69|7|9|11|13|[a-z0-9]";
    prop_oneof![
        4 => string_regex(&format!("[A-Ha-h](b|#|♭|♯|𝄪|is|es)?({sign}){{0,5}}(/[A-Ha-h](b|#|♭|s)?)?")).unwrap(),
        1 => string_regex("\\PC{0,60}").unwrap(),
    ]
}

proptest! {
    #![proptest_config(random("chords.proptest-regressions"))]

    #[test]
    fn any_text_is_read_or_refused(text in text()) {
        let Ok(symbol) = text.parse::<ChordSymbol>() else { return Ok(()) };
        // A symbol that was read is written in characters that can be typed, and reads back the same.
        let written = symbol.to_string();
        prop_assert_eq!(written.parse(), Ok(symbol.clone()));
        prop_assert!(!written.contains(['♭', '♯', '𝄪', '𝄫']));
        prop_assert!(!names::chord(&symbol).is_empty());
        if let Some(chord) = symbol.chord() {
            prop_assert_eq!(chord.quality().is_ok(), Voicing::of(&symbol).unwrap().shell.is_some());
            prop_assert_eq!(chord.suffix().parse::<Quality>().is_ok(), chord.quality().is_ok());
        }
    }

    /// Any symbol at all: once transposed, it reads back the same, and a known quality is unchanged.
    #[test]
    fn any_symbol_can_be_transposed(text in text(), letters in -7i32..=7, half_steps in -13i32..=13) {
        let Ok(symbol) = text.parse::<ChordSymbol>() else { return Ok(()) };
        let moved = symbol.transposed(Interval { letters, half_steps });
        prop_assert_eq!(moved.to_string().parse(), Ok(moved.clone()));
        if let (Some(chord), Some(moved)) = (symbol.chord(), moved.chord()) {
            prop_assert_eq!(chord.quality().ok(), moved.quality().ok());
            prop_assert_eq!((class(moved.root()) - class(chord.root()) - half_steps).rem_euclid(12), 0);
        }
    }

    #[test]
    fn every_quality_is_written_and_read_back(chord in chord()) {
        let symbol = ChordSymbol::Chord(chord);
        prop_assert_eq!(symbol.to_string().parse(), Ok(symbol));
    }

    #[test]
    fn transposing_moves_every_tone(chord in chord(), letters in -7i32..=7, half_steps in -13i32..=13) {
        let symbol = ChordSymbol::Chord(chord.clone());
        let moved = symbol.transposed(Interval { letters, half_steps });
        prop_assert_eq!(moved.to_string().parse(), Ok(moved.clone()));
        let moved = moved.chord().unwrap();
        prop_assert_eq!(chord.quality(), moved.quality());
        for ((degree, name), (moved_degree, moved_name)) in chord.tones().zip(moved.tones()) {
            prop_assert_eq!(degree, moved_degree);
            prop_assert_eq!((class(moved_name) - class(name) - half_steps).rem_euclid(12), 0);
        }
    }

    /// A chord's tones have the degrees that it names, in every spelling.
    #[test]
    fn tones_have_their_degrees(chord in chord(), letters in -1i32..=1) {
        let symbol = ChordSymbol::Chord(chord.clone());
        for (wanted, name) in chord.tones() {
            let respelled = name.transposed(Interval { letters, half_steps: 0 });
            prop_assert_eq!(degree(respelled, &symbol), Some(wanted), "{} over {}", respelled, chord);
        }
    }
}

/// A symbol that can't be read is only a remark: the line and everything made from it are still there.
#[test]
fn refused_qualities_are_remarks() {
    a_thousand("chords.proptest-regressions", text(), |text| {
        let Ok(symbol) = text.parse::<ChordSymbol>() else { return Ok(()) };
        let source = format!("@{text} C4 D E F G A B C |");
        let reading = read::text(&source);
        prop_assert_eq!(&reading.diagnostics, &[]);
        let refused = symbol.chord().is_some_and(|chord| chord.quality().is_err());
        let codes: Vec<_> =
            reading.remarks.iter().map(|remark| (remark.column, remark.problem.code())).collect();
        prop_assert_eq!(codes, if refused { vec![(1, "chord-quality")] } else { vec![] });
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        prop_assert!(!piece.engrave(&Layout::default()).systems.is_empty());
        prop_assert!(!piece.describe(0, Annotations::default()).unwrap().opening.is_empty());
        Ok(())
    });
}

/// Half steps above C.
fn class(name: PitchName) -> i32 {
    [0, 2, 4, 5, 7, 9, 11][name.letter as usize] + i32::from(name.alter.half_steps())
}

#[derive(Deserialize)]
#[serde(tag = "what", rename_all = "lowercase")]
enum Known {
    Chord { symbol: String, suffix: String, kind: String, names: Vec<Option<String>>, classes: Vec<i32> },
    Shorthand { shorthand: String, half_steps: Vec<u8> },
    Degree { degree: String, half_steps: u8 },
}

/// Sources: music21 (PyPI), its kinds of chords in all their spellings on 15 roots, each tone with its name; mir_eval (PyPI), which
/// reads the shorthand of Harte et al. (ISMIR 2005). `chords.py` says what is left out.
#[test]
fn other_programs_read_the_same_chords() {
    /// What music21 accepts and we refuse: names of its own, and symbols with two meanings.
    const REFUSED: [&str; 14] = [
        "power", "m#7", "7+", "dom7", "dom9", "dom11", "dom13", "dom7dim5", "o9", "dim9", "o11", "dim11",
        "ob9", "dimb9",
    ];
    let shorthands = |shorthand: &str| match shorthand {
        "maj" => "".into(),
        "hdim7" => "m7b5".into(),
        "minmaj7" => "m(maj7)".into(),
        "maj6" => "6".into(),
        _ => shorthand.replace("min", "m"),
    };
    let (mut refused, mut counts) = (BTreeSet::new(), [0; 3]);
    for line in outside("chords.py", &[], "") {
        match serde_json::from_str(&line).unwrap() {
            Known::Chord { symbol, suffix, kind, names, classes } => {
                counts[0] += 1;
                let chord = symbol.parse::<ChordSymbol>().unwrap().chord().unwrap().clone();
                let Ok(quality) = chord.quality() else {
                    refused.insert(suffix);
                    continue;
                };
                // Textbooks stack all thirds, but over a major third the 11 is left out (common practice, no source).
                let is_practice = kind.ends_with("13th") && quality.has(Degree::Three);
                let all: Vec<Degree> =
                    quality.degrees().chain(is_practice.then_some(Degree::Eleven)).collect();
                let spelled = |degree: &Degree| chord.root().transposed(degree.interval());
                let mut ours: Vec<i32> =
                    all.iter().map(|degree| class(spelled(degree)).rem_euclid(12)).collect();
                let mut theirs = classes;
                ours.sort_unstable();
                theirs.sort_unstable();
                assert_eq!(ours, theirs, "{symbol}");
                if let Some(mut theirs) = names.into_iter().collect::<Option<Vec<String>>>() {
                    let mut ours: Vec<String> =
                        all.iter().map(|degree| spelled(degree).to_string()).collect();
                    ours.sort_unstable();
                    theirs.sort_unstable();
                    assert_eq!(ours, theirs, "{symbol}");
                }
            }
            Known::Shorthand { shorthand, half_steps } => {
                counts[1] += 1;
                if shorthand == "1" {
                    // A root by itself is not a chord symbol.
                    continue;
                }
                let quality: Quality = shorthands(&shorthand).parse().unwrap();
                let is_practice = shorthand.ends_with("13") && quality.has(Degree::Three);
                let all = quality.degrees().chain(is_practice.then_some(Degree::Eleven));
                let mut ours: Vec<u8> = all.map(Degree::half_steps).collect();
                ours.sort_unstable();
                assert_eq!(ours, half_steps, "{shorthand}");
            }
            Known::Degree { degree, half_steps } => {
                counts[2] += 1;
                assert_eq!(degree.parse::<Degree>().unwrap().half_steps(), half_steps, "{degree}");
            }
        }
    }
    println!("{counts:?} chords, shorthands and degrees; refused: {refused:?}");
    assert_eq!(refused, REFUSED.into_iter().map(String::from).collect());
    assert!(counts[0] >= 1_740 && counts[1] == 24 && counts[2] == Degree::ALL.len(), "{counts:?}");
}

/// Source: chord symbols of the Weimar Jazz Database (Jazzomat Research Project), kept in `../shared/outside/jazz`, or where `HALFBAR_JAZZ`
/// says. Without that folder, the test prints that it is skipped.
#[test]
fn symbols_of_real_lines_are_read() {
    let Some(folder) = jazz() else { return };
    let mut symbols = BTreeSet::new();
    for line in outside("jazz.py", &[folder.to_str().unwrap()], "") {
        let line: serde_json::Value = serde_json::from_str(&line).unwrap();
        let text = line["text"].as_str().unwrap();
        symbols.extend(text.split_whitespace().filter_map(|word| word.strip_prefix('@')).map(String::from));
    }
    let reasons: Vec<(String, ChordError)> = symbols
        .iter()
        .filter_map(|text| match text.parse::<ChordSymbol>() {
            Ok(symbol) => Some((text.clone(), symbol.chord()?.quality().err()?.clone())),
            Err(error) => Some((text.clone(), error)),
        })
        .collect();
    println!("{} symbols; refused: {reasons:?}", symbols.len());
    assert_eq!(reasons, []);
    assert_eq!(symbols.len(), 142);
}

/// The parts that file formats need. Source: the kinds of MusicXML 4.0 (W3C), from memory: a chord is a kind plus degrees that are
/// added, altered or removed.
#[test]
fn a_form_is_a_kind_and_degrees() {
    let form = |text: &str| {
        let Form { triad, seventh, extension, alterations, added, omitted, .. } =
            text.parse::<Quality>().unwrap().form();
        let said = |degrees: Vec<Degree>| {
            degrees.iter().map(|degree| degree.to_string()).collect::<Vec<_>>().join(" ")
        };
        let number = extension.or(seventh).map(|degree| degree.to_string()).unwrap_or_default();
        (triad, number, said(alterations), said(added), said(omitted))
    };
    let wanted = |triad, number: &str, parts: [&str; 3]| {
        let [alterations, added, omitted] = parts.map(String::from);
        (triad, String::from(number), alterations, added, omitted)
    };
    assert_eq!(form("13b9"), wanted(Triad::Major, "13", ["b9", "", ""]));
    assert_eq!(form("ø7"), wanted(Triad::Minor, "b7", ["b5", "", ""]));
    assert_eq!(form("o7"), wanted(Triad::Diminished, "bb7", ["", "", ""]));
    assert_eq!(form("7sus4b9"), wanted(Triad::SuspendedFourth, "b7", ["b9", "", ""]));
    assert_eq!(form("m(add9)"), wanted(Triad::Minor, "", ["", "9", ""]));
    assert_eq!(form("7no3"), wanted(Triad::Major, "b7", ["", "", "3"]));
    assert_eq!(form("6/9"), wanted(Triad::Major, "9", ["", "", ""]));
    assert_eq!(form("+"), wanted(Triad::Augmented, "", ["", "", ""]));
    assert_eq!(form("5"), wanted(Triad::Power, "", ["", "", ""]));
}
