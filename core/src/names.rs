//! Pitches, keys, chords, lengths and beats in words.

use crate::chord::{ChordSymbol, Sign, signs};
use crate::key::{Key, Mode};
use crate::pitch::{Alter, Pitch, PitchName};
use crate::time::Duration;
use crate::value::NoteValue;

/// `E flat 3`.
pub fn pitch(pitch: Pitch) -> String {
    format!("{} {}", name(pitch.name), pitch.octave)
}

/// `E flat`.
pub(crate) fn name(name: PitchName) -> String {
    format!("{}{}", name.letter.as_char(), alter(name.alter))
}

/// A time in quarter notes.
///
/// ```
/// use halfbar_core::names::quarters;
///
/// let said = |text: &str| text.parse().map(quarters);
/// assert_eq!(said("1")?, "a quarter note");
/// assert_eq!(said("1/2")?, "1/2 of a quarter note");
/// assert_eq!(said("5/2")?, "5/2 quarter notes");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn quarters(time: Duration) -> String {
    match () {
        () if time == Duration::QUARTER => "a quarter note".into(),
        () if time < Duration::QUARTER => format!("{time} of a quarter note"),
        () => format!("{time} quarter notes"),
    }
}

/// The sign of a pitch, with a space before it; nothing for a natural.
pub(crate) fn alter(alter: Alter) -> &'static str {
    match alter.half_steps() {
        -2 => " double flat",
        -1 => " flat",
        1 => " sharp",
        2 => " double sharp",
        _ => "",
    }
}

/// `E flat major`.
pub fn key(key: Key) -> String {
    format!("{} {}", name(key.tonic()), if key.mode() == Mode::Minor { "minor" } else { "major" })
}

/// A chord symbol as one reads it aloud.
///
/// ```
/// use halfbar_core::names::chord;
///
/// let said = |text: &str| Some(chord(&text.parse().ok()?));
/// assert_eq!(said("Bb7alt/D"), Some("B flat 7 altered over D".into()));
/// assert_eq!(said("F#m7b5"), Some("F sharp minor 7 flat 5".into()));
/// assert_eq!(said("NC"), Some("no chord".into()));
/// ```
pub fn chord(symbol: &ChordSymbol) -> String {
    let Some(chord) = symbol.chord() else { return "no chord".into() };
    let mut said = name(chord.root());
    if chord.suffix().is_empty() {
        said += " major";
    }
    let mut signs = signs(chord.suffix()).peekable();
    while let Some((sign, text)) = signs.next() {
        let number_follows = matches!(signs.peek(), Some((Sign::Number(_), _)));
        let degree = |number: u8, sign: Alter| format!("{} {number}", alter(sign));
        // Common practice, no source.
        said += &match sign {
            Sign::Triangle if !number_follows => " major 7".into(),
            Sign::Major | Sign::Triangle => " major".into(),
            Sign::Minor => " minor".into(),
            Sign::Diminished => " diminished".into(),
            Sign::HalfDiminished => " half-diminished".into(),
            Sign::Augmented => " augmented".into(),
            Sign::Number(number) => format!(" {number}"),
            Sign::SixNine => " 6 9".into(),
            Sign::Altered(sign, number) => degree(number, sign),
            Sign::Added(sign, number) => format!(" add{}", degree(number, sign)),
            Sign::Omitted(number) => format!(" without {number}"),
            Sign::Suspended(Some(number)) => format!(" sus {number}"),
            Sign::Suspended(None) => " sus".into(),
            Sign::Alt => " altered".into(),
            Sign::Open | Sign::Close | Sign::Separator => String::new(),
            Sign::Unread => format!(" {text}"),
        };
    }
    match chord.bass() {
        Some(bass) => said + " over " + &name(bass),
        None => said,
    }
}

