//! Scene -> SVG. Walks the scene and decides nothing.
//!
//! The files stand alone: every glyph is an outline in `<defs>`, so no font is needed. Notes carry `data-note` (the event's id) and
//! `data-bar` (counted from 1). Ink is `currentColor`: black by itself, the colour of the text around it inside a page.

mod page;

use std::fmt::Write;

use svg::node::element::{Definitions, Description, Group as G, Path, Rectangle, Title};
use svg::node::{Blob, Text as Words};
use svg::{Document, Node};

use crate::engrave::{Face, Glyph};
use crate::scene::{Group, Item, NeckPicture, Placed, Point, Role, Scene, Segment, Sp, System};

pub use page::{page, page_within};

/// User units to the staff space: two digits after the point are then a thousandth of a space.
const UNITS: f64 = 10.0;
/// Pixels to the staff space where nothing else says how large the picture is.
const PIXELS: f64 = 8.0;

/// What a picture stands on.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Paper {
    /// Nothing: ink of the colour around it.
    #[default]
    Transparent,
    /// White, with black ink, whatever is around it.
    White,
}

/// Around a picture that stands alone.
const MARGIN: Sp = 1.0;

/// The root of a picture this large that stands alone.
fn alone(width: Sp, height: Sp, paper: Paper) -> Document {
    let (width, height) = (width + 2.0 * MARGIN, height + 2.0 * MARGIN);
    let mut document = Document::new()
        .set("viewBox", view_box(-MARGIN, -MARGIN, width, height))
        .set("width", number(width * PIXELS))
        .set("height", number(height * PIXELS))
        .set("role", "img")
        .set("fill", if paper == Paper::White { "#000" } else { "currentColor" });
    if paper == Paper::White {
        let sheet = Rectangle::new().set("x", units(-MARGIN)).set("y", units(-MARGIN)).set("fill", "#fff");
        document.append(sheet.set("width", units(width)).set("height", units(height)));
    }
    document
}

/// The whole scene as one file, on transparent paper.
pub fn document(scene: &Scene) -> String {
    document_on(scene, Paper::Transparent)
}

/// The whole scene as one file.
pub fn document_on(scene: &Scene, paper: Paper) -> String {
    let mut document = alone(scene.width, scene.height, paper);
    if !scene.title.is_empty() {
        document.append(Title::new(scene.title.as_str()));
    }
    document.append(Description::new().add(Words::new(scene.description.as_str())));
    let mut outlines = Outlines::default();
    outlines.add(scene.groups());
    document.append(define(&outlines.shapes));
    filled(&document, |out| {
        scene.head.iter().for_each(|group| draw(out, group));
        for system in &scene.systems {
            *out += "\n<g class=\"system\" transform=\"translate(0 ";
            push_number(out, system.top * UNITS);
            *out += ")\">";
            system.groups.iter().for_each(|group| draw(out, group));
            *out += "\n</g>";
        }
    })
}

/// A document with what `fill` writes at its end: a long piece is written once, into the text that is returned.
fn filled(document: &Document, fill: impl FnOnce(&mut String)) -> String {
    const END: &str = "\n</svg>";
    let mut text = document.to_string();
    match text.strip_suffix(END).map(str::len) {
        Some(open) => text.truncate(open),
        // Without anything inside it is one empty tag.
        None => {
            text.truncate(text.trim_end_matches("/>").len());
            text.push('>');
        }
    }
    fill(&mut text);
    text + END
}

