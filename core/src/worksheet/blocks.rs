//! What a worksheet is made of: blocks that no page break splits. Their origin is the left margin and their
//! own upper edge.

use std::sync::Arc;

use super::words as wording;
use crate::Piece;
use crate::dialect::Dialect;
use crate::engrave::{self, Layout, PadRow, Width, rows};
use crate::error::Result;
use crate::font::Face;
use crate::harmony::NameSign;
use crate::line::{Degrees, Heading, Line};
use crate::recast::{Casting, Figure, Spelling, Window};
use crate::scene::{Group, Item, PadPlace, Point, Role, Scene, Sp, System};
use crate::score::Annotations;
use crate::time::Span;

use super::asked::{SheetNames, Worksheet};
use super::page::{Format, PagePart, PartKind, SPACE, WIDTH};
use super::staves;

/// The sizes of letters, in staff spaces per em.
const TITLE: Sp = 4.0;
const WORKSHOP: Sp = 2.0;
const LABEL: Sp = 1.7;
const FOOT: Sp = 1.5;
/// The size of an example's heading, relative to that of a line on its own page.
const HEAD: f64 = 0.8;
/// The distance from one baseline to the next.
const LEADING: Sp = 1.25;
/// Lines to write on: their thickness, and the distance between them (9 mm).
const RULE: Sp = 0.09;
const RULE_GAP: Sp = 5.0;
/// The number of lines for notes.
const NOTE_LINES: u8 = 4;
/// The room above an example, a system, and the blank staff under its system.
const ABOVE_EXAMPLE: Sp = 5.5;
const ABOVE_SYSTEM: Sp = 3.0;
const ABOVE_STAVES: Sp = 1.0;
/// The room that a system without marks leaves under its lowest sign.
const UNDER_SYSTEM: Sp = 0.6;
/// The width of one of two short examples side by side.
const HALF: Sp = 47.0;
/// Pictures of figures: their size, and the distance between them.
const PICTURE: f64 = 0.75;
const BESIDE_PICTURE: Sp = 4.0;
/// The mark under a window: the height of its bracket, and of all of it with its label.
const BRACKET: Sp = 0.8;
const MARK: Sp = 3.2;

/// Parts that stay together.
pub(super) struct Block {
    pub(super) parts: Vec<PagePart>,
    pub(super) height: Sp,
    /// The room above it, unless it is at the top of a page.
    pub(super) before: Sp,
    /// Its text alternative.
    pub(super) says: String,
}

impl Block {
    fn new(before: Sp) -> Block {
        Block { parts: Vec::new(), height: 0.0, before, says: String::new() }
    }

    /// The block, made smaller if it is taller than a page.
    pub(super) fn within(mut self, room: Sp) -> Block {
        let scale = (room / self.height).min(1.0);
        if scale < 1.0 {
            for part in &mut self.parts {
                part.at = Point::new(part.at.x * scale, part.at.y * scale);
                part.scale *= scale;
            }
            self.height *= scale;
        }
        self
    }

    /// Adds a part at the bottom.
    fn add(&mut self, kind: PartKind, example: Option<usize>, groups: Vec<Group>, scale: f64, height: Sp) {
        let at = Point::new(0.0, self.height);
        self.parts.push(PagePart { kind, example, bars: None, at, scale, groups });
        self.height += height * scale;
    }

    /// Adds a system at the bottom, made smaller if it is wider than the page.
    fn add_system(&mut self, kind: PartKind, example: usize, system: &System, width: Sp) {
        let scale = (WIDTH / width).min(1.0);
        let at = Point::new(0.0, self.height + system.above * scale);
        let (bars, groups) = (Some(system.bars.clone()), system.groups.clone());
        self.parts.push(PagePart { kind, example: Some(example), bars, at, scale, groups });
        self.height += (system.above + system.below) * scale;
    }
}

impl Block {
    /// Adds room for notes.
    fn add_notes(&mut self, number: usize, width: Sp) {
        let mut y = LABEL * LEADING + 1.5;
        let mut groups = vec![words(0.0, y, LABEL, wording::NOTES)];
        let mut left = Face::Semibold.width(wording::NOTES) * LABEL + 0.8;
        for _ in 0..NOTE_LINES {
            groups.push(rule(left, width, y + 0.3));
            left = 0.0;
            y += RULE_GAP;
        }
        self.add(PartKind::Notes, Some(number), groups, 1.0, y - RULE_GAP + 1.0);
    }

