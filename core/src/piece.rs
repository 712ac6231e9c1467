//! The stages of one line with their results, for callers that need more than one output.

use std::sync::Arc;

use crate::bars::BarsError;
use crate::describe;
use crate::engrave::{self, Before, Layout};
use crate::error::Result;
use crate::fretboard::{self, FretboardLook};
use crate::hand::{self, Fingering, FrettingPlan};
use crate::harmony::NameSign;
use crate::line::{Feel, Heading, Line, Tempo};
use crate::notate::{self, Written};
use crate::perform::{self, Change, PerformError, Performed, Practice, Sound, Take};
use crate::recast::{self, Casting};
use crate::scene::{NeckPicture, Scene};
use crate::score::{Annotations, Score};
use crate::time::Span;
use crate::timed::Timed;

/// A line with its casting, and every stage up to the page.
///
/// ```
/// use halfbar_core::engrave::Layout;
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("recast: split-last at 1.1\n@Fm7 F3 Ab C Eb  G F Eb C |");
/// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
/// assert_eq!(piece.timed().events.len(), 8);
/// assert_eq!(piece.written().bars[0].tuplets.len(), 1);
/// assert_eq!(piece.engrave(&Layout::default()).systems.len(), 1);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
#[derive(Clone, Debug)]
pub struct Piece {
    line: Line,
    casting: Casting,
    timed: Timed,
    written: Written,
    performed: Performed,
    /// The line's own plan for the fretting hand, even while the piece is played another way.
    fretting: Arc<FrettingPlan>,
    fingering: Fingering,
    /// What the line's notes are called, if somebody has found that.
    names: Option<Arc<[NameSign]>>,
}

impl Piece {
    /// Runs the stages.
    ///
    /// # Errors
    /// The error of the stage that fails, with the place: see [`Error`](crate::Error).
    pub fn new(line: Line, casting: Casting) -> Result<Piece> {
        Piece::run(line, casting, None)
    }

    /// The same as [`Piece::new`], but faster if much is the same as in an earlier piece. Its names stay as long as the notes have the same ones,
    /// however they are recast.
    ///
    /// # Errors
    /// As [`Piece::new`].
    pub fn after(before: &Piece, line: Line, casting: Casting) -> Result<Piece> {
        Piece::run(line, casting, Some(before))
    }

    fn run(line: Line, casting: Casting, before: Option<&Piece>) -> Result<Piece> {
        let timed = recast::apply(&line, &casting)?;
        let written = notate::notate(&timed)?;
        let performed = perform::perform(&written, line.heading())?;
        let fretting = match before {
            // The fretting hand doesn't depend on what is recast.
            Some(before) if before.line.is_fretted_like(&line) => Arc::clone(&before.fretting),
            Some(before) => Arc::new(hand::fret(&line, Some(&before.fretting))?),
            None => Arc::new(hand::fret(&line, None)?),
        };
        let fingering =
            hand::pick(&timed, &line, Arc::clone(&fretting), before.map(|before| &before.fingering))?;
        let names = before.filter(|before| before.line.is_named_like(&line));
        let names = names.and_then(|before| before.names.clone());
        Ok(Piece { line, casting, timed, written, performed, fretting, fingering, names })
    }

    /// The same piece with another fingering, one that [`Fingering::ways`] found.
    pub fn played(&self, fingering: Fingering) -> Piece {
        Piece { fingering, ..self.clone() }
    }

