//! Signs on a page that overlap but shouldn't.
//!
//! Source: the purpose of engraving. Only the white between them separates two signs that don't belong together (Gould 2011, from
//! memory).

use std::cell::OnceCell;
use std::fmt;

use halfbar_core::font::Glyph;
use halfbar_core::line::NoteId;
use halfbar_core::scene::{Group, Item, Placed, Role, Scene, Sp};

use crate::ink::Ink;

/// How wide and tall an overlap may be, because curves are rounded.
pub const TOLERANCE: Sp = 0.03;

/// A sign, or a part of one.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Part {
    /// A line of the staff.
    StaffLine,
    /// A piece of a line of the tab.
    TabLine,
    /// One of the letters before the tab.
    TabLetter,
    /// The head of a note.
    Head,
    /// The stem of a note.
    Stem,
    /// The flag of a stem.
    Flag,
    /// A ledger line.
    Ledger,
    /// A dot after a note or rest.
    Dot,
    /// The accidental of a note.
    Accidental,
    /// A parenthesis around a courtesy accidental.
    Parenthesis,
    /// One arm of a tuplet's bracket, or its hook.
    Bracket,
    /// The number of a tuplet.
    Number,
    /// A number of a time signature.
    Figure,
    /// The area of a pad.
    Pad,
    /// Anything else, by its role.
    Of(Role),
}

impl Part {
    fn of(role: Role, placed: &Placed) -> Part {
        use Glyph::{Flag8Down, Flag8Up, Flag16Down, Flag16Up, Flag32Down, Flag32Up};
        use Glyph::{HeadBlack, HeadHalf, HeadWhole};
        match (role, &placed.item) {
            // The lines of a tab are thinner.
            (Role::Staff, Item::Rect { height, .. }) if *height > 0.12 => Part::StaffLine,
            (Role::Staff, _) => Part::TabLine,
            (Role::Clef, Item::Text { .. }) => Part::TabLetter,
            // A slash is as tall as two spaces.
            (Role::Note, Item::Shape(_)) if placed.item.bounds()[3] > 0.9 => Part::Head,
            (Role::Note | Role::Rest, Item::Shape(_)) => Part::Dot,
            (Role::Note, Item::Glyph(HeadBlack | HeadHalf | HeadWhole, _)) => Part::Head,
            (
                Role::Note,
                Item::Glyph(Flag8Up | Flag8Down | Flag16Up | Flag16Down | Flag32Up | Flag32Down, _),
            ) => Part::Flag,
            (Role::Note, Item::Glyph(..)) => Part::Accidental,
            (Role::Note, Item::Text { .. }) => Part::Parenthesis,
            (Role::Note, Item::Rect { width, height }) if width < height => Part::Stem,
            (Role::Note, Item::Rect { .. }) => Part::Ledger,
            (Role::Signature, Item::Text { .. }) => Part::Figure,
            (Role::Tuplet, Item::Text { .. }) => Part::Number,
            (Role::Tuplet, _) => Part::Bracket,
            _ => Part::Of(role),
        }
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Part::StaffLine => "staff line",
            Part::TabLine => "tab line",
            Part::TabLetter => "tab letter",
            Part::Head => "head",
            Part::Stem => "stem",
            Part::Flag => "flag",
            Part::Ledger => "ledger line",
            Part::Dot => "dot",
            Part::Accidental => "accidental",
            Part::Parenthesis => "parenthesis",
            Part::Bracket => "bracket",
            Part::Number => "number",
            Part::Figure => "figure",
            Part::Pad => "pad",
            Part::Of(role) => role.name(),
        }
    }

    /// Whether it belongs on the lines of the staff.
    fn stands_on_staff(self) -> bool {
        use Part::{Accidental, Figure, Flag, Head, Of, Parenthesis, Stem};
        match self {
            Head | Stem | Flag | Accidental | Parenthesis | Figure => true,
            Of(role) => matches!(
                role,
                Role::BarLine
                    | Role::Clef
                    | Role::Signature
                    | Role::Rest
                    | Role::Beam
                    | Role::Tie
                    | Role::Grace
                    | Role::ChordTone
            ),
            _ => false,
        }
    }
}

/// A sign at its place on the page.
struct Mark {
    part: Part,
    /// Which group of the page it is in, by index. Groups with the same index belong together.
    group: usize,
    bar: Option<usize>,
    note: Option<NoteId>,
    /// The left and right ends of the whole group.
    reach: (Sp, Sp),
    bounds: [Sp; 4],
    placed: Placed,
    ink: OnceCell<Ink>,
}

/// Two signs that overlap.
#[derive(Clone, PartialEq, Debug)]
pub struct Collision {
    /// What they are.
    pub parts: [Part; 2],
    /// Their boxes on the page: left, top, right, bottom.
    pub boxes: [[Sp; 4]; 2],
    /// The bars that they are in, by index from 0.
    pub bars: [Option<usize>; 2],
}

