//! Pages -> PDF (ISO 32000): vectors only, in black ink.
//!
//! Music signs and letters are outlines, each in the file once, so no font is needed and every viewer shows
//! the same thing. The words are laid over them invisibly in one of the standard fonts, so that they can be
//! searched and copied.

use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::TextRenderingMode;
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};

use crate::font::{Face, Glyph};
use crate::scene::{Group, Item, Placed, Point, Role, Segment, Sp};
use crate::worksheet::{Page, Pages, SPACE};

/// Points per staff space; 72 points are an inch.
const POINTS: f64 = SPACE / 25.4 * 72.0;
/// The compression level: 6 is zlib's default.
const LEVEL: u8 = 6;
/// The font of the invisible words. Each of its letters is six tenths of an em wide in every viewer.
const FONT: (Name, &[u8], f64) = (Name(b"F"), b"Courier", 0.6);

/// A worksheet as a PDF file with numbered pages, a title and an author.
///
/// ```
/// use halfbar_core::worksheet::{self, Worksheet};
///
/// let file = halfbar_core::write::pdf::document(&worksheet::pages(&[], &Worksheet::default())?);
/// assert!(file.starts_with(b"%PDF-1."));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn document(pages: &Pages) -> Vec<u8> {
    let mut next = Ref::new(1);
    let [catalog, tree, info, font, label] = [0; 5].map(|_| next.bump());
    let mut file = Pdf::new();
    let mut root = file.catalog(catalog);
    root.pages(tree).lang(TextStr("en")).viewer_preferences().display_doc_title(true);
    root.page_labels().nums().insert(0, label);
    root.finish();
    file.indirect(label).dict().pair(Name(b"S"), Name(b"D"));
    let mut about = file.document_info(info);
    about.creator(TextStr(concat!("Halfbar ", env!("CARGO_PKG_VERSION"))));
    if !pages.title.is_empty() {
        about.title(TextStr(&pages.title));
    }
    if !pages.author.is_empty() {
        about.author(TextStr(&pages.author));
    }
    about.finish();
    file.type1_font(font).base_font(Name(FONT.1)).encoding_predefined(Name(b"WinAnsiEncoding"));

    let (width, height) = pages.format.millimeters();
    let [width, height] = [width, height].map(|length| length / 25.4 * 72.0);
    let mut outlines: Vec<Outline> = Vec::new();
    let mut kids = Vec::new();
    for page in &pages.pages {
        let content = content(page, height, &mut outlines);
        let [id, stream] = [next.bump(), next.bump()];
        file.stream(stream, &compress_to_vec_zlib(&content, LEVEL)).filter(Filter::FlateDecode);
        let mut sheet = file.page(id);
        sheet.parent(tree).media_box(Rect::new(0.0, 0.0, real(width), real(height))).contents(stream);
        kids.push(id);
    }
    let forms: Vec<Ref> = outlines.iter().map(|_| next.bump()).collect();
    let mut node = file.pages(tree);
    node.count(i32::try_from(kids.len()).unwrap_or(i32::MAX)).kids(kids);
    // What all pages use.
    let mut resources = node.resources();
    resources.fonts().pair(FONT.0, font);
    let mut named = resources.x_objects();
    for (index, form) in forms.iter().enumerate() {
        named.pair(Name(form_name(index).as_bytes()), *form);
    }
    named.finish();
    resources.finish();
    node.finish();
    for (outline, form) in outlines.iter().zip(forms) {
        let (segments, [left, top, right, bottom]) = outline.drawn();
        let mut content = Content::new();
        draw(&mut content, &segments, Point::new(0.0, 0.0));
        content.fill_nonzero();
        let content = compress_to_vec_zlib(&content.finish(), LEVEL);
        let mut object = file.form_xobject(form, &content);
        object.bbox(Rect::new(real(left), real(top), real(right), real(bottom)));
        object.filter(Filter::FlateDecode);
    }
    file.finish()
}

/// An outline that is used by name.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Outline {
    Sign(Glyph),
    Letter(Face, char),
}

/// Units per em of a letter and per staff space of a sign: integers are short.
const UNITS: f64 = 1000.0;

impl Outline {
    /// Its shape and the box around it.
    fn drawn(self) -> (Vec<Segment>, [f64; 4]) {
        let (segments, unit) = match self {
            Outline::Sign(glyph) => glyph.segments(),
            Outline::Letter(face, letter) => face.segments(letter).unwrap_or_default(),
        };
        let larger = |at: Point| Point::new(at.x * unit * UNITS, at.y * unit * UNITS);
        let item = Item::Shape(segments.into_iter().map(|segment| segment.map(larger)).collect());
        let bounds = item.bounds();
        match item {
            Item::Shape(segments) => (segments, bounds),
            _ => (Vec::new(), bounds),
        }
    }
}

/// The index of an outline in the list of those that are used.
fn needed(outlines: &mut Vec<Outline>, outline: Outline) -> usize {
    outlines.iter().position(|one| *one == outline).unwrap_or_else(|| {
        outlines.push(outline);
        outlines.len() - 1
    })
}

fn form_name(index: usize) -> String {
    format!("O{index}")
}

