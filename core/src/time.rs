//! Exact time in quarter notes: when ([`Onset`]), how long ([`Duration`]), from when to when ([`Span`]).
//!
//! An onset less an onset is a duration, an onset plus a duration is an onset, and two onsets can't be added:
//!
//! ```compile_fail
//! # use halfbar_core::time::Onset;
//! let nonsense = Onset::ZERO + Onset::ZERO;
//! ```
//!
//! Every operator is checked and returns a `Result`: a fraction never wraps and never becomes a float.
//!
//! ```
//! use halfbar_core::time::{Duration, Onset};
//!
//! let third = Duration::of(1, 3);
//! let beat_two = Onset::at(1, 1);
//! assert_eq!((beat_two + third)?.to_string(), "4/3");
//! assert_eq!(((beat_two + third)? - beat_two)?, third);
//! # Ok::<(), halfbar_core::Error>(())
//! ```

use std::fmt;
use std::ops::{Add, Div, Mul, Sub};
use std::str::FromStr;

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul, CheckedSub};

use crate::error::{Error, Result};

/// A length of time in quarter notes: an eighth note is 1/2. May be zero, and negative as the difference of two onsets.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Duration(Ratio<i64>);

/// A moment, in quarter notes from the start of whatever it is measured in (the line, unless said otherwise).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Onset(Ratio<i64>);

/// A stretch of time, half-open: `start` belongs to it, `end` does not. Never of negative length.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Span {
    start: Onset,
    end: Onset,
}

impl Duration {
    /// No time at all.
    pub const ZERO: Duration = Duration(Ratio::new_raw(0, 1));
    /// The plain note of a line: half a quarter.
    pub const EIGHTH: Duration = Duration::of(1, 2);
    /// The unit.
    pub const QUARTER: Duration = Duration::of(1, 1);

    /// `numer / denom` quarter notes, for literals and tables.
    ///
    /// # Panics
    /// When `denom` is 0; in a constant, that is a compile error.
    pub const fn of(numer: i32, denom: u16) -> Duration {
        assert!(denom > 0, "a duration's denominator is at least 1");
        let divisor = gcd(numer.unsigned_abs(), denom as u32) as i64;
        Duration(Ratio::new_raw(numer as i64 / divisor, denom as i64 / divisor))
    }

    /// `numer / denom` quarter notes from untrusted numbers, in lowest terms.
    ///
    /// # Errors
    /// [`Error::Time`] when `denom` is 0 or the fraction can't be held.
    pub fn new(numer: i64, denom: i64) -> Result<Duration> {
        if denom == 0 || denom == i64::MIN || numer == i64::MIN {
            return Err(Error::Time);
        }
        Ok(Duration(Ratio::new(numer, denom)))
    }

    /// The numerator in lowest terms; it carries the sign.
    pub fn numer(self) -> i64 {
        *self.0.numer()
    }

    /// The denominator in lowest terms, at least 1.
    pub fn denom(self) -> i64 {
        *self.0.denom()
    }

    /// The sum of many durations.
    ///
    /// # Errors
    /// [`Error::Time`] when it can't be held.
    pub fn sum(durations: impl IntoIterator<Item = Duration>) -> Result<Duration> {
        durations.into_iter().try_fold(Duration::ZERO, |sum, d| sum + d)
    }

    /// Whether this length is a whole number of `unit`s (`unit` not zero).
    pub fn is_multiple_of(self, unit: Duration) -> bool {
        self.0.checked_div(&unit.0).is_some_and(|q| q.is_integer())
    }

    /// The largest multiple of `unit` (above zero) that is not longer than this.
    ///
    /// # Errors
    /// [`Error::Time`] when it can't be held, or `unit` is zero.
    pub fn floor_to(self, unit: Duration) -> Result<Duration> {
        let times = self.0.checked_div(&unit.0).ok_or(Error::Time)?.floor().to_integer();
        unit * times
    }

    /// The same length as a float, for seconds and for staff spaces only.
    pub fn to_f64(self) -> f64 {
        self.numer() as f64 / self.denom() as f64
    }
}

impl Onset {
    /// The start.
    pub const ZERO: Onset = Onset(Ratio::new_raw(0, 1));

    /// `numer / denom` quarter notes after the start, for literals and tables.
    ///
    /// # Panics
    /// When `denom` is 0; in a constant, that is a compile error.
    pub const fn at(numer: i32, denom: u16) -> Onset {
        Onset::after(Duration::of(numer, denom))
    }

    /// The moment `duration` after the start.
    pub const fn after(duration: Duration) -> Onset {
        Onset(duration.0)
    }

    /// How long after the start this is.
    pub const fn since_start(self) -> Duration {
        Duration(self.0)
    }
}

impl Span {
    /// From `start` to `end`; `None` when `end` lies before `start`.
    pub fn new(start: Onset, end: Onset) -> Option<Span> {
        (start <= end).then_some(Span { start, end })
    }

    /// From `start`, `length` long.
    ///
    /// # Errors
    /// [`Error::Time`] when the end can't be held or `length` is negative.
    pub fn starting(start: Onset, length: Duration) -> Result<Span> {
        Span::new(start, (start + length)?).ok_or(Error::Time)
    }

    /// The first moment inside.
    pub fn start(self) -> Onset {
        self.start
    }

    /// The first moment after.
    pub fn end(self) -> Onset {
        self.end
    }

