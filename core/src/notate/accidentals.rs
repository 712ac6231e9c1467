//! Accidentals: the signs that the key and the bar so far leave to be written.
//!
//! A sign applies to the end of the bar on its own line or space. A note tied across the bar line keeps its
//! sign, for that one note. If a sign has lapsed at the bar line, the next bar has a reminder in parentheses.
//! (Gould 2011, on accidentals, from memory.)

use crate::key::Key;
use crate::pitch::{Alter, Pitch};

use super::written::{Accidental, WrittenBar};

/// The altered places of a bar. There are few, so a list is faster than a map.
type Altered = Vec<(i16, Alter)>;

/// Gives each symbol its accidental.
pub(super) fn sign(bars: &mut [WrittenBar]) {
    let mut lapsed = Altered::new();
    for bar in bars {
        let (mut here, key) = (Altered::new(), bar.key);
        for symbol in &mut bar.symbols {
            if let Some(grace) = &mut symbol.grace {
                grace.accidental = accidental(false, grace.pitch, key, &mut here, &mut lapsed);
            }
            let tied = symbol.tied_from;
            symbol.accidental =
                symbol.pitch.and_then(|pitch| accidental(tied, pitch, key, &mut here, &mut lapsed));
        }
        lapsed = here;
    }
}

fn accidental(
    tied_from: bool,
    pitch: Pitch,
    key: Key,
    here: &mut Altered,
    lapsed: &mut Altered,
) -> Option<Accidental> {
    // The second of two tied notes keeps the first one's sign without repeating it, even across the bar line.
    if tied_from {
        return None;
    }
    let alter = pitch.name.alter;
    let place = pitch.diatonic();
    let in_key = key.alter(pitch.name.letter);
    let holds = here.iter().find(|(there, _)| *there == place).map(|(_, alter)| *alter);
    let reminder =
        lapsed.iter().position(|(there, _)| *there == place).map(|index| lapsed.swap_remove(index).1);
    if holds.unwrap_or(in_key) != alter {
        here.retain(|(there, _)| *there != place);
        here.push((place, alter));
        return Some(Accidental { alter, courtesy: false });
    }
    let courtesy = holds.is_none() && reminder.is_some_and(|before| before != alter);
    courtesy.then_some(Accidental { alter, courtesy })
}

#[cfg(test)]
mod tests {
    use crate::{notate, read, recast};

    /// The sign of each note: `=` is a natural, and reminders are in parentheses.
    fn signs(text: &str) -> String {
        let reading = read::text(text);
        assert_eq!(reading.diagnostics, [], "{text}");
        let timed = recast::apply(&reading.line.unwrap(), &reading.casting).unwrap();
        let written = notate::notate(&timed).unwrap();
        let signs = written.bars.iter().flat_map(|bar| &bar.symbols).map(|symbol| match symbol.accidental {
            None => "-".to_string(),
            Some(sign) => {
                let name = match sign.alter.half_steps() {
                    0 => "=".to_string(),
                    _ => sign.alter.to_string(),
                };
                if sign.courtesy { format!("({name})") } else { name }
            }
        });
        signs.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn key_and_bar() {
        assert_eq!(signs("key: Eb\nEb4:1 E:1 E:1 Eb:1 |"), "- = - b");
        assert_eq!(signs("F#4:1 F:1 F5:1 F#4:1 |"), "# = - #");
        assert_eq!(signs("F##4:1 F#:1 Fbb:1 F:1 |"), "## # bb =");
    }

    #[test]
    fn over_the_bar_line() {
        assert_eq!(signs("F#4:2 F#:2 | F:2 F:2 | F:4 |"), "# - (=) - -");
        assert_eq!(signs("F#4:4~ | F#:2 F#:2 |"), "# - #");
        assert_eq!(signs("F#4:4 | F#:4 | F:4 |"), "# # (=)");
    }
}
