//! The degree of a note over a chord symbol.

use crate::chord::{Chord, ChordSymbol, Degree};
use crate::pitch::PitchName;

/// By half steps above the root, for notes whose spelling says nothing usual, such as the fourth flat.
const BY_SOUND: [Degree; 12] = [
    Degree::One,
    Degree::FlatNine,
    Degree::Nine,
    Degree::FlatThree,
    Degree::Three,
    Degree::Eleven,
    Degree::SharpEleven,
    Degree::Five,
    Degree::FlatThirteen,
    Degree::Thirteen,
    Degree::FlatSeven,
    Degree::Seven,
];

/// What a note is over a chord; `None` where no chord sounds.
///
/// A note that the symbol itself names is that, however it is spelled: the minor third of a minor chord, the #9 of `7#9`, the 6 of `m6`, the b13
/// of `7alt`. Any other goes by its spelling from the root, and where that says nothing usual, by its sound (common practice, no source).
/// Where the symbol's quality is not known, only spelling and sound are left.
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
    let chord = chord.chord()?;
    let half_steps = above_root(note, chord);
    let letters = (note.letter as i32 - chord.root().letter as i32).rem_euclid(7);
    let named = named(note, chord);
    // The 2, the 4 and the 6 are only what a chord says they are.
    let usual =
        Degree::ALL.into_iter().filter(|degree| !matches!(degree, Degree::Two | Degree::Four | Degree::Six));
    let spelled = || {
        usual.map(|degree| (degree, degree.interval())).find_map(|(degree, above)| {
            (above.letters == letters && above.half_steps == half_steps).then_some(degree)
        })
    };
    named.or_else(spelled).or_else(|| BY_SOUND.get(usize::try_from(half_steps).ok()?).copied())
}

/// Whether the symbol itself names a note, however the note is spelled. Where the symbol's quality is not known, it names nothing.
///
/// ```
/// use halfbar_core::harmony::is_chord_tone;
///
/// let is_tone = |note: &str, chord: &str| Some(is_chord_tone(note.parse().ok()?, &chord.parse().ok()?));
/// assert_eq!(is_tone("Gb", "Bb7alt"), Some(true));
/// assert_eq!(is_tone("F", "Bb7alt"), Some(false));
/// ```
pub fn is_chord_tone(note: PitchName, chord: &ChordSymbol) -> bool {
    chord.chord().is_some_and(|chord| named(note, chord).is_some())
}

/// The degree that a chord's quality has a note as.
fn named(note: PitchName, chord: &Chord) -> Option<Degree> {
    chord.quality().ok()?.sounding(above_root(note, chord).try_into().ok()?)
}

/// By how many half steps, 0 to 11, a note is above the root.
fn above_root(note: PitchName, chord: &Chord) -> i32 {
    (note.pitch_class() - chord.root().pitch_class()).rem_euclid(12)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

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
            ("B D# F## A#", "G7alt", "3 b13 1 #9"),
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

    /// The tones of each chord (common practice), and no others of the twelve.
    #[test]
    fn chord_tones() {
        for (chord, tones) in [
            ("Fm7", "F Ab C Eb"),
            ("Bb7alt", "Bb Cb C# D Fb Gb Ab"),
            ("Ebmaj7", "Eb G Bb D"),
            ("C6/9", "C D E G A"),
            ("G7sus4", "G C D F"),
            ("Am7/D", "A C E G"),
            ("NC", ""),
        ] {
            let symbol = chord.parse().unwrap();
            let class = |name: &str| name.parse::<PitchName>().unwrap().pitch_class().rem_euclid(12);
            let wanted: BTreeSet<_> = tones.split_whitespace().map(class).collect();
            let all = "C Db D Eb E F Gb G Ab A Bb B".split(' ');
            let found = all.filter(|name| is_chord_tone(name.parse().unwrap(), &symbol)).map(class).collect();
            assert_eq!(wanted, found, "{chord}");
        }
    }
}