/// `dotted quarter note`, `eighth rest`.
pub(crate) fn value(value: NoteValue, sounds: bool) -> String {
    const NAMES: [&str; 7] =
        ["whole", "half", "quarter", "eighth", "sixteenth", "thirty-second", "sixty-fourth"];
    let dotted = ["", "dotted ", "double-dotted "][usize::from(value.dots.min(2))];
    let kind = if sounds { "note" } else { "rest" };
    format!("{dotted}{} {kind}", NAMES[value.base as usize])
}

/// So many in the time of fewer or more.
pub(crate) fn tuplet(actual: u8) -> &'static str {
    match actual {
        3 => "a triplet",
        5 => "a quintuplet",
        6 => "a sextuplet",
        7 => "a septuplet",
        _ => "a tuplet",
    }
}

/// A moment in a bar, by beats counted from 1: `beat 2`, `beat 2 and a half`, `the last third of beat 2`.
pub(crate) fn beat(beat: Duration) -> String {
    const ORDINALS: [&str; 7] = ["first", "second", "third", "fourth", "fifth", "sixth", "seventh"];
    let (parts, all) = (beat.numer() % beat.denom(), beat.denom());
    let beat = beat.numer() / beat.denom();
    let part = match all {
        3 => "third",
        5 => "fifth",
        6 => "sixth",
        7 => "seventh",
        _ => "",
    };
    match (parts, all) {
        (0, _) => format!("beat {beat}"),
        (1, 2) => format!("beat {beat} and a half"),
        (1, 4) => format!("beat {beat} and a quarter"),
        (3, 4) => format!("beat {beat} and three quarters"),
        _ if part.is_empty() => format!("beat {beat} and {parts}/{all}"),
        _ if parts + 1 == all => format!("the last {part} of beat {beat}"),
        _ => {
            let which = usize::try_from(parts).ok().and_then(|index| ORDINALS.get(index)).copied();
            format!("the {} {part} of beat {beat}", which.unwrap_or("next"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moments_are_said_as_players_say_them() {
        let said = [(1, 1), (5, 2), (8, 3), (7, 3), (5, 4), (7, 4), (11, 6), (7, 5), (9, 8), (19, 12)]
            .map(|(n, d)| beat(Duration::of(n, d)));
        assert_eq!(
            said,
            [
                "beat 1",
                "beat 2 and a half",
                "the last third of beat 2",
                "the second third of beat 2",
                "beat 1 and a quarter",
                "beat 1 and three quarters",
                "the last sixth of beat 1",
                "the third fifth of beat 1",
                "beat 1 and 1/8",
                "beat 1 and 7/12",
            ]
        );
    }

    /// Common practice, no source.
    #[test]
    fn chords_are_read_aloud() {
        for (text, said) in [
            ("C", "C major"),
            ("Cm", "C minor"),
            ("F-7", "F minor 7"),
            ("Ebmaj7", "E flat major 7"),
            ("EbM7", "E flat major 7"),
            ("Bo7", "B diminished 7"),
            ("B\u{F8}7", "B half-diminished 7"),
            ("G7#9#5", "G 7 sharp 9 sharp 5"),
            ("G7b9", "G 7 flat 9"),
            ("G7-9", "G 7 flat 9"),
            ("G+7", "G augmented 7"),
            ("G7+5", "G 7 sharp 5"),
            ("C6/9/E", "C 6 9 over E"),
            ("Cm(maj7)", "C minor major 7"),
            ("B\u{D8}7", "B half-diminished 7"),
            ("Cmi7", "C minor 7"),
            ("C\u{25B3}7", "C major 7"),
            ("C\u{394}", "C major 7"),
            ("Cma13", "C major 13"),
            ("Cmadd9", "C minor add 9"),
            ("C7(b9,#11)", "C 7 flat 9 sharp 11"),
            ("Cadd#11", "C add sharp 11"),
            ("C7omit5", "C 7 without 5"),
            ("C9sus", "C 9 sus"),
            ("D7sus4", "D 7 sus 4"),
            ("Cadd9", "C add 9"),
            ("A\u{6E2F}7", "A \u{6E2F} 7"),
        ] {
            assert_eq!(chord(&text.parse().unwrap()), said, "{text}");
        }
    }
}
