//! One error type for every stage. Each variant says where, and what is allowed.

use crate::bars::Place;
use crate::listen::{LEAST_TAPS, MOST_SPREAD_MS};
use crate::meter::Meter;
use crate::neck::{Neck, Strings, Stroke, Tuning};
use crate::perform::LONGEST_MINUTES;
use crate::pitch::{MidiKey, Pitch};
use crate::recast::Refusal;
use crate::scale::ScaleKind;
use crate::technique::Constraint;
use crate::time::Duration;

/// What every stage returns.
pub type Result<T> = std::result::Result<T, Error>;

/// What can go wrong after the text has been read. (Reading itself gives [`Diagnostic`](crate::read::Diagnostic)s.)
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A fraction of time that can't be held.
    #[error("a time out of reach: numerators and denominators have to fit 63 bits")]
    Time,
    /// A time signature that can't be written.
    #[error("not a meter that can be written; the meters are {}", Meter::allowed())]
    Meter,
    /// Groups that don't make up their meter.
    #[error("the groups of a {meter} bar add up to {}, such as `{meter} {}`", meter.count(), grouping(*meter))]
    Groups {
        /// The meter, with its usual groups.
        meter: Meter,
    },
    /// A pickup that is no part of a bar.
    #[error(
        "a pickup is a length shorter than a {meter} bar, which holds {} quarter notes; one that starts inside a tuplet starts with the \
         tuplet's rests",
        meter.bar()
    )]
    Pickup {
        /// The meter of the line's start.
        meter: Meter,
    },
    /// A place that the line doesn't have.
    #[error("there is no {place}: bars count from {first}, and beats go from 1 to {beats}")]
    Place {
        /// What was asked for.
        place: Place,
        /// How many beats a bar has.
        beats: u8,
        /// The number of the first bar: 0 with a pickup, else 1.
        first: usize,
    },
    /// No pitch or pitch name.
    #[error("`{text}` is not a pitch: a letter A to G, perhaps #, b, ## or bb, and an octave 0 to 9")]
    Pitch {
        /// What was read.
        text: String,
    },
    /// No key with at most seven sharps or flats.
    #[error("`{text}` is not a key: write a tonic, and `major` or `minor`, such as `Eb` or `C minor`")]
    Key {
        /// What was read.
        text: String,
    },
    /// No chord symbol.
    #[error(
        "`{text}` is not a chord: write a root, a quality and perhaps a bass, such as `Fm7` or `Bb7alt/D`"
    )]
    Chord {
        /// What was read.
        text: String,
    },
    /// No tuning.
    #[error(
        "not a tuning: write {}, or 4 to 8 open strings from the lowest, such as `E2 A2 D3 G3 B3 E4`",
        Tuning::names()
    )]
    Tuning,
    /// No size of a neck.
    #[error(
        "not a neck: write `24 frets, 628 mm, capo 2`, each part as wanted; allowed are {}",
        Neck::allowed()
    )]
    Neck,
    /// Events that don't fill whole bars.
    #[error("the notes and rests do not fill bars of {bar} quarter notes")]
    Bars {
        /// A bar's length.
        bar: Duration,
    },
    /// A window that can't be recast.
    #[error("{place}: {why}")]
    Window {
        /// Where the window starts.
        place: Place,
        /// Why not, in a musician's words.
        why: Refusal,
    },
    /// A rhythm that no note values, dots, ties and tuplets write.
    #[error("{place}: this rhythm can't be written with notes down to 64ths and tuplets of 3, 5, 6 and 7")]
    Unwritable {
        /// The bar, and the beat where it starts.
        place: Place,
    },
    /// A note that the neck doesn't have.
    #[error("{place}: {pitch} is not on this neck, which goes from {lowest} to {highest}{}", beyond(*pitch, *lowest, *highest))]
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
    /// Things settled for a note that can't all hold.
    #[error("{place}: {pitch} can't be played {}", together(wants))]
    Pin {
        /// Where the note starts.
        place: Place,
        /// The note.
        pitch: Pitch,
        /// As few as can't hold together: one that the neck doesn't have, or two or three.
        wants: Vec<Constraint>,
    },
    /// A note that is led into has no stroke of its own.
    #[error("{place}: {pitch} is led into by the note before, and so has no {} stroke", stroke.name())]
    LedStroke {
        /// Where the note starts.
        place: Place,
        /// The note.
        pitch: Pitch,
        /// The stroke asked for.
        stroke: Stroke,
    },
    /// A slur or a slide between two notes that are settled on different strings.
    #[error("{place}: {pitch} is led into along a string, and is settled on {}, the note before on {}", on(strings[1]), on(strings[0]))]
    Apart {
        /// Where the second note starts.
        place: Place,
        /// The second note.
        pitch: Pitch,
        /// The strings of both.
        strings: [Strings; 2],
    },
    /// No scale.
    #[error("`{text}` is not a scale: write a tonic, such as `Eb`, and one of {}", ScaleKind::allowed())]
    Scale {
        /// What was read.
        text: String,
    },
    /// A scale on a tonic where a letter would carry three signs.
    #[error("`{scale}` can't be spelled with double sharps or double flats; write `{instead}`")]
    ScaleSpelling {
        /// The scale.
        scale: String,
        /// The same sounds on a tonic with fewer signs.
        instead: String,
    },
    /// A stretch that holds no shape.
    #[error("{place}: there is no note in this stretch, so there is no shape to move")]
    Silent {
        /// Where the stretch starts.
        place: Place,
    },
    /// A copy that is too wide for the neck, or lies across its end in every octave.
    #[error(
        "{place}: the copy that starts here goes beyond {lowest} to {highest}{} in every octave; in the first one tried, {pitch} does",
        strings.map(|strings| format!(" on strings {strings}")).unwrap_or_default()
    )]
    NoOctave {
        /// Where the copy starts.
        place: Place,
        /// The first of its notes that is out of range before any move by octaves.
        pitch: Pitch,
        /// The lowest key.
        lowest: MidiKey,
        /// The highest key.
        highest: MidiKey,
        /// The strings that may be used, if not all.
        strings: Option<Strings>,
    },
    /// A take without end, or without anything.
    #[error(
        "a take lasts longer than nothing, and at most {LONGEST_MINUTES} minutes with its count-in and repeats"
    )]
    Take,
    /// Too few taps to measure a latency by.
    #[error(
        "{taps} taps on a steady click can't tell the latency: tap at least {LEAST_TAPS} times, each near a click"
    )]
    FewTaps {
        /// How many fell on a click of their own.
        taps: usize,
    },
    /// Taps that don't go with their clicks.
    #[error(
        "the taps are {spread_ms} ms off their usual place; up to {MOST_SPREAD_MS} ms tell the latency: tap more evenly, with the click"
    )]
    UnsteadyTaps {
        /// How far they scatter, in milliseconds, as a standard deviation.
        spread_ms: u32,
    },
}