/// The content of a page that is `height` points tall.
fn content(page: &Page, height: f64, outlines: &mut Vec<Outline>) -> Vec<u8> {
    let mut content = Content::new();
    // PDF measures up from the lower edge.
    content.transform(matrix(POINTS, -POINTS, 0.0, height));
    for part in &page.parts {
        content.save_state();
        content.transform(matrix(part.scale, part.scale, part.at.x, part.at.y));
        for group in &part.groups {
            group.items.iter().for_each(|placed| item(&mut content, placed, outlines));
        }
        content.restore_state();
    }
    // All the words at the end, in reading order.
    content.begin_text();
    content.set_text_rendering_mode(TextRenderingMode::Invisible);
    for part in &page.parts {
        for group in &part.groups {
            for (text, left, base, size, width) in words(group) {
                let at = Point::new(part.at.x + left * part.scale, part.at.y + base * part.scale);
                hidden(&mut content, &text, at, size * part.scale, width * part.scale);
            }
        }
    }
    content.end_text();
    content.finish().into_vec()
}

/// Words, their left end and baseline, their size per em, and their length.
type Words = (String, Sp, Sp, Sp, Sp);

/// What a group says, in one piece if its signs are set side by side, like those of a chord symbol.
fn words(group: &Group) -> Vec<Words> {
    if let (Role::Chord, Some([left, top, right, bottom])) = (group.role, group.bounds()) {
        return vec![(group.words.clone(), left, bottom, bottom - top, right - left)];
    }
    let said = group.items.iter().filter_map(|placed| match &placed.item {
        Item::Text { face, size, text } => {
            Some((text.clone(), placed.at.x, placed.at.y, *size, face.width(text) * size))
        }
        _ => None,
    });
    said.collect()
}

/// Writes invisible words, as long as the outlines they stand for.
fn hidden(content: &mut Content, text: &str, at: Point, size: Sp, width: Sp) {
    if text.trim().is_empty() || width <= 0.0 {
        return;
    }
    // A letter missing from the font's encoding is given as an alternative text.
    let plain = text.is_ascii();
    let shown: Vec<u8> = text
        .chars()
        .map(|letter| if letter.is_ascii() { u8::try_from(letter).unwrap_or(b'?') } else { b'?' })
        .collect();
    if !plain {
        content.begin_marked_content_with_properties(Name(b"Span")).properties().actual_text(TextStr(text));
    }
    #[allow(clippy::cast_precision_loss, reason = "a row of words is short")]
    let natural = FONT.2 * size * shown.len() as f64;
    content.set_font(FONT.0, real(size));
    content.set_horizontal_scaling(real(100.0 * width / natural));
    content.set_text_matrix(matrix(1.0, -1.0, at.x, at.y));
    content.show(Str(&shown));
    if !plain {
        content.end_marked_content();
    }
}

fn item(content: &mut Content, placed: &Placed, outlines: &mut Vec<Outline>) {
    let at = placed.at;
    match &placed.item {
        Item::Glyph(glyph, size) => {
            used(content, needed(outlines, Outline::Sign(*glyph)), at, *size);
        }
        Item::Rect { width, height } => {
            content.rect(real(at.x), real(at.y), real(*width), real(*height)).fill_nonzero();
        }
        Item::Shape(segments) => {
            draw(content, segments, at);
            content.fill_nonzero();
        }
        Item::Text { face, size, text } => {
            let mut pen = at.x;
            for letter in text.chars() {
                if face.segments(letter).is_none() {
                    lacking(content, Point::new(pen, at.y), *size);
                } else if letter != ' ' {
                    let index = needed(outlines, Outline::Letter(*face, letter));
                    used(content, index, Point::new(pen, at.y), *size);
                }
                pen += face.advance(letter) * size;
            }
        }
    }
}

fn used(content: &mut Content, index: usize, at: Point, size: f64) {
    content.save_state();
    content.transform(matrix(size / UNITS, size / UNITS, at.x, at.y));
    content.x_object(Name(form_name(index).as_bytes()));
    content.restore_state();
}

/// The box that stands for a letter without an outline.
fn lacking(content: &mut Content, at: Point, size: Sp) {
    let frame = |content: &mut Content, inset: Sp| {
        let (width, height) = (0.4 - 2.0 * inset, 0.66 - 2.0 * inset);
        let (x, y) = (at.x + (0.05 + inset) * size, at.y - (0.66 - inset) * size);
        content.rect(real(x), real(y), real(width * size), real(height * size));
    };
    frame(content, 0.0);
    frame(content, 0.04);
    content.fill_even_odd();
}

fn draw(content: &mut Content, segments: &[Segment], origin: Point) {
    let [x, y] = [origin.x, origin.y];
    let mut open = false;
    for segment in segments {
        match segment.map(|at| Point::new(at.x + x, at.y + y)) {
            Segment::Move(to) => {
                if open {
                    content.close_path();
                }
                open = true;
                content.move_to(real(to.x), real(to.y));
            }
            Segment::Line(to) => {
                content.line_to(real(to.x), real(to.y));
            }
            Segment::Curve(a, b, to) => {
                content.cubic_to(real(a.x), real(a.y), real(b.x), real(b.y), real(to.x), real(to.y));
            }
        }
    }
    content.close_path();
}

fn matrix(across: f64, down: f64, x: Sp, y: Sp) -> [f32; 6] {
    [exact(across), 0.0, 0.0, exact(down), real(x), real(y)]
}

/// A length rounded to a thousandth.
fn real(length: f64) -> f32 {
    exact((length * 1000.0).round() / 1000.0)
}

#[allow(clippy::cast_possible_truncation, reason = "a page is some hundred units wide")]
fn exact(number: f64) -> f32 {
    number as f32
}
