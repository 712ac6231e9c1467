//! What both hands do in a line as it sounds.

use std::sync::Arc;

use crate::attack::Attacks;
use crate::line::{Line, NoteId};
use crate::timed::Timed;

use super::error::Result;
use super::picking::{self, PickingPlan};
use super::plan::FrettingPlan;
use super::reach::Fretting;
use super::terms::{Charge, Term};
use super::weights::Cost;

/// What both hands do in a line as it sounds: where every note is fretted, and how it begins.
#[derive(Clone, Debug)]
pub struct Fingering {
    pub(super) fretting: Arc<FrettingPlan>,
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
///
/// [`FingeringError::Pin`]: super::FingeringError::Pin
/// [`FingeringError::LedStroke`]: super::FingeringError::LedStroke
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
    pub(super) fn on(&self, fretting: FrettingPlan) -> Fingering {
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
