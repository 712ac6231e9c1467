//! The arithmetic of recasting: the same notes in the same order at other times, in a bar that stays full.

use std::ops::Range;

use crate::error::{Error, Result};
use crate::key::Key;
use crate::line::{Event, Line};
use crate::meter::{Meter, Place};
use crate::time::{Onset, Span};

use super::figures::{Figure, Spelling};
use super::windows::{Casting, Refusal};

/// A line in time: every event where it sounds, as its written form says (swing comes later).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Timed {
    /// The meter.
    pub meter: Meter,
    /// The key.
    pub key: Key,
    /// Notes and rests, each starting where the one before ends. Ids and pitches are the line's.
    pub events: Vec<Event>,
    /// The windows that were recast, in order of time.
    pub windows: Vec<TimedWindow>,
}

/// A window that was recast.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TimedWindow {
    /// Its time.
    pub span: Span,
    /// Its rhythm.
    pub figure: &'static Figure,
    /// How it is to be written.
    pub spelling: Spelling,
}

/// A window that a page may offer, and why it may not be recast.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Offer {
    /// Where the window starts, as an onset from the start of the line.
    pub start: Onset,
    /// The same, as musicians count.
    pub place: Place,
    /// What stands against recasting it.
    pub refusal: Option<Refusal>,
}

/// Applies a casting to a line.
///
/// # Errors
/// [`Error::Window`] with the place of the first window that can't be recast and the reason.
pub fn apply(line: &Line, casting: &Casting) -> Result<Timed> {
    let meter = line.heading().meter;
    let mut events = line.events().to_vec();
    let mut windows: Vec<TimedWindow> = Vec::with_capacity(casting.windows().len());
    for window in casting.windows() {
        let span = Span::starting(window.start, window.figure.span)?;
        let overlaps = windows.last().is_some_and(|before| before.span.overlaps(span));
        let inside = match overlaps {
            true => Err(Refusal::Overlap),
            false => notes_inside(line, window.start, window.figure),
        };
        let inside = inside.map_err(|why| refused(meter, window.start, why))?;
        let mut onset = window.start;
        for (event, &duration) in events[inside].iter_mut().zip(window.figure.durations(window.spelling)) {
            (event.onset, event.duration) = (onset, duration);
            onset = (onset + duration)?;
        }
        windows.push(TimedWindow { span, figure: window.figure, spelling: window.spelling });
    }
    Ok(Timed { meter, key: line.heading().key, events, windows })
}

/// Whether the window of `line` at `start` can take `figure`; if not, why.
///
/// # Errors
/// The [`Refusal`].
pub fn can_recast(line: &Line, start: Onset, figure: &Figure) -> std::result::Result<(), Refusal> {
    notes_inside(line, start, figure).map(|_| ())
}

/// Every half-bar of the line, in order of time, with what stands against recasting it by `figure`. Empty in meters without
/// half-bars.
///
/// # Errors
/// [`Error::Time`] for a line too long to count.
pub fn offers(line: &Line, figure: &Figure) -> Result<Vec<Offer>> {
    let meter = line.heading().meter;
    let Some(half) = meter.half_bar() else { return Ok(Vec::new()) };
    let mut offers = Vec::new();
    for bar in 0..line.bars() {
        let span = meter.bar_span(bar)?;
        for start in [span.start(), (span.start() + half)?] {
            let refusal = can_recast(line, start, figure).err();
            offers.push(Offer { start, place: meter.place(start)?, refusal });
        }
    }
    Ok(offers)
}

/// The events of `line` that a figure at `start` would take.
fn notes_inside(line: &Line, start: Onset, figure: &Figure) -> std::result::Result<Range<usize>, Refusal> {
    let (meter, events) = (line.heading().meter, line.events());
    let half = meter.half_bar().ok_or(Refusal::Meter { meter })?;
    let (bar, offset) = meter.split(start).map_err(|_| Refusal::Start)?;
    if !offset.is_multiple_of(half) {
        return Err(Refusal::Start);
    }
    if bar as usize >= line.bars() {
        return Err(Refusal::End);
    }
    let end = (start + figure.span).map_err(|_| Refusal::End)?;
    let first = events.partition_point(|event| event.onset < start);
    let after = events.partition_point(|event| event.onset < end);
    let held = |event: Option<&Event>, into: Onset| {
        if event.is_some_and(|event| event.pitch.is_none()) {
            return Err(Refusal::Rest);
        }
        let place = meter.place(into).map_err(|_| Refusal::End)?;
        Err(Refusal::Held { beat: place.beat, next_bar: place.bar > bar + 1 })
    };
    if events.get(first).is_none_or(|event| event.onset != start) {
        return held(first.checked_sub(1).and_then(|before| events.get(before)), start);
    }
    let inside = &events[first..after];
    let holds = inside.iter().filter(|event| event.pitch.is_some()).count();
    if inside.last().and_then(|event| event.span().ok()).is_none_or(|span| span.end() != end) {
        return held(inside.last(), end);
    }
    match holds == figure.notes() {
        false => Err(Refusal::Count { holds, takes: figure.notes() }),
        true if inside.len() > holds => Err(Refusal::Rest),
        true => Ok(first..after),
    }
}

fn refused(meter: Meter, start: Onset, why: Refusal) -> Error {
    meter.place(start).map_or(Error::Time, |place| Error::Window { place, why })
}