    /// How long it lasts.
    ///
    /// # Errors
    /// [`Error::Time`] when the difference can't be held.
    pub fn length(self) -> Result<Duration> {
        self.end - self.start
    }

    /// Whether `onset` lies inside; the end does not.
    pub fn contains(self, onset: Onset) -> bool {
        self.start <= onset && onset < self.end
    }

    /// Whether the two share some time; spans that only touch do not.
    ///
    /// ```
    /// use halfbar_core::time::{Duration, Onset, Span};
    ///
    /// let first = Span::starting(Onset::ZERO, Duration::of(2, 1))?;
    /// let second = Span::starting(Onset::at(2, 1), Duration::of(2, 1))?;
    /// assert!(!first.overlaps(second));
    /// assert!(first.overlaps(Span::starting(Onset::at(3, 2), Duration::QUARTER)?));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn overlaps(self, other: Span) -> bool {
        self.start < other.end && other.start < self.end
    }
}

const fn gcd(mut a: u32, mut b: u32) -> u32 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    if a == 0 { 1 } else { a }
}

/// Equal denominators are by far the commonest case in a line; they need no common multiple.
fn add(a: Ratio<i64>, b: Ratio<i64>) -> Result<Ratio<i64>> {
    if *a.denom() == 1 && *b.denom() == 1 {
        let sum = a.numer().checked_add(b.numer()).ok_or(Error::Time)?;
        return Ok(Ratio::new_raw(sum, 1));
    }
    a.checked_add(&b).ok_or(Error::Time)
}

fn sub(a: Ratio<i64>, b: Ratio<i64>) -> Result<Ratio<i64>> {
    if *a.denom() == 1 && *b.denom() == 1 {
        let difference = a.numer().checked_sub(b.numer()).ok_or(Error::Time)?;
        return Ok(Ratio::new_raw(difference, 1));
    }
    a.checked_sub(&b).ok_or(Error::Time)
}

impl Add for Duration {
    type Output = Result<Duration>;
    fn add(self, other: Duration) -> Result<Duration> {
        add(self.0, other.0).map(Duration)
    }
}

impl Sub for Duration {
    type Output = Result<Duration>;
    fn sub(self, other: Duration) -> Result<Duration> {
        sub(self.0, other.0).map(Duration)
    }
}

impl Add<Duration> for Onset {
    type Output = Result<Onset>;
    fn add(self, later: Duration) -> Result<Onset> {
        add(self.0, later.0).map(Onset)
    }
}

impl Sub<Duration> for Onset {
    type Output = Result<Onset>;
    fn sub(self, earlier: Duration) -> Result<Onset> {
        sub(self.0, earlier.0).map(Onset)
    }
}

impl Sub for Onset {
    type Output = Result<Duration>;
    fn sub(self, other: Onset) -> Result<Duration> {
        sub(self.0, other.0).map(Duration)
    }
}

impl Mul<i64> for Duration {
    type Output = Result<Duration>;
    fn mul(self, times: i64) -> Result<Duration> {
        self.0.checked_mul(&Ratio::new_raw(times, 1)).map(Duration).ok_or(Error::Time)
    }
}

impl Div<i64> for Duration {
    type Output = Result<Duration>;
    fn div(self, parts: i64) -> Result<Duration> {
        if parts == 0 {
            return Err(Error::Time);
        }
        self.0.checked_div(&Ratio::new_raw(parts, 1)).map(Duration).ok_or(Error::Time)
    }
}

impl FromStr for Duration {
    type Err = Error;

    /// `2` or `2/3`: digits only.
    fn from_str(text: &str) -> Result<Duration> {
        let (numer, denom) = text.split_once('/').unwrap_or((text, "1"));
        let number = |text: &str| match text.bytes().all(|b| b.is_ascii_digit()) {
            true => text.parse().map_err(|_| Error::Time),
            false => Err(Error::Time),
        };
        Duration::new(number(numer)?, number(denom)?)
    }
}

impl fmt::Display for Duration {
    /// `2`, `2/3`: a whole number has no denominator.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for Onset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Debug for Duration {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Duration({self})")
    }
}

impl fmt::Debug for Onset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Onset({self})")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn literals_are_in_lowest_terms() {
        assert_eq!(Duration::of(2, 6), Duration::new(-1, -3).unwrap());
        assert_eq!(Duration::of(0, 7).to_string(), "0");
        assert_eq!(Duration::of(-4, 6).to_string(), "-2/3");
    }

    #[test]
    fn what_does_not_fit_is_an_error() {
        let huge = Duration::new(i64::MAX, 1).unwrap();
        assert_eq!(huge + Duration::QUARTER, Err(Error::Time));
        assert_eq!(Onset::after(huge) + Duration::of(1, 3), Err(Error::Time));
        assert_eq!(huge * 2, Err(Error::Time));
        assert_eq!(Duration::QUARTER / 0, Err(Error::Time));
        assert_eq!(Duration::new(1, 0), Err(Error::Time));
        assert_eq!(Duration::new(i64::MIN, -1), Err(Error::Time));
    }

    #[test]
    fn multiples() {
        assert!(Duration::of(4, 1).is_multiple_of(Duration::of(2, 3)));
        assert!(!Duration::of(1, 1).is_multiple_of(Duration::of(2, 3)));
        assert!(!Duration::of(1, 1).is_multiple_of(Duration::ZERO));
    }
}
