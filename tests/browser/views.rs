//! Staff, tab, rhythm and fingers: what each choice shows, on the page and on paper.

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served): each_view_shows_its_rows, chord_tones_are_ringed;
}

/// The number of groups of each kind in the music: noteheads on a staff, fret numbers, pick strokes, fingers, clefs of a staff.
async fn seen(page: &Page) -> [usize; 4] {
    page.js("const count = (kind) => document.querySelectorAll(`#sheet .row > div g.${kind}`).length; \
         return ['note', 'fret', 'stroke', 'finger'].map(count)")
        .await
}

async fn choose(page: &Page, view: &str, fingers: bool) {
    let script = format!(
        "one('#view').value = '{view}'; one('#fingers').checked = {fingers}; \
         one('#view').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    );
    page.js::<serde_json::Value>(&script).await;
}

async fn each_view_shows_its_rows(page: Page) {
    page.open_with(1280, LINE).await;
    let [notes, frets, strokes, fingers] = seen(&page).await;
    assert!(notes > 50 && frets == notes && strokes > 50 && fingers == 0);
    let text = page.text().await;
    for (view, with_frets) in [("staff", false), ("tab", true), ("rhythm", false), ("both", true)] {
        choose(&page, view, view == "tab").await;
        let [now_notes, now_frets, now_strokes, now_fingers] = seen(&page).await;
        assert_eq!((now_notes, now_strokes), (notes, strokes), "{view}");
        assert_eq!(now_frets, if with_frets { frets } else { 0 }, "{view}");
        assert_eq!(now_fingers, if view == "tab" { strokes } else { 0 }, "{view}");
        // Pads stay where they are, and tapping works in every view.
        page.click_pad(1, 3).await;
        assert!(page.is_pressed(1, 3).await, "{view}");
        page.click_pad(1, 3).await;
    }
    assert_eq!(page.text().await, text);
}

async fn chord_tones_are_ringed(page: Page) {
    page.open_with(1280, "feel: straight\n\n@Bb7alt F4 Gb F Gb  Ab A Ab A | @Ebmaj7 G4:2 r:2 |\n").await;
    let ringed =
        async || page.js::<Vec<String>>("return drawn('chord-tone').map((ring) => ring.dataset.note)").await;
    let told = async || {
        page.js::<usize>("return one('#sheet .spoken').innerHTML.split('chord tone').length - 1").await
    };
    assert_eq!((ringed().await, told().await), (vec![], 0));
    page.click("one('[popovertarget=show]')").await;
    page.click("one('#chord-tones')").await;
    assert_eq!((ringed().await, told().await), (["1", "3", "4", "6", "8"].map(String::from).to_vec(), 5));
    // They change with the chord.
    let text = page.text().await;
    page.paste(&text.replace("Bb7alt", "Fm7")).await;
    assert_eq!(ringed().await, ["0", "2", "4", "6", "8"]);
    // The tab has no heads to ring.
    for (view, is_off) in [("tab", true), ("staff", false)] {
        page.js::<serde_json::Value>(&format!(
            "one('#view').value = '{view}'; one('#view').dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ))
        .await;
        assert_eq!(page.js::<bool>("return one('#chord-tones').disabled").await, is_off, "{view}");
        assert_eq!(ringed().await.is_empty(), is_off, "{view}");
    }
    let inked = "const [ring, note] = ['chord-tone', 'note'].map((kind) => getComputedStyle(drawn(kind)[0]).fill); return ring !== note";
    assert!(page.js::<bool>(inked).await);
    // On paper they are as black as the notes.
    page.cdp("Emulation.setEmulatedMedia", serde_json::json!({ "media": "print", "features": [{ "name": "prefers-color-scheme", "value": "dark" }] })).await;
    page.js::<serde_json::Value>("dispatchEvent(new Event('beforeprint'))").await;
    let fill = "return ['chord-tone', 'note'].map((kind) => getComputedStyle(one(`#print g.${kind}`)).fill)";
    assert_eq!(page.js::<[String; 2]>(fill).await, ["rgb(0, 0, 0)", "rgb(0, 0, 0)"]);
}
