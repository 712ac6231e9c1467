//! The neck: style and picking, positions and other fingerings, the diagram, and moving and entering notes on it.

use thirtyfour::Key;

use crate::page::Page;

scenarios! {
    served (Served):
        settings_for_the_hands_go_into_the_text, another_fingering_is_previewed_and_kept, fingerings_are_those_of_the_bar_shown,
        the_neck_enters_notes, a_note_is_an_exception_to_a_position, a_new_note_goes_between_words, typing_unselects_the_note,
        a_note_brings_its_bar, a_note_goes_to_another_string_by_key, the_neck_is_walked_by_keys, the_neck_is_walked_in_an_empty_bar, the_selected_note_is_marked_on_the_neck, all_bars_show_the_same_frets,
        a_pick_stroke_is_reversed, a_position_is_set_or_refused,
        the_neck_follows_its_settings;
}

const LINE: &str = "meter: 4/4\n\nEb4 D C Bb3 G Ab Bb C | D4 F A C  B G E C | C4:4 |\n";

async fn open(page: &Page, width: u32, text: &str) {
    page.open_with(width, text).await;
    page.open_part("hands").await;
    page.until("the neck is drawn", "return one('#fretboard svg') !== null").await;
}

/// Chooses an option the way a user does.
async fn choose(page: &Page, id: &str, value: &str) {
    let script = format!(
        "one('#{id}').value = '{value}'; one('#{id}').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    );
    page.js::<serde_json::Value>(&script).await;
}

async fn tab(page: &Page) -> String {
    page.js("return [...document.querySelectorAll('#sheet .fret')].map((one) => one.innerHTML).join()").await
}

async fn settings_for_the_hands_go_into_the_text(page: Page) {
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
    // Defaults are not written.
    choose(&page, "style", "position").await;
    assert!(!page.text().await.contains("style:"), "{}", page.text().await);
    choose(&page, "strokes", "alternate").await;
    choose(&page, "first", "").await;
    page.click("one('#slurs')").await;
    assert!(!page.text().await.contains("picking:"), "{}", page.text().await);
    // When the text says something else, the choices follow.
    open(&page, 390, &format!("style: one-per-string\npicking: sweep\n{LINE}")).await;
    let chosen: [String; 2] = page.js("return ['style', 'strokes'].map((id) => one('#' + id).value)").await;
    assert_eq!(chosen, ["one-per-string", "sweep"]);
}

async fn another_fingering_is_previewed_and_kept(page: Page) {
    open(&page, 1280, LINE).await;
    let (before, text) = (tab(&page).await, page.text().await);
    assert!(page.js::<bool>("return one('#keep').disabled").await);
    page.click("one('#way')").await;
    assert!(page.status().await.starts_with("Choose a fingering to see it"), "{}", page.status().await);
    let pressed = "return all('#ways input').map((way) => way.checked)";
    let ways: Vec<String> = page.js("return all('#ways label').map((way) => way.textContent)").await;
    assert!(ways.len() > 1 && ways[0] == "As it is now", "{ways:?}");
    assert!(ways[1..].iter().all(|way| way.contains("(cost ")), "{ways:?}");
    assert!(page.js::<Vec<bool>>(pressed).await[0]);
    page.click("all('#ways label')[1]").await;
    let shown = page.js::<Vec<bool>>(pressed).await;
    assert!(shown[1] && shown.iter().filter(|shown| **shown).count() == 1, "{shown:?}");
    let other = tab(&page).await;
    assert_ne!(other, before);
    // It is only a preview so far, and can be left again.
    assert_eq!(page.text().await, text);
    page.click("all('#ways label')[0]").await;
    assert_eq!(tab(&page).await, before);
    assert!(page.js::<bool>("return one('#keep').disabled").await);
    page.click("all('#ways label')[1]").await;
    page.click("one('#keep')").await;
    assert!(page.status().await.contains("in the text"), "{}", page.status().await);
    assert_ne!(page.text().await, text);
    assert_eq!(tab(&page).await, other);
    // What was kept can't be kept again.
    assert!(page.js::<bool>("return one('#keep').disabled").await);
    page.click("one('#undo')").await;
    assert_eq!((page.text().await, tab(&page).await), (text, before));
}

async fn fingerings_are_those_of_the_bar_shown(page: Page) {
    open(&page, 1280, &format!("tempo: 320\n{LINE}")).await;
    let (before, text) = (tab(&page).await, page.text().await);
    let listed = async || page.js::<usize>("return all('#ways label').length").await;
    let bar = async || page.js::<String>("return one('#hands-bar').textContent").await;
    page.click("one('#bar-after')").await;
    // They disappear when another bar is shown, whether by button or by selecting a note.
    for away in ["one('#bar-before')", "one('#sheet .note[data-note=\"1\"]')"] {
        page.click("one('#sheet .note[data-note=\"9\"]')").await;
        page.click("one('#way')").await;
        page.click("all('#ways label')[1]").await;
        assert_ne!(tab(&page).await, before);
        // Selecting another note of the bar keeps them.
        page.click("one('#sheet .note[data-note=\"10\"]')").await;
        assert!(listed().await > 1, "{away}");
        page.click(away).await;
        assert_eq!((bar().await.as_str(), listed().await), ("Bar 1", 0), "{away}");
        assert!(page.js::<bool>("return one('#keep').disabled").await);
        assert_eq!((tab(&page).await, page.text().await), (before.clone(), text.clone()));
    }
    // The neck stays at the bar while the line plays.
    page.click("one('#way')").await;
    page.click("one('[data-play]')").await;
    page.until("the second bar sounds", "return all('#sheet .sounding[data-note=\"9\"]').length > 0").await;
    page.frames().await;
    assert!(bar().await == "Bar 1" && listed().await > 1);
    page.click("one('[data-play]')").await;
}

async fn a_note_is_an_exception_to_a_position(page: Page) {
    open(&page, 1280, &LINE.replace("meter: 4/4\n", "meter: 4/4\nhand: position 10 at 2.1 to 3.1\n")).await;
    let frets = tab(&page).await;
    page.click("one('#sheet .note[data-note=\"11\"]')").await;
    // The same C on another string, below the position.
    page.click("one('#fretboard .cells [data-string=\"1\"][data-fret=\"8\"]')").await;
    let status = page.status().await;
    assert!(status.contains("on string 1, fret 8. That is outside the position."), "{status}");
    assert_eq!(page.js::<String>("return text().getAttribute('aria-invalid')").await, "false");
    let text = page.text().await;
    assert!(text.contains("C^1.8") && text.contains("hand: position 10 at 2.1 to "), "{text}");
    assert_ne!(tab(&page).await, frets);
    // The bar is still in its position.
    assert_eq!(page.js::<String>("return one('#position').value").await, "10");
    // A single undo reverts all of it.
    page.click("one('#undo')").await;
    assert_eq!(tab(&page).await, frets);
}

async fn a_new_note_goes_between_words(page: Page) {
    open(&page, 1280, LINE).await;
    choose(&page, "neck-does", "write").await;
    let tap = "one('#fretboard .cells [data-string=\"2\"][data-fret=\"5\"]')";
    for (text, cursor, written) in [
        // If the cursor is inside a word, it goes after the word.
        ("key: C\nG4:1 A:1 r:1 |\n", 8, "key: C\nG4:1 E4^2.5 A:1 r:1 |\n"),
        ("key: C\nG4:1 A:1 r:1 |\n", 11, "key: C\nG4:1 E4^2.5 A:1 r:1 |\n"),
        // It can't go among headers and comments.
        ("key: C\n# mine\nG4:4 |\n", 3, "key: C\n# mine\nG4:4 |\nE4^2.5 "),
        ("key: C\n# mine\nG4:4 |\n", 10, "key: C\n# mine\nG4:4 |\nE4^2.5 "),
        ("key: C", 6, "key: C\nE4^2.5 "),
        ("key: C\nG4:4 |\n# the end", 7, "key: C\nE4^2.5 G4:4 |\n# the end"),
        ("key: C\nG4:4 |\n# the end", 20, "key: C\nG4:4 |\n# the end\nE4^2.5 "),
    ] {
        page.paste(text).await;
        page.js::<serde_json::Value>(&format!("text().setSelectionRange({cursor}, {cursor})")).await;
        page.js::<serde_json::Value>(&format!(
            "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
        ))
        .await;
        assert_eq!(page.text().await, written, "{text:?} at {cursor}");
    }
}

/// The notes after it are different ones now.
async fn typing_unselects_the_note(page: Page) {
    open(&page, 1280, LINE).await;
    let chosen = async || page.js::<usize>("return all('#sheet .chosen').length").await;
    page.click("one('#sheet .note[data-note=\"1\"]')").await;
    assert!(chosen().await > 0);
    page.go_to_end_of_text().await;
    page.keys("C4:4 |").await;
    assert_eq!(chosen().await, 0);
    page.leave_fields().await;
    page.keys("[").await;
    assert_eq!(page.status().await, "Select a note in the music first.");
    page.click("one('#sheet .note[data-note=\"1\"]')").await;
    page.click("one('#undo')").await;
    assert_eq!(chosen().await, 0);
}

async fn the_neck_enters_notes(page: Page) {
    // A stray tap changes nothing as long as nobody has said where a note should go.
    page.open(1280).await;
    let before = page.text().await;
    page.open_part("hands").await;
    page.until("the neck is drawn", "return one('#fretboard svg') !== null").await;
    for (does, says) in
        [("move", "Select a note in the music first"), ("pitch", "First tap a note in the music")]
    {
        choose(&page, "neck-does", does).await;
        page.click("one('#fretboard .cells rect')").await;
        assert!(page.status().await.starts_with(says), "{}", page.status().await);
        assert_eq!(page.text().await, before);
    }

    open(&page, 1280, LINE).await;
    choose(&page, "neck-does", "pitch").await;
    let tap = "one('#fretboard .cells [data-string=\"2\"][data-fret=\"5\"]')";
    // The cursor is before the second note.
    let cursor = "one('#text').focus(); const at = one('#text').value.indexOf('D C'); one('#text').setSelectionRange(at, at)";
    page.js::<serde_json::Value>(cursor).await;
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert_eq!(page.status().await, "E4 on string 2, fret 5.");
    assert!(page.text().await.contains("\nEb4 E^2.5 C Bb"), "{}", page.text().await);
    // The cursor moved on to the next note, which is replaced next.
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert!(page.text().await.contains("\nEb4 E^2.5 E^2.5 Bb"), "{}", page.text().await);
    // After the last note, a new bar is added.
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
    // A new note, with a length, goes to the cursor.
    choose(&page, "neck-does", "write").await;
    choose(&page, "note-length", "1").await;
    let cursor = "const text = one('#text'); text.value = 'C4:2 |'; \
         text.dispatchEvent(new Event('input', { bubbles: true })); text.setSelectionRange(5, 5)";
    page.js::<serde_json::Value>(cursor).await;
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert_eq!(page.text().await, "C4:2 E4:1^2.5 |");
    // The cursor moved along with it.
    page.js::<serde_json::Value>(&format!(
        "{tap}.dispatchEvent(new MouseEvent('click', {{ bubbles: true }}))"
    ))
    .await;
    assert_eq!(page.text().await, "C4:2 E4:1^2.5 E4:1^2.5 |");
    choose(&page, "neck-does", "pitch").await;
    // A mistake in the text has to be fixed first.
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

pub(crate) async fn a_note_brings_its_bar(page: Page) {
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
    // All its signs are marked. A slip on the neck doesn't change it: another pitch is entered only when that is switched on.
    let chosen: Vec<String> = page.js("return all('#sheet .chosen').map((sign) => sign.dataset.note)").await;
    assert!(chosen.len() > 1 && chosen.iter().all(|note| note == "9"), "{chosen:?}");
    let before = page.text().await;
    page.click("one('#fretboard .cells [data-string=\"2\"][data-fret=\"7\"]')").await;
    assert!(page.status().await.starts_with("Another note sounds there"), "{}", page.status().await);
    assert_eq!(page.text().await, before);
    page.click("one('#fretboard .cells [data-string=\"3\"][data-fret=\"10\"]')").await;
    assert_eq!(page.status().await, "F4 on string 3, fret 10.");
    assert!(page.text().await.contains("D4 F^3.10 A"), "{}", page.text().await);
    choose(&page, "neck-does", "pitch").await;
    page.click("one('#fretboard .cells [data-string=\"2\"]')").await;
    let text = page.text().await;
    let bar = text.rsplit("\n\n").next().unwrap().split('|').nth(1).unwrap();
    assert!(bar.split_whitespace().nth(1).unwrap().contains("^2."), "{text}");
    page.click("one('#bar-after')").await;
    page.click("one('#bar-after')").await;
    assert_eq!(page.js::<String>("return one('#hands-bar').textContent").await, "Bar 3");
    page.click("one('#bar-before')").await;
    assert_eq!(page.js::<String>("return one('#hands-bar').textContent").await, "Bar 2");
    // There is no bar before the first.
    page.click("one('#bar-before')").await;
    page.click("one('#bar-before')").await;
    assert_eq!(page.js::<String>("return one('#hands-bar').textContent").await, "Bar 1");
    let says: String = page.js("return one('#hands-say').textContent").await;
    assert!(says.starts_with("Position") && says.contains("crossing"), "{says}");
}

pub(crate) async fn a_note_goes_to_another_string_by_key(page: Page) {
    open(&page, 1280, LINE).await;
    page.leave_fields().await;
    page.keys("[").await;
    assert_eq!(page.status().await, "Select a note in the music first.");
    page.click("one('#sheet .note[data-note=\"1\"]')").await;
    page.leave_fields().await;
    // D4 is at string 3 fret 7, string 4 fret 12, string 5 fret 17, string 6 fret 22 and string 2 fret 3, and nowhere on string 1.
    let at = |string, fret| format!("D4 on string {string}, fret {fret}.");
    let nowhere = || "This note can't be played on the next string.".to_string();
    for (key, says) in [
        ("[", at(4, 12)),
        ("[", at(5, 17)),
        ("[", at(6, 22)),
        ("[", nowhere()),
        ("]", at(5, 17)),
        ("]", at(4, 12)),
        ("]", at(3, 7)),
        ("]", at(2, 3)),
        ("]", nowhere()),
    ] {
        page.keys(key).await;
        assert_eq!(page.status().await, says, "{key}");
    }
    assert!(page.text().await.contains("Eb4 D^2.3 C"), "{}", page.text().await);
}

async fn the_neck_is_walked_by_keys(page: Page) {
    open(&page, 1280, "C4:4 |").await;
    page.leave_fields().await;
    page.js::<serde_json::Value>(
        "window.heard = 0;
        const start = AudioBufferSourceNode.prototype.start;
        AudioBufferSourceNode.prototype.start = function (...when) { heard += 1; return start.apply(this, when); }",
    )
    .await;
    // Fingering is open, so F goes to the neck.
    page.keys("f").await;
    assert_eq!(page.js::<String>("return document.activeElement.id").await, "fretboard");
    let here = "const here = one('#fretboard [data-here]'); return [Number(here.dataset.string), Number(here.dataset.fret)]";
    let start: (u8, u8) = page.js(here).await;
    let text = page.text().await;
    // It starts where the first note is played.
    assert_eq!(
        page.js::<usize>(&format!(
            "return all('#fretboard .place[data-string=\"{}\"][data-fret=\"{}\"]').length",
            start.0, start.1
        ))
        .await,
        1
    );
    page.keys(Key::Up).await;
    page.keys(Key::Right).await;
    let there: (u8, u8) = page.js(here).await;
    assert_eq!(there, (start.0 - 1, start.1 + 1));
    assert!(
        page.status().await.starts_with(&format!("String {}, fret {}: ", there.0, there.1)),
        "{}",
        page.status().await
    );
    assert_eq!(
        (page.text().await, page.js::<u32>("return heard").await),
        (text.clone(), 0),
        "looking changes nothing"
    );
    // A new note of the chosen length, which is heard.
    choose(&page, "neck-does", "write").await;
    choose(&page, "note-length", "1").await;
    page.keys(Key::Enter).await;
    let written = page.text().await;
    assert!(
        written.starts_with(&text) && written.contains(&format!(":1^{}.{}", there.0, there.1)),
        "{written}"
    );
    page.until("it is heard", "return heard === 1").await;
    // The same place stays, and no string is beyond the outer ones.
    assert_eq!(page.js::<(u8, u8)>(here).await, there);
    for _ in 0..6 {
        page.keys(Key::Up).await;
    }
    assert_eq!(page.js::<(u8, u8)>(here).await, (1, there.1));
    page.keys("f").await;
    assert!(!page.js::<bool>("return shown(one('#fretboard'))").await);
}

async fn the_neck_is_walked_in_an_empty_bar(page: Page) {
    open(&page, 1280, "tuning: seven-string\n\nr:4 |").await;
    page.leave_fields().await;
    page.keys("f").await;
    let here = "const here = one('#fretboard [data-here]'); return [Number(here.dataset.string), Number(here.dataset.fret)]";
    assert_eq!(page.js::<(u8, u8)>(here).await, (1, 0));
    for _ in 0..7 {
        page.keys(Key::Down).await;
    }
    assert_eq!(page.js::<(u8, u8)>(here).await, (7, 0));
    // Another neck lacks that string, so keys start at the line's first note.
    page.paste("C4:4 |").await;
    page.leave_fields().await;
    page.keys("ff").await;
    let (string, fret): (u8, u8) = page.js(here).await;
    assert!(string < 7 && fret > 0, "{string} {fret}");
}

async fn the_selected_note_is_marked_on_the_neck(page: Page) {
    open(&page, 1280, LINE).await;
    let chosen = "return all('#fretboard .chosen').map((place) => place.dataset.note)";
    assert_eq!(page.js::<Vec<String>>(chosen).await, [""; 0]);
    page.click("one('#sheet .note[data-note=\"9\"]')").await;
    let marked: Vec<String> = page.js(chosen).await;
    assert!(marked.len() == 1 && marked[0].split(' ').any(|note| note == "9"), "{marked:?}");
    page.keys(Key::Escape).await;
    assert_eq!(page.js::<Vec<String>>(chosen).await, [""; 0]);
    assert_eq!(page.js::<usize>("return all('#sheet .chosen').length").await, 0);
}

async fn all_bars_show_the_same_frets(page: Page) {
    open(&page, 1280, "C4 D E F  G A B C | G5^1.15:4 | C4:4 |\n").await;
    let frets = "return one('#fretboard title').textContent";
    let first: String = page.js(frets).await;
    assert!(first.ends_with(" to fret 16"), "{first}");
    for _ in 0..2 {
        page.click("one('#bar-after')").await;
        assert_eq!(page.js::<String>(frets).await, first);
    }
}

async fn a_pick_stroke_is_reversed(page: Page) {
    open(&page, 1280, LINE).await;
    for (says, word) in [("Upstroke.", "Eb4^u D"), ("Downstroke.", "Eb4^d D")] {
        page.click("one('#sheet .stroke[data-note=\"0\"]')").await;
        assert!(page.status().await.starts_with(says), "{}", page.status().await);
        assert!(page.text().await.contains(word), "{}", page.text().await);
    }
    page.click("one('#undo')").await;
    page.click("one('#undo')").await;
    assert_eq!(page.text().await, LINE);
}

async fn a_position_is_set_or_refused(page: Page) {
    let line = "meter: 4/4\n\nC4 D Eb F  G F Eb D | F2 G A Bb  C3 D E F | C3:4 |\n";
    open(&page, 1280, line).await;
    for position in ["5", "8"] {
        choose(&page, "position", position).await;
        let row = format!("hand: position {position} at 1.1 to 2.1\n");
        assert!(page.text().await.contains(&row), "{}", page.text().await);
    }
    choose(&page, "position", "").await;
    assert_eq!(page.text().await, line);
    // F2 is only at the first fret of string 6.
    page.click("one('#bar-after')").await;
    choose(&page, "position", "9").await;
    assert!(
        page.status().await.starts_with("Position IX can't hold F2 (bar 2 beat 1)"),
        "{}",
        page.status().await
    );
    assert_eq!(page.text().await, line);
    assert_eq!(
        page.js::<String>("return one('#position').value").await,
        "",
        "it doesn't show the actual state"
    );
}

async fn the_neck_follows_its_settings(page: Page) {
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
    // A system of music with its half-bars stays visible above the neck.
    let (room, system): (f64, f64) =
        page.js("return [one('#music').clientHeight, box(pads()[0]).bottom - box(systems()[0]).top]").await;
    assert!(room >= system, "{room} px for a system of {system}");
    // Nothing is wider than the phone.
    let wide: bool = page.js("return document.documentElement.scrollWidth > innerWidth").await;
    assert!(!wide);
}
