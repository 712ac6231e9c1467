//! A phone, by touch only: everything is pressed, scrolled and reached with a finger (WebDriver, 17.4.2, pointers of type touch).

use serde_json::{Value, json};
use thirtyfour::common::command::{Actions, Command};
use thirtyfour::common::print::PrintParameters;

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served): a_finger_does_the_job;
    lesson (Lesson): a_finger_recasts_and_plays_an_example;
}

const WIDTH: u32 = 390;

/// A finger that goes down, moves this far in a few steps, and goes up.
async fn finger(page: &Page, from: (i64, i64), by: (i64, i64)) {
    let mut actions = vec![
        json!({ "type": "pointerMove", "duration": 0, "x": from.0, "y": from.1 }),
        json!({ "type": "pointerDown", "button": 0 }),
    ];
    if by != (0, 0) {
        for step in 1..=8 {
            let (x, y) = (from.0 + by.0 * step / 8, from.1 + by.1 * step / 8);
            actions.push(json!({ "type": "pointerMove", "duration": 16, "x": x, "y": y }));
        }
        // It rests before it goes up, so that scrolling doesn't continue.
        actions.push(json!({ "type": "pause", "duration": 120 }));
    }
    actions.push(json!({ "type": "pointerUp", "button": 0 }));
    let pointer = json!([{ "type": "pointer", "id": "finger", "parameters": { "pointerType": "touch" }, "actions": actions }]);
    let moved = page.driver().handle().cmd(Command::PerformActions(Actions::from(pointer))).await;
    moved.unwrap_or_else(|error| panic!("a finger at {from:?}: {error}"));
    page.frames().await;
}

/// Taps the result of an expression, after swiping what it is in until it can be tapped.
async fn tap(page: &Page, element: &str) {
    // Where it is, whether a tap in its middle would reach it, and where to swipe to scroll it: the music, a strip, or else the page.
    let script = format!(
        "const found = {element};
        const {{ left, top, width, height }} = found.getBoundingClientRect();
        const [x, y] = [Math.round(left + width / 2), Math.round(top + height / 2)];
        const hit = found.getRootNode().elementFromPoint(x, y);
        const scrolls = (one) => /auto|scroll/.test(getComputedStyle(one).overflow)
            && (one.scrollWidth > one.clientWidth || one.scrollHeight > one.clientHeight);
        const in_window = (one) => {{
            const {{ top, bottom }} = one.getBoundingClientRect();
            return top + bottom > 0 && top + bottom < 2 * innerHeight;
        }};
        let holder = found.parentElement;
        while (holder && !(scrolls(holder) && in_window(holder))) holder = holder.parentElement;
        const edge = holder?.getBoundingClientRect() ?? {{ left: 0, right: 12, top: 0, bottom: 660 }};
        const [across, down] = [Math.round((edge.left + edge.right) / 2), Math.round((edge.top + edge.bottom) / 2)];
        return [x, y, found.contains(hit), across, down, holder ? Math.round(edge.bottom - edge.top) : 0];"
    );
    for _ in 0..40 {
        let (x, y, reached, across, down, height): (i64, i64, bool, i64, i64, i64) = page.js(&script).await;
        if reached && (0..i64::from(WIDTH)).contains(&x) {
            finger(page, (x, y), (0, 0)).await;
            return;
        }
        let far = if height == 0 { 250 } else { (height / 2 - 10).clamp(10, 250) };
        match height == 0 || (10..i64::from(WIDTH) - 10).contains(&x) {
            true => finger(page, (across, down), (0, (down - y).clamp(-far, far))).await,
            false => finger(page, (across, down), ((across - x).clamp(-150, 150), 0)).await,
        }
    }
    panic!("no finger reaches {element}");
}

async fn a_finger_does_the_job(page: Page) {
    page.open_with(WIDTH, LINE).await;
    page.js::<Value>(
        "window.by = new Set(); for (const kind of ['click', 'pointerdown']) \
        addEventListener(kind, (event) => window.by.add(event.pointerType), true); scrollTo(0, 0)",
    )
    .await;
    tap(&page, "pad(1, 3)").await;
    assert!(page.is_pressed(1, 3).await);
    // Another notation changes it immediately; then another figure, for a bar further down.
    tap(&page, "one('[value=tied]').parentElement").await;
    assert_eq!(page.recast_rows().await, ["recast: split-last at 1.1 bracket, 1.3 tied, 2.3 tied"]);
    tap(&page, "pad(6, 1)").await;
    tap(&page, "one('[value=quarter-triplet]').parentElement").await;
    let rows = page.recast_rows().await;
    assert!(rows.last().is_some_and(|row| row.starts_with("recast: quarter-triplet at 6.1")), "{rows:?}");
    let status = page.status().await;
    assert!(status.starts_with("Bar 6 beat 1: quarter note + triplet"), "{status}");
    let shown: bool = page.js("const { top, bottom } = one('#status').getBoundingClientRect(); return top > 0 && bottom < innerHeight").await;
    assert!(shown, "the last change is not in view");

    tap(&page, "one('[data-play]')").await;
    page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
    tap(&page, "one('[data-play]')").await;
    page.until("it is silent", "return all('#sheet .sounding').length === 0").await;
    tap(&page, "one('#undo')").await;
    assert!(!page.recast_rows().await.iter().any(|row| row.contains("quarter-triplet")));

    // The neck: open it, set a check box, page through it, and go back to the figures.
    tap(&page, "one('#parts [data-part=hands]')").await;
    tap(&page, "one('#left')").await;
    tap(&page, "one('#bar-after')").await;
    let (left, bar): (bool, String) =
        page.js("return [one('#left').checked, one('#hands-bar').textContent]").await;
    assert_eq!((left, bar.as_str()), (true, "Bar 2"));
    tap(&page, "one('#parts [data-part=figures]')").await;
    assert!(page.js::<bool>("return shown(one('#figures')) && !shown(one('#neck'))").await);

    page.driver().print_page(PrintParameters::default()).await.unwrap();
    assert!(page.js::<usize>("return all('#print g.note').length").await > 50, "nothing is printed");
    let by: Vec<String> = page.js("return [...window.by]").await;
    assert_eq!(by, ["touch"], "something other than a finger was used");
}

async fn a_finger_recasts_and_plays_an_example(page: Page) {
    page.resize(WIDTH).await;
    page.go().await;
    page.until("the first example is drawn", "return one('half-bar').drawn").await;
    let inside = |selector: &str| format!("one('half-bar').shadowRoot.querySelector('{selector}')");
    tap(&page, &inside(".pad[aria-pressed=false]")).await;
    let windows: usize = page.js("return one('half-bar').windows().then((windows) => windows.length)").await;
    assert_eq!(windows, 2);
    tap(&page, &inside(".play")).await;
    page.until("it sounds", "return one('half-bar').playing").await;
    tap(&page, &inside(".play")).await;
    page.until("it is silent", "return !one('half-bar').playing").await;
    // The third, further down, has a shelf.
    let third = |selector: &str| format!("all('half-bar')[2].shadowRoot.querySelector('{selector}')");
    tap(&page, "all('h2')[2]").await;
    page.until("the third is drawn", "return all('half-bar')[2].drawn").await;
    tap(&page, &third(".figures label:nth-child(5)")).await;
    tap(&page, &third(".pad")).await;
    let figure: String = page.js("return all('half-bar')[2].windows().then(([one]) => one.figure)").await;
    assert_eq!(figure, "quarter-triplet");
}
