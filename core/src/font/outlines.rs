//! The outlines of the faces, as packed by `core/glyphs/extract`: less than half the size of SVG path data,
//! gzipped.
//!
//! A face is a sequence of integers. For each outline: how much its key exceeds the previous one, its
//! advance, and its number of contours; for each contour its number of points; for each point the step in x,
//! doubled, plus 1 if the point is on the curve, and the step in y. Steps are relative to the point before
//! (the first to the origin), with the sign in the lowest bit. The curves are TrueType's: quadratic, with an
//! implied point on the curve halfway between two that are off it.

use std::sync::LazyLock;

use crate::geometry::{Point, Segment};

/// One outline. Its numbers are thousandths of an em, with y pointing down.
pub(super) struct Outline {
    /// The code point of a letter, or the index of a sign in `Glyph`.
    pub(super) key: u32,
    pub(super) advance: u32,
    /// Left, top, right and bottom.
    pub(super) bounds: [i32; 4],
    contours: Numbers,
}

/// The outlines of a face, by key.
pub(super) type Outlines = LazyLock<Vec<Outline>>;

/// From Noto Music 5.3.0, at 250 units per staff space.
pub(super) static MUSIC: Outlines = LazyLock::new(|| read(include_bytes!("../../glyphs/music.outlines")));
pub(super) static REGULAR: Outlines = LazyLock::new(|| read(include_bytes!("../../glyphs/regular.outlines")));
pub(super) static SEMIBOLD: Outlines =
    LazyLock::new(|| read(include_bytes!("../../glyphs/semibold.outlines")));
pub(super) static BLACK: Outlines = LazyLock::new(|| read(include_bytes!("../../glyphs/black.outlines")));
pub(super) static BOLD_ITALIC: Outlines =
    LazyLock::new(|| read(include_bytes!("../../glyphs/bold-italic.outlines")));

/// A point in an outline: x and y.
pub(crate) type Spot = [i32; 2];

/// A step along a contour.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Contour {
    /// Starts the contour here.
    Start(Spot),
    /// A straight line to here.
    Line(Spot),
    /// A quadratic curve to the second point, with the first as its control point.
    Curve(Spot, Spot),
    /// Back to the start.
    Close,
}

fn read(face: &'static [u8]) -> Vec<Outline> {
    let (mut numbers, mut key) = (Numbers(face), 0);
    let mut outlines = Vec::new();
    while !numbers.0.is_empty() {
        key += numbers.next();
        let advance = numbers.next();
        let contours = numbers;
        let bounds = bounds(&mut numbers);
        outlines.push(Outline { key, advance, bounds, contours });
    }
    outlines
}

/// Walks along the contours that come next.
fn trace(numbers: &mut Numbers, each: &mut dyn FnMut(Contour)) {
    let mut at = [0, 0];
    for _ in 0..numbers.next() {
        let mut start = None;
        // A point off the curve, waiting for the end of its segment.
        let mut waits = None;
        for _ in 0..numbers.next() {
            let x = numbers.next();
            at = [at[0] + signed(x / 2), at[1] + signed(numbers.next())];
            let on_curve = x % 2 == 1;
            match waits {
                _ if start.is_none() => {
                    start = Some(at);
                    each(Contour::Start(at));
                }
                Some(control) if on_curve => each(Contour::Curve(control, at)),
                Some(control) => each(Contour::Curve(control, middle(control, at))),
                None if on_curve => each(Contour::Line(at)),
                None => {}
            }
            waits = (!on_curve).then_some(at);
        }
        if let (Some(control), Some(start)) = (waits, start) {
            each(Contour::Curve(control, start));
        }
        each(Contour::Close);
    }
}

/// The midpoint in whole units; halves are rounded to even.
fn middle(a: Spot, b: Spot) -> Spot {
    [0, 1].map(|axis| whole(f64::from(a[axis] + b[axis]) / 2.0))
}

/// A length of an outline in whole units.
#[allow(clippy::cast_possible_truncation)]
fn whole(length: f64) -> i32 {
    length.round_ties_even() as i32
}

