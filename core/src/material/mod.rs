//! Chords + scales -> lines to practice, in eighths: arpeggios joined over a progression ([`chain()`]), the arpeggios of a scale ([`arpeggios()`]),
//! voicings ([`voicing()`]), pentatonic scales ([`pentatonic()`]) and which of them fit a chord ([`pentatonics()`]), the shapes of altered dominants
//! ([`altered()`]), and a line that lands on its chords ([`land()`]).
//!
//! Each makes a new line that can be played as it is, with [`Remark`]s about what came out differently than asked; or it says what would help.
//!
//! ```
//! use halfbar_core::material::{self, Chain, Leap};
//!
//! let mut asked = Chain::new("Fm7:2 Bb7:2 Ebmaj7:4".parse()?);
//! asked.leap = Leap::Step;
//! asked.setup.region.strings = Some("4-2".parse()?);
//! let made = material::chain(&asked)?;
//! assert_eq!(made.line.bar_count(), 2);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod altered;
mod arpeggios;
mod chain;
mod error;
mod land;
mod made;
mod order;
mod over;
mod path;
mod pentatonic;
mod pentatonics;
mod placing;
mod progression;
#[cfg(test)]
mod proof;
mod remark;
mod setup;
mod stack;
mod voicing;
mod way;
mod weights;

pub use altered::{AlteredShape, altered};
pub use arpeggios::{Arpeggios, ChordSize, arpeggios};
pub use chain::{Chain, Leap, Shapes, Upper, chain};
pub use error::MaterialError;
pub use land::{Change, Changed, Land, Landed, Side, land};
pub use made::Made;
pub use order::NoteOrder;
pub use pentatonic::{Pentatonic, pentatonic};
pub use pentatonics::{Fit, pentatonic_scale, pentatonics};
pub use progression::{Lasting, Progression};
pub use remark::Remark;
pub use setup::Setup;
pub use voicing::{Voicing, voicing};
pub use way::Way;
