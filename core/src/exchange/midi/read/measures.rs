//! The meters and keys of a file -> bars.

use super::events::File;
use crate::bars::{Bars, Place};
use crate::exchange::error::Result;
use crate::exchange::midi::error::MidiError;
use crate::key::{Key, Mode};
use crate::meter::Meter;
use crate::pitch::{Alter, Letter, PitchName};
use crate::time::{Duration, Onset};

/// The most bars that are read.
pub(super) const MOST_BARS: usize = 1_000;
/// How far from a bar line a change may be that is meant to be there, in quarter notes.
const NEAR: Duration = Duration::of(1, 16);

/// The bars of a file, from its start on.
pub(super) struct Measures {
    ticks: u16,
    /// In C major. If the file itself begins with a short bar, that is a pickup.
    pub(super) bars: Bars,
    /// The key at the start, if the file says it.
    pub(super) key: Option<Key>,
    /// The changes of key, each with the index of its bar.
    keys: Vec<(usize, Key)>,
}

/// The bars of a file.
pub(super) fn measures(file: &File) -> Result<Measures> {
    let mut measures =
        Measures { ticks: file.ticks, bars: Bars::new(Meter::COMMON), key: None, keys: Vec::new() };
    measures.set_meters(file)?;
    for &(tick, sharps, is_minor) in &file.keys {
        let Some(key) = key(sharps, is_minor) else { continue };
        match measures.bar(tick)? {
            (0, _) => measures.key = Some(key),
            // A change inside a bar is one at the next bar line.
            (index, is_inside) => measures.keys.push((index + usize::from(is_inside), key)),
        }
    }
    measures.keys = last_of_each(measures.keys.into_iter());
    measures.key = measures.key.or(measures.keys.first().map(|&(_, key)| key));
    Ok(measures)
}

impl Measures {
    fn set_meters(&mut self, file: &File) -> Result<()> {
        let changes = last_of_each(file.meters.iter().map(|&(tick, count, power)| (tick, (count, power))));
        let mut changes = changes.into_iter().map(|(tick, (count, power))| (tick, count, power)).peekable();
        if let Some((_, count, power)) = changes.next_if(|change| change.0 == 0) {
            // Many files have a pickup as a first bar with a meter of its own: the next meter starts inside the bar, or right after one that no line has.
            let first = meter(count, power);
            let pickup = changes.peek().copied().and_then(|(tick, count, power)| {
                let (next, pickup) = (meter(count, power)?, self.time(tick)?.since_start());
                let is_short = first.is_none_or(|first| pickup < first.bar());
                (is_short && pickup < next.bar()).then_some((next, pickup))
            });
            if let Some((next, pickup)) = pickup {
                self.bars =
                    Bars::new(next).with_pickup(pickup).map_err(|_| MidiError::MeterInside { bar: 1 })?;
                changes.next();
            } else {
                self.bars = Bars::new(first.ok_or(unknown(0, count, power))?);
            }
        }
        for (tick, count, power) in changes {
            let (index, is_inside) = self.bar(tick)?;
            let meter = meter(count, power).ok_or(unknown(index, count, power))?;
            if meter == self.bars.meter(index) {
                continue;
            }
            match index {
                _ if is_inside => return Err(MidiError::MeterInside { bar: index + 1 }.into()),
                0 => self.bars = Bars::new(meter),
                _ => self.bars.change(index, meter).map_err(crate::Error::from)?,
            }
        }
        Ok(())
    }

    /// A moment in quarter notes.
    pub(super) fn time(&self, tick: u64) -> Option<Onset> {
        Duration::new(i64::try_from(tick).ok()?, self.ticks.into()).ok().map(Onset::after)
    }

    /// The index of the bar with this moment, and whether it is inside it rather than near its start.
    pub(super) fn bar(&self, tick: u64) -> Result<(usize, bool)> {
        let too_many = MidiError::Bars { allowed: MOST_BARS };
        let split = self.time(tick).and_then(|time| self.bars.split(time).ok());
        let (index, over) = split.filter(|(index, _)| *index < MOST_BARS).ok_or(too_many)?;
        let left = self.bars.meter(index).bar().checked_sub(over).map_err(crate::Error::from)?;
        let is_first_of_pickup = index == 0 && tick == 0;
        Ok(if left <= NEAR { (index + 1, false) } else { (index, over > NEAR && !is_first_of_pickup) })
    }

    /// The place of a moment, to a quarter of a beat.
    pub(super) fn place(&self, tick: u64) -> Place {
        let sixteenth = Duration::of(1, 4);
        let near = self.time(tick).and_then(|time| time.since_start().floor_to(sixteenth).ok());
        near.and_then(|near| self.bars.place(Onset::after(near)).ok())
            .unwrap_or(Place { bar: 1, beat: Duration::QUARTER })
    }

    /// The bars of a line in this key. If it is `asked` for, it holds throughout. A `pickup` is what silence at the start leaves of the first bar.
    pub(super) fn bars_in(&self, key: Key, asked: bool, pickup: Option<Duration>) -> Result<Bars> {
        let mut bars = match pickup {
            None => self.bars.clone().in_key(key),
            Some(pickup) => {
                let first = Bars::new(self.bars.meter(0)).in_key(key);
                let mut bars = first.with_pickup(pickup).map_err(crate::Error::from)?;
                for (index, meter) in self.bars.changes() {
                    bars.change(index, meter).map_err(crate::Error::from)?;
                }
                bars
            }
        };
        if asked || self.keys.is_empty() {
            return Ok(bars);
        }
        // Changes are made in order of time, so those of meter are made again.
        let meters: Vec<(usize, Meter)> = self.bars.changes().collect();
        let first = Bars::new(bars.meter(0)).in_key(key);
        bars = match bars.pickup() {
            pickup if pickup > Duration::ZERO => first.with_pickup(pickup).map_err(crate::Error::from)?,
            _ => first,
        };
        let mut all: Vec<usize> =
            meters.iter().map(|change| change.0).chain(self.keys.iter().map(|change| change.0)).collect();
        all.sort_unstable();
        all.dedup();
        for index in all {
            if let Some(&(_, meter)) = meters.iter().find(|change| change.0 == index) {
                bars.change(index, meter).map_err(crate::Error::from)?;
            }
            if let Some(&(_, key)) = self.keys.iter().find(|change| change.0 == index) {
                bars.change_key(index, key).map_err(crate::Error::from)?;
            }
        }
        Ok(bars)
    }
}

/// Of several changes at one moment, the last one counts.
fn last_of_each<T: PartialEq + Copy, U>(changes: impl DoubleEndedIterator<Item = (T, U)>) -> Vec<(T, U)> {
    let mut backwards: Vec<(T, U)> = changes.rev().collect();
    backwards.dedup_by_key(|change| change.0);
    backwards.reverse();
    backwards
}

/// A meter; `None` if lines don't have it.
fn meter(count: u8, power: u8) -> Option<Meter> {
    Meter::new(count, 1u8.checked_shl(power.into())?).ok()
}

fn unknown(index: usize, count: u8, power: u8) -> MidiError {
    MidiError::Meter { bar: index + 1, count, unit: 1u64.checked_shl(power.into()).unwrap_or(0) }
}

/// The key with this signature.
fn key(sharps: i8, is_minor: bool) -> Option<Key> {
    let mode = if is_minor { Mode::Minor } else { Mode::Major };
    let tonics =
        Letter::ALL.into_iter().flat_map(|letter| Alter::PLAIN.map(|alter| PitchName { letter, alter }));
    tonics.filter_map(|tonic| Key::new(tonic, mode).ok()).find(|key| key.fifths() == sharps)
}
