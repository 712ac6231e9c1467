//! What is in the line: names in the music and in the margin, suggestions where to recast, and new lines from chords and scales.

use halfbar_core::harmony::names;
use halfbar_core::{advise, read};
use serde_json::Value;

use crate::page::Page;

scenarios! {
    served (Served):
        names_are_drawn_and_explained, a_name_in_the_music_is_tapped, a_reading_is_kept_and_taken_back, degrees_are_shown,
        recasting_leaves_the_names, suggestions_are_marked_and_taken, what_cannot_be_suggested_says_why,
        lines_are_made_from_chords_and_scales, what_fits_a_chord_is_listed, a_line_lands_on_its_chords, what_cannot_be_made_says_why,
        a_phone_shows_names_too;
    from_disk (OneFile): names_are_drawn_and_explained;
}

/// A line with clear names, and two half-bars that are recast.
const LINE: &str = "key: D\nrecast: split-last at 1.1 bracket\n\n@A7alt Bb3 Db F A  G Bb Db F | @Dmaj7 E4 F# A C#5  B A F# D | @Em7 B2 E G D4  E3 B3 D G | @A7 C#:4 |\n";

async fn open(page: &Page, width: u32) {
    page.open_with(width, LINE).await;
    page.open_part("harmony").await;
    page.until("the names are listed", "return all('#names-found > li').length > 4").await;
}

/// The names in the list, without their places.
async fn listed(page: &Page) -> Vec<String> {
    page.js("return all('#names-found > li > button').map((one) => one.textContent.replace(/^\\S+ /, ''))")
        .await
}

/// What the core finds in a text, in the order of the list.
fn found(text: &str) -> Vec<String> {
    let line = read::text(text).line.unwrap();
    names(&line).signs(&line).iter().map(|sign| sign.says.clone()).collect()
}

