//! Pieces -> [`Pages`]: a worksheet on paper, with numbered examples, room to write, and an answer page.
//!
//! Lengths are staff spaces of [`SPACE`] millimetres, as on the page's own prints: x from a page's left edge, y down from its top.

mod blocks;
mod fill;
mod staves;
mod words;

use std::ops::Range;
use std::str::FromStr;

use crate::Piece;
use crate::dialect::Dialect;
use crate::engrave::View;
use crate::error::Result;
use crate::naming::{UnknownName, named};
use crate::scene::{Group, Point, Sp, missing_letters};

use fill::Fill;

/// Millimetres to the staff space: a staff is 7.2 mm tall, and a system of 100 spaces fills 180 mm.
pub const SPACE: f64 = 1.8;
/// How wide the systems are.
const WIDTH: Sp = 100.0;

/// The size of a page.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
#[non_exhaustive]
pub enum Format {
    /// 210 by 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 by 11 inches (ANSI/ASME Y14.1, size A).
    Letter,
}

/// What a worksheet is to be.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Worksheet {
    /// What it is called.
    pub title: String,
    /// Whose it is; may be empty.
    pub workshop: String,
    /// The paper.
    pub format: Format,
    /// What each system shows.
    pub view: View,
    /// Whether the fingers of the fretting hand stand under each system.
    pub fingers: bool,
    /// Whether there is room for notes after each example.
    pub notes: bool,
    /// Whether recast lines are given plain, their windows marked, with empty staves to recast them on.
    pub recast_yourself: bool,
    /// Whether a last page shows what was to be recast; nothing where nothing was.
    pub answers: bool,
    /// In whose words lengths are named.
    pub words: Dialect,
}

/// A worksheet, laid out.
#[derive(Clone, PartialEq, Debug)]
pub struct Pages {
    /// The paper.
    pub format: Format,
    /// What the worksheet is called.
    pub title: String,
    /// Whose it is; may be empty.
    pub author: String,
    /// At least one.
    pub pages: Vec<Page>,
}

/// A page, in front of its reader.
#[derive(Clone, PartialEq, Debug)]
pub struct Page {
    /// What is on it in words, for those who don't see it.
    pub description: String,
    /// What is on it, from the top; its number comes last.
    pub parts: Vec<PagePart>,
}

/// What stands together at one place of a page.
#[derive(Clone, PartialEq, Debug)]
pub struct PagePart {
    /// What it is.
    pub kind: PartKind,
    /// The example that it belongs to, counted from 1.
    pub example: Option<usize>,
    /// The bars of a system, by index from 0.
    pub bars: Option<Range<usize>>,
    /// Where its origin lies.
    pub at: Point,
    /// How large it is drawn.
    pub scale: f64,
    /// Its signs.
    pub groups: Vec<Group>,
}

/// What a part of a page is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum PartKind {
    /// The title block, or the title of the answers.
    Title,
    /// Number, title and tempo of an example.
    Head,
    /// What is to be recast, and into which rhythms.
    Task,
    /// A system of an example as it is given.
    Music,
    /// A system without notes, to write on.
    Staves,
    /// A system of an answer.
    Answer,
    /// Room for notes.
    Notes,
    /// The worksheet's title and the page's number.
    Foot,
}

impl Format {
    /// Both, in the order in which they are offered.
    pub const ALL: [Format; 2] = [Format::A4, Format::Letter];

    /// A word for it.
    pub fn name(self) -> &'static str {
        match self {
            Format::A4 => "a4",
            Format::Letter => "letter",
        }
    }

    /// Width and height in millimetres.
    pub fn millimetres(self) -> (f64, f64) {
        match self {
            Format::A4 => (210.0, 297.0),
            Format::Letter => (215.9, 279.4),
        }
    }

    /// Width and height in staff spaces.
    pub fn size(self) -> (Sp, Sp) {
        let (width, height) = self.millimetres();
        (width / SPACE, height / SPACE)
    }
}

impl FromStr for Format {
    type Err = UnknownName;

    fn from_str(text: &str) -> std::result::Result<Format, UnknownName> {
        named(text, "a paper size", &Format::ALL, Format::name)
    }
}