/// The smallest box around the contours that come next.
fn bounds(numbers: &mut Numbers) -> [i32; 4] {
    let mut bounds = None;
    let mut at = [0, 0];
    trace(numbers, &mut |step| {
        let (control, to) = match step {
            Contour::Start(to) | Contour::Line(to) => (to, to),
            Contour::Curve(control, to) => (control, to),
            Contour::Close => return,
        };
        let turn = [0, 1].map(|axis| turn(at[axis], control[axis], to[axis]));
        for [x, y] in [to, turn] {
            let [l, t, r, b] = bounds.unwrap_or([x, y, x, y]);
            bounds = Some([l.min(x), t.min(y), r.max(x), b.max(y)]);
        }
        at = to;
    });
    bounds.unwrap_or_default()
}

/// How far a curve from `a` to `c` extends along one axis, which is past its ends if its control point `b` is
/// outside them.
fn turn(a: i32, b: i32, c: i32) -> i32 {
    if (a.min(c)..=a.max(c)).contains(&b) {
        return c;
    }
    whole(f64::from(a * c - b * b) / f64::from(a + c - 2 * b))
}

impl Outline {
    /// The contours as a shape.
    pub(super) fn segments(&self) -> Vec<Segment> {
        let point = |[x, y]: Spot| Point::new(x.into(), y.into());
        let (mut segments, mut at) = (Vec::new(), Point::new(0.0, 0.0));
        self.trace(&mut |step| {
            let to = match step {
                Contour::Start(to) | Contour::Line(to) | Contour::Curve(_, to) => point(to),
                Contour::Close => return,
            };
            segments.push(match step {
                Contour::Start(_) => Segment::Move(to),
                Contour::Curve(control, _) => {
                    // The same curve with two control points, each two thirds of the way to the single one.
                    let control = point(control);
                    let near = |end: Point| {
                        let part = |end: f64, control: f64| end + (control - end) * 2.0 / 3.0;
                        Point::new(part(end.x, control.x), part(end.y, control.y))
                    };
                    Segment::Curve(near(at), near(to), to)
                }
                _ => Segment::Line(to),
            });
            at = to;
        });
        segments
    }

    /// Walks along its contours.
    pub(super) fn trace(&self, each: &mut dyn FnMut(Contour)) {
        trace(&mut self.contours.clone(), each);
    }
}

/// Integers in groups of seven bits, lowest first; the eighth bit of each byte says whether more follow.
#[derive(Clone, Copy)]
struct Numbers(&'static [u8]);

impl Numbers {
    /// The next number; 0 at the end.
    fn next(&mut self) -> u32 {
        let (mut number, mut shift) = (0, 0);
        while let Some((byte, rest)) = self.0.split_first() {
            self.0 = rest;
            number |= u32::from(byte & 0x7f) << shift;
            shift += 7;
            if *byte < 0x80 {
                break;
            }
        }
        number
    }
}

/// A number with its sign in the lowest bit: 0, -1, 1, -2, 2 and so on.
fn signed(number: u32) -> i32 {
    let half = (number / 2).cast_signed();
    if number.is_multiple_of(2) { half } else { -half - 1 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The bytes are written by hand, following the description above.
    #[test]
    fn outlines_are_unpacked() {
        let square = [65, 0x90, 3, 1, 4, 1, 0, 0xc9, 1, 0, 1, 99, 0xc7, 1, 0];
        // From 0 0 by way of two points off the curve, 10 1 and 25 1, to 35 0, and back along a curve by way
        // of 0 -21.
        let bow = [1, 7, 1, 5, 1, 0, 40, 2, 60, 0, 41, 1, 0x8a, 1, 41];
        let face: Vec<u8> = square.into_iter().chain(bow).collect();
        let outlines = read(face.leak());
        let told = |outline: &Outline| {
            let mut steps = Vec::new();
            outline.trace(&mut |step| steps.push(step));
            (outline.key, outline.advance, outline.bounds, steps)
        };
        let told: Vec<_> = outlines.iter().map(told).collect();
        let square = [
            Contour::Start([0, 0]),
            Contour::Line([50, 0]),
            Contour::Line([50, -50]),
            Contour::Line([0, -50]),
        ];
        assert_eq!(told[0], (65, 400, [0, -50, 50, 0], [&square[..], &[Contour::Close]].concat()));
        let bow = [
            Contour::Start([0, 0]),
            Contour::Curve([10, 1], [18, 1]),
            Contour::Curve([25, 1], [35, 0]),
            Contour::Curve([0, -21], [0, 0]),
            Contour::Close,
        ];
        assert_eq!(told[1], (66, 7, [0, -10, 35, 1], bow.into()));
    }
}
