//! The bars of a file -> the bars of a line: pickups, bars in several parts, and short ones.

use std::collections::VecDeque;

use crate::bars::Bars;
use crate::exchange::error::Result;
use crate::exchange::musicxml::{MusicXmlError, Spot};
use crate::key::Key;
use crate::meter::Meter;
use crate::time::{Duration, Onset};

use super::model::{Bar, Score};

/// Where everything in a file lies in a line.
pub(super) struct Timeline {
    pub(super) bars: Bars,
    /// For each bar of the file, in order.
    pub(super) places: Vec<Placed>,
    /// When the line ends.
    pub(super) end: Onset,
    /// How many short bars are filled with rests.
    pub(super) filled: usize,
    /// How many bars were joined from parts.
    pub(super) joined: usize,
}

/// Where a bar of the file lies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placed {
    /// The index of the bar in the line.
    pub(super) index: usize,
    pub(super) start: Onset,
    /// How long its notes may be.
    pub(super) room: Duration,
    pub(super) meter: Meter,
}

/// A bar of the file: its meter, its key if that changes, and how long it is.
#[derive(Clone, Copy)]
struct Measured {
    meter: Meter,
    changes: bool,
    key: Option<Key>,
    length: Duration,
    is_implicit: bool,
    /// Whether its last note is tied to the next bar, and its first note isn't tied to the bar before.
    is_tied_on: bool,
}

impl Measured {
    fn is_short(&self) -> bool {
        self.length < self.meter.bar()
    }
}

/// The timeline of a staff.
pub(super) fn timeline(score: &Score, part: usize, staff: u16) -> Result<Timeline> {
    let measured = measured(score, part, staff)?;
    let first = measured.first().ok_or(MusicXmlError::Empty)?;
    let bars = Bars::new(first.meter).in_key(first.key.unwrap_or_default());
    let mut timeline = Timeline { bars, places: Vec::new(), end: Onset::ZERO, filled: 0, joined: 0 };
    let rest = timeline.pickup(&measured)?;
    let (mut next, mut key) = (measured.len() - rest.len(), None);
    while let Some(bar) = measured.get(next) {
        let index = timeline.places.last().map_or(0, |place| place.index + 1);
        if index > 0 && bar.changes {
            timeline.bars.change(index, bar.meter)?;
        }
        if let Some(key) = bar.key.or(key.take()).filter(|_| index > 0) {
            timeline.bars.change_key(index, key)?;
        }
        let parts = parts_of_a_bar(&measured[next..]);
        timeline.joined += usize::from(parts > 1);
        let mut start = timeline.bars.downbeat(index)?;
        if parts == 1 && bar.is_short() && bar.is_tied_on && next + 1 < measured.len() {
            // The rest that fills it comes first, so that the tie stays one.
            start = start.checked_add(bar.meter.bar().checked_sub(bar.length)?)?;
        }
        for part in &measured[next..next + parts] {
            let room = if parts > 1 || bar.is_tied_on { part.length } else { bar.meter.bar() };
            timeline.places.push(Placed { index, start, room, meter: bar.meter });
            start = start.checked_add(part.length)?;
        }
        // A change inside a bar counts from the next one on.
        key = measured[next + 1..next + parts].iter().filter_map(|part| part.key).next_back();
        next += parts;
        timeline.end = timeline.bars.span(index)?.end();
        if parts == 1 && bar.is_short() {
            let ends_the_pickup = next == measured.len()
                && bar.length == bar.meter.bar().checked_sub(timeline.bars.pickup())?;
            match ends_the_pickup {
                true => timeline.end = start,
                false => timeline.filled += 1,
            }
        }
    }
    Ok(timeline)
}

impl Timeline {
    /// Takes a short first bar as a pickup, and returns the bars after it.
    fn pickup<'m>(&mut self, measured: &'m [Measured]) -> Result<&'m [Measured]> {
        let [first, rest @ ..] = measured else { return Ok(measured) };
        let goes_on = rest.first().is_some_and(|next| next.is_implicit) && parts_of_a_bar(measured) > 1;
        if (rest.is_empty() && !first.is_implicit) || goes_on || !first.is_short() {
            return Ok(measured);
        }
        // A pickup can't start inside a tuplet: a rest comes first.
        let mut length = first.length;
        if !length.is_multiple_of(Duration::of(1, 16)) {
            length = length.floor_to(Duration::EIGHTH)?.checked_add(Duration::EIGHTH)?;
            self.filled += 1;
        }
        if length < first.meter.bar() {
            self.bars = self.bars.clone().with_pickup(length)?;
        }
        let start = Onset::after(length.checked_sub(first.length)?);
        self.end = self.bars.span(0)?.end();
        self.places.push(Placed { index: 0, start, room: first.length, meter: first.meter });
        Ok(rest)
    }
}

/// How many short bars from the first on add up to a full one; 1 if they don't.
fn parts_of_a_bar(measured: &[Measured]) -> usize {
    let Some(first) = measured.first().filter(|first| first.is_short()) else { return 1 };
    let mut sum = Duration::ZERO;
    for (index, part) in measured.iter().enumerate() {
        if !part.is_short() || (index > 0 && part.changes) {
            return 1;
        }
        sum = sum.checked_add(part.length).unwrap_or(first.meter.bar());
        if sum >= first.meter.bar() {
            return if sum == first.meter.bar() { index + 1 } else { 1 };
        }
    }
    1
}

/// The bars of a part with their meters, keys and lengths.
fn measured(score: &Score, part: usize, staff: u16) -> Result<Vec<Measured>> {
    let name = score.parts.get(part).map_or("", |part| part.name.as_str());
    let of_part: &[Bar] = score.parts.get(part).map_or(&[], |part| part.bars.as_slice());
    let mut others: VecDeque<_> = score.parts.iter().map(|part| part.bars.iter()).collect();
    let (mut meter, mut unknown) = (Meter::COMMON, None);
    let mut measured = Vec::with_capacity(of_part.len());
    for bar in of_part {
        let beside: Vec<&Bar> = others.iter_mut().filter_map(Iterator::next).collect();
        let said = bar.meter.as_ref().or_else(|| beside.iter().find_map(|bar| bar.meter.as_ref()));
        let before = meter;
        match said {
            Some(Ok(known)) => (meter, unknown) = (*known, None),
            Some(Err(text)) => unknown = Some(text.clone()),
            None => {}
        }
        if let Some(text) = unknown {
            let spot = Spot { part: name.into(), bar: bar.number.clone(), beat: Duration::QUARTER };
            return Err(MusicXmlError::Meter { spot, text }.into());
        }
        let longest = beside.iter().map(|bar| bar.length).max().unwrap_or(Duration::ZERO);
        let may_be_short = bar.is_implicit || measured.len() + 1 == of_part.len();
        let length = if longest > Duration::ZERO {
            longest
        } else if may_be_short && bar.silence > Duration::ZERO {
            bar.silence
        } else {
            meter.bar()
        };
        let length = length.min(meter.bar());
        let mine = bar.keys.iter().rfind(|(of, _)| of.is_none_or(|of| of == staff));
        let mut notes = bar.notes.iter().filter(|note| note.staff == staff && note.sounds());
        let is_tied_on = notes.clone().any(|note| note.tied_to && note.end() == length)
            && !notes.any(|note| note.tied_from && note.onset == Duration::ZERO);
        let key = mine.map(|(_, key)| *key);
        let (changes, is_implicit) = (meter != before, bar.is_implicit);
        measured.push(Measured { meter, changes, key, length, is_implicit, is_tied_on });
    }
    Ok(measured)
}
