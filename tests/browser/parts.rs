//! What can be seen, hit and read: the parts of the page and of the element, at every size and in every scheme (WCAG 2.2, AA).

use serde::Deserialize;
use serde_json::{Value, json};

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served):
        nothing_is_read_sideways, letters_twice_as_large_fit, letters_further_apart_fit, fingers_hit_every_part,
        every_part_can_be_told_from_the_paper, every_part_is_there_in_forced_colours, nothing_moves_for_who_asked_for_stillness;
    lesson (Lesson):
        an_example_is_not_read_sideways, an_example_fits_letters_twice_as_large, an_example_fits_letters_further_apart,
        fingers_hit_every_part_of_an_example, every_part_of_an_example_can_be_told_from_the_paper,
        every_part_of_an_example_is_there_in_forced_colours, nothing_moves_in_an_example;
}

/// What scenarios ask of the page and of the inside of its elements.
const HELP: &str = r#"
const within = (root) => all("*", root).flatMap((one) => [one, ...(one.shadowRoot ? within(one.shadowRoot) : [])]);
const everything = () => within(document.body).filter((one) => one.checkVisibility({ opacityProperty: false, visibilityProperty: true }));
const known = (one) => {
    const words = one.getAttribute("aria-label") ?? (one.labels?.[0] ?? one).textContent;
    return `${one.localName}#${one.id}.${one.getAttribute("class") ?? ""} ${words.replace(/\s+/g, " ").trim().slice(0, 40)}`;
};
// Where an element lies, for the part of the page's code that cuts: an ancestor that scrolls may hold it.
const scrolled = (one) => {
    for (let up = one.parentElement ?? one.getRootNode().host; up; up = up.parentElement ?? up.getRootNode().host)
        if (up !== document.body && up !== document.documentElement && ["auto", "scroll"].includes(getComputedStyle(up).overflowX)) return true;
    return false;
};
// What is there for who hears the page alone.
const unseen = (one) => {
    for (let up = one; up; up = up.parentElement) if (getComputedStyle(up).clipPath === "inset(50%)") return true;
    return false;
};
"#;

impl Page {
    async fn part<T: serde::de::DeserializeOwned>(&self, script: &str) -> T {
        self.js(&format!("{HELP}{script}")).await
    }
}

/// Opens all of the page: every fold, and something said in every place that speaks.
async fn whole_page(page: &Page, width: u32) {
    page.open_with(width, LINE).await;
    page.js::<Value>("for (const fold of all('details')) fold.open = true").await;
    page.until("the steps are drawn", "return all('#steps svg').length > 3").await;
    page.until("the lines are listed", "return all('#lines li').length > 0").await;
    page.until("the scales are offered", "return one('#scale-kind').options.length > 20").await;
    for id in ["way", "new-line", "copy-link"] {
        page.js::<Value>(&format!("one('#{id}').click()")).await;
    }
    page.paste(&LINE.replace("G F Eb C", "G H Eb C")).await;
    page.until("the problem is shown", "return one('#problems').children.length > 0").await;
}

/// Draws every example, with a mistake in the fourth.
async fn whole_lesson(page: &Page, width: u32) {
    page.resize(width).await;
    page.go().await;
    page.js::<Value>(
        "const tags = all('half-bar');
        return Promise.all(tags.map((one) => one.ready())).then(() => {
            tags[0].shadowRoot.querySelector('.pad').click();
            tags[3].text += ' H4 and_a_long_word_that_is_no_note_at_all |';
        })",
    )
    .await;
    page.frames().await;
}

/// Nothing stands out of the window, but in what scrolls by itself because its meaning needs two dimensions: a text with its columns.
async fn no_sideways(page: &Page, width: u32, at: &str) {
    let (inner, scroll, out): (f64, f64, Vec<String>) = page
        .part(
            &"const { scrollWidth } = document.scrollingElement;
            const out = everything().filter((one) => {
                const { left, right, width, height } = one.getBoundingClientRect();
                return width > 0 && height > 0 && (right > WIDTH + 1 || left < -1) && !scrolled(one) && !unseen(one) && !one.closest('select');
            });
            return [innerWidth, scrollWidth, out.map(known)]"
                .replace("WIDTH", &width.to_string()),
        )
        .await;
    assert!(out.is_empty(), "{at}: out of the window: {out:#?}");
    assert_eq!(inner, f64::from(width), "{at}: the page is zoomed out to fit");
    assert!(scroll <= inner, "{at}: {scroll} px wide");
}

