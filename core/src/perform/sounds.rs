//! What sounds when: the notes of a line as the hands play them.

use super::error::Result;
use crate::attack::Attack;
use crate::line::{Legato, NoteId};
use crate::neck::StringNo;
use crate::pitch::MidiKey;
use crate::score::Score;
use crate::swing::Performed;
use crate::time::{Duration, Onset};

/// The longest that a grace note sounds, in milliseconds: short enough to be heard as part of its note
/// (common practice, no source).
const GRACE_MS: i64 = 60;

/// One note that sounds.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Sound {
    /// Its identity through all stages; a grace note has that of its note.
    pub note: NoteId,
    /// The key that sounds.
    pub key: MidiKey,
    /// The string; a grace note has that of its note.
    pub string: Option<StringNo>,
    /// When it starts as performed, in quarter notes from the start of the line.
    pub start: Onset,
    /// When it is damped.
    pub end: Onset,
    /// Whether it is accented.
    pub accent: bool,
    /// How it begins. A note with a grace note is slurred from it.
    pub attack: Attack,
    /// Whether it is a grace note.
    pub grace: bool,
}

/// The notes of a piece in order of time. Tied notes sound once, and rests are silent.
///
/// Only one note sounds at a time, so each ends where the next note or rest starts: a finger then leaves its
/// string or damps it. A grace note is struck up to 60 ms before its note and takes at most half of the time
/// before it; its note is then slurred from it. At the very start there is no time before, so it takes its
/// note's (all common practice, no source).
///
/// ```
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("tempo: 100\nfeel: swing 2\nC4 D (Eb)E:1 r:2 |");
/// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
/// let sounds = piece.sounds()?;
/// let times: Vec<_> = sounds.iter().map(|sound| (sound.key.0, sound.start.to_string(), sound.end.to_string())).collect();
/// assert_eq!(times[1], (62, "2/3".into(), "9/10".into()));
/// assert_eq!(times[2], (63, "9/10".into(), "1".into()));
/// assert_eq!(times[3], (64, "1".into(), "2".into()));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for times out of range.
pub fn sounds(score: Score<'_>, performed: &Performed) -> Result<Vec<Sound>> {
    let (events, starts) = (&score.timed.events, performed.starts());
    let tempo = performed.tempo().quarters_per_minute();
    let longest_grace = Duration::new(GRACE_MS * i64::from(tempo), 60_000)?;
    let mut sounds: Vec<Sound> = Vec::with_capacity(events.len());
    let mut before = Onset::ZERO;
    for (index, (event, &start)) in events.iter().zip(starts).enumerate() {
        let end =
            starts.get(index + 1).map_or_else(|| event.span().map(|span| span.end()), |&next| Ok(next))?;
        let mut since = start;
        let begins = score.fingering.attacks().of(event.id);
        if let (Some(pitch), Some(attack)) = (event.pitch, begins)
            && let Some(key) = pitch.midi()
        {
            let string = score.fingering.of(event.id).map(|fretting| fretting.string);
            let (note, accent) = (event.id, event.accent);
            let mut sound = Sound { note, key, string, start, end, accent, attack, grace: false };
            if let Some((grace, key)) = event.grace.and_then(|grace| Some((grace, grace.midi()?))) {
                let (from, until) = if index == 0 { (start, end) } else { (before, start) };
                let length = until.checked_since(from)?.checked_div(2)?.min(longest_grace);
                let struck = if index == 0 { start } else { start.checked_sub(length)? };
                sound = Sound {
                    start: struck.checked_add(length)?,
                    attack: Attack::led(Legato::Slur, grace, pitch),
                    ..sound
                };
                if let Some(last) = sounds.last_mut() {
                    last.end = last.end.min(struck);
                }
                sounds.push(Sound { key, start: struck, end: sound.start, attack, grace: true, ..sound });
                since = sound.start;
            }
            sounds.push(sound);
        }
        before = since;
    }
    Ok(sounds)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Piece, read};

    /// Key, start and end of each sound; `(` before a grace note, `!` for an accent, `_` if the note before
    /// connects to it.
    fn played(text: &str) -> String {
        let reading = read::text(text);
        assert_eq!(reading.diagnostics, [], "{text}");
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        let said = |sound: &Sound| {
            let (grace, accent) = (if sound.grace { "(" } else { "" }, if sound.accent { "!" } else { "" });
            let led = if sound.attack.stroke().is_none() { "_" } else { "" };
            format!("{grace}{led}{}{accent} {} {}", sound.key.0, sound.start, sound.end)
        };
        piece.sounds().unwrap().iter().map(said).collect::<Vec<_>>().join(", ")
    }

    #[test]
    fn tied_notes_are_one_and_rests_are_silent() {
        assert_eq!(
            played("feel: swing 1.5\nC4 D r F r:1 G:1~ | G:2 r:2 |"),
            "60 0 3/5, 62 3/5 1, 65 8/5 2, 67 3 6"
        );
    }

    #[test]
    fn grace_notes_take_what_is_before() {
        // At 100 quarter notes per minute, 60 ms are a tenth of one; at 300 they are three tenths, more than
        // half of the eighth before.
        assert_eq!(played("tempo: 100\nfeel: straight\nC4:1 (D)E:3 |"), "60 0 9/10, (62 9/10 1, _64 1 4");
        assert_eq!(played("tempo: 300\nfeel: straight\nr:1/2 C4 (D)E:3 |"), "60 1/2 3/4, (62 3/4 1, _64 1 4");
        assert_eq!(played("tempo: 100\n(D4)E:4 |"), "(62 0 1/10, _64 1/10 4");
        // Two in a row leave the note between them half of its half.
        let two = played("tempo: 300\nfeel: straight\n(D4)E:1/4 (F)G:15/4 |");
        assert_eq!(two, "(62 0 1/8, _64 1/8 3/16, (65 3/16 1/4, _67 1/4 4");
    }

    #[test]
    fn accents_and_what_is_led_into() {
        assert_eq!(played("feel: straight\nC4_ D E:3 |"), "60 0 1/2, _62 1/2 1, 64 1 4");
        let grouped = played("feel: straight\nrecast: accent-3 at 1.1\nC4 D E F G A B C |");
        assert!(grouped.starts_with("60! 0 1/2, 62 1/2 1,"), "{grouped}");
    }
}
