//! A line with everything derived from it: the input for the page of music, the fretboard, the description
//! and the sound.

use crate::chord::Degree;
use crate::hand::Fingering;
use crate::harmony::{self, NameSign};
use crate::line::{Degrees, Heading, Line, NoteId};
use crate::notate::Written;
use crate::timed::Timed;

/// What is added to the notes, on the page and in words.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub struct Annotations {
    /// The fretting hand's fingers, under each system.
    pub fingers: bool,
    /// Which notes are tones of their chord: a ring around the head, on a staff.
    pub chord_tones: bool,
    /// The names of what is in the line, as far as the score has them: brackets under each system, and what the line lands on.
    pub names: bool,
    /// What each note is over its chord, under each system.
    pub degrees: Degrees,
}

impl Annotations {
    /// What the text of a line asks for.
    pub fn of(heading: &Heading) -> Annotations {
        Annotations { names: heading.names, degrees: heading.degrees, ..Annotations::default() }
    }

    /// Whether fingers have a row.
    pub(crate) fn shows_fingers(self) -> bool {
        self.fingers && self.degrees != Degrees::InsteadOfFingers
    }

    /// Whether every note has its degree.
    pub(crate) fn shows_degrees(self) -> bool {
        self.degrees != Degrees::No
    }
}

/// The stages of one line, borrowed from their owner.
#[derive(Clone, Copy, Debug)]
pub struct Score<'a> {
    /// The plain line.
    pub line: &'a Line,
    /// The line in time.
    pub timed: &'a Timed,
    /// The line in notation.
    pub written: &'a Written,
    /// The line on the neck.
    pub fingering: &'a Fingering,
    /// The names that can be shown, in order of their first notes.
    pub names: &'a [NameSign],
}

impl Score<'_> {
    /// What a note is over the chord that holds where the plain line has the note; `None` where there is no chord.
    pub fn degree(&self, note: NoteId) -> Option<Degree> {
        let event = self.line.events().get(note.0 as usize)?;
        harmony::degree(event.pitch?.name, self.line.chord_at(event.onset)?)
    }

    /// The names that begin with a note: its own, and those whose first notes a figure leaves out, whatever rests are in between.
    pub fn names_from(&self, note: NoteId) -> impl Iterator<Item = &NameSign> {
        let is_left_out = |note: u32| {
            let event = self.line.events().get(note as usize);
            event.is_some_and(|event| {
                if event.pitch.is_none() {
                    return true;
                }
                let windows = &self.timed.windows;
                let after = windows.partition_point(|window| window.span.start() <= event.onset);
                windows[..after].last().is_some_and(|window| window.left_out.contains(&NoteId(note)))
            })
        };
        let first = (0..note.0).rev().take_while(|&before| is_left_out(before)).last().unwrap_or(note.0);
        let start = self.names.partition_point(|name| name.first < NoteId(first));
        let here = self.names[start..].iter().take_while(move |name| name.first <= note);
        here.filter(move |name| name.last >= note)
    }

    /// Whether a note is a tone of its chord: of the one that holds where the plain line has the note, wherever it sounds once recast.
    pub fn is_chord_tone(&self, note: NoteId) -> bool {
        let event = self.line.events().get(note.0 as usize);
        let pitch_and_chord = event.and_then(|event| Some((event.pitch?, self.line.chord_at(event.onset)?)));
        pitch_and_chord.is_some_and(|(pitch, chord)| harmony::is_chord_tone(pitch.name, chord))
    }
}
