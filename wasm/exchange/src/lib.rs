//! MusicXML and MIDI files, read and written. It is a module of its own, fetched when somebody first imports or exports one.
//!
//! [`open`], [`musicxml`] and [`midi`] are for the element and for scripts; [`open_file`], [`press`] and [`save_file`] are the page's: they show what is in
//! a file in its part for that, and read the fields beside its buttons. [`save_png`] is here because few need it. A line comes and goes as text, as everywhere between modules.

mod choice;
mod opened;
mod options;
mod part;
mod picture;
mod written;

pub use opened::{Opened, open};
pub use part::{open_file, press};
pub use picture::save_png;
pub use written::{midi, musicxml, save_file};
