//! A line with everything derived from it: the input for the page of music, the fretboard, the description
//! and the sound.

use crate::hand::Fingering;
use crate::harmony;
use crate::line::{Line, NoteId};
use crate::notate::Written;
use crate::timed::Timed;

/// What is added to the notes, on the page and in words.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub struct Annotations {
    /// The fretting hand's fingers, under each system.
    pub fingers: bool,
    /// Which notes are tones of their chord: a ring around the head, on a staff.
    pub chord_tones: bool,
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
}

impl Score<'_> {
    /// Whether a note is a tone of its chord: of the one that holds where the plain line has the note, wherever it sounds once recast.
    pub fn is_chord_tone(&self, note: NoteId) -> bool {
        let event = self.line.events().get(note.0 as usize);
        let pitch_and_chord = event.and_then(|event| Some((event.pitch?, self.line.chord_at(event.onset)?)));
        pitch_and_chord.is_some_and(|(pitch, chord)| harmony::is_chord_tone(pitch.name, chord))
    }
}
