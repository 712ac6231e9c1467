//! The lines that are written.

use halfbar_core::write::text;
use halfbar_core::{Piece, read};
use halfbar_tests::{gallery, lines};
use proptest::prelude::ProptestConfig;

/// Chord qualities in use: every kind of MusicXML, and what players write besides.
pub(crate) const QUALITIES: [&str; 60] = [
    "",
    "m",
    "dim",
    "aug",
    "sus2",
    "sus4",
    "5",
    "6",
    "m6",
    "69",
    "m69",
    "7",
    "maj7",
    "m7",
    "m(maj7)",
    "m7b5",
    "dim7",
    "aug7",
    "maj7#5",
    "maj7b5",
    "7b5",
    "9",
    "maj9",
    "m9",
    "m(maj9)",
    "m9b5",
    "7sus4",
    "7sus2",
    "9sus4",
    "13sus4",
    "7sus4b9",
    "11",
    "m11",
    "13",
    "maj13",
    "m13",
    "7b9",
    "7#9",
    "7b13",
    "7#11",
    "9#11",
    "9b13",
    "13#11",
    "13b9",
    "maj7#11",
    "maj9#11",
    "7alt",
    "7b9b13",
    "7#5#9",
    "7#5b9",
    "7b5b9",
    "7b9#11",
    "7b9#9",
    "(add9)",
    "m(add9)",
    "(add11)",
    "m7(add11)",
    "7(no5)",
    "maj7(no3)",
    "6(add9)",
];

/// A line and its text.
pub(crate) struct Case {
    pub(crate) name: String,
    pub(crate) piece: Piece,
    pub(crate) text: String,
}

/// The gallery, a line with many chords, lines for what neither has, and random lines.
pub(crate) fn cases(count: usize) -> Vec<Case> {
    let of = |name: String, piece: Piece| {
        let text = text::line(piece.line(), piece.casting()).unwrap();
        Case { name, piece, text }
    };
    let drawn = gallery::cases().into_iter().map(|case| of(case.name, case.piece));
    let written = [
        ("chords", chords()),
        (
            "capo",
            "tuning: drop-d\nneck: 24 frets, capo 3\nsystems: 1 at 3\nF2 A C4 F G A E C | G4:4 | F4:4 |"
                .into(),
        ),
        ("inside a note", "title: <&>\n@C C4:4 | @Dm7 D4:2~ @G7 D:2~ | D:1 r:1 @NC r:2 |".into()),
        ("own groups", "meter: 7/8 3+2+2\nC4 D E F G A B | 4/4 1+3 C4:1 D:3 | 5/4 2+3 C4:5 |".into()),
        ("straight in six", "meter: 6/8\nC4 D E F G A | 4/4 C4 D E F G A B C5 |".into()),
    ];
    let written = written.into_iter().map(|(name, text): (&str, String)| {
        let reading = read::text(&text);
        assert_eq!(reading.diagnostics, [], "{text}");
        of(name.into(), Piece::new(reading.line.unwrap(), reading.casting).unwrap())
    });
    let random = lines::sample(count)
        .enumerate()
        .map(|(index, (line, casting))| of(format!("line {index}"), Piece::new(line, casting).unwrap()));
    drawn.chain(written).chain(random).collect()
}

/// Every quality on one of twelve roots, and a bass here and there.
fn chords() -> String {
    const ROOTS: [&str; 12] = ["C", "F", "Bb", "Eb", "Ab", "Db", "F#", "B", "E", "A", "D", "G"];
    let bars = QUALITIES.iter().enumerate().map(|(index, quality)| {
        let root = ROOTS[index % 12];
        let bass = if index % 7 == 3 { "/G" } else { "" };
        format!("@{root}{quality}{bass} C4:4 |")
    });
    bars.collect::<Vec<_>>().join(" ")
}

/// How many random lines are tried by slow readers: 20 in a usual run, 200 in a thorough one.
pub(crate) fn count() -> usize {
    ProptestConfig::default().cases as usize / 50
}
