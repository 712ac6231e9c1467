//! Chords + scales -> lines to practice, in eighths: arpeggios joined over a progression ([`chain()`]), the arpeggios of a scale ([`arpeggios()`]),
//! voicings ([`voicing()`]).

mod arpeggios;
mod chain;
mod error;
mod made;
mod order;
mod over;
mod path;
mod placing;
mod progression;
mod remark;
mod setup;
mod stack;
mod voicing;
mod way;
mod weights;

pub use arpeggios::{Arpeggios, ChordSize, arpeggios};
pub use chain::{Chain, Leap, Shapes, Upper, chain};
pub use error::MaterialError;
pub use made::Made;
pub use order::NoteOrder;
pub use progression::{Lasting, Progression};
pub use remark::Remark;
pub use setup::Setup;
pub use voicing::{Voicing, voicing};
pub use way::Way;
