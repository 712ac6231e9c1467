//! The line: a monophonic melody that fills its bars, with chords above it.

use std::fmt;
use std::str::FromStr;

use crate::bars::{Bars, BarsError};
use crate::chord::ChordSymbol;
use crate::naming::{by_name, quoted};
use crate::neck::Neck;
use crate::order;
use crate::pitch::Pitch;
use crate::technique::{Constraint, ConstraintSpan, FingeringStyle, Picking, Pin};
use crate::time::{Duration, Onset, Span, TimeError};

/// The error for notes that don't make a line.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LineError {
    /// Events that don't fill whole bars.
    #[error("the notes and rests don't fill whole bars of {bar} quarter notes")]
    Unfilled {
        /// The length of a bar.
        bar: Duration,
    },
    /// A note or rest that the line doesn't have.
    #[error("there is no note {index}: notes and rests count from 0, and the line has {events}")]
    NoEvent {
        /// The id asked for.
        index: usize,
        /// The number of events.
        events: usize,
    },
    /// What a passage can't be called.
    #[error("words for a passage are one row of 1 to {allowed} characters")]
    Words {
        /// The most characters.
        allowed: u8,
    },
    /// A place or time that the line doesn't have.
    #[error(transparent)]
    Bars(#[from] BarsError),
}

impl LineError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            LineError::Unfilled { .. } => "bars",
            LineError::NoEvent { .. } => "note",
            LineError::Words { .. } => "call-words",
            LineError::Bars(error) => error.code(),
        }
    }
}

impl From<TimeError> for LineError {
    fn from(error: TimeError) -> LineError {
        LineError::Bars(error.into())
    }
}

/// The error for a heading value that can't be read.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum HeadingError {
    /// Text that isn't a tempo.
    #[error("`{text}` is not a tempo: write quarter notes per minute, {} to {}", Tempo::RANGE.0, Tempo::RANGE.1)]
    Tempo {
        /// The text that was read.
        text: String,
    },
    /// Text that isn't a feel.
    #[error(
        "`{text}` is not a feel: write `straight`, `swing auto`, or `swing` and a ratio from 1 to 3.5, such as `swing 1.6`"
    )]
    Feel {
        /// The text that was read.
        text: String,
    },
    /// Text that isn't a swing ratio.
    #[error("`{text}` is not a swing ratio: write a number from 1 (straight) to 3.5, such as `1.6`")]
    Swing {
        /// The text that was read.
        text: String,
    },
    /// Text that doesn't say where systems break.
    #[error(
        "`{text}` does not say where systems break: write how many bars a system has, or which bars start one, such as `4` or `4 at 5, 9`"
    )]
    Systems {
        /// The text that was read.
        text: String,
    },
}

impl HeadingError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            HeadingError::Tempo { .. } => "tempo",
            HeadingError::Feel { .. } | HeadingError::Swing { .. } => "feel",
            HeadingError::Systems { .. } => "systems",
        }
    }
}

type Result<T> = std::result::Result<T, LineError>;

/// Identifies one event of a line from reading to the last output. Ids count from 0 in order of time.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct NoteId(pub u32);

/// A tempo in quarter notes per minute, 30 to 320.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Tempo(u16);

/// How plain eighth notes are played.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Feel {
    /// As written.
    Straight,
    /// Long-short, with a ratio that follows the tempo.
    SwingAuto,
    /// Long-short, with this ratio.
    Swing(SwingRatio),
}

/// The ratio of the long eighth to the short one, from 1 to 3.5, exact to a hundredth.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct SwingRatio {
    hundredths: u16,
}

/// A note or rest at its place in time.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Event {
    /// Its identity through all stages.
    pub id: NoteId,
    /// When it starts, from the start of the line.
    pub onset: Onset,
    /// How long it sounds or rests; a note tied over a bar line is one event.
    pub duration: Duration,
    /// The pitch; `None` for a rest.
    pub pitch: Option<Pitch>,
    /// What the player has fixed for it.
    pub pin: Pin,
    /// How it connects to the next note, if not with a pick stroke.
    pub legato: Option<Legato>,
    /// A grace note right before it, which takes up no time.
    pub grace: Option<Pitch>,
    /// Whether it is accented.
    pub accent: bool,
}

