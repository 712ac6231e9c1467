//! Timed + tuning -> [`HandPlan`]: string, fret, finger and pick stroke for every note.
//!
//! ```
//! use halfbar_core::{hand, read, recast};
//!
//! let reading = read::text("C4^2 E G A G E C A^4.7 |");
//! let line = reading.line.expect("a full bar");
//! let timed = recast::apply(&line, &reading.casting)?;
//! let plan = hand::plan(&timed, &line.heading().tuning)?;
//! let first = plan.of(timed.events[0].id).expect("a note, not a rest");
//! assert_eq!((first.string.0, first.fret.0), (2, 1));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod fingering;
mod picking;

use crate::error::Result;
use crate::line::NoteId;
use crate::recast::Timed;
use crate::tuning::{Fret, StringNo, Tuning};

pub use fingering::cost;
pub use picking::Stroke;

/// A finger of the fretting hand: 1 is the index, 4 the little finger, 0 none (an open string).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Finger(pub u8);

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
pub struct Placing {
    /// The string.
    pub string: StringNo,
    /// The fret.
    pub fret: Fret,
    /// The finger.
    pub finger: Finger,
    /// The pick stroke; none where the note before leads into this one.
    pub stroke: Option<Stroke>,
}

/// The placing of every note of a line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct HandPlan {
    /// By note id; rests have none.
    placings: Vec<Option<Placing>>,
}

impl HandPlan {
    /// How a note is played; `None` for a rest.
    pub fn of(&self, note: NoteId) -> Option<Placing> {
        self.placings.get(note.0 as usize).copied().flatten()
    }
}

/// Puts a line on the neck: the fingering of the lowest cost, picked alternately.
///
/// # Errors
/// [`Error::OffNeck`](crate::Error::OffNeck) for a note that the neck doesn't have, [`Error::Pin`](crate::Error::Pin) for a pin
/// where the note doesn't sound.
pub fn plan(timed: &Timed, tuning: &Tuning) -> Result<HandPlan> {
    let frettings = fingering::finger(timed, tuning)?;
    let strokes = picking::alternate(&timed.events, &timed.bars);
    // Ids are those of the line, which may be left out of a window, and more for what windows add.
    let ids = timed.events.iter().map(|event| event.id.0 as usize + 1).max().unwrap_or(0);
    let mut placings = vec![None; ids];
    for ((event, fretting), stroke) in timed.events.iter().zip(frettings).zip(strokes) {
        if let Some(fretting) = fretting {
            let Fretting { string, fret, finger, .. } = fretting;
            placings[event.id.0 as usize] = Some(Placing { string, fret, finger, stroke });
        }
    }
    Ok(HandPlan { placings })
}