/// The groups of a meter, as they are written.
fn grouping(meter: Meter) -> String {
    let groups: Vec<_> = meter.groups().map(|group| group.to_string()).collect();
    groups.join("+")
}

/// How far a pitch lies beyond a range, as the end of a sentence.
pub(crate) fn beyond(pitch: Pitch, lowest: MidiKey, highest: MidiKey) -> String {
    let half_steps =
        |by: u8, way: &str| format!(": {by} half step{} too {way}", if by == 1 { "" } else { "s" });
    match pitch.midi() {
        Some(key) if key < lowest => half_steps(lowest.0 - key.0, "low"),
        Some(key) if key > highest => half_steps(key.0 - highest.0, "high"),
        // Between, where strings leave a gap; or beyond what any instrument of MIDI has.
        _ => String::new(),
    }
}

/// Some strings in words.
fn on(strings: Strings) -> String {
    format!("string{} {strings}", if strings.iter().count() == 1 { "" } else { "s" })
}

/// Wants that can't hold, as the end of a sentence.
fn together(wants: &[Constraint]) -> String {
    let said = |want: &Constraint| match want {
        Constraint::String(_) | Constraint::Strings(_) => format!("on {want}"),
        Constraint::Fret(_) => format!("at {want}"),
        Constraint::Position(_) => format!("in {want}"),
        Constraint::Finger(_) | Constraint::Stroke(_) | Constraint::Slurs => format!("with {want}"),
    };
    let said: Vec<String> = wants.iter().map(said).collect();
    match said.as_slice() {
        [only] => only.clone(),
        _ => format!("{} together", said.join(" and ")),
    }
}

impl Error {
    /// A short name that stays the same when the words change.
    pub fn code(&self) -> &'static str {
        match self {
            Error::Time => "time",
            Error::Meter => "meter",
            Error::Groups { .. } => "groups",
            Error::Pickup { .. } => "pickup",
            Error::Place { .. } => "place",
            Error::Pitch { .. } => "pitch",
            Error::Key { .. } => "key",
            Error::Chord { .. } => "chord",
            Error::Tuning => "tuning",
            Error::Neck => "neck",
            Error::Bars { .. } => "bars",
            Error::Window { .. } => "window",
            Error::Unwritable { .. } => "unwritable",
            Error::OffNeck { .. } => "off-neck",
            Error::Pin { .. } => "pin",
            Error::LedStroke { .. } => "led-stroke",
            Error::Apart { .. } => "apart",
            Error::Scale { .. } => "scale",
            Error::ScaleSpelling { .. } => "scale-spelling",
            Error::Silent { .. } => "silent",
            Error::NoOctave { .. } => "no-octave",
            Error::Take => "take",
            Error::FewTaps { .. } => "few-taps",
            Error::UnsteadyTaps { .. } => "unsteady-taps",
        }
    }
}