    /// Adds what to do with blank brackets.
    fn ask_for_names(&mut self, number: usize) {
        let row = words(0.0, LABEL * LEADING, LABEL, wording::NAMES);
        self.add(PartKind::Task, Some(number), vec![row], 1.0, LABEL * LEADING + 1.5);
        self.says = format!("{} {}", self.says, wording::NAMES);
    }

    /// Two short examples side by side, with their staves at one height.
    fn beside(mut self, mut right: Block) -> Block {
        let staff =
            |block: &Block| block.parts.iter().find(|part| part.bars.is_some()).map_or(0.0, |part| part.at.y);
        let lowest = staff(&self).max(staff(&right));
        for block in [&mut self, &mut right] {
            let down = lowest - staff(block);
            for part in block.parts.iter_mut().filter(|part| part.kind != PartKind::Head) {
                part.at.y += down;
            }
            block.height += down;
        }
        for part in &mut right.parts {
            part.at.x += WIDTH - HALF;
        }
        self.parts.append(&mut right.parts);
        self.height = self.height.max(right.height);
        self.says = format!("{} {}", self.says, right.says);
        self
    }
}

/// A text in one row, with each control character replaced by a space.
pub(super) fn printable(text: &str) -> String {
    let letters = text.chars().map(|letter| if letter.is_control() { ' ' } else { letter });
    letters.collect::<String>().trim().into()
}

/// Words starting at their left end, on a baseline.
fn words(x: Sp, y: Sp, size: Sp, text: &str) -> Group {
    let mut group = Group { words: text.into(), ..Group::new(Role::Title, None, None) };
    group.put(x, y, Item::Text { face: Face::Semibold, size, text: text.into() });
    group
}

/// A line to write on, from `left` to `right`.
fn rule(left: Sp, right: Sp, y: Sp) -> Group {
    let mut group = Group::new(Role::Staff, None, None);
    group.put(left, y, Item::Rect { width: right - left, height: RULE });
    group
}

/// The title block: whose worksheet it is, its title, and lines for a name and a date.
pub(super) fn title(title: &str, workshop: &str) -> Block {
    let (mut groups, mut y) = (Vec::new(), 0.0);
    for row in rows(workshop, WIDTH / WORKSHOP).iter().filter(|row| !row.is_empty()) {
        y += WORKSHOP * LEADING;
        groups.push(words(0.0, y - 0.3 * WORKSHOP, WORKSHOP, row));
    }
    for row in rows(title, WIDTH / TITLE).iter().filter(|row| !row.is_empty()) {
        y += TITLE * LEADING;
        groups.push(words(0.0, y - 0.3 * TITLE, TITLE, row));
    }
    y += RULE_GAP;
    for (label, left, right) in [(wording::NAME, 0.0, 62.0), (wording::DATE, 66.0, WIDTH)] {
        let after = Face::Semibold.width(label) * LABEL + 0.8;
        groups.extend([words(left, y, LABEL, label), rule(left + after, right, y + 0.3)]);
    }
    let mut block = Block::new(0.0);
    block.add(PartKind::Title, None, groups, 1.0, y + 1.0);
    block
}

/// The title of the answer key.
pub(super) fn answers() -> Block {
    let mut block = Block { says: format!("{}.", wording::ANSWERS), ..Block::new(0.0) };
    let row = words(0.0, 0.95 * TITLE, TITLE, wording::ANSWERS);
    block.add(PartKind::Title, None, vec![row], 1.0, TITLE * LEADING);
    block
}

/// The footer of a page.
pub(super) fn foot(title: &str, number: usize, count: usize, format: Format) -> PagePart {
    /// The distance from its baseline to the edge, in millimeters.
    const UP: f64 = 10.0;
    let (width, height) = format.size();
    let at = Point::new((width - WIDTH) / 2.0, height - UP / SPACE);
    let page = format!("Page {number} of {count}");
    let x = WIDTH - Face::Semibold.width(&page) * FOOT;
    let mut title = rows(title, (x - 4.0) / FOOT);
    if title.len() > 1 {
        title[0].push('…');
    }
    let mut groups = vec![words(x, 0.0, FOOT, &page)];
    if !title[0].is_empty() {
        groups.insert(0, words(0.0, 0.0, FOOT, &title[0]));
    }
    PagePart { kind: PartKind::Foot, example: None, bars: None, at, scale: 1.0, groups }
}

/// The heading of an example: its title with its number.
fn numbered(line: &Line, number: usize) -> Heading {
    let heading = line.heading();
    let title = format!("{number}. {}", printable(&heading.title));
    Heading { title: title.trim_end().into(), ..heading.clone() }
}