/// WCAG 2.2, 1.4.10: 320 px, which is 1280 px at 400 %.
async fn nothing_is_read_sideways(page: Page) {
    whole_page(&page, 320).await;
    no_sideways(&page, 320, "at 320 px").await;
}

async fn an_example_is_not_read_sideways(page: Page) {
    whole_lesson(&page, 320).await;
    no_sideways(&page, 320, "the lesson at 320 px").await;
}

/// No letter is cut off or lies under another.
async fn no_letter_lost(page: &Page, at: &str) {
    let lost: Vec<String> = page
        .part(
            "const words = everything().filter((one) => !one.closest('svg') && !unseen(one)
                && [...one.childNodes].some((child) => child.nodeType === 3 && child.data.trim() !== ''));
            const rects = (one) => {
                const range = document.createRange();
                return [...one.childNodes].filter((child) => child.nodeType === 3 && child.data.trim() !== '').flatMap((child) => {
                    range.selectNodeContents(child);
                    return [...range.getClientRects()];
                });
            };
            // Cut: letters beyond the edge of a box that hides what is beyond, or of a button.
            const boxes = words.filter((one) => !['option', 'select', 'textarea', 'code'].includes(one.localName) && !scrolled(one));
            const cut = boxes.filter((one) => {
                const box = (one.closest('button, label, summary') ?? one).getBoundingClientRect();
                return rects(one).some((rect) => rect.right > box.right + 1 || rect.left < box.left - 1
                    || rect.bottom > box.bottom + 4 || rect.top < box.top - 4);
            }).map((one) => `cut: ${known(one)}`);
            const laid = boxes.filter((one) => !one.closest('#shelf')).flatMap((one) => rects(one).map((rect) => [one, rect]));
            const over = laid.flatMap(([one, a], index) => laid.slice(index + 1)
                .filter(([other, b]) => other !== one && !one.contains(other) && !other.contains(one)
                    && Math.min(a.right, b.right) - Math.max(a.left, b.left) > 2 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4)
                .map(([other]) => `over: ${known(one)} and ${known(other)}`));
            return [...cut, ...over]",
        )
        .await;
    assert!(lost.is_empty(), "{at}: {lost:#?}");
}

/// WCAG 2.2, 1.4.4, by the letters alone, as a phone's or a browser's setting makes them.
async fn letters_twice_as_large_fit(page: Page) {
    for width in [1280, 390] {
        whole_page(&page, width).await;
        page.js::<Value>("document.documentElement.style.fontSize = '200%'").await;
        page.resize(width + 1).await;
        no_sideways(&page, width + 1, "letters at 200 %").await;
        no_letter_lost(&page, &format!("letters at 200 %, {width} px")).await;
    }
}

async fn an_example_fits_letters_twice_as_large(page: Page) {
    for width in [1280, 390] {
        whole_lesson(&page, width).await;
        page.js::<Value>("document.documentElement.style.fontSize = '200%'").await;
        page.resize(width + 1).await;
        no_sideways(&page, width + 1, "letters at 200 %").await;
        no_letter_lost(&page, &format!("letters at 200 %, {width} px")).await;
    }
}

/// The text spacing of WCAG 2.2, 1.4.12, in the page and inside of elements.
const SPACED: &str = "
const sheet = new CSSStyleSheet();
sheet.replaceSync('* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important }'
    + 'p { margin-bottom: 2em !important }');
for (const root of [document, ...within(document.body).map((one) => one.shadowRoot).filter(Boolean)])
    root.adoptedStyleSheets = [...root.adoptedStyleSheets, sheet];";

