//! The sheet that is printed: music and title only, laid out for paper.

use halfbar_core::Piece;
use halfbar_core::engrave::Layout;
use halfbar_core::write::{self, svg::Outlines};
use web_sys::HtmlElement;

use super::dom::{Result, by_id, create};

/// Draws the sheet for paper. Each system is a picture of its own, so that no page break cuts one.
pub(super) fn draw(piece: &Piece) -> Result<()> {
    let sheet: HtmlElement = by_id("print")?;
    sheet.set_inner_html("");
    let scene = piece.engrave(&Layout::default());
    let pictures = scene.systems.iter().map(|system| write::svg::system(&scene, system));
    let mut outlines = Outlines::default();
    outlines.add(scene.groups());
    for markup in [outlines.definitions(), write::svg::head(&scene)].into_iter().chain(pictures) {
        let holder: HtmlElement = create("div")?;
        holder.set_inner_html(&markup);
        sheet.append_child(&holder)?;
    }
    Ok(())
}
