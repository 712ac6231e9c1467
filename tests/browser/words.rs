//! American and British names of note values: on the page, in what is opened later, and in the element.

use serde_json::Value;

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served): the_page_uses_british_names;
    blank (Blank): an_element_uses_british_names;
}

/// A line whose own text contains names of note values too.
fn line() -> String {
    let named = "title: Eighth notes, week 8\nfigure: eighth = 2/3 2/3 1/3 1/3\nrecast: eighth at 3.1";
    LINE.replacen("title: Week 12, a lift in the middle", named, 1)
        .replace("feel: swing auto", "feel: straight")
}

/// Every word on the page, seen or heard, except for the user's own.
const SAID: &str = "
const own = 'svg, textarea, code, [translate=no]';
const said = (root) => {
    const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT), texts = [];
    while (walker.nextNode()) if (!walker.currentNode.parentElement.closest(own)) texts.push(walker.currentNode.data);
    for (const name of ['aria-label', 'title'])
        for (const one of root.querySelectorAll(`[${name}]`)) if (!one.closest(own)) texts.push(one.getAttribute(name));
    return texts.map((text) => text.replace(/`[^`]*`|\u{201C}[^\u{201D}]*\u{201D}/g, ''));
};
const about = (root, names) => said(root).filter((text) => names.test(text));
const american = /(?<![-\\w])(eighth|sixteenth|quarter note|quarter-note|half note|half rest)s?(?![-\\w])/i;
const british = /quaver|crotchet|minim/i;
";

impl Page {
    async fn told<T: serde::de::DeserializeOwned>(&self, script: &str) -> T {
        self.js(&format!("{SAID}{script}")).await
    }

    async fn call_notes(&self, words: &str) {
        let script = format!(
            "one('#lengths').value = '{words}'; one('#lengths').dispatchEvent(new Event('change', {{ bubbles: true }}))"
        );
        self.js::<Value>(&script).await;
        self.frames().await;
    }
}

async fn the_page_uses_british_names(page: Page) {
    page.open_with(1280, LINE).await;
    page.paste(&line()).await;
    page.open_part("practice").await;
    page.until("practice is ready", "return one('#tempo').value !== ''").await;
    page.click("one('#ladder summary')").await;
    page.until("the steps are drawn", "return all('#steps li').length > 3").await;
    page.click("one('#apart summary')").await;
    page.open_part("make").await;
    page.click("one('#stretch summary')").await;
    let seen = "return about(one('#page'), american)";
    let before: Vec<String> = page.told(seen).await;
    assert!(page.told::<Vec<String>>("return about(one('#page'), british)").await.is_empty());

    page.call_notes("uk").await;
    assert_eq!(page.told::<Vec<String>>(seen).await, Vec::<String>::new());
    for (place, says) in [
        (
            "label(one('#sheet'))",
            "\u{201C}Eighth notes, week 8\u{201D}: 8 bars in 4/4, E flat major, 132 crotchets per minute, straight quavers.",
        ),
        ("one('#earlier').textContent", "Displace a quaver earlier"),
        ("one('#steps p').textContent", "Play crotchets and tap your foot."),
        ("label(pad(1, 3))", "bar 1 beat 3: plain quavers"),
        ("label(pad(3, 1))", "bar 3 beat 1: \u{201C}eighth\u{201D} (one bracket)"),
        ("one('#figures label:last-child').innerText.trim()", "eighth"),
        ("one('#figures label:nth-child(7)').innerText.trim()", "rest + four semiquavers"),
    ] {
        assert_eq!(page.js::<String>(&format!("return {place}")).await, says, "{place}");
    }
    let bar: String = page.js("return one('.spoken li').textContent").await;
    assert!(bar.starts_with("Bar 1, F minor 7: F 3, beat 1, crotchet in a triplet, "), "{bar}");
    // Also in what comes later: after a tap, and for a mistake, where the words of the text stay.
    page.click_pad(4, 3).await;
    page.frames().await;
    assert_eq!(page.told::<Vec<String>>(seen).await, Vec::<String>::new());
    assert!(page.text().await.contains("title: Eighth notes, week 8"));
    page.go_to_end_of_text().await;
    page.keys("eighths C4:x").await;
    page.until("the message is shown", "return one('#problems').children.length > 1").await;
    page.frames().await;
    let problems = page.problems().await.join("\n");
    assert!(problems.contains("`eighths`") && problems.contains("write crotchets above 0"), "{problems}");
    page.js::<Value>("one('#undo').click(); one('#undo').click()").await;

    // Switched back, everything is as it was written.
    page.open_with(1280, LINE).await;
    page.paste(&line()).await;
    assert_eq!(page.js::<String>("return one('#lengths').value").await, "uk", "the setting is not kept");
    assert_eq!(page.told::<Vec<String>>(seen).await, Vec::<String>::new());
    page.open_part("practice").await;
    page.until("practice is ready", "return one('#tempo').value !== ''").await;
    page.click("one('#ladder summary')").await;
    page.until("the steps are drawn", "return all('#steps li').length > 3").await;
    page.click("one('#apart summary')").await;
    page.open_part("make").await;
    page.click("one('#stretch summary')").await;
    page.call_notes("us").await;
    page.until("the steps are drawn", "return one('#steps p').textContent.includes('quarter')").await;
    let after: Vec<String> = page.told(seen).await;
    assert!(before.len() > 30);
    assert_eq!(after, before);
}

async fn an_element_uses_british_names(page: Page) {
    let text = "title: Eighth notes\nfeel: straight\nrecast: split-last at 1.1\nC4 D E F G A B C |";
    let markup = format!(
        "<half-bar controls=\"shelf\" words=\"uk\"><pre>{text}</pre></half-bar><half-bar controls=\"shelf\"><pre>{text}</pre></half-bar>"
    );
    page.put_elements(&markup).await;
    page.load_script().await;
    page.until("both are drawn", "return all('half-bar').every((one) => one.drawn)").await;
    page.frames().await;
    let inside = |n: usize, names: &str| {
        format!("return about(all('half-bar')[{n}].shadowRoot.querySelector('.example'), {names})")
    };
    assert!(page.told::<Vec<String>>(&inside(0, "american")).await.is_empty());
    assert!(page.told::<Vec<String>>(&inside(0, "british")).await.len() > 5);
    assert!(page.told::<Vec<String>>(&inside(1, "british")).await.is_empty());
    let label = "return label(all('half-bar')[0].shadowRoot.querySelector('.music'))";
    assert_eq!(
        page.js::<String>(label).await,
        "\u{201C}Eighth notes\u{201D}: 1 bar in 4/4, C major, 120 crotchets per minute, straight quavers."
    );
    page.js::<Value>("all('half-bar')[0].words = null; all('half-bar')[1].words = 'uk'").await;
    page.frames().await;
    assert!(page.told::<Vec<String>>(&inside(0, "british")).await.is_empty());
    assert!(page.told::<Vec<String>>(&inside(1, "american")).await.is_empty());
    page.js::<Value>("all('half-bar')[0].setAttribute('words', 'fr')").await;
    page.until(
        "the mistake is reported",
        "return window.heard.some((one) => JSON.stringify(one).includes('use us or uk'))",
    )
    .await;
}