async fn letters_further_apart_fit(page: Page) {
    for width in [1280, 390, 320] {
        whole_page(&page, width).await;
        page.part::<Value>(SPACED).await;
        page.frames().await;
        no_sideways(&page, width, "text spacing").await;
        no_letter_lost(&page, &format!("text spacing, {width} px")).await;
    }
}

async fn an_example_fits_letters_further_apart(page: Page) {
    for width in [1280, 390, 320] {
        whole_lesson(&page, width).await;
        page.part::<Value>(SPACED).await;
        page.frames().await;
        no_sideways(&page, width, "text spacing").await;
        no_letter_lost(&page, &format!("text spacing, {width} px")).await;
    }
}

/// WCAG 2.2, 2.5.8: 24 px, or so far from others that a circle of that size meets none; 44 px for a finger (2.5.5).
async fn hits(page: &Page, least: f64, at: &str) {
    let small: Vec<(String, f64, f64)> = page
        .part(
            "const targets = everything().filter((one) => one.matches('button, input, select, textarea, summary, a[href]') && !one.disabled);
            // A label is as good as what it is for.
            const area = (one) => {
                const parts = [one, ...(one.labels ?? [])].map((part) => part.getBoundingClientRect());
                return [Math.max(...parts.map(({ width }) => width)), Math.max(...parts.map(({ height }) => height))];
            };
            return targets.map((one) => [known(one), ...area(one)])",
        )
        .await;
    assert!(small.len() > 20, "{at}: {} targets", small.len());
    let wrong: Vec<_> = small
        .into_iter()
        // Pads of eighths stand closer: `layout` measures them.
        .filter(|(name, width, height)| {
            *width < least.min(if name.contains(".pad") { 24.0 } else { least }) || *height < least - 0.5
        })
        .collect();
    assert!(wrong.is_empty(), "{at}: smaller than {least} px: {wrong:#?}");
}

async fn fingers_hit_every_part(page: Page) {
    whole_page(&page, 1280).await;
    hits(&page, 24.0, "with a mouse").await;
    whole_page(&page, 390).await;
    let coarse: bool = page.js("return matchMedia('(pointer: coarse)').matches").await;
    assert!(coarse, "this is no phone");
    hits(&page, 44.0, "with a finger").await;
}

async fn fingers_hit_every_part_of_an_example(page: Page) {
    whole_lesson(&page, 1280).await;
    hits(&page, 24.0, "with a mouse").await;
    whole_lesson(&page, 390).await;
    hits(&page, 44.0, "with a finger").await;
}

#[derive(Debug, Deserialize)]
#[allow(dead_code, reason = "all of it is told when a scenario fails")]
struct Pale {
    what: String,
    ink: String,
    paper: String,
    contrast: f64,
}

/// Every word against what it stands on, 4.5 to 1 (WCAG 2.2, 1.4.3); and the edge or the ground of every control, 3 to 1 (1.4.11). What can't
/// be used is left out, as there.
const PALE: &str = r#"
const parse = (colour) => {
    // `color(srgb 0.1 0.2 0.3 / 0.7)` is what mixing gives.
    const numbers = colour.match(/-?[\d.]+(e-?\d+)?/g).map(Number);
    const scale = colour.startsWith("color(") ? 255 : 1;
    return [...numbers.slice(0, 3).map((one) => one * scale), numbers[3] ?? 1];
};
const over = ([r, g, b, a], [x, y, z]) => [r * a + x * (1 - a), g * a + y * (1 - a), b * a + z * (1 - a), 1];
const parent = (one) => one.parentElement ?? one.getRootNode().host ?? null;
const paperOf = (one) => {
    const layers = [];
    for (let up = one; up; up = parent(up)) layers.push(parse(getComputedStyle(up).backgroundColor));
    const canvas = parse(getComputedStyle(document.body).backgroundColor);
    return layers.reverse().reduce((below, above) => over(above, below), canvas);
};
const opacityOf = (one) => {
    let opacity = 1;
    for (let up = one; up; up = parent(up)) opacity *= Number(getComputedStyle(up).opacity);
    return opacity;
};
const luminance = ([r, g, b]) => {
    const [x, y, z] = [r, g, b].map((one) => one / 255).map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4));
    return 0.2126 * x + 0.7152 * y + 0.0722 * z;
};
const contrast = (a, b) => {
    const [low, high] = [luminance(a), luminance(b)].sort((a, b) => a - b);
    return (high + 0.05) / (low + 0.05);
};
const shown = (one, colour, paper) => {
    const [r, g, b, a] = parse(colour);
    return over([r, g, b, a * opacityOf(one)], paper);
};
const off = (one) => one.closest(":disabled, [aria-disabled=true]") || one.labels?.[0]?.control?.disabled || one.closest("label")?.control?.disabled
    || one.closest(".stale");
