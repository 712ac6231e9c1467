//! The core of Halfbar: it recasts half-bars of a jazz line into other rhythms and sets the result as staff
//! notation and tab.
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
//! Each stage is a pure function between two named types:
//!
//! ```text
//! text --read--> Line --recast--> Timed --notate--> Written --engrave--> Scene --write--> SVG
//!                  |                |                               ^
//!                  |--hand::fret----+--hand::pick--> Fingering -----|
//! Line, Casting --advise--> suggestions: where to recast
//! Line --drill--> more lines
//! chords, scales --material--> more lines
//! Piece --perform--> Take --sound--> samples --write--> WAV
//! Pieces --worksheet--> Pages --write--> PDF, SVG, HTML
//! Piece --exchange--> MusicXML, MIDI --exchange--> Line, Casting
//! Piece --describe--> words for a screen reader
//! ```
//!
//! Alongside these, [`swing`] works out how written eighths are performed, and [`listen`] measures how early
//! or late they were played.
//!
//! # Keeping values
//!
//! A whole line is kept as text: [`write::text::line`] writes it and [`read::text`] reads it. Most values in it
//! have a text form of their own, which [`Display`](std::fmt::Display) writes and
//! [`FromStr`](std::str::FromStr) reads: onsets and durations, pitches, keys, meters, places, chord symbols,
//! necks, tempos, and the names of notations, views and styles. With the feature `serde` they are serialized as
//! that text. A string that isn't one fails with the type's own error:
//!
//! ```
//! # #[cfg(feature = "serde")] {
//! use halfbar_core::meter::Meter;
//!
//! let meter: Meter = serde_json::from_str(r#""7/8 3+2+2""#)?;
//! assert_eq!(serde_json::to_string(&meter)?, r#""7/8 3+2+2""#);
//! let wrong = serde_json::from_str::<Meter>(r#""11/9""#).unwrap_err();
//! assert!(wrong.to_string().starts_with(&"11/9".parse::<Meter>().unwrap_err().to_string()));
//! # }
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Nothing here reads a file, a clock or the network, and nothing needs a browser.

// In data-flow order: a module uses only those above it.
pub mod naming;
pub mod time;
mod order;
pub mod dialect;

pub mod meter;
pub mod value;
pub mod pitch;
pub mod key;
pub mod scale;
pub mod chord;
pub mod neck;
pub mod technique;
pub mod bars;
pub mod line;
pub mod attack;
pub mod names;
mod geometry;

pub mod harmony;
pub mod timed;
pub mod recast;
pub mod notate;
pub mod hand;
pub mod swing;
pub mod score;
pub mod perform;
pub mod advise;
pub mod sound;
pub mod listen;
pub mod drill;
pub mod material;
mod error;

pub mod describe;
pub mod font;
pub mod scene;
pub mod engrave;
pub mod fretboard;
mod piece;

pub mod read;
pub mod worksheet;
pub mod write;
#[cfg(feature = "exchange")]
pub mod exchange;
#[cfg(feature = "serde")]
mod as_text;

pub use error::{Error, Result};
pub use piece::Piece;

/// Compiles and runs the README's example.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
struct Readme;
