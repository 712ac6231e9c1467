//! Everything can be seen, tapped and read: the parts of the page and of the element, at every size and in every color scheme (WCAG 2.2, AA).

use serde::Deserialize;
use serde_json::{Value, json};

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served):
        nothing_is_read_sideways, letters_twice_as_large_fit, wide_text_spacing_fits, fingers_hit_every_part,
        every_part_can_be_told_from_the_paper, every_part_is_there_in_forced_colors, nothing_moves_with_reduced_motion;
    lesson (Lesson):
        an_example_is_not_read_sideways, an_example_fits_letters_twice_as_large, an_example_fits_wide_text_spacing,
        fingers_hit_every_part_of_an_example, every_part_of_an_example_can_be_told_from_the_paper,
        every_part_of_an_example_is_there_in_forced_colors, nothing_moves_in_an_example;
}

/// Helpers for scripts that look at the page and inside its elements.
const HELP: &str = r#"
const within = (root) => all("*", root).flatMap((one) => [one, ...(one.shadowRoot ? within(one.shadowRoot) : [])]);
const everything = () => within(document.body).filter((one) => one.checkVisibility({ opacityProperty: false, visibilityProperty: true }));
const known = (one) => {
    const words = one.getAttribute("aria-label") ?? (one.labels?.[0] ?? one).textContent;
    return `${one.localName}#${one.id}.${one.getAttribute("class") ?? ""} ${words.replace(/\s+/g, " ").trim().slice(0, 40)}`;
};
const above = function* (one) {
    for (let up = one.parentElement ?? one.getRootNode().host; up; up = up.parentElement ?? up.getRootNode().host)
        if (up !== document.body && up !== document.documentElement) yield up;
};
const scrolls = (one) => ["auto", "scroll"].includes(getComputedStyle(one).overflowX);
// What scrolls vertically only.
const columns = '#music, #margin, #shelf, #worksheet, .panel';
// Whether an element is in a strip that scrolls by itself.
const scrolled = (one) => [...above(one)].some((up) => scrolls(up) && !up.matches(columns));
// The part of a box that isn't cut off by the scroll areas around it.
const left_of = (one, { left, top, right, bottom }) => {
    for (const up of above(one)) {
        if (getComputedStyle(up).overflowX === "visible") continue;
        const edge = up.getBoundingClientRect();
        [left, top] = [Math.max(left, edge.left), Math.max(top, edge.top)];
        [right, bottom] = [Math.min(right, edge.right), Math.min(bottom, edge.bottom)];
    }
    return left < right && top < bottom ? { left, top, right, bottom } : null;
};
// What is only for screen readers.
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

/// The parts of the page, of which one is open at a time.
pub(crate) const PARTS: [&str; 9] =
    ["figures", "text", "hands", "practice", "harmony", "make", "lines", "share", "worksheet"];

impl Page {
    /// Unfolds every section, and fills what is filled when its part is opened.
    pub(crate) async fn unfold(&self) {
        self.js::<Value>("for (const fold of all('details')) fold.open = true").await;
        for (part, what, filled) in [
            ("practice", "the steps are drawn", "all('#steps svg').length > 3"),
            ("harmony", "the names are listed", "all('#names-found li').length > 0"),
            ("make", "the scales are offered", "one('#scale-kind').options.length > 20"),
            ("hands", "the neck is drawn", "one('#fretboard svg') !== null"),
            ("worksheet", "the pages are drawn", "all('#pages .page').length > 0"),
        ] {
            self.show_part(part).await;
            self.until(what, &format!("return {filled}")).await;
        }
        self.show_part("figures").await;
    }

    /// Opens a part, wherever its button is.
    pub(crate) async fn show_part(&self, part: &str) {
        self.js::<Value>(&format!(
            "if (one('#page').dataset.part !== '{part}') one('button[data-part={part}]').click()"
        ))
        .await;
        self.frames().await;
    }
}

/// Fills the whole page: every section is unfolded, and every place for a message has one.
async fn whole_page(page: &Page, width: u32) {
    page.open_with(width, LINE).await;
    page.unfold().await;
    for id in ["way", "new-line", "copy-link"] {
        page.js::<Value>(&format!("one('#{id}').click()")).await;
    }
    page.show_part("lines").await;
    page.until("the lines are listed", "return all('#lines li').length > 1").await;
    page.js::<Value>("one('#lines [data-delete]').click()").await;
    page.paste(&LINE.replace("G F Eb C", "G H Eb C")).await;
    page.until("the problem is shown", "return one('#problems').children.length > 0").await;
}

