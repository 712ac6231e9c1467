//! Points, widths and outlines in staff spaces. X grows to the right and y *down*.

use std::fmt;
use std::str::FromStr;

/// A length in staff spaces.
pub type Sp = f64;

/// A point on the page, or within a system.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Point {
    /// The distance to the right.
    pub x: Sp,
    /// The distance down.
    pub y: Sp,
}

/// A segment of an outline.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Segment {
    /// Starts a contour here.
    Move(Point),
    /// A straight line to here.
    Line(Point),
    /// A cubic curve with two control points, ending at the last point.
    Curve(Point, Point, Point),
}

impl Point {
    /// A point from its coordinates.
    pub fn new(x: Sp, y: Sp) -> Point {
        Point { x, y }
    }
}

impl Segment {
    /// This segment with its points mapped.
    pub fn map(self, to: impl Fn(Point) -> Point) -> Segment {
        match self {
            Segment::Move(at) => Segment::Move(to(at)),
            Segment::Line(at) => Segment::Line(to(at)),
            Segment::Curve(a, b, at) => Segment::Curve(to(a), to(b), to(at)),
        }
    }
}

/// The width of a system in staff spaces, from 20 to 1000.
///
/// ```
/// use halfbar_core::engrave::Width;
///
/// assert_eq!(Width::new(84.0)?.spaces(), 84.0);
/// assert_eq!(Width::nearest(7.0).spaces(), 20.0);
/// assert_eq!(Width::new(7.0).unwrap_err().to_string(), "a page must be 20 to 1000 staff spaces wide");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug)]
pub struct Width(Sp);

/// The error for a width that a page can't have.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[error("a page must be 20 to 1000 staff spaces wide")]
pub struct WidthError;

impl Width {
    /// The narrowest and the widest page.
    pub const RANGE: (Sp, Sp) = (20.0, 1000.0);
    /// A printed page: 100 staff spaces are 180 mm with a staff 7.2 mm tall.
    pub const PRINTED: Width = Width(100.0);

    /// A width in staff spaces.
    ///
    /// # Errors
    /// [`WidthError`] outside [`Width::RANGE`], or for NaN.
    pub fn new(spaces: Sp) -> Result<Width, WidthError> {
        let (least, most) = Width::RANGE;
        match (least..=most).contains(&spaces) {
            true => Ok(Width(spaces)),
            false => Err(WidthError),
        }
    }

    /// The allowed width nearest to a measured one; the narrowest for NaN.
    pub fn nearest(spaces: Sp) -> Width {
        let (least, most) = Width::RANGE;
        // In this order, `max` and `min` never return NaN.
        Width(spaces.max(least).min(most))
    }

    /// The width in staff spaces.
    pub fn spaces(self) -> Sp {
        self.0
    }
}

impl FromStr for Width {
    type Err = WidthError;

    /// Reads a number of staff spaces, such as `84` or `62.5`.
    fn from_str(text: &str) -> Result<Width, WidthError> {
        Width::new(text.parse().map_err(|_| WidthError)?)
    }
}

impl fmt::Display for Width {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_are_read_as_they_are_written() {
        for text in ["20", "62.5", "1000"] {
            assert_eq!(text.parse::<Width>().unwrap().to_string(), text);
        }
        for wrong in ["19.9", "1001", "-50", "nan", "inf", "wide", ""] {
            assert_eq!(wrong.parse::<Width>(), Err(WidthError), "{wrong}");
        }
        assert_eq!([f64::NAN, f64::INFINITY, -1.0].map(|s| Width::nearest(s).spaces()), [20.0, 1000.0, 20.0]);
    }
}
