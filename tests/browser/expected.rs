//! How a text has to be drawn, counted from nothing but the text and the table of figures in `core/TEXT.md`.

use serde::Deserialize;

/// The number of signs of each kind on the staff.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Deserialize)]
pub(crate) struct Counts {
    /// Noteheads: a note written as two tied notes counts twice.
    pub(crate) notes: usize,
    pub(crate) rests: usize,
    pub(crate) tuplets: usize,
    pub(crate) ties: usize,
    pub(crate) chords: usize,
}

/// Each figure in each spelling: its name, its spelling, and the noteheads, tuplets and ties of one window.
pub(crate) const FIGURES: [(&str, &str, usize, usize, usize); 6] = [
    ("split-last", "bracket", 4, 1, 0),
    // 1/2 1/2~ | 1/3 1/3 1/3
    ("split-last", "tied", 5, 1, 1),
    ("split-middle", "bracket", 4, 1, 0),
    // 1/2 1/2 | 1/3 2/3
    ("split-middle", "tied", 4, 1, 0),
    ("split-first", "bracket", 4, 1, 0),
    // 1/3 1/3 1/3~ | 1/3 2/3
    ("split-first", "tied", 5, 2, 1),
];

/// How many notes of a half-bar a figure takes.
pub(crate) const NOTES: usize = 4;

/// Counts for a correct text in 4/4 in which no note is longer than its bar or tied by hand.
pub(crate) fn count(text: &str) -> Counts {
    let mut counts = Counts { notes: 0, rests: 0, tuplets: 0, ties: 0, chords: 0 };
    for row in text.lines() {
        if let Some(windows) = row.strip_prefix("recast: ") {
            let (figure, places) = windows.split_once(" at ").unwrap();
            for place in places.split(", ") {
                let mut words = place.split(' ').peekable();
                let beats = |place: &str| {
                    let (bar, beat) = place.split_once('.').unwrap();
                    4 * bar.parse::<usize>().unwrap() + beat.parse::<usize>().unwrap()
                };
                let start = beats(words.next().unwrap());
                // A half-bar, or several in a row: `6.3 to 8.1`.
                let end = words.next_if_eq(&"to").map_or(start + 2, |_| beats(words.next().unwrap()));
                let (windows, spelling) = ((end - start) / 2, words.next().unwrap_or("bracket"));
                let (_, _, notes, tuplets, ties) =
                    *FIGURES.iter().find(|one| (one.0, one.1) == (figure, spelling)).unwrap();
                counts.notes += windows * (notes - NOTES);
                counts.tuplets += windows * tuplets;
                counts.ties += windows * ties;
            }
        } else if !row.split_once(": ").is_some_and(|(name, _)| name.chars().all(char::is_lowercase)) {
            for word in row.split_whitespace() {
                match word.as_bytes()[0] {
                    b'A'..=b'G' => counts.notes += 1,
                    b'r' => counts.rests += 1,
                    b'@' => counts.chords += 1,
                    _ => assert_eq!(word, "|"),
                }
            }
        }
    }
    counts
}

/// A line like the one that the page starts with. No figure fits in its last bar.
pub(crate) const LINE: &str = "\
title: Week 12, a lift in the middle
key: Eb
meter: 4/4
tempo: 132
feel: swing auto
recast: split-last at 1.1 bracket, 2.3 tied

@Fm7 F3 Ab C Eb  G F Eb C | @Bb7alt D F B Ab  F# E D B |
@Ebmaj7 Bb3 D F G  Bb G F D | @C7b9 C#4 E G Bb  C# Bb G E |
@Fm7 F4 Eb D C  Ab G F Eb | @Bb7alt D3 F# Ab B  D E F# Ab |
@Ebmaj7 G4 F Eb D  Bb C D F | Eb4:2 r:2 |
";

/// A line of 32 bars with all twelve notes, all registers, chords in every bar, and a few recast windows.
pub(crate) fn long_line() -> String {
    let four = "@Fm7 F3 Ab C Eb  G F Eb C | @Bb7alt D3 F B Ab  F# E D B |\n\
                @Ebmaj7 Bb3 D F G  Bb G F D | @C7b9 C#4 E G Bb  C# Bb G E |\n";
    let recast = "recast: split-last at 1.1 bracket, 10.3 tied, 20.1 bracket, 32.3 bracket\n";
    format!("title: Thirty-two bars\nkey: Eb\ntempo: 132\n{recast}\n{}", four.repeat(8))
}
