//! Typing in the text box: mistakes are reported, and the last drawing stays.

use serde_json::Value;
use thirtyfour::Key;

use crate::expected::{LINE, count};
use crate::page::Page;

scenarios! {
    served (Served):
        a_mistake_keeps_the_drawing_until_it_is_fixed, a_problem_leads_to_its_place, an_open_bar_is_drawn_as_it_grows,
        the_bar_with_the_mistake_is_marked,
        the_place_of_a_problem_is_scrolled_to;
}

pub(crate) async fn a_mistake_keeps_the_drawing_until_it_is_fixed(page: Page) {
    page.open_with(1280, LINE).await;
    let before = page.music().await;
    assert_eq!(page.problems().await.len(), 0);

    page.go_to_end_of_text().await;
    page.keys("C4:3 ").await;
    let growing = page.music().await;
    assert_eq!(growing.counts.notes, before.counts.notes + 1);
    page.keys("H4").await;
    page.until("a problem is shown", "return one('#problems button') !== null").await;
    let text = page.text().await;
    assert_eq!(text, format!("{LINE}C4:3 H4"));
    let problems = page.problems().await;
    let row = LINE.lines().count() + 1;
    let wanted = format!("Line {row}: `H4` is not a note here: write `B4`");
    assert!(problems.iter().any(|problem| problem.starts_with(&wanted)), "{problems:#?}");
    let invalid = "return text().getAttribute('aria-invalid')";
    assert_eq!(page.js::<String>(invalid).await, "true");
    // The problems are part of the text box's description, so that they are read out.
    let described: bool =
        page.js("return text().getAttribute('aria-describedby').split(' ').includes('problems')").await;
    assert!(described);
    assert_eq!(page.js::<Vec<String>>(MARKED).await, ["H4"]);
    page.until("the drawing is dimmed", "return one('#sheet').classList.contains('stale')").await;
    let opacity: f64 = page.js("return Number(getComputedStyle(one('.row')).opacity)").await;
    assert!(opacity < 1.0, "an outdated drawing looks like any other");
    assert_eq!(page.music().await, growing);

    // Because of the mistake, taps are refused with a reason and change nothing.
    page.click_pad(3, 1).await;
    assert!(page.status().await.contains("mistake"), "{}", page.status().await);
    assert!(!page.is_pressed(3, 1).await);
    assert_eq!((page.text().await, page.music().await), (text, growing));

    // Once it is fixed, it is drawn immediately.
    page.go_to_end_of_text().await;
    page.keys(Key::Backspace + Key::Backspace).await;
    page.keys("F3 A |").await;
    page.until("the text is correct", &format!("{invalid} === 'false'")).await;
    assert_eq!(page.problems().await.len(), 0);
    assert!(!page.js::<bool>("return one('#sheet').classList.contains('stale')").await);
    let after = page.music().await;
    assert_eq!(after.counts.notes, before.counts.notes + 3);
    assert_eq!(after.counts, count(&page.text().await));
    let pads: usize = page.js("return pads().length").await;
    assert_eq!(pads, 18);
    // The message disappears with the mistake.
    assert!(!page.status().await.contains("mistake"), "still says `{}`", page.status().await);
}

/// The underlined words in the text box.
const MARKED: &str = "return all('#typed mark').filter(shown).map((mark) => mark.textContent)";

