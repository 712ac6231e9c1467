//! Pages, and what is on them.

use std::ops::Range;

use crate::naming::by_name;
use crate::scene::{Group, Point, Sp, missing_letters};

/// Millimeters per staff space: a staff is 7.2 mm tall, and a system of 100 spaces is 180 mm wide.
pub const SPACE: f64 = 1.8;
/// The width of the systems.
pub(super) const WIDTH: Sp = 100.0;

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

/// A worksheet, laid out on pages.
#[derive(Clone, PartialEq, Debug)]
pub struct Pages {
    /// The paper size.
    pub format: Format,
    /// The title of the worksheet.
    pub title: String,
    /// The teacher or studio; may be empty.
    pub author: String,
    /// At least one.
    pub pages: Vec<Page>,
}

/// A page of a worksheet.
#[derive(Clone, PartialEq, Debug)]
pub struct Page {
    /// Its text alternative.
    pub description: String,
    /// What is on it, from top to bottom; its page number comes last.
    pub parts: Vec<PagePart>,
}

/// Signs that belong together at one place on a page.
#[derive(Clone, PartialEq, Debug)]
pub struct PagePart {
    /// What it is.
    pub kind: PartKind,
    /// The number of the example it belongs to, from 1.
    pub example: Option<usize>,
    /// The bars of a system, by index from 0.
    pub bars: Option<Range<usize>>,
    /// Where its origin is.
    pub at: Point,
    /// The scale it is drawn at.
    pub scale: f64,
    /// Its signs.
    pub groups: Vec<Group>,
}

/// What a part of a page represents.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum PartKind {
    /// The title block, or the title of the answer key.
    Title,
    /// An example's number, title and tempo.
    Head,
    /// What to recast, and into which rhythms.
    Task,
    /// A system of an example as given.
    Music,
    /// A system without notes, to write on.
    Staves,
    /// A system of an answer.
    Answer,
    /// Ruled lines for notes.
    Notes,
    /// The title of the worksheet and the page number.
    Foot,
}

impl Format {
    /// Both sizes, in the order they are offered.
    pub const ALL: [Format; 2] = [Format::A4, Format::Letter];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Format::A4 => "a4",
            Format::Letter => "letter",
        }
    }

    /// The size that printers have where a reader's language is spoken, by the region in its BCP 47 tag; A4 without one.
    ///
    /// ```
    /// use halfbar_core::worksheet::Format;
    ///
    /// let usual = ["en-US", "es-MX", "fr-CA", "fil-Latn-PH", "en-GB", "de", ""].map(Format::usual_for);
    /// assert_eq!(usual[..4], [Format::Letter; 4]);
    /// assert_eq!(usual[4..], [Format::A4; 3]);
    /// ```
    pub fn usual_for(language: &str) -> Format {
        // Unicode CLDR, supplemental data, paperSize; from memory.
        const LETTER: [&str; 14] =
            ["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"];
        // A single letter begins an extension, which may have anything in it.
        let mut parts = language.split('-').skip(1).take_while(|part| part.len() > 1);
        let region = parts.find(|part| part.len() == 2);
        let is_letter =
            region.is_some_and(|region| LETTER.iter().any(|one| one.eq_ignore_ascii_case(region)));
        if is_letter { Format::Letter } else { Format::A4 }
    }

    /// The width and height in millimeters.
    pub fn millimeters(self) -> (f64, f64) {
        match self {
            Format::A4 => (210.0, 297.0),
            Format::Letter => (215.9, 279.4),
        }
    }

    /// The width and height in staff spaces.
    pub fn size(self) -> (Sp, Sp) {
        let (width, height) = self.millimeters();
        (width / SPACE, height / SPACE)
    }
}

by_name!(Format, "a paper size");

impl PartKind {
    /// Its name, such as for a class in SVG.
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
    /// Everything that is drawn, from top to bottom.
    pub fn groups(&self) -> impl Iterator<Item = &Group> {
        self.parts.iter().flat_map(|part| &part.groups)
    }
}

impl PagePart {
    /// The smallest box around its signs on the page: left, top, right and bottom; `None` if there are none.
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
    /// The letters that have no outline, each once, in order.
    pub fn missing_letters(&self) -> String {
        missing_letters(self.pages.iter().flat_map(Page::groups))
    }
}