/// Small scenes with their names under them, in rows, as one file.
pub fn sheet(pictures: &[(String, Scene)], paper: Paper) -> String {
    /// Pictures in a row, and the room for each, in staff spaces.
    const COLUMNS: usize = 5;
    const CELL: (Sp, Sp) = (17.5, 12.5);
    /// A name's size to the em, and its base line in the cell.
    const NAME: (Sp, Sp) = (1.9, 11.0);
    let rows = pictures.len().div_ceil(COLUMNS);
    let (width, height) = (CELL.0 * COLUMNS as f64, CELL.1 * rows as f64);
    let mut document = alone(width, height, paper);
    let mut names = Vec::new();
    let mut outlines = Outlines::default();
    for (index, (name, scene)) in pictures.iter().enumerate() {
        let (column, row) = ((index % COLUMNS) as f64, (index / COLUMNS) as f64);
        let mut label = Group::new(Role::Title, None, None);
        let text = Item::Text { face: Face::Semibold, size: NAME.0, text: name.clone() };
        label.put(CELL.0 * column, CELL.1 * row + NAME.1, text);
        outlines.add(scene.groups().chain([&label]));
        names.push(label);
    }
    document.append(Title::new("The figures"));
    document.append(define(&outlines.shapes));
    for (index, (label, (_, scene))) in names.iter().zip(pictures).enumerate() {
        let (x, y) = (CELL.0 * (index % COLUMNS) as f64, CELL.1 * (index / COLUMNS) as f64);
        for system in &scene.systems {
            let place = format!("translate({} {})", units(x), units(y + system.above));
            let mut inside = String::new();
            system.groups.iter().for_each(|group| draw(&mut inside, group));
            document.append(G::new().set("transform", place).add(Blob::new(inside.trim_start())));
        }
        let mut name = String::new();
        draw(&mut name, label);
        document.append(Blob::new(name.trim_start()));
    }
    document.to_string()
}

/// A picture for a page, which would hold a node for every end of a line between its signs.
fn unbroken(picture: &str) -> String {
    picture.replace("\n<", "<")
}

/// One system as a picture of its own, without the glyphs' definitions: a page has those once, from [`Outlines`].
pub fn system(scene: &Scene, system: &System) -> String {
    let height = system.above + system.below;
    let document = Document::new()
        .set("viewBox", view_box(0.0, -system.above, scene.width, height))
        .set("class", "system")
        .set("fill", "currentColor");
    unbroken(&filled(&document, |out| system.groups.iter().for_each(|group| draw(out, group))))
}

/// The head as a picture of its own, without definitions.
pub fn head(scene: &Scene) -> String {
    let document = Document::new()
        .set("viewBox", view_box(0.0, 0.0, scene.width, scene.head_height))
        .set("class", "head")
        .set("fill", "currentColor");
    unbroken(&filled(&document, |out| scene.head.iter().for_each(|group| draw(out, group))))
}

/// A part of the neck as one file.
pub fn neck_document(picture: &NeckPicture, paper: Paper) -> String {
    let mut outlines = Outlines::default();
    outlines.add(picture.groups());
    let document = told(alone(picture.width, picture.height, paper), picture).add(define(&outlines.shapes));
    filled(&document, |out| on_neck(out, picture))
}

/// A part of the neck as a picture of its own, without definitions.
///
/// Every place where notes are played carries `data-note` with the ids of all its notes, and `data-string` and `data-fret`; so does, without
/// notes, the room of every string at every fret. It lies above what is drawn, and is not seen.
pub fn neck(picture: &NeckPicture) -> String {
    let document = Document::new()
        .set("viewBox", view_box(0.0, 0.0, picture.width, picture.height))
        .set("class", "neck")
        .set("role", "img")
        .set("fill", "currentColor");
    filled(&told(document, picture), |out| on_neck(out, picture))
}

fn told(document: Document, picture: &NeckPicture) -> Document {
    let description = Description::new().add(Words::new(picture.description.as_str()));
    document.add(Title::new(picture.title.as_str())).add(description)
}

fn on_neck(out: &mut String, picture: &NeckPicture) {
    picture.groups.iter().for_each(|group| draw(out, group));
    for place in &picture.places {
        push(out, &["\n<g class=\"", place.group.role.name(), "\" data-note=\""]);
        for (index, note) in place.notes.iter().enumerate() {
            push(out, &[if index > 0 { " " } else { "" }, &note.0.to_string()]);
        }
        put(out, format_args!("\" data-string=\"{}\" data-fret=\"{}\">", place.string.0, place.fret.0));
        place.group.items.iter().for_each(|placed| item(out, placed));
        *out += "\n</g>";
    }
    *out += "\n<g class=\"cells\" fill=\"none\" pointer-events=\"all\">";
    for cell in &picture.cells {
        put(out, format_args!("\n<rect data-string=\"{}\" data-fret=\"{}\"", cell.string.0, cell.fret.0));
        let (at, width, height) = (cell.at, cell.width, cell.height);
        attributes(out, &[("x", at.x), ("y", at.y), ("width", width), ("height", height)]);
        *out += "/>";
    }
    *out += "\n</g>";
}

