//! How far apart the two spellings sound: the windows of this line now, and at other swing ratios.

use halfbar_core::Piece;
use halfbar_core::perform::{Apart, apart, ratio};
use halfbar_core::recast::{Figure, Spelling};
use web_sys::{Element, HtmlElement};

use super::dom::{Result, by_id, create};
use crate::piece::thrown;

/// The ratios of the table.
const RATIOS: [f64; 8] = [1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5];

/// One window's difference in a sentence; `None` for a figure with one spelling.
pub(super) fn sentence(piece: &Piece, figure: &Figure, spelling: Spelling) -> Option<String> {
    let heading = piece.line.heading();
    let other = match spelling {
        Spelling::Bracket => "Spelled beat by beat",
        Spelling::Tied => "Spelled under one bracket",
        Spelling::Plain | Spelling::Grouped => return None,
    };
    let apart = apart(figure, heading.tempo, ratio(heading.feel, heading.tempo))?;
    Some(format!("{other}, it would sound {}.", amount(apart)))
}

fn amount(apart: Apart) -> String {
    let ms = apart.ms.round();
    match apart.is_heard() {
        _ if ms == 0.0 => "the same".into(),
        true => format!("{ms} ms away, enough to hear"),
        false => format!("{ms} ms away, too little to hear"),
    }
}

/// Fills the table and says what holds for this line, when that part of the page is open.
pub(super) fn show(piece: &Piece) -> Result<()> {
    if !by_id::<Element>("apart")?.has_attribute("open") {
        return Ok(());
    }
    let heading = piece.line.heading();
    let now = ratio(heading.feel, heading.tempo);
    // Ratios in hundredths, by whole numbers.
    let digits = |ratio: f64| format!("{}", (ratio * 100.0).round() / 100.0);
    let lead = format!("At {} quarter notes a minute and a swing of {} : 1", heading.tempo, digits(now));
    let mut windows = Vec::new();
    for window in piece.casting.windows() {
        if let Some(apart) = apart(&window.figure, heading.tempo, now) {
            let place = piece.line.bars().place(window.start).map_err(thrown)?;
            windows.push(format!("{place}: {}", amount(apart)));
        }
    }
    let said = match windows.is_empty() {
        true => format!("{lead}, this line has no window with two spellings."),
        false => format!("{lead}, the two spellings sound, in {}.", windows.join("; ")),
    };
    by_id::<HtmlElement>("apart-now")?.set_text_content(Some(&said));

    let rows: Element = by_id("apart-rows")?;
    rows.set_inner_html("");
    let Some(figure) = Figure::named("split-last") else { return Ok(()) };
    for ratio in RATIOS {
        let Some(apart) = apart(&figure, heading.tempo, ratio) else { continue };
        let row: Element = create("tr")?;
        let heard = if apart.is_heard() { "yes" } else { "no" };
        for (name, text) in
            [("th", digits(ratio) + " : 1"), ("td", format!("{} ms", apart.ms.round())), ("td", heard.into())]
        {
            let cell: Element = create(name)?;
            cell.set_text_content(Some(&text));
            row.append_child(&cell)?;
        }
        rows.append_child(&row)?;
    }
    Ok(())
}
