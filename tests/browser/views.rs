//! Staff, tab, rhythm and fingers: what each choice shows, on the page and on paper.

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served): each_view_shows_its_rows;
}

/// How many groups of each kind the music has: staves' heads, fret numbers, pick strokes, fingers, clefs with a staff.
async fn seen(page: &Page) -> [usize; 4] {
    page.js("const count = (kind) => document.querySelectorAll(`#sheet .row > div g.${kind}`).length; \
         return ['note', 'fret', 'stroke', 'finger'].map(count)")
        .await
}

async fn choose(page: &Page, view: &str, fingers: bool) {
    let script = format!(
        "one('#view').value = '{view}'; one('#fingers').checked = {fingers}; \
         one('#view').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    );
    page.js::<serde_json::Value>(&script).await;
}

async fn each_view_shows_its_rows(page: Page) {
    page.open_with(1280, LINE).await;
    let [notes, frets, strokes, fingers] = seen(&page).await;
    assert!(notes > 50 && frets == notes && strokes > 50 && fingers == 0);
    let text = page.text().await;
    for (view, with_frets) in [("staff", false), ("tab", true), ("rhythm", false), ("both", true)] {
        choose(&page, view, view == "tab").await;
        let [now_notes, now_frets, now_strokes, now_fingers] = seen(&page).await;
        assert_eq!((now_notes, now_strokes), (notes, strokes), "{view}");
        assert_eq!(now_frets, if with_frets { frets } else { 0 }, "{view}");
        assert_eq!(now_fingers, if view == "tab" { strokes } else { 0 }, "{view}");
        // Pads stay where they are, and tapping works in every view.
        page.click_pad(1, 3).await;
        assert!(page.is_pressed(1, 3).await, "{view}");
        page.click_pad(1, 3).await;
    }
    assert_eq!(page.text().await, text);
}
