//! Pages of a worksheet as SVG.

use svg::node::Text as Words;
use svg::node::element::{Description, Rectangle, Title};
use svg::{Document, Node};

use crate::scene::Sp;
use crate::worksheet::{Page, Pages};

use super::{decimal, draw, filled, push, transform, units, view_box};

/// A page, by its index from 0, as one file: white paper in its own size. `None` where there is no such page.
pub fn page(pages: &Pages, index: usize) -> Option<String> {
    let page = pages.pages.get(index)?;
    let (width, height) = pages.format.millimetres();
    let document = bare(pages, index, page)
        .set("width", format!("{}mm", decimal(width)))
        .set("height", format!("{}mm", decimal(height)));
    Some(with_parts(document, pages, page))
}

/// The same as a part of another document, which sets its size.
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
    filled(&document, |out, pen| {
        for part in &page.parts {
            let moved = transform(part.at, part.scale);
            push(out, &["\n<g class=\"", part.kind.name(), "\" transform=\"", &moved, "\">"]);
            part.groups.iter().for_each(|group| draw(out, pen, group));
            *out += "\n</g>";
        }
    })
}
