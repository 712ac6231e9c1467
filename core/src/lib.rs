//! Halfbar's core: recasts half-bars of a jazz line into other rhythms, and writes it out for staff and neck.
//!
//! ```
//! use halfbar_core::{Piece, read, write};
//! use halfbar_core::engrave::Layout;
//!
//! let reading = read::text(
//!     "title: A lift in the middle\nkey: Eb\nrecast: split-last at 1.1 bracket\n\
//!      @Fm7 F3 Ab C Eb  G F Eb C | @Bb7alt D F B Ab  F# E D B | @Ebmaj7 Bb3:2 r:2 |",
//! );
//! assert!(reading.diagnostics.is_empty());
//! let piece = Piece::new(reading.line.expect("three bars"), reading.casting)?;
//! let svg = write::svg::document(&piece.engrave(&Layout::default()));
//! assert!(svg.starts_with("<svg"));
//! # Ok::<(), halfbar_core::Error>(())
//! ```
//!
//! The stages, each a pure function between two named types:
//!
//! ```text
//! text --read--> Line --recast--> Timed --notate--> Written --engrave--> Scene --write--> SVG
//!                                   |--hand-----> HandPlan ----^
//! Line --drill--> more lines
//! Piece --perform--> Take --sound--> samples --write--> WAV
//! Pieces --worksheet--> Pages --write--> PDF, SVG, HTML
//! Piece --words--> what a screen reader says
//! ```
//!
//! Beside them, [`perform`] knows how the written eighths swing, and [`listen`] how early or late they were played.
//!
//! Nothing in here reads a file, a clock or a network, and nothing needs a browser.

pub mod bars;
pub mod chord;
pub mod drill;
pub mod engrave;
mod error;
pub mod hand;
pub mod harmony;
pub mod key;
pub mod line;
pub mod listen;
pub mod manner;
pub mod meter;
pub mod neck;
pub mod notate;
mod order;
pub mod perform;
mod piece;
pub mod pitch;
pub mod read;
pub mod recast;
pub mod scale;
pub mod scene;
pub mod sound;
pub mod time;

pub mod words;
pub mod worksheet;
pub mod write;

pub use error::{Error, Result};
pub use piece::Piece;
