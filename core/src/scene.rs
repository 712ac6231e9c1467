//! The page of music, resolved: every sign with its place. Whatever writes it out makes no more decisions.
//!
//! All lengths are in staff spaces: the distance between two neighboring lines of the staff. X grows to the
//! right and y *down*.

use std::ops::Range;
use std::sync::Arc;

use crate::font::{Face, Glyph};
use crate::line::NoteId;
use crate::neck::{Fret, StringNo};
use crate::time::Onset;

pub use crate::geometry::{Point, Segment, Sp};

/// A page without a lower edge: a head, and systems one below the other.
#[derive(Clone, PartialEq, Debug)]
pub struct Scene {
    /// The width of the page.
    pub width: Sp,
    /// The height of the whole page.
    pub height: Sp,
    /// The title of the line; empty if there is none.
    pub title: String,
    /// The music in words, as a text alternative.
    pub description: String,
    /// The title and tempo, in page coordinates.
    pub head: Vec<Group>,
    /// The height of the head.
    pub head_height: Sp,
    /// The systems from top to bottom.
    pub systems: Vec<Arc<System>>,
}

/// One row of staff and tab. Its origin is the left end of the staff's top line.
#[derive(Clone, PartialEq, Debug)]
pub struct System {
    /// The y of its top line on the page.
    pub top: Sp,
    /// How far it extends above its top line.
    pub above: Sp,
    /// How far it extends below its top line.
    pub below: Sp,
    /// Its bars, by index from 0.
    pub bars: Range<usize>,
    /// Where each bar begins, and where the last one ends.
    pub edges: Vec<Sp>,
    /// What is drawn.
    pub groups: Vec<Group>,
    /// The pads under its half-bars, if the layout asked for them.
    pub pads: Vec<PadPlace>,
}

/// The area under a window where a page puts something to tap.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PadPlace {
    /// When the window starts, from the start of the line.
    pub start: Onset,
    /// Its upper left corner.
    pub at: Point,
    /// Its width.
    pub width: Sp,
    /// Its height.
    pub height: Sp,
}

/// A part of the neck with the notes played there. Its origin is the upper left corner.
#[derive(Clone, PartialEq, Debug)]
pub struct NeckPicture {
    /// Its width.
    pub width: Sp,
    /// Its height.
    pub height: Sp,
    /// Which frets are shown.
    pub title: String,
    /// The notes in words, as a text alternative.
    pub description: String,
    /// Strings, frets, nut and numbers.
    pub groups: Vec<Group>,
    /// The places where notes are played, in the order of their first notes.
    pub places: Vec<NeckPlace>,
    /// Every string at every fret shown, for a page to make tappable.
    pub cells: Vec<NeckCell>,
}

/// A string and fret where notes are played.
#[derive(Clone, PartialEq, Debug)]
pub struct NeckPlace {
    /// The notes, in order of time. A grace note has the id of its note.
    pub notes: Vec<NoteId>,
    /// The string.
    pub string: StringNo,
    /// The fret; 0 is the open string.
    pub fret: Fret,
    /// What is drawn.
    pub group: Group,
}

/// The area of a string at a fret. Nothing is drawn here.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct NeckCell {
    /// The string.
    pub string: StringNo,
    /// The fret; 0 is the open string.
    pub fret: Fret,
    /// Its upper left corner.
    pub at: Point,
    /// Its width.
    pub width: Sp,
    /// Its height.
    pub height: Sp,
}

/// Signs that belong together.
#[derive(Clone, PartialEq, Debug)]
pub struct Group {
    /// What they are.
    pub role: Role,
    /// The bar they are in, by index from 0.
    pub bar: Option<usize>,
    /// The event they belong to.
    pub note: Option<NoteId>,
    /// The name they show, by its index among those of the [`Score`](crate::score::Score).
    pub name: Option<usize>,
    /// The text of the signs that are words. These are drawn as outlines; this text can be searched and
    /// copied. Empty if there are none.
    pub words: String,
    /// The signs.
    pub items: Vec<Placed>,
}

