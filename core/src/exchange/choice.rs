//! What there is to choose in a file, and what was chosen.

use crate::key::Key;

/// The kinds of files.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Format {
    /// MusicXML, compressed or not.
    MusicXml,
    /// A Standard MIDI File.
    Midi,
}

/// One part, usually an instrument.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct PartContents {
    /// Its name; empty if it has none.
    pub name: String,
    /// Its staves from the top. A tab staff that only repeats the staff above is not among them.
    pub staves: Vec<StaffContents>,
}

/// One staff of a part.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct StaffContents {
    /// Its number in the file, from 1.
    pub number: u16,
    /// Whether its notes have strings and frets.
    pub is_fretted: bool,
    /// Its voices, in order of their first notes.
    pub voices: Vec<VoiceContents>,
}

/// One voice of a staff.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct VoiceContents {
    /// Its name in the file, usually a number.
    pub name: String,
    /// How many notes it has; tied ones count once.
    pub notes: usize,
    /// How many of them sound together with another one.
    pub together: usize,
}

/// One voice of a file.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Choice {
    /// The index of the part.
    pub part: usize,
    /// The index of the staff in the part.
    pub staff: usize,
    /// The index of the voice in the staff.
    pub voice: usize,
    /// What to do about notes that sound together.
    pub keep: Keep,
    /// How many octaves higher the notes are to be; negative for lower.
    pub octaves: i8,
    /// The key of a MIDI file that doesn't say in which key it is.
    pub key: Option<Key>,
}

/// Which of the notes that sound together are kept.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum Keep {
    /// None: that is an error.
    #[default]
    Single,
    /// The highest one.
    Top,
    /// The lowest one.
    Bottom,
}
