//! Light, dark and paper.

use serde_json::{Value, json};

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served):
        ink_can_be_read_in_the_dark, paper_is_white_in_the_dark;
    lesson (Lesson): an_example_can_be_read_in_the_dark;
}

/// A sign, and the element whose background it is on.
const PAIRS: [(&str, &str); 9] = [
    ("drawn('note')[0].firstElementChild", "one('#music')"),
    ("drawn('fret')[0].querySelector('path')", "one('#music')"),
    ("drawn('chord')[0].querySelector('path')", "one('#music')"),
    ("one('#sheet svg.head g.title path')", "one('#music')"),
    ("pad(3, 1).querySelector('svg g.note').firstElementChild", "one('#music')"),
    ("pad(1, 1).querySelector('svg g.note').firstElementChild", "pad(1, 1)"),
    ("one('.choices .picture g.note').firstElementChild", "document.body"),
    ("one('#status')", "document.body"),
    ("text()", "document.body"),
];

async fn media(page: &Page, medium: &str, scheme: &str) {
    let feature = json!([{ "name": "prefers-color-scheme", "value": scheme }]);
    page.cdp("Emulation.setEmulatedMedia", json!({ "media": medium, "features": feature })).await;
    page.frames().await;
}

async fn ink_can_be_read_in_the_dark(page: Page) {
    page.open_with(1280, LINE).await;
    let mut papers = Vec::new();
    for scheme in ["light", "dark"] {
        media(&page, "screen", scheme).await;
        for (sign, ground) in PAIRS {
            let (ink, paper) = colors(&page, sign, ground).await;
            let contrast = contrast(ink, paper);
            // WCAG 2.2, 1.4.3.
            assert!(contrast >= 4.5, "{scheme}: {sign} has {ink:?} on {paper:?}: {contrast:.2} to 1");
        }
        papers.push(colors(&page, PAIRS[0].0, PAIRS[0].1).await.1);
    }
    assert!(luminance(papers[0]) > 0.8 && luminance(papers[1]) < 0.05, "light and dark are {papers:?}");
}

async fn paper_is_white_in_the_dark(page: Page) {
    page.open_with(1280, LINE).await;
    page.js::<Value>("dispatchEvent(new Event('beforeprint'))").await;
    for scheme in ["dark", "light"] {
        media(&page, "print", scheme).await;
        let notes: usize = page.js("return all('#print g.note').length").await;
        assert!(notes > 50, "{notes} notes on paper");
        for sign in ["g.note", "g.fret", "g.staff", "g.title"] {
            let sign = format!("one('#print {sign}').lastElementChild");
            let (ink, paper) = colors(&page, &sign, "document.body").await;
            assert_eq!((ink, paper), ([0.0; 3], [255.0; 3]), "{scheme}: {sign}");
        }
        let shown: String =
            page.js("return ['main', '#print'].map((one) => getComputedStyle(document.querySelector(one)).display).join()").await;
        assert_eq!(shown, "none,block");
    }
}

async fn an_example_can_be_read_in_the_dark(page: Page) {
    page.resize(1280).await;
    page.go().await;
    page.until("an example is drawn", "return one('half-bar').drawn").await;
    let inside = |selector: &str| format!("one('half-bar').shadowRoot.querySelector('{selector}')");
    page.click(&inside(".pad[aria-pressed=false]")).await;
    for scheme in ["light", "dark"] {
        media(&page, "screen", scheme).await;
        for (sign, ground) in [
            (".row > div g.note > path", "document.body".to_string()),
            (".pad[aria-pressed=true] g.note > path", inside(".pad[aria-pressed=true]")),
            (".status", "document.body".to_string()),
            (".play", "document.body".to_string()),
        ] {
            let (ink, paper) = colors(&page, &inside(sign), &ground).await;
            let contrast = contrast(ink, paper);
            // WCAG 2.2, 1.4.3.
            assert!(contrast >= 4.5, "{scheme}: {sign} has {ink:?} on {paper:?}: {contrast:.2} to 1");
        }
    }
}

/// The colors of a sign and of its background, as red, green and blue from 0 to 255.
async fn colors(page: &Page, sign: &str, ground: &str) -> ([f64; 3], [f64; 3]) {
    let script = format!(
        "// Mixed colors are given in parts of 1.
        const read = (color) => {{
            const scale = color.startsWith('color(srgb ') ? 255 : 1;
            const [red, green, blue, opacity] = color.match(/[\\d.]+/g).map(Number);
            return [...[red, green, blue].map((part) => part * scale), opacity ?? 1];
        }};
        const [sign, ground] = [{sign}, {ground}];
        const style = getComputedStyle(sign);
        const [ink, over] = [read(sign.ownerSVGElement ? style.fill : style.color), read(getComputedStyle(ground).backgroundColor)];
        const under = read(getComputedStyle(document.body).backgroundColor);
        if (ink[3] !== 1 || under[3] !== 1) throw new Error(`see-through: ${{ink}}, ${{under}}`);
        return [ink.slice(0, 3), [0, 1, 2].map((part) => over[part] * over[3] + under[part] * (1 - over[3]))]"
    );
    page.js(&script).await
}

/// The relative luminance of WCAG 2.2.
fn luminance(color: [f64; 3]) -> f64 {
    let [red, green, blue] = color.map(|part| {
        let part = part / 255.0;
        if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// The contrast ratio of WCAG 2.2.
fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}
