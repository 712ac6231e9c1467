//! Screenshots for a person to look at, in `shots` in cargo's target folder.

use halfbar_tests::target;
use serde_json::{Value, json};

use crate::page::Page;
use crate::practice::TAP_ALONG;

scenarios! {
    served (Served):
        pictures_are_taken, the_page_is_pictured_in_forced_colors, the_page_is_pictured_with_large_letters;
    lesson (Lesson):
        the_lesson_is_pictured, the_lesson_is_pictured_in_forced_colors;
}

/// Two bars, so that results come soon.
const SHORT: &str = "title: Week 12, two bars\nkey: Eb\nmeter: 4/4\ntempo: 132\nrecast: split-last at 1.1 bracket\n\n\
                     @Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D F Ab C  Bb Ab F D |\n";

async fn pictures_are_taken(page: Page) {
    for (name, width, height) in [
        ("desktop", 1280, 800),
        ("large-desktop", 1440, 900),
        ("tablet", 820, 1180),
        ("phone", 390, 844),
        ("small-phone", 320, 568),
    ] {
        page.open(width).await;
        page.screen(width, height).await;
        page.js::<Value>("document.fonts.ready").await;
        shoot(&page, name).await;
    }
    for panel in ["show", "more"] {
        page.open(1280).await;
        page.open_panel(panel).await;
        shoot(&page, &format!("desktop-panel-{panel}")).await;
    }
    page.open(390).await;
    page.click_in_panel("more", "one('#eighths')").await;
    shoot(&page, "phone-every-eighth").await;
    page.open_part("make").await;
    page.click("one('#stretch summary')").await;
    shoot(&page, "phone-stretch").await;
    page.open(390).await;
    page.open_part("hands").await;
    shoot(&page, "phone-neck").await;
    page.open(1280).await;
    page.open_part("hands").await;
    shoot(&page, "desktop-neck").await;
    for (name, width) in [("phone-practice", 390), ("desktop-practice", 1280)] {
        page.open(width).await;
        page.open_part("practice").await;
        page.until("practice is ready", "return one('#tempo').value !== ''").await;
        page.click("one('#pace summary')").await;
        page.click("one('#ladder summary')").await;
        page.until("the steps are drawn", "return all('#steps svg').length > 3").await;
        page.click("one('[data-play]')").await;
        page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
        shoot(&page, name).await;
    }
    for (name, width) in [("phone-timing", 390), ("desktop-timing", 1280)] {
        page.open_with(width, SHORT).await;
        page.open_part("practice").await;
        page.click("one('#timing summary')").await;
        page.until("practice is ready", "return one('#tempo').value !== ''").await;
        page.js::<Value>(&TAP_ALONG.replace("0.4", "0.1").replace("OFFSET", "(Math.random() * 90 - 30)"))
            .await;
        page.click("one('[data-play]')").await;
        page.until("the result is shown", "return one('#strip svg') !== null").await;
        shoot(&page, name).await;
    }
    page.open(390).await;
    page.open_part("make").await;
    page.until("the scales are offered", "return one('#scale-kind').options.length > 20").await;
    shoot(&page, "phone-make").await;
    page.open_with(390, SHORT).await;
    page.open_part("lines").await;
    page.until("the lines are listed", "return one('#lines').children.length > 0").await;
    page.click_in_header("one('#new-line')").await;
    page.open_part("lines").await;
    shoot(&page, "phone-lines").await;
    page.open_with(390, SHORT).await;
    page.open_part("share").await;
    page.click("one('#copy-link')").await;
    page.until("the message is shown", "return one('#status').textContent !== ''").await;
    shoot(&page, "phone-share").await;
    for (name, width) in [("phone-worksheet", 390), ("desktop-worksheet", 1280)] {
        page.open_with(width, SHORT).await;
        page.open_part("worksheet").await;
        page.until("the pages are drawn", "return all('#pages .page').length > 0").await;
        page.js::<Value>("one('#source').value = 'steps'").await;
        page.click("one('#put-on')").await;
        page.until("the steps are on it", "return all('#pages .page').length > 1").await;
        shoot(&page, name).await;
    }
    page.open(1280).await;
    let dark = json!({ "features": [{ "name": "prefers-color-scheme", "value": "dark" }] });
    page.cdp("Emulation.setEmulatedMedia", dark).await;
    page.click_pad(1, 3).await;
    page.open_part("hands").await;
    page.until("the neck is drawn", "return one('#fretboard svg') !== null").await;
    page.click("one('#way')").await;
    shoot(&page, "dark-neck").await;
    page.go_to_end_of_text().await;
    page.keys("@Cm7 H4").await;
    page.until("the problem is shown", "return one('#problems').children.length > 0").await;
    shoot(&page, "dark-with-a-mistake").await;
}

