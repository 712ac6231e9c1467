//! Copies, one after another: each goes where it fits the neck best.

use crate::bars::{Bars, Place};
use crate::line::{ChordAt, Heading, Line, Part, SystemBreaks};
use crate::neck::{Neck, StringNo};
use crate::order;
use crate::pitch::Pitch;
use crate::recast::{Casting, Window};
use crate::technique::{Constraint, ConstraintSpan, Pin};
use crate::time::{Duration, Onset, Span};

use super::error::{DrillError, Result};
use super::exercise::{Exercise, Folded};
use super::fixed::Fixed;
use super::naming::Renamed;
use super::region::{CopyAt, Region, Settled, settled};

/// The most octaves a copy is moved: no neck is wider.
const OCTAVES: i32 = 9;

/// What is copied.
pub(super) struct Source {
    /// Where it starts in its line.
    pub(super) start: Onset,
    /// With the strokes that the player has fixed, and the strings that a copy should be on.
    pub(super) parts: Vec<Part>,
    /// What the player has fixed for the fretting hand.
    pub(super) fixed: Fixed,
    /// What the player has fixed for the picking hand, for passages.
    pub(super) picking: Vec<ConstraintSpan>,
    /// The indexes of the parts that may go on open strings, as they do in the shape itself or because they are on no
    /// string of it.
    pub(super) open: Vec<usize>,
    pub(super) windows: Vec<Window>,
}

impl Source {
    /// Whether a note may go on any string.
    fn is_free(&self) -> bool {
        self.parts.iter().any(|part| part.pitch.is_some() && part.pin.string.is_none())
    }
}

/// Where a copy would best go.
#[derive(Clone, Copy)]
pub(super) enum Octaves {
    /// As it was written, wherever the neck has it.
    AsWritten,
    /// As near as possible to this many octaves up.
    Near(i32),
}

/// How well a copy fits the neck.
#[derive(Clone, Copy)]
struct Fit {
    /// On the strings that the notes are pinned to.
    pinned: bool,
    /// Without open strings.
    closed: bool,
    /// At or below the highest fret.
    below: bool,
}

impl Fit {
    /// From the best to the worst.
    const ALL: [Fit; 5] = [
        Fit { pinned: true, closed: true, below: true },
        Fit { pinned: true, closed: false, below: true },
        Fit { pinned: false, closed: false, below: true },
        Fit { pinned: true, closed: false, below: false },
        Fit::LAST,
    ];
    const LAST: Fit = Fit { pinned: false, closed: false, below: false };
}

/// The copies, one after another.
pub(super) struct Copies {
    pub(super) bars: Bars,
    pub(super) neck: Neck,
    pub(super) region: Region,
    pub(super) copies: Vec<CopyAt>,
    pub(super) holds: Vec<ConstraintSpan>,
    pub(super) parts: Vec<Part>,
    pub(super) end: Onset,
    pub(super) chords: Vec<ChordAt>,
    pub(super) windows: Vec<Window>,
    pub(super) folded: Vec<Folded>,
    pub(super) unfixed: Vec<Place>,
    pub(super) renamed: Vec<Renamed>,
    /// The numbers of the bars that start a system.
    pub(super) breaks: Vec<u16>,
}

impl Copies {
    pub(super) fn new(bars: Bars, neck: &Neck, region: Region) -> Copies {
        Copies {
            bars,
            neck: neck.clone(),
            region,
            copies: Vec::new(),
            holds: Vec::new(),
            parts: Vec::new(),
            end: Onset::ZERO,
            chords: Vec::new(),
            windows: Vec::new(),
            folded: Vec::new(),
            unfixed: Vec::new(),
            renamed: Vec::new(),
            breaks: Vec::new(),
        }
    }

    /// Adds a part at the end.
    pub(super) fn put(&mut self, part: Part) -> Result<()> {
        if part.duration > Duration::ZERO {
            self.end = self.end.checked_add(part.duration)?;
            self.parts.push(part);
        }
        Ok(())
    }

