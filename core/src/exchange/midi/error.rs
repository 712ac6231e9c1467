//! What can go wrong with a MIDI file.

use crate::bars::Place;
use crate::key::Key;
use crate::meter::Meter;

/// Why a MIDI file can't be read or written.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MidiError {
    /// A file without notes.
    #[error("there are no notes in this file")]
    Empty,
    /// More bytes than are read.
    #[error("this MIDI file is longer than {allowed} MB, which is the most that is read")]
    Long {
        /// The most that is read, in MB (1,048,576 bytes).
        allowed: usize,
    },
    /// A header that can't be read.
    #[error("this MIDI file is damaged: its header is incomplete")]
    Header,
    /// Fewer tracks than the header says.
    #[error("this MIDI file is damaged: it has {found} of its {told} tracks")]
    Missing {
        /// How many there are.
        found: usize,
        /// How many the header says there are.
        told: usize,
    },
    /// A track without an end.
    #[error("this MIDI file is damaged: track {track} breaks off or has an event that can't be read")]
    Broken {
        /// Which one, from 1.
        track: usize,
    },
    /// A file that counts in film frames.
    #[error(
        "this MIDI file counts time in film frames, not in beats; save it with beats (ticks per quarter note)"
    )]
    Frames,
    /// A file of unconnected patterns.
    #[error(
        "the tracks of this MIDI file are separate pieces (format 2); save the one you want as format 0 or 1"
    )]
    Patterns,
    /// More tracks than are read.
    #[error("this MIDI file has more than {allowed} tracks, which is the most that is read")]
    Tracks {
        /// The most that are read.
        allowed: usize,
    },
    /// More events than are read.
    #[error("this MIDI file has more than {allowed} events, which is the most that is read")]
    Events {
        /// The most that are read.
        allowed: usize,
    },
    /// More bars than are read.
    #[error("this MIDI file has more than {allowed} bars, which is the most that is read")]
    Bars {
        /// The most that are read.
        allowed: usize,
    },
    /// A meter that lines don't have.
    #[error("bar {bar}: the meter {count}/{unit} can't be read; meters are {}", Meter::allowed())]
    Meter {
        /// The bar, from 1.
        bar: usize,
        /// The upper number.
        count: u8,
        /// The lower number.
        unit: u64,
    },
    /// A meter that changes somewhere else than at a bar line.
    #[error("bar {bar}: the meter changes inside this bar; move the change to a bar line")]
    MeterInside {
        /// The bar, from 1.
        bar: usize,
    },
    /// A file that doesn't say its key, so that it isn't clear how its notes are spelled.
    #[error(
        "this MIDI file does not say in which key it is, so F# and Gb look the same; give a key: {likely} fits its notes best (`--key \"{likely}\"`)"
    )]
    Key {
        /// The key that most of its notes belong to.
        likely: Key,
    },
    /// A note that is too low to be spelled.
    #[error("{}: key number {key} is lower than any note that can be written", place.spoken())]
    Low {
        /// Where it starts.
        place: Place,
        /// Its number; 60 is C4.
        key: u8,
    },
    /// Notes that no rhythm fits.
    #[error("{}: no rhythm that can be written fits the notes here", place.spoken())]
    Rhythm {
        /// Where.
        place: Place,
    },
}
