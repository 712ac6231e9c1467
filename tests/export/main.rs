//! MusicXML and MIDI files as others read them. Each outside check names its source; `tests/outside/README.md` says how the scripts work.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    reason = "a test that can't continue has to stop"
)]

mod cases;
mod notation;
mod played;
mod structure;