/// What a group of signs represents.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
#[allow(missing_docs)]
pub enum Role {
    Title,
    Tempo,
    Staff,
    Clef,
    Signature,
    BarLine,
    BarNumber,
    Chord,
    Note,
    ChordTone,
    Grace,
    Rest,
    Beam,
    Accent,
    Tuplet,
    Tie,
    Slur,
    Fret,
    Stroke,
    Finger,
    Degree,
    Landing,
    NameBracket,
    Name,
    Strings,
    Wires,
    Nut,
    FretNumber,
    Place,
}

impl Role {
    /// Its name, such as for a class in SVG.
    pub fn name(self) -> &'static str {
        match self {
            Role::Title => "title",
            Role::Tempo => "tempo",
            Role::Staff => "staff",
            Role::Clef => "clef",
            Role::Signature => "signature",
            Role::BarLine => "bar-line",
            Role::BarNumber => "bar-number",
            Role::Chord => "chord",
            Role::Note => "note",
            Role::ChordTone => "chord-tone",
            Role::Grace => "grace",
            Role::Rest => "rest",
            Role::Beam => "beam",
            Role::Accent => "accent",
            Role::Tuplet => "tuplet",
            Role::Tie => "tie",
            Role::Slur => "slur",
            Role::Fret => "fret",
            Role::Stroke => "stroke",
            Role::Finger => "finger",
            Role::Degree => "degree",
            Role::Landing => "landing",
            Role::NameBracket => "name-bracket",
            Role::Name => "name",
            Role::Strings => "strings",
            Role::Wires => "wires",
            Role::Nut => "nut",
            Role::FretNumber => "fret-number",
            Role::Place => "place",
        }
    }
}

/// A sign and its place.
#[derive(Clone, PartialEq, Debug)]
pub struct Placed {
    /// Where its origin is.
    pub at: Point,
    /// The sign.
    pub item: Item,
}

/// A sign. All signs are filled with ink; none are stroked.
#[derive(Clone, PartialEq, Debug)]
pub enum Item {
    /// A musical sign at a size; 1 is the size of the staff.
    Glyph(Glyph, f64),
    /// Text in one face, at `size` staff spaces per em, starting at its left end on the baseline.
    Text {
        /// The face.
        face: Face,
        /// Staff spaces per em.
        size: Sp,
        /// The text.
        text: String,
    },
    /// A rectangle with its upper left corner at the place.
    Rect {
        /// Its width.
        width: Sp,
        /// Its height.
        height: Sp,
    },
    /// A closed shape with points relative to its place. It runs clockwise, as all signs do, and around holes
    /// the other way, so that signs can overlap in one path.
    Shape(Vec<Segment>),
}

impl Scene {
    /// Everything that is drawn, from top to bottom.
    pub fn groups(&self) -> impl Iterator<Item = &Group> {
        self.head.iter().chain(self.systems.iter().flat_map(|system| &system.groups))
    }

    /// The letters that have no outline, each once, in order.
    pub fn missing_letters(&self) -> String {
        missing_letters(self.groups())
    }
}

/// The letters that have no outline, each once, in order.
pub(crate) fn missing_letters<'a>(groups: impl Iterator<Item = &'a Group>) -> String {
    let mut missing = String::new();
    for placed in groups.flat_map(|group| &group.items) {
        if let Item::Text { face, text, .. } = &placed.item {
            for letter in text.chars() {
                // `contains` would bring a search of several KB into the element's module.
                if !face.has(letter.encode_utf8(&mut [0; 4])) && missing.chars().all(|known| known != letter)
                {
                    missing.push(letter);
                }
            }
        }
    }
    missing
}

impl NeckPicture {
    /// Everything that is drawn.
    pub fn groups(&self) -> impl Iterator<Item = &Group> {
        self.groups.iter().chain(self.places.iter().map(|place| &place.group))
    }
}

impl System {
    /// Whether both are drawn alike, wherever they are on the page and whatever their pads.
    pub fn looks_like(&self, other: &System) -> bool {
        (self.above, self.below) == (other.above, other.below) && self.groups == other.groups
    }
}

