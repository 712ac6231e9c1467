//! Undo, redo, repeating, finding figures in written-out rhythms, and pads at every eighth.

use crate::expected::{LINE, count};
use crate::page::Page;

scenarios! {
    served (Served): undo_and_redo_go_through_every_change, a_window_repeats_to_the_end, written_out_figures_are_found;
}

/// Whether undo, redo and repeat are offered.
async fn can(page: &Page) -> [bool; 3] {
    page.js("return ['undo', 'redo', 'repeat'].map((id) => !one(`#${id}`).disabled)").await
}

pub(crate) async fn undo_and_redo_go_through_every_change(page: Page) {
    page.open_with(1280, LINE).await;
    let mut states = vec![(page.text().await, page.music().await)];
    page.click_pad(3, 1).await;
    states.push((page.text().await, page.music().await));
    page.click_pad(4, 1).await;
    states.push((page.text().await, page.music().await));
    page.go_to_end_of_text().await;
    page.keys("C4:4 |").await;
    page.until("the bar is drawn", "return pads().length === 18").await;
    states.push((page.text().await, page.music().await));
    page.click_pad(3, 1).await;
    states.push((page.text().await, page.music().await));
    for (step, state) in states.iter().enumerate().rev().skip(1) {
        page.click("one('#undo')").await;
        assert_eq!((page.text().await, page.music().await), *state, "undone to step {step}");
    }
    for (step, state) in states.iter().enumerate().skip(1) {
        page.click("one('#redo')").await;
        assert_eq!((page.text().await, page.music().await), *state, "redone to step {step}");
    }
    assert_eq!(can(&page).await[..2], [true, false]);
    // A change after an undo leaves nothing to redo.
    page.click("one('#undo')").await;
    page.click_pad(5, 1).await;
    assert_eq!(can(&page).await[..2], [true, false]);
    // The last undo is from the line that was pasted to the one that the page came with.
    for _ in 0..states.len() {
        page.click("one('#undo')").await;
    }
    assert_eq!(can(&page).await[..2], [false, true]);
}

async fn a_window_repeats_to_the_end(page: Page) {
    let line = LINE.replace("recast: split-last at 1.1 bracket, 2.3 tied\n", "");
    page.open_with(1280, &line).await;
    assert!(!can(&page).await[2], "there is nothing to repeat yet");
    page.click_pad(6, 3).await;
    page.click_in_panel("more", "one('#repeat')").await;
    // Up to the last bar, which can't be recast.
    assert_eq!(page.recast_rows().await, ["recast: split-last at 6.3 to 8.1 bracket"]);
    let status = page.status().await;
    assert!(status.contains("2 times") && status.contains("bar 8 beat 1"), "{status}");
    assert_eq!(page.music().await.counts, count(&page.text().await));
    page.click("one('#undo')").await;
    assert_eq!(page.recast_rows().await, ["recast: split-last at 6.3 bracket"]);
}

async fn written_out_figures_are_found(page: Page) {
    let written = "@Fm7 F3:2/3 Ab:2/3 C:1/3 Eb:1/3  G F Eb C | D F B Ab  F#:1/3 E:1/3 D:2/3 B:2/3 |\n";
    page.open(1280).await;
    page.paste(written).await;
    page.until("the text is correct", "return text().ariaInvalid === 'false'").await;
    let before = page.music().await;
    page.click_in_panel("more", "one('#gather')").await;
    let rows = page.recast_rows().await;
    assert_eq!(rows, ["recast: split-last at 1.1 bracket", "recast: split-first at 2.3 bracket"]);
    assert_eq!(page.music().await.counts, before.counts);
    assert_eq!(page.music().await.counts, count(&page.text().await));
    // A window that was found can be restored like any other.
    page.click_pad(1, 1).await;
    assert_eq!(page.recast_rows().await.len(), 1);
    page.click("one('#undo')").await;
    page.click("one('#undo')").await;
    assert_eq!((page.text().await.as_str(), page.music().await), (written, before));
}
