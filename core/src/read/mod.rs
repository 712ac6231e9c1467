//! Text -> line + casting + diagnostics.
//!
//! Reading never stops at a mistake: what can be read is read, and everything else is reported with its place.
//!
//! ```
//! use halfbar_core::read;
//!
//! let reading = read::text("key: Eb\n@Fm7 F3 Ab H Eb G F Eb C |");
//! assert_eq!(
//!     reading.diagnostics[0].render("key: Eb\n@Fm7 F3 Ab H Eb G F Eb C |"),
//!     "2:12: `H` is no note: a note starts with A to G, a rest is `r`, a chord starts with `@`\n  \
//!        @Fm7 F3 Ab H Eb G F Eb C |\n             ^"
//! );
//! ```

mod diagnostic;
mod headers;
mod music;
mod recasts;
mod text;

pub use diagnostic::{Diagnostic, Problem};
pub use text::{Reading, bytes, text};

pub(crate) use text::{Row, rows};
