//! Why a name costs what it does, in words.

use super::name::{Charge, Kind, Name, Term};
use super::weights;

impl Charge {
    /// What it is charged for; nothing where that goes without saying.
    fn says(self) -> Option<&'static str> {
        Some(match self.term {
            Term::Name | Term::Loose => return None,
            Term::Tones if self.cost <= weights::CHORD_OR_SCALE => "the tones are in the chord's first scale",
            Term::Tones if self.cost < weights::OUTSIDE => {
                "the tones are in another scale of the chord, or in the key"
            }
            Term::Tones => "some tones are outside the chord's scales and the key",
            Term::ScaleRank => "other scales suit this chord better",
            Term::OtherChord => "some notes are under another chord",
            Term::Change => "it goes across a change of chord",
            Term::Anticipation => "it ends just after the change, or starts just before it",
            Term::Rare => "a less common chord",
            Term::Missing => "a tone is missing",
            Term::Rootless => "the root is missing",
            Term::ThreeNotes => "only three notes",
            Term::Folded => "an octave is displaced",
            Term::Turn => "it turns around",
            Term::Skip => "it skips a tone",
            Term::OffBeat => "it starts off the beat",
            Term::Lent => "its first note is the last one of the name before",
            Term::Bridged => "a short rest is in it",
            Term::Broken => "the tones aren't in the order of the chord",
            Term::Kind => "a less usual kind of group",
            Term::Passing => "half steps pass through it",
            Term::WeakTarget => "it leads to a note that isn't a chord tone",
        })
    }
}

impl Name {
    /// What speaks for the name and against it, a clause each: how its tones suit the chord, then what makes it less obvious.
    ///
    /// ```
    /// use halfbar_core::harmony::names;
    /// use halfbar_core::read;
    ///
    /// let line = read::text("key: G\n@Am7 E3 G B C  C E A C |").line.expect("a full bar");
    /// let names = names(&line);
    /// let reasons: Vec<_> = names.drawn().map(|name| name.reasons().join("; ")).collect();
    /// assert_eq!(reasons, ["the tones are in the chord's first scale", "the tones are those of its chord"]);
    /// ```
    pub fn reasons(&self) -> Vec<&'static str> {
        let of_chord = match self.kind {
            Kind::Arpeggio { .. } | Kind::Voicing { .. } => "the tones are those of its chord",
            Kind::Run { .. } | Kind::Pentatonic { .. } | Kind::Pattern { .. } => {
                "the tones are those of the chord's first scale"
            }
            _ => "",
        };
        let suits = self.charges.iter().all(|charge| charge.term != Term::Tones);
        let own = Some(of_chord).filter(|says| suits && !says.is_empty());
        own.into_iter().chain(self.charges.iter().filter_map(|charge| charge.says())).collect()
    }
}
