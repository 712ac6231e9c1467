//! What matters most, in each engine that people use: many are on an iPhone, where every browser is WebKit.
//!
//! WebKit here is WebKitGTK: it draws, types and plays like Safari, but has no touch. `engine` says what can't be tested where.

use std::time::{Duration, Instant};

use serde_json::{Value, json};
use thirtyfour::common::command::{Actions, Command};
use thirtyfour::common::print::{PrintMargins, PrintPage, PrintParameters};

use crate::expected::LINE;
use crate::page::Page;
use crate::paper::poppler;

in_engines! {
    gecko (Gecko), webkit (WebKit): {
        served (Served):
            tap::a_click_recasts_and_another_restores, shortcuts::keys_do_what_help_says,
            typing::a_mistake_keeps_the_drawing_until_it_is_fixed, typing::the_bar_with_the_mistake_is_marked,
            steps::undo_and_redo_go_through_every_change, practice::every_note_is_put_on_its_exact_time,
            practice::the_playhead_goes_with_the_sound, selecting::dragging_selects_bars, hands::a_note_brings_its_bar,
            hands::a_note_goes_to_another_string_by_key, keep::a_changed_line_is_there_at_the_next_visit;
        lesson (Lesson):
            element::the_lesson_is_drawn, element::a_tap_recasts_and_sends_events, element::keys_do_what_taps_do,
            element::one_example_plays_at_a_time;
        blank (Blank):
            embedded::a_sites_styles_hold, embedded::states_parts_and_a_caption, embedded::a_task_is_part_of_a_form,
            embedded::what_markdown_tools_write_is_drawn;
        from_disk (OneFile): tap::a_click_recasts_and_another_restores;
    }
}

// Scenarios that run only here.
in_engines! {
    in_chromium (Chromium), in_gecko (Gecko), in_webkit (WebKit): {
        served (Served):
            engines::every_part_opens, engines::a_file_is_saved, engines::the_music_is_printed;
        blank (Blank): engines::a_phone_has_all_in_view, engines::a_finger_recasts;
    }
}

async fn every_part_opens(page: Page) {
    for width in [1280, 700] {
        page.open(width).await;
        for part in
            ["text", "hands", "practice", "harmony", "make", "lines", "share", "worksheet", "help", "figures"]
        {
            // An open panel closes when what it belongs to is hidden.
            page.js::<Value>("one('#more').showPopover()").await;
            page.js::<Value>(&format!("one('button[data-part={part}]').click()")).await;
            page.frames().await;
        }
        page.js::<Value>("one('#more').hidePopover()").await;
        page.open_part("worksheet").await;
        page.until("the pages are drawn", "return all('#pages .page').length > 0").await;
    }
}

