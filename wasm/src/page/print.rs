//! The sheet that is printed: music and title only, laid out for paper.

use halfbar_core::Piece;
use halfbar_core::dialect::Dialect;
use halfbar_core::engrave::{Layout, View};
use halfbar_core::score::Annotations;
use halfbar_core::write;
use halfbar_words::page as says;
use web_sys::HtmlElement;

use halfbar_dom::{Result, by_id, create};

/// Empties the sheet.
pub(super) fn clear() -> Result<()> {
    by_id::<HtmlElement>("print")?.set_inner_html("");
    Ok(())
}

/// Draws the sheet for paper. Each system is a picture of its own, so that no page break cuts one.
///
/// When the text has a mistake, the sheet says that it is older than the text.
pub(super) fn draw(
    piece: &Piece,
    (view, annotations): (View, Annotations),
    words: Dialect,
    right: bool,
) -> Result<()> {
    clear()?;
    let sheet: HtmlElement = by_id("print")?;
    if !right {
        let note: HtmlElement = create("p")?;
        note.set_text_content(Some(says::AS_IT_STOOD));
        sheet.append_child(&note)?;
    }
    let scene = piece.engrave(&Layout { view, annotations, words, ..Layout::default() });
    let pictures = scene.systems.iter().map(|system| write::svg::system(&scene, system));
    for markup in std::iter::once(write::svg::head(&scene)).chain(pictures) {
        let holder: HtmlElement = create("div")?;
        holder.set_inner_html(&markup);
        sheet.append_child(&holder)?;
    }
    Ok(())
}
