//! Exact time in quarter notes: a moment ([`Onset`]), a length ([`Duration`]) and a range ([`Span`]).
//!
//! The difference of two onsets is a duration, an onset plus a duration is an onset, and two onsets can't be
//! added:
//!
//! ```compile_fail
//! # use halfbar_core::time::Onset;
//! let nonsense = Onset::ZERO.checked_add(Onset::ZERO);
//! ```
//!
//! Arithmetic is checked: it never wraps and never falls back to floats.
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

/// The error for a time that doesn't fit in a 64-bit fraction, or for a division by zero.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error(
    "this time is out of range: its numerator and denominator must fit in 63 bits, and the denominator can't be 0"
)]
pub struct TimeError;

/// The error for text that isn't a length of time.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error(
    "`{text}` is not a length: write quarter notes as a whole number or a fraction, such as `2` or `2/3`"
)]
pub struct ParseTimeError {
    /// The text that was read.
    pub text: String,
}

type Result<T> = std::result::Result<T, TimeError>;

/// A length of time in quarter notes: an eighth note is 1/2. It may be zero, and the difference of two onsets
/// may be negative.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Duration(Ratio<i64>);

/// A moment, in quarter notes from the start of the line unless noted otherwise.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Onset(Ratio<i64>);

/// A half-open range of time: it includes `start` and excludes `end`. Its length is never negative.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Span {
    start: Onset,
    end: Onset,
}

impl Duration {
    /// A length of zero.
    pub const ZERO: Duration = Duration(Ratio::new_raw(0, 1));
    /// An eighth note, the basic note of a plain line.
    pub const EIGHTH: Duration = Duration::of(1, 2);
    /// A quarter note, the unit of time.
    pub const QUARTER: Duration = Duration::of(1, 1);

    /// `numer / denom` quarter notes, for constants and tables.
    ///
    /// # Panics
    /// If `denom` is 0. In a constant, that is a compile error.
    pub const fn of(numer: i32, denom: u16) -> Duration {
        assert!(denom > 0, "a duration's denominator is at least 1");
        let divisor = gcd(numer.unsigned_abs(), denom as u32) as i64;
        Duration(Ratio::new_raw(numer as i64 / divisor, denom as i64 / divisor))
    }

    /// `numer / denom` quarter notes from untrusted numbers, reduced to lowest terms.
    ///
    /// # Errors
    /// [`TimeError`] if `denom` is 0 or the fraction is out of range.
    pub fn new(numer: i64, denom: i64) -> Result<Duration> {
        if denom == 0 || denom == i64::MIN || numer == i64::MIN {
            return Err(TimeError);
        }
        Ok(Duration(Ratio::new(numer, denom)))
    }

    /// The numerator in lowest terms, with the sign.
    pub fn numer(self) -> i64 {
        *self.0.numer()
    }

    /// The denominator in lowest terms, at least 1.
    pub fn denom(self) -> i64 {
        *self.0.denom()
    }

    /// The sum of several durations.
    ///
    /// # Errors
    /// [`TimeError`] if the sum is out of range.
    pub fn sum(durations: impl IntoIterator<Item = Duration>) -> Result<Duration> {
        durations.into_iter().try_fold(Duration::ZERO, Duration::checked_add)
    }

    /// The sum of two lengths.
    ///
    /// # Errors
    /// [`TimeError`] if the sum is out of range.
    pub fn checked_add(self, other: Duration) -> Result<Duration> {
        add(self.0, other.0).map(Duration)
    }

    /// This length minus another; negative if the other is longer.
    ///
    /// # Errors
    /// [`TimeError`] if the difference is out of range.
    pub fn checked_sub(self, other: Duration) -> Result<Duration> {
        sub(self.0, other.0).map(Duration)
    }

    /// This length times a whole number.
    ///
    /// # Errors
    /// [`TimeError`] if the product is out of range.
    pub fn checked_mul(self, times: i64) -> Result<Duration> {
        self.0.checked_mul(&Ratio::new_raw(times, 1)).map(Duration).ok_or(TimeError)
    }

