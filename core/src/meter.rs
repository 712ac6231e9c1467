//! The meter: how long a bar is, where its beats lie, and how strong each point of it is.

use std::fmt;
use std::str::FromStr;

use crate::error::{Error, Result};
use crate::time::{Duration, Onset, Span};

/// A time signature, such as 4/4, with the grouping of its units.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Meter {
    count: u8,
    unit: u8,
}

/// A place as musicians count it: bars from 1, beats from 1, a beat being the meter's unit. Beat 3/2 is the "and" of one.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub struct Place {
    /// The bar, from 1.
    pub bar: u32,
    /// The beat, from 1, in units of the meter (quarters in 4/4, halves in 2/2).
    pub beat: Duration,
}

/// The meters that can be written, and how their units group. The groups are common practice, no source: 5/4 is most often
/// 3 + 2 and 7/8 most often 2 + 2 + 3.
const METERS: [(u8, u8, &[u8]); 10] = [
    (4, 4, &[2, 2]),
    (2, 2, &[1, 1]),
    (2, 4, &[2]),
    (3, 4, &[1, 1, 1]),
    (5, 4, &[3, 2]),
    (3, 8, &[3]),
    (6, 8, &[3, 3]),
    (7, 8, &[2, 2, 3]),
    (9, 8, &[3, 3, 3]),
    (12, 8, &[3, 3, 3, 3]),
];

impl Meter {
    /// 4/4.
    pub const COMMON: Meter = Meter { count: 4, unit: 4 };

    /// The meter `count / unit`.
    ///
    /// # Errors
    /// [`Error::Meter`], which lists the meters that can be written.
    pub fn new(count: u8, unit: u8) -> Result<Meter> {
        match METERS.iter().any(|&(c, u, _)| (c, u) == (count, unit)) {
            true => Ok(Meter { count, unit }),
            false => Err(Error::Meter),
        }
    }

    /// All meters that can be written, as one phrase for messages.
    pub fn allowed() -> String {
        METERS.map(|(count, unit, _)| format!("{count}/{unit}")).join(", ")
    }

    /// The upper figure.
    pub fn count(self) -> u8 {
        self.count
    }

    /// The lower figure.
    pub fn unit(self) -> u8 {
        self.unit
    }

    /// The length of one unit: a quarter in 4/4, an eighth in 6/8.
    pub fn unit_length(self) -> Duration {
        Duration::of(4, u16::from(self.unit))
    }

    /// The length of a bar.
    pub fn bar(self) -> Duration {
        Duration::of(4 * i32::from(self.count), u16::from(self.unit))
    }

