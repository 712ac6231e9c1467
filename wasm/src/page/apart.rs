//! How far apart the two spellings sound: the windows of this line now, and at other swing ratios.

use halfbar_core::Piece;
use halfbar_core::line::{Feel, SwingRatio};
use halfbar_core::perform::{SpellingGap, ratio, spelling_gap};
use halfbar_core::recast::{Figure, Spelling};
use halfbar_words::page as says;
use web_sys::{Element, HtmlElement};

use halfbar_dom::{Result, by_id, create, thrown};

/// The ratios of the table, in hundredths.
const RATIOS: [u16; 8] = [100, 125, 150, 175, 200, 250, 300, 350];

/// One window's difference in a sentence; `None` for a figure with one spelling.
pub(super) fn sentence(piece: &Piece, figure: &Figure, spelling: Spelling) -> Option<String> {
    let heading = piece.line().heading();
    let other = match spelling {
        Spelling::Bracket => says::WITH_TIES,
        Spelling::Tied => says::UNDER_A_BRACKET,
        Spelling::Plain | Spelling::Grouped => return None,
    };
    let gap = spelling_gap(figure, heading.tempo, ratio(heading.feel, heading.tempo))?;
    Some(says::with_the_other(other, amount(gap)))
}

fn amount(gap: SpellingGap) -> String {
    let ms = whole(gap.ms);
    match gap.is_heard() {
        _ if ms == 0 => says::THE_SAME.into(),
        true => says::away_and_heard(ms),
        false => says::away_unheard(ms),
    }
}

/// Whole milliseconds, or whole hundredths of a ratio: no more than a few thousand.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(value: f64) -> u16 {
    value.round() as u16
}

/// Fills the table and says what holds for this line, when that part of the page is open.
pub(super) fn show(piece: &Piece) -> Result<()> {
    if !by_id::<Element>("apart")?.has_attribute("open") {
        return Ok(());
    }
    let heading = piece.line().heading();
    let now = ratio(heading.feel, heading.tempo);
    let swing = SwingRatio::from_hundredths(whole(now * 100.0)).map(|ratio| ratio.to_string());
    let lead = says::at_tempo(heading.tempo, swing.unwrap_or_default());
    let mut windows = Vec::new();
    for window in piece.casting().windows() {
        if let Some(gap) = spelling_gap(&window.figure, heading.tempo, now) {
            let place = piece.line().bars().place(window.start).map_err(thrown)?;
            windows.push(format!("{}: {}", place.spoken(), amount(gap)));
        }
    }
    let said = match windows.is_empty() {
        true => says::no_two_spellings(&lead),
        false => says::two_spellings_sound(&lead, windows.join("; ")),
    };
    by_id::<HtmlElement>("apart-now")?.set_text_content(Some(&said));

    let rows: Element = by_id("apart-rows")?;
    rows.set_inner_html("");
    let Some(figure) = Figure::named("split-last") else { return Ok(()) };
    for swing in RATIOS.into_iter().filter_map(SwingRatio::from_hundredths) {
        let now = ratio(Feel::Swing(swing), heading.tempo);
        let Some(gap) = spelling_gap(&figure, heading.tempo, now) else { continue };
        let row: Element = create("tr")?;
        let heard = if gap.is_heard() { says::YES } else { says::NO };
        for (name, text) in
            [("th", format!("{swing} : 1")), ("td", says::milliseconds(whole(gap.ms))), ("td", heard.into())]
        {
            let cell: Element = create(name)?;
            cell.set_text_content(Some(&text));
            row.append_child(&cell)?;
        }
        rows.append_child(&row)?;
    }
    Ok(())
}
