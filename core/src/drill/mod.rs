//! Line + casting -> more lines to practice: a shape moved through a scale ([`sequence`]), a line in twelve
//! keys ([`keys`]), and the steps that lead to a figure ([`ladder()`]).
//!
//! ```
//! use halfbar_core::drill::{self, Region, Shape};
//! use halfbar_core::read;
//!
//! let reading = read::text("recast: split-last at 1.1\nF3 A C4 E  D C Bb A |");
//! let line = reading.line.expect("a full bar");
//!
//! let stretch = drill::first_shape(&line, &reading.casting)?;
//! let region = Region { strings: Some("4-2".parse()?), ..Region::default() };
//! let shape = Shape { stretch, scale: "F major".parse()?, steps: 3, region };
//! let made = drill::sequence(&line, &reading.casting, &shape)?;
//! let copy = &made.line.events()[4..8];
//! let pitches: Vec<String> = copy.iter().filter_map(|note| Some(note.pitch?.to_string())).collect();
//! let strings: Vec<u8> = copy.iter().filter_map(|note| Some(note.pin.string?.0)).collect();
//! assert_eq!((pitches.join(" ").as_str(), strings.as_slice()), ("G3 Bb3 D4 F4", &[4, 3, 3, 2][..]));
//!
//! let made = drill::keys(&line, &reading.casting, drill::Cycle::Fourths, Region::default())?;
//! assert_eq!((made.line.bar_count(), made.casting.windows().len()), (12, 12));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod error;
mod fixed;
mod keys;
mod ladder;
mod naming;
mod region;
mod sequence;
mod words;

pub use error::DrillError;
pub use keys::{Cycle, keys};
pub use ladder::{LadderStep, Side, StepKind, ladder};
pub use naming::{Renamed, RenamedName};
pub use region::Region;
pub use sequence::{Shape, first_shape, sequence};

use std::collections::BTreeMap;

use crate::bars::{Bars, Place};
use crate::line::{ChordAt, Heading, Line, Part, SystemBreaks};
use crate::naming::all_of;
use crate::neck::{Neck, StringNo};
use crate::order;
use crate::pitch::Pitch;
use crate::recast::{Casting, Window};
use crate::technique::{Constraint, ConstraintSpan, Pin};
use crate::time::{Duration, Onset, Span};
use error::Result;
use fixed::Fixed;

/// A line made of copies.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Exercise {
    /// The line.
    pub line: Line,
    /// Its casting: the windows of each copy, wherever they can be recast.
    pub casting: Casting,
    /// The copies that were moved by octaves to stay where they were asked for.
    pub folded: Vec<Folded>,
    /// Where copies start that no octave keeps at or below the highest fret asked for.
    pub above: Vec<Place>,
    /// Where copies start that can't be fretted as the player has fixed it, since the neck doesn't have that there or
    /// the copy would go above the highest fret asked for. They are fingered afresh.
    pub unfixed: Vec<Place>,
    /// What copies name differently than their key alone would, to be read more easily.
    pub renamed: Vec<Renamed>,
    /// Where windows start that couldn't keep their spelling.
    pub respelled: Vec<Place>,
    /// Where windows would start that can't be recast in any spelling, and were left plain.
    pub plain: Vec<Place>,
}

/// A copy that was moved by octaves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Folded {
    /// Where the copy starts.
    pub place: Place,
    /// How many octaves up; negative for down.
    pub octaves: i32,
}

