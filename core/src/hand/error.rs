//! Why a line can't be played on its neck as asked, and where.

use crate::bars::{BarsError, Place};
use crate::neck::{Position, Strings, Stroke};
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
        place.spoken(), on(strings[1]), on(strings[0])
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
            FingeringError::Pin { .. } => "pin",
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

/// Some strings in words.
fn on(strings: Strings) -> String {
    format!("string{} {strings}", if strings.iter().count() == 1 { "" } else { "s" })
}

/// Wants that can't hold, as the end of a sentence.
fn together(wants: &[Constraint]) -> String {
    let said = |want: &Constraint| match want {
        Constraint::String(_) | Constraint::Strings(_) => format!("on {want}"),
        Constraint::Fret(_) => format!("at {want}"),
        Constraint::Frets(..) => format!("on {want}"),
        Constraint::Position(position) => format!("in position {}", Position(*position)),
        Constraint::Finger(_) | Constraint::Stroke(_) | Constraint::Slurs => format!("with {want}"),
    };
    let said: Vec<String> = wants.iter().map(said).collect();
    match said.as_slice() {
        [only] => only.clone(),
        _ => format!("{} together", said.join(" and ")),
    }
}
