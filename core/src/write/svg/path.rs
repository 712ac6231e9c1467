//! Path data: signs of a scene as one path.
//!
//! A unit is one of the music font's, so that its outlines are written as they are. All numbers are whole: half a unit is 0.002 staff
//! spaces. A sign starts at a place on the page and continues from there in the shortest relative form.

use crate::font::{Contour, Face, Glyph, Spot, UNITS_A_SPACE, UNITS_AN_EM};
use crate::scene::{Item, Placed, Point, Segment};

/// Units per staff space.
pub(super) const UNITS: f64 = UNITS_A_SPACE;

/// A point in a system, whose edges are at most a few thousand spaces away.
fn spot(at: Point) -> Spot {
    [whole(at.x * UNITS), whole(at.y * UNITS)]
}

fn whole(length: f64) -> i32 {
    // `as` saturates.
    #[allow(clippy::cast_possible_truncation)]
    let whole = length.round() as i32;
    whole
}

/// Draws signs, and keeps the path data of each outline at each size for the next time.
#[derive(Default)]
pub(super) struct Pen {
    /// By outline and size, in order.
    known: Vec<((Outline, u64), Contours)>,
}

#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Outline {
    Sign(Glyph),
    Letter(Face, char),
}

impl Pen {
    /// Draws a sign, unless it is text with letters that have no outlines. All contours run clockwise, except those of holes, so overlapping
    /// signs leave no holes with the default fill rule, `nonzero`.
    pub(super) fn draw(&mut self, out: &mut String, placed: &Placed) {
        let Placed { at, item } = placed;
        match item {
            Item::Glyph(glyph, size) => self.sign(out, Outline::Sign(*glyph), *at, *size),
            Item::Text { face, size, text } if face.has(text) => {
                let (mut x, scale) = (at.x, size * UNITS / UNITS_AN_EM);
                for letter in text.chars() {
                    self.sign(out, Outline::Letter(*face, letter), Point::new(x, at.y), scale);
                    x += face.advance(letter) * size;
                }
            }
            Item::Text { .. } => {}
            Item::Rect { width, height } => {
                let [left, top] = spot(*at);
                let [right, bottom] = spot(Point::new(at.x + width, at.y + height));
                let [width, height] = [right - left, bottom - top];
                put(out, 'M', &[left, top]);
                put(out, 'h', &[width]);
                put(out, 'v', &[height]);
                put(out, 'h', &[-width]);
                out.push('z');
            }
            Item::Shape(segments) => Contours::of(segments, *at).put(out, [0, 0]),
        }
    }

    /// Draws an outline at `scale` units to one of its own.
    fn sign(&mut self, out: &mut String, outline: Outline, at: Point, scale: f64) {
        let key = (outline, scale.to_bits());
        let index = match self.known.binary_search_by_key(&key, |(key, _)| *key) {
            Ok(index) => index,
            Err(index) => {
                self.known.insert(index, (key, Contours::scaled(outline, scale)));
                index
            }
        };
        self.known[index].1.put(out, spot(at));
    }
}

/// Contours in units.
#[derive(Default)]
struct Contours {
    /// Where the first one starts; `None` if there are none, as in a space.
    first: Option<Spot>,
    /// The rest of them.
    rest: String,
    /// Where the last step ended, and where its contour started.
    at: Spot,
    start: Spot,
}

impl Contours {
    fn scaled(outline: Outline, scale: f64) -> Contours {
        let mut contours = Contours::default();
        let place = |spot: Spot| spot.map(|length| whole(f64::from(length) * scale));
        let mut each = |step| {
            contours.step(match step {
                Contour::Start(to) => Contour::Start(place(to)),
                Contour::Line(to) => Contour::Line(place(to)),
                Contour::Curve(control, to) => Contour::Curve(place(control), place(to)),
                Contour::Close => Contour::Close,
            });
        };
        match outline {
            Outline::Sign(glyph) => glyph.trace(&mut each),
            Outline::Letter(face, letter) => face.trace(letter, &mut each),
        }
        contours
    }

    fn of(segments: &[Segment], at: Point) -> Contours {
        let mut contours = Contours::default();
        for segment in segments {
            let place = |point: Point| spot(Point::new(at.x + point.x, at.y + point.y));
            match *segment {
                Segment::Move(to) => {
                    contours.step(Contour::Close);
                    contours.step(Contour::Start(place(to)));
                }
                Segment::Line(to) => contours.step(Contour::Line(place(to))),
                Segment::Curve(a, b, to) => {
                    let points = [a, b, to].map(place);
                    let steps = points.map(|point| contours.steps_to(point));
                    put(&mut contours.rest, 'c', steps.as_flattened());
                    contours.at = points[2];
                }
            }
        }
        contours.step(Contour::Close);
        contours
    }

    fn steps_to(&self, [x, y]: Spot) -> Spot {
        [x - self.at[0], y - self.at[1]]
    }

    fn step(&mut self, step: Contour) {
        match step {
            Contour::Start(to) => {
                let steps = self.steps_to(to);
                match self.first {
                    None => self.first = Some(to),
                    Some(_) => put(&mut self.rest, 'm', &steps),
                }
                (self.at, self.start) = (to, to);
            }
            Contour::Line(to) => {
                match self.steps_to(to) {
                    [x, 0] => put(&mut self.rest, 'h', &[x]),
                    [0, y] => put(&mut self.rest, 'v', &[y]),
                    steps => put(&mut self.rest, 'l', &steps),
                }
                self.at = to;
            }
            Contour::Curve(control, to) => {
                let steps = [self.steps_to(control), self.steps_to(to)];
                put(&mut self.rest, 'q', steps.as_flattened());
                self.at = to;
            }
            Contour::Close if self.first.is_some() => {
                self.rest.push('z');
                self.at = self.start;
            }
            Contour::Close => {}
        }
    }

    fn put(&self, out: &mut String, [x, y]: Spot) {
        if let Some([first_x, first_y]) = self.first {
            put(out, 'M', &[x + first_x, y + first_y]);
            *out += &self.rest;
        }
    }
}

fn put(out: &mut String, command: char, numbers: &[i32]) {
    out.push(command);
    for (index, number) in numbers.iter().enumerate() {
        if index > 0 && *number >= 0 {
            out.push(' ');
        }
        push(out, *number);
    }
}

/// A whole number, digit by digit.
fn push(out: &mut String, number: i32) {
    if number < 0 {
        out.push('-');
    }
    let (mut digits, mut count, mut rest) = ([0; 10], 0, number.unsigned_abs());
    loop {
        digits[count] = b'0' + u8::try_from(rest % 10).unwrap_or(0);
        (count, rest) = (count + 1, rest / 10);
        if rest == 0 {
            break;
        }
    }
    out.extend(digits[..count].iter().rev().map(|digit| char::from(*digit)));
}
