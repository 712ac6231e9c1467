//! Scene -> SVG. Walks the scene and decides nothing.
//!
//! The files stand alone: every sign and letter is an outline, so no font is needed. Nothing in them has a name, so any number can stand
//! in one page. A group is one path: with an element for each sign, Chromium took two and a half times as long to take a system in. Notes
//! carry `data-note` (the event's id) and `data-bar` (counted from 1). Ink is `currentColor`: black by itself, the colour of the text
//! around it inside a page.

mod page;
mod path;

use std::fmt::Write;

use svg::node::Text as Words;
use svg::node::element::{Description, Rectangle, Title};
use svg::{Document, Node};

use crate::font::Face;
use crate::scene::{Group, Item, NeckPicture, Placed, Point, Role, Scene, Sp, System};

pub use page::{page, page_within};
use path::{Pen, UNITS};

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
        .set("width", decimal(width * PIXELS))
        .set("height", decimal(height * PIXELS))
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
    filled(&document, |out, pen| {
        scene.head.iter().for_each(|group| draw(out, pen, group));
        for system in &scene.systems {
            put(out, format_args!("\n<g class=\"system\" transform=\"translate(0 {})\">", units(system.top)));
            system.groups.iter().for_each(|group| draw(out, pen, group));
            *out += "\n</g>";
        }
    })
}

/// A document with what `fill` writes at its end: a long piece is written once, into the text that is returned.
fn filled(document: &Document, fill: impl FnOnce(&mut String, &mut Pen)) -> String {
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
    fill(&mut text, &mut Pen::default());
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
    let document = alone(CELL.0 * COLUMNS as f64, CELL.1 * rows as f64, paper).add(Title::new("The figures"));
    filled(&document, |out, pen| {
        for (index, (name, scene)) in pictures.iter().enumerate() {
            let (x, y) = (CELL.0 * (index % COLUMNS) as f64, CELL.1 * (index / COLUMNS) as f64);
            for system in &scene.systems {
                let (x, y) = (units(x), units(y + system.above));
                put(out, format_args!("\n<g transform=\"translate({x} {y})\">"));
                system.groups.iter().for_each(|group| draw(out, pen, group));
                *out += "\n</g>";
            }
            let mut label = Group::new(Role::Title, None, None);
            let text = Item::Text { face: Face::Semibold, size: NAME.0, text: name.clone() };
            label.put(x, y + NAME.1, text);
            draw(out, pen, &label);
        }
    })
}

/// A picture for a page, which would hold a node for every end of a line between its signs.
fn unbroken(picture: &str) -> String {
    picture.replace("\n<", "<")
}

/// One system as a picture of its own.
pub fn system(scene: &Scene, system: &System) -> String {
    let height = system.above + system.below;
    let document = Document::new()
        .set("viewBox", view_box(0.0, -system.above, scene.width, height))
        .set("class", "system")
        .set("fill", "currentColor");
    unbroken(&filled(&document, |out, pen| system.groups.iter().for_each(|group| draw(out, pen, group))))
}

/// The head as a picture of its own.
pub fn head(scene: &Scene) -> String {
    let document = Document::new()
        .set("viewBox", view_box(0.0, 0.0, scene.width, scene.head_height))
        .set("class", "head")
        .set("fill", "currentColor");
    unbroken(&filled(&document, |out, pen| scene.head.iter().for_each(|group| draw(out, pen, group))))
}

/// A part of the neck as one file.
pub fn neck_document(picture: &NeckPicture, paper: Paper) -> String {
    let document = told(alone(picture.width, picture.height, paper), picture);
    filled(&document, |out, pen| on_neck(out, pen, picture))
}

/// A part of the neck as a picture of its own.
///
/// Every place where notes are played carries `data-note` with the ids of all its notes, and `data-string` and `data-fret`; so does, without
/// notes, the room of every string at every fret. It lies above what is drawn, and is not seen.
pub fn neck(picture: &NeckPicture) -> String {
    let document = Document::new()
        .set("viewBox", view_box(0.0, 0.0, picture.width, picture.height))
        .set("class", "neck")
        .set("role", "img")
        .set("fill", "currentColor");
    filled(&told(document, picture), |out, pen| on_neck(out, pen, picture))
}