/// The outlines that scenes use by name.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Outlines {
    /// In order, each once.
    shapes: Vec<Shape>,
}

impl Outlines {
    /// Adds what these groups use. Says whether anything was missing.
    pub fn add<'a>(&mut self, groups: impl IntoIterator<Item = &'a Group>) -> bool {
        let before = self.shapes.len();
        for placed in groups.into_iter().flat_map(|group| &group.items) {
            match &placed.item {
                Item::Glyph(glyph, _) => {
                    self.need(Shape::Sign(*glyph));
                }
                Item::Text { face, text, .. } if face.has(text) => {
                    let letters = text.chars().filter(|letter| *letter != ' ');
                    letters.for_each(|letter| self.need(Shape::Letter(*face, letter)));
                }
                Item::Text { .. } | Item::Rect { .. } | Item::Shape(_) => {}
            }
        }
        self.shapes.len() > before
    }

    fn need(&mut self, shape: Shape) {
        if let Err(place) = self.shapes.binary_search(&shape) {
            self.shapes.insert(place, shape);
        }
    }

    /// Their definitions, as an SVG element without size.
    pub fn definitions(&self) -> String {
        Document::new()
            .set("width", 0)
            .set("height", 0)
            .set("aria-hidden", "true")
            .add(define(&self.shapes))
            .to_string()
    }
}

/// An outline that is used by name.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum Shape {
    Sign(Glyph),
    Letter(Face, char),
}

fn define(shapes: &[Shape]) -> Definitions {
    let mut definitions = Definitions::new();
    for shape in shapes {
        // Signs are used at the staff's size, letters at one em to the staff space.
        let (id, path) = match *shape {
            Shape::Sign(glyph) => (glyph.name().to_string(), Some(glyph.path())),
            Shape::Letter(face, letter) => (letter_id(face, letter), face.path(letter)),
        };
        if let Some((data, unit)) = path {
            let scale = format!("scale({})", number(unit * UNITS));
            definitions.append(Path::new().set("id", id).set("d", data).set("transform", scale));
        }
    }
    definitions
}

fn letter_id(face: Face, letter: char) -> String {
    format!("{}-{:x}", face.name(), u32::from(letter))
}

/// Writes a group as markup. Straight: through elements with maps of attributes, which are for the few signs that carry somebody's
/// words, a system took five times as long.
fn draw(out: &mut String, group: &Group) {
    push(out, &["\n<g class=\"", group.role.name(), "\""]);
    if let Some(bar) = group.bar {
        put(out, format_args!(" data-bar=\"{}\"", bar + 1));
    }
    if let Some(note) = group.note {
        put(out, format_args!(" data-note=\"{}\"", note.0));
    }
    out.push('>');
    for placed in &group.items {
        item(out, placed);
    }
    if let Some([left, top, right, bottom]) = group.bounds().filter(|_| !group.words.is_empty()) {
        // Not seen, but found, selected and copied. Its letters fill the room of the outlines.
        let words = svg::node::element::Text::new(group.words.as_str())
            .set("x", units(left))
            .set("y", units(bottom))
            .set("font-size", units(bottom - top))
            .set("textLength", units(right - left))
            .set("lengthAdjust", "spacingAndGlyphs")
            .set("fill-opacity", 0);
        *out += &words.to_string();
    }
    *out += "\n</g>";
}

