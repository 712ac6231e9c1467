//! Line + casting + figure -> where to recast: suggestions with reasons, as many as a density asks for.
//!
//! The half-bars of a line are weighed one by one ([`weigh`]): what speaks for recasting each of them, and what against it. Then those are
//! chosen whose weights have the largest sum of all choices that the density allows ([`advise`]).
//!
//! ```
//! use std::sync::Arc;
//!
//! use halfbar_core::advise::{Density, advise};
//! use halfbar_core::read;
//! use halfbar_core::recast::{self, Casting, Figure};
//!
//! let line = read::text("key: Eb\n@Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D F Ab F  D C Bb Ab | @Ebmaj7 G3:2 r:2 |").line.expect("three bars");
//! let (mut casting, figure) = (Casting::default(), Figure::named("split-last").expect("in the catalogue"));
//! let suggestions = advise(&line, &casting, &figure, None, Density::Sparingly)?;
//! let said: Vec<_> = suggestions[0].reasons.iter().map(|reason| format!("{reason} {:+}", reason.weight())).collect();
//! assert_eq!(suggestions[0].place.to_string(), "1.3");
//! assert_eq!(
//!     said,
//!     [
//!         "leads into the change to B♭7 +3",
//!         "quick notes that can be swept +3",
//!         "is one group: C minor pentatonic, down +2",
//!     ]
//! );
//!
//! for suggestion in suggestions {
//!     casting.put(suggestion.window);
//! }
//! assert!(recast::apply(&line, &casting).is_ok());
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod choose;
mod context;
mod density;
mod error;
mod hand;
mod reason;
mod suggest;
mod tempo;
mod weights;

pub use density::Density;
pub use error::AdviseError;
pub use reason::Reason;
pub use suggest::{Suggestion, advise, weigh};
