//! What a name says, and what it is charged for.

use crate::chord::{Degree, Quality};
use crate::line::NoteId;
use crate::pitch::PitchName;
use crate::scale::Scale;
use crate::time::Onset;

/// Why a name costs what it does.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum Term {
    /// It is a name.
    Name,
    /// How well its tones suit the chord that it is over.
    Tones,
    /// How well they suit the key, where there is no chord.
    Key,
    /// A scale that isn't the first choice.
    ScaleRank,
    /// Notes under another chord.
    OtherChord,
    Change,
    Anticipation,
    /// A rare chord.
    Rare,
    Missing,
    Rootless,
    ThreeNotes,
    Folded,
    Turn,
    Skip,
    OffBeat,
    /// Its first note is the last one of the name before.
    Lent,
    /// There is a short rest in it.
    Bridged,
    Broken,
    /// A less usual kind of name.
    Kind,
    Passing,
    /// What it leads to is off the beat.
    WeakTarget,
    /// A note without a name.
    Loose,
}

/// A part of what a name costs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Charge {
    /// What for.
    pub term: Term,
    /// How much.
    pub cost: u32,
}

/// Which way a group of notes goes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[allow(missing_docs)]
pub enum Direction {
    Up,
    Down,
    /// Up, and then down.
    UpDown,
    /// Down, and then up.
    DownUp,
    /// Neither.
    Mixed,
}

impl Direction {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Direction::Up => "up",
            Direction::Down => "down",
            Direction::UpDown => "up and down",
            Direction::DownUp => "down and up",
            Direction::Mixed => "mixed",
        }
    }
}

/// What notes that lead somewhere lead to.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Target {
    /// The note.
    pub note: NoteId,
    /// What it is over its chord.
    pub degree: Option<Degree>,
}

/// What kind of group it is.
#[derive(Clone, PartialEq, Debug)]
#[non_exhaustive]
pub enum Kind {
    /// The tones of a chord, one after another.
    Arpeggio {
        /// Its root.
        root: PitchName,
        /// Its quality.
        quality: Quality,
        /// The lowest member, if all notes lie within an octave: 0 for the root, 1 for the third, and so on.
        inversion: Option<u8>,
        /// The first note's degree.
        from: Degree,
        /// One join is displaced by octaves.
        folded: bool,
        /// The tones come in another order than they are stacked.
        broken: bool,
    },
    /// A chord in a spread position, in one direction.
    Voicing {
        /// Its root.
        root: PitchName,
        /// Its quality.
        quality: Quality,
        /// Which position.
        position: Position,
        /// The degrees in their order.
        degrees: Vec<Degree>,
    },
    /// Tones of a pentatonic scale.
    Pentatonic {
        /// The scale.
        scale: Scale,
        /// How many notes its groups have, if it goes in groups.
        groups: Option<u8>,
        /// It skips tones.
        skips: bool,
    },
    /// A cell that moves through a scale.
    Pattern {
        /// The scale.
        scale: Scale,
        /// What the cell is: its steps from one note to the next.
        cell: Vec<i8>,
        /// How many steps of the scale it moves.
        advance: i8,
    },
    /// Neighboring tones of a scale.
    Run {
        /// The scale.
        scale: Scale,
        /// It passes through half steps outside the scale.
        passing: bool,
    },
    /// Half steps: a run of them, or one or more that lead to the next note.
    Chromatic {
        /// What they lead to, if that is the next note.
        target: Option<Target>,
    },
    /// A note that leads to the next one by a step.
    Approach {
        /// The next note.
        target: Target,
    },
    /// A note above and one below the next one.
    Enclosure {
        /// The next note.
        target: Target,
    },
    /// Away from a note and back to it.
    Neighbor,
    /// The first note of a chord, which the line lands on.
    Landing(Landing),
    /// Nothing in particular; it isn't drawn.
    Loose,
}

impl Kind {
    /// What the kind is called.
    pub fn name(&self) -> &'static str {
        match self {
            Kind::Arpeggio { .. } => "arpeggio",
            Kind::Voicing { .. } => "voicing",
            Kind::Pentatonic { .. } => "pentatonic",
            Kind::Pattern { .. } => "pattern",
            Kind::Run { .. } => "run",
            Kind::Chromatic { .. } => "chromatic",
            Kind::Approach { .. } => "approach",
            Kind::Enclosure { .. } => "enclosure",
            Kind::Neighbor => "neighbor",
            Kind::Landing(_) => "landing",
            Kind::Loose => "loose",
        }
    }
}

/// A spread position of a chord.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[allow(missing_docs)]
pub enum Position {
    Shell,
    DropTwo,
    DropThree,
    DropTwoAndFour,
    Spread,
}

/// A group of notes with a name.
#[derive(Clone, PartialEq, Debug)]
pub struct Name {
    /// Its first and last note.
    pub notes: (NoteId, NoteId),
    /// When these start.
    pub places: (Onset, Onset),
    /// What it is.
    pub kind: Kind,
    /// Which way it goes.
    pub direction: Direction,
    /// What it costs, part by part.
    pub charges: Vec<Charge>,
}

impl Name {
    /// What it costs.
    pub fn cost(&self) -> u32 {
        self.charges.iter().map(|charge| charge.cost).sum()
    }
}

/// How a line reaches a new chord: by a step, on one of its tones or its ninth.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Landing {
    /// The first note of the new chord.
    pub note: NoteId,
    /// What the note before is over its own chord.
    pub from: Degree,
    /// What this note is over the new chord.
    pub to: Degree,
    /// By how many half steps it is reached, negative for down; 0 for the same note.
    pub half_steps: i8,
}
