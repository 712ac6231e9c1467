//! Scene -> SVG. Walks the scene and decides nothing.
//!
//! The files are self-contained: every sign and letter is an outline, so no font is needed. Nothing in them has an id, so a page can hold
//! any number of them. A group is one path: with one element per sign, Chromium took two and a half times as long to insert a system. Notes
//! carry `data-note` (the event's id) and `data-bar` (counted from 1); brackets with names, their words and landings carry `data-name` (the index
//! of the name in the score, from 0). Ink is `currentColor`: black in a file of its own, the color of the
//! surrounding text in a page.
//!
//! A file is a document of the `svg` crate, which prints it. Its groups of signs go in as finished markup ([`Blob`]): as elements, each
//! with a map of attributes, they took four times as long. The pictures of systems on a page are nothing but such groups in a frame, so they are markup
//! from the start, and a module that draws only them doesn't have the crate in it.

mod markup;
mod page;
mod path;

use svg::node::element::{self, Description, Rectangle, Title};
use svg::node::{Blob, Text as Words};
use svg::{Document, Node};

use crate::font::Face;
use crate::scene::{Group, Item, NeckPicture, Role, Scene, Sp, System};

use super::escape::escaped;
use markup::{decimal, draw, items, signs, units, view_box};
pub use page::{page, page_within};
use path::Pen;

/// Pixels per staff space, unless something else sets the size of the picture.
const PIXELS: f64 = 8.0;

/// The background of a picture.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Paper {
    /// None; the ink has the color of the surrounding text.
    #[default]
    Transparent,
    /// White, with black ink.
    White,
}

/// The margin around a picture in a file of its own.
const MARGIN: Sp = 1.0;

/// The root of a file with a picture of this size.
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

/// The whole scene as one file with a transparent background.
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
    let pen = &mut Pen::default();
    draw(&mut document, pen, &scene.head);
    for system in &scene.systems {
        let mut row = element::Group::new()
            .set("class", "system")
            .set("transform", format!("translate(0 {})", units(system.top)));
        draw(&mut row, pen, &system.groups);
        document.append(row);
    }
    document.to_string()
}

/// Small scenes in rows, each with its name under it, as one file.
pub fn sheet(pictures: &[(String, Scene)], paper: Paper) -> String {
    /// Pictures per row, and the space for each in staff spaces.
    const COLUMNS: usize = 5;
    const CELL: (Sp, Sp) = (17.5, 12.5);
    /// A name's staff spaces per em, and its baseline in the cell.
    const NAME: (Sp, Sp) = (1.9, 11.0);
    let rows = pictures.len().div_ceil(COLUMNS);
    let mut document =
        alone(CELL.0 * COLUMNS as f64, CELL.1 * rows as f64, paper).add(Title::new("The figures"));
    let pen = &mut Pen::default();
    for (index, (name, scene)) in pictures.iter().enumerate() {
        let (x, y) = (CELL.0 * (index % COLUMNS) as f64, CELL.1 * (index / COLUMNS) as f64);
        for system in &scene.systems {
            let (x, y) = (units(x), units(y + system.above));
            let mut cell = element::Group::new().set("transform", format!("translate({x} {y})"));
            draw(&mut cell, pen, &system.groups);
            document.append(cell);
        }
        let mut label = Group::new(Role::Title, None, None);
        let text = Item::Text { face: Face::Semibold, size: NAME.0, text: name.clone() };
        label.put(x, y + NAME.1, text);
        draw(&mut document, pen, &[label]);
    }
    document.to_string()
}

/// The whole scene on one line, for somebody's page. Nothing in it is text, which would be left over wherever a feed or a sanitizer
/// drops the picture, except letters without an outline: what it shows is in its label.
pub fn inline(scene: &Scene) -> String {
    let (width, height) = (scene.width + 2.0 * MARGIN, scene.height + 2.0 * MARGIN);
    let pen = &mut Pen::default();
    let mut row = |class: &str, top: Sp, groups: &[Group]| {
        let silent: Vec<Group> =
            groups.iter().map(|group| Group { words: String::new(), ..group.clone() }).collect();
        let signs = signs(pen, &silent).replace('\n', "");
        format!("<g class=\"{class}\" transform=\"translate(0 {})\">{signs}</g>", units(top))
    };
    let head = row("head", 0.0, &scene.head);
    let rows: String = scene.systems.iter().map(|system| row("system", system.top, &system.groups)).collect();
    format!(
        "<svg role=\"img\" aria-label=\"{}\" width=\"{}\" height=\"{}\" viewBox=\"{}\" fill=\"currentColor\" \
         xmlns=\"http://www.w3.org/2000/svg\">{head}{rows}</svg>",
        escaped(&scene.description).replace('\n', " "),
        decimal(width * PIXELS),
        decimal(height * PIXELS),
        view_box(-MARGIN, -MARGIN, width, height)
    )
}

/// A picture for a page, without line ends: each would be a text node in the document.
fn within_page(class: &str, view_box: &str, groups: &[Group]) -> String {
    let signs = signs(&mut Pen::default(), groups).replace('\n', "");
    format!(
        "<svg class=\"{class}\" fill=\"currentColor\" viewBox=\"{view_box}\" xmlns=\"http://www.w3.org/2000/svg\">{signs}</svg>"
    )
}

/// One system as a picture of its own.
pub fn system(scene: &Scene, system: &System) -> String {
    let height = system.above + system.below;
    within_page("system", &view_box(0.0, -system.above, scene.width, height), &system.groups)
}

/// The head as a picture of its own.
pub fn head(scene: &Scene) -> String {
    within_page("head", &view_box(0.0, 0.0, scene.width, scene.head_height), &scene.head)
}

/// A part of the neck as one file.
pub fn neck_document(picture: &NeckPicture, paper: Paper) -> String {
    on_neck(alone(picture.width, picture.height, paper), picture)
}

/// A part of the neck as a picture of its own.
///
/// Every place where notes are played carries `data-note` with the ids of all its notes, and `data-string` and `data-fret`. On top of the
/// drawing, an invisible cell for every string at every fret carries `data-string` and `data-fret` too.
pub fn neck(picture: &NeckPicture) -> String {
    let document = Document::new()
        .set("viewBox", view_box(0.0, 0.0, picture.width, picture.height))
        .set("class", "neck")
        .set("role", "img")
        .set("fill", "currentColor");
    on_neck(document, picture)
}

fn on_neck(mut document: Document, picture: &NeckPicture) -> String {
    document.append(Title::new(picture.title.as_str()));
    document.append(Description::new().add(Words::new(picture.description.as_str())));
    let pen = &mut Pen::default();
    draw(&mut document, pen, &picture.groups);
    for place in &picture.places {
        let notes: Vec<String> = place.notes.iter().map(|note| note.0.to_string()).collect();
        let sign = element::Group::new()
            .set("class", place.group.role.name())
            .set("data-note", notes.join(" "))
            .set("data-string", place.string.0)
            .set("data-fret", place.fret.0);
        let mut markup = String::new();
        items(&mut markup, pen, &place.group);
        document.append(sign.add(Blob::new(markup)));
    }
    let mut cells =
        element::Group::new().set("class", "cells").set("fill", "none").set("pointer-events", "all");
    for cell in &picture.cells {
        let room = Rectangle::new()
            .set("data-string", cell.string.0)
            .set("data-fret", cell.fret.0)
            .set("x", units(cell.at.x))
            .set("y", units(cell.at.y))
            .set("width", units(cell.width))
            .set("height", units(cell.height));
        cells.append(room);
    }
    document.add(cells).to_string()
}
