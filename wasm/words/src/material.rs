//! New lines from chords and scales.

pub const CREATE: &str = "Create line";
pub const HEAR: &str = "Hear it first";
pub const THE_NEW_LINE: &str = "the new line";
pub const NOT_LISTED: &str = "the chord has changed, so choose from the new list";
pub const ADVANCE: &str = "the number of tones to advance";
pub const MOST_CHANGED: &str = "the number of notes to change";
pub const TARGETS: &str = "write the degrees to land on as numbers, such as `3 7 9`";

pub fn chained(chords: &str) -> String {
    format!("Arpeggios over {}", plain(chords))
}

pub fn arpeggios_of(scale: &str) -> String {
    format!("Arpeggios of {scale}")
}

pub fn voicings_of(chords: &str) -> String {
    format!("Voicings of {}", plain(chords))
}

pub fn over(what: &str, chord: &str) -> String {
    format!("{what} over {}", chord.trim())
}

/// Chords without their lengths.
fn plain(chords: &str) -> String {
    let chords = chords.split_whitespace().map(|chord| chord.split(':').next().unwrap_or(chord));
    chords.collect::<Vec<_>>().join(" ")
}

/// With the signs of a printed page: `b9` and `Ab` have a flat, `#11` a sharp.
pub fn printed(row: &str) -> String {
    let mut printed = String::with_capacity(row.len());
    let mut before = ' ';
    let mut letters = row.chars().peekable();
    while let Some(letter) = letters.next() {
        let next = letters.peek().copied().unwrap_or(' ');
        let is_flat = letter == 'b'
            && (before.is_ascii_uppercase() || matches!(next, '0'..='9' | 'b') || before == '\u{266D}');
        printed.push(match letter {
            '#' => '\u{266F}',
            'b' if is_flat => '\u{266D}',
            letter => letter,
        });
        before = if is_flat { '\u{266D}' } else { letter };
    }
    printed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_are_printed() {
        assert_eq!(printed("Abm(maj7): b9 3 b13 1; G# altered"), "A♭m(maj7): ♭9 3 ♭13 1; G♯ altered");
        assert_eq!(printed("Bbb dim7: bb7 b"), "B♭♭ dim7: ♭♭7 b");
    }
}