/// How a note connects to the next one, which the pick doesn't strike.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Legato {
    /// A hammer-on or pull-off.
    Slur,
    /// A slide along the string.
    Slide,
}

/// A chord symbol and when it starts. It lasts until the next one.
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
pub struct ChordAt {
    /// When it starts, from the start of the line.
    pub onset: Onset,
    /// The symbol.
    pub symbol: ChordSymbol,
}

/// The heading of a line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Heading {
    /// The title; empty if there is none.
    pub title: String,
    /// The tempo.
    pub tempo: Tempo,
    /// How eighth notes are played.
    pub feel: Feel,
    /// The neck it is played on.
    pub neck: Neck,
    /// What the fretting hand prefers.
    pub style: FingeringStyle,
    /// How it is picked.
    pub picking: Picking,
    /// Where systems break.
    pub systems: SystemBreaks,
    /// Whether the names of what is in the line are shown.
    pub names: bool,
    /// Whether the degrees of its notes are shown.
    pub degrees: Degrees,
}

/// Whether a row under each system has the degree of every note over its chord.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum Degrees {
    /// There is no such row.
    #[default]
    No,
    /// There is one, above the row of fingers if there is one of these.
    Yes,
    /// There is one, and fingers are left out even where they are asked for.
    InsteadOfFingers,
}

/// Where the writer wants systems to break. Elsewhere, the width of the page decides.
#[derive(Clone, PartialEq, Eq, Debug, Default, Hash)]
pub struct SystemBreaks {
    /// The number of bars per system, where they fit.
    pub every: Option<u16>,
    /// The numbers of bars that start a system, in order.
    pub at: Vec<u16>,
}

/// A line: its heading, and events that follow one another without gaps and fill its bars. After a pickup,
/// the last bar may be short by the length of the pickup.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    heading: Heading,
    bars: Bars,
    events: Vec<Event>,
    chords: Vec<ChordAt>,
    holds: Vec<ConstraintSpan>,
    calls: Vec<Call>,
}

/// What the writer calls a passage, instead of whatever else its notes could be named.
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
pub struct Call {
    span: Span,
    words: String,
}

impl Call {
    /// The most characters of its words.
    pub const LONGEST: u8 = 100;

    /// What a passage is called. It covers the notes that start in it. White space around the words doesn't count.
    ///
    /// ```
    /// use halfbar_core::line::Call;
    /// use halfbar_core::time::{Onset, Span};
    ///
    /// let span = Span::new(Onset::ZERO, Onset::at(2, 1)).expect("a half-bar");
    /// assert_eq!(Call::new(span, " Am7 ")?.words(), "Am7");
    /// let error = Call::new(span, "two\nrows").unwrap_err();
    /// assert_eq!(error.to_string(), "words for a passage are one row of 1 to 100 characters");
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`LineError::Words`] without words, with more than [`Call::LONGEST`] characters, or more than a row.
    pub fn new(span: Span, words: &str) -> Result<Call> {
        let words = words.trim();
        let length = words.chars().count();
        match (1..=Call::LONGEST.into()).contains(&length) && words.chars().all(|letter| letter != '\n') {
            true => Ok(Call { span, words: words.into() }),
            false => Err(LineError::Words { allowed: Call::LONGEST }),
        }
    }

    /// The passage.
    pub fn span(&self) -> Span {
        self.span
    }

    /// The words.
    pub fn words(&self) -> &str {
        &self.words
    }
}

/// A note or rest that has no time or id yet.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Part {
    /// How long it lasts.
    pub duration: Duration,
    /// The pitch; `None` for a rest.
    pub pitch: Option<Pitch>,
    /// What the player has fixed for it.
    pub pin: Pin,
    /// How it connects to the next note; dropped before a rest or the same pitch.
    pub legato: Option<Legato>,
    /// A grace note right before it, which takes up no time.
    pub grace: Option<Pitch>,
}

