//! Chords + scales -> lines to practice, in eighths: arpeggios joined over a progression ([`chain()`]).

mod chain;
mod error;
mod made;
mod over;
mod path;
mod placing;
mod progression;
mod remark;
mod setup;
mod stack;
mod way;
mod weights;

pub use chain::{Chain, Leap, Shapes, Upper, chain};
pub use error::MaterialError;
pub use made::Made;
pub use progression::{Lasting, Progression};
pub use remark::Remark;
pub use setup::Setup;
pub use way::Way;