fn told(document: Document, picture: &NeckPicture) -> Document {
    let description = Description::new().add(Words::new(picture.description.as_str()));
    document.add(Title::new(picture.title.as_str())).add(description)
}

fn on_neck(out: &mut String, pen: &mut Pen, picture: &NeckPicture) {
    picture.groups.iter().for_each(|group| draw(out, pen, group));
    for place in &picture.places {
        push(out, &["\n<g class=\"", place.group.role.name(), "\" data-note=\""]);
        for (index, note) in place.notes.iter().enumerate() {
            push(out, &[if index > 0 { " " } else { "" }, &note.0.to_string()]);
        }
        put(out, format_args!("\" data-string=\"{}\" data-fret=\"{}\">", place.string.0, place.fret.0));
        items(out, pen, &place.group);
        *out += "\n</g>";
    }
    *out += "\n<g class=\"cells\" fill=\"none\" pointer-events=\"all\">";
    for cell in &picture.cells {
        put(out, format_args!("\n<rect data-string=\"{}\" data-fret=\"{}\"", cell.string.0, cell.fret.0));
        let [x, y, width, height] = [cell.at.x, cell.at.y, cell.width, cell.height].map(units);
        put(out, format_args!(" x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\"/>"));
    }
    *out += "\n</g>";
}

/// Writes a group as markup. Straight: through elements with maps of attributes, which are for the few signs that carry somebody's
/// words, a system took five times as long.
fn draw(out: &mut String, pen: &mut Pen, group: &Group) {
    push(out, &["\n<g class=\"", group.role.name(), "\""]);
    if let Some(bar) = group.bar {
        put(out, format_args!(" data-bar=\"{}\"", bar + 1));
    }
    if let Some(note) = group.note {
        put(out, format_args!(" data-note=\"{}\"", note.0));
    }
    out.push('>');
    items(out, pen, group);
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

/// The signs of a group as one path.
fn items(out: &mut String, pen: &mut Pen, group: &Group) {
    const OPEN: &str = "\n<path d=\"";
    *out += OPEN;
    let empty = out.len();
    group.items.iter().for_each(|placed| pen.draw(out, placed));
    match out.len() > empty {
        true => *out += "\"/>",
        false => out.truncate(empty - OPEN.len()),
    }
    for Placed { at, item } in &group.items {
        // A letter without an outline: the reader's own font has to serve.
        if let Item::Text { face, size, text } = item
            && !face.has(text)
        {
            let words = svg::node::element::Text::new(text.as_str())
                .set("x", units(at.x))
                .set("y", units(at.y))
                .set("font-family", "serif")
                .set("font-size", units(*size));
            *out += &words.to_string();
        }
    }
}

fn push(out: &mut String, parts: &[&str]) {
    parts.iter().for_each(|part| *out += part);
}

/// Writing to a string can't fail.
fn put(out: &mut String, args: std::fmt::Arguments<'_>) {
    let _ = out.write_fmt(args);
}

fn view_box(x: Sp, y: Sp, width: Sp, height: Sp) -> String {
    let [x, y, width, height] = [x, y, width, height].map(units);
    format!("{x} {y} {width} {height}")
}

/// A length in units.
fn units(length: Sp) -> i64 {
    // `as` cuts what is out of all bounds.
    #[allow(clippy::cast_possible_truncation)]
    let units = (length * UNITS).round() as i64;
    units
}

/// What moves and scales a part.
fn transform(to: Point, scale: f64) -> String {
    format!("translate({} {}) scale({})", units(to.x), units(to.y), decimal(scale))
}

/// A positive number with at most four digits after the point: printing floats would take 15 KB of code.
fn decimal(value: f64) -> String {
    // `as` cuts what is out of all bounds.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let parts = (value * 1e4).round() as u64;
    let text = format!("{}.{:04}", parts / 10_000, parts % 10_000);
    text.trim_end_matches('0').trim_end_matches('.').into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        for (value, text) in [
            (0.0, "0"),
            (0.00004, "0"),
            (1.5, "1.5"),
            (12.34567, "12.3457"),
            (0.05, "0.05"),
            (100.0, "100"),
            (9_000_000.5, "9000000.5"),
        ] {
            assert_eq!(decimal(value), text);
        }
    }
}