impl Default for Worksheet {
    /// Examples as they are, on A4.
    fn default() -> Worksheet {
        Worksheet {
            title: "Worksheet".into(),
            workshop: String::new(),
            format: Format::default(),
            view: View::default(),
            fingers: false,
            notes: false,
            recast_yourself: false,
            answers: false,
            words: Dialect::American,
        }
    }
}

impl PartKind {
    /// A word for it, such as a class in SVG.
    pub fn name(self) -> &'static str {
        match self {
            PartKind::Title => "title-block",
            PartKind::Head => "head",
            PartKind::Task => "task",
            PartKind::Music => "music",
            PartKind::Staves => "staves",
            PartKind::Answer => "answer",
            PartKind::Notes => "notes",
            PartKind::Foot => "foot",
        }
    }
}

impl Page {
    /// Everything that is drawn, from the top.
    pub fn groups(&self) -> impl Iterator<Item = &Group> {
        self.parts.iter().flat_map(|part| &part.groups)
    }
}

impl PagePart {
    /// The smallest box around its signs on the page: left, top, right, bottom; `None` without any.
    pub fn bounds(&self) -> Option<[Sp; 4]> {
        let boxes = self.groups.iter().filter_map(Group::bounds);
        let [l, t, r, b] = boxes.reduce(|[l, t, r, b], [left, top, right, bottom]| {
            [l.min(left), t.min(top), r.max(right), b.max(bottom)]
        })?;
        let Point { x, y } = self.at;
        Some([x + l * self.scale, y + t * self.scale, x + r * self.scale, y + b * self.scale])
    }
}

impl Pages {
    /// The letters without an outline, each once, in their order.
    pub fn missing_letters(&self) -> String {
        missing_letters(self.pages.iter().flat_map(Page::groups))
    }
}

/// Lays out a worksheet of these examples, which are numbered as they come.
///
/// No system is cut, a head stays with the first system under it, and an example stays on one page where a page can hold it; two short ones
/// stand beside each other. With
/// [`Worksheet::recast_yourself`] an example with recast windows is given plain, the windows marked with the names of their figures, with an
/// empty staff under each system that has one; an example without is given as it is.
///
/// ```
/// use halfbar_core::worksheet::{self, PartKind, Worksheet};
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("title: Tuesday\nrecast: split-last at 1.1\n@Dm7 D4 F A C  B G E D |");
/// let piece = Piece::new(reading.line.expect("a bar"), reading.casting)?;
/// let asked = Worksheet { recast_yourself: true, answers: true, ..Worksheet::default() };
/// let laid_out = worksheet::pages(&[piece], &asked)?;
/// let kinds: Vec<_> = laid_out.pages.iter().map(|page| page.parts.iter().map(|part| part.kind).collect::<Vec<_>>()).collect();
/// assert_eq!(kinds[0], [PartKind::Title, PartKind::Head, PartKind::Task, PartKind::Music, PartKind::Staves, PartKind::Foot]);
/// assert_eq!(kinds[1], [PartKind::Title, PartKind::Head, PartKind::Answer, PartKind::Foot]);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// Whatever a stage can't do with a plain line; none where nothing is to be recast.
pub fn pages(examples: &[Piece], asked: &Worksheet) -> Result<Pages> {
    let title = blocks::printable(&asked.title);
    let author = blocks::printable(&asked.workshop);
    let mut fill = Fill::new(asked.format);
    fill.head(blocks::title(&title, &author));
    let (mut given, mut answers) = (Vec::new(), Vec::new());
    for (piece, number) in examples.iter().zip(1..) {
        let tasked = asked.recast_yourself && !piece.casting().windows().is_empty();
        let mut example = match tasked {
            true => blocks::task(piece, number, asked)?,
            false => blocks::example(piece, number, PartKind::Music, asked),
        };
        if asked.notes {
            example.add_notes(number);
        }
        given.push(example);
        if tasked && asked.answers {
            answers.push(blocks::example(piece, number, PartKind::Answer, asked));
        }
    }
    blocks::paired(given).into_iter().for_each(|example| fill.example(example));
    if !answers.is_empty() {
        fill.turn();
        fill.head(blocks::answers());
        blocks::paired(answers).into_iter().for_each(|answer| fill.example(answer));
    }
    let mut pages = fill.pages();
    let count = pages.len();
    for (page, number) in pages.iter_mut().zip(1..) {
        page.parts.push(blocks::foot(&title, number, count, asked.format));
    }
    Ok(Pages { format: asked.format, title, author, pages })
}
