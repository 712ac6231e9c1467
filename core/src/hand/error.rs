//! Why a line can't be played on its neck as asked, and where.

use crate::bars::{BarsError, Place};
use crate::naming::all_of;
use crate::neck::{Fret, Position, StringNo, Strings, Stroke};
use crate::pitch::{MidiKey, Pitch, beyond};
use crate::technique::Constraint;
use crate::time::TimeError;

/// A line that its neck and its player can't play.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FingeringError {
    /// A note that the neck doesn't have.
    #[error("{}: {pitch} is not on this neck, which goes from {lowest} to {highest}{}", place.spoken(), beyond(*pitch, *lowest, *highest))]
    OffNeck {
        /// Where the note starts.
        place: Place,
        /// The note.
        pitch: Pitch,
        /// The lowest open string.
        lowest: MidiKey,
        /// The highest fret of the highest string.
        highest: MidiKey,
    },
    /// A passage that a position can't hold.
    #[error("position {position} can't hold {}{}", unreached(missing), instead(possible))]
    Position {
        /// The position.
        position: Position,
        /// The notes that it doesn't reach, and where they start.
        missing: Vec<(Place, Pitch)>,
        /// The positions that reach every note of the passage.
        possible: Vec<Position>,
    },
    /// Things asked of where a note is fretted that can't all hold.
    #[error("{}: {pitch} can't be played {}; {pitch} is {}", place.spoken(), together(wants), at(could))]
    Conflict {
        /// Where the note starts.
        place: Place,
        /// The note.
        pitch: Pitch,
        /// As few as can't hold together: one that the neck doesn't have, or two or three.
        wants: Vec<Constraint>,
        /// Where the neck has the note.
        could: Vec<(StringNo, Fret)>,
    },
    /// Things asked of a note that can't all hold.
    #[error("{}: {pitch} can't be played {}", place.spoken(), together(wants))]
    Pin {
        /// Where the note starts.
        place: Place,
        /// The note.
        pitch: Pitch,
        /// As few as can't hold together: one that the neck doesn't have, or two or three.
        wants: Vec<Constraint>,
    },
    /// A note that the note before leads into has no stroke of its own.
    #[error("{}: the note before leads into {pitch}, so it has no {} stroke of its own", place.spoken(), stroke.name())]
    LedStroke {
        /// Where the note starts.
        place: Place,
        /// The note.
        pitch: Pitch,
        /// The stroke asked for.
        stroke: Stroke,
    },
    /// A slur or a slide between two notes that are asked for on different strings.
    #[error(
        "{}: the note before leads into {pitch} along one string, but {pitch} is set on {} and the note before on {}",
        place.spoken(), strings[1].spoken(), strings[0].spoken()
    )]
    Apart {
        /// Where the second note starts.
        place: Place,
        /// The second note.
        pitch: Pitch,
        /// The strings of both.
        strings: [Strings; 2],
    },
    /// A place or a time that there is not.
    #[error(transparent)]
    Bars(#[from] BarsError),
}

impl FingeringError {
    /// A short name that stays the same when the words change.
    pub fn code(&self) -> &'static str {
        match self {
            FingeringError::OffNeck { .. } => "off-neck",
            FingeringError::Position { .. } => "position",
            FingeringError::Pin { .. } | FingeringError::Conflict { .. } => "pin",
            FingeringError::LedStroke { .. } => "led-stroke",
            FingeringError::Apart { .. } => "apart",
            FingeringError::Bars(error) => error.code(),
        }
    }
}

impl From<TimeError> for FingeringError {
    fn from(error: TimeError) -> FingeringError {
        FingeringError::Bars(error.into())
    }
}

pub(super) type Result<T> = std::result::Result<T, FingeringError>;

/// The most notes that a message lists.
const LISTED: usize = 6;

/// Notes with their places: `E6 (bar 1 beat 2) and C3 (bar 2, the and of 1)`.
fn unreached(missing: &[(Place, Pitch)]) -> String {
    let named = |(place, pitch): &(Place, Pitch)| format!("{pitch} ({})", place.spoken());
    let more = missing.len().saturating_sub(LISTED);
    let more = (more > 0).then(|| format!("{more} more"));
    all_of(missing.iter().take(LISTED).map(named).chain(more))
}

/// What could be asked instead of a position, as the end of a sentence.
fn instead(possible: &[Position]) -> String {
    let runs = possible.chunk_by(|a, b| a.0 + 1 == b.0).map(|run| match run {
        [first, _, .., last] => format!("{first} to {last}"),
        _ => all_of(run),
    });
    match possible {
        [] => "; no position holds all of this passage, so set one for a shorter passage".into(),
        [only] => format!("; position {only} can"),
        _ => format!("; positions {} can", all_of(runs)),
    }
}

/// Where a note is: `at string 2 fret 3 and string 3 fret 7`.
fn at(places: &[(StringNo, Fret)]) -> String {
    let place = |(string, fret): &(StringNo, Fret)| match fret.0 {
        0 => format!("string {} open", string.0),
        fret => format!("string {} fret {fret}", string.0),
    };
    format!("at {}", all_of(places.iter().map(place)))
}

/// Wants that can't hold, as the end of a sentence.
fn together(wants: &[Constraint]) -> String {
    let said = |want: &Constraint| match want {
        Constraint::String(_) => format!("on {want}"),
        Constraint::Strings(strings) => format!("on {}", strings.spoken()),
        Constraint::Fret(_) => format!("at {want}"),
        Constraint::Frets(..) => format!("on {want}"),
        Constraint::Position(position) => format!("in position {}", Position(*position)),
        Constraint::Finger(_) | Constraint::Stroke(_) | Constraint::Picking(_) | Constraint::Slurs => {
            format!("with {want}")
        }
    };
    let said: Vec<String> = wants.iter().map(said).collect();
    match said.as_slice() {
        [only] => only.clone(),
        _ => format!("{} together", said.join(" and ")),
    }
}