    /// The same piece with the names of what is in its line, in order of their first notes: usually
    /// [`Names::signs`](crate::harmony::Names::signs). A piece doesn't find them by itself, since most pieces are shown without them.
    ///
    /// ```
    /// use halfbar_core::engrave::Layout;
    /// use halfbar_core::harmony::names;
    /// use halfbar_core::score::Annotations;
    /// use halfbar_core::{Piece, read, write};
    ///
    /// let line = read::text("@Am7 E3 G B C  C E A C |").line.expect("a full bar");
    /// let signs = names(&line).signs(&line);
    /// let piece = Piece::new(line, Default::default())?.with_names(signs.into());
    /// let annotations = Annotations { names: true, ..Annotations::default() };
    /// let svg = write::svg::document(&piece.engrave(&Layout { annotations, ..Layout::default() }));
    /// assert!(svg.contains("class=\"name\" data-bar=\"1\" data-name=\"0\""));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn with_names(self, names: Arc<[NameSign]>) -> Piece {
        Piece { names: Some(names), ..self }
    }

    /// The names of what is in its line, if it was given any.
    pub fn names(&self) -> Option<&Arc<[NameSign]>> {
        self.names.as_ref()
    }

    /// The same piece, with the same notation and fingering, at another tempo and with another feel.
    ///
    /// ```
    /// use halfbar_core::line::{Feel, Tempo};
    /// use halfbar_core::{Piece, read};
    ///
    /// let piece = Piece::new(read::text("C4 D E F G A B C |").line.expect("a full bar"), Default::default())?;
    /// let slow = piece.paced(Tempo::new(60).expect("a tempo"), Feel::Straight)?;
    /// assert_eq!(slow.performed().seconds(slow.performed().starts()[1]), 0.5);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`TimeError`](crate::time::TimeError) for times out of range.
    pub fn paced(&self, tempo: Tempo, feel: Feel) -> Result<Piece> {
        let heading = Heading { tempo, feel, ..self.line.heading().clone() };
        let performed = perform::perform(&self.written, &heading)?;
        let line = self.line.clone().with_heading(heading);
        Ok(Piece { line, performed, ..self.clone() })
    }

    /// The same piece under another title.
    pub fn titled(&self, title: &str) -> Piece {
        let heading = Heading { title: title.into(), ..self.line.heading().clone() };
        Piece { line: self.line.clone().with_heading(heading), ..self.clone() }
    }

    /// The plain line.
    pub fn line(&self) -> &Line {
        &self.line
    }

    /// What is recast.
    pub fn casting(&self) -> &Casting {
        &self.casting
    }

    /// The plain line and its casting, by value.
    pub fn into_parts(self) -> (Line, Casting) {
        (self.line, self.casting)
    }

    /// The line in time.
    pub fn timed(&self) -> &Timed {
        &self.timed
    }

    /// The line in notation.
    pub fn written(&self) -> &Written {
        &self.written
    }

    /// The line as it is played.
    pub fn performed(&self) -> &Performed {
        &self.performed
    }

    /// The line on the neck.
    pub fn fingering(&self) -> &Fingering {
        &self.fingering
    }

    /// What engraving, fretboard, description and sound read.
    pub fn score(&self) -> Score<'_> {
        let Piece { line, timed, written, fingering, names, .. } = self;
        Score { line, timed, written, fingering, names: names.as_deref().unwrap_or_default() }
    }

    /// The page of music.
    pub fn engrave(&self, layout: &Layout) -> Scene {
        engrave::engrave(self.score(), layout, None)
    }

    /// The same page, made from an earlier one: systems that would be the same are taken from it.
    pub fn engrave_after(&self, layout: &Layout, before: Before<'_>) -> Scene {
        engrave::engrave(self.score(), layout, Some(before))
    }

    /// A passage of the line on the neck: see [`fretboard()`](fretboard::fretboard()).
    pub fn fretboard(&self, passage: Span, look: &FretboardLook) -> NeckPicture {
        fretboard::fretboard(self.score(), passage, look)
    }

    /// The bar with this index in words: see [`describe::bar`].
    ///
    /// # Errors
    /// As [`describe::bar`].
    pub fn describe(&self, index: usize, added: Annotations) -> Result<describe::Bar, BarsError> {
        describe::bar(self.score(), index, added)
    }

    /// The notes that sound: see [`perform::sounds`].
    ///
    /// # Errors
    /// As [`perform::sounds`].
    pub fn sounds(&self) -> Result<Vec<Sound>, PerformError> {
        perform::sounds(self.score(), &self.performed)
    }

    /// The chords that sound: see [`perform::changes`].
    ///
    /// # Errors
    /// As [`perform::changes`].
    pub fn changes(&self) -> Result<Vec<Change>, PerformError> {
        perform::changes(self.score(), &self.performed)
    }

    /// Everything that is heard in a passage: see [`perform::take`].
    ///
    /// # Errors
    /// As [`perform::take`].
    pub fn take(&self, practice: &Practice) -> Result<Take, PerformError> {
        perform::take(self.score(), &self.performed, practice)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    #[test]
    fn another_fingering_is_not_taken_over() {
        let line = read::text("C4 D E F  G F E D | C4:4 |").line.unwrap();
        let piece = Piece::new(line.clone(), Casting::default()).unwrap();
        let frets = |piece: &Piece| -> Vec<_> {
            line.events().iter().map(|event| piece.fingering().of(event.id)).collect()
        };
        let way = piece.fingering().ways(|_| true, 2).pop().unwrap();
        let played = piece.played(way);
        assert_ne!(frets(&played), frets(&piece));
        let after = Piece::after(&played, line.clone(), Casting::default()).unwrap();
        assert_eq!(frets(&after), frets(&piece));
    }
}
