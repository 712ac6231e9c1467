//! The bars of a line: where each one starts, its meter and key, and how places in it are counted.

use std::fmt;
use std::str::FromStr;

use crate::key::Key;
use crate::meter::Meter;
use crate::naming::quoted;
use crate::time::{Duration, Onset, Span, TimeError};

/// The error for a bar or place that a line doesn't have.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum BarsError {
    /// A time out of range.
    #[error(transparent)]
    Time(#[from] TimeError),
    /// A moment before the start of the line.
    #[error("this lies before the start of the line")]
    BeforeStart,
    /// A length that a pickup can't have.
    #[error(
        "a pickup must be shorter than a {meter} bar ({} quarter notes) and a multiple of a 64th note; if it starts inside a tuplet, write \
         the tuplet's rests first",
        meter.bar()
    )]
    Pickup {
        /// The meter at the start of the line.
        meter: Meter,
    },
    /// A bar that the line doesn't have.
    #[error("there is no bar with index {index}: the line has {bars}")]
    Bar {
        /// The index asked for, from 0.
        index: usize,
        /// The number of bars.
        bars: usize,
    },
    /// A change of meter or key in the first bar, or before an earlier change.
    #[error("the meter or key can't change here: changes come after the first bar, in order")]
    Change,
    /// A place that the line doesn't have.
    #[error("there is no {}: bars are numbered from {first}, and beats go from 1 to {beats}", place.spoken())]
    Place {
        /// The place asked for.
        place: Place,
        /// The number of beats in the bar.
        beats: u8,
        /// The number of the first bar: 0 with a pickup, otherwise 1.
        first: usize,
    },
    /// Text that isn't a place.
    #[error("`{text}` is not a place: write bar and beat, such as `2.3`")]
    ParsePlace {
        /// The text that was read.
        text: String,
    },
}

impl BarsError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            BarsError::Time(_) | BarsError::BeforeStart => "time",
            BarsError::Pickup { .. } => "pickup",
            BarsError::Change => "change",
            BarsError::Bar { .. } | BarsError::Place { .. } | BarsError::ParsePlace { .. } => "place",
        }
    }
}

type Result<T> = std::result::Result<T, BarsError>;

/// The bars of a line, from a pickup or the first full bar on, without end.
///
/// A pickup bar is the end of a full bar that starts before the line does. Every bar has an index from 0 and
/// a number as musicians count: from 1, or from 0 if there is a pickup.
///
/// ```
/// use halfbar_core::bars::Bars;
/// use halfbar_core::meter::Meter;
/// use halfbar_core::time::{Duration, Onset};
///
/// let three = Meter::new(3, 4)?;
/// let mut bars = Bars::new(Meter::COMMON).with_pickup(Duration::EIGHTH)?;
/// bars.change(2, three)?;
/// assert_eq!(bars.place(Onset::ZERO)?.spoken().to_string(), "bar 0, the and of 4");
/// assert_eq!(bars.place(Onset::at(9, 2))?.to_string(), "2.1");
/// assert_eq!((bars.meter(1), bars.meter(2)), (Meter::COMMON, three));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
#[derive(Clone, PartialEq, Eq, Debug, Hash)]
pub struct Bars {
    pickup: Duration,
    /// In order of time; the first run always starts at index 0.
    runs: Vec<Run>,
}

/// Consecutive bars with the same meter and key.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
struct Run {
    /// The index of its first bar.
    index: usize,
    /// The first beat of that bar; before the start of the line for a pickup.
    downbeat: Onset,
    meter: Meter,
    key: Key,
}

/// A place as musicians count it: bars and beats from 1, where a beat is the meter's unit. Beat 3/2 is the
/// "and" of 1. Bar 0 is the pickup.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Place {
    /// The bar, from 1; 0 is the pickup.
    pub bar: u32,
    /// The beat, from 1, in units of the meter (quarters in 4/4, halves in 2/2).
    pub beat: Duration,
}

impl Bars {
    /// Full bars in one meter, in C major.
    pub fn new(meter: Meter) -> Bars {
        let first = Run { index: 0, downbeat: Onset::ZERO, meter, key: Key::C };
        Bars { pickup: Duration::ZERO, runs: vec![first] }
    }

    /// These bars with another key at the start.
    pub fn in_key(mut self, key: Key) -> Bars {
        self.runs[0].key = key;
        self
    }