async fn choose(page: &Page, id: &str, value: &str) {
    let script = format!(
        "one('#{id}').value = '{value}'; one('#{id}').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    );
    page.js::<Value>(&script).await;
}

async fn names_are_drawn_and_explained(page: Page) {
    open(&page, 1280).await;
    let all = listed(&page).await;
    assert_eq!(all, found(LINE));
    assert_eq!(all[0], "B♭m(maj7) arpeggio, root position, up");
    // They are listed without being drawn; the box draws them, and says so in the text.
    assert_eq!(page.js::<usize>("return drawn('name').length").await, 0);
    page.click("one('#names')").await;
    assert!(page.text().await.contains("names: yes\n"));
    page.until("brackets are drawn", "return all('#sheet [data-name]').length > 4").await;
    let first: String = page.js("return all('#names-found > li > button')[0].textContent").await;
    assert_eq!(first, "1.1 B♭m(maj7) arpeggio, root position, up");
    // A press tells why, and what else it could be.
    page.click("all('#names-found > li > button')[0]").await;
    assert_eq!(page.js::<String>("return all('#names-found > li > button')[0].ariaExpanded").await, "true");
    let line = read::text(LINE).line.unwrap();
    let (fit, doubts) = (names(&line).all()[0].fit().unwrap(), names(&line).all()[0].doubts());
    let told: Vec<String> =
        page.js("return all('#names-found div > p:not(.steps)').map((one) => one.textContent)").await;
    assert_eq!(told[0].to_lowercase(), format!("{fit}."));
    assert_eq!(told.len(), 1 + usize::from(!doubts.is_empty()), "{told:?}");
    assert!(doubts.iter().all(|doubt| told[1].contains(doubt)), "{told:?}");
    let chosen: usize = page.js("return all('#sheet [data-name].chosen').length").await;
    assert!(chosen > 0, "the bracket isn't marked");
    page.click("one('#names')").await;
    assert_eq!(page.text().await, LINE);
    page.until("brackets are gone", "return all('#sheet [data-name]').length === 0").await;
}

async fn a_name_in_the_music_is_tapped(page: Page) {
    let line = LINE.replace("key: D\n", "key: D\nnames: yes\n");
    page.open_with(1280, &line).await;
    page.until("brackets are drawn", "return all('#sheet [data-name]').length > 4").await;
    let scrolled: f64 = page.js("return one('#music').scrollTop").await;
    page.click("all('#sheet [data-name=\"1\"]').at(-1)").await;
    page.until("the part is open", "return shown(one('#names-found'))").await;
    let chosen: String = page.js("return one('#names-found [aria-expanded=true]').textContent").await;
    assert_eq!(chosen, format!("1.3 {}", found(LINE)[1]));
    // The music stays where it is.
    assert_eq!(page.js::<f64>("return one('#music').scrollTop").await, scrolled);
}

async fn a_reading_is_kept_and_taken_back(page: Page) {
    open(&page, 1280).await;
    page.click("one('#names')").await;
    page.click("all('#names-found > li > button')[1]").await;
    page.click("one('#called')").await;
    page.keys("my own name").await;
    page.click("one('#names-found .steps button')").await;
    let text = page.text().await;
    assert!(text.contains("call: my own name at 1.3 to 2.1\n"), "{text}");
    assert_eq!(listed(&page).await[1], "my own name");
    let drawn: String = page.js("return one('#sheet').textContent + one('#names-found').textContent").await;
    assert!(drawn.contains("You named it this."), "{drawn}");
    // Nothing else is called something else.
    assert_eq!(listed(&page).await[0], found(LINE)[0]);
    page.click("one('#names-found .steps button')").await;
    assert!(!page.text().await.contains("call:"), "{}", page.text().await);
    assert_eq!(listed(&page).await, found(LINE));
    // It is a step like others.
    page.click("one('#undo')").await;
    assert!(page.text().await.contains("call: my own name"));
    // Without words there is nothing to keep.
    page.click("one('#redo')").await;
    page.click("all('#names-found > li > button')[0]").await;
    page.click("all('#names-found > li > button')[0]").await;
    if page.js::<bool>("return one('#called') === null").await {
        page.click("all('#names-found > li > button')[0]").await;
    }
    page.click("one('#names-found .steps button')").await;
    assert_eq!(page.status().await, "Write the name first.");
}

async fn degrees_are_shown(page: Page) {
    open(&page, 1280).await;
    choose(&page, "degrees", "yes").await;
    assert!(page.text().await.contains("degrees: yes\n"));
    page.until("degrees are drawn", "return drawn('degree').length > 20").await;
    choose(&page, "degrees", "no").await;
    assert_eq!(page.text().await, LINE);
}

async fn recasting_leaves_the_names(page: Page) {
    open(&page, 1280).await;
    page.click("one('#names')").await;
    let before = listed(&page).await;
    page.click_pad(2, 1).await;
    assert!(page.is_pressed(2, 1).await);
    assert_eq!(listed(&page).await, before);
    let names: usize =
        page.js("return new Set(all('#sheet [data-name]').map((one) => one.dataset.name)).size").await;
    assert_eq!(names, before.len());
}

async fn suggestions_are_marked_and_taken(page: Page) {
    open(&page, 1280).await;
    page.click("one('#where summary')").await;
    choose(&page, "density", "alternately").await;
    page.click("one('#suggest')").await;
    let reading = read::text(LINE);
    let (line, figure) = (reading.line.unwrap(), halfbar_core::recast::Figure::named("split-last").unwrap());
    let wanted =
        advise::advise(&line, &reading.casting, &figure, None, advise::Density::Alternately).unwrap();
    assert!(wanted.len() > 1, "{wanted:?}");
    page.until("they are listed", "return all('#advice li').length > 1").await;
    let told: Vec<String> = page.js("return all('#advice li').map((one) => one.textContent)").await;
    assert_eq!(told.len(), wanted.len());
    for (told, wanted) in told.iter().zip(&wanted) {
        assert!(told.to_lowercase().starts_with(&wanted.place.spoken().to_string().to_lowercase()), "{told}");
        assert!(told.contains(&wanted.reasons[0].to_string()), "{told}: {wanted:?}");
    }
    let marked: usize = page.js("return all('.pad[data-suggested]').length").await;
    assert_eq!(marked, wanted.len());
    // One of them, which is no longer suggested.
    page.click("one('#advice button')").await;
    assert_eq!(page.js::<usize>("return all('#advice li').length").await, wanted.len() - 1);
    let told: String = page.js("return one('#advice-says').textContent").await;
    assert!(told.starts_with(&(wanted.len() - 1).to_string()), "{told}");
    // The others at once, in one step.
    if page.js::<bool>("return !one('#take-all').hidden").await {
        page.click("one('#take-all')").await;
    } else {
        page.click("one('#advice button')").await;
    }
    assert_eq!(page.js::<usize>("return all('.pad[data-suggested]').length").await, 0);
    let rows = page.recast_rows().await.join("\n");
    for suggestion in &wanted {
        assert!(rows.contains(&suggestion.place.to_string()), "{rows}");
    }
    page.click("one('#undo')").await;
    page.click("one('#undo')").await;
    assert_eq!(page.text().await, LINE);
    // What was suggested before is suggested again, and follows what is chosen.
    assert_eq!(page.js::<usize>("return all('.pad[data-suggested]').length").await, wanted.len());
    let often = advise::advise(&line, &reading.casting, &figure, None, advise::Density::Often).unwrap();
    assert!(often.len() < wanted.len(), "{often:?}");
    choose(&page, "density", "often").await;
    assert_eq!(page.js::<usize>("return all('.pad[data-suggested]').length").await, often.len());
    // Typing gives them up.
    page.go_to_end_of_text().await;
    page.keys(" ").await;
    page.until("nothing is suggested", "return all('.pad[data-suggested]').length === 0").await;
}

async fn what_cannot_be_suggested_says_why(page: Page) {
    page.open_with(1280, "C4 E G B  A G F E |\n").await;
    page.open_part("harmony").await;
    page.click("one('#where summary')").await;
    page.click("one('#suggest')").await;
    let says: String = page.js("return one('#advice-says').textContent").await;
    assert!(says.starts_with("There are no chords"), "{says}");
}

async fn lines_are_made_from_chords_and_scales(page: Page) {
    page.open_with(1280, LINE).await;
    for kind in ["chain", "arpeggios", "voicing", "pentatonic"] {
        page.open_part("make").await;
        if !page.js::<bool>("return one('#material').open").await {
            page.click("one('#material summary')").await;
        }
        choose(&page, "material-kind", kind).await;
        let before = page.text().await;
        page.click("one('#make-material')").await;
        page.until("it is another line", &format!("return text().value !== {}", serde_json::json!(before)))
            .await;
        let (text, said) =
            (page.text().await, page.js::<String>("return one('#material-says').textContent").await);
        assert!(text.starts_with("title: "), "{kind}: {said}: {text}");
        let reading = read::text(&text);
        assert!(reading.diagnostics.is_empty(), "{kind}: {text}: {:?}", reading.diagnostics);
        // It is in the line's key, and the line that it was made from is kept.
        assert!(kind != "chain" || text.contains("key: D\n"), "{kind}: {text}");
        page.click("one('#status button')").await;
        assert_eq!(page.text().await, LINE);
    }
    // What it starts from is the line's own chords, until something else is written there.
    let chords: String = page.js("return one('#material-chords').value").await;
    // The cursor is in the last bar.
    assert_eq!(chords, "A7:4");
    page.js::<Value>("one('#material-chords').value = 'Fm7:2 Bb7alt:2 Ebmaj7:4'").await;
    choose(&page, "material-kind", "chain").await;
    assert_eq!(page.js::<String>("return one('#material-chords').value").await, "Fm7:2 Bb7alt:2 Ebmaj7:4");
    // What sounds belongs to the line before, so it ends with that.
    page.click("one('#hear-material')").await;
    page.until("it is heard", "return one('#hear-material').textContent === 'Stop'").await;
    page.click("one('#make-material')").await;
    page.until("it is there", "return text().value.includes('@Fm7')").await;
    assert_eq!(page.js::<String>("return one('#hear-material').textContent").await, "Hear it first");
    assert!(page.text().await.starts_with("title: Arpeggios over Fm7 Bb7alt Ebmaj7\n"));
}

async fn what_fits_a_chord_is_listed(page: Page) {
    page.open_with(1280, LINE).await;
    page.open_part("make").await;
    page.click("one('#material summary')").await;
    choose(&page, "material-kind", "fits").await;
    page.js::<Value>("one('#material-chord').value = 'Ebmaj7'; one('#material-chord').dispatchEvent(new Event('input', { bubbles: true }))")
        .await;
    // Facts of the trade, by arithmetic.
    let rows: Vec<String> =
        page.js("return all('#material-list li').map((one) => one.firstChild.data)").await;
    assert!(rows.iter().any(|row| row.starts_with("G minor pentatonic: 3 5 13 7 9")), "{rows:?}");
    // It is heard before it is made, until the button is pressed again.
    page.click("one('#material-list [data-hear]')").await;
    page.until("it is heard", "return one('#material-list [data-hear]').textContent !== 'Hear it first'")
        .await;
    page.click("one('#material-list [data-hear]')").await;
    page.until("it is silent", "return one('#material-list [data-hear]').textContent === 'Hear it first'")
        .await;
    assert_eq!(page.text().await, LINE);
    page.click("one('#material-list [data-use]')").await;
    page.until("a line is made", "return text().value.startsWith('title: D minor pentatonic over Ebmaj7') || text().value.startsWith('title: G minor pentatonic over Ebmaj7')").await;
    page.open_part("make").await;
    choose(&page, "material-kind", "altered").await;
    page.js::<Value>("one('#material-chord').value = 'Ebmaj7'; one('#material-chord').dispatchEvent(new Event('input', { bubbles: true }))")
        .await;
    let says: String = page.js("return one('#material-says').textContent").await;
    assert!(says.contains("doesn't have both a major third and a minor seventh"), "{says}");
}

async fn a_line_lands_on_its_chords(page: Page) {
    page.open_with(1280, "key: C\n\n@Dm7 D4 F A C5  B A G E | @G7 C5 B G F  D B3 G F | @Cmaj7 D3:4 |\n")
        .await;
    page.open_part("make").await;
    page.click("one('#material summary')").await;
    choose(&page, "material-kind", "land").await;
    let before = page.text().await;
    page.click("one('#make-material')").await;
    let says: String = page.js("return one('#material-says').textContent").await;
    assert_ne!(page.text().await, before, "{says}");
    assert!(says.contains("lands"), "{says}");
}

async fn what_cannot_be_made_says_why(page: Page) {
    page.open_with(1280, LINE).await;
    page.open_part("make").await;
    page.click("one('#material summary')").await;
    for (kind, field, value, wanted) in [
        ("chain", "material-chords", "Fm7:2 Hb7:2", "is not a chord"),
        ("chain", "material-chords", "Fm7:3", "bar"),
        ("arpeggios", "material-scale", "Eb nothing", "scale"),
        ("voicing", "material-chords", "Cm:4", "Cm"),
        ("pentatonic", "material-tonic", "G dorian", "pentatonic"),
    ] {
        choose(&page, "material-kind", kind).await;
        page.js::<Value>(&format!("one('#{field}').value = '{value}'")).await;
        page.click("one('#make-material')").await;
        let says: String = page.js("return one('#material-says').textContent").await;
        assert!(says.contains(wanted) && says.ends_with('.'), "{kind} {value}: {says}");
        assert_eq!(page.text().await, LINE, "{kind} {value}");
    }
}

async fn a_phone_shows_names_too(page: Page) {
    let line = LINE.replace("key: D\n", "key: D\nnames: yes\n");
    page.open_with(390, &line).await;
    page.until("brackets are drawn", "return all('#sheet [data-name]').length > 4").await;
    // A finger that misses the words by a little still hits the name, and recasts nothing.
    page.touch("all('#sheet [data-name=\"1\"]').at(-1)").await;
    page.until("the part is open", "return shown(one('#names-found'))").await;
    let chosen: String = page.js("return one('#names-found [aria-expanded=true]').textContent").await;
    assert_eq!(chosen, format!("1.3 {}", found(LINE)[1]));
    assert_eq!(page.recast_rows().await.len(), 1);
    let wide: bool = page.js("return document.documentElement.scrollWidth > 390").await;
    assert!(!wide, "something is wider than the phone");
    // A system of music stays visible above the drawer.
    let room: f64 = page.js("return box(one('#music')).bottom - box(pads()[0]).bottom").await;
    assert!(room >= 0.0, "the drawer covers the music by {room} px");
}
