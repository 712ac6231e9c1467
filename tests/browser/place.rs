//! A page to work in: what is in view when it opens, that nothing moves by itself, and that a choice applies where the last tap was.

use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::{Value, json};

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served):
        a_laptop_shows_all_that_is_needed, a_phone_shows_all_that_is_needed, nothing_moves_the_music_on_a_laptop,
        nothing_moves_the_music_on_a_phone, a_choice_recasts_the_last_half_bar, a_tap_moves_no_number_in_the_tab, a_title_moves_no_button;
    from_disk (OneFile): a_laptop_shows_all_that_is_needed;
}

const LAPTOP: (u32, u32) = (1280, 800);
const PHONE: (u32, u32) = (390, 844);

/// `in_view(element)`: all of it is inside the window and the scroll areas around it, and nothing covers its middle.
const HELP: &str = "
const in_view = (element) => {
    const { left, top, right, bottom, width, height } = element.getBoundingClientRect();
    const inside = (edge) => left >= edge.left - 1 && top >= edge.top - 1 && right <= edge.right + 1 && bottom <= edge.bottom + 1;
    const holders = [];
    for (let up = element.parentElement; up && up !== document.body; up = up.parentElement)
        if (getComputedStyle(up).overflow !== 'visible') holders.push(up.getBoundingClientRect());
    const hit = document.elementFromPoint(left + width / 2, top + height / 2);
    return width > 0 && height > 0 && inside({ left: 0, top: 0, right: innerWidth, bottom: innerHeight }) && holders.every(inside)
        && (element.contains(hit) || hit?.contains(element) && hit.closest('label, .row') !== null);
};
";

impl Page {
    async fn place<T: serde::de::DeserializeOwned>(&self, script: &str) -> T {
        self.js(&format!("{HELP}{script}")).await
    }
}

/// What should be in view but isn't.
async fn hidden(page: &Page, what: &[(&str, &str)]) -> Vec<String> {
    let mut hidden = Vec::new();
    for (name, elements) in what {
        let out: Vec<String> = page
            .place(&format!(
                "const wanted = {elements};
                return wanted.length === 0 ? ['not there'] : wanted.filter((one) => !in_view(one)).map((one) => one.outerHTML.slice(0, 90))"
            ))
            .await;
        hidden.extend(out.into_iter().map(|one| format!("{name}: {one}")));
    }
    hidden
}

/// How many systems are in view, from their chords down to their pads.
async fn systems(page: &Page) -> usize {
    page.place(
        "const { top, bottom } = one('#music').getBoundingClientRect();
        const whole = (row) => row.getBoundingClientRect().top >= top && all('.pad', row).every((pad) => pad.getBoundingClientRect().bottom <= bottom);
        return all('#sheet .row').filter((row) => whole(row) && all('.pad', row).every(in_view)).length",
    )
    .await
}

/// The figures and notations to choose from, and Play.
const CHOICES: [(&str, &str); 3] = [
    ("figures", "all('#figures label')"),
    ("notations", "all('#spellings label').filter(shown)"),
    ("Play", "[one('[data-play]')]"),
];

async fn a_laptop_shows_all_that_is_needed(page: Page) {
    page.open(LAPTOP.0).await;
    page.screen(LAPTOP.0, LAPTOP.1).await;
    let hidden = hidden(
        &page,
        &[
            CHOICES[0],
            CHOICES[1],
            CHOICES[2],
            ("what the page is for", "[one('#lead')]"),
            ("text", "[text()]"),
            ("tempo and loop", "[one('#tempo'), one('#again')]"),
            ("parts", "all('#parts button').filter(shown)"),
        ],
    )
    .await;
    assert!(hidden.is_empty(), "{hidden:#?}");
    let lead: String = page.js("return one('#lead').innerText").await;
    assert_eq!(lead, "Pick a rhythm, tap a half-bar, press Play.");
    let figures: usize = page.js("return all('#figures label svg').length").await;
    assert!(figures >= 17, "{figures} pictures");
    let systems = systems(&page).await;
    assert!(systems >= 2, "{systems} systems");
}

async fn a_phone_shows_all_that_is_needed(page: Page) {
    page.open(PHONE.0).await;
    let hidden = hidden(&page, &CHOICES).await;
    assert!(hidden.is_empty(), "{hidden:#?}");
    let systems = systems(&page).await;
    assert!(systems >= 1, "{systems} systems");
}

/// The header's buttons don't move when the title of the line is typed and kept.
async fn a_title_moves_no_button(page: Page) {
    for width in [LAPTOP.0, PHONE.0] {
        page.open(width).await;
        let places = "return all('#top button').filter((one) => one.id !== 'line-name').map((one) => [one.textContent, box(one).left])";
        let before: Vec<(String, f64)> = page.js(places).await;
        assert!(before.len() >= 7, "{before:?}");
        for title in
            ["A", "Week 40, a title that is far too long for the room that there is for it in a header"]
        {
            page.paste(&format!("title: {title}\nC4:4 |\n")).await;
            page.until("it is kept", &format!("return one('#line-name').textContent === '{title}' && one('#saved').textContent === 'Saved'")).await;
            assert_eq!(page.js::<Vec<(String, f64)>>(places).await, before, "{width}, {title}");
        }
        // They don't move for the worksheet either, which has no sentence beside them. On a phone, the header scrolls to the button instead.
        if width == LAPTOP.0 {
            page.open_part("worksheet").await;
            assert_eq!(page.js::<Vec<(String, f64)>>(places).await, before, "{width}, worksheet");
            assert!(
                !page.js::<bool>("return one('#lead').checkVisibility({ visibilityProperty: true })").await
            );
        }
    }
}