impl Part {
    /// A rest of this length.
    pub fn rest(duration: Duration) -> Part {
        Part { duration, pitch: None, pin: Pin::default(), legato: None, grace: None }
    }
}

impl Line {
    /// A line of these parts, one after another. Chords are sorted by time.
    ///
    /// # Errors
    /// [`LineError::Unfilled`] if there are no parts, one has no length, or they don't fill whole bars;
    /// [`LineError::Bars`] if their sum is out of range.
    pub fn new(
        heading: Heading,
        bars: Bars,
        parts: impl IntoIterator<Item = Part>,
        mut chords: Vec<ChordAt>,
    ) -> Result<Line> {
        let (mut onset, mut events) = (Onset::ZERO, Vec::new());
        for (id, Part { duration, pitch, pin, legato, grace }) in (0u32..).zip(parts) {
            if duration <= Duration::ZERO {
                return Err(LineError::Unfilled { bar: bars.meter(0).bar() });
            }
            events.push(Event { id: NoteId(id), onset, duration, pitch, pin, legato, grace, accent: false });
            onset = onset.checked_add(duration)?;
        }
        settle_joins(&mut events);
        let (last, over) = bars.split(onset)?;
        let bar = bars.meter(last).bar();
        if events.is_empty() || (over != Duration::ZERO && over != bar.checked_sub(bars.pickup())?) {
            return Err(LineError::Unfilled { bar });
        }
        order::sort(&mut chords, |chord| chord.onset);
        Ok(Line { heading, bars, events, chords, holds: Vec::new(), calls: Vec::new() })
    }

    /// This line with constraints on passages of it.
    pub fn with_constraints(self, holds: Vec<ConstraintSpan>) -> Line {
        Line { holds, ..self }
    }

    /// This line with passages called something. They are sorted by time, and one that overlaps an earlier one is left out.
    pub fn with_calls(self, mut calls: Vec<Call>) -> Line {
        order::sort(&mut calls, |call| call.span.start());
        let mut end = Onset::ZERO;
        calls.retain(|call| {
            let is_clear = call.span.start() >= end;
            end = if is_clear { call.span.end() } else { end };
            is_clear
        });
        Line { calls, ..self }
    }

    /// This line with one more passage called something, in place of whatever it overlaps.
    ///
    /// ```
    /// use halfbar_core::line::Call;
    /// use halfbar_core::read;
    /// use halfbar_core::time::{Onset, Span};
    ///
    /// let line = read::text("call: C6 at 1.1 to 1.3\nE3 G A C  B A G F |").line.expect("a full bar");
    /// let span = Span::new(Onset::ZERO, Onset::at(2, 1)).expect("a half-bar");
    /// let line = line.with_call(Call::new(span, "Am7")?);
    /// assert_eq!(line.calls().len(), 1);
    /// assert_eq!(line.calls()[0].words(), "Am7");
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn with_call(mut self, call: Call) -> Line {
        self.calls.retain(|other| !other.span.overlaps(call.span));
        order::insert(&mut self.calls, call, |call| call.span.start());
        self
    }

    /// This line with another heading.
    pub fn with_heading(self, heading: Heading) -> Line {
        Line { heading, ..self }
    }

    /// Its heading.
    pub fn heading(&self) -> &Heading {
        &self.heading
    }

    /// What the writer calls passages of it, in order of time. No two overlap.
    pub fn calls(&self) -> &[Call] {
        &self.calls
    }

    /// Its bars.
    pub fn bars(&self) -> &Bars {
        &self.bars
    }

    /// Its notes and rests in order of time, each starting where the previous one ends.
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// The chord symbol that holds at a moment; `None` before the first one.
    pub fn chord_at(&self, onset: Onset) -> Option<&ChordSymbol> {
        let after = self.chords.partition_point(|chord| chord.onset <= onset);
        after.checked_sub(1).map(|index| &self.chords[index].symbol)
    }