async fn a_file_is_saved(page: Page) {
    page.open_with(1280, LINE).await;
    page.open_part("share").await;
    page.click("one('#save-svg')").await;
    let file = page.folder().join("week-12-a-lift-in-the-middle.svg");
    let start = Instant::now();
    let saved = loop {
        match std::fs::read_to_string(&file) {
            Ok(saved) if saved.ends_with("</svg>\n") || saved.ends_with("</svg>") => break saved,
            found => assert!(start.elapsed() < Duration::from_secs(20), "{}: {found:?}", file.display()),
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    };
    roxmltree::Document::parse(&saved).unwrap();
}

async fn the_music_is_printed(page: Page) {
    page.open_with(1280, LINE).await;
    let print = async |name: &str| {
        let a4 = PrintPage { width: 21.0, height: 29.7 };
        let none = PrintMargins { top: 0.0, bottom: 0.0, left: 0.0, right: 0.0 };
        let asked = PrintParameters { page: a4, margin: none, ..PrintParameters::default() };
        let pdf = page.driver().print_page(asked).await.unwrap();
        let file = page.folder().join(name);
        std::fs::write(&file, pdf).unwrap();
        let info = poppler("pdfinfo", &[file.to_str().unwrap()]);
        let field = |name: &str| {
            let row = info.lines().find_map(|row| row.strip_prefix(name));
            row.unwrap_or_else(|| panic!("no {name} in {info}")).trim().to_string()
        };
        (field("Pages:"), field("Page size:"))
    };
    assert_eq!(print("music.pdf").await.0, "1");
    assert!(page.js::<usize>("return all('#print g.note').length").await > 50, "nothing is printed");
    // Each page of the worksheet is a sheet of paper.
    page.open_part("worksheet").await;
    page.until("the page is drawn", "return all('#pages .page').length === 1").await;
    page.js::<Value>(
        "one('#paper').value = 'a4'; one('#paper').dispatchEvent(new Event('change', { bubbles: true }))",
    )
    .await;
    page.until("it is on A4", "return all('#pages.a4 .page').length === 1").await;
    let (pages, size) = print("worksheet.pdf").await;
    assert_eq!(pages, "1");
    assert!(size.contains("A4"), "{size}");
}

/// Opens the page in a frame the size of a phone, since a window can't be that narrow.
async fn open_on_a_phone(page: &Page) {
    page.screen(1280, 900).await;
    page.go().await;
    page.js::<Value>(
        "document.body.innerHTML = '<iframe src=\"index-watched.html\" style=\"position: fixed; inset: 0; border: 0\" width=\"390\" height=\"844\">'",
    )
    .await;
    page.driver().enter_frame(0).await.unwrap();
    page.until_alive().await;
}

async fn a_phone_has_all_in_view(page: Page) {
    open_on_a_phone(&page).await;
    // The bars with their half-bars, all figures, and Play. Nothing is wider than the phone.
    let hidden: Vec<String> = page
        .js("return [systems()[0], pads()[0], pads()[3], ...all('#figures label'), ...all('#spellings label').filter(shown), one('[data-play]')]
            .filter((one) => {
                const { left, top, right, bottom } = one.getBoundingClientRect();
                return left < 0 || top < 0 || right > 390 || bottom > 844;
            }).map((one) => one.outerHTML.slice(0, 90))")
        .await;
    assert!(hidden.is_empty(), "{hidden:#?}");
    assert_eq!(page.js::<u32>("return document.documentElement.scrollWidth").await, 390);
    // A half-bar is under its notes.
    let apart: Vec<f64> = page
        .js("return [pad(1, 1), pad(1, 3)].map((pad, half) => {
            const note = box(one(`#sheet .note[data-note=\"${4 * half}\"]`));
            return (note.left + note.right) / 2 - box(pad).left;
        })")
        .await;
    assert!(apart.iter().all(|apart| (0.0..30.0).contains(apart)), "{apart:?}");

    page.click_pad(1, 3).await;
    assert!(page.is_pressed(1, 3).await);
    page.click("one('[data-play]')").await;
    page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
    page.click("one('[data-play]')").await;
    page.until("it is silent", "return all('#sheet .sounding').length === 0").await;
    for part in ["text", "hands", "practice"] {
        page.click(&format!("one('#parts [data-part={part}]')")).await;
        // The first system and its half-bars stay visible above it.
        let room: f64 = page.js("return box(one('#music')).bottom - box(pads()[0]).bottom").await;
        assert!(room >= 0.0, "{part} covers {room} px");
    }
}

async fn a_finger_recasts(page: Page) {
    open_on_a_phone(&page).await;
    page.js::<Value>(
        "window.by = []; addEventListener('click', (event) => by.push(event.pointerType), true)",
    )
    .await;
    let [x, y]: [i64; 2] = page
        .js("const { left, top, width, height } = pad(1, 3).getBoundingClientRect();
            return [left + width / 2, top + height / 2].map(Math.round)")
        .await;
    let finger = json!([{ "type": "pointer", "id": "finger", "parameters": { "pointerType": "touch" }, "actions": [
        { "type": "pointerMove", "duration": 0, "x": x, "y": y },
        { "type": "pointerDown", "button": 0 },
        { "type": "pointerUp", "button": 0 },
    ] }]);
    page.driver().handle().cmd(Command::PerformActions(Actions::from(finger))).await.unwrap();
    page.until("the half-bar is recast", "return pad(1, 3).ariaPressed === 'true'").await;
    assert_eq!(page.js::<Vec<String>>("return by").await, ["touch"]);
}
