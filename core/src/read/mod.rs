//! Text -> line + casting + diagnostics.
//!
//! Reading never stops at a mistake: it reads what it can, and reports everything else with its place.
//!
//! ```
//! use halfbar_core::read;
//!
//! let source = "key: Eb\n@Fm7 F3 Ab H Eb G F Eb C |";
//! let reading = read::text(source);
//! assert_eq!(reading.line.unwrap().events().len(), 8, "the `H` is read as it is meant");
//! let message = reading.diagnostics[0].render(source);
//! let rows: Vec<_> = message.lines().collect();
//! assert_eq!(rows[0], "2:12: `H` is not a note here: write `B`");
//! assert_eq!(rows[1], "  @Fm7 F3 Ab H Eb G F Eb C |");
//! assert_eq!(rows[2], "             ^");
//! ```

mod calls;
mod diagnostic;
mod headers;
mod holds;
mod music;
mod passages;
mod recasts;
mod text;
mod words;

pub use diagnostic::{Diagnostic, Problem};
pub use text::{Reading, bytes, text};
pub use words::Spot;

pub(crate) use text::{Row, rows};