/// How far the window and the music are scrolled.
async fn scrolled(page: &Page) -> [f64; 4] {
    page.js("const music = one('#music'); return [scrollX, scrollY, music.scrollLeft, music.scrollTop]").await
}

/// Whether a press in the middle of something reaches it.
async fn reached(page: &Page, element: &str) -> bool {
    page.js(&format!(
        "const there = {element};
        const {{ left, top, width, height }} = there.getBoundingClientRect();
        return there.contains(document.elementFromPoint(left + width / 2, top + height / 2))"
    ))
    .await
}

/// Presses the middle of something where it is, without scrolling, with the mouse or a finger.
async fn press(page: &Page, element: &str, by_finger: bool) {
    let [x, y]: [f64; 2] = page
        .js(&format!(
            "const {{ left, top, width, height }} = ({element}).getBoundingClientRect(); return [left + width / 2, top + height / 2]"
        ))
        .await;
    if by_finger {
        page.cdp(
            "Input.dispatchTouchEvent",
            json!({ "type": "touchStart", "touchPoints": [{ "x": x, "y": y }] }),
        )
        .await;
        page.cdp("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] })).await;
    } else {
        for kind in ["mousePressed", "mouseReleased"] {
            let event = json!({ "type": kind, "x": x, "y": y, "button": "left", "clickCount": 1 });
            page.cdp("Input.dispatchMouseEvent", event).await;
        }
    }
    page.frames().await;
}

/// Presses everything that one presses while looking at the music, in two places of the music. Each is scrolled into view in its strip
/// first, as a user would.
async fn nothing_moves(page: &Page, by_finger: bool) {
    let everything: Vec<String> = page
        .js("const some = (name, of) => of.map((_, index) => `${name}[${index}]`);
            const [figures, parts] = [\"all('#figures label')\", \"all('button[data-part]').filter(shown)\"];
            return [...some(figures, all('#figures label')), `${figures}[0]`, ...some(\"all('#spellings label').filter(shown)\", all('#spellings label').filter(shown)),
                ...some(parts, all('button[data-part]').filter(shown)).filter((_, index) => all('button[data-part]').filter(shown)[index].dataset.part !== 'worksheet')
                    .flatMap((one) => [one, one]),
                \"one('[data-play]')\", \"one('[data-play]')\", \"one('#undo')\", \"one('#redo')\"]")
        .await;
    assert!(everything.len() > 35, "{everything:?}");
    for start in [0, 130] {
        page.js::<Value>(&format!("one('#music').scrollTop = {start}")).await;
        page.frames().await;
        let before = scrolled(page).await;
        assert_eq!(before, [0.0, 0.0, 0.0, f64::from(start)]);
        let pads: Vec<String> = page
            .place("return pads().filter(in_view).map((one) => `pads().find((one) => one.dataset.start === '${one.dataset.start}')`)")
            .await;
        assert!(pads.len() > 1, "{pads:?}");
        // Each is pressed twice, then the first one again, so that the choices that follow apply to it.
        for pad in pads.iter().chain(&pads).chain(&pads[..1]) {
            press(page, pad, by_finger).await;
            assert_eq!(scrolled(page).await, before, "{pad}");
            assert!(reached(page, pad).await, "{pad} is out of sight");
        }
        for one in &everything {
            page.js::<Value>(&format!("({one}).scrollIntoView({{ block: 'nearest', inline: 'nearest' }})"))
                .await;
            assert!(reached(page, one).await, "{one} is covered");
            press(page, one, by_finger).await;
            assert_eq!(scrolled(page).await, before, "{one}");
            let music: f64 = page.js("return one('#music').clientHeight").await;
            assert!(music > 100.0, "{one} leaves {music} px of music");
        }
    }
}

async fn nothing_moves_the_music_on_a_laptop(page: Page) {
    page.open_with(LAPTOP.0, LINE).await;
    page.screen(LAPTOP.0, LAPTOP.1).await;
    nothing_moves(&page, false).await;
}

async fn nothing_moves_the_music_on_a_phone(page: Page) {
    page.open_with(PHONE.0, LINE).await;
    nothing_moves(&page, true).await;
}

async fn choose(page: &Page, value: &str) {
    page.click(&format!("one('#shelf input[value={value}]').closest('label')")).await;
}

async fn marked(page: &Page) -> Vec<String> {
    page.js("return all('[data-chosen]').map((one) => one.dataset.start)").await
}

async fn a_choice_recasts_the_last_half_bar(page: Page) {
    let line = LINE.replace("recast: split-last at 1.1 bracket, 2.3 tied\n", "");
    page.open_with(1280, &line).await;
    assert_eq!(marked(&page).await, [""; 0]);
    // Before the first tap, a choice changes nothing.
    choose(&page, "split-first").await;
    assert_eq!(page.text().await, line);
    page.click_pad(3, 1).await;
    assert_eq!(marked(&page).await, ["8"]);
    let tapped = page.text().await;
    for (choice, row) in [
        ("quarter-triplet", "recast: quarter-triplet at 3.1"),
        ("split-middle", "recast: split-middle at 3.1 bracket"),
        ("tied", "recast: split-middle at 3.1 tied"),
    ] {
        choose(&page, choice).await;
        assert_eq!(page.recast_rows().await, [row]);
        assert!(page.is_pressed(3, 1).await);
        assert_eq!(marked(&page).await, ["8"]);
        assert!(page.status().await.starts_with("Bar 3 beat 1: "), "{}", page.status().await);
    }
    // All choices for one half-bar are one step, and the tap before them is another.
    page.click("one('#undo')").await;
    assert_eq!(page.text().await, tapped);
    page.click("one('#undo')").await;
    assert_eq!(page.text().await, line);
    // Nothing is recast now, so a choice changes nothing.
    choose(&page, "split-last").await;
    assert_eq!((page.text().await, marked(&page).await), (line.clone(), Vec::new()));
    // After another tap, choices apply there; a restored half-bar no longer follows.
    page.click_pad(3, 1).await;
    page.click_pad(4, 3).await;
    choose(&page, "split-first").await;
    assert_eq!(
        page.recast_rows().await,
        ["recast: split-last at 3.1 tied", "recast: split-first at 4.3 tied"]
    );
    page.click_pad(4, 3).await;
    choose(&page, "split-middle").await;
    assert_eq!(page.recast_rows().await, ["recast: split-last at 3.1 tied"]);
    assert_eq!(marked(&page).await, [""; 0]);
}

/// How the tab shows each note: the number as drawn, its distance from the tab's top line, and its string and fret as announced.
#[derive(PartialEq, Debug, Deserialize)]
struct Tab {
    drawn: BTreeMap<String, (String, i64)>,
    said: Vec<(String, String)>,
}

const TAB: &str = "
const first = (path) => path.getAttribute('d').match(/^M(-?\\d+) ?(-?\\d+)(.*)$/).slice(1);
const found = {};
for (const system of systems()) {
    const tab = Number(first(all('g.staff', system)[0].querySelector('path'))[1]);
    for (const fret of all('g.fret', system)) {
        const [, y, shape] = first(fret.querySelector('path'));
        // A tied note has its number again, in parentheses.
        found[fret.dataset.note] ??= [shape, Number(y) - tab];
    }
}
const said = all('#sheet .spoken li').flatMap((bar) => [...bar.textContent.matchAll(/string (\\d+) fret (\\d+)/g)].map((one) => one.slice(1)));
return { drawn: found, said }";

async fn a_tap_moves_no_number_in_the_tab(page: Page) {
    let plain = LINE.replace("recast: split-last at 1.1 bracket, 2.3 tied\n", "");
    page.open_with(1280, &plain).await;
    let before: Tab = page.js(TAB).await;
    assert!(before.drawn.len() == 57 && before.said.len() == 57, "{before:?}");
    let shapes: std::collections::BTreeSet<_> = before.drawn.values().map(|(shape, _)| shape).collect();
    assert!(shapes.len() > 4, "the numbers look the same: {shapes:?}");
    let starts: Vec<String> = page
        .js("return pads().filter((one) => one.ariaDisabled === 'false').map((one) => one.dataset.start)")
        .await;
    assert_eq!(starts.len(), 14);
    for (figure, notation) in
        [("split-last", "bracket"), ("split-first", "tied"), ("quarter-triplet", ""), ("accent-3", "")]
    {
        choose(&page, figure).await;
        if !notation.is_empty() {
            choose(&page, notation).await;
        }
        for start in &starts {
            let tap = format!("pads().find((one) => one.dataset.start === '{start}').click()");
            page.js::<Value>(&tap).await;
            let pressed: usize = page.js("return all('.pad[aria-pressed=true]').length").await;
            assert_eq!(pressed, 1, "{figure} at {start}");
            assert_eq!(page.js::<Tab>(TAB).await, before, "{figure} at {start}");
            page.js::<Value>(&tap).await;
        }
        // All of them at once.
        for start in &starts {
            page.js::<Value>(&format!("pads().find((one) => one.dataset.start === '{start}').click()")).await;
        }
        assert_eq!(page.js::<Tab>(TAB).await, before, "{figure} everywhere");
        while page.js::<bool>("return text().value.includes('recast:')").await {
            page.js::<Value>("all('.pad[aria-pressed=true]').at(-1).click()").await;
        }
        assert_eq!(page.text().await, plain);
    }
}
