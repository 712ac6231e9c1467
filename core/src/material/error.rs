//! Why material can't be made, and what would help.

use crate::bars::{BarsError, Place};
use crate::chord::{ChordError, Degree};
use crate::drill::Region;
use crate::hand::FingeringError;
use crate::line::LineError;
use crate::naming::{number as words, quoted};
use crate::neck::{StringNo, Strings};
use crate::pitch::Pitch;
use crate::scale::Scale;
use crate::time::{Duration, TimeError};

/// The error for a line that can't be made as asked.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MaterialError {
    /// A progression without a chord.
    #[error(
        "there are no chords: write some with their lengths in quarter notes, such as `Fm7:2 Bb7:2 Ebmaj7:4`"
    )]
    NoChords,
    /// A progression that is too long.
    #[error("there are too many chords: write at most {most}")]
    ManyChords {
        /// The most chords.
        most: usize,
    },
    /// Text that isn't a chord symbol.
    #[error("chord {number}: {error}")]
    NoChord {
        /// Which chord, from 1.
        number: usize,
        /// Why not.
        error: ChordError,
    },
    /// A symbol whose quality can't be read, in a progression.
    #[error("chord {number}, `{symbol}`: {error}")]
    Chord {
        /// Which chord, from 1.
        number: usize,
        /// The symbol.
        symbol: String,
        /// Why not.
        error: ChordError,
    },
    /// A symbol whose quality can't be read.
    #[error("`{symbol}`: {error}")]
    Quality {
        /// The symbol.
        symbol: String,
        /// Why not.
        error: ChordError,
    },
    /// A length that a chord can't have.
    #[error(
        "chord {number}: `{text}` is not a length for a chord: write a multiple of 1/2 up to 64 quarter notes, such as `2` or `3/2`"
    )]
    Length {
        /// Which chord, from 1.
        number: usize,
        /// The text that was read.
        text: String,
    },
    /// Chords that don't fill their bars.
    #[error(
        "the chords don't fill bars of {bar} quarter notes: make the last one longer, as in `{symbol}:{fills}`"
    )]
    Unfilled {
        /// The length of a bar.
        bar: Duration,
        /// The last chord.
        symbol: String,
        /// Its length if it filled the last bar.
        fills: Duration,
    },
    /// A pickup that isn't made of eighths.
    #[error(
        "eighths don't fill a pickup of {pickup} quarter notes: write a multiple of 1/2, such as `1/2` or `1`"
    )]
    Pickup {
        /// Its length.
        pickup: Duration,
    },
    /// More bars than a line is made of.
    #[error("this makes more than {bars} bars: ask for fewer copies or shorter chords")]
    Long {
        /// The most bars.
        bars: usize,
    },
    /// A chord that isn't made of tones of a scale.
    #[error("`{symbol}` is not a chord of {scale}: choose a scale that has its root and all its tones")]
    OutsideScale {
        /// The chord.
        symbol: String,
        /// The scale.
        scale: Scale,
    },
    /// A chord of two notes.
    #[error(
        "`{symbol}` has only two tones up to its seventh: write a chord with a third, such as `C` or `C7`"
    )]
    TwoNotes {
        /// The chord.
        symbol: String,
    },
    /// A scale without chords in thirds.
    #[error("{scale} has no chords in thirds: choose a scale of seven tones, such as major or melodic minor")]
    NoThirds {
        /// The scale.
        scale: Scale,
    },
    /// An inversion that a chord doesn't have.
    #[error("there is no inversion {inversion} of {chord}: write 0 (root position) to {highest}")]
    Inversion {
        /// The inversion asked for.
        inversion: u8,
        /// What kind of chord, with an article, or its symbol.
        chord: String,
        /// The highest inversion that there is.
        highest: usize,
    },
    /// A number of notes that a chord can't get.
    #[error("a chord can't get {notes} notes: write 1 to 64")]
    Notes {
        /// The number asked for.
        notes: u8,
    },
    /// An order that doesn't have each note once.
    #[error("`{text}` is not an order of {}: write each from 1 (the lowest) to {count} once, such as `{example}`", notes(*count))]
    Order {
        /// The text that was read.
        text: String,
        /// How many notes there are.
        count: usize,
        /// An order.
        example: String,
    },
    /// A shape that is none of those known.
    #[error(
        "`{text}` is not a shape: write a degree of the chord and a quality, such as `b3 maj7` or `1 m7`"
    )]
    Shape {
        /// The text that was read.
        text: String,
    },
    /// A shape with tones above its seventh.
    #[error(
        "`{text}` has tones above its seventh: write a triad or a seventh chord, such as `b3 maj7` or `1 m7`"
    )]
    TallShape {
        /// The text that was read.
        text: String,
    },
    /// No shape of a list is right over a chord.
    #[error(
        "none of the shapes listed has only tones of a scale over `{symbol}`: add one that does, such as `1 {quality}`"
    )]
    NoShape {
        /// The chord.
        symbol: String,
        /// Its own quality.
        quality: String,
    },
    /// Strings that the neck doesn't have.
    #[error("the neck has no {}: choose from strings {count} to 1", strings.spoken())]
    NoString {
        /// The strings asked for.
        strings: Strings,
        /// How many strings the neck has.
        count: u8,
    },
    /// Too few strings for a note on each.
    #[error("{chord} has {}, and {} can't take one each: choose {count} strings, such as `{example}`, or let several notes share a string",
        notes(*count), strings.spoken())]
    FewStrings {
        /// The chord.
        chord: String,
        /// How many notes it has.
        count: usize,
        /// The strings asked for.
        strings: Strings,
        /// Enough strings.
        example: Strings,
    },
    /// A chord that the strings have nowhere.
    #[error("{shape} doesn't fit{}: {}", on(*strings), lacking(*string, *fret))]
    NoRoom {
        /// What doesn't fit.
        shape: String,
        /// The strings asked for, if not all.
        strings: Option<Strings>,
        /// The string that lacks a fret.
        string: StringNo,
        /// The fret that is missing; negative for what is below the open string.
        fret: i32,
    },
    /// A chord that the strings have nowhere, whatever fret is missing.
    #[error("no shape for `{symbol}` fits{} up to fret {up_to}: {help}", on(*strings))]
    Nowhere {
        /// The chord.
        symbol: String,
        /// The strings asked for, if not all.
        strings: Option<Strings>,
        /// The highest fret asked for.
        up_to: u8,
        /// What would help.
        help: String,
    },
    /// No shape starts near enough to the last note.
    #[error("{}: nothing over `{symbol}` starts within {leap} of {from}; {help}", place.spoken())]
    NoJoint {
        /// Where the chord starts.
        place: Place,
        /// The chord.
        symbol: String,
        /// How far a joint may leap.
        leap: &'static str,
        /// The last note before.
        from: Pitch,
        /// What would help.
        help: String,
    },
    /// A position that a chord with so many notes can't have.
    #[error("`{symbol}` has {} up to its seventh, and {position} takes {}: {help}", notes(*has), notes(*takes))]
    Position {
        /// The chord.
        symbol: String,
        /// How many notes it has.
        has: usize,
        /// The position, with an article.
        position: &'static str,
        /// How many notes it takes.
        takes: usize,
        /// What would help.
        help: String,
    },
    /// A member that a chord doesn't have, or that a position can't have below the others.
    #[error("`{symbol}` can't have its {number} lowest in {position}: {help}")]
    Lowest {
        /// The chord.
        symbol: String,
        /// The number of the degree.
        number: u8,
        /// The position, with an article.
        position: &'static str,
        /// What would help.
        help: String,
    },
    /// A chord that is too short for a voicing.
    #[error("`{symbol}` is too short for {} in eighths: make it {needs} quarter notes or longer", notes(*count))]
    Short {
        /// The chord.
        symbol: String,
        /// How many notes the voicing has.
        count: usize,
        /// How long they last.
        needs: Duration,
    },
    /// A scale that doesn't have five tones.
    #[error("{scale} is not pentatonic: choose minor, major, minor 6 or major b6")]
    NotPentatonic {
        /// The scale.
        scale: Scale,
    },
    /// Text that isn't a pentatonic scale.
    #[error(
        "`{text}` is not a pentatonic scale: write a tonic and minor, major, minor 6 or major b6, such as `G minor 6`"
    )]
    Pentatonic {
        /// The text that was read.
        text: String,
    },
    /// Groups of a size that isn't made.
    #[error("there are no groups of {groups} notes: write 2 to 6")]
    Groups {
        /// The size asked for.
        groups: u8,
    },
    /// Groups that stay where they are, or move out of reach.
    #[error("groups can't move on by {advance} tones: write 1 to 6")]
    Advance {
        /// The number asked for.
        advance: u8,
    },
    /// So many notes on a string as nobody plays.
    #[error("a pentatonic scale can't be laid out with {per_string} notes per string: write 2 or 3")]
    PerString {
        /// The number asked for.
        per_string: u8,
    },
    /// Groups that are wider than the strings.
    #[error(
        "one group takes {takes} tones of the scale, and the strings have {has}: ask for smaller groups, more strings or higher frets"
    )]
    Narrow {
        /// How many tones a group takes.
        takes: usize,
        /// How many there are.
        has: usize,
    },
    /// A scale that has a tone which clashes with a chord.
    #[error("{scale} over `{symbol}` has the {degree}: {help}")]
    Clash {
        /// The scale.
        scale: Scale,
        /// The chord.
        symbol: String,
        /// The tone, as a degree of the chord.
        degree: Degree,
        /// What would help.
        help: String,
    },
    /// A chord that isn't a dominant with its third.
    #[error(
        "`{symbol}` doesn't have both a major third and a minor seventh: write one that does, such as `{instead}`"
    )]
    NotDominant {
        /// The chord.
        symbol: String,
        /// A dominant on its root.
        instead: String,
    },
    /// No chord at all, where one is needed.
    #[error("`NC` is not a chord to play over: write a symbol, such as `Ebmaj7`")]
    NoSymbol,
    /// A line without a change to land on.
    #[error(
        "the line has no change of chords with notes on both sides: write two chords or more, such as `@G7 ... @Cmaj7 ...`"
    )]
    NoChange,
    /// A place where no chord starts.
    #[error("{}: no chord change here; the chords change at {changes}", place.spoken())]
    NotAChange {
        /// The place asked for.
        place: Place,
        /// The places of the changes.
        changes: String,
    },
    /// A list of targets without one, or with too many.
    #[error("the targets are degrees in their order of preference, up to five: write some, such as `3 7 9`")]
    Targets,
    /// A number of notes to change that isn't tried.
    #[error("{most} notes can't be changed at once: write 1 to 3")]
    Changes {
        /// The number asked for.
        most: u8,
    },
    /// A change that the line can't land on as asked.
    #[error("{}: no way to land on the {targets} of `{symbol}` {side}with {} changed; {help}", place.spoken(), notes(usize::from(*changed)))]
    NoLanding {
        /// Where the chord starts.
        place: Place,
        /// The chord.
        symbol: String,
        /// The targets.
        targets: String,
        /// From which side, if that was asked; with a space at its end.
        side: &'static str,
        /// The most notes that may change.
        changed: u8,
        /// What would help.
        help: String,
    },
    /// Notes that don't make a line.
    #[error(transparent)]
    Line(#[from] LineError),
    /// A line that can't be fingered.
    #[error(transparent)]
    Fingering(#[from] FingeringError),
}

impl MaterialError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            MaterialError::NoChords
            | MaterialError::ManyChords { .. }
            | MaterialError::NoChord { .. }
            | MaterialError::Chord { .. }
            | MaterialError::Quality { .. }
            | MaterialError::TwoNotes { .. }
            | MaterialError::NoSymbol => "chord",
            MaterialError::Length { .. } | MaterialError::Unfilled { .. } | MaterialError::Short { .. } => {
                "chord-length"
            }
            MaterialError::Pickup { .. } => "pickup",
            MaterialError::Long { .. } => "too-long",
            MaterialError::OutsideScale { .. } | MaterialError::NoThirds { .. } => "scale",
            MaterialError::Inversion { .. } | MaterialError::Lowest { .. } => "inversion",
            MaterialError::Notes { .. } => "notes",
            MaterialError::Order { .. } => "note-order",
            MaterialError::Shape { .. } | MaterialError::TallShape { .. } | MaterialError::NoShape { .. } => {
                "shape"
            }
            MaterialError::NoString { .. } | MaterialError::FewStrings { .. } => "strings",
            MaterialError::NoRoom { .. } | MaterialError::Nowhere { .. } | MaterialError::Narrow { .. } => {
                "no-room"
            }
            MaterialError::NoJoint { .. } => "no-joint",
            MaterialError::Position { .. } => "voicing",
            MaterialError::NotPentatonic { .. } | MaterialError::Pentatonic { .. } => "pentatonic",
            MaterialError::Groups { .. } | MaterialError::Advance { .. } => "groups",
            MaterialError::PerString { .. } => "per-string",
            MaterialError::Clash { .. } => "clash",
            MaterialError::NotDominant { .. } => "not-dominant",
            MaterialError::NoChange | MaterialError::NotAChange { .. } => "no-change",
            MaterialError::Targets | MaterialError::Changes { .. } => "targets",
            MaterialError::NoLanding { .. } => "no-landing",
            MaterialError::Line(error) => error.code(),
            MaterialError::Fingering(error) => error.code(),
        }
    }

    pub(super) fn nowhere(symbol: String, region: &Region, help: String) -> MaterialError {
        MaterialError::Nowhere { symbol, strings: region.strings, up_to: region.up_to.0, help }
    }

    pub(super) fn order(text: &str, count: usize) -> MaterialError {
        let example = (1..=count).rev().map(|note| note.to_string()).collect();
        MaterialError::Order { text: quoted(text), count, example }
    }
}

/// So many notes, in words.
pub(super) fn notes(count: usize) -> String {
    let number = words(i64::try_from(count).unwrap_or(0));
    format!("{number} note{}", if count == 1 { "" } else { "s" })
}

fn on(strings: Option<Strings>) -> String {
    strings.map(|strings| format!(" on {}", strings.spoken())).unwrap_or_default()
}

/// The fret that a string doesn't have, and what would help.
fn lacking(string: StringNo, fret: i32) -> String {
    match fret {
        0.. => {
            format!("it would need fret {fret} on string {}; allow higher frets, or other strings", string.0)
        }
        _ => {
            let below = if fret == -1 { "half step" } else { "half steps" };
            format!("it would go {} {below} below string {}; allow lower strings", fret.abs(), string.0)
        }
    }
}

impl From<BarsError> for MaterialError {
    fn from(error: BarsError) -> MaterialError {
        MaterialError::Line(error.into())
    }
}

impl From<TimeError> for MaterialError {
    fn from(error: TimeError) -> MaterialError {
        MaterialError::Line(error.into())
    }
}

pub(super) type Result<T> = std::result::Result<T, MaterialError>;