const pale = [];
const judge = (one, what, colour, paper, least) => {
    const ratio = contrast(shown(one, colour, paper), paper);
    if (ratio < least) pale.push({ what: `${what} ${known(one)}`, ink: colour, paper: String(paper.map(Math.round)), contrast: ratio });
};
let words = 0, edges = 0;
for (const one of everything()) {
    // The pages of a worksheet are black on white, whatever stands around them.
    if (off(one) || unseen(one) || one.closest(".page")) continue;
    const style = getComputedStyle(one);
    if (one.closest("svg")) {
        if (!one.matches("path, rect, line, circle, polygon, polyline") || one.closest(".cells") || ["none"].includes(style.fill)) continue;
        words += 1;
        judge(one, "sign", style.fill.startsWith("rgb") || style.fill.startsWith("color(") ? style.fill : style.color, paperOf(one), 4.5);
        continue;
    }
    const own = [...one.childNodes].some((child) => child.nodeType === 3 && child.data.trim() !== "") || one.matches("input, select, textarea");
    if (own && one.localName !== "option" && !["radio", "checkbox", "range", "file"].includes(one.type)) {
        words += 1;
        judge(one, "words", style.color, paperOf(one), 4.5);
    }
    // The browser's own boxes and sliders have the accent, or the browser's colours.
    const control = one.matches("button:not(.problem), select, textarea, .choices label, .file, input:not([type=radio], [type=checkbox], [type=range], [type=file])");
    if (control) {
        edges += 1;
        judge(one, "edge", parseFloat(style.borderBottomWidth) > 0 ? style.borderBottomColor : "rgba(0, 0, 0, 0)", paperOf(parent(one)), 3);
    }
}
return [pale, words, edges]"#;

async fn no_pale(page: &Page, at: &str) {
    let (pale, words, edges): (Vec<Pale>, usize, usize) = page.part(PALE).await;
    assert!(words > 200 && edges > 15, "{at}: {words} words and signs, {edges} edges");
    assert!(pale.is_empty(), "{at}: {} pale: {:#?}", pale.len(), &pale[..pale.len().min(12)]);
}

async fn every_part_can_be_told_from_the_paper(page: Page) {
    for mistake in [true, false] {
        whole_page(&page, 1280).await;
        if !mistake {
            page.paste(LINE).await;
            page.until("the line is right", "return text().ariaInvalid === 'false'").await;
        }
        for scheme in ["light", "dark"] {
            page.media(json!([{ "name": "prefers-color-scheme", "value": scheme }])).await;
            no_pale(&page, &format!("{scheme}, with a mistake: {mistake}")).await;
        }
    }
}

async fn every_part_of_an_example_can_be_told_from_the_paper(page: Page) {
    whole_lesson(&page, 1280).await;
    for scheme in ["light", "dark"] {
        page.media(json!([{ "name": "prefers-color-scheme", "value": scheme }])).await;
        no_pale(&page, scheme).await;
    }
}

