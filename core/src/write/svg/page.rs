//! Pages of a worksheet as SVG.

use svg::node::Text as Words;
use svg::node::element::{Description, Group, Rectangle, Title};
use svg::{Document, Node};

use crate::scene::Sp;
use crate::worksheet::{Page, Pages};

use super::markup::{decimal, draw, transform, units, view_box};
use super::path::Pen;

/// The page with this index as a file of its own, with a white background and its size in millimeters. `None` if there is no such page.
pub fn page(pages: &Pages, index: usize) -> Option<String> {
    let page = pages.pages.get(index)?;
    let (width, height) = pages.format.millimeters();
    let document = bare(pages, index, page)
        .set("width", format!("{}mm", decimal(width)))
        .set("height", format!("{}mm", decimal(height)));
    Some(with_parts(document, pages, page))
}

/// The same for embedding in another document, which sets its size.
pub fn page_within(pages: &Pages, index: usize) -> Option<String> {
    let page = pages.pages.get(index)?;
    Some(with_parts(bare(pages, index, page), pages, page))
}

fn bare(pages: &Pages, index: usize, page: &Page) -> Document {
    let (width, height): (Sp, Sp) = pages.format.size();
    let title = format!("{}, page {} of {}", pages.title, index + 1, pages.pages.len());
    Document::new()
        .set("viewBox", view_box(0.0, 0.0, width, height))
        .set("class", "page")
        .set("role", "img")
        .set("fill", "#000")
        .add(Title::new(title.trim_start_matches(", ")))
        .add(Description::new().add(Words::new(page.description.as_str())))
}

fn with_parts(mut document: Document, pages: &Pages, page: &Page) -> String {
    let (width, height) = pages.format.size();
    let sheet = Rectangle::new().set("width", units(width)).set("height", units(height));
    document.append(sheet.set("fill", "#fff"));
    let pen = &mut Pen::default();
    for part in &page.parts {
        let mut group =
            Group::new().set("class", part.kind.name()).set("transform", transform(part.at, part.scale));
        draw(&mut group, pen, &part.groups);
        document.append(group);
    }
    document.to_string()
}