    /// Adds a copy at the end. `moved` gives the pitch for the number of a part, its pitch and a number of
    /// octaves up.
    ///
    /// The copy goes where it fits best: on the strings that its notes are pinned to, in one closed shape below
    /// the region's highest fret; otherwise with open strings; otherwise on any of the region's strings; and only
    /// then above that fret. Among the octaves that serve equally well, it is the nearest to `near`, the lower of
    /// two. Returns the octave.
    ///
    /// # Errors
    /// [`DrillError::NoOctave`] if the neck has no place for it at all.
    pub(super) fn add(
        &mut self,
        source: &Source,
        near: Octaves,
        moved: impl Fn(usize, Pitch, i32) -> Option<Pitch>,
    ) -> Result<i32> {
        // The parts, or the first pitch that can't be played.
        let copy = |octaves: i32, fit: Fit| -> std::result::Result<Vec<Part>, Pitch> {
            let parts = source.parts.iter().enumerate().map(|(index, part)| {
                let string = part.pin.string.filter(|_| fit.pinned);
                let pin = Pin { string, ..part.pin };
                let open = !fit.closed || source.open.contains(&index);
                let put = |pitch: Option<Pitch>, string: Option<StringNo>, open: bool| match pitch {
                    Some(pitch) => {
                        let there = moved(index, pitch, octaves);
                        let played = there
                            .filter(|&there| self.region.has(&self.neck, there, string, open, fit.below));
                        played.ok_or(there.unwrap_or(pitch)).map(Some)
                    }
                    None => Ok(None),
                };
                let (pitch, grace) = (put(part.pitch, pin.string, open)?, put(part.grace, None, true)?);
                Ok(Part { pitch, grace, pin, ..*part })
            });
            parts.collect()
        };
        let octaves = |near: i32| {
            let others = (1..=OCTAVES).flat_map(move |octaves| [near - octaves, near + octaves]);
            [near].into_iter().chain(others)
        };
        let best = |all: &[i32]| {
            Fit::ALL.into_iter().find_map(|fit| {
                all.iter().find_map(|&octaves| Some((octaves, fit, copy(octaves, fit).ok()?)))
            })
        };
        let found = match near {
            Octaves::AsWritten => best(&[0]).or_else(|| best(&octaves(0).collect::<Vec<_>>())),
            Octaves::Near(near) => best(&octaves(near).collect::<Vec<_>>()),
        };
        let place = self.bars.place(self.end)?;
        let (octaves, fit, parts) = found.ok_or_else(|| {
            let ((lowest, highest), strings) = (self.neck.range(), self.region.strings);
            let pitch = copy(0, Fit::LAST).err().or(source.parts.iter().find_map(|part| part.pitch));
            match pitch {
                Some(pitch) => DrillError::NoOctave { place, pitch, lowest, highest, strings },
                None => DrillError::Silent { place },
            }
        })?;
        let length = Duration::sum(parts.iter().map(|part| part.duration))?;
        let span = Span::starting(self.end, length)?;
        if let Some(strings) = self.region.strings.filter(|_| !fit.pinned || source.is_free()) {
            self.holds.push(ConstraintSpan { span, want: Constraint::Strings(strings) });
        }
        let picking = source
            .picking
            .iter()
            .map(|hold| Ok(ConstraintSpan { span: self.here(source, hold.span)?, ..*hold }));
        self.holds.extend(picking.collect::<Result<Vec<_>>>()?);
        // On the same strings, and moved as a whole, it can be fretted like its source.
        let is_alike = fit.pinned && !source.fixed.is_empty();
        let frets = frets_up(&source.parts, &parts).filter(|_| is_alike);
        let fixed = match frets {
            Some(frets) => source.fixed.moved(frets, source.start, self.end)?,
            None => None,
        };
        if frets.is_some() && fixed.is_none() {
            self.unfixed.push(place);
        }
        self.copies.push(CopyAt { span, above: !fit.below, first: self.parts.len(), fixed });
        if octaves != 0 {
            self.folded.push(Folded { place, octaves });
        }
        for window in &source.windows {
            self.windows.push(window.at(self.end.checked_add(window.start.checked_since(source.start)?)?));
        }
        parts.into_iter().try_for_each(|part| self.put(part))?;
        Ok(octaves)
    }

    /// A span of the source, in the copy that starts at the end.
    fn here(&self, source: &Source, span: Span) -> Result<Span> {
        let start = self.end.checked_add(span.start().checked_since(source.start)?)?;
        Ok(Span::starting(start, span.length()?)?)
    }

    /// The line of these copies, under the heading of the original and with its casting's own figures.
    /// With `one_shape`, copies that lie alike on their strings get the same fingers.
    pub(super) fn made(self, of: &Line, casting: &Casting, one_shape: bool) -> Result<Exercise> {
        // The line's own breaks are at bars that are different now.
        let systems = SystemBreaks { at: self.breaks, ..of.heading().systems };
        let heading = Heading { systems, ..of.heading().clone() };
        let line = Line::new(heading, self.bars, self.parts, self.chords)?.with_constraints(self.holds);
        let Settled { line, above, mut unfixed } = settled(line, &self.copies, self.region.up_to, one_shape)?;
        unfixed.extend(self.unfixed);
        order::sort(&mut unfixed, |place| *place);
        let (mut casting, mut respelled, mut plain) = (casting.cleared(), Vec::new(), Vec::new());
        for window in self.windows {
            let (place, asked) = (line.bars().place(window.start)?, window.spelling);
            match casting.put_spelled(&line, window) {
                Ok(spelling) if spelling == asked => {}
                Ok(_) => respelled.push(place),
                Err(_) => plain.push(place),
            }
        }
        Ok(Exercise {
            line,
            casting,
            folded: self.folded,
            above,
            unfixed,
            renamed: self.renamed,
            uncalled: of.calls().len(),
            respelled,
            plain,
        })
    }
}

/// How many half steps the notes of a copy are above those of its source, if that is the same for all.
fn frets_up(source: &[Part], copy: &[Part]) -> Option<i32> {
    let key = |part: &Part| Some(i32::from(part.pitch?.midi()?.0));
    let mut all = source.iter().zip(copy).filter_map(|(from, to)| Some(key(to)? - key(from)?));
    let first = all.next()?;
    all.all(|frets| frets == first).then_some(first)
}