/// Where a reader has chosen the colours: the systems' signs are in the reader's ink, and every control has an edge; what is pressed or chosen
/// is told by its fill.
const FORCED: &str = r#"
const wrong = [];
const paper = getComputedStyle(document.body).backgroundColor;
// What is see-through is as the paper is.
const filled = (one) => {
    const { backgroundColor } = getComputedStyle(one);
    return /, 0\)$/.test(backgroundColor) ? paper : backgroundColor;
};
for (const one of everything()) {
    if (unseen(one)) continue;
    const style = getComputedStyle(one);
    const ground = one.closest(".choices label:has(:checked)");
    if (one.matches("svg path") && !one.closest(".pad, .cells") && style.fill === (ground ? filled(ground) : paper)) wrong.push(`a sign is gone: ${known(one)}`);
    if (one.matches("button:not(.problem), select, textarea, .choices label") && filled(one) === paper
        && (parseFloat(style.borderBottomWidth) < 1 || style.borderBottomColor === paper))
        wrong.push(`no edge: ${known(one)}`);
}
const pads = everything().filter((one) => one.matches(".pad"));
const [on, open, cannot] = ["[aria-pressed=true]", "[aria-pressed=false]:not([aria-disabled=true])", "[aria-disabled=true]"]
    .map((kind) => pads.find((pad) => pad.matches(kind)));
if (filled(on) === filled(open)) wrong.push(`pressed and open pads are alike: ${filled(on)}`);
const ink = (pad) => getComputedStyle(pad.querySelector("path")).fill;
if (ink(on) === filled(on) || ink(open) === filled(open)) wrong.push(`the rhythm in a pad is gone: ${ink(on)} on ${filled(on)}, ${ink(open)} on ${filled(open)}`);
if (cannot && getComputedStyle(cannot).borderStyle !== "dashed") wrong.push("a pad that can't be recast looks like others");
for (const choice of everything().filter((one) => one.matches(".choices label:has(:checked)"))) {
    const other = everything().find((one) => one.matches(".choices label:not(:has(:checked), :has(:disabled))"));
    if (filled(choice) === filled(other)) wrong.push(`nothing tells what is chosen: ${known(choice)}`);
    // Behind words whose colours it forces, the browser lays a plate of the paper's colour (CSS Color Adjustment 1, 3.1).
    if (getComputedStyle(choice).forcedColorAdjust !== "none") wrong.push(`words on a plate: ${known(choice)}`);
}
return wrong"#;

async fn forced(page: &Page, name: &str) {
    for scheme in ["light", "dark"] {
        page.media(json!([
            { "name": "forced-colors", "value": "active" },
            { "name": "prefers-color-scheme", "value": scheme },
        ]))
        .await;
        assert!(page.js::<bool>("return matchMedia('(forced-colors: active)').matches").await);
        let wrong: Vec<String> = page.part(FORCED).await;
        assert!(wrong.is_empty(), "{name}, forced colours, {scheme}: {wrong:#?}");
    }
}

async fn every_part_is_there_in_forced_colours(page: Page) {
    page.open_with(1280, LINE).await;
    page.click_pad(3, 1).await;
    forced(&page, "the page").await;
}

async fn every_part_of_an_example_is_there_in_forced_colours(page: Page) {
    whole_lesson(&page, 1280).await;
    forced(&page, "the lesson").await;
}

/// WCAG 2.2, 2.2.2 and 2.3.3: nothing is animated, nor scrolled to smoothly.
async fn still(page: &Page) {
    page.media(json!([{ "name": "prefers-reduced-motion", "value": "reduce" }])).await;
    let moving: Vec<String> = page
        .part(
            "const running = document.getAnimations().map((one) => one.animationName ?? one.transitionProperty ?? 'an animation');
            const styled = everything().filter((one) => {
                const { animationName, transitionDuration, scrollBehavior } = getComputedStyle(one);
                return animationName !== 'none' || transitionDuration.split(', ').some((one) => one !== '0s') || scrollBehavior === 'smooth';
            });
            return [...running, ...styled.map(known)]",
        )
        .await;
    assert!(moving.is_empty(), "{moving:#?}");
}

async fn nothing_moves_for_who_asked_for_stillness(page: Page) {
    page.open_with(1280, LINE).await;
    page.media(json!([{ "name": "prefers-reduced-motion", "value": "reduce" }])).await;
    page.js::<Value>("for (const fold of all('details')) fold.open = true").await;
    page.click_pad(3, 1).await;
    still(&page).await;
    page.click("one('[data-play]')").await;
    page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
    still(&page).await;
}

async fn nothing_moves_in_an_example(page: Page) {
    whole_lesson(&page, 1280).await;
    still(&page).await;
}