    /// These bars after a pickup of the given length.
    ///
    /// # Errors
    /// [`BarsError::Pickup`] unless the pickup is longer than zero, shorter than a bar and a multiple of a
    /// 64th note (it can't start inside a tuplet). Also if the meter has already changed.
    pub fn with_pickup(self, pickup: Duration) -> Result<Bars> {
        let meter = self.runs[0].meter;
        let part = pickup > Duration::ZERO && pickup < meter.bar();
        if !part || !pickup.is_multiple_of(Duration::of(1, 16)) || self.runs.len() > 1 {
            return Err(BarsError::Pickup { meter: meter.usual() });
        }
        let downbeat = Onset::after(pickup.checked_sub(meter.bar())?);
        Ok(Bars { pickup, runs: vec![Run { downbeat, ..self.runs[0] }] })
    }

    /// Changes the meter from the bar with this index on. Changes are made in order of time.
    ///
    /// # Errors
    /// [`BarsError::Change`] for the first bar or one before the last change; [`BarsError::Time`] for one out
    /// of range.
    pub fn change(&mut self, index: usize, meter: Meter) -> Result<()> {
        self.change_run(index, |run| run.meter = meter)
    }

    /// Changes the key from the bar with this index on.
    ///
    /// # Errors
    /// Same as [`Bars::change`].
    pub fn change_key(&mut self, index: usize, key: Key) -> Result<()> {
        self.change_run(index, |run| run.key = key)
    }

    fn change_run(&mut self, index: usize, change: impl FnOnce(&mut Run)) -> Result<()> {
        let last = self.runs[self.runs.len() - 1];
        if index == 0 || index < last.index {
            return Err(BarsError::Change);
        }
        let mut run = Run { index, downbeat: self.downbeat(index)?, ..last };
        change(&mut run);
        match index == last.index {
            true => {
                self.runs.pop();
                self.runs.push(run);
            }
            false if (run.meter, run.key) != (last.meter, last.key) => self.runs.push(run),
            false => {}
        }
        Ok(())
    }

    /// The length of the pickup; zero if there is none.
    pub fn pickup(&self) -> Duration {
        self.pickup
    }

    /// The meter of the bar with this index.
    pub fn meter(&self, index: usize) -> Meter {
        self.run(index).meter
    }

    /// The key of the bar with this index.
    pub fn key(&self, index: usize) -> Key {
        self.run(index).key
    }

    /// The changes of meter, each with the index of the first bar it applies to.
    pub fn changes(&self) -> impl Iterator<Item = (usize, Meter)> {
        let pairs = self.runs.windows(2).filter(|pair| pair[0].meter != pair[1].meter);
        pairs.map(|pair| (pair[1].index, pair[1].meter))
    }

    /// The changes of key, each with the index of the first bar it applies to.
    pub fn key_changes(&self) -> impl Iterator<Item = (usize, Key)> {
        let pairs = self.runs.windows(2).filter(|pair| pair[0].key != pair[1].key);
        pairs.map(|pair| (pair[1].index, pair[1].key))
    }

    /// The number musicians give the bar with this index.
    pub fn number(&self, index: usize) -> usize {
        index + usize::from(self.pickup == Duration::ZERO)
    }

    /// The first beat of the bar with this index; before the start of the line for a pickup.
    ///
    /// # Errors
    /// [`BarsError::Time`] if it is out of range.
    pub fn downbeat(&self, index: usize) -> Result<Onset> {
        let run = self.run(index);
        let since = i64::try_from(index - run.index).map_err(|_| TimeError)?;
        Ok(run.downbeat.checked_add(run.meter.bar().checked_mul(since)?)?)
    }

    /// The span of the bar with this index.
    ///
    /// # Errors
    /// [`BarsError::Time`] if it is out of range.
    pub fn span(&self, index: usize) -> Result<Span> {
        let downbeat = self.downbeat(index)?;
        Span::new(downbeat.max(Onset::ZERO), downbeat.checked_add(self.meter(index).bar())?)
            .ok_or(TimeError.into())
    }

    /// The index of the bar that holds `onset`, and how far `onset` lies after that bar's first beat.
    ///
    /// # Errors
    /// [`BarsError::BeforeStart`] for a negative onset, [`BarsError::Time`] for one out of range.
    pub fn split(&self, onset: Onset) -> Result<(usize, Duration)> {
        if onset < Onset::ZERO {
            return Err(BarsError::BeforeStart);
        }
        let run = &self.runs[self.runs.partition_point(|run| run.downbeat <= onset) - 1];
        let (since, bar) = (onset.checked_since(run.downbeat)?, run.meter.bar());
        let times = |a: i64, b: i64| a.checked_mul(b).ok_or(TimeError);
        let bars = times(since.numer(), bar.denom())? / times(since.denom(), bar.numer())?;
        let bars = u32::try_from(bars).map_err(|_| TimeError)?;
        Ok((run.index + bars as usize, since.checked_sub(bar.checked_mul(i64::from(bars))?)?))
    }

