//! Why a name costs what it does, in words.

use super::name::{Charge, Kind, Name, Term};
use super::weights;

impl Charge {
    /// What it is charged for, as a clause; nothing where that goes without saying or is about how the tones suit the chord.
    fn says(self) -> Option<&'static str> {
        Some(match self.term {
            Term::Name | Term::Loose | Term::Tones => return None,
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
            Term::Broken => "its tones are out of order",
            Term::Kind => "this kind of shape is less common",
            Term::Passing => "it has passing tones",
            Term::WeakTarget => "it leads to a note that isn't a chord tone",
        })
    }
}

impl Name {
    /// How its tones suit the chord that it is over, as a clause; nothing for single notes and what leads to them.
    ///
    /// ```
    /// use halfbar_core::harmony::names;
    /// use halfbar_core::read;
    ///
    /// let line = read::text("key: G\n@Am7 E3 G B C  C E A C |").line.expect("a full bar");
    /// let names = names(&line);
    /// let fits: Vec<_> = names.drawn().filter_map(|name| name.fit()).collect();
    /// assert_eq!(fits, ["its tones are in the chord's usual scale", "its tones are the chord's own"]);
    /// ```
    pub fn fit(&self) -> Option<&'static str> {
        let own = match self.kind {
            Kind::Arpeggio { .. } | Kind::Voicing { .. } => "its tones are the chord's own",
            Kind::Run { .. } | Kind::Pentatonic { .. } | Kind::Pattern { .. } => {
                "its tones are in the chord's usual scale"
            }
            _ => return None,
        };
        let charged = self.charges.iter().find(|charge| charge.term == Term::Tones);
        Some(match charged.map_or(0, |charge| charge.cost) {
            0 => own,
            cost if cost <= weights::CHORD_OR_SCALE => "its tones are in the chord's usual scale",
            cost if cost < weights::OUTSIDE => {
                "its tones are in another scale that fits the chord, or in the key"
            }
            _ => "some of its tones are outside the chord's scales and the key",
        })
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
