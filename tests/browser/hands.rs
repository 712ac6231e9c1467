//! On the neck: style and picking, other ways, the diagram, and notes entered on it.

use crate::page::Page;

scenarios! {
    served (Served):
        what_the_hands_like_goes_into_the_text, another_way_is_looked_at_and_kept, the_neck_enters_notes,
        a_note_brings_its_bar, the_neck_is_shown_as_asked;
}

const LINE: &str = "meter: 4/4\n\nEb4 D C Bb3 G Ab Bb C | D4 F A C  B G E C | C4:4 |\n";

async fn open(page: &Page, width: u32, text: &str) {
    page.open_with(width, text).await;
    page.open_part("hands").await;
    page.until("the neck is drawn", "return one('#fretboard svg') !== null").await;
}

/// Chooses an option as a reader does.
async fn choose(page: &Page, id: &str, value: &str) {
    let script = format!(
        "one('#{id}').value = '{value}'; one('#{id}').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    );
    page.js::<serde_json::Value>(&script).await;
}

async fn tab(page: &Page) -> String {
    page.js("return [...document.querySelectorAll('#sheet .fret')].map((one) => one.outerHTML).join()").await
}

async fn what_the_hands_like_goes_into_the_text(page: Page) {
    open(&page, 1280, LINE).await;
    let before = tab(&page).await;
    choose(&page, "style", "along").await;
    assert!(page.text().await.contains("style: along\n"), "{}", page.text().await);
    assert_ne!(tab(&page).await, before);
    choose(&page, "strokes", "economy").await;
    choose(&page, "first", "up").await;
    assert!(page.text().await.contains("picking: economy, first up\n"), "{}", page.text().await);
    page.click("one('#slurs')").await;
    assert!(page.text().await.contains("picking: economy, slurs, first up\n"), "{}", page.text().await);
    // What goes without saying is not said.
    choose(&page, "style", "position").await;
    assert!(!page.text().await.contains("style:"), "{}", page.text().await);
    choose(&page, "strokes", "alternate").await;
    choose(&page, "first", "").await;
    page.click("one('#slurs')").await;
    assert!(!page.text().await.contains("picking:"), "{}", page.text().await);
    // A text that says otherwise is shown as it says.
    open(&page, 390, &format!("style: one-per-string\npicking: sweep\n{LINE}")).await;
    let chosen: [String; 2] = page.js("return ['style', 'strokes'].map((id) => one('#' + id).value)").await;
    assert_eq!(chosen, ["one-per-string", "sweep"]);
}

async fn another_way_is_looked_at_and_kept(page: Page) {
    open(&page, 1280, LINE).await;
    let (before, text) = (tab(&page).await, page.text().await);
    assert!(page.js::<bool>("return one('#keep').disabled").await);
    page.click("one('#way')").await;
    assert!(page.status().await.starts_with("Fingering 2 of"), "{}", page.status().await);
    let other = tab(&page).await;
    assert_ne!(other, before);
    // Only looked at so far.
    assert_eq!(page.text().await, text);
    page.click("one('#keep')").await;
    assert!(page.status().await.starts_with("Saved in the text"), "{}", page.status().await);
    assert!(page.text().await.contains('^'), "{}", page.text().await);
    assert_eq!(tab(&page).await, other);
    // What is kept can't be kept again.
    assert!(page.js::<bool>("return one('#keep').disabled").await);
    page.click("one('#undo')").await;
    assert_eq!((page.text().await, tab(&page).await), (text, before.clone()));
    // Round to the plan itself.
    for _ in 0..5 {
        page.click("one('#way')").await;
        if page.status().await.starts_with("The original fingering") {
            break;
        }
        assert!(!page.js::<bool>("return one('#keep').disabled").await);
    }
    assert_eq!(tab(&page).await, before);
    assert!(page.js::<bool>("return one('#keep').disabled").await);
}

async fn the_neck_enters_notes(page: Page) {
    // A stray tap, before anybody has said where a note goes, changes nothing.
    page.open(1280).await;
    let before = page.text().await;
    page.open_part("hands").await;
    page.until("the neck is drawn", "return one('#fretboard svg') !== null").await;
    page.click("one('#fretboard .cells rect')").await;
    assert!(page.status().await.starts_with("First tap a note in the music"), "{}", page.status().await);
    assert_eq!(page.text().await, before);

    open(&page, 1280, LINE).await;
    let tap = "one('#fretboard .cells [data-string=\"2\"][data-fret=\"5\"]')";
    // The cursor stands before the second note.
    let cursor = "one('#text').focus(); const at = one('#text').value.indexOf('D C'); one('#text').setSelectionRange(at, at)";
    page.js::<serde_json::Value>(cursor).await;
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert_eq!(page.status().await, "E4 on string 2, fret 5.");
    assert!(page.text().await.contains("\nEb4 E^2.5 C Bb"), "{}", page.text().await);
    // The cursor went on to the next note, which gives way in its turn.
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert!(page.text().await.contains("\nEb4 E^2.5 E^2.5 Bb"), "{}", page.text().await);
    // After the last note comes a new bar.
    let cursor = "const end = one('#text').value.length; one('#text').setSelectionRange(end, end)";
    page.js::<serde_json::Value>(cursor).await;
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert!(
        page.text().await.contains("E4^2.5 r:7/2 |") || page.text().await.contains("E^2.5 r:7/2 |"),
        "{}",
        page.text().await
    );
    // A text with a mistake is mended first.
    page.go_to_end_of_text().await;
    page.keys("H").await;
    let before = page.text().await;
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert_eq!(page.text().await, before);
    assert!(page.status().await.contains("the mistake in the text first"), "{}", page.status().await);
}

async fn a_note_brings_its_bar(page: Page) {
    open(&page, 1280, LINE).await;
    let head = "one('#sheet .note[data-note=\"9\"] path')";
    page.js::<serde_json::Value>(&format!(
        "{head}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    let (bar, word): (String, String) = page
        .js("const text = one('#text'); return [one('#hands-bar').textContent, text.value.slice(text.selectionStart, text.selectionEnd)]")
        .await;
    assert_eq!((bar.as_str(), word.as_str()), ("Bar 2", "F"));
    // The neck's note goes there.
    page.click("one('#fretboard .cells [data-string=\"2\"]')").await;
    let text = page.text().await;
    let bar = text.rsplit("\n\n").next().unwrap().split('|').nth(1).unwrap();
    assert!(bar.split_whitespace().nth(1).unwrap().contains("^2."), "{text}");
    page.click("one('#bar-after')").await;
    page.click("one('#bar-after')").await;
    assert_eq!(page.js::<String>("return one('#hands-bar').textContent").await, "Bar 3");
    page.click("one('#bar-before')").await;
    assert_eq!(page.js::<String>("return one('#hands-bar').textContent").await, "Bar 2");
    // Before the first bar there is none.
    page.click("one('#bar-before')").await;
    page.click("one('#bar-before')").await;
    assert_eq!(page.js::<String>("return one('#hands-bar').textContent").await, "Bar 1");
    let says: String = page.js("return one('#hands-say').textContent").await;
    assert!(says.starts_with("Position") && says.contains("crossing"), "{says}");
}

async fn the_neck_is_shown_as_asked(page: Page) {
    open(&page, 390, "@Cm7 C4 Eb G Bb  G Eb C r |\n").await;
    let picture = || page.js::<String>("return one('#fretboard').innerHTML");
    let mut seen = vec![picture().await];
    for (id, value) in [("labels", "degrees"), ("labels", "fingers")] {
        choose(&page, id, value).await;
        seen.push(picture().await);
    }
    page.click("one('#left')").await;
    seen.push(picture().await);
    assert!(seen.windows(2).all(|pair| pair[0] != pair[1]));
    // Nothing is wider than the phone.
    let wide: bool = page.js("return document.documentElement.scrollWidth > innerWidth").await;
    assert!(!wide);
}
