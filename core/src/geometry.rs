//! Places and outlines in staff spaces: x grows to the right, y *down*.

/// A length in staff spaces.
pub type Sp = f64;

/// A place on the page, or within a system.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Point {
    /// To the right.
    pub x: Sp,
    /// Down.
    pub y: Sp,
}

/// A piece of a shape's outline.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Segment {
    /// Starts here.
    Move(Point),
    /// Straight to here.
    Line(Point),
    /// By a cubic curve with two control points to here.
    Curve(Point, Point, Point),
}

impl Point {
    /// A point from its coordinates.
    pub fn new(x: Sp, y: Sp) -> Point {
        Point { x, y }
    }
}

impl Segment {
    /// The same piece with its points elsewhere.
    pub fn map(self, to: impl Fn(Point) -> Point) -> Segment {
        match self {
            Segment::Move(at) => Segment::Move(to(at)),
            Segment::Line(at) => Segment::Line(to(at)),
            Segment::Curve(a, b, at) => Segment::Curve(to(a), to(b), to(at)),
        }
    }
}
