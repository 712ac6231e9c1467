//! The degree of a note over a chord symbol.

use std::fmt;

use crate::chord::ChordSymbol;
use crate::pitch::{Alter, PitchName};

/// A degree over a chord, as musicians count it: 9, 11 and 13 above the seventh.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Degree {
    /// How far it is altered from the degree of a major chord with a major seventh.
    pub alter: Alter,
    /// 1, 3, 5, 6, 7, 9, 11 or 13.
    pub number: u8,
}

/// By letters above the root: half steps, the number, the lowest and the highest usual alteration (common practice, no source).
const BY_LETTER: [(i32, u8, i32, i32); 7] = [
    (0, 1, 0, 0),
    (2, 9, -1, 1),
    (4, 3, -1, 0),
    (5, 11, 0, 1),
    (7, 5, -1, 1),
    (9, 13, -1, 0),
    (11, 7, -2, 0),
];
/// By half steps above the root, for notes whose spelling says nothing usual, such as the fourth flat: alteration and number.
const BY_SOUND: [(i8, u8); 12] =
    [(0, 1), (-1, 9), (0, 9), (-1, 3), (0, 3), (0, 11), (1, 11), (0, 5), (-1, 13), (0, 13), (-1, 7), (0, 7)];

/// What a note is over a chord; `None` where no chord sounds.
///
/// A note that the symbol itself names is that, however it is spelled: the minor third of a minor chord, the #9 of `7#9`, the 6 of `m6`. Any
/// other goes by its spelling from the root, and where that says nothing usual, by its sound (common practice, no source).
///
/// ```
/// use halfbar_core::harmony::degree;
///
/// let degree = |note: &str, chord: &str| Some(degree(note.parse().ok()?, &chord.parse().ok()?)?.to_string());
/// assert_eq!(degree("Db", "G7"), Some("b5".into()));
/// assert_eq!(degree("C#", "G7"), Some("#11".into()));
/// assert_eq!(degree("Cb", "G7alt"), Some("3".into()));
/// assert_eq!(degree("C", "NC"), None);
/// ```
pub fn degree(note: PitchName, chord: &ChordSymbol) -> Option<Degree> {
    let ChordSymbol::Chord { root, quality, .. } = chord else { return None };
    let half_steps = (note.pitch_class() - root.pitch_class()).rem_euclid(12);
    let letters = (note.letter as i32 - root.letter as i32).rem_euclid(7);
    let (natural, number, lowest, highest) = BY_LETTER[letters as usize];
    // From -6 to 5: an altered first degree may lie below the root.
    let alter = (half_steps - natural + 6).rem_euclid(12) - 6;
    let spelled = (lowest..=highest).contains(&alter).then_some((i8::try_from(alter).unwrap_or(0), number));
    let (alter, number) =
        named(quality, half_steps).or(spelled).unwrap_or(BY_SOUND[half_steps as usize % BY_SOUND.len()]);
    Some(Degree { alter: Alter::new(alter)?, number })
}

/// The degree that a chord's own words give to a sound.
fn named(quality: &str, half_steps: i32) -> Option<(i8, u8)> {
    let starts = |words: &[&str]| words.iter().any(|word| quality.starts_with(word));
    let says = |words: &[&str]| words.iter().any(|word| quality.contains(word));
    let diminished = starts(&["dim", "o", "\u{b0}"]);
    let half_diminished = starts(&["\u{f8}"]);
    let minor = diminished || half_diminished || starts(&["-"]) || (starts(&["m"]) && !starts(&["ma"]));
    match half_steps {
        3 if minor => Some((-1, 3)),
        3 if says(&["#9", "alt"]) => Some((1, 9)),
        6 if says(&["#11"]) => Some((1, 11)),
        6 if diminished || half_diminished || says(&["b5"]) => Some((-1, 5)),
        8 if says(&["b13"]) => Some((-1, 13)),
        8 if says(&["#5", "aug"]) || starts(&["+"]) => Some((1, 5)),
        9 if diminished => Some((-2, 7)),
        9 if says(&["6"]) => Some((0, 6)),
        _ => None,
    }
}

impl fmt::Display for Degree {
    /// `b9`, `#11`, `bb7`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.alter, self.number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn degrees(notes: &str, chord: &str) -> String {
        let chord = chord.parse().unwrap();
        let each = notes.split(' ').map(|note| degree(note.parse().unwrap(), &chord).unwrap().to_string());
        each.collect::<Vec<_>>().join(" ")
    }

    /// Arithmetic on common practice: the chord that is played over another, and its degrees there.
    #[test]
    fn chords_over_chords() {
        for (notes, chord, wanted) in [
            // A major seventh chord on the flat third of a minor seventh chord.
            ("Eb G Bb D", "Cm7", "b3 5 b7 9"),
            // Half-diminished on the flat seventh of an altered dominant.
            ("F Ab Cb Eb", "G7alt", "b7 b9 3 b13"),
            // Minor with a major seventh on its flat ninth.
            ("Ab Cb Eb G", "G7alt", "b9 3 b13 1"),
            // Augmented with a major seventh on its third.
            ("B D# F## A#", "G7alt", "3 #5 1 #9"),
            // Melodic minor a half step above: no natural 5, 9, 11, 13.
            ("Ab Bb Cb Db Eb F G", "G7alt", "b9 #9 3 b5 b13 b7 1"),
        ] {
            assert_eq!(degrees(notes, chord), wanted, "{notes} over {chord}");
        }
    }

    #[test]
    fn spelling_decides_where_the_chord_says_nothing() {
        assert_eq!(
            degrees("C Db D D# Eb E F F# Gb G G# Ab A Bbb Bb B", "C7"),
            "1 b9 9 #9 b3 3 11 #11 b5 5 #5 b13 13 bb7 b7 7"
        );
        // Seconds, fourths, sevenths and octaves that nobody counts so.
        assert_eq!(degrees("C# Cb Dbb D## E# Fb B# A#", "C7"), "b9 7 1 3 11 3 1 b7");
        // A root with a sign of its own.
        assert_eq!(degrees("F# A# C# E G F##", "F#7"), "1 3 5 b7 b9 b9");
    }

    #[test]
    fn the_chord_decides_where_it_says_something() {
        for (note, chord, wanted) in [
            ("D#", "Cm7", "b3"),
            ("D#", "C-7", "b3"),
            ("D#", "Cmaj7", "#9"),
            ("Eb", "C7#9", "#9"),
            ("F#", "Cm7b5", "b5"),
            ("Gb", "Cmaj7#11", "#11"),
            ("Ab", "C+7", "#5"),
            ("G#", "C7b13", "b13"),
            ("A", "Co7", "bb7"),
            ("A", "C6/9", "6"),
            ("A", "Cm6", "6"),
            ("A", "Cm7", "13"),
            ("A", "F#m7/E", "b3"),
        ] {
            assert_eq!(degrees(note, chord), wanted, "{note} over {chord}");
        }
        assert_eq!(degree("C".parse().unwrap(), &ChordSymbol::NoChord), None);
    }
}
