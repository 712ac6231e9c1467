//! Where a line lies on the neck, and how it is picked.
//!
//! The two hands are planned apart. The fretting hand plays the plain line: strings, frets and fingers are the same at every tempo and in every
//! rhythm that the line is recast into ([`fret`]). The picking hand plays what sounds, on these frets ([`pick`]).
//!
//! ```
//! use halfbar_core::attack::Attack;
//! use halfbar_core::neck::Stroke;
//! use halfbar_core::{Piece, read};
//!
//! let reading = read::text("picking: economy\nC4^2 E G A G E C A^4.7 |");
//! let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
//! let first = piece.timed().events[0].id;
//! let fretting = piece.fingering().of(first).expect("a note, not a rest");
//! assert_eq!((fretting.string.0, fretting.fret.0), (2, 1));
//! assert_eq!(piece.fingering().attacks().of(first), Some(Attack::Struck(Stroke::Down)));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod beats;
mod cells;
#[cfg(test)]
mod earned;
mod error;
mod fretting;
mod picking;
mod plan;
mod positions;
#[cfg(test)]
mod proof;
mod reach;
mod search;
mod terms;
mod ways;
mod weights;
mod words;

use std::sync::Arc;

use crate::attack::Attacks;
use crate::line::{Line, NoteId};
use crate::neck::{Finger, Fret, StringNo};
use crate::pitch::Pitch;
use crate::timed::Timed;

use error::Result;
use picking::PickingPlan;

pub use error::FingeringError;
pub use plan::{FrettingPlan, fret};
pub use positions::{Bound, Way, in_position, picked};
pub use terms::{Charge, Term};
pub use weights::Cost;
pub use words::Reason;

/// Where a note is fretted, and by what.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Fretting {
    /// The string.
    pub string: StringNo,
    /// The fret.
    pub fret: Fret,
    /// The finger.
    pub finger: Finger,
    /// The fret at which the index finger rests. An open string leaves the hand where it is.
    pub position: u8,
}

impl Fretting {
    /// Whether it lies beyond the four frets of the four fingers.
    fn is_stretched(self) -> bool {
        self.finger.0 > 0 && !(self.position..=self.position + 3).contains(&self.fret.0)
    }

    /// Whether its finger lies at the fret of the finger above it.
    fn is_doubled(self) -> bool {
        (1..=3).contains(&self.finger.0) && self.fret.0 == self.position + self.finger.0
    }

    /// The fret of a grace note on the string of the note that it leads into, where a neck of so many frets has it.
    pub fn grace_fret(self, grace: Pitch, note: Pitch, frets: u8) -> Option<Fret> {
        let (grace, note) = (grace.midi()?, note.midi()?);
        let fret = i16::from(self.fret.0) + i16::from(grace.0) - i16::from(note.0);
        u8::try_from(fret).ok().filter(|fret| *fret <= frets).map(Fret)
    }
}

/// What both hands do in a line as it sounds: where every note is fretted, and how it begins.
#[derive(Clone, Debug)]
pub struct Fingering {
    fretting: Arc<FrettingPlan>,
    picking: PickingPlan,
    attacks: Attacks,
    /// The notes that windows add, each with the note of the plain line that it repeats, in order of their ids.
    repeats: Vec<(NoteId, NoteId)>,
}

/// How often the pick crosses from string to string with another stroke.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Crossings {
    /// It turns between the two strings.
    pub inside: usize,
    /// It goes round them: lower string down, then higher string up.
    pub outside: usize,
}

/// Picks a line as it sounds, on the frets that a plan of the plain line has for it: of all ways the one with the lowest cost, by the way of
/// picking in the line's heading, and with all that is settled for its notes.
///
/// With the fingering of an earlier state of the line, only what has changed is searched; the result is the same.
///
/// # Errors
/// [`FingeringError::Pin`] and [`FingeringError::LedStroke`] for strokes that are settled and can't be.
pub fn pick(
    timed: &Timed,
    line: &Line,
    fretting: Arc<FrettingPlan>,
    before: Option<&Fingering>,
) -> Result<Fingering> {
    let repeats: Vec<(NoteId, NoteId)> = timed.repeats().collect();
    let of = |note| fretting.of(source(&repeats, note));
    let picking = picking::pick(timed, line, of, before.map(|before| &before.picking))?;
    Ok(Fingering { attacks: Attacks::new(&picking.attacks()), fretting, picking, repeats })
}

/// The note of the plain line that a note plays: itself, or what it repeats.
fn source(repeats: &[(NoteId, NoteId)], note: NoteId) -> NoteId {
    let repeat = repeats.binary_search_by_key(&note, |(repeat, _)| *repeat);
    repeat.map_or(note, |index| repeats[index].1)
}

impl Fingering {
    /// The same line on other frets, picked anew.
    fn on(&self, fretting: FrettingPlan) -> Fingering {
        let picking = self.picking.on(|note| fretting.of(source(&self.repeats, note)));
        let attacks = Attacks::new(&picking.attacks());
        Fingering { fretting: Arc::new(fretting), picking, attacks, repeats: self.repeats.clone() }
    }

    /// How a note is fretted; `None` for a rest. A note that a window leaves out has its place on the neck all the same.
    pub fn of(&self, note: NoteId) -> Option<Fretting> {
        self.fretting.of(source(&self.repeats, note))
    }

    /// How the notes begin.
    pub fn attacks(&self) -> &Attacks {
        &self.attacks
    }

    /// What the fretting hand does in the plain line.
    pub fn fretting(&self) -> &FrettingPlan {
        &self.fretting
    }

    /// The notes that sound, in order of time.
    pub fn notes(&self) -> &[NoteId] {
        &self.picking.notes
    }

    /// What a note is charged for: the fretting hand comes from the note before it in the plain line, the pick from the one that sounds
    /// before it. What costs nothing is left out.
    pub fn charges(&self, note: NoteId) -> Vec<Charge> {
        let mut charges = self.fretting.charges(note);
        if let Some(index) = self.picking.notes.iter().position(|&other| other == note) {
            charges.extend(self.picking.charges(index));
        }
        charges
    }

    /// What all of it costs.
    pub fn cost(&self) -> Cost {
        self.fretting.cost() + self.picking.cost()
    }

    /// How often the pick crosses strings with another stroke, between notes that follow each other at once.
    ///
    /// ```
    /// use halfbar_core::{Piece, read};
    ///
    /// let reading = read::text("tempo: 100\nG3^4.5 A^4.7 B^3.4 C^3.5 r:2 |");
    /// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
    /// assert_eq!(piece.fingering().crossings().inside, 1);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn crossings(&self) -> Crossings {
        let mut crossings = Crossings::default();
        for charge in (0..self.picking.notes.len()).flat_map(|index| self.picking.charges(index)) {
            crossings.inside += usize::from(charge.term == Term::Inside);
            crossings.outside += usize::from(charge.term == Term::Outside);
        }
        crossings
    }
}
