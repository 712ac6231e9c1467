//! Exact time in quarter notes: when ([`Onset`]), how long ([`Duration`]), from when to when ([`Span`]).
//!
//! An onset less an onset is a duration, an onset plus a duration is an onset, and two onsets can't be added:
//!
//! ```compile_fail
//! # use halfbar_core::time::Onset;
//! let nonsense = Onset::ZERO.checked_add(Onset::ZERO);
//! ```
//!
//! Arithmetic is checked: a fraction never wraps and never becomes a float.
//!
//! ```
//! use halfbar_core::time::{Duration, Onset};
//!
//! let third = Duration::of(1, 3);
//! let beat_two = Onset::at(1, 1);
//! assert_eq!(beat_two.checked_add(third)?.to_string(), "4/3");
//! assert_eq!(beat_two.checked_add(third)?.checked_since(beat_two)?, third);
//! # Ok::<(), halfbar_core::time::TimeError>(())
//! ```

use std::fmt;
use std::str::FromStr;

use num_rational::Ratio;
use num_traits::{CheckedAdd, CheckedDiv, CheckedMul, CheckedSub};

use crate::naming::quoted;

/// A time that 64-bit fractions can't hold.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error(
    "this time is out of range: its numerator and denominator must fit in 63 bits, and the denominator can't be 0"
)]
pub struct TimeError;

/// A text that is not a length of time.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error(
    "`{text}` is not a length: write quarter notes as a whole number or a fraction, such as `2` or `2/3`"
)]
pub struct ParseTimeError {
    /// What was read.
    pub text: String,
}

