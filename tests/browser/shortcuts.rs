//! The page's shortcuts, each of which can be switched off (WCAG 2.2, 2.1.4), and the examples in Help.

use thirtyfour::Key;

use crate::expected::LINE;
use crate::page::Page;
use halfbar_core::recast::Figure;

scenarios! {
    served (Served):
        keys_do_what_help_says, letters_are_taps_only_while_it_plays, a_key_is_switched_off_and_stays_off, an_example_is_tried_in_a_new_line;
}

async fn part(page: &Page) -> String {
    page.js("return one('#page').dataset.part").await
}

async fn chosen(page: &Page) -> Vec<String> {
    page.js("return all('#figures input:checked, #spellings input:checked').map((one) => one.value)").await
}

pub(crate) async fn keys_do_what_help_says(page: Page) {
    page.open_with(1280, LINE).await;
    // In the text, letters are just typed.
    page.go_to_end_of_text().await;
    page.keys("# fn?").await;
    assert!(page.text().await.ends_with("# fn?") && part(&page).await == "figures");
    page.leave_fields().await;
    page.keys("2").await;
    page.keys("t").await;
    assert_eq!(chosen(&page).await, [Figure::all()[1].name(), "tied"]);
    page.keys("1").await;
    page.keys("b").await;
    assert_eq!(chosen(&page).await, ["split-last", "bracket"]);
    // Arrows move between half-bars, Enter recasts, and undo works from there.
    page.keys(Key::Right).await;
    page.keys(Key::Right).await;
    page.keys(Key::Enter).await;
    assert!(page.is_pressed(1, 3).await);
    let rows = page.recast_rows().await;
    // Going through several figures for one half-bar is a single step.
    for key in ["2", "3", "4"] {
        page.keys(key).await;
    }
    assert_ne!(page.recast_rows().await, rows);
    page.chord(Key::Control, "z").await;
    assert_eq!(page.recast_rows().await, rows);
    // Space plays from a half-bar too.
    page.keys(Key::Space).await;
    page.until("it plays", "return one('[data-play]').textContent === 'Stop'").await;
    assert!(page.is_pressed(1, 3).await);
    page.keys(Key::Space).await;
    page.until("it has stopped", "return one('[data-play]').textContent === 'Play'").await;
    assert!(page.is_pressed(1, 3).await);
    // F moves on to the neck, and from there closes both.
    for (key, opened) in [("f", "hands"), ("f", "hands"), ("f", "figures"), ("?", "help"), ("?", "figures")] {
        page.keys(key).await;
        assert_eq!(part(&page).await, opened, "{key}");
    }
    page.keys("n").await;
    assert!(page.text().await.starts_with("title: A new line\n"), "{}", page.text().await);
    page.leave_fields().await;
    page.keys("e").await;
    assert_eq!(page.focus().await, "text");
}

async fn letters_are_taps_only_while_it_plays(page: Page) {
    page.open_with(1280, LINE).await;
    page.open_part("practice").await;
    page.click("one('#timing summary')").await;
    page.click("one('[data-play]')").await;
    page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
    page.keys("f").await;
    assert_eq!(part(&page).await, "practice");
    page.click("one('[data-play]')").await;
    page.until("it has stopped", "return one('[data-play]').textContent === 'Play'").await;
    page.keys("f").await;
    assert_eq!(part(&page).await, "hands");
}

async fn a_key_is_switched_off_and_stays_off(page: Page) {
    page.open(1280).await;
    page.leave_fields().await;
    page.keys("?").await;
    let boxed = "all('#keys label').find((key) => key.querySelector('kbd').textContent === 'F')";
    page.click(boxed).await;
    page.keys("f").await;
    assert_eq!(part(&page).await, "help");
    page.open(1280).await;
    page.keys("f").await;
    assert_eq!(part(&page).await, "figures");
    // The others still work, and it can be switched on again.
    page.keys("?").await;
    assert_eq!(part(&page).await, "help");
    page.click(boxed).await;
    page.keys("f").await;
    assert_eq!(part(&page).await, "hands");
}

async fn an_example_is_tried_in_a_new_line(page: Page) {
    page.open_with(1280, LINE).await;
    page.leave_fields().await;
    page.keys("?").await;
    let examples: Vec<String> =
        page.js("return all('#format pre').map((example) => example.textContent)").await;
    assert!(examples.len() >= 4, "{examples:?}");
    for (index, example) in examples.iter().enumerate() {
        page.open_part("help").await;
        page.click(&format!("all('#format button')[{index}]")).await;
        assert_eq!(page.text().await.trim_end(), example.trim_end());
        assert_eq!(page.js::<String>("return text().ariaInvalid").await, "false", "{example}");
        assert!(page.status().await.starts_with("The example is a new line"), "{}", page.status().await);
    }
    // Nothing was overwritten.
    page.open_part("lines").await;
    page.until("all are kept", &format!("return all('#lines li').length === {}", examples.len() + 1)).await;
    page.click("one('#lines [data-open]:enabled')").await;
    assert_eq!(page.text().await, LINE);
}
