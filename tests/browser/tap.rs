//! Taps on half-bars, with the mouse and with a finger.

use serde_json::{Value, json};

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served):
        a_click_recasts_and_another_restores, a_touch_recasts_and_another_restores,
        a_half_bar_that_cannot_be_recast_says_why, the_result_of_a_tap_is_in_view, another_figure_is_put_back;
    from_disk (OneFile): a_click_recasts_and_another_restores;
}

const BEFORE: &str = "recast: split-last at 1.1 bracket, 2.3 tied";
const AFTER: &str = "recast: split-last at 1.1 bracket, 1.3 bracket, 2.3 tied";

pub(crate) async fn a_click_recasts_and_another_restores(page: Page) {
    page.open_with(1280, LINE).await;
    let before = page.music().await;
    assert!(!page.is_pressed(1, 3).await);
    page.js::<Value>("for (const system of systems()) system.kept = true").await;

    page.click_pad(1, 3).await;
    assert!(page.is_pressed(1, 3).await);
    let after = page.music().await;
    assert_eq!(after.counts.tuplets, before.counts.tuplets + 1);
    assert_eq!(after.counts.notes, before.counts.notes);
    assert_ne!(after.systems[0], before.systems[0]);
    assert_eq!(page.recast_rows().await, [AFTER]);
    assert_eq!(
        page.text().await.replace(AFTER, BEFORE),
        LINE,
        "more of the text changed than its recast row"
    );
    let status = page.status().await;
    assert!(
        status.starts_with("Bar 1 beat 3: quarter-note triplet, last note split (one bracket)"),
        "{status}"
    );
    // What didn't change was not redrawn.
    let kept: Vec<bool> = page.js("return systems().map((system) => system.kept ?? false)").await;
    let same: Vec<bool> = after.systems.iter().zip(&before.systems).map(|(a, b)| a == b).collect();
    assert_eq!(kept, same);
    assert!(same.contains(&true), "the whole line changed");

    page.click_pad(1, 3).await;
    assert!(!page.is_pressed(1, 3).await);
    assert_eq!(page.music().await, before);
    assert_eq!(page.text().await, LINE);
    let status = page.status().await;
    assert!(status.starts_with("Bar 1 beat 3: plain"), "{status}");
}

async fn another_figure_is_put_back(page: Page) {
    page.open_with(1280, LINE).await;
    page.click_pad(1, 3).await;
    let named = "return one('#figure-for').textContent";
    assert_eq!(page.js::<String>(named).await, "in bar 1 beat 3");
    // Somebody picks the figure for the next half-bar, and the last one takes it.
    page.click("one('[value=triplet-quarter]').parentElement").await;
    let rows = page.recast_rows().await;
    assert!(rows.contains(&"recast: triplet-quarter at 1.3".into()), "{rows:?}");
    page.click("one('#status button')").await;
    assert_eq!(page.recast_rows().await, [AFTER]);
    assert_eq!(page.js::<String>(named).await, "tap a half-bar to recast it");
    // The figure is still chosen, and the next half-bar takes it.
    page.click_pad(3, 1).await;
    let rows = page.recast_rows().await;
    assert_eq!(rows, [AFTER, "recast: triplet-quarter at 3.1"]);
    // Esc lets go of a half-bar, too.
    page.keys(thirtyfour::Key::Escape).await;
    page.click("one('[value=quarter-triplet]').parentElement").await;
    assert_eq!(page.recast_rows().await, rows);
}

async fn a_touch_recasts_and_another_restores(page: Page) {
    page.open_with(390, LINE).await;
    let before = page.music().await;
    page.touch("pad(1, 3)").await;
    page.until("the pad is pressed", "return pad(1, 3).ariaPressed === 'true'").await;
    assert_eq!(page.recast_rows().await, [AFTER]);
    assert_eq!(page.music().await.counts.tuplets, before.counts.tuplets + 1);
    page.touch("pad(1, 3)").await;
    page.until("the pad is plain", "return pad(1, 3).ariaPressed === 'false'").await;
    assert_eq!(page.music().await, before);
    assert_eq!(page.text().await, LINE);

    // The same for figures.
    page.touch("one('input[value=split-first]').closest('label')").await;
    page.touch("one('input[value=tied]').closest('label')").await;
    page.touch("pad(3, 1)").await;
    page.until("the pad is pressed", "return pad(3, 1).ariaPressed === 'true'").await;
    assert_eq!(page.recast_rows().await, [BEFORE, "recast: split-first at 3.1 tied"]);

    // A finger that scrolls the music doesn't tap anything.
    let text = page.text().await;
    let [x, y]: [i64; 2] = page
        .js("const at = pad(4, 1); at.scrollIntoView({ block: 'center' }); const box = at.getBoundingClientRect(); \
             return [Math.round(box.left) + 9, Math.round(box.top) + 9]")
        .await;
    let start: f64 = page.js("return one('#music').scrollTop").await;
    for (kind, y) in [("touchStart", y), ("touchMove", y - 40), ("touchMove", y - 90)] {
        let touch = json!({ "type": kind, "touchPoints": [{ "x": x, "y": y }] });
        page.cdp("Input.dispatchTouchEvent", touch).await;
    }
    page.cdp("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] })).await;
    page.until("the music scrolls", &format!("return one('#music').scrollTop > {start} + 20")).await;
    page.frames().await;
    assert_eq!(page.text().await, text);
}

async fn a_half_bar_that_cannot_be_recast_says_why(page: Page) {
    page.open_with(1280, LINE).await;
    let before = page.music().await;
    for (beat, reason) in [(1, "1 note here and this figure takes 4"), (3, "")] {
        let (disabled, name): (String, String) =
            page.js(&format!("const at = pad(8, {beat}); return [at.ariaDisabled, label(at)]")).await;
        assert_eq!(disabled, "true");
        // A screen reader says why before any tap. A tap shows it to everyone, with the place.
        let why = name.strip_prefix(&format!("bar 8 beat {beat}: can't be recast: "));
        let why = why.filter(|why| why.len() > 10 && why.contains(reason));
        let why = why.unwrap_or_else(|| panic!("no good reason: {name}"));
        page.click_pad(8, beat).await;
        assert_eq!(page.status().await, format!("Bar 8 beat {beat}: {why}."));
        assert!(!page.is_pressed(8, beat).await);
        assert_eq!(page.music().await, before);
        assert_eq!(page.text().await, LINE);
    }
    let disabled: usize = page.js("return pads().filter((one) => one.ariaDisabled === 'true').length").await;
    assert_eq!(disabled, 2, "only the last bar can't be recast");
}

async fn the_result_of_a_tap_is_in_view(page: Page) {
    // The first bar of a long line: on a phone, the end of the music is many screens away.
    let line = format!("C4:2 r:2 | {}", "C4 D E F  G F E D | ".repeat(16));
    page.open_with(390, &line).await;
    for beat in [1, 3] {
        page.touch(&format!("pad(1, {beat})")).await;
        let said = format!("return one('#status').textContent.startsWith('Bar 1 beat {beat}: ')");
        page.until("the reason is shown", &said).await;
        let seen: bool = page
            .js("const { left, top, bottom, height } = one('#status').getBoundingClientRect();
                return height > 0 && top >= 0 && bottom <= innerHeight \
                && one('#status').contains(document.elementFromPoint(left + 4, (top + bottom) / 2))")
            .await;
        assert!(seen, "`{}` is out of view", page.status().await);
    }
}