    /// Its chord symbols in order of time.
    pub fn chords(&self) -> &[ChordAt] {
        &self.chords
    }

    /// This line with a note placed at one of its events. A note there is replaced, and the new one keeps its
    /// length; a rest gives up an eighth. After the last event, a new bar is added and filled up with a rest.
    ///
    /// ```
    /// use halfbar_core::line::NoteId;
    /// use halfbar_core::technique::Pin;
    /// use halfbar_core::{read, write};
    ///
    /// let reading = read::text("C4:1 r:3 |");
    /// let line = reading.line.expect("a full bar").with_note(NoteId(1), "E4".parse()?, Pin::default())?;
    /// let text = write::text::line(&line, &reading.casting)?;
    /// assert!(text.ends_with("\nC4:1 E r:5/2 |\n"));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`LineError::NoEvent`] past the place after the last event; [`LineError::Bars`] for times out of range.
    pub fn with_note(&self, at: NoteId, pitch: Pitch, pin: Pin) -> Result<Line> {
        let at = at.0 as usize;
        if at > self.events.len() {
            return Err(LineError::NoEvent { index: at, events: self.events.len() });
        }
        let mut parts: Vec<Part> = self.events.iter().map(|event| event.lasting(event.duration)).collect();
        // The time available, unless a note there sets the length.
        let room = match self.events.get(at) {
            Some(Event { pitch: Some(_), .. }) => None,
            Some(rest) => Some(rest.duration),
            None => {
                let (index, over) = self.bars.split(self.end())?;
                parts.push(Part::rest(Duration::EIGHTH));
                Some(self.bars.span(index)?.length()?.checked_sub(over)?)
            }
        };
        let part = &mut parts[at];
        let duration = room.map_or(part.duration, |room| room.min(Duration::EIGHTH));
        *part = Part { duration, pitch: Some(pitch), pin, legato: part.legato, grace: None };
        let left = room.map_or(Ok(Duration::ZERO), |room| room.checked_sub(duration))?;
        if left > Duration::ZERO {
            parts.insert(at + 1, Part::rest(left));
        }
        let line = Line::new(self.heading.clone(), self.bars.clone(), parts, self.chords.clone())?;
        Ok(line.with_constraints(self.holds.clone()).with_calls(self.calls.clone()))
    }

    /// The constraints on passages of it.
    pub fn constraints(&self) -> &[ConstraintSpan] {
        &self.holds
    }

    /// Everything fixed for one of its notes: by its pin, then by the passages around it.
    pub fn constraints_on(&self, event: &Event) -> impl Iterator<Item = Constraint> {
        // An event that a window adds has no place of its own in the line.
        let own = self.events.get(event.id.0 as usize);
        let held =
            own.into_iter().flat_map(|own| self.holds.iter().filter(|hold| hold.span.contains(own.onset)));
        event.pin.wants().chain(held.map(|hold| hold.want))
    }

    /// Whether the fretting hand has the same to do in another line. The title, chords, tempo, feel and picking
    /// don't matter to it.
    pub(crate) fn is_fretted_like(&self, other: &Line) -> bool {
        let of_heading = |line: &Line| (line.heading.neck.clone(), line.heading.style);
        of_heading(self) == of_heading(other)
            && (&self.bars, &self.events, &self.holds) == (&other.bars, &other.events, &other.holds)
    }

    /// Whether the notes of another line have the same names: what they sound, when, over which chords, in which keys and meters, and what the
    /// writer calls them.
    pub(crate) fn is_named_like(&self, other: &Line) -> bool {
        let alike = |(one, other): (&Event, &Event)| {
            (one.onset, one.duration, one.pitch) == (other.onset, other.duration, other.pitch)
        };
        self.events.len() == other.events.len()
            && self.events.iter().zip(&other.events).all(alike)
            && (&self.bars, &self.chords, &self.calls) == (&other.bars, &other.chords, &other.calls)
    }