/// The names of two signs that overlap.
pub type Kind = [&'static str; 2];

impl Collision {
    /// What kind of collision it is.
    pub fn kind(&self) -> Kind {
        self.parts.map(Part::name)
    }
}

impl fmt::Display for Collision {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = |index: usize| {
            let [left, top, right, bottom] = self.boxes[index];
            let bar = self.bars[index].map_or(String::new(), |bar| format!(" of bar {}", bar + 1));
            format!("{}{bar} at {left:.2} {top:.2} {right:.2} {bottom:.2}", self.parts[index].name())
        };
        write!(f, "{} on {}", sign(0), sign(1))
    }
}

/// All collisions on a page.
pub fn collisions(scene: &Scene) -> Vec<Collision> {
    let mut marks = marks(scene);
    marks.sort_by(|a, b| a.bounds[0].total_cmp(&b.bounds[0]));
    let mut found = Vec::new();
    // The marks to the left that reach as far as the next one.
    let mut open: Vec<&Mark> = Vec::new();
    for mark in &marks {
        open.retain(|other| other.bounds[2] > mark.bounds[0]);
        found.extend(open.iter().filter_map(|other| collide(other, mark)));
        open.push(mark);
    }
    found
}

fn collide(one: &Mark, other: &Mark) -> Option<Collision> {
    let [a, b] = [one.bounds, other.bounds];
    if a[3] <= b[1] + TOLERANCE || b[3] <= a[1] + TOLERANCE || may_touch(one, other) || may_touch(other, one)
    {
        return None;
    }
    let [ours, theirs] = [one, other].map(|mark| mark.ink.get_or_init(|| Ink::of(&mark.placed)));
    if !ours.overlaps(theirs, TOLERANCE) {
        return None;
    }
    let [first, second] = if one.part.name() <= other.part.name() { [one, other] } else { [other, one] };
    Some(Collision {
        parts: [first.part, second.part],
        boxes: [first.bounds, second.bounds],
        bars: [first.bar, second.bar],
    })
}

/// Whether two signs may touch, checked in one of the two orders.
fn may_touch(one: &Mark, other: &Mark) -> bool {
    use Part::{Accidental, Bracket, Figure, Flag, Head, Ledger, Of, StaffLine, Stem, TabLetter, TabLine};
    let same = one.group == other.group;
    match (one.part, other.part) {
        (StaffLine, part) => part.stands_on_staff(),
        // In a tab without a staff, time signatures and rests are on its lines.
        (TabLine, TabLetter | Figure | Of(Role::BarLine | Role::Rest))
        | (Of(Role::BarLine), Of(Role::Tie)) => true,
        // Slides and slurs cross what is between their notes.
        (
            Of(Role::Slur),
            StaffLine | TabLine | Ledger | Stem | Figure | Of(Role::BarLine | Role::Signature | Role::Slur),
        ) => true,
        (Head, Stem | Ledger) | (Stem, Flag | Ledger) | (Bracket, Bracket) => same,
        // A note's own ledger lines are like staff lines to it; the numbers of a time signature meet on the middle line.
        (Ledger, Accidental | Flag) | (Figure, Figure) => same,
        // The ring goes around the head, and a stem and ties come out of it.
        (Of(Role::ChordTone), Head | Stem | Ledger | Of(Role::Tie)) => one.note == other.note,
        (Of(Role::ChordTone), Of(Role::Slur)) => true,
        (Of(Role::Tempo), Of(Role::Tempo)) | (Of(Role::Grace), Of(Role::Grace)) => same,
        // There is one voice: anything whose stem is between the ends of a beam belongs to it.
        (Stem, Of(Role::Beam)) => {
            let (left, right) = other.reach;
            one.bar == other.bar && left - TOLERANCE <= one.bounds[0] && one.bounds[2] <= right + TOLERANCE
        }
        _ => false,
    }
}

fn marks(scene: &Scene) -> Vec<Mark> {
    let head = scene.head.iter().map(|group| (0.0, group));
    let music =
        scene.systems.iter().flat_map(|system| system.groups.iter().map(move |group| (system.top, group)));
    let signs = head.chain(music).enumerate().flat_map(|(index, (top, group))| of_group(index, top, group));
    let pads = scene.systems.iter().flat_map(|system| system.pads.iter().map(move |pad| (system.top, pad)));
    let pads = pads.enumerate().map(|(index, (top, pad))| {
        let mut placed = Placed { at: pad.at, item: Item::Rect { width: pad.width, height: pad.height } };
        placed.at.y += top;
        mark(Part::Pad, usize::MAX - index, (None, None), placed)
    });
    signs.chain(pads).collect()
}

fn of_group(index: usize, top: Sp, group: &Group) -> Vec<Mark> {
    let mut marks: Vec<Mark> = (group.items.iter().cloned())
        .map(|mut placed| {
            let part = Part::of(group.role, &placed);
            placed.at.y += top;
            mark(part, index, (group.bar, group.note), placed)
        })
        .collect();
    let reach = marks
        .iter()
        .map(|mark| mark.reach)
        .fold((Sp::MAX, Sp::MIN), |(left, right), (l, r)| (left.min(l), right.max(r)));
    marks.iter_mut().for_each(|mark| mark.reach = reach);
    marks
}

fn mark(part: Part, group: usize, (bar, note): (Option<usize>, Option<NoteId>), placed: Placed) -> Mark {
    let bounds = placed.bounds();
    Mark { part, group, bar, note, reach: (bounds[0], bounds[2]), bounds, placed, ink: OnceCell::new() }
}