async fn the_lesson_is_pictured(page: Page) {
    for (name, width, scheme) in
        [("lesson", 1280, "light"), ("lesson-phone", 390, "light"), ("lesson-dark", 390, "dark")]
    {
        page.resize(width).await;
        let features = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        page.cdp("Emulation.setEmulatedMedia", features).await;
        page.go().await;
        for index in 0..5 {
            page.js::<Value>(&format!("all('half-bar')[{index}].scrollIntoView()")).await;
            page.until("an example is drawn", &format!("return all('half-bar')[{index}].drawn")).await;
        }
        page.js::<Value>("scrollTo(0, 0)").await;
        page.touch("all('half-bar')[0].shadowRoot.querySelector('.pad')").await;
        shoot(&page, name).await;
    }
}

async fn the_page_is_pictured_in_forced_colors(page: Page) {
    for (name, width, scheme) in [("forced", 1280, "light"), ("forced-dark-phone", 390, "dark")] {
        page.open(width).await;
        page.media(forced(scheme)).await;
        page.js::<Value>("pad(1, 3).click()").await;
        page.until("practice is ready", "return one('#tempo').value !== ''").await;
        page.js::<Value>("pads()[2].focus({ focusVisible: true })").await;
        shoot(&page, name).await;
        for part in ["hands", "practice"] {
            page.show_part(part).await;
            shoot(&page, &format!("{name}-{part}")).await;
        }
    }
}

async fn the_page_is_pictured_with_large_letters(page: Page) {
    page.open(390).await;
    page.js::<Value>("document.documentElement.style.fontSize = '200%'").await;
    for part in ["figures", "hands", "practice"] {
        page.resize(391).await;
        page.show_part(part).await;
        shoot(&page, &format!("phone-large-letters-{part}")).await;
    }
}

async fn the_lesson_is_pictured_in_forced_colors(page: Page) {
    page.resize(1280).await;
    page.go().await;
    page.media(forced("dark")).await;
    page.js::<Value>("return Promise.all(all('half-bar').map((one) => one.ready()))").await;
    shoot(&page, "lesson-forced-dark").await;
}

fn forced(scheme: &str) -> Value {
    json!([{ "name": "forced-colors", "value": "active" }, { "name": "prefers-color-scheme", "value": scheme }])
}

/// What is in view, and the whole page if there is more.
async fn shoot(page: &Page, name: &str) {
    let folder = target().join("shots");
    std::fs::create_dir_all(&folder).unwrap();
    page.frames().await;
    page.driver().screenshot(&folder.join(format!("{name}.png"))).await.unwrap();
    let [width, height, seen]: [u32; 3] = page
        .js("const { scrollHeight } = document.documentElement; return [innerWidth, scrollHeight, innerHeight]")
        .await;
    if height <= seen {
        return;
    }
    let screen = json!({ "width": width, "height": height, "deviceScaleFactor": 2, "mobile": width < 600 });
    page.cdp("Emulation.setDeviceMetricsOverride", screen).await;
    page.frames().await;
    page.driver().screenshot(&folder.join(format!("{name}-whole.png"))).await.unwrap();
}