    /// The place of an onset.
    ///
    /// # Errors
    /// [`BarsError::BeforeStart`] for a negative onset, [`BarsError::Time`] for one out of range.
    pub fn place(&self, onset: Onset) -> Result<Place> {
        let (index, offset) = self.split(onset)?;
        let units = Duration::new(offset.numer() * i64::from(self.meter(index).unit()), offset.denom() * 4)?;
        let bar = u32::try_from(self.number(index)).map_err(|_| TimeError)?;
        Ok(Place { bar, beat: units.checked_add(Duration::QUARTER)? })
    }

    /// The onset of a place.
    ///
    /// ```
    /// use halfbar_core::bars::{Bars, Place};
    /// use halfbar_core::meter::Meter;
    /// use halfbar_core::time::{Duration, Onset};
    ///
    /// let bars = Bars::new(Meter::COMMON);
    /// let place = Place { bar: 2, beat: Duration::of(3, 1) };
    /// assert_eq!(bars.onset(place)?, Onset::at(6, 1));
    /// assert_eq!(bars.place(Onset::at(6, 1))?, place);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`BarsError::Place`] if there is no such bar or beat.
    pub fn onset(&self, place: Place) -> Result<Onset> {
        let first = self.number(0);
        let index = (place.bar as usize).checked_sub(first);
        let meter = self.meter(index.unwrap_or(0));
        let nowhere = BarsError::Place { place, beats: meter.count(), first };
        let units = place.beat.checked_sub(Duration::QUARTER)?;
        let offset = Duration::new(
            units.numer().saturating_mul(4),
            units.denom().saturating_mul(meter.unit().into()),
        )?;
        match index {
            Some(index) if offset >= Duration::ZERO && offset < meter.bar() => {
                let onset = self.downbeat(index)?.checked_add(offset)?;
                if onset < Onset::ZERO { Err(nowhere) } else { Ok(onset) }
            }
            _ => Err(nowhere),
        }
    }

    fn run(&self, index: usize) -> &Run {
        // The first run starts at index 0.
        &self.runs[self.runs.partition_point(|run| run.index <= index) - 1]
    }
}

impl FromStr for Place {
    type Err = BarsError;

    /// Reads bar and beat: `2.3`, or `2.7/2` for halfway to the next beat.
    fn from_str(text: &str) -> Result<Place> {
        let read = || {
            let (bar, beat) = text.split_once('.')?;
            let digits = bar.bytes().all(|b| b.is_ascii_digit());
            Some(Place { bar: bar.parse().ok().filter(|_| digits)?, beat: beat.parse().ok()? })
        };
        read().ok_or_else(|| BarsError::ParsePlace { text: quoted(text) })
    }
}

impl fmt::Display for Place {
    /// Writes the form that is read: `2.3`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.bar, self.beat)
    }
}

impl Place {
    /// The place in words: `bar 2 beat 3`, `bar 2, the and of 3`, or elsewhere
    /// `bar 2, two thirds of a beat after beat 3`.
    ///
    /// ```
    /// use halfbar_core::bars::Place;
    ///
    /// let place: Place = "2.7/2".parse()?;
    /// assert_eq!(place.to_string(), "2.7/2");
    /// assert_eq!(place.spoken().to_string(), "bar 2, the and of 3");
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn spoken(self) -> impl fmt::Display {
        Spoken(self)
    }

    /// The beat in words: `on beat 3`, `on the and of 3`, or elsewhere `two thirds of a beat after beat 3`.
    pub(crate) fn beat_spoken(self) -> String {
        match (self.beat.denom(), self.beat.numer()) {
            (1, beat) => format!("on beat {beat}"),
            (2, halves) => format!("on the and of {}", halves / 2),
            _ => {
                let spoken = self.spoken().to_string();
                spoken.split_once(", ").map_or(spoken.clone(), |(_, beat)| beat.to_string())
            }
        }
    }
}

struct Spoken(Place);