    /// The length of one part when this length is divided into equal parts.
    ///
    /// # Errors
    /// [`TimeError`] if `parts` is 0 or the quotient is out of range.
    pub fn checked_div(self, parts: i64) -> Result<Duration> {
        if parts == 0 {
            return Err(TimeError);
        }
        self.0.checked_div(&Ratio::new_raw(parts, 1)).map(Duration).ok_or(TimeError)
    }

    /// Whether this length is a whole number of `unit`s; false if `unit` is zero.
    pub fn is_multiple_of(self, unit: Duration) -> bool {
        self.0.checked_div(&unit.0).is_some_and(|q| q.is_integer())
    }

    /// The largest multiple of `unit` that is no longer than this length. `unit` must be positive.
    ///
    /// # Errors
    /// [`TimeError`] if `unit` is zero or the result is out of range.
    pub fn floor_to(self, unit: Duration) -> Result<Duration> {
        let times = self.0.checked_div(&unit.0).ok_or(TimeError)?.floor().to_integer();
        unit.checked_mul(times)
    }

    /// This length as a float, for seconds and staff spaces only.
    pub fn to_f64(self) -> f64 {
        self.numer() as f64 / self.denom() as f64
    }
}

impl Onset {
    /// The start of the line.
    pub const ZERO: Onset = Onset(Ratio::new_raw(0, 1));

    /// The moment `numer / denom` quarter notes after the start, for constants and tables.
    ///
    /// # Panics
    /// If `denom` is 0. In a constant, that is a compile error.
    pub const fn at(numer: i32, denom: u16) -> Onset {
        Onset::after(Duration::of(numer, denom))
    }

    /// The moment `duration` after the start.
    pub const fn after(duration: Duration) -> Onset {
        Onset(duration.0)
    }

    /// The time from the start to this moment.
    pub const fn since_start(self) -> Duration {
        Duration(self.0)
    }

    /// This moment plus a length.
    ///
    /// # Errors
    /// [`TimeError`] if the result is out of range.
    pub fn checked_add(self, later: Duration) -> Result<Onset> {
        add(self.0, later.0).map(Onset)
    }

    /// This moment minus a length.
    ///
    /// # Errors
    /// [`TimeError`] if the result is out of range.
    pub fn checked_sub(self, earlier: Duration) -> Result<Onset> {
        sub(self.0, earlier.0).map(Onset)
    }

    /// The time from `earlier` to this moment; negative if `earlier` is in fact later.
    ///
    /// # Errors
    /// [`TimeError`] if the difference is out of range.
    pub fn checked_since(self, earlier: Onset) -> Result<Duration> {
        sub(self.0, earlier.0).map(Duration)
    }
}

impl Span {
    /// The range from `start` to `end`, or `None` if `end` is before `start`.
    pub fn new(start: Onset, end: Onset) -> Option<Span> {
        (start <= end).then_some(Span { start, end })
    }

    /// The range that starts at `start` and lasts for `length`.
    ///
    /// # Errors
    /// [`TimeError`] if the end is out of range or `length` is negative.
    pub fn starting(start: Onset, length: Duration) -> Result<Span> {
        Span::new(start, start.checked_add(length)?).ok_or(TimeError)
    }

    /// The first moment of the range.
    pub fn start(self) -> Onset {
        self.start
    }

    /// The end of the range, which is not part of it.
    pub fn end(self) -> Onset {
        self.end
    }

    /// How long the range lasts.
    ///
    /// # Errors
    /// [`TimeError`] if the length is out of range.
    pub fn length(self) -> Result<Duration> {
        self.end.checked_since(self.start)
    }

    /// Whether `onset` lies in the range. The start does; the end doesn't.
    pub fn contains(self, onset: Onset) -> bool {
        self.start <= onset && onset < self.end
    }

    /// Whether the two ranges share any time. Ranges that only touch don't overlap.
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

/// Most sums in a line are of whole numbers, which need no common denominator.
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

    /// Reads `2`, `2/3` or `-1/2`: digits, optionally after a minus sign.
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

    /// Reads it like a [`Duration`] since the start of the line.
    fn from_str(text: &str) -> std::result::Result<Onset, ParseTimeError> {
        text.parse().map(Onset::after)
    }
}

impl fmt::Display for Duration {
    /// Writes `2` or `2/3`: a whole number has no denominator.
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