    /// When its last event ends.
    pub fn end(&self) -> Onset {
        self.events.last().and_then(|event| event.span().ok()).map_or(Onset::ZERO, Span::end)
    }

    /// The number of bars, at least one; a pickup counts.
    pub fn bar_count(&self) -> usize {
        self.bars.split(self.end()).map_or(0, |(bars, over)| bars + usize::from(over > Duration::ZERO))
    }

    /// The span of the bar with this index; the last one ends with the line.
    ///
    /// # Errors
    /// [`LineError::Bars`] if it lies past the end of the line.
    pub fn bar(&self, index: usize) -> Result<Span> {
        let span = self.bars.span(index)?;
        Span::new(span.start(), span.end().min(self.end())).ok_or(TimeError.into())
    }
}

/// Removes connections that lead nowhere.
pub(crate) fn settle_joins(events: &mut [Event]) {
    for index in 0..events.len() {
        let next = events.get(index + 1).and_then(|next| next.pitch);
        if next.is_none() || events[index].pitch.is_none() || next == events[index].pitch {
            events[index].legato = None;
        }
    }
}

impl Event {
    /// The same event with another length.
    pub(crate) fn lasting(&self, duration: Duration) -> Part {
        Part { duration, pitch: self.pitch, pin: self.pin, legato: self.legato, grace: self.grace }
    }

    /// The time from its onset to its end.
    ///
    /// # Errors
    /// [`TimeError`] if the end is out of range.
    pub fn span(&self) -> std::result::Result<Span, TimeError> {
        Span::starting(self.onset, self.duration)
    }
}

impl Default for Heading {
    fn default() -> Heading {
        Heading {
            title: String::new(),
            tempo: Tempo(120),
            feel: Feel::SwingAuto,
            neck: Neck::default(),
            style: FingeringStyle::default(),
            picking: Picking::default(),
            systems: SystemBreaks::default(),
            names: false,
            degrees: Degrees::default(),
        }
    }
}

impl Tempo {
    /// The slowest and the fastest tempo.
    pub const RANGE: (u16, u16) = (30, 320);

    /// A tempo in quarter notes per minute; `None` outside [`Tempo::RANGE`].
    pub fn new(quarters_per_minute: u16) -> Option<Tempo> {
        (Tempo::RANGE.0..=Tempo::RANGE.1).contains(&quarters_per_minute).then_some(Tempo(quarters_per_minute))
    }

    /// Quarter notes per minute.
    pub fn quarters_per_minute(self) -> u16 {
        self.0
    }
}

impl SwingRatio {
    /// The ratio in hundredths: 160 is 1.6 : 1. `None` outside 100 to 350.
    pub fn from_hundredths(hundredths: u16) -> Option<SwingRatio> {
        (100..=350).contains(&hundredths).then_some(SwingRatio { hundredths })
    }

    /// The ratio in hundredths.
    pub fn hundredths(self) -> u16 {
        self.hundredths
    }
}

impl FromStr for SwingRatio {
    type Err = HeadingError;

    /// Reads a decimal number with at most two digits after the point, exactly.
    fn from_str(text: &str) -> std::result::Result<SwingRatio, HeadingError> {
        let wrong = || HeadingError::Swing { text: quoted(text) };
        let (whole, part) = text.split_once('.').unwrap_or((text, "0"));
        let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
        if !digits(whole) || !digits(part) || part.len() > 2 {
            return Err(wrong());
        }
        let number = |text: &str| text.parse().ok();
        let tenths = if part.len() == 1 { 10 } else { 1 };
        let hundredths =
            number(whole).and_then(|whole: u16| whole.checked_mul(100)?.checked_add(tenths * number(part)?));
        hundredths.and_then(SwingRatio::from_hundredths).ok_or_else(wrong)
    }
}

impl fmt::Display for SwingRatio {
    /// Writes `1.6`, `2` or `1.25`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (whole, part) = (self.hundredths / 100, self.hundredths % 100);
        match part {
            0 => write!(f, "{whole}"),
            part if part % 10 == 0 => write!(f, "{whole}.{}", part / 10),
            part => write!(f, "{whole}.{part:02}"),
        }
    }
}