/// An example, system by system, each with what belongs to it.
pub(super) struct Example {
    pub(super) blocks: Vec<Block>,
    /// The same at half the page's width, if it is short enough.
    pub(super) half: Option<Block>,
}

impl Example {
    /// Adds room for notes.
    pub(super) fn add_notes(&mut self, number: usize) {
        self.blocks.last_mut().into_iter().for_each(|last| last.add_notes(number, WIDTH));
        self.half.iter_mut().for_each(|half| half.add_notes(number, HALF));
    }
}

/// Short examples in pairs, side by side. A single one left over looks like those before it.
pub(super) fn paired(examples: Vec<Example>) -> Vec<Vec<Block>> {
    let (mut paired, mut in_columns) = (Vec::new(), false);
    let mut examples = examples.into_iter().peekable();
    while let Some(Example { blocks, half }) = examples.next() {
        let next = examples.next_if(|next| half.is_some() && next.half.is_some());
        let (example, columns) = match (half, next.and_then(|next| next.half)) {
            (Some(left), Some(right)) => (vec![left.beside(right)], true),
            (Some(alone), None) if in_columns => (vec![alone], true),
            _ => (blocks, false),
        };
        paired.push(example);
        in_columns = columns;
    }
    paired
}

/// An example as it is.
pub(super) fn example(piece: &Piece, number: usize, kind: PartKind, asked: &Worksheet) -> Example {
    let piece = piece.titled(&numbered(piece.line(), number).title);
    let is_task = kind == PartKind::Music && is_blank(&piece, asked);
    let piece = if is_task { with_blanks(piece) } else { piece };
    let layout = layout(&piece, asked, is_task);
    let scene = piece.engrave(&layout);
    let blocks = |scene: &Scene| blocks(scene, number, kind, is_task);
    let half =
        is_short(&scene).then(|| blocks(&piece.engrave(&Layout { width: Width::nearest(HALF), ..layout })));
    Example { blocks: blocks(&scene), half: half.and_then(alone) }
}

/// Whether the notes of an example are to be named.
pub(super) fn is_blank(piece: &Piece, asked: &Worksheet) -> bool {
    let has_brackets = || piece.names().is_some_and(|names| names.iter().any(|name| !name.is_landing));
    asked.names == SheetNames::Blank && has_brackets()
}

/// The same piece with brackets for somebody to fill in. What the line lands on would be half the answer.
fn with_blanks(piece: Piece) -> Piece {
    let brackets = piece
        .names()
        .map(|names| names.iter().filter(|name| !name.is_landing).map(NameSign::blank).collect::<Vec<_>>());
    match brackets {
        Some(brackets) => piece.with_names(brackets.into()),
        None => piece,
    }
}

/// Whether the music takes at most half the width.
fn is_short(scene: &Scene) -> bool {
    let mut bounds = scene.systems.iter().flat_map(|system| &system.groups).filter_map(Group::bounds);
    bounds.all(|[_, _, right, _]| right <= HALF)
}

/// The only block, if there is just one.
fn alone(mut blocks: Vec<Block>) -> Option<Block> {
    blocks.pop().filter(|_| blocks.is_empty())
}

/// The heading with the first system, then system by system.
fn blocks(scene: &Scene, number: usize, kind: PartKind, names: bool) -> Vec<Block> {
    let mut first = head(scene, number);
    if names {
        first.ask_for_names(number);
    }
    let mut blocks = Vec::new();
    for system in &scene.systems {
        let mut block = std::mem::replace(&mut first, Block::new(ABOVE_SYSTEM));
        block.add_system(kind, number, system, scene.width);
        blocks.push(block);
    }
    blocks
}

fn layout(piece: &Piece, asked: &Worksheet, is_blank: bool) -> Layout {
    let written = Annotations::of(piece.line().heading());
    let names = written.names || asked.names != SheetNames::AsWritten;
    // They would be half the answer.
    let degrees = if is_blank { Degrees::No } else { written.degrees };
    Layout {
        view: asked.view,
        annotations: Annotations { fingers: asked.fingers, names, degrees, ..written },
        words: asked.words,
        width: Width::nearest(WIDTH),
        ..Layout::default()
    }
}

/// The start of an example's first block.
fn head(scene: &Scene, number: usize) -> Block {
    let says = format!("{}. {}", scene.title.trim_end_matches('.'), scene.description);
    let mut block = Block { says, ..Block::new(ABOVE_EXAMPLE) };
    block.add(PartKind::Head, Some(number), scene.head.clone(), HEAD, scene.head_height);
    block
}