    /// The lengths, in units, of the groups that a bar falls into: 2 + 2 in 4/4.
    pub fn groups(self) -> &'static [u8] {
        METERS
            .iter()
            .find(|&&(c, u, _)| (c, u) == (self.count, self.unit))
            .map_or(&[], |&(_, _, groups)| groups)
    }

    /// Where a group starts, measured from the bar's start, for every group.
    pub fn group_starts(self) -> impl Iterator<Item = Duration> {
        let mut units = 0;
        self.groups().iter().map(move |&group| {
            let start = Duration::of(4 * units, u16::from(self.unit));
            units += i32::from(group);
            start
        })
    }

    /// The points inside a bar that notation always shows: the middle of 4/4, the dotted beats of 6/8. The beats of 3/4 are none.
    pub fn middles(self) -> impl Iterator<Item = Duration> {
        let lone = self.unit == 4 && self.groups().iter().all(|&group| group == 1);
        self.group_starts().skip(1).filter(move |_| !lone)
    }

    /// Whether beats are quarter notes or made of them, so that triplets of eighths fill a beat.
    pub fn has_quarter_beats(self) -> bool {
        self.unit <= 4
    }

    /// Where windows start in a bar: with its groups (the half-bars of 4/4, the bar in 3/4), or on every eighth.
    pub fn window_starts(self, every_eighth: bool) -> Vec<Duration> {
        if !every_eighth {
            return [Duration::ZERO].into_iter().chain(self.middles()).collect();
        }
        let eighths = 8 * i32::from(self.count) / i32::from(self.unit);
        (0..eighths).map(|eighth| Duration::of(eighth, 2)).collect()
    }

    /// The place of an onset, counted from the line's start.
    ///
    /// # Errors
    /// [`Error::Time`] for an onset before the start or one too far to count.
    pub fn place(self, onset: Onset) -> Result<Place> {
        let (bar, offset) = self.split(onset)?;
        let units = Duration::new(offset.numer() * i64::from(self.unit), offset.denom() * 4)?;
        Ok(Place { bar: bar + 1, beat: (units + Duration::QUARTER)? })
    }

    /// The onset of a place.
    ///
    /// ```
    /// use halfbar_core::meter::{Meter, Place};
    /// use halfbar_core::time::{Duration, Onset};
    ///
    /// let place = Place { bar: 2, beat: Duration::of(3, 1) };
    /// assert_eq!(Meter::COMMON.onset(place)?, Onset::at(6, 1));
    /// assert_eq!(Meter::COMMON.place(Onset::at(6, 1))?, place);
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Error::Place`] when there is no such bar or beat.
    pub fn onset(self, place: Place) -> Result<Onset> {
        let units = (place.beat - Duration::QUARTER)?;
        let offset =
            Duration::new(units.numer().saturating_mul(4), units.denom().saturating_mul(self.unit.into()))?;
        if place.bar == 0 || offset < Duration::ZERO || offset >= self.bar() {
            return Err(Error::Place { place, beats: self.count });
        }
        Onset::after((self.bar() * i64::from(place.bar - 1))?) + offset
    }

    /// The bar that holds `onset`, from 0, and how far into the bar it lies.
    ///
    /// # Errors
    /// [`Error::Time`] for an onset before the start or one too far to count.
    pub fn split(self, onset: Onset) -> Result<(u32, Duration)> {
        let (since, bar) = (onset.since_start(), self.bar());
        let bars = (i128::from(since.numer()) * i128::from(bar.denom()))
            .div_euclid(i128::from(since.denom()) * i128::from(bar.numer()));
        let index = u32::try_from(bars).map_err(|_| Error::Time)?;
        Ok((index, (since - (bar * i64::from(index))?)?))
    }

    /// The span of the bar with this index, from 0.
    ///
    /// # Errors
    /// [`Error::Time`] when it lies too far to count.
    pub fn bar_span(self, index: usize) -> Result<Span> {
        let index = i64::try_from(index).map_err(|_| Error::Time)?;
        Span::starting(Onset::after((self.bar() * index)?), self.bar())
    }
}

impl fmt::Display for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.count, self.unit)
    }
}

impl fmt::Debug for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Meter({self})")
    }
}

impl FromStr for Meter {
    type Err = Error;

    fn from_str(text: &str) -> Result<Meter> {
        let (count, unit) = text.split_once('/').ok_or(Error::Meter)?;
        let number = |text: &str| text.trim().parse().map_err(|_| Error::Meter);
        Meter::new(number(count)?, number(unit)?)
    }
}

impl fmt::Display for Place {
    /// `bar 2 beat 3`; half way to the next beat is `bar 2, the and of 3`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.beat.denom(), self.beat.numer()) {
            (2, halves) => write!(f, "bar {}, the and of {}", self.bar, halves / 2),
            _ => write!(f, "bar {} beat {}", self.bar, self.beat),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_fill_the_bar() {
        for (count, unit, groups) in METERS {
            assert_eq!(groups.iter().sum::<u8>(), count, "{count}/{unit}");
        }
    }

    #[test]
    fn beats_are_units() {
        let cut = Meter::new(2, 2).unwrap();
        assert_eq!(cut.place(Onset::at(6, 1)).unwrap(), Place { bar: 2, beat: Duration::of(2, 1) });
        assert_eq!(Meter::COMMON.place(Onset::at(1, 2)).unwrap().to_string(), "bar 1, the and of 1");
        assert_eq!(Meter::COMMON.place(Onset::at(5, 1)).unwrap().to_string(), "bar 2 beat 2");
    }

    #[test]
    fn no_fifth_beat_in_four() {
        let place = Place { bar: 1, beat: Duration::of(5, 1) };
        assert_eq!(Meter::COMMON.onset(place), Err(Error::Place { place, beats: 4 }));
    }
}
