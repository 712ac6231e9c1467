//! Timed line -> [`Fingering`]: string, fret, finger and pick stroke for every note, chosen together.
//!
//! ```
//! use halfbar_core::{Piece, read};
//!
//! let reading = read::text("picking: economy\nC4^2 E G A G E C A^4.7 |");
//! let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
//! let first = piece.fingering().of(piece.timed().events[0].id).expect("a note, not a rest");
//! assert_eq!((first.string.0, first.fret.0), (2, 1));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod error;
mod costs;
#[cfg(test)]
mod proof;
mod search;
mod steps;
mod terms;
mod ways;
mod weights;

use std::sync::Arc;

use crate::line::{Legato, Line, NoteId};
use crate::neck::{Finger, Fret, StringNo, Stroke};
use crate::order;
use crate::pitch::Pitch;
use crate::recast::Timed;
use crate::swing::Performed;
use error::Result;

use costs::{Attack, Costs};
use search::{Choice, Search};

pub use error::FingeringError;
pub use terms::{Charge, Term};
pub use weights::Cost;

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

/// All that the hands do for a note.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Placement {
    /// The string.
    pub string: StringNo,
    /// The fret.
    pub fret: Fret,
    /// The finger.
    pub finger: Finger,
    /// The fret at which the index finger rests.
    pub position: u8,
    /// The pick stroke; none where the note before leads into this one.
    pub stroke: Option<Stroke>,
}

impl Placement {
    /// The fret of a grace note on the string of the note that it leads into, where a neck of so many frets has it.
    pub fn grace_fret(self, grace: Pitch, note: Pitch, frets: u8) -> Option<Fret> {
        let (grace, note) = (grace.midi()?, note.midi()?);
        let fret = i16::from(self.fret.0) + i16::from(grace.0) - i16::from(note.0);
        u8::try_from(fret).ok().filter(|fret| *fret <= frets).map(Fret)
    }
}

/// The placing of every note of a line: the cheapest of all, or another way to play it.
#[derive(Clone, Debug)]
pub struct Fingering {
    /// By note id, each with the index of its step; rests have none.
    placings: Vec<Option<(usize, Placement)>>,
    /// The notes in order of time.
    notes: Vec<NoteId>,
    choices: Vec<Choice>,
    joins: Vec<(NoteId, Legato)>,
    search: Arc<Search>,
}

/// How often the pick crosses from string to string with another stroke.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Crossings {
    /// It turns between the two strings.
    pub inside: usize,
    /// It goes round them: lower string down, then higher string up.
    pub outside: usize,
}

/// Puts a line on the neck: of all plans the one with the lowest cost, by the neck, the style and the way of picking in the line's heading,
/// and with all that is settled for its notes.
///
/// With the plan of an earlier state of the line, only what has changed is searched; the result is the same.
///
/// # Errors
/// [`FingeringError::OffNeck`](crate::Error::OffNeck) for a note that the neck doesn't have; [`FingeringError::Pin`](crate::Error::Pin),
/// [`FingeringError::LedStroke`](crate::Error::LedStroke) and [`FingeringError::Apart`](crate::Error::Apart) for what is settled and can't hold.
pub fn plan(
    line: &Line,
    timed: &Timed,
    performed: &Performed,
    before: Option<&Fingering>,
) -> Result<Fingering> {
    let (events, steps): (Vec<usize>, Vec<_>) = steps::steps(timed, performed, line)?
        .into_iter()
        .map(|(event, step)| (event, Arc::new(step)))
        .unzip();
    let costs = Costs::new(line.heading());
    let search = match before {
        Some(before) => before.search.over(costs, steps),
        None => Search::new(costs, steps),
    };
    let notes = events.into_iter().map(|event| timed.events[event].id).collect();
    let choices = search.best();
    Ok(Fingering::of_choices(notes, choices, Arc::new(search)))
}

impl Fingering {
    fn of_choices(notes: Vec<NoteId>, choices: Vec<Choice>, search: Arc<Search>) -> Fingering {
        // Ids are those of the line, which may be left out of a window, and more for what windows add.
        let ids = notes.iter().map(|note| note.0 as usize + 1).max().unwrap_or(0);
        let (mut placings, mut joins) = (vec![None; ids], Vec::new());
        for (index, (note, choice)) in notes.iter().zip(&choices).enumerate() {
            let Fretting { string, fret, finger, position } = choice.fretting;
            let stroke = match choice.attack {
                Attack::Struck => choice.memory.stroke,
                Attack::Led(join) => {
                    if search.steps()[index].led.is_none() && index > 0 {
                        joins.push((notes[index - 1], join));
                    }
                    None
                }
            };
            placings[note.0 as usize] = Some((index, Placement { string, fret, finger, position, stroke }));
        }
        order::sort(&mut joins, |(note, _)| *note);
        Fingering { placings, notes, choices, joins, search }
    }

    /// How a note is played; `None` for a rest.
    pub fn of(&self, note: NoteId) -> Option<Placement> {
        self.step(note).map(|(_, placing)| placing)
    }

    fn step(&self, note: NoteId) -> Option<(usize, Placement)> {
        self.placings.get(note.0 as usize).copied().flatten()
    }

    /// The notes in order of time.
    pub fn notes(&self) -> &[NoteId] {
        &self.notes
    }

    /// The slurs and slides that the plan adds to those of the line, each at the note that leads, in order of notes.
    pub fn legato(&self) -> &[(NoteId, Legato)] {
        &self.joins
    }

    /// What a note is charged for, coming from the note before; what costs nothing is left out.
    pub fn charges(&self, note: NoteId) -> Vec<Charge> {
        self.step(note).map_or_else(Vec::new, |(index, _)| self.search.charges(&self.choices, index))
    }

    /// What the whole plan costs.
    pub fn cost(&self) -> Cost {
        self.search.cost(&self.choices)
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
        for index in 0..self.choices.len() {
            for charge in self.search.charges(&self.choices, index) {
                crossings.inside += usize::from(charge.term == Term::Inside);
                crossings.outside += usize::from(charge.term == Term::Outside);
            }
        }
        crossings
    }
}