/// Looks at the page with each of its parts open, then with each of its panels.
async fn in_every_part(page: &Page, at: &str, look: impl AsyncFn(&str)) {
    for part in PARTS {
        page.show_part(part).await;
        look(&format!("{at}, {part}")).await;
    }
    page.show_part("figures").await;
    for panel in ["show", "more"] {
        page.js::<Value>(&format!(
            "one('#{panel}').showPopover({{ source: one('[popovertarget={panel}]') }})"
        ))
        .await;
        page.frames().await;
        look(&format!("{at}, {panel}")).await;
        page.js::<Value>(&format!("one('#{panel}').hidePopover()")).await;
    }
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

/// Nothing sticks out of the window, except inside scroll areas for things that need two dimensions, such as a text with columns.
async fn no_sideways(page: &Page, width: u32, at: &str) {
    let (inner, scroll, out): (f64, f64, Vec<String>) = page
        .part(
            &"const { scrollWidth } = document.scrollingElement;
            const out = everything().filter((one) => {
                const { left, right, width, height } = one.getBoundingClientRect();
                return width > 0 && height > 0 && (right > WIDTH + 1 || left < -1) && !scrolled(one) && !unseen(one) && !one.closest('select');
            });
            const wide = everything().filter((one) => one.matches(columns) && one.scrollWidth > one.clientWidth + 1);
            return [innerWidth, scrollWidth, [...out.map(known), ...wide.map((one) => `scrolls sideways: ${known(one)} ${one.scrollWidth} in ${one.clientWidth}`)]]"
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
    in_every_part(&page, "at 320 px", async |at| no_sideways(&page, 320, at).await).await;
}

async fn an_example_is_not_read_sideways(page: Page) {
    whole_lesson(&page, 320).await;
    no_sideways(&page, 320, "the lesson at 320 px").await;
}

/// No letter is cut off or covered by another.
async fn no_letter_is_cut_off(page: &Page, at: &str) {
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
            // Cut off: letters beyond the edge of a button, or of a box that hides its overflow.
            // A name that ends in an ellipsis can be read in full in the part that its button opens.
            const boxes = words.filter((one) => !['option', 'select', 'textarea', 'code'].includes(one.localName) && !scrolled(one)
                && getComputedStyle(one).textOverflow !== 'ellipsis');
            const cut = boxes.filter((one) => {
                const box = (one.closest('button, label, summary') ?? one).getBoundingClientRect();
                return rects(one).some((rect) => rect.right > box.right + 1 || rect.left < box.left - 1
                    || rect.bottom > box.bottom + 4 || rect.top < box.top - 4);
            }).map((one) => `cut: ${known(one)}`);
            const open = one(':popover-open');
            const laid = boxes.filter((one) => !open || open.contains(one))
                .flatMap((one) => rects(one).map((rect) => [one, left_of(one, rect)])).filter(([, rect]) => rect);
            const over = laid.flatMap(([one, a], index) => laid.slice(index + 1)
                .filter(([other, b]) => other !== one && !one.contains(other) && !other.contains(one)
                    && Math.min(a.right, b.right) - Math.max(a.left, b.left) > 2 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4)
                .map(([other]) => `over: ${known(one)} and ${known(other)}`));
            return [...cut, ...over]",
        )
        .await;
    assert!(lost.is_empty(), "{at}: {lost:#?}");
}

/// WCAG 2.2, 1.4.4, enlarging only the text, as a phone's or a browser's setting does.
async fn letters_twice_as_large_fit(page: Page) {
    for width in [1280, 390] {
        whole_page(&page, width).await;
        page.js::<Value>("document.documentElement.style.fontSize = '200%'").await;
        page.resize(width + 1).await;
        in_every_part(&page, &format!("letters at 200 %, {width} px"), async |at| {
            no_sideways(&page, width + 1, at).await;
            no_letter_is_cut_off(&page, at).await;
        })
        .await;
    }
}

async fn an_example_fits_letters_twice_as_large(page: Page) {
    for width in [1280, 390] {
        whole_lesson(&page, width).await;
        page.js::<Value>("document.documentElement.style.fontSize = '200%'").await;
        page.resize(width + 1).await;
        no_sideways(&page, width + 1, "letters at 200 %").await;
        no_letter_is_cut_off(&page, &format!("letters at 200 %, {width} px")).await;
    }
}

/// The text spacing of WCAG 2.2, 1.4.12, on the page and inside elements.
const SPACED: &str = "
const sheet = new CSSStyleSheet();
sheet.replaceSync('* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important }'
    + 'p { margin-bottom: 2em !important }');
for (const root of [document, ...within(document.body).map((one) => one.shadowRoot).filter(Boolean)])
    root.adoptedStyleSheets = [...root.adoptedStyleSheets, sheet];";

async fn wide_text_spacing_fits(page: Page) {
    for width in [1280, 390, 320] {
        whole_page(&page, width).await;
        page.part::<Value>(SPACED).await;
        page.frames().await;
        in_every_part(&page, &format!("text spacing, {width} px"), async |at| {
            no_sideways(&page, width, at).await;
            no_letter_is_cut_off(&page, at).await;
        })
        .await;
    }
}

async fn an_example_fits_wide_text_spacing(page: Page) {
    for width in [1280, 390, 320] {
        whole_lesson(&page, width).await;
        page.part::<Value>(SPACED).await;
        page.frames().await;
        no_sideways(&page, width, "text spacing").await;
        no_letter_is_cut_off(&page, &format!("text spacing, {width} px")).await;
    }
}

/// WCAG 2.2, 2.5.8: 24 px, or so far from others that a circle of that size doesn't touch any; 44 px for a finger (2.5.5).
async fn hits(page: &Page, least: f64, at: &str) {
    let small: Vec<(String, f64, f64)> = page
        .part(
            "const targets = everything().filter((one) => one.matches('button, input, select, textarea, summary, a[href]') && !one.disabled);
            // A label counts as part of its control.
            const area = (one) => {
                const parts = [one, ...(one.labels ?? [])].map((part) => part.getBoundingClientRect());
                return [Math.max(...parts.map(({ width }) => width)), Math.max(...parts.map(({ height }) => height))];
            };
            return targets.map((one) => [known(one), ...area(one)])",
        )
        .await;
    assert!(small.len() > 12, "{at}: {} targets", small.len());
    let wrong: Vec<_> = small
        .into_iter()
        // Pads at every eighth are closer: `layout` measures them.
        .filter(|(name, width, height)| {
            *width < least.min(if name.contains(".pad") { 24.0 } else { least }) || *height < least - 0.5
        })
        .collect();
    assert!(wrong.is_empty(), "{at}: smaller than {least} px: {wrong:#?}");
}

async fn fingers_hit_every_part(page: Page) {
    whole_page(&page, 1280).await;
    in_every_part(&page, "with a mouse", async |at| hits(&page, 24.0, at).await).await;
    whole_page(&page, 390).await;
    let coarse: bool = page.js("return matchMedia('(pointer: coarse)').matches").await;
    assert!(coarse, "this is not a phone");
    in_every_part(&page, "with a finger", async |at| hits(&page, 44.0, at).await).await;
}

async fn fingers_hit_every_part_of_an_example(page: Page) {
    whole_lesson(&page, 1280).await;
    hits(&page, 24.0, "with a mouse").await;
    whole_lesson(&page, 390).await;
    hits(&page, 44.0, "with a finger").await;
}

#[derive(Debug, Deserialize)]
#[allow(dead_code, reason = "all of it is printed when a scenario fails")]
struct Pale {
    what: String,
    ink: String,
    paper: String,
    contrast: f64,
}

/// The contrast of every word with its background, 4.5 to 1 (WCAG 2.2, 1.4.3), and of the edge or background of every control, 3 to 1
/// (1.4.11). Disabled controls are exempt, as in WCAG.
const PALE: &str = r#"
const parse = (color) => {
    // Mixed colors look like `color(srgb 0.1 0.2 0.3 / 0.7)`.
    const numbers = color.match(/-?[\d.]+(e-?\d+)?/g).map(Number);
    const scale = color.startsWith("color(") ? 255 : 1;
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
const shown = (one, color, paper) => {
    const [r, g, b, a] = parse(color);
    return over([r, g, b, a * opacityOf(one)], paper);
};
const off = (one) => one.closest(":disabled, [aria-disabled=true]") || one.labels?.[0]?.control?.disabled || one.closest("label")?.control?.disabled
    || one.closest(".stale");
const pale = [];
const judge = (one, what, color, paper, least) => {
    const ratio = contrast(shown(one, color, paper), paper);
    if (ratio < least) pale.push({ what: `${what} ${known(one)}`, ink: color, paper: String(paper.map(Math.round)), contrast: ratio });
};
let words = 0, edges = 0;
for (const one of everything()) {
    // The pages of a worksheet are black on white, whatever is around them.
    // In the text box, words with a mistake are there twice, to underline them.
    if (off(one) || unseen(one) || one.closest(".page, .overlay")) continue;
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
    // Input fields and half-bars have an edge. Other buttons are recognized by their words, and if they have an edge, it is visible. The
    // browser's own check boxes and sliders have the accent color or the browser's colors.
    const field = one.matches(".pad, select, textarea, .choices label:has(:checked), input:not([type=radio], [type=checkbox], [type=range], [type=file])");
    const button = one.matches("button:not(.problem), .choices label, .file") && parse(style.borderBottomColor)[3] > 0;
    if (field || button) {
        edges += 1;
        judge(one, "edge", parseFloat(style.borderBottomWidth) > 0 ? style.borderBottomColor : "rgba(0, 0, 0, 0)", paperOf(parent(one)), 3);
    }
}
return [pale, words, edges]"#;

async fn enough_contrast(page: &Page, at: &str) {
    let (pale, words, edges): (Vec<Pale>, usize, usize) = page.part(PALE).await;
    assert!(words > 20 && edges > 4, "{at}: {words} words and signs, {edges} edges");
    assert!(pale.is_empty(), "{at}: {} pale: {:#?}", pale.len(), &pale[..pale.len().min(12)]);
}

async fn every_part_can_be_told_from_the_paper(page: Page) {
    for mistake in [true, false] {
        whole_page(&page, 1280).await;
        if !mistake {
            page.paste(LINE).await;
            page.until("the line is correct", "return text().ariaInvalid === 'false'").await;
        }
        for scheme in ["light", "dark"] {
            page.media(json!([{ "name": "prefers-color-scheme", "value": scheme }])).await;
            let at = format!("{scheme}, with a mistake: {mistake}");
            in_every_part(&page, &at, async |at| enough_contrast(&page, at).await).await;
        }
    }
}

async fn every_part_of_an_example_can_be_told_from_the_paper(page: Page) {
    whole_lesson(&page, 1280).await;
    for scheme in ["light", "dark"] {
        page.media(json!([{ "name": "prefers-color-scheme", "value": scheme }])).await;
        enough_contrast(&page, scheme).await;
    }
}

/// When the user has chosen the colors, the systems' signs are in the user's text color, every control has an edge, and what is pressed or
/// chosen is filled.
const FORCED: &str = r#"
const wrong = [];
const paper = getComputedStyle(document.body).backgroundColor;
// Transparent things have the color of the paper.
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
for (const one of everything().filter((one) => one.matches("button:not(.pad)") && filled(one) !== paper && !one.closest(".panel, .example, #music, #neck, #worksheet"))) {
    if (getComputedStyle(one).forcedColorAdjust !== "none") wrong.push(`words on a backplate: ${known(one)}`);
}
const rule = (one) => getComputedStyle(one).borderBottomWidth;
for (const one of everything().filter((one) => one.matches("[data-part][aria-expanded=true]"))) {
    if (rule(one) === rule(document.querySelector("[data-part][aria-expanded=false]"))) wrong.push(`nothing shows what is open: ${known(one)}`);
}
const pads = everything().filter((one) => one.matches(".pad"));
const [on, open, cannot] = ["[aria-pressed=true]", "[aria-pressed=false]:not([aria-disabled=true])", "[aria-disabled=true]"]
    .map((kind) => pads.find((pad) => pad.matches(kind)));
if (filled(on) === filled(open)) wrong.push(`pressed and open pads look the same: ${filled(on)}`);
const ink = (pad) => getComputedStyle(pad.querySelector("path")).fill;
if (ink(on) === filled(on) || ink(open) === filled(open)) wrong.push(`the rhythm in a pad is gone: ${ink(on)} on ${filled(on)}, ${ink(open)} on ${filled(open)}`);
if (cannot && getComputedStyle(cannot).borderStyle !== "dashed") wrong.push("a pad that can't be recast looks like others");
for (const choice of everything().filter((one) => one.matches(".choices label:has(:checked)"))) {
    const other = everything().find((one) => one.matches(".choices label:not(:has(:checked), :has(:disabled))"));
    if (filled(choice) === filled(other)) wrong.push(`nothing shows what is chosen: ${known(choice)}`);
    // Behind text with forced colors, the browser puts a backplate in the color of the paper (CSS Color Adjustment 1, 3.1).
    if (getComputedStyle(choice).forcedColorAdjust !== "none") wrong.push(`words on a backplate: ${known(choice)}`);
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
        assert!(wrong.is_empty(), "{name}, forced colors, {scheme}: {wrong:#?}");
    }
}

async fn every_part_is_there_in_forced_colors(page: Page) {
    page.open_with(1280, LINE).await;
    page.click_pad(3, 1).await;
    page.unfold().await;
    in_every_part(&page, "the page", async |at| {
        if !at.ends_with("worksheet") {
            forced(&page, at).await;
        }
    })
    .await;
}

async fn every_part_of_an_example_is_there_in_forced_colors(page: Page) {
    whole_lesson(&page, 1280).await;
    forced(&page, "the lesson").await;
}

/// WCAG 2.2, 2.2.2 and 2.3.3: no animations and no smooth scrolling.
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

async fn nothing_moves_with_reduced_motion(page: Page) {
    page.open_with(1280, LINE).await;
    page.media(json!([{ "name": "prefers-reduced-motion", "value": "reduce" }])).await;
    page.unfold().await;
    page.click_pad(3, 1).await;
    in_every_part(&page, "", async |_| still(&page).await).await;
    page.click("one('[data-play]')").await;
    page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
    still(&page).await;
}

async fn nothing_moves_in_an_example(page: Page) {
    whole_lesson(&page, 1280).await;
    still(&page).await;
}
