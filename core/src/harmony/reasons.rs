//! Why a name costs what it does, in words.

use super::name::{Charge, Kind, Name, Term};
use super::weights;

impl Charge {
    /// What it is charged for, as a clause; nothing where that goes without saying or is about how the tones suit the chord.
    fn says(self) -> Option<&'static str> {
        Some(match self.term {
            Term::Name | Term::Loose | Term::Tones | Term::Key => return None,
            Term::ScaleRank => "another scale is more usual over this chord",
            Term::OtherChord => "some of its notes are over another chord",
            Term::Change => "it crosses a chord change",
            Term::Anticipation => "it anticipates a chord change",
            Term::Rare => "it is a less common chord",
            Term::Missing => "a tone is missing",
            Term::Rootless => "the root is missing",
            Term::ThreeNotes => "it has only three notes",
            Term::Folded => "a note is displaced by an octave",
            Term::Turn => "it changes direction",
            Term::Skip => "it skips a tone",
            Term::OffBeat => "it starts off the beat",
            Term::Lent => "it shares its first note with the name before it",
            Term::Bridged => "there is a short rest in it",
            Term::Broken => "its tones aren't in chord order",
            Term::Kind => "it is a less common kind of grouping",
            Term::Passing => "it has passing tones",
            Term::WeakTarget => "it leads to a note off the beat",
        })
    }

    /// How tones suit their chord or, where there is none, the key.
    fn suits(self) -> &'static str {
        match (self.term, self.cost) {
            (Term::Key, weights::CHORD_OR_SCALE) => "its tones are in the key",
            (Term::Key, _) => "some of its tones are outside the key",
            (_, 0..=weights::CHORD_OR_SCALE) => "its tones are in the chord's usual scale",
            (_, 0..weights::OUTSIDE) => "its tones are in another scale that fits the chord, or in the key",
            _ => "some of its tones are outside the chord's scales and the key",
        }
    }
}

/// Why a reading is less likely than the first one: what it is charged more for, a clause each.
pub(super) fn against(reading: &[Name], first: &[Name]) -> Vec<&'static str> {
    let charges = |names| <[Name]>::iter(names).flat_map(|name| &name.charges);
    let most = |term| charges(first).filter(|own| own.term == term).map(|own| own.cost).max().unwrap_or(0);
    let mut reasons = Vec::new();
    for charge in charges(reading).filter(|charge| charge.cost > most(charge.term)) {
        let suits = matches!(charge.term, Term::Tones | Term::Key) && charge.cost > weights::CHORD_OR_SCALE;
        let clause = if suits { Some(charge.suits()) } else { charge.says() };
        reasons.extend(clause.filter(|clause| !reasons.contains(clause)));
    }
    reasons
}

impl Name {
    /// How its tones suit the chord that it is over or, without one, the key, as a clause; nothing for single notes and what leads to them.
    ///
    /// ```
    /// use halfbar_core::harmony::names;
    /// use halfbar_core::read;
    ///
    /// let line = read::text("key: G\n@Am7 E3 G B C  C E A C |").line.expect("a full bar");
    /// let names = names(&line);
    /// let fits: Vec<_> = names.drawn().filter_map(|name| name.fit()).collect();
    /// assert_eq!(fits, ["its tones are in the chord's usual scale", "its tones are the chord's own"]);
    ///
    /// let line = read::text("key: G\nE3 G B C  C E A C |").line.expect("a full bar");
    /// assert_eq!(halfbar_core::harmony::names(&line).all()[0].fit(), Some("its tones are in the key"));
    /// ```
    pub fn fit(&self) -> Option<&'static str> {
        let charged = self.charges.iter().find(|charge| matches!(charge.term, Term::Tones | Term::Key));
        match self.kind {
            Kind::Arpeggio { .. }
            | Kind::Voicing { .. }
            | Kind::Run { .. }
            | Kind::Pentatonic { .. }
            | Kind::Pattern { .. } => {
                Some(charged.map_or("its tones are the chord's own", |charge| charge.suits()))
            }
            _ => None,
        }
    }

    /// What makes it less obvious, a clause each.
    ///
    /// ```
    /// use halfbar_core::harmony::names;
    /// use halfbar_core::read;
    ///
    /// let line = read::text("key: C\n@C6 E3 G A C  r:2 |").line.expect("a full bar");
    /// assert_eq!(names(&line).all()[0].doubts(), Vec::<&str>::new());
    /// let line = read::text("key: C\n@Cmaj7 r C4 E G  B r:3/2 |").line.expect("a full bar");
    /// assert_eq!(names(&line).all()[0].doubts(), ["it starts off the beat"]);
    /// ```
    pub fn doubts(&self) -> Vec<&'static str> {
        self.charges.iter().filter_map(|charge| charge.says()).collect()
    }
}

#[cfg(test)]
mod tests {
    use crate::harmony::{Name, names};
    use crate::read;

    fn named(text: &str) -> Vec<Name> {
        names(&read::text(text).line.unwrap()).all().to_vec()
    }

    #[test]
    fn what_it_leads_to_may_be_off_the_beat() {
        let weak = |text: &str| named(text)[1].doubts().contains(&"it leads to a note off the beat");
        assert!(weak("@Cmaj7 C4:1 F# G r:2 |"));
        assert!(!weak("@Cmaj7 C4:1/2 F# G:1 r:2 |"));
    }

    #[test]
    fn without_a_chord_there_is_the_key() {
        let fit = |text: &str| named(text)[0].fit();
        for text in ["key: G\nE3 G B C  C E A C |", "key: G\n@NC E3 G B C  C E A C |"] {
            assert_eq!(fit(text), Some("its tones are in the key"));
        }
        assert_eq!(fit("key: C\nEb3 G Bb D  r:2 |"), Some("some of its tones are outside the key"));
    }

    #[test]
    fn a_reading_is_less_likely_for_what_speaks_against_it() {
        let line = read::text("key: C\n@C6 E3 G A C  r:2 |").line.unwrap();
        let names = names(&line);
        // Its tones are in the chord's usual scale, which is all the first reading can say as well.
        assert!(
            names
                .others(0)
                .iter()
                .all(|other| !other.reasons.contains(&"its tones are in the chord's usual scale"))
        );
    }
}
