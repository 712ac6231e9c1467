//! The page of music, resolved: every sign with its place. What writes it decides nothing.
//!
//! All lengths are staff spaces: the distance between two neighbouring lines of the staff. x grows to the right, y *down*.

use std::ops::Range;
use std::sync::Arc;

use crate::font::{Face, Glyph};
use crate::line::NoteId;
use crate::neck::{Fret, StringNo};
use crate::time::Onset;

pub use crate::geometry::{Point, Segment, Sp};

/// A page without a lower edge: a head and systems below each other.
#[derive(Clone, PartialEq, Debug)]
pub struct Scene {
    /// How wide the page is.
    pub width: Sp,
    /// How tall all of it is.
    pub height: Sp,
    /// What the line is called; empty when it has no name.
    pub title: String,
    /// The music in words, for those who don't see it.
    pub description: String,
    /// Title and tempo, in page coordinates.
    pub head: Vec<Group>,
    /// How tall the head is.
    pub head_height: Sp,
    /// The systems from the top.
    pub systems: Vec<Arc<System>>,
}

/// One row of staff and tab. Its coordinates start at the left end of the staff's top line.
#[derive(Clone, PartialEq, Debug)]
pub struct System {
    /// Where its top line lies on the page.
    pub top: Sp,
    /// How far it reaches above its top line.
    pub above: Sp,
    /// How far it reaches below its top line.
    pub below: Sp,
    /// Its bars, by index from 0.
    pub bars: Range<usize>,
    /// What is drawn.
    pub groups: Vec<Group>,
    /// The places under its half-bars, when the layout asked for them.
    pub pads: Vec<PadPlace>,
}

/// The room under a window where a page puts what can be tapped.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct PadPlace {
    /// When the window starts, from the start of the line.
    pub start: Onset,
    /// The left upper corner.
    pub at: Point,
    /// How wide.
    pub width: Sp,
    /// How tall.
    pub height: Sp,
}

/// A part of the neck with the notes that are played there. Coordinates start at the left upper corner.
#[derive(Clone, PartialEq, Debug)]
pub struct NeckPicture {
    /// How wide it is.
    pub width: Sp,
    /// How tall.
    pub height: Sp,
    /// Which frets are shown.
    pub title: String,
    /// The notes in words, for those who don't see them.
    pub description: String,
    /// Strings, frets, nut and numbers.
    pub groups: Vec<Group>,
    /// The places where notes are played, in the order of their first notes.
    pub places: Vec<NeckPlace>,
    /// Every string at every fret that is shown: what a page lets one tap.
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

/// The room of a string at a fret, where nothing is drawn.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct NeckCell {
    /// The string.
    pub string: StringNo,
    /// The fret; 0 is the open string.
    pub fret: Fret,
    /// The left upper corner.
    pub at: Point,
    /// How wide.
    pub width: Sp,
    /// How tall.
    pub height: Sp,
}

/// Signs that belong together.
#[derive(Clone, PartialEq, Debug)]
pub struct Group {
    /// What they are.
    pub role: Role,
    /// The bar they stand in, by index from 0.
    pub bar: Option<usize>,
    /// The event they belong to.
    pub note: Option<NoteId>,
    /// What words among the signs say: they are drawn as outlines, and this can be searched and copied. Empty where there are none.
    pub words: String,
    /// The signs.
    pub items: Vec<Placed>,
}

/// What a group of signs is.
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
    Strings,
    Wires,
    Nut,
    FretNumber,
    Place,
}

impl Role {
    /// A word for it, such as a class in SVG.
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
    /// Where its origin lies.
    pub at: Point,
    /// The sign.
    pub item: Item,
}

/// A sign. All are filled with ink, none is stroked.
#[derive(Clone, PartialEq, Debug)]
pub enum Item {
    /// A musical sign at a size; 1 is the size of the staff.
    Glyph(Glyph, f64),
    /// Words in one face, `size` staff spaces to the em, from their left end on their base line.
    Text {
        /// Which face.
        face: Face,
        /// Staff spaces to the em.
        size: Sp,
        /// The words.
        text: String,
    },
    /// A rectangle with its left upper corner at the place.
    Rect {
        /// How wide.
        width: Sp,
        /// How tall.
        height: Sp,
    },
    /// A closed shape; its points are relative to the place. It runs clockwise, as all signs do, and around holes the other way: so
    /// signs can overlap in one path.
    Shape(Vec<Segment>),
}

impl Scene {
    /// Everything that is drawn, from the top.
    pub fn groups(&self) -> impl Iterator<Item = &Group> {
        self.head.iter().chain(self.systems.iter().flat_map(|system| &system.groups))
    }

    /// The letters without an outline, each once, in their order.
    pub fn missing_letters(&self) -> String {
        missing_letters(self.groups())
    }
}

/// The letters without an outline, each once, in their order.
pub(crate) fn missing_letters<'a>(groups: impl Iterator<Item = &'a Group>) -> String {
    let mut missing = String::new();
    for placed in groups.flat_map(|group| &group.items) {
        if let Item::Text { face, text, .. } = &placed.item {
            for letter in text.chars() {
                if !face.has(letter.encode_utf8(&mut [0; 4])) && !missing.contains(letter) {
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
    /// Whether the two are drawn alike, wherever they stand on the page and whatever their pads.
    pub fn looks_like(&self, other: &System) -> bool {
        (self.above, self.below) == (other.above, other.below) && self.groups == other.groups
    }
}

impl Item {
    /// A filled shape with these corners, relative to its place, in either order.
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

    /// The smallest box around the sign, relative to its place: left, top, right, bottom.
    pub fn bounds(&self) -> [Sp; 4] {
        match self {
            Item::Glyph(glyph, size) => glyph.bounds().map(|edge| edge * size),
            Item::Text { face, size, text } => {
                let (top, bottom) = face.extent(text);
                [0.0, top * size, face.width(text) * size, bottom * size]
            }
            Item::Rect { width, height } => [0.0, 0.0, *width, *height],
            Item::Shape(segments) => {
                // Control points lie outside their curve: the box is never too small.
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

impl Placed {
    /// The smallest box around the sign where it stands: left, top, right, bottom.
    pub fn bounds(&self) -> [Sp; 4] {
        let [left, top, right, bottom] = self.item.bounds();
        [left + self.at.x, top + self.at.y, right + self.at.x, bottom + self.at.y]
    }
}

impl Group {
    /// A group without signs yet.
    pub fn new(role: Role, bar: Option<usize>, note: Option<NoteId>) -> Group {
        Group { role, bar, note, words: String::new(), items: Vec::new() }
    }

    /// The smallest box around its signs: left, top, right, bottom; `None` without any.
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
