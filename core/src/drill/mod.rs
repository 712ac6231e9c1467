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

mod copies;
mod diatonic;
mod error;
mod exercise;
mod fixed;
mod keys;
mod ladder;
mod naming;
mod region;
mod sequence;
mod words;

pub(crate) use diatonic::moved;
pub use error::DrillError;
pub use exercise::{Exercise, Folded};
pub use keys::{Cycle, keys};
pub use ladder::{LadderStep, Side, StepKind, ladder};
pub(crate) use naming::Named;
pub use naming::{Renamed, RenamedName};
pub use region::Region;
pub use sequence::{Shape, first_shape, sequence};
