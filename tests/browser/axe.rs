//! What axe-core (npm, MPL 2.0) finds on the page and on the lesson page: its rules for WCAG 2.0 to 2.2, A and AA, and for best practices.
//!
//! axe looks into open shadow roots, so it sees the inside of an element. It also lists what it can't decide by itself; only what is in
//! `DECIDED` may be on that list.

use halfbar_tests::target;
use serde::Deserialize;
use serde_json::{Value, json};

use crate::expected::LINE;
use crate::page::Page;
use crate::parts::PARTS;

scenarios! {
    served (Served):
        axe_finds_nothing_on_the_page, axe_finds_nothing_beside_a_mistake, axe_finds_nothing_while_it_plays;
    from_disk (OneFile): axe_finds_nothing_on_the_page;
    lesson (Lesson): axe_finds_nothing_in_the_lesson, axe_finds_nothing_in_an_example_with_a_mistake;
}

const RUN: &str = "
const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22a', 'wcag22aa', 'best-practice'];
return axe.run(document, { runOnly: { type: 'tag', values: tags }, preload: false }).then((result) => {
    const told = ({ id, nodes }) => nodes.map(({ target, any, all, none }) => ({
        rule: id, at: target.flat().join(' '), why: [...any, ...all, ...none].map(({ message }) => message).join('; '),
    }));
    const { violations, incomplete, passes } = result;
    return {
        violations: violations.flatMap(told), undecided: incomplete.flatMap(told), passes: passes.map(({ id }) => id),
    };
})";

/// Something that axe reports about an element.
#[derive(Debug, Deserialize)]
#[allow(dead_code, reason = "all of it is printed when a scenario fails")]
struct Finding {
    rule: String,
    at: String,
    why: String,
}

#[derive(Debug, Deserialize)]
struct Findings {
    violations: Vec<Finding>,
    undecided: Vec<Finding>,
    /// The rules that passed for at least one element.
    passes: Vec<String>,
}

/// What axe leaves to a person: the rule, its message, and why there is no problem.
const DECIDED: [(&str, &str, &str); 8] = [
    (
        "color-contrast",
        "overlapped by another",
        "outlines over the words of the music, or the shelf, which is sticky: `parts` measures both",
    ),
    ("color-contrast", "partially overlaps", "the shelf again, over the music: `parts` measures its words"),
    ("color-contrast", "partially obscured", "scrolled half off the shelf: `parts` measures it"),
    ("color-contrast", "contains an image node", "the outlines of the music: `parts` measures them"),
    (
        "color-contrast",
        "1:1 contrast",
        "a copy of the words under a mistake in the text box: only its underline is visible",
    ),
    ("color-contrast", "too short to determine", "single letters of code: `parts` measures them"),
    ("color-contrast", "only non-text characters", "the arrows beside the neck: `parts` measures them"),
    (
        "label-content-name-mismatch",
        "Unable to determine",
        "an arrow has no words that its name could differ from",
    ),
];

async fn judge(page: &Page, state: &str) {
    let axe = std::fs::read_to_string(target().join("checkers/node_modules/axe-core/axe.min.js"))
        .expect("axe-core: `tests/run` installs it");
    let there: bool = page.js("return 'axe' in window").await;
    if !there {
        page.driver().execute(axe, Vec::new()).await.expect("axe-core starts");
    }
    for width in [1280, 390] {
        page.resize(width).await;
        for scheme in ["light", "dark"] {
            page.media(json!([{ "name": "prefers-color-scheme", "value": scheme }])).await;
            let at = format!("{state}, {width} px, {scheme}");
            let found: Findings = page.js(RUN).await;
            assert!(found.violations.is_empty(), "{at}: {:#?}", found.violations);
            let decided = |one: &&Finding| {
                DECIDED.iter().any(|(rule, says, _)| one.rule == *rule && one.why.contains(says))
            };
            let open: Vec<_> = found.undecided.iter().filter(|one| !decided(one)).collect();
            assert!(open.is_empty(), "{at}: not decided: {open:#?}");
            // Make sure that axe did look at something.
            for rule in ["color-contrast", "target-size", "button-name", "region", "page-has-heading-one"] {
                assert!(found.passes.iter().any(|passed| passed == rule), "{at}: {rule} checked nothing");
            }
        }
    }
}

async fn axe_finds_nothing_on_the_page(page: Page) {
    page.open(1280).await;
    judge(&page, "as it opens").await;
    page.open_with(1280, LINE).await;
    page.click_pad(3, 1).await;
    judge(&page, "after a tap").await;
    page.unfold().await;
    for id in ["way", "new-line", "copy-link"] {
        page.js::<Value>(&format!("one('#{id}').click()")).await;
    }
    page.show_part("lines").await;
    page.until("the lines are listed", "return all('#lines li').length > 1").await;
    page.click("one('#lines [data-delete]')").await;
    // With every section unfolded.
    for part in PARTS {
        page.show_part(part).await;
        judge(&page, part).await;
    }
    page.show_part("figures").await;
    for panel in ["show", "more"] {
        page.open_panel(panel).await;
        judge(&page, panel).await;
    }
}

async fn axe_finds_nothing_beside_a_mistake(page: Page) {
    page.open_with(1280, LINE).await;
    page.go_to_end_of_text().await;
    page.keys("@Cm7 H4 C4:9").await;
    page.until("the problem is shown", "return one('#problems').children.length > 0").await;
    judge(&page, "with a mistake").await;
}

async fn axe_finds_nothing_while_it_plays(page: Page) {
    page.open_with(1280, LINE).await;
    page.unfold().await;
    page.show_part("hands").await;
    page.click("one('[data-play]')").await;
    page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
    judge(&page, "while it plays").await;
}

/// Waits until every example is drawn.
async fn drawn(page: &Page) {
    page.resize(1280).await;
    page.go().await;
    page.js::<Value>("return Promise.all(all('half-bar').map((one) => one.ready()))").await;
}

async fn axe_finds_nothing_in_the_lesson(page: Page) {
    drawn(&page).await;
    judge(&page, "the lesson").await;
    let inside: usize = page
        .js("return axe.run(document, { runOnly: ['button-name'], preload: false })
            .then(({ passes }) => passes.flatMap(({ nodes }) => nodes).filter(({ target }) => Array.isArray(target[0])).length)")
        .await;
    assert!(inside > 20, "axe saw {inside} buttons inside of elements");
    page.click("one('half-bar').shadowRoot.querySelector('.pad[aria-pressed=false]')").await;
    judge(&page, "the lesson after a tap").await;
    page.click("one('half-bar').shadowRoot.querySelector('.play')").await;
    page.until("it sounds", "return one('half-bar').playing").await;
    judge(&page, "the lesson, sounding").await;
}

async fn axe_finds_nothing_in_an_example_with_a_mistake(page: Page) {
    drawn(&page).await;
    page.js::<Value>("all('half-bar')[0].text = 'key: Eb\\nH4 |'; all('half-bar')[2].text += 'X'").await;
    judge(&page, "the lesson with mistakes").await;
}
