//! Pasted texts that nobody should write.

use serde_json::Value;

use crate::expected::{LINE, count};
use crate::page::Page;

scenarios! {
    served (Served):
        an_empty_text_keeps_the_drawing, markup_stays_text, control_characters_do_not_reverse_messages,
        a_thousand_bars_are_drawn, a_megabyte_of_text_is_handled;
}

async fn an_empty_text_keeps_the_drawing(page: Page) {
    page.open_with(1280, LINE).await;
    let before = page.music().await;
    for nothing in ["", " \n\n\t\n", "# a remark\n", "title: nothing else\n", "|"] {
        page.paste(nothing).await;
        page.until("a problem is shown", "return one('#problems button') !== null").await;
        assert_eq!(page.music().await, before, "{nothing:?}");
        assert_eq!(page.text().await, nothing);
        page.click("one('#problems button')").await;
        assert_eq!(page.focus().await, "text", "{nothing:?}");
    }
    page.paste(LINE).await;
    page.until("the problems are gone", "return one('#problems').children.length === 0").await;
    assert_eq!(page.music().await, before);
}

async fn markup_stays_text(page: Page) {
    page.open_with(1280, LINE).await;
    let elements = "return [...new Set(all('*').map((element) => element.localName))].sort()";
    let before: Vec<String> = page.js(elements).await;
    let markup = "<img src=x onerror=alert(1)>";
    let attribute = "\"><script>alert(1)</script><a onclick='alert(1)'";
    for (text, right) in [
        (LINE.replace("Week 12", &format!("{markup} & &lt;b&gt; {attribute}")), true),
        (LINE.replace("@Fm7", "@F<b>7</b>"), false),
        (LINE.replace("key: Eb", &format!("key: {markup}")), false),
        (LINE.replace("meter:", "<img/src/onerror=alert(1)>:"), false),
        (LINE.replace("G F Eb", &format!("G {markup} Eb")), false),
        (LINE.replace("split-last", markup), false),
        (LINE.replace("1.1 bracket", &format!("1.1 {attribute}")), false),
    ] {
        page.paste(&text).await;
        let invalid = page.js::<String>("return text().getAttribute('aria-invalid')").await == "true";
        assert_eq!(invalid, !right, "{text}: {:?}", page.problems().await);
        // On paper too, and in the names of the pads.
        page.js::<Value>("dispatchEvent(new Event('beforeprint'))").await;
        if right {
            page.click_pad(3, 1).await;
            page.click_pad(3, 1).await;
        }
        let mut after: Vec<String> = page.js(elements).await;
        // A letter without an outline is written as SVG text, the line is listed under its title, and the mistake is marked.
        after.retain(|name| !before.contains(name) && !["text", "li", "mark"].contains(&name.as_str()));
        assert!(after.is_empty(), "{text}\nmakes elements: {after:?}");
        if right {
            let label: String = page.js("return label(one('#sheet'))").await;
            assert!(label.starts_with(&format!("\u{201C}{markup} & &lt;b&gt;")), "{label}");
        } else {
            let marked: String = page.js("return one('#typed mark').textContent").await;
            let said = page.problems().await.join("\n") + marked.as_str();
            assert!(said.contains('<'), "the mistake is not shown as it was written: {said}");
        }
    }
}

async fn control_characters_do_not_reverse_messages(page: Page) {
    page.open_with(1280, LINE).await;
    // Right-to-left override, embedding and isolate, none of them closed, and right-to-left letters.
    for turned in
        ["\u{202E}abc", "\u{202B}abc", "\u{2067}abc", "\u{05D0}\u{05D1}", "\u{0001}\u{009F}\u{FEFF}"]
    {
        let text = LINE.replace("G F Eb C |", &format!("G F Eb {turned} |"));
        page.paste(&text).await;
        page.until("a problem is shown", "return one('#problems button') !== null").await;
        // The words after the quoted ones still run from left to right.
        let ends: Option<[f64; 2]> = page
            .js("const words = problem('is not a note')?.firstChild;
                if (!words) return null;
                const start = words.data.search(/note starts/);
                const left = (index) => {
                    const range = document.createRange();
                    range.setStart(words, index);
                    range.setEnd(words, index + 1);
                    return range.getBoundingClientRect().left;
                };
                return [left(start), left(start + 5)]")
            .await;
        let said = page.problems().await;
        let [first, second] = ends.unwrap_or_else(|| panic!("{turned:?} is reported differently: {said:?}"));
        assert!(second > first, "{turned:?} reverses its message: {said:?}");
    }
    // They are not a mistake in the title, but what is beside it must not be reversed.
    let title = "\u{202E}desrever \u{2067}\u{202A}";
    page.paste(&LINE.replace("Week 12", title)).await;
    page.until("the text is correct", "return text().getAttribute('aria-invalid') === 'false'").await;
    page.click_pad(3, 1).await;
    let status = page.status().await;
    assert!(
        status.starts_with("Bar 3 beat 1: quarter-note triplet, last note split (one bracket)"),
        "{status}"
    );
}

/// A line far longer than a lesson: perhaps slow, but complete.
async fn a_thousand_bars_are_drawn(page: Page) {
    page.open(1280).await;
    let text = "C4 D E F  G F E D |\n".repeat(1_000);
    put(&page, &text).await;
    let before = page.music().await;
    assert_eq!(before.counts, count(&text));
    page.click_pad(900, 1).await;
    assert!(page.is_pressed(900, 1).await);
    assert_eq!(page.recast_rows().await, ["recast: split-last at 900.1 bracket"]);
    page.click_pad(900, 1).await;
    assert_eq!(page.music().await, before);
    assert_eq!(page.text().await, text);
}

async fn a_megabyte_of_text_is_handled(page: Page) {
    page.open_with(1280, LINE).await;
    let before = page.music().await;
    let bar = "H4 D E F  G F E D |\n";
    for (kind, text, problem) in [
        ("mistakes", bar.repeat(1_000_000 / bar.len()), "`H4`"),
        ("one word", "H".repeat(1_000_000), "Line 1: "),
        ("too much", LINE.repeat(8_000), "bytes long"),
    ] {
        put(&page, &text).await;
        let problems = page.problems().await;
        assert!(problems.len() < 10 && problems[0].contains(problem), "{kind}: {problems:?}");
        assert_eq!(page.music().await, before, "{kind}");
        let long: usize = page.js("return one('#problems').innerText.length").await;
        assert!(long < 5_000, "{kind}: the problems are {long} characters long");
        let wide: bool = page
            .js("return document.scrollingElement.scrollWidth <= document.scrollingElement.clientWidth")
            .await;
        assert!(wide, "{kind}: the page overflows");
    }
    put(&page, LINE).await;
    assert_eq!(page.problems().await.len(), 0);
    assert_eq!(page.music().await, before);
}

/// Enters a text that is too long for the driver to type, and prints how long the page takes.
async fn put(page: &Page, text: &str) {
    let script = "text().value = arguments[0];
        const start = performance.now();
        text().dispatchEvent(new Event('input', { bubbles: true }));
        return performance.now() - start";
    let took: f64 = page.js_with(script, &[text.into()]).await;
    println!("{} bytes: {took:.0} ms", text.len());
}