impl Exercise {
    /// What came out differently than asked, one sentence each, without a period.
    pub fn remarks(&self) -> Vec<String> {
        let copies = |places: &[Place], [one, many]: [&str; 2]| {
            let starts = all_of(places.iter().map(|place| place.spoken()));
            match places {
                [_] => format!("{starts}: the copy that starts here {one}"),
                _ => format!("{starts}: the copies that start here {many}"),
            }
        };
        let mut by_octaves: BTreeMap<i32, Vec<Place>> = BTreeMap::new();
        for copy in &self.folded {
            by_octaves.entry(copy.octaves).or_default().push(copy.place);
        }
        let folded = by_octaves.into_iter().rev().map(|(octaves, places)| {
            let (count, way) = (octaves.abs(), if octaves > 0 { "up" } else { "down" });
            let unit = if count == 1 { "octave" } else { "octaves" };
            format!(
                "{} {count} {unit} {way}, to stay in the part of the neck asked for",
                copies(&places, ["is", "are"])
            )
        });
        let above = Some(&self.above).filter(|places| !places.is_empty());
        let above =
            above.map(|places| format!("{} higher up the neck than asked", copies(places, ["goes", "go"])));
        let unfixed = Some(&self.unfixed).filter(|places| !places.is_empty());
        let unfixed = unfixed.map(|places| {
            let one = "has a new fingering, since the one that is set can't be moved here";
            let many = "have new fingerings, since the one that is set can't be moved there";
            copies(places, [one, many])
        });
        let respelled = self
            .respelled
            .iter()
            .map(|place| format!("{}: the figure is notated another way here", place.spoken()));
        let plain = self
            .plain
            .iter()
            .map(|place| format!("{}: the figure doesn't fit here, so the notes stay plain", place.spoken()));
        let renamed = self.renamed.iter().map(Renamed::remark);
        folded.chain(above).chain(unfixed).chain(renamed).chain(respelled).chain(plain).collect()
    }
}

/// The most octaves a copy is moved: no neck is wider.
const OCTAVES: i32 = 9;

/// What is copied.
struct Source {
    /// Where it starts in its line.
    start: Onset,
    /// With the strokes that the player has fixed, and the strings that a copy should be on.
    parts: Vec<Part>,
    /// What the player has fixed for the fretting hand.
    fixed: Fixed,
    /// What the player has fixed for the picking hand, for passages.
    picking: Vec<ConstraintSpan>,
    /// The indexes of the parts that may go on open strings, as they do in the shape itself.
    open: Vec<usize>,
    windows: Vec<Window>,
}

impl Source {
    /// Whether a note may go on any string.
    fn is_free(&self) -> bool {
        self.parts.iter().any(|part| part.pitch.is_some() && part.pin.string.is_none())
    }
}

/// Where a copy would best go.
#[derive(Clone, Copy)]
enum Octaves {
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

/// A copy as it is laid out.
struct CopyAt {
    span: Span,
    /// No octave of it stays at or below the highest fret.
    above: bool,
    /// The index of its first part.
    first: usize,
    /// What the player has fixed, moved by as many frets as the copy.
    fixed: Option<Fixed>,
}

/// The copies, one after another.
struct Copies {
    bars: Bars,
    neck: Neck,
    region: Region,
    copies: Vec<CopyAt>,
    holds: Vec<ConstraintSpan>,
    parts: Vec<Part>,
    end: Onset,
    chords: Vec<ChordAt>,
    windows: Vec<Window>,
    folded: Vec<Folded>,
    unfixed: Vec<Place>,
    renamed: Vec<Renamed>,
    /// The numbers of the bars that start a system.
    breaks: Vec<u16>,
}

impl Copies {
    fn new(bars: Bars, neck: &Neck, region: Region) -> Copies {
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
    fn put(&mut self, part: Part) -> Result<()> {
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
    fn add(
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

    /// The line of these copies, under another line's heading and with a casting's own figures.
    /// With `one_shape`, copies that lie alike on their strings get the same fingers.
    fn made(self, heading: &Heading, casting: &Casting, one_shape: bool) -> Result<Exercise> {
        // The line's own breaks are at bars that are different now.
        let systems = SystemBreaks { at: self.breaks, ..heading.systems };
        let heading = Heading { systems, ..heading.clone() };
        let line = Line::new(heading, self.bars, self.parts, self.chords)?.with_constraints(self.holds);
        let region::Settled { line, above, mut unfixed } =
            region::settled(line, &self.copies, self.region.up_to, one_shape)?;
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