type Result<T> = std::result::Result<T, TimeError>;

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
    /// [`TimeError`] when `denom` is 0 or the fraction can't be held.
    pub fn new(numer: i64, denom: i64) -> Result<Duration> {
        if denom == 0 || denom == i64::MIN || numer == i64::MIN {
            return Err(TimeError);
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
    /// [`TimeError`] when it can't be held.
    pub fn sum(durations: impl IntoIterator<Item = Duration>) -> Result<Duration> {
        durations.into_iter().try_fold(Duration::ZERO, Duration::checked_add)
    }

    /// This length and another one.
    ///
    /// # Errors
    /// [`TimeError`] when the sum can't be held.
    pub fn checked_add(self, other: Duration) -> Result<Duration> {
        add(self.0, other.0).map(Duration)
    }

    /// This length less another one; negative when that is longer.
    ///
    /// # Errors
    /// [`TimeError`] when the difference can't be held.
    pub fn checked_sub(self, other: Duration) -> Result<Duration> {
        sub(self.0, other.0).map(Duration)
    }

    /// This length so many times.
    ///
    /// # Errors
    /// [`TimeError`] when the product can't be held.
    pub fn checked_mul(self, times: i64) -> Result<Duration> {
        self.0.checked_mul(&Ratio::new_raw(times, 1)).map(Duration).ok_or(TimeError)
    }

    /// One of so many equal parts of this length.
    ///
    /// # Errors
    /// [`TimeError`] for 0 parts, or when the quotient can't be held.
    pub fn checked_div(self, parts: i64) -> Result<Duration> {
        if parts == 0 {
            return Err(TimeError);
        }
        self.0.checked_div(&Ratio::new_raw(parts, 1)).map(Duration).ok_or(TimeError)
    }

    /// Whether this length is a whole number of `unit`s (`unit` not zero).
    pub fn is_multiple_of(self, unit: Duration) -> bool {
        self.0.checked_div(&unit.0).is_some_and(|q| q.is_integer())
    }

    /// The largest multiple of `unit` (above zero) that is not longer than this.
    ///
    /// # Errors
    /// [`TimeError`] when it can't be held, or `unit` is zero.
    pub fn floor_to(self, unit: Duration) -> Result<Duration> {
        let times = self.0.checked_div(&unit.0).ok_or(TimeError)?.floor().to_integer();
        unit.checked_mul(times)
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

    /// The moment so much later.
    ///
    /// # Errors
    /// [`TimeError`] when it can't be held.
    pub fn checked_add(self, later: Duration) -> Result<Onset> {
        add(self.0, later.0).map(Onset)
    }

    /// The moment so much earlier.
    ///
    /// # Errors
    /// [`TimeError`] when it can't be held.
    pub fn checked_sub(self, earlier: Duration) -> Result<Onset> {
        sub(self.0, earlier.0).map(Onset)
    }

    /// How long after another moment this is; negative when it comes before.
    ///
    /// # Errors
    /// [`TimeError`] when the difference can't be held.
    pub fn checked_since(self, earlier: Onset) -> Result<Duration> {
        sub(self.0, earlier.0).map(Duration)
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
    /// [`TimeError`] when the end can't be held or `length` is negative.
    pub fn starting(start: Onset, length: Duration) -> Result<Span> {
        Span::new(start, start.checked_add(length)?).ok_or(TimeError)
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
    /// [`TimeError`] when the difference can't be held.
    pub fn length(self) -> Result<Duration> {
        self.end.checked_since(self.start)
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
    /// # Ok::<(), halfbar_core::time::TimeError>(())
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
        let sum = a.numer().checked_add(b.numer()).ok_or(TimeError)?;
        return Ok(Ratio::new_raw(sum, 1));
    }
    a.checked_add(&b).ok_or(TimeError)
}

fn sub(a: Ratio<i64>, b: Ratio<i64>) -> Result<Ratio<i64>> {
    if *a.denom() == 1 && *b.denom() == 1 {
        let difference = a.numer().checked_sub(b.numer()).ok_or(TimeError)?;
        return Ok(Ratio::new_raw(difference, 1));
    }
    a.checked_sub(&b).ok_or(TimeError)
}

impl FromStr for Duration {
    type Err = ParseTimeError;

    /// `2`, `2/3`, `-1/2`: digits, perhaps after a minus sign.
    fn from_str(text: &str) -> std::result::Result<Duration, ParseTimeError> {
        let (sign, size) = text.strip_prefix('-').map_or((1, text), |size| (-1, size));
        let (numer, denom) = size.split_once('/').unwrap_or((size, "1"));
        let number = |text: &str| -> Option<i64> {
            text.bytes().all(|b| b.is_ascii_digit()).then(|| text.parse().ok()).flatten()
        };
        let read = || Duration::new(sign * number(numer)?, number(denom)?).ok();
        read().ok_or_else(|| ParseTimeError { text: quoted(text) })
    }
}

impl FromStr for Onset {
    type Err = ParseTimeError;

    /// As a [`Duration`] since the start.
    fn from_str(text: &str) -> std::result::Result<Onset, ParseTimeError> {
        text.parse().map(Onset::after)
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
        assert_eq!(huge.checked_add(Duration::QUARTER), Err(TimeError));
        assert_eq!(Onset::after(huge).checked_add(Duration::of(1, 3)), Err(TimeError));
        assert_eq!(huge.checked_mul(2), Err(TimeError));
        assert_eq!(Duration::QUARTER.checked_div(0), Err(TimeError));
        assert_eq!(Duration::new(1, 0), Err(TimeError));
        assert_eq!(Duration::new(i64::MIN, -1), Err(TimeError));
    }

    #[test]
    fn lengths_are_read_as_they_are_written() {
        for text in ["0", "2", "2/3", "-1/2", "-7"] {
            assert_eq!(text.parse::<Duration>().unwrap().to_string(), text);
        }
        for wrong in ["", "-", "--1", "1/", "/2", "1/0", "1/-2", "+1", "0x1", "9223372036854775808"] {
            assert_eq!(wrong.parse::<Duration>(), Err(ParseTimeError { text: wrong.into() }), "{wrong}");
        }
    }

    #[test]
    fn multiples() {
        assert!(Duration::of(4, 1).is_multiple_of(Duration::of(2, 3)));
        assert!(!Duration::of(1, 1).is_multiple_of(Duration::of(2, 3)));
        assert!(!Duration::of(1, 1).is_multiple_of(Duration::ZERO));
    }
}
