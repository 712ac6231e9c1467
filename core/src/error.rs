//! [`Error`] gathers the errors of all modules except `material` and `advise`. Each module has its own error type, which says what went
//! wrong and what is allowed. Those two are left out so that a program that only draws has no code for them.

use crate::bars::BarsError;
use crate::chord::ChordError;
use crate::drill::DrillError;
use crate::geometry::WidthError;
use crate::hand::FingeringError;
use crate::key::KeyError;
use crate::line::{HeadingError, LineError};
use crate::listen::LatencyError;
use crate::meter::MeterError;
use crate::naming::UnknownName;
use crate::neck::NeckError;
use crate::notate::NotateError;
use crate::perform::{MetronomeError, PaceError, PerformError};
use crate::pitch::PitchError;
use crate::recast::{FigureError, RecastError};
use crate::scale::ScaleError;
use crate::technique::TechniqueError;
use crate::time::{ParseTimeError, TimeError};

/// The result type of the outer stages.
pub type Result<T, E = Error> = std::result::Result<T, E>;

/// Anything that can go wrong once the text has been read. Reading itself reports
/// [`Diagnostic`](crate::read::Diagnostic)s instead.
///
/// ```
/// use halfbar_core::Error;
/// use halfbar_core::meter::Meter;
///
/// let error: Error = "11/9".parse::<Meter>().unwrap_err().into();
/// assert_eq!(error.code(), "meter");
/// ```
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error(transparent)]
#[non_exhaustive]
#[allow(missing_docs, reason = "each variant wraps the error of the module it is named after")]
pub enum Error {
    Time(#[from] TimeError),
    ParseTime(#[from] ParseTimeError),
    Name(#[from] UnknownName),
    Meter(#[from] MeterError),
    Pitch(#[from] PitchError),
    Key(#[from] KeyError),
    Scale(#[from] ScaleError),
    Chord(#[from] ChordError),
    Neck(#[from] NeckError),
    Technique(#[from] TechniqueError),
    Bars(#[from] BarsError),
    Heading(#[from] HeadingError),
    Line(#[from] LineError),
    Figure(#[from] FigureError),
    Recast(#[from] RecastError),
    Notate(#[from] NotateError),
    Perform(#[from] PerformError),
    Metronome(#[from] MetronomeError),
    Pace(#[from] PaceError),
    Fingering(#[from] FingeringError),
    Latency(#[from] LatencyError),
    Drill(#[from] DrillError),
    Width(#[from] WidthError),
}

impl Error {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            Error::Time(_) => "time",
            Error::ParseTime(_) => "length",
            Error::Name(_) => "name",
            Error::Meter(MeterError::Unknown) => "meter",
            Error::Meter(MeterError::Groups { .. }) => "groups",
            Error::Pitch(_) => "pitch",
            Error::Key(_) => "key",
            Error::Scale(ScaleError::Unknown { .. }) => "scale",
            Error::Scale(ScaleError::Spelling { .. }) => "scale-spelling",
            Error::Chord(_) => "chord",
            Error::Neck(NeckError::Tuning | NeckError::OpenString(_)) => "tuning",
            Error::Neck(NeckError::Size) => "neck",
            Error::Neck(NeckError::Position { .. }) => "position",
            Error::Neck(NeckError::Strings { .. }) => "strings",
            Error::Technique(TechniqueError::Picking { .. }) => "picking",
            Error::Technique(TechniqueError::Pin { .. }) => "pin-form",
            Error::Technique(TechniqueError::Constraint { .. }) => "hand-want",
            Error::Bars(error) => error.code(),
            Error::Heading(error) => error.code(),
            Error::Line(error) => error.code(),
            Error::Figure(_) => "figure-lengths",
            Error::Recast(error) => error.code(),
            Error::Notate(error) => error.code(),
            Error::Perform(error) => error.code(),
            Error::Metronome(_) => "metronome",
            Error::Pace(_) => "pace",
            Error::Fingering(error) => error.code(),
            Error::Latency(error) => error.code(),
            Error::Drill(error) => error.code(),
            Error::Width(_) => "width",
        }
    }
}