impl fmt::Display for Tempo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Tempo {
    type Err = HeadingError;

    fn from_str(text: &str) -> std::result::Result<Tempo, HeadingError> {
        text.parse().ok().and_then(Tempo::new).ok_or_else(|| HeadingError::Tempo { text: quoted(text) })
    }
}

impl FromStr for Feel {
    type Err = HeadingError;

    /// Reads `straight`, `swing auto` or `swing 1.6`.
    fn from_str(text: &str) -> std::result::Result<Feel, HeadingError> {
        let mut words = text.split_whitespace();
        let feel = match (words.next(), words.next(), words.next()) {
            (Some("straight"), None, None) => Some(Feel::Straight),
            (Some("swing"), Some("auto"), None) => Some(Feel::SwingAuto),
            (Some("swing"), Some(ratio), None) => ratio.parse().ok().map(Feel::Swing),
            _ => None,
        };
        feel.ok_or_else(|| HeadingError::Feel { text: quoted(text) })
    }
}

impl SystemBreaks {
    /// Whether each bar should start a system, from the first bar on, without end. A pickup isn't counted.
    ///
    /// ```
    /// use halfbar_core::bars::Bars;
    /// use halfbar_core::line::SystemBreaks;
    /// use halfbar_core::meter::Meter;
    ///
    /// let breaks: SystemBreaks = "2 at 4".parse()?;
    /// let starts: Vec<bool> = breaks.starts(&Bars::new(Meter::COMMON)).take(5).collect();
    /// assert_eq!(starts, [false, false, true, true, false]);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn starts(&self, bars: &Bars) -> impl Iterator<Item = bool> {
        let mut set = 0;
        (0..).map(move |index| {
            let number = u16::try_from(bars.number(index)).unwrap_or(u16::MAX);
            let is_full = self.every.is_some_and(|every| set == every);
            let is_wanted = is_full || self.at.binary_search(&number).is_ok();
            set = if is_wanted { 1 } else { set + u16::from(number > 0) };
            is_wanted
        })
    }
}

impl FromStr for SystemBreaks {
    type Err = HeadingError;

    /// Reads `4`, `at 5, 9` or both: `4 at 5, 9`.
    fn from_str(text: &str) -> std::result::Result<SystemBreaks, HeadingError> {
        let wrong = || HeadingError::Systems { text: quoted(text) };
        // A pattern of several characters would bring a search of several KB into the element's module.
        let (every, at) =
            match text.split_once('a').and_then(|(every, rest)| Some((every, rest.strip_prefix('t')?))) {
                Some((every, at)) => (every.trim(), at.split(',').map(str::trim).collect()),
                None => (text.trim(), Vec::new()),
            };
        let number = |text: &str| text.parse().ok().filter(|number: &u16| *number > 0).ok_or_else(wrong);
        let at: Vec<u16> = at.into_iter().map(number).collect::<std::result::Result<_, _>>()?;
        let every = if every.is_empty() { None } else { Some(number(every)?) };
        match (every.is_some() || !at.is_empty()) && at.is_sorted() {
            true => Ok(SystemBreaks { every, at }),
            false => Err(wrong()),
        }
    }
}

impl fmt::Display for SystemBreaks {
    /// Writes the form that is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let at: Vec<_> = self.at.iter().map(ToString::to_string).collect();
        let every = self.every.map(|every| every.to_string());
        let at = (!at.is_empty()).then(|| format!("at {}", at.join(", ")));
        f.write_str(&every.into_iter().chain(at).collect::<Vec<_>>().join(" "))
    }
}

impl fmt::Display for Feel {
    /// Writes the form that is read: `straight`, `swing auto` or `swing 1.6`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Feel::Straight => f.write_str("straight"),
            Feel::SwingAuto => f.write_str("swing auto"),
            Feel::Swing(ratio) => write!(f, "swing {ratio}"),
        }
    }
}

