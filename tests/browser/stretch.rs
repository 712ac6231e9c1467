//! Repeating and shifting a passage, and windows with a different number of notes.

use crate::page::Page;

scenarios! {
    served (Served):
        a_figure_repeats_up_to_a_place, a_shift_says_first_what_it_pushes_out, other_numbers_of_notes_are_fitted;
}

const LINE: &str = "meter: 4/4\n\nC4 D E F  G F E D | C D E F  G F E D | C D E F  G F E D | C:2 r:2 |\n";

/// Chooses the passage from one place to another.
async fn choose(page: &Page, from: (u32, &str), to: (u32, &str)) {
    if !page.js::<bool>("return one('#stretch').open").await {
        page.open_part("make").await;
        page.click("one('#stretch summary')").await;
    }
    for (name, (bar, beat)) in [("from", from), ("to", to)] {
        let script = format!(
            "for (const [id, value] of [['{name}-bar', {bar}], ['{name}-beat', '{beat}']]) {{
                one('#' + id).value = value;
                one('#' + id).dispatchEvent(new Event('input', {{ bubbles: true }}));
            }}"
        );
        page.js::<serde_json::Value>(&script).await;
    }
}

async fn says(page: &Page) -> Vec<String> {
    page.js("return one('#stretch-says').textContent.split('\\n')").await
}

async fn a_figure_repeats_up_to_a_place(page: Page) {
    page.open_with(1280, LINE).await;
    page.click("one('input[value=accent-3]').closest('label')").await;
    page.click("one('input[value=grouped]').closest('label')").await;
    choose(&page, (1, "1"), (3, "1")).await;
    let told = "5 times; the rest, 1/2 of a quarter note from bar 2, the and of 4 on, stays plain";
    assert_eq!(says(&page).await[0], format!("Repeated: {told}."));
    page.click("one('#tile')").await;
    assert_eq!(page.recast_rows().await, ["recast: accent-3 at 1.1 to 2.9/2 grouped"]);
    assert_eq!(page.status().await, format!("Repeated {told}."));
    let pressed: usize = page.js("return pads().filter((one) => one.ariaPressed === 'true').length").await;
    assert_eq!(pressed, 5);
    // It would overlap with what is there already.
    assert!(says(&page).await[0].contains("overlaps another figure"), "{:?}", says(&page).await);
    choose(&page, (3, "1"), (1, "1")).await;
    assert_eq!(says(&page).await, ["the selection ends before it starts"]);
    choose(&page, (9, "1"), (9, "3")).await;
    page.click("one('#later')").await;
    assert!(page.status().await.contains("ends before"), "{}", page.status().await);
}

async fn a_shift_says_first_what_it_pushes_out(page: Page) {
    page.open_with(1280, LINE).await;
    page.click_pad(1, 1).await;
    choose(&page, (1, "1"), (1, "3")).await;
    let before = (page.text().await, page.music().await);
    let told = says(&page).await;
    assert!(
        told[2].starts_with("Later: pushes out G4 at bar 1 beat 3, the figure now at bar 1, the and of 1"),
        "{told:?}"
    );
    assert_eq!((page.text().await, page.music().await), before, "nothing has moved yet");
    page.click("one('#later')").await;
    assert_eq!(
        page.text().await,
        "meter: 4/4\nrecast: split-last at 1.3/2 plain\n\nr C4 D E  F F E D | C D E F  G F E D |\n\
         C D E F  G F E D | C:2  r:2 |\n"
    );
    page.click("one('#undo')").await;
    assert_eq!((page.text().await, page.music().await), before);
    // A passage can't be cut where a note is held.
    choose(&page, (4, "2"), (4, "3")).await;
    page.click("one('#earlier')").await;
    assert_eq!(page.status().await, "Bar 4 beat 2: a note is held over into beat 2.");
    assert_eq!((page.text().await, page.music().await), before);
}

async fn other_numbers_of_notes_are_fitted(page: Page) {
    let line = "C4 D E:1/4 F:1/4 G  A:1 G F |\n";
    page.open_with(1280, line).await;
    page.click_pad(1, 1).await;
    assert!(
        page.status().await.contains("are 5 notes here and this figure takes 4"),
        "{}",
        page.status().await
    );
    for (fit, pad, said) in
        [("keep-last", 1, "Left out: C4"), ("repeat-last", 3, "quarter-note triplet, last note split")]
    {
        page.js::<serde_json::Value>(&format!(
            "one('#fit').value = '{fit}'; one('#fit').dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ))
        .await;
        page.click_pad(1, pad).await;
        assert!(page.is_pressed(1, pad).await);
        assert!(page.status().await.contains(said), "{}", page.status().await);
    }
    assert_eq!(
        page.recast_rows().await,
        ["recast: split-last at 1.1 bracket keep-last, 1.3 bracket repeat-last"]
    );
    page.click_pad(1, 3).await;
    page.click_pad(1, 1).await;
    assert_eq!(page.text().await, line);
}