impl Item {
    /// A filled shape with these corners, relative to its place, in either direction.
    pub fn polygon(corners: impl IntoIterator<Item = (Sp, Sp)>) -> Item {
        let mut corners: Vec<Point> = corners.into_iter().map(|(x, y)| Point::new(x, y)).collect();
        let next = corners.iter().cycle().skip(1);
        let twice_the_area: Sp = corners.iter().zip(next).map(|(a, b)| a.x * b.y - b.x * a.y).sum();
        if twice_the_area < 0.0 {
            corners.reverse();
        }
        let segments = corners.iter().enumerate().map(|(index, &corner)| match index {
            0 => Segment::Move(corner),
            _ => Segment::Line(corner),
        });
        Item::Shape(segments.collect())
    }

    /// A filled circle around its place.
    pub fn disc(radius: Sp) -> Item {
        Item::Shape(ellipse(radius, radius, 1.0).to_vec())
    }

    /// A ring around its place: half its width, half its height, and the thickness of its line.
    pub fn ring(across: Sp, down: Sp, thickness: Sp) -> Item {
        let mut segments = ellipse(across, down, 1.0).to_vec();
        // In the other direction, to make a hole.
        segments.extend(ellipse(across - thickness, down - thickness, -1.0));
        Item::Shape(segments)
    }

    /// The smallest box around the sign, relative to its place: left, top, right and bottom.
    pub fn bounds(&self) -> [Sp; 4] {
        match self {
            Item::Glyph(glyph, size) => glyph.bounds().map(|edge| edge * size),
            Item::Text { face, size, text } => {
                let (top, bottom) = face.extent(text);
                [0.0, top * size, face.width(text) * size, bottom * size]
            }
            Item::Rect { width, height } => [0.0, 0.0, *width, *height],
            Item::Shape(segments) => {
                // Control points are outside their curve, so the box is never too small.
                let points = segments.iter().flat_map(|segment| match *segment {
                    Segment::Move(p) | Segment::Line(p) => [p, p, p],
                    Segment::Curve(a, b, c) => [a, b, c],
                });
                points.fold([Sp::MAX, Sp::MAX, Sp::MIN, Sp::MIN], |[l, t, r, b], p| {
                    [l.min(p.x), t.min(p.y), r.max(p.x), b.max(p.y)]
                })
            }
        }
    }
}

/// Four curves around the origin; `way` is 1 or -1.
fn ellipse(across: Sp, down: Sp, way: f64) -> [Segment; 5] {
    /// How far out the control points are, for the curve closest to a quarter of a circle.
    const CONTROL: f64 = 0.552_285;
    let at = |x: f64, y: f64| Point::new(x * across, y * down * way);
    let c = CONTROL;
    [
        Segment::Move(at(1.0, 0.0)),
        Segment::Curve(at(1.0, c), at(c, 1.0), at(0.0, 1.0)),
        Segment::Curve(at(-c, 1.0), at(-1.0, c), at(-1.0, 0.0)),
        Segment::Curve(at(-1.0, -c), at(-c, -1.0), at(0.0, -1.0)),
        Segment::Curve(at(c, -1.0), at(1.0, -c), at(1.0, 0.0)),
    ]
}

impl Placed {
    /// The smallest box around the sign in its place: left, top, right and bottom.
    pub fn bounds(&self) -> [Sp; 4] {
        let [left, top, right, bottom] = self.item.bounds();
        [left + self.at.x, top + self.at.y, right + self.at.x, bottom + self.at.y]
    }
}

impl Group {
    /// A group without any signs yet.
    pub fn new(role: Role, bar: Option<usize>, note: Option<NoteId>) -> Group {
        Group { role, bar, note, name: None, words: String::new(), items: Vec::new() }
    }

    /// The smallest box around its signs: left, top, right and bottom; `None` if there are none.
    pub fn bounds(&self) -> Option<[Sp; 4]> {
        let boxes = self.items.iter().map(Placed::bounds);
        boxes.reduce(|[l, t, r, b], [left, top, right, bottom]| {
            [l.min(left), t.min(top), r.max(right), b.max(bottom)]
        })
    }

    /// Adds a sign.
    pub fn put(&mut self, x: Sp, y: Sp, item: Item) {
        self.items.push(Placed { at: Point::new(x, y), item });
    }
}
