//! The stages of one line, kept together for whoever asks for more than one output.

use crate::engrave::{self, Layout};
use crate::error::Result;
use crate::hand::{self, Fingering};
use crate::line::{Feel, Heading, Line, Tempo};
use crate::notate::{self, Written};
use crate::perform::{self, Performed};
use crate::recast::{self, Casting, Timed};
use crate::scene::Scene;

/// A line with its casting, and every stage up to the page.
#[derive(Clone, Debug)]
pub struct Piece {
    /// The plain line.
    pub line: Line,
    /// What is recast.
    pub casting: Casting,
    /// The line in time.
    pub timed: Timed,
    /// The line in notation.
    pub written: Written,
    /// The line as it is played.
    pub performed: Performed,
    /// The line on the neck.
    pub plan: Fingering,
}

impl Piece {
    /// Runs the stages.
    ///
    /// # Errors
    /// Whatever a stage can't do, with the place: see [`Error`](crate::Error).
    pub fn new(line: Line, casting: Casting) -> Result<Piece> {
        Piece::run(line, casting, None)
    }

    /// The same as [`Piece::new`], faster where much is as in an earlier piece.
    ///
    /// # Errors
    /// As [`Piece::new`].
    pub fn after(before: &Piece, line: Line, casting: Casting) -> Result<Piece> {
        Piece::run(line, casting, Some(before))
    }

    fn run(line: Line, casting: Casting, before: Option<&Piece>) -> Result<Piece> {
        let timed = recast::apply(&line, &casting)?;
        let mut written = notate::notate(&timed)?;
        let performed = perform::perform(&written, line.heading())?;
        let plan = hand::plan(&line, &timed, &performed, before.map(|before| &before.plan))?;
        written.join(plan.legato());
        Ok(Piece { line, casting, timed, written, performed, plan })
    }

    /// The same piece played another way: a plan that [`Fingering::ways`] found.
    ///
    /// # Errors
    /// As [`Piece::new`].
    pub fn played(&self, plan: Fingering) -> Result<Piece> {
        let mut written = notate::notate(&self.timed)?;
        written.join(plan.legato());
        Ok(Piece { written, plan, ..self.clone() })
    }

    /// The same piece, with the same notation and the same hands, played at another tempo and with another feel.
    ///
    /// ```
    /// use halfbar_core::line::{Feel, Tempo};
    /// use halfbar_core::{Piece, read};
    ///
    /// let piece = Piece::new(read::text("C4 D E F G A B C |").line.expect("a full bar"), Default::default())?;
    /// let slow = piece.paced(Tempo::new(60).expect("a tempo"), Feel::Straight)?;
    /// assert_eq!(slow.performed.seconds(slow.performed.starts()[1]), 0.5);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::Time`](crate::Error::Time) for times that can't be held.
    pub fn paced(&self, tempo: Tempo, feel: Feel) -> Result<Piece> {
        let heading = Heading { tempo, feel, ..self.line.heading().clone() };
        let performed = perform::perform(&self.written, &heading)?;
        let line = self.line.clone().with_heading(heading);
        Ok(Piece { line, performed, ..self.clone() })
    }

    /// The page of music.
    pub fn engrave(&self, layout: &Layout) -> Scene {
        engrave::engrave(self, layout, None)
    }

    /// The same page, made from an earlier one: systems that would come out alike are taken from there.
    pub fn engrave_after(&self, layout: &Layout, before: engrave::Before<'_>) -> Scene {
        engrave::engrave(self, layout, Some(before))
    }
}
