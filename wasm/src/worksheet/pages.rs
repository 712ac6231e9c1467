//! The pages in front of the reader, who prints just these.

use halfbar_core::Piece;
use halfbar_core::dialect::Dialect;
use halfbar_core::worksheet::{self, Format, Pages, Worksheet};
use halfbar_core::write::svg;
use halfbar_dom::form::{chosen, entered, ticked};
use halfbar_dom::{Result, by_id};
use halfbar_words::worksheet as says;
use web_sys::HtmlElement;

pub(super) struct Preview {
    root: HtmlElement,
    /// What was laid out last.
    pages: Option<Pages>,
}

impl Preview {
    pub(super) fn new() -> Result<Preview> {
        Ok(Preview { root: by_id("pages")?, pages: None })
    }

    pub(super) fn laid_out(&self) -> Option<&Pages> {
        self.pages.as_ref()
    }

    /// Lays the pages out as the fields say, shows them, and says what there is to say of them.
    pub(super) fn draw(&mut self, pieces: &[Piece], words: Dialect) -> Result<String> {
        let asked = Worksheet {
            title: entered("worksheet-title")?,
            workshop: entered("workshop")?,
            format: chosen("paper")?.parse().unwrap_or(Format::A4),
            view: chosen("view")?.parse().unwrap_or_default(),
            fingers: ticked("fingers")?,
            notes: ticked("room-for-notes")?,
            recast_yourself: ticked("recast-yourself")?,
            answers: ticked("answers")?,
            names: chosen("sheet-names")?.parse().unwrap_or_default(),
            words,
        };
        let pages = match worksheet::pages(pieces, &asked) {
            Ok(pages) => pages,
            Err(why) => return Ok(halfbar_dom::form::sentence(&why.to_string())),
        };
        if self.pages.as_ref() == Some(&pages) {
            return Ok(told(&pages));
        }
        let pictures: String =
            (0..pages.pages.len()).filter_map(|index| svg::page_within(&pages, index)).collect();
        self.root.set_class_name(pages.format.name());
        self.root.set_inner_html(&pictures);
        let says = told(&pages);
        self.pages = Some(pages);
        Ok(says)
    }
}

fn told(pages: &Pages) -> String {
    let mut says = match pages.pages.len() {
        1 => says::ONE_PAGE.to_string(),
        count => says::pages(count),
    };
    let missing = pages.missing_letters();
    if !missing.is_empty() {
        says += &says::missing_letters(&missing);
    }
    says
}