impl Degrees {
    /// All of them, in the order they are offered.
    pub const ALL: [Degrees; 3] = [Degrees::No, Degrees::Yes, Degrees::InsteadOfFingers];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Degrees::No => "no",
            Degrees::Yes => "yes",
            Degrees::InsteadOfFingers => "instead of fingers",
        }
    }
}

by_name!(Degrees, "a way to show degrees");

#[cfg(test)]
mod tests {
    use super::*;
    use crate::meter::Meter;

    #[test]
    fn a_line_fills_its_bars() {
        let bar = Duration::of(4, 1);
        let line = |rests: &[Duration]| {
            let parts = rests.iter().map(|&duration| Part::rest(duration));
            Line::new(Heading::default(), Bars::new(Meter::COMMON), parts, vec![])
        };
        for wrong in [&[Duration::QUARTER][..], &[], &[Duration::ZERO, bar]] {
            assert_eq!(line(wrong), Err(LineError::Unfilled { bar }));
        }
        assert_eq!(line(&[Duration::QUARTER, Duration::of(7, 1)]).unwrap().bar_count(), 2);
    }

    #[test]
    fn a_note_takes_what_time_there_is() {
        let put = |text: &str, at| {
            let line = crate::read::text(text).line.unwrap();
            let line = line.with_note(NoteId(at), "E5".parse().unwrap(), Pin::default()).unwrap();
            let lengths = line.events().iter().map(|event| event.duration.to_string());
            (lengths.collect::<Vec<_>>().join(" "), line.events()[at as usize].pitch.unwrap().to_string())
        };
        let is = |lengths: &str| (lengths.to_string(), "E5".to_string());
        assert_eq!(put("C4:3/2 D:1/2 r:2 |", 0), is("3/2 1/2 2"));
        assert_eq!(put("C4:3/2 D:1/2 r:2 |", 2), is("3/2 1/2 1/2 3/2"));
        assert_eq!(put("C4:15/4 r:1/4 |", 1), is("15/4 1/4"));
        assert_eq!(put("C4:4 |", 1), is("4 1/2 7/2"));
        let line = crate::read::text("C4:4 |").line.unwrap();
        let beyond = line.with_note(NoteId(2), "E5".parse().unwrap(), Pin::default());
        assert_eq!(beyond, Err(LineError::NoEvent { index: 2, events: 1 }));
        // The last bar may be short by the pickup. Here that leaves a sixteenth, less than an eighth.
        assert_eq!(put("pickup: 1/4\nC4:1/4 | D:15/4 |", 2), is("1/4 15/4 1/4"));
    }

    #[test]
    fn after_a_pickup_the_last_bar_may_be_short() {
        let bars = Bars::new(Meter::COMMON).with_pickup(Duration::QUARTER).unwrap();
        let line = |length| {
            Line::new(Heading::default(), bars.clone(), [Part::rest(Duration::of(length, 1))], vec![])
        };
        let (short, full) = (line(8).unwrap(), line(9).unwrap());
        assert_eq!((short.bar_count(), full.bar_count()), (3, 3));
        assert_eq!(short.bar(2).unwrap(), Span::new(Onset::at(5, 1), Onset::at(8, 1)).unwrap());
        assert!(line(7).is_err() && line(10).is_err());
    }

    #[test]
    fn a_note_keeps_what_is_around_it() {
        let text = "hand: position 5 at 1.1 to 1.3\nC4_ (C#)D_ E F G:2 |";
        let line = crate::read::text(text).line.unwrap();
        let made = line.with_note(NoteId(1), "Eb4".parse().unwrap(), Pin::default()).unwrap();
        let note = made.events()[1];
        // It still connects to the next note, but the grace note belonged to the old one.
        assert_eq!((note.legato, note.grace), (Some(Legato::Slur), None));
        assert_eq!(made.events()[0].legato, Some(Legato::Slur));
        assert_eq!(made.constraints(), line.constraints());
    }
}