impl fmt::Display for Spoken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Spoken(place) = self;
        match (place.beat.denom(), place.beat.numer()) {
            (1, _) => write!(f, "bar {} beat {}", place.bar, place.beat),
            (2, halves) => write!(f, "bar {}, the and of {}", place.bar, halves / 2),
            (denom, numer) => {
                let (beat, over) = (numer / denom, numer % denom);
                let said = match (over, denom) {
                    (1, 3) => "a third",
                    (2, 3) => "two thirds",
                    (1, 4) => "a quarter",
                    (3, 4) => "three quarters",
                    _ => return write!(f, "bar {}, {over}/{denom} of a beat after beat {beat}", place.bar),
                };
                write!(f, "bar {}, {said} of a beat after beat {beat}", place.bar)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meter(text: &str) -> Meter {
        text.parse().unwrap()
    }

    #[test]
    fn beats_are_units() {
        let cut = Bars::new(meter("2/2"));
        assert_eq!(cut.place(Onset::at(6, 1)).unwrap(), Place { bar: 2, beat: Duration::of(2, 1) });
        let common = Bars::new(Meter::COMMON);
        assert_eq!(common.place(Onset::at(1, 2)).unwrap().spoken().to_string(), "bar 1, the and of 1");
        assert_eq!(common.place(Onset::at(5, 1)).unwrap().spoken().to_string(), "bar 2 beat 2");
        let said = |numer, denom| common.place(Onset::at(numer, denom)).unwrap().spoken().to_string();
        assert_eq!(said(5, 3), "bar 1, two thirds of a beat after beat 2");
        assert_eq!(said(17, 4), "bar 2, a quarter of a beat after beat 1");
        assert_eq!(said(4, 3), "bar 1, a third of a beat after beat 2");
        assert_eq!(said(15, 4), "bar 1, three quarters of a beat after beat 4");
        assert_eq!(said(2, 5), "bar 1, 2/5 of a beat after beat 1");
    }

    #[test]
    fn places_that_are_none() {
        let bars = Bars::new(Meter::COMMON);
        let place = |bar, beat| Place { bar, beat: Duration::of(beat, 1) };
        for (bars, place, first) in [
            (&bars, place(1, 5), 1),
            (&bars, place(0, 1), 1),
            (&bars, place(1, 0), 1),
            (&bars.clone().with_pickup(Duration::QUARTER).unwrap(), place(0, 3), 0),
        ] {
            assert_eq!(bars.onset(place), Err(BarsError::Place { place, beats: 4, first }));
        }
        assert_eq!(bars.split(Onset::at(-1, 2)), Err(BarsError::BeforeStart));
    }

    #[test]
    fn a_pickup_and_two_changes() {
        let mut bars = Bars::new(Meter::COMMON).with_pickup(Duration::of(3, 2)).unwrap();
        bars.change(2, meter("7/8")).unwrap();
        bars.change(4, meter("3/4")).unwrap();
        assert_eq!(
            (bars.change(3, meter("4/4")), bars.change(0, meter("4/4"))),
            (Err(BarsError::Change), Err(BarsError::Change))
        );
        let starts: Vec<_> = (0..6).map(|index| bars.span(index).unwrap().start().to_string()).collect();
        assert_eq!(starts, ["0", "3/2", "11/2", "9", "25/2", "31/2"]);
        for index in 0..6 {
            let span = bars.span(index).unwrap();
            assert_eq!(bars.split(span.start()).unwrap().0, index);
            let place = bars.place(span.start()).unwrap();
            assert_eq!((place.bar as usize, bars.onset(place)), (index, Ok(span.start())));
        }
        assert_eq!(bars.split(Onset::ZERO).unwrap(), (0, Duration::of(5, 2)));
        assert_eq!(bars.changes().collect::<Vec<_>>(), [(2, meter("7/8")), (4, meter("3/4"))]);
    }

    #[test]
    fn keys_change_beside_meters() {
        let key = |text: &str| -> Key { text.parse().unwrap() };
        let mut bars = Bars::new(Meter::COMMON).in_key(key("Eb"));
        bars.change_key(2, key("G")).unwrap();
        bars.change(2, meter("3/4")).unwrap();
        bars.change_key(5, key("G")).unwrap();
        bars.change_key(6, key("C minor")).unwrap();
        assert_eq!(
            (bars.key(0), bars.key(1), bars.key(2), bars.key(5)),
            (key("Eb"), key("Eb"), key("G"), key("G"))
        );
        assert_eq!(bars.key_changes().collect::<Vec<_>>(), [(2, key("G")), (6, key("C minor"))]);
        assert_eq!(bars.changes().collect::<Vec<_>>(), [(2, meter("3/4"))]);
    }

    #[test]
    fn pickups_that_are_none() {
        for pickup in [Duration::ZERO, Duration::of(4, 1), Duration::of(-1, 1), Duration::of(2, 3)] {
            assert!(Bars::new(Meter::COMMON).with_pickup(pickup).is_err());
        }
    }
}
