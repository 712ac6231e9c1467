//! Exercises made from the line.

use halfbar_core::line::Heading;
use halfbar_core::{drill, read, write};

use crate::page::Page;
use crate::practice::NOTE_STARTS;

scenarios! {
    served (Served):
        a_shape_moves_through_a_scale, the_line_goes_through_twelve_keys, exercises_are_heard_first, exercises_stay_below_a_fret,
        the_scale_is_that_of_the_line, what_cannot_be_made_says_why;
    from_disk (OneFile): the_line_goes_through_twelve_keys;
}

const LINE: &str = "key: F\nmeter: 4/4\nrecast: split-last at 1.1 bracket\n\nF3 A C4 E  D C Bb A |\n";

/// Opens the part, and waits until it is filled.
async fn open(page: &Page) {
    page.open_with(1280, LINE).await;
    page.open_part("make").await;
    page.until("the scales are offered", "return one('#scale-kind').options.length > 20").await;
}

async fn choose(page: &Page, id: &str, value: &str) {
    page.js::<serde_json::Value>(&format!("one('#{id}').value = '{value}'")).await;
}

async fn says(page: &Page) -> String {
    page.js("return one('#make-says').textContent").await
}

/// Reopens the line that an exercise was made from.
async fn back_to_the_line(page: &Page) {
    page.open_part("lines").await;
    page.until("both are kept", "return all('#lines li').length === 2").await;
    page.click("one('#lines [data-open]:enabled')").await;
    assert_eq!(page.text().await, LINE);
}

async fn a_shape_moves_through_a_scale(page: Page) {
    open(&page).await;
    let tonic: String = page.js("return one('#scale-tonic').value").await;
    assert_eq!(tonic, "F", "the key's own scale comes first");
    choose(&page, "shape-strings", "4-2").await;
    choose(&page, "shape-steps", "3").await;
    page.click("one('#make-shape')").await;
    assert!(says(&page).await.starts_with("2 bars."), "{}", says(&page).await);
    // The steps of F major, worked out by hand. Copies with the same shape on their strings have the same fingers.
    let text = page.text().await;
    assert!(
        text.ends_with(
            "F3^4 A^3 C^3 E^2  G3^4/3 Bb^3/2 D^3/4 F^2/3 | A3^4/3 C^3/2 E^3/4 G^2/3  Bb3^4 D^3 F^3 A^2 |\n"
        ),
        "{text}"
    );
    page.until("the shapes are drawn", "return drawn('note').length === 16").await;
    // It is a new line; the one that it was made from is kept unchanged, one press away.
    page.click("one('#status button')").await;
    assert_eq!(page.text().await, LINE);
    page.open_part("lines").await;
    page.until("both are kept", "return all('#lines li').length === 2").await;
    // Down, and for the selected bars.
    page.open_part("make").await;
    page.click("one('#stretch summary')").await;
    page.js::<serde_json::Value>(
        "for (const [id, value] of [['from-bar', 1], ['from-beat', '3'], ['to-bar', 2], ['to-beat', '1']]) {
            one('#' + id).value = value;
            one('#' + id).dispatchEvent(new Event('input', { bubbles: true }));
        }",
    )
    .await;
    choose(&page, "shape-of", "stretch").await;
    choose(&page, "shape-way", "down").await;
    choose(&page, "shape-steps", "1").await;
    choose(&page, "shape-strings", "").await;
    page.click("one('#make-shape')").await;
    let text = page.text().await;
    let notes: String = text.chars().filter(|letter| letter.is_ascii_uppercase()).collect();
    assert!(notes.ends_with("DCBACBAG"), "{text}");
}

async fn the_line_goes_through_twelve_keys(page: Page) {
    open(&page).await;
    choose(&page, "keys-by", "semitones").await;
    page.click("one('#make-keys')").await;
    assert!(says(&page).await.starts_with("12 bars"), "{}", says(&page).await);
    let reading = read::text(LINE);
    let made = drill::keys(
        &reading.line.unwrap(),
        &reading.casting,
        drill::Cycle::Semitones,
        drill::Region::default(),
    )
    .unwrap();
    let title = "A line in twelve keys".to_string();
    let line = made.line.clone().with_heading(Heading { title, ..made.line.heading().clone() });
    assert_eq!(page.text().await, write::text::line(&line, &made.casting).unwrap());
    page.until("all keys are drawn", "return drawn('note').length === 12 * 8").await;
    back_to_the_line(&page).await;
}

