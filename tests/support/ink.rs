//! The ink of a sign, column by column. This is finer than its box, much of which is white under a slope or a curve.

use halfbar_core::scene::{Item, Placed, Segment, Sp};
use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape};

/// How wide a column is.
pub const COLUMN: Sp = 0.01;
/// How far a straight line may be from the curve that it approximates.
const FLATNESS: Sp = 0.005;

/// The top and bottom of a sign's ink in each column. What it encloses counts as ink.
#[derive(Clone, Debug)]
pub struct Ink {
    first: usize,
    columns: Vec<(Sp, Sp)>,
}

impl Ink {
    /// The ink of a sign at its place. Words count as their box: anything that reaches between two letters makes them hard to read.
    pub fn of(placed: &Placed) -> Ink {
        let path = Affine::translate((placed.at.x, placed.at.y)) * outline(&placed.item);
        let bounds = path.bounding_box();
        let is_text = matches!(placed.item, Item::Text { .. });
        let path = if is_text { bounds.to_path(FLATNESS) } else { path };
        let first = column(bounds.x0);
        let mut ink = Ink { first, columns: vec![(Sp::MAX, Sp::MIN); column(bounds.x1) - first + 1] };
        let (mut start, mut at) = (Point::ZERO, Point::ZERO);
        kurbo::flatten(&path, FLATNESS, |element| match element {
            PathEl::MoveTo(to) => (start, at) = (to, to),
            PathEl::LineTo(to) => ink.add(std::mem::replace(&mut at, to), to),
            _ => ink.add(std::mem::replace(&mut at, start), start),
        });
        ink
    }

    /// Adds a straight part of the outline.
    fn add(&mut self, a: Point, b: Point) {
        let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
        for index in column(a.x)..=column(b.x) {
            let left = position(index);
            let y =
                |x: Sp| if b.x > a.x { a.lerp(b, ((x - a.x) / (b.x - a.x)).clamp(0.0, 1.0)).y } else { a.y };
            let ends = if b.x > a.x { [y(left), y(left + COLUMN)] } else { [a.y, b.y] };
            if let Some((top, bottom)) = index.checked_sub(self.first).and_then(|at| self.columns.get_mut(at))
            {
                (*top, *bottom) = (top.min(ends[0]).min(ends[1]), bottom.max(ends[0]).max(ends[1]));
            }
        }
    }

    /// The smallest box around it: left, top, right, bottom.
    pub fn bounds(&self) -> [Sp; 4] {
        let top = self.columns.iter().map(|span| span.0).fold(Sp::MAX, Sp::min);
        let bottom = self.columns.iter().map(|span| span.1).fold(Sp::MIN, Sp::max);
        [position(self.first), top, position(self.first + self.columns.len()), bottom]
    }

    /// Whether the two overlap by more than `tolerance` in both directions.
    pub fn overlaps(&self, other: &Ink, tolerance: Sp) -> bool {
        let first = self.first.max(other.first);
        let after = (self.first + self.columns.len()).min(other.first + other.columns.len());
        // Two signs that only touch may share the columns at their edges.
        let mut breadth = -2.0 * COLUMN;
        (first..after).any(|column| {
            let (ours, theirs) = (self.columns[column - self.first], other.columns[column - other.first]);
            let depth = ours.1.min(theirs.1) - ours.0.max(theirs.0);
            breadth = if depth > tolerance { breadth + COLUMN } else { -2.0 * COLUMN };
            breadth > tolerance
        })
    }
}

/// Nothing is this far left of the page.
const LEFT: Sp = 100.0;

fn column(x: Sp) -> usize {
    // A page is a few hundred spaces wide; `as` saturates for anything absurd.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let column = ((x + LEFT) / COLUMN) as usize;
    column
}

fn position(column: usize) -> Sp {
    f64::from(u32::try_from(column).unwrap()) * COLUMN - LEFT
}

/// The outline of a sign, its origin at 0.
pub fn outline(item: &Item) -> BezPath {
    let scaled = |(segments, unit): (Vec<Segment>, f64)| Affine::scale(unit) * closed(&segments);
    match item {
        Item::Glyph(glyph, size) => Affine::scale(*size) * scaled(glyph.segments()),
        Item::Rect { width, height } => Rect::new(0.0, 0.0, *width, *height).to_path(FLATNESS),
        Item::Text { face, size, text } if face.has(text) => {
            let (mut path, mut pen) = (BezPath::new(), 0.0);
            for letter in text.chars() {
                if let Some(outline) = face.segments(letter) {
                    path.extend(Affine::translate((pen, 0.0)) * scaled(outline));
                }
                pen += face.advance(letter);
            }
            Affine::scale(*size) * path
        }
        // It will be drawn in another font.
        Item::Text { .. } => {
            let [left, top, right, bottom] = item.bounds();
            Rect::new(left, top, right, bottom).to_path(FLATNESS)
        }
        Item::Shape(segments) => closed(segments),
    }
}

/// Contours that end where they start.
fn closed(segments: &[Segment]) -> BezPath {
    let point = |point: halfbar_core::scene::Point| Point::new(point.x, point.y);
    let mut path = BezPath::new();
    for segment in segments {
        match *segment {
            Segment::Move(to) => {
                if !path.is_empty() {
                    path.close_path();
                }
                path.move_to(point(to));
            }
            Segment::Line(to) => path.line_to(point(to)),
            Segment::Curve(a, b, to) => path.curve_to(point(a), point(b), point(to)),
        }
    }
    if !path.is_empty() {
        path.close_path();
    }
    path
}