/// An example to recast: its plain line with the windows marked, and a blank staff under each system that has
/// any.
pub(super) fn task(piece: &Piece, number: usize, asked: &Worksheet) -> Result<Example> {
    let line = piece.line().clone().with_heading(numbered(piece.line(), number));
    let plain = Piece::after(piece, line, piece.casting().cleared())?;
    let is_blank = is_blank(piece, asked);
    let plain = if is_blank { with_blanks(plain) } else { plain };
    let figures = Figures::of(piece.casting(), asked.words);
    let marks = marks(piece.line(), piece.casting(), &figures)?;
    let spans = marks.iter().map(|(span, _)| *span).collect();
    let height = if figures.have_letters() { MARK } else { BRACKET };
    let row = PadRow { height, least_width: 0.0, spans };
    let layout = Layout { pads: Some(row), ..layout(&plain, asked, is_blank) };
    let (pictures, height) = figures.pictures()?;
    let told = told(piece, &figures)?;
    let blocks = |scene: &Scene| {
        let mut first = head(scene, number);
        first.add(PartKind::Task, Some(number), pictures.clone(), 1.0, height);
        first.says = format!("{} {} {told} {}", first.says, wording::TASK, wording::EMPTY);
        if is_blank {
            first.ask_for_names(number);
        }
        to_recast(scene, first, &marks, number, asked)
    };
    let scene = plain.engrave(&layout);
    let mut bounds = pictures.iter().filter_map(Group::bounds);
    let is_short = is_short(&scene) && bounds.all(|[_, _, right, _]| right <= HALF);
    let half = is_short.then(|| blocks(&plain.engrave(&Layout { width: Width::nearest(HALF), ..layout })));
    Ok(Example { blocks: blocks(&scene), half: half.and_then(alone) })
}

/// The first block with the first system, then system by system, each with what is marked in it and, if
/// anything is, a blank staff.
fn to_recast(
    scene: &Scene,
    mut first: Block,
    marks: &[(Span, String)],
    number: usize,
    asked: &Worksheet,
) -> Vec<Block> {
    let mut blocks = Vec::new();
    for system in &scene.systems {
        let mut block = std::mem::replace(&mut first, Block::new(ABOVE_SYSTEM));
        let mut given = System::clone(system);
        if system.pads.is_empty() {
            // No room for marks if there are none.
            let bottoms = given.groups.iter().filter_map(Group::bounds).map(|[.., bottom]| bottom);
            given.below = bottoms.fold(0.0, Sp::max) + UNDER_SYSTEM;
        }
        for pad in &system.pads {
            let label = marks.iter().find(|(span, _)| span.start() == pad.start);
            given.groups.push(mark(pad, label.map_or("", |(_, label)| label)));
        }
        block.add_system(PartKind::Music, number, &given, scene.width);
        if !system.pads.is_empty() {
            block.height += ABOVE_STAVES;
            block.add_system(PartKind::Staves, number, &staves::empty(system, asked.view), scene.width);
        }
        blocks.push(block);
    }
    blocks
}

/// The windows in words.
fn told(piece: &Piece, figures: &Figures) -> Result<String> {
    let told = piece.casting().windows().iter().map(|window| {
        let place = piece.line().bars().place(window.start)?;
        Ok(format!("{}: {}", place.spoken(), figures.named(&window.figure, window.spelling)))
    });
    Ok(format!("{}.", told.collect::<Result<Vec<_>>>()?.join("; ")))
}

/// What is marked, in order of time: a window up to the end of its bar with its letter, if it needs one, and its
/// continuation in later bars without one.
fn marks(line: &Line, casting: &Casting, figures: &Figures) -> Result<Vec<(Span, String)>> {
    let mut marks = Vec::new();
    for window in casting.windows() {
        let end = window.start.checked_add(window.figure.span())?;
        let (mut start, mut label) = (window.start, figures.letter_of(window));
        while start < end {
            let (bar, _) = line.bars().split(start)?;
            let until = line.bars().span(bar)?.end().min(end);
            marks.extend(Span::new(start, until).map(|span| (span, std::mem::take(&mut label))));
            start = until;
        }
    }
    Ok(marks)
}

/// The figures that an example asks for, each once in each spelling. If there are several, each has a letter, which
/// also fits under a short window.
struct Figures {
    asked: Vec<(Arc<Figure>, Spelling)>,
    words: Dialect,
}

