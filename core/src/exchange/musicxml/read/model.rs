//! A score as it was read: parts, bars and notes at their times, before a voice is chosen.

use std::collections::{BTreeMap, BTreeSet};

use crate::chord::ChordSymbol;
use crate::key::Key;
use crate::line::{Feel, Legato};
use crate::meter::Meter;
use crate::pitch::Pitch;
use crate::technique::Pin;
use crate::time::Duration;

/// What a line can't have, and how often it is there.
pub(super) type LeftOut = BTreeMap<&'static str, usize>;

/// A score as it was read.
#[derive(Clone, Debug)]
pub(crate) struct Score {
    pub(super) title: String,
    /// The line's own text, if the file has it.
    pub(super) text: Option<String>,
    pub(super) parts: Vec<Part>,
    /// What there is to choose in each part.
    pub(super) staves: Vec<Vec<Staff>>,
    pub(super) directions: Directions,
}

/// One staff.
#[derive(Clone, Debug)]
pub(super) struct Staff {
    pub(super) number: u16,
    /// The tab staff that repeats its notes, with their strings and frets.
    pub(super) tab: Option<u16>,
    pub(super) is_fretted: bool,
    pub(super) voices: Vec<Voice>,
}

/// One voice of a staff, or several that never sound together.
#[derive(Clone, Debug)]
pub(super) struct Voice {
    /// The indices that its notes have.
    pub(super) members: BTreeSet<usize>,
    pub(super) notes: usize,
    pub(super) together: usize,
}

/// One part.
#[derive(Clone, Debug, Default)]
pub(super) struct Part {
    pub(super) name: String,
    pub(super) bars: Vec<Bar>,
    pub(super) necks: BTreeMap<u16, StaffNeck>,
    /// The names of its voices, each with the index that its notes have.
    pub(super) voices: BTreeMap<String, usize>,
}

/// What a staff says about the neck.
#[derive(Clone, Debug, Default)]
pub(super) struct StaffNeck {
    /// Whether it is a tab staff.
    pub(super) is_tab: bool,
    /// The open strings by the number of the line, from the bottom.
    pub(super) open: BTreeMap<u8, Pitch>,
    pub(super) capo: Option<u8>,
}

/// One bar of one part.
#[derive(Clone, Debug)]
pub(super) struct Bar {
    /// What the file calls it.
    pub(super) number: String,
    /// Whether it doesn't count as a bar of its own.
    pub(super) is_implicit: bool,
    /// When its last note or rest ends; whole-bar rests don't count. Zero if there is none.
    pub(super) length: Duration,
    /// The length of its whole-bar rest. Few programs are careful about it.
    pub(super) silence: Duration,
    /// The meter from here on, or the text of one that isn't known.
    pub(super) meter: Option<Result<Meter, String>>,
    /// The sounding keys from here on, each with its staff if it is for one only.
    pub(super) keys: Vec<(Option<u16>, Key)>,
    pub(super) starts_system: bool,
    pub(super) notes: Vec<Note>,
    pub(super) chords: Vec<(Duration, ChordSymbol)>,
    pub(super) left_out: LeftOut,
}

/// One note or rest.
#[derive(Clone, Debug)]
pub(super) struct Note {
    /// When it starts in its bar.
    pub(super) onset: Duration,
    pub(super) duration: Duration,
    pub(super) sound: Sound,
    pub(super) staff: u16,
    /// The index of its voice among the part's.
    pub(super) voice: usize,
    /// Whether it is a grace note, which takes no time.
    pub(super) is_grace: bool,
    pub(super) tied_from: bool,
    pub(super) tied_to: bool,
    pub(super) hand: Pin,
    pub(super) legato: Option<Legato>,
    /// The numbers of the tuplets that start and end with it.
    pub(super) tuplets: Vec<(Edge, u8)>,
    pub(super) left_out: Vec<&'static str>,
}

/// The start or the end.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Edge {
    Start,
    Stop,
}

/// What sounds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Sound {
    Rest,
    Pitch(Pitch),
    /// A sound that a line can't have.
    Wrong(Wrong),
}

/// Why a line can't have a sound.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Wrong {
    Microtone,
    Unpitched,
    Pitch,
    Length,
}

/// What the file says about its speed and feel, in order of time.
#[derive(Clone, Debug, Default)]
pub(super) struct Directions {
    /// Quarter notes per minute, each with the bar and the time in it.
    pub(super) tempos: Vec<(usize, Duration, Duration)>,
    pub(super) feels: Vec<(usize, Duration, Feel)>,
    /// The feel that words ask for, if nothing else does.
    pub(super) said: Option<Feel>,
}

impl Default for Bar {
    fn default() -> Bar {
        Bar {
            number: String::new(),
            is_implicit: false,
            length: Duration::ZERO,
            silence: Duration::ZERO,
            meter: None,
            keys: Vec::new(),
            starts_system: false,
            notes: Vec::new(),
            chords: Vec::new(),
            left_out: LeftOut::new(),
        }
    }
}

impl Directions {
    /// Puts everything in order of time, once each: every part may say the same.
    pub(super) fn sort(&mut self) {
        self.tempos.sort_unstable();
        self.tempos.dedup();
        self.feels.sort_by_key(|(bar, onset, _)| (*bar, *onset));
        self.feels.dedup();
    }
}

impl Note {
    pub(super) fn pitch(&self) -> Option<Pitch> {
        match self.sound {
            Sound::Pitch(pitch) => Some(pitch),
            _ => None,
        }
    }

    /// Whether it is more than a rest.
    pub(super) fn sounds(&self) -> bool {
        self.sound != Sound::Rest
    }

    /// When it ends in its bar.
    pub(super) fn end(&self) -> Duration {
        self.onset.checked_add(self.duration).unwrap_or(self.onset)
    }
}
