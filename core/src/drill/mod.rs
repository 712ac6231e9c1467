//! Line + casting -> more lines to practice: a shape moved through a scale ([`sequence`]), a line in twelve
//! keys ([`keys`]), and the steps that lead to a figure ([`ladder()`]).
//!
//! ```
//! use halfbar_core::drill::{self, Shape};
//! use halfbar_core::{read, write};
//!
//! let reading = read::text("recast: split-last at 1.1\nF3 A C4 E  D C Bb A |");
//! let line = reading.line.expect("a full bar");
//!
//! let stretch = drill::first_shape(&line, &reading.casting)?;
//! let shape = Shape { stretch, scale: "F major".parse()?, steps: 3, strings: Some("4-2".parse().unwrap()) };
//! let made = drill::sequence(&line, &reading.casting, &shape)?;
//! let text = write::text::line(&made.line, &made.casting)?;
//! assert!(text.ends_with(
//!     "recast: split-last at 1.1 to 3.1 bracket\n\n\
//!      F3^4 A^3 C^3 E^2  G3^4 Bb^3 D^3 F^2 | A3^4 C^3 E^3 G^2  Bb3^4 D^3 F^3 A^2 |\n"
//! ));
//!
//! let made = drill::keys(&line, &reading.casting, drill::Cycle::Fourths)?;
//! assert_eq!((made.line.bar_count(), made.casting.windows().len()), (12, 12));
//! # Ok::<(), halfbar_core::Error>(())
//! ```

mod error;
mod keys;
mod ladder;
mod sequence;
mod words;

pub use error::DrillError;
pub use keys::{Cycle, keys};
pub use ladder::{LadderStep, Side, StepKind, ladder};
pub use sequence::{Shape, first_shape, sequence};

use crate::bars::{Bars, Place};
use crate::line::{ChordAt, Heading, Line, Part, SystemBreaks};
use crate::neck::{Neck, StringNo, Strings};
use crate::pitch::Pitch;
use crate::recast::{Casting, Window};
use crate::technique::{Constraint, ConstraintSpan, Pin};
use crate::time::{Duration, Onset, Span};
use error::Result;

/// A line made of copies.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Exercise {
    /// The line.
    pub line: Line,
    /// Its casting: the windows of each copy, wherever they can be recast.
    pub casting: Casting,
    /// The copies that were moved by octaves to stay in range.
    pub folded: Vec<Folded>,
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
        let folded = self.folded.iter().map(|copy| {
            let (octaves, way) = (copy.octaves.abs(), if copy.octaves > 0 { "up" } else { "down" });
            let unit = if octaves == 1 { "octave" } else { "octaves" };
            format!(
                "{}: the copy that starts here is {octaves} {unit} {way}, to stay on the neck",
                copy.place.spoken()
            )
        });
        let respelled = self
            .respelled
            .iter()
            .map(|place| format!("{}: the figure is notated another way here", place.spoken()));
        let plain = self
            .plain
            .iter()
            .map(|place| format!("{}: the figure doesn't fit here, so the notes stay plain", place.spoken()));
        folded.chain(respelled).chain(plain).collect()
    }
}

/// The most octaves a copy is moved: no neck is wider.
const OCTAVES: i32 = 9;

/// What is copied.
struct Source {
    /// Where it starts in its line.
    start: Onset,
    parts: Vec<Part>,
    windows: Vec<Window>,
}

/// The copies, one after another.
struct Copies {
    bars: Bars,
    neck: Neck,
    /// The strings allowed, if not all.
    strings: Option<Strings>,
    holds: Vec<ConstraintSpan>,
    parts: Vec<Part>,
    end: Onset,
    chords: Vec<ChordAt>,
    windows: Vec<Window>,
    folded: Vec<Folded>,
    /// The numbers of the bars that start a system.
    breaks: Vec<u16>,
}

