//! Bars selected in the music: marked, looped and filled.

use serde_json::Value;
use thirtyfour::Key;

use crate::page::Page;
use crate::practice::{NOTE_STARTS, agree, performed, starts};

scenarios! {
    served (Served): dragging_selects_bars, shift_selects_bars, a_selection_goes_with_its_bars, a_selection_loops, looped_bars_are_marked;
}

const LINE: &str =
    "tempo: 320\nfeel: straight\n\nC4 D E F  G F E D | C D E F  G F E D | C D E F  G F E D | C4:4 |\n";

/// The bars under marks of a kind, found by the half-bars below them.
async fn marked(page: &Page, kind: &str) -> Vec<u32> {
    page.js(&format!(
        "const marks = all('#sheet .mark.{kind}').filter(shown).map(box);
        const under = (bar) => {{
            const {{ left, right, top }} = box(pad(bar, 1));
            return marks.some((mark) => mark.left < (left + right) / 2 && (left + right) / 2 < mark.right && mark.top < top);
        }};
        return [1, 2, 3, 4].filter((bar) => pad(bar, 1)).filter(under)"
    ))
    .await
}

/// What the page says about the selection; empty if there is none.
async fn selected(page: &Page) -> String {
    page.js("return shown(one('#selection')) ? one('#selected').textContent : ''").await
}

/// What Play plays: the whole line, or which bars.
async fn reach(page: &Page) -> [String; 3] {
    page.js("return ['reach', 'first-bar', 'last-bar'].map((id) => one('#' + id).value)").await
}

pub(crate) async fn dragging_selects_bars(page: Page) {
    page.open_with(1280, LINE).await;
    assert_eq!((selected(&page).await.as_str(), marked(&page, "selected").await), ("", vec![]));
    let text = page.text().await;
    page.drag("one('#sheet .note[data-note=\"18\"]')", "one('#sheet .note[data-note=\"12\"]')").await;
    assert_eq!(selected(&page).await, "Bars 2 to 3 selected:");
    assert_eq!(marked(&page, "selected").await, [2, 3]);
    assert_eq!(reach(&page).await, ["bars", "2", "3"]);
    assert_eq!(page.text().await, text, "nothing was tapped");
    assert!(page.js::<bool>("return getSelection().isCollapsed").await, "words were selected too");
    page.click("one('#fill')").await;
    assert_eq!(page.recast_rows().await, ["recast: split-last at 2.1 to 4.1 bracket"]);
    assert_eq!(page.status().await, "Recast in 4 places.");
    page.click("one('#undo')").await;
    assert_eq!(page.text().await, text);
    // Escape or its button clears it.
    page.leave_fields().await;
    page.keys(Key::Escape).await;
    assert_eq!((selected(&page).await.as_str(), marked(&page, "selected").await), ("", vec![]));
    assert_eq!(reach(&page).await[0], "line");
    page.drag("one('#sheet .note[data-note=\"1\"]')", "one('#sheet .note[data-note=\"9\"]')").await;
    assert_eq!(selected(&page).await, "Bars 1 to 2 selected:");
    page.click("one('#unselect')").await;
    assert_eq!(selected(&page).await, "");
}

async fn shift_selects_bars(page: Page) {
    page.open_with(1280, LINE).await;
    page.click_holding(Key::Shift, "one('#sheet .note[data-note=\"3\"]')").await;
    assert_eq!(selected(&page).await, "Bar 1 selected:");
    page.click_holding(Key::Shift, "one('#sheet .note[data-note=\"18\"]')").await;
    assert_eq!(marked(&page, "selected").await, [1, 2, 3]);
    page.keys(Key::Escape).await;
    // From the half-bar with the focus.
    page.js::<Value>("pad(2, 3).focus()").await;
    page.chord(Key::Shift, Key::Right).await;
    assert_eq!(marked(&page, "selected").await, [2, 3]);
    page.chord(Key::Shift, Key::Left).await;
    assert_eq!(selected(&page).await, "Bar 2 selected:");
}

async fn a_selection_goes_with_its_bars(page: Page) {
    page.open_with(1280, LINE).await;
    for note in [18, 24] {
        page.click_holding(Key::Shift, &format!("one('#sheet .note[data-note=\"{note}\"]')")).await;
    }
    assert_eq!(selected(&page).await, "Bars 3 to 4 selected:");
    assert_eq!(reach(&page).await, ["bars", "3", "4"]);
    // While there is still a mistake at the end, the music doesn't change.
    page.go_to_end_of_text().await;
    page.keys("H").await;
    assert_eq!(selected(&page).await, "Bars 3 to 4 selected:");
    page.paste("tempo: 320\n\nC4 D E F  G F E D | C D E F  G F E D | C4:4 |\n").await;
    page.until("it is drawn", "return drawn('note').length === 17").await;
    assert_eq!((selected(&page).await.as_str(), marked(&page, "selected").await), ("", vec![]));
    assert_eq!(reach(&page).await[0], "line");
}

async fn looped_bars_are_marked(page: Page) {
    page.open_with(1280, LINE).await;
    let play = "const { top, left } = box(one('[data-play]')); return [top, left]";
    let before: (f64, f64) = page.js(play).await;
    let set = async |id: &str, value: &str| {
        page.js::<Value>(&format!(
            "one('#{id}').value = '{value}'; one('#{id}').dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ))
        .await;
    };
    assert_eq!(marked(&page, "looped").await, Vec::<u32>::new());
    for (id, value) in [("reach", "bars"), ("first-bar", "2"), ("last-bar", "3")] {
        set(id, value).await;
    }
    assert_eq!(marked(&page, "looped").await, [2, 3]);
    // Play stays where it is.
    assert_eq!(page.js::<(f64, f64)>(play).await, before);
    // The mark is still there after the music is redrawn.
    page.click_pad(1, 1).await;
    assert_eq!(marked(&page, "looped").await, [2, 3]);
    page.click("one('#again')").await;
    assert_eq!(marked(&page, "looped").await, Vec::<u32>::new());
    page.click("one('#again')").await;
    set("reach", "line").await;
    assert_eq!(marked(&page, "looped").await, Vec::<u32>::new());
}

async fn a_selection_loops(page: Page) {
    page.open_with(1280, LINE).await;
    page.js::<Value>(NOTE_STARTS).await;
    page.js::<Value>(
        "for (const [id, value] of [['beats', 'off'], ['count-in', '0']]) {
            one('#' + id).value = value;
            one('#' + id).dispatchEvent(new Event('change', { bubbles: true }));
        }",
    )
    .await;
    // Bars 3 and 4: eight eighths and a whole note.
    for note in [18, 24] {
        page.click_holding(Key::Shift, &format!("one('#sheet .note[data-note=\"{note}\"]')")).await;
    }
    page.click("one('[data-play]')").await;
    let (bar, last) = (4.0 * 60.0 / 320.0, performed(LINE).split_off(16));
    let expected: Vec<f64> = [0.0, 2.0, 4.0]
        .iter()
        .flat_map(|pass| last.iter().map(move |start| (pass - 2.0) * bar + start))
        .collect();
    agree(&starts(&page, expected.len()).await, &expected);
    page.click("one('[data-play]')").await;
}