async fn a_problem_leads_to_its_place(page: Page) {
    page.open(1280).await;
    // Before the mistake, there are letters of two and four bytes, some of two UTF-16 units, and a tab.
    let text =
        "title: Ümläut 🎸 in the title\n# 🎸🎸 a remark\n\nC4 D E F  G F E D |\n\tC4 D\tE H4  G F E D |\n";
    page.paste(text).await;
    page.until("a problem is shown", "return one('#problems button') !== null").await;
    assert_eq!(page.js::<Vec<String>>(MARKED).await, ["H4"]);
    page.click("problem('`H4`')").await;
    let (focus, selected): (String, String) = page
        .js("const { selectionStart, selectionEnd, value } = text();
            return [document.activeElement.id, value.slice(selectionStart, selectionEnd)]")
        .await;
    assert_eq!(focus, "text");
    assert!(!selected.is_empty() && "H4".starts_with(&selected), "the selection is {selected:?}");
    // Typing there fixes it.
    page.keys(Key::Delete).await;
    if selected.len() == 1 {
        page.keys(Key::Delete).await;
    }
    page.keys("F").await;
    page.until("the text is correct", "return text().getAttribute('aria-invalid') === 'false'").await;
    assert_eq!(page.text().await, text.replace("H4", "F"));
    assert_eq!(page.music().await.counts, count("C4 D E F  G F E D |\nC4 D E F  G F E D |"));
}

async fn the_place_of_a_problem_is_scrolled_to(page: Page) {
    page.open(1280).await;
    let bars = "C4 D E F  G F E D |\n";
    page.paste(&format!("{}C4 D E H4  G F E D |\n{}", bars.repeat(40), bars.repeat(40))).await;
    page.until("a problem is shown", "return one('#problems button') !== null").await;
    page.click("problem('`H4`')").await;
    // 81 lines with the mistake in the middle, so neither end of the text is the right place.
    let seen: Value = page
        .js("const { scrollTop, clientHeight, scrollHeight, value, selectionStart } = text();
            const row = value.slice(0, selectionStart).split('\\n').length - 0.5;
            const y = row / value.split('\\n').length * scrollHeight;
            return { row, scrollTop, clientHeight, y, seen: y > scrollTop && y < scrollTop + clientHeight }")
        .await;
    assert_eq!(seen["seen"], true, "{seen}");
}

async fn an_open_bar_is_drawn_as_it_grows(page: Page) {
    page.open_with(1280, "C4 D E F  G F E D |\n").await;
    page.go_to_end_of_text().await;
    for (typed, notes) in [("C4 ", 9), ("D ", 10), ("E:1 ", 11)] {
        page.keys(typed).await;
        assert_eq!(page.music().await.counts.notes, notes, "{typed}");
        assert_eq!(page.js::<String>("return text().ariaInvalid").await, "false", "{typed}");
        assert!(!page.js::<bool>("return one('#sheet').classList.contains('stale')").await, "{typed}");
        // It says what is missing, but not as a mistake.
        let told: Vec<String> =
            page.js("return all('#problems .problem.remark').map((one) => one.innerText)").await;
        assert!(told.len() == 1 && told[0].starts_with("Line 2: "), "{told:?}");
    }
    assert_eq!(page.js::<usize>("return all('#sheet .mark.wrong').filter(shown).length").await, 0);
    // Once it is closed, being too short is a mistake.
    page.keys("|").await;
    assert_eq!(page.js::<String>("return text().ariaInvalid").await, "true");
}

pub(crate) async fn the_bar_with_the_mistake_is_marked(page: Page) {
    let line = "C4 D E F  G F E D |\nC4 D E F  G F E D |\nC4:4 |\n";
    page.open_with(1280, line).await;
    let marked = "const marks = all('#sheet .mark.wrong').filter(shown).map(box);
        return [1, 2, 3].filter((bar) => {
            const at = box(pad(bar, 1));
            return marks.some((mark) => mark.left < (at.left + at.right) / 2 && (at.left + at.right) / 2 < mark.right);
        })";
    assert_eq!(page.js::<Vec<u32>>(marked).await, [0; 0]);
    page.paste(&line.replacen("|\nC4 D E F", "|\nC4 D H4 F", 1)).await;
    page.until("a problem is shown", "return one('#problems button') !== null").await;
    assert_eq!(page.js::<Vec<u32>>(marked).await, [2]);
    // The word is underlined in the text, even after scrolling.
    assert_eq!(page.js::<Vec<String>>(MARKED).await, ["H4"]);
    let same_width = "const [overlay] = document.querySelectorAll('#typed .overlay'); return overlay.clientWidth === text().clientWidth";
    assert!(page.js::<bool>(same_width).await);
    let long = format!("{}{}", line.repeat(12), "C4 H4 |\n");
    page.paste(&long).await;
    page.until("the last row is marked", "return one('#typed mark').textContent === 'C4'").await;
    page.js::<Value>("text().scrollTop = 1e5").await;
    page.frames().await;
    let in_the_box = "const [mark, frame] = [box(one('#typed mark')), box(text())];
        return text().scrollTop > 0 && mark.top > frame.top && mark.bottom <= frame.bottom";
    assert!(page.js::<bool>(in_the_box).await);
    assert!(page.js::<bool>(same_width).await, "beside a scroll bar");
    page.paste(line).await;
    page.until("the text is correct", "return text().ariaInvalid === 'false'").await;
    assert_eq!(page.js::<Vec<u32>>(marked).await, [0; 0]);
}