async fn exercises_are_heard_first(page: Page) {
    open(&page).await;
    page.js::<serde_json::Value>(NOTE_STARTS).await;
    choose(&page, "count-in", "0").await;
    let label = async |id: &str| page.js::<String>(&format!("return one('#{id}').textContent")).await;
    for (id, name) in [("hear-shape", "the sequence"), ("hear-keys", "all twelve keys")] {
        page.js::<serde_json::Value>("window.starts = []").await;
        page.click(&format!("one('#{id}')")).await;
        page.until("notes sound", "return window.starts.length > 2").await;
        page.until("the page says what is playing", &format!("return one('#now').textContent === '{name}'"))
            .await;
        assert_eq!(label(id).await, "Stop");
        // What sounds is not the line on the page.
        assert_eq!(page.js::<usize>("return all('#sheet .sounding').length").await, 0);
        page.click(&format!("one('#{id}')")).await;
        assert_eq!((label(id).await.as_str(), label("now").await.as_str()), ("Hear it first", ""));
    }
    // From one to the other without stopping.
    page.click("one('#hear-shape')").await;
    page.click("one('#hear-keys')").await;
    assert_eq!(
        (label("hear-shape").await.as_str(), label("hear-keys").await.as_str()),
        ("Hear it first", "Stop")
    );
    page.click("one('[data-play]')").await;
    assert_eq!(label("hear-keys").await, "Hear it first");
    assert_eq!((page.text().await.as_str(), says(&page).await.as_str()), (LINE, ""));
}

async fn exercises_stay_below_a_fret(page: Page) {
    open(&page).await;
    assert_eq!(page.js::<String>("return one('#highest-fret').value").await, "14");
    let highest = async || {
        page.js::<u8>("return Math.max(...all('#sheet .row .spoken, #sheet .spoken').flatMap((list) => [...list.textContent.matchAll(/fret (\\d+)/g)].map(([, fret]) => +fret)))").await
    };
    for button in ["make-shape", "make-keys"] {
        choose(&page, "highest-fret", "14").await;
        page.click(&format!("one('#{button}')")).await;
        let before = highest().await;
        assert!((6..=14).contains(&before), "{button}: {before}");
        page.open_with(1280, LINE).await;
        page.open_part("make").await;
        choose(&page, "highest-fret", "5").await;
        page.click(&format!("one('#{button}')")).await;
        assert!(highest().await <= 5, "{button}: {}", highest().await);
        page.open_with(1280, LINE).await;
        page.open_part("make").await;
    }
    choose(&page, "highest-fret", "0").await;
    page.click("one('#make-keys')").await;
    assert_eq!(says(&page).await, "The highest fret must be a whole number from 1 to 36.");
}

async fn the_scale_is_that_of_the_line(page: Page) {
    open(&page).await;
    let scale = async || {
        page.js::<(String, String)>("return [one('#scale-tonic').value, one('#scale-kind').value]").await
    };
    let named = |tonic: &str, kind: &str| (tonic.to_string(), kind.to_string());
    assert_eq!(scale().await, named("F", "major"));
    let other = async |text: &str| {
        page.paste(text).await;
        page.open_part("make").await;
    };
    other(&LINE.replace("key: F", "key: G#m")).await;
    assert_eq!(scale().await, named("G#", "natural minor"));
    // A chosen scale stays until the key changes.
    choose(&page, "scale-kind", "dorian").await;
    other(&LINE.replace("key: F", "tempo: 90\nkey: G#m")).await;
    assert_eq!(scale().await, named("G#", "dorian"));
    // Undo is available there too.
    page.click("one('#undo')").await;
    assert!(page.text().await.contains("\nkey: Eb\n"));
    assert_eq!(scale().await, named("Eb", "major"));
}

async fn what_cannot_be_made_says_why(page: Page) {
    open(&page).await;
    for steps in ["0", "25", "-3", ""] {
        choose(&page, "shape-steps", steps).await;
        page.click("one('#make-shape')").await;
        assert_eq!(says(&page).await, "The number of steps must be a whole number from 1 to 24.", "{steps}");
    }
    choose(&page, "shape-steps", "7").await;
    choose(&page, "shape-of", "stretch").await;
    page.click("one('#make-shape')").await;
    assert!(says(&page).await.contains("Edit selection"), "{}", says(&page).await);
    assert_eq!(page.text().await, LINE);
    page.go_to_end_of_text().await;
    page.keys("H4").await;
    page.open_part("make").await;
    page.click("one('#make-keys')").await;
    assert_eq!(says(&page).await, "Fix the mistake in the text first.");
    assert_eq!(page.text().await, format!("{LINE}H4"));
}