impl Figures {
    fn of(casting: &Casting, words: Dialect) -> Figures {
        let mut asked: Vec<(Arc<Figure>, Spelling)> = Vec::new();
        for window in casting.windows() {
            let one = (Arc::clone(&window.figure), window.spelling);
            if !asked.contains(&one) {
                asked.push(one);
            }
        }
        Figures { asked, words }
    }

    fn have_letters(&self) -> bool {
        self.asked.len() > 1
    }

    /// The letter of a window's figure; empty if there is only one.
    fn letter_of(&self, window: &Window) -> String {
        let is_it = |(figure, spelling): &(Arc<Figure>, Spelling)| {
            *figure == window.figure && *spelling == window.spelling
        };
        let index = self.asked.iter().position(is_it).filter(|_| self.have_letters());
        index.map_or_else(String::new, letter)
    }

    /// What players call a figure, or its name if it is the user's own; with its spelling if it has more than one.
    fn named(&self, figure: &Figure, spelling: Spelling) -> String {
        let name = match figure.label() {
            "" => figure.name().into(),
            label => self.words.say(label),
        };
        match figure.spellings() {
            [_, _, ..] => format!("{name} ({})", self.words.say(spelling.label())),
            _ => name.into(),
        }
    }

    /// What to do, followed by each figure, drawn and named; and the height of it all.
    fn pictures(&self) -> Result<(Vec<Group>, Sp)> {
        let mut y = LABEL * LEADING;
        let mut groups = vec![words(0.0, y - 0.3 * LABEL, LABEL, wording::TASK)];
        let (mut x, mut row) = (0.0, 0.0);
        for (index, (figure, spelling)) in self.asked.iter().enumerate() {
            let picture = engrave::picture(Some((figure, *spelling)))?;
            let name = self.named(figure, *spelling);
            let name = if self.have_letters() { format!("{}: {name}", letter(index)) } else { name };
            let width = (picture.width * PICTURE).max(Face::Semibold.width(&name) * LABEL);
            if x > 0.0 && x + width > WIDTH {
                y += row;
                (x, row) = (0.0, 0.0);
            }
            for system in &picture.systems {
                let at = Point::new(x, y + system.above * PICTURE);
                groups.extend(system.groups.iter().map(|group| scaled(group, PICTURE, at)));
            }
            let under = picture.height * PICTURE;
            groups.push(words(x, y + under + 0.75 * LABEL, LABEL, &name));
            x += width + BESIDE_PICTURE;
            row = Sp::max(row, under + 1.5 * LABEL);
        }
        Ok((groups, y + row + 1.5))
    }
}

/// A to Z, then AA to ZZ, and so on.
fn letter(index: usize) -> String {
    let letter = ('A'..='Z').nth(index % 26).unwrap_or_default();
    std::iter::repeat_n(letter, index / 26 + 1).collect()
}

/// A bracket under a window, and its label.
fn mark(pad: &PadPlace, label: &str) -> Group {
    const THICK: Sp = 0.14;
    let Point { x, y } = pad.at;
    let mut group = Group::new(Role::Title, None, None);
    for side in [x, x + pad.width - THICK] {
        group.put(side, y, Item::Rect { width: THICK, height: BRACKET });
    }
    group.put(x, y + BRACKET - THICK, Item::Rect { width: pad.width, height: THICK });
    if !label.is_empty() {
        let long = Face::Semibold.width(label);
        // A short window has a small label.
        let size = LABEL.min(pad.width / long);
        let text = Item::Text { face: Face::Semibold, size, text: label.into() };
        group.put(x + (pad.width - long * size) / 2.0, y + BRACKET + 0.4 + 0.75 * LABEL, text);
    }
    group
}

/// A group at another size, with its origin moved to `at`.
fn scaled(group: &Group, scale: f64, at: Point) -> Group {
    let point = |point: Point| Point::new(point.x * scale, point.y * scale);
    let mut smaller = Group { items: Vec::new(), ..group.clone() };
    for placed in &group.items {
        let item = match &placed.item {
            Item::Glyph(glyph, size) => Item::Glyph(*glyph, size * scale),
            Item::Text { face, size, text } => {
                Item::Text { face: *face, size: size * scale, text: text.clone() }
            }
            Item::Rect { width, height } => Item::Rect { width: width * scale, height: height * scale },
            Item::Shape(segments) => Item::Shape(segments.iter().map(|segment| segment.map(point)).collect()),
        };
        let to = point(placed.at);
        smaller.put(at.x + to.x, at.y + to.y, item);
    }
    smaller
}