impl Copies {
    fn new(bars: Bars, neck: &Neck, strings: Option<Strings>) -> Copies {
        Copies {
            bars,
            neck: neck.clone(),
            strings,
            holds: Vec::new(),
            parts: Vec::new(),
            end: Onset::ZERO,
            chords: Vec::new(),
            windows: Vec::new(),
            folded: Vec::new(),
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
    /// octaves up. The copy goes in the octave nearest to the original (the lower of two) in which the neck
    /// has all its notes on the strings they are pinned to. If there is none, the pins are dropped, and any
    /// of the allowed strings will do.
    ///
    /// # Errors
    /// [`DrillError::NoOctave`] if that doesn't help.
    fn add(&mut self, source: &Source, moved: impl Fn(usize, Pitch, i32) -> Option<Pitch>) -> Result<()> {
        let on_neck = |pitch: Pitch, string: Option<StringNo>| {
            pitch.midi().is_some_and(|key| {
                self.neck.places(key).any(|(place, _)| {
                    string.is_none_or(|string| string == place)
                        && self.strings.is_none_or(|strings| strings.contains(place))
                })
            })
        };
        // The parts, or the first pitch that can't be played.
        let copy = |octaves: i32, pinned: bool| -> std::result::Result<Vec<Part>, Pitch> {
            let parts = source.parts.iter().enumerate().map(|(index, part)| {
                let pin = if pinned { part.pin } else { Pin::default() };
                let put = |pitch: Option<Pitch>, string: Option<StringNo>| match pitch {
                    Some(pitch) => {
                        let there = moved(index, pitch, octaves);
                        let played = there.filter(|&there| on_neck(there, string));
                        played.ok_or(there.unwrap_or(pitch)).map(Some)
                    }
                    None => Ok(None),
                };
                Ok(Part { pitch: put(part.pitch, pin.string)?, grace: put(part.grace, None)?, pin, ..*part })
            });
            parts.collect()
        };
        let folded = |pinned: bool| {
            let octaves = [0].into_iter().chain((1..=OCTAVES).flat_map(|octaves| [-octaves, octaves]));
            octaves.into_iter().find_map(|octaves| Some((octaves, pinned, copy(octaves, pinned).ok()?)))
        };
        let place = self.bars.place(self.end)?;
        let (octaves, pinned, parts) = folded(true).or_else(|| folded(false)).ok_or_else(|| {
            let ((lowest, highest), strings) = (self.neck.range(), self.strings);
            let pitch = copy(0, false).err().or(source.parts.iter().find_map(|part| part.pitch));
            match pitch {
                Some(pitch) => DrillError::NoOctave { place, pitch, lowest, highest, strings },
                None => DrillError::Silent { place },
            }
        })?;
        if let Some(strings) = self.strings.filter(|_| !pinned) {
            let length = Duration::sum(parts.iter().map(|part| part.duration))?;
            self.holds.push(ConstraintSpan {
                span: Span::starting(self.end, length)?,
                want: Constraint::Strings(strings),
            });
        }
        if octaves != 0 {
            self.folded.push(Folded { place, octaves });
        }
        for window in &source.windows {
            self.windows.push(window.at(self.end.checked_add(window.start.checked_since(source.start)?)?));
        }
        parts.into_iter().try_for_each(|part| self.put(part))
    }

    /// The line of these copies, under another line's heading and with a casting's own figures.
    fn made(self, heading: &Heading, casting: &Casting) -> Result<Exercise> {
        // The line's own breaks are at bars that are different now.
        let systems = SystemBreaks { at: self.breaks, ..heading.systems };
        let heading = Heading { systems, ..heading.clone() };
        let line = Line::new(heading, self.bars, self.parts, self.chords)?.with_constraints(self.holds);
        let (mut casting, mut respelled, mut plain) = (casting.cleared(), Vec::new(), Vec::new());
        for window in self.windows {
            let (place, asked) = (line.bars().place(window.start)?, window.spelling);
            match casting.put_spelled(&line, window) {
                Ok(spelling) if spelling == asked => {}
                Ok(_) => respelled.push(place),
                Err(_) => plain.push(place),
            }
        }
        Ok(Exercise { line, casting, folded: self.folded, respelled, plain })
    }
}