fn item(out: &mut String, placed: &Placed) {
    let at = placed.at;
    out.push('\n');
    match &placed.item {
        Item::Glyph(glyph, size) => {
            push(out, &["<use href=\"#", glyph.name(), "\""]);
            match *size == 1.0 {
                true => attributes(out, &[("x", at.x), ("y", at.y)]),
                false => transform(out, at, *size),
            }
            *out += "/>";
        }
        Item::Rect { width, height } => {
            *out += "<rect";
            attributes(out, &[("x", at.x), ("y", at.y), ("width", *width), ("height", *height)]);
            *out += "/>";
        }
        Item::Shape(segments) => {
            *out += "<path d=\"";
            path(out, segments, at);
            *out += "\"/>";
        }
        Item::Text { face, size, text } if face.has(text) => letters(out, *face, *size, text, at),
        // A letter without an outline: the reader's own font has to serve.
        Item::Text { size, text, .. } => {
            let words = svg::node::element::Text::new(text.as_str())
                .set("x", units(at.x))
                .set("y", units(at.y))
                .set("font-family", "serif")
                .set("font-size", units(*size));
            *out += &words.to_string();
        }
    }
}

fn letters(out: &mut String, face: Face, size: Sp, text: &str, at: Point) {
    *out += "<g";
    transform(out, at, size);
    *out += ">";
    let mut pen = 0.0;
    for letter in text.chars() {
        if letter != ' ' {
            push(out, &["\n<use href=\"#", &letter_id(face, letter), "\""]);
            attributes(out, &[("x", pen)]);
            *out += "/>";
        }
        pen += face.advance(letter);
    }
    *out += "\n</g>";
}

fn path(out: &mut String, segments: &[Segment], origin: Point) {
    let mut put = |command: char, points: &[Point]| {
        out.push(command);
        for (index, point) in points.iter().enumerate() {
            if index > 0 {
                out.push(' ');
            }
            push_number(out, (point.x + origin.x) * UNITS);
            out.push(' ');
            push_number(out, (point.y + origin.y) * UNITS);
        }
    };
    for segment in segments {
        match *segment {
            Segment::Move(to) => put('M', &[to]),
            Segment::Line(to) => put('L', &[to]),
            Segment::Curve(a, b, to) => put('C', &[a, b, to]),
        }
    }
    out.push('Z');
}

fn push(out: &mut String, parts: &[&str]) {
    parts.iter().for_each(|part| *out += part);
}

fn attributes(out: &mut String, list: &[(&str, Sp)]) {
    for (name, length) in list {
        push(out, &[" ", name, "=\""]);
        push_number(out, length * UNITS);
        out.push('"');
    }
}

fn transform(out: &mut String, to: Point, scale: f64) {
    *out += " transform=\"translate(";
    push_number(out, to.x * UNITS);
    out.push(' ');
    push_number(out, to.y * UNITS);
    *out += ") scale(";
    push_number(out, scale);
    *out += ")\"";
}

/// Writing to a string can't fail.
fn put(out: &mut String, args: std::fmt::Arguments<'_>) {
    let _ = out.write_fmt(args);
}

fn view_box(x: Sp, y: Sp, width: Sp, height: Sp) -> String {
    format!("{} {} {} {}", units(x), units(y), units(width), units(height))
}

fn units(length: Sp) -> String {
    number(length * UNITS)
}

fn number(value: f64) -> String {
    let mut text = String::new();
    push_number(&mut text, value);
    text
}

/// At most two digits after the point, digit by digit from a whole number: a tenth of the time of printing a float.
fn push_number(out: &mut String, value: f64) {
    // A page is a few thousand units wide; `as` cuts what is out of all bounds.
    #[allow(clippy::cast_possible_truncation)]
    let hundredths = (value * 100.0).round() as i64;
    if hundredths < 0 {
        out.push('-');
    }
    let hundredths = hundredths.unsigned_abs();
    let digit = |power: u64| char::from(b'0' + u8::try_from(hundredths / power % 10).unwrap_or(0));
    let mut power = 100;
    while hundredths / power >= 10 {
        power *= 10;
    }
    while power >= 100 {
        out.push(digit(power));
        power /= 10;
    }
    if !hundredths.is_multiple_of(100) {
        out.push('.');
        out.push(digit(10));
        if !hundredths.is_multiple_of(10) {
            out.push(digit(1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        for (value, text) in
            [(0.0, "0"), (-0.004, "0"), (1.5, "1.5"), (-12.345, "-12.35"), (0.05, "0.05"), (100.0, "100")]
        {
            assert_eq!(number(value), text);
        }
    }
}
