//! How each note begins: with the pick, or without it. Staff, words and sound all look it up here.

use crate::line::{Legato, NoteId};
use crate::neck::Stroke;
use crate::pitch::Pitch;

/// How a note begins.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum Attack {
    /// The pick strikes it.
    Struck(Stroke),
    /// A finger hammers on from a lower note.
    Hammered,
    /// A finger pulls off from a higher note.
    Pulled,
    /// A finger slides along the string.
    Slid,
}

impl Attack {
    /// How a note begins that another one leads into. Of two notes that sound the same, the second is pulled off.
    ///
    /// ```
    /// use halfbar_core::attack::Attack;
    /// use halfbar_core::line::Legato;
    ///
    /// let (low, high) = ("E4".parse()?, "G4".parse()?);
    /// assert_eq!(Attack::led(Legato::Slur, low, high), Attack::Hammered);
    /// assert_eq!(Attack::led(Legato::Slur, high, low), Attack::Pulled);
    /// assert_eq!(Attack::led(Legato::Slide, low, high), Attack::Slid);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn led(by: Legato, from: Pitch, to: Pitch) -> Attack {
        match by {
            Legato::Slide => Attack::Slid,
            Legato::Slur if to.midi() > from.midi() => Attack::Hammered,
            Legato::Slur => Attack::Pulled,
        }
    }

    /// The stroke, where the pick strikes the note.
    pub fn stroke(self) -> Option<Stroke> {
        match self {
            Attack::Struck(stroke) => Some(stroke),
            Attack::Hammered | Attack::Pulled | Attack::Slid => None,
        }
    }

    /// What leads into the note, where the pick does not strike it.
    pub fn legato(self) -> Option<Legato> {
        match self {
            Attack::Struck(_) => None,
            Attack::Hammered | Attack::Pulled => Some(Legato::Slur),
            Attack::Slid => Some(Legato::Slide),
        }
    }

    /// A short name that stays the same when the words change.
    pub fn name(self) -> &'static str {
        match self {
            Attack::Struck(_) => "struck",
            Attack::Hammered => "hammered",
            Attack::Pulled => "pulled",
            Attack::Slid => "slid",
        }
    }
}

/// How every note of a line begins as it sounds. Of a note with a grace note, it says how the grace note begins.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Attacks {
    /// By note id; rests have none.
    notes: Vec<Option<Entry>>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Entry {
    attack: Attack,
    /// How it leads into the next note.
    leads: Option<Legato>,
}

impl Attacks {
    /// The table of these notes, in order of time. Whatever is not struck follows another note at once.
    pub(crate) fn new(attacks: &[(NoteId, Attack)]) -> Attacks {
        let ids = attacks.iter().map(|(note, _)| note.0 as usize + 1).max().unwrap_or(0);
        let mut notes = vec![None; ids];
        let after = attacks.iter().skip(1).map(|(_, next)| next.legato()).chain([None]);
        for (&(note, attack), leads) in attacks.iter().zip(after) {
            notes[note.0 as usize] = Some(Entry { attack, leads });
        }
        Attacks { notes }
    }

    /// How a note begins; `None` for a rest.
    pub fn of(&self, note: NoteId) -> Option<Attack> {
        self.entry(note).map(|entry| entry.attack)
    }

    /// How a note leads into the next one, where that one is not struck.
    pub fn leads(&self, note: NoteId) -> Option<Legato> {
        self.entry(note)?.leads
    }

    fn entry(&self, note: NoteId) -> Option<Entry> {
        self.notes.get(note.0 as usize).copied().flatten()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_leads_on_when_the_next_one_is_not_struck() {
        let down = Attack::Struck(Stroke::Down);
        // Ids need not come in order of time: a window adds some.
        let attacks = [(0, down), (7, Attack::Hammered), (2, Attack::Slid), (3, down)];
        let attacks = Attacks::new(&attacks.map(|(note, attack)| (NoteId(note), attack)));
        let said = [0, 1, 2, 3, 7, 9].map(|note| (attacks.of(NoteId(note)), attacks.leads(NoteId(note))));
        assert_eq!(
            said,
            [
                (Some(down), Some(Legato::Slur)),
                (None, None),
                (Some(Attack::Slid), None),
                (Some(down), None),
                (Some(Attack::Hammered), Some(Legato::Slide)),
                (None, None),
            ]
        );
    }
}
