//! Lines that the browser keeps, and how they get out of the page and into it.

use serde_json::{Value, json};
use thirtyfour::prelude::*;

use crate::page::Page;

scenarios! {
    served (Served):
        a_changed_line_is_there_at_the_next_visit, lines_are_copied_renamed_deleted_and_brought_back, deleting_for_good_takes_two_clicks, a_link_brings_the_line,
        bad_links_say_so, files_go_out_and_come_in, two_windows_lose_nothing, two_windows_keep_their_own_lines, a_deleted_line_gives_its_place_and_comes_back,
        a_line_with_a_mistake_comes_back_as_far_as_it_can_be_read, unannounced_changes_are_taken_in,
        early_changes_are_not_lost, storage_that_is_damaged_or_full_says_so,
        hostile_titles_stay_text;
    from_disk (OneFile): a_changed_line_is_there_at_the_next_visit;
}

const LINE: &str = "title: Week 3, a short one\nkey: F\nmeter: 4/4\n\nF3 A C4 E  D C Bb A |\n";

/// Opens the part, and waits until the line is kept.
async fn open(page: &Page, line: &str) {
    page.open_with(1280, line).await;
    unfold(page).await;
    kept(page, "Week 3").await;
}

async fn unfold(page: &Page) {
    page.open_part("lines").await;
}

/// Waits until a line with these words is kept.
async fn kept(page: &Page, words: &str) {
    let script = format!("return (localStorage.getItem('halfbar-lines') ?? '').includes({})", json!(words));
    page.until("the line is kept", &script).await;
}

async fn titles(page: &Page) -> Vec<String> {
    page.js("return all('#lines input').map((title) => title.value)").await
}

async fn says(page: &Page) -> String {
    page.js("return one('#status').textContent").await
}

async fn press(page: &Page, name: &str, index: usize) {
    page.click(&format!("all('#lines [data-{name}]')[{index}]")).await;
}

pub(crate) async fn a_changed_line_is_there_at_the_next_visit(page: Page) {
    page.open(1280).await;
    let untouched: bool = page.js("return localStorage.getItem('halfbar-lines') === null").await;
    assert!(untouched, "an unchanged line must not be kept");
    page.open_with(1280, LINE).await;
    page.click_pad(1, 1).await;
    kept(&page, "recast: split-last at 1.1").await;
    let text = page.text().await;
    page.open(1280).await;
    page.until("it is back", "return text().value.includes('Week 3')").await;
    assert_eq!(page.text().await, text);
    assert!(page.is_pressed(1, 1).await);
    // A line with a mistake is kept too: it is somebody's work.
    page.go_to_end_of_text().await;
    page.keys("H4").await;
    kept(&page, "H4").await;
    page.go().await;
    page.until("the mistake is back", "return text().value.includes('H4')").await;
}

async fn lines_are_copied_renamed_deleted_and_brought_back(page: Page) {
    open(&page, LINE).await;
    page.click("one('#new-line')").await;
    unfold(&page).await;
    assert_eq!(titles(&page).await, ["Week 3, a short one", "A new line"]);
    press(&page, "copy", 0).await;
    assert_eq!(page.text().await, LINE);
    page.js::<Value>(
        "const title = all('#lines input')[2];
        title.value = 'Week 4';
        title.dispatchEvent(new Event('change', { bubbles: true }))",
    )
    .await;
    assert_eq!(page.text().await, LINE.replace("Week 3, a short one", "Week 4"));
    assert_eq!(titles(&page).await, ["Week 3, a short one", "A new line", "Week 4"]);
    press(&page, "delete", 1).await;
    assert_eq!(titles(&page).await, ["Week 3, a short one", "Week 4"]);
    page.click("one('#the-bin summary')").await;
    page.click("one('#bin [data-restore]')").await;
    assert_eq!(titles(&page).await, ["Week 3, a short one", "Week 4", "A new line"]);
    press(&page, "open", 2).await;
    assert!(page.text().await.starts_with("title: A new line\n"));
    page.open(1280).await;
    unfold(&page).await;
    page.until("the lines are back", "return all('#lines li').length === 3").await;
    assert!(page.text().await.starts_with("title: A new line\n"));
}

async fn deleting_for_good_takes_two_clicks(page: Page) {
    open(&page, LINE).await;
    let bin =
        "return [one('#the-bin').hidden ? 'hidden' : one('#empty-bin').textContent, all('#bin li').length]";
    assert_eq!(page.js::<(String, usize)>(bin).await.0, "hidden");
    page.click("one('#new-line')").await;
    unfold(&page).await;
    press(&page, "delete", 0).await;
    page.click("one('#the-bin summary')").await;
    assert_eq!(page.js::<(String, usize)>(bin).await, ("Delete them for good".into(), 1));
    page.click("one('#empty-bin')").await;
    assert_eq!(page.js::<(String, usize)>(bin).await, ("Delete 1 line for good".into(), 1));
    page.click("one('#empty-bin')").await;
    assert_eq!(page.js::<(String, usize)>(bin).await.0, "hidden");
    let kept: String = page.js("return localStorage.getItem('halfbar-lines')").await;
    assert!(!kept.contains("Week 3"), "{kept}");
    assert_eq!(titles(&page).await, ["A new line"]);
}

async fn a_link_brings_the_line(page: Page) {
    open(&page, LINE).await;
    page.open_part("share").await;
    page.click("one('#copy-link')").await;
    let link: String = page.js("return one('#link').value").await;
    assert!(link.contains("#line=") && link.len() < 300, "{link}");
    page.js::<Value>("localStorage.clear(); sessionStorage.clear()").await;
    page.driver().goto("about:blank").await.unwrap();
    page.driver().goto(&link).await.unwrap();
    page.until("the line is there", "return text().value.includes('Week 3')").await;
    assert_eq!(page.text().await, LINE);
    page.until("it is drawn", "return drawn('note').length === 8").await;
}

async fn bad_links_say_so(page: Page) {
    page.open(1280).await;
    let text = page.text().await;
    for fragment in ["#line=", "#line=AAAA", "#line=%3Cimg%20src%3Dx%3E", "#line=7Zx9_"] {
        page.js::<Value>(&format!("location.hash = '{fragment}'")).await;
        unfold(&page).await;
        page.until("the message is shown", "return one('#status').textContent.includes('link')").await;
        assert!(
            says(&page).await.starts_with("The line in this link can't be read"),
            "{}",
            says(&page).await
        );
        assert_eq!(page.text().await, text);
        page.js::<Value>("one('#status').textContent = ''; location.hash = ''").await;
    }
    // A decompression bomb: ten million letters in ten thousand.
    let bomb: String = page
        .js(
            "const stream = new Blob(['A'.repeat(1e7)]).stream().pipeThrough(new CompressionStream('deflate-raw'));
            return new Response(stream).arrayBuffer().then((packed) =>
                btoa(String.fromCharCode(...new Uint8Array(packed))).replaceAll('+', '-').replaceAll('/', '_').replace(/=+$/, ''))",
        )
        .await;
    page.js::<Value>(&format!("location.hash = '#line={bomb}'")).await;
    page.until("the message is shown", "return one('#status').textContent.includes('link')").await;
    assert_eq!(page.text().await, text);
    // Too long for a link: words that can't be compressed.
    let words: Vec<String> =
        (1..2_000u64).map(|word| format!("{:x}", word.wrapping_mul(0x9e37_79b9_7f4a_7c15))).collect();
    page.paste(&format!("{LINE}# {}\n", words.join(" "))).await;
    page.open_part("share").await;
    page.click("one('#copy-link')").await;
    page.until("the message is shown", "return one('#status').textContent.includes('too long for a link')")
        .await;
}

async fn files_go_out_and_come_in(page: Page) {
    open(&page, LINE).await;
    page.catch_files().await;
    let mut texts = Vec::new();
    for (button, name) in [
        ("save-text", "week-3-a-short-one.txt"),
        ("save-svg", "week-3-a-short-one.svg"),
        ("save-all", "halfbar-lines.json"),
    ] {
        page.open_part(if button == "save-all" { "lines" } else { "share" }).await;
        page.click(&format!("one('#{button}')")).await;
        page.until("it is saved", &format!("return files.at(-1)?.saved === '{name}'")).await;
        texts.push(page.js::<String>("return files.at(-1).text()").await);
    }
    assert_eq!(texts[0], LINE);
    assert!(texts[1].starts_with("<svg") && texts[1].contains("Week 3"), "{}", &texts[1][..200]);
    page.open_part("share").await;
    page.click("one('#save-png')").await;
    page.until("the picture is saved", "return files.at(-1)?.saved === 'week-3-a-short-one.png'").await;
    let (width, white): (u32, bool) = page
        .js("return createImageBitmap(files.at(-1)).then((picture) => {
                const canvas = new OffscreenCanvas(picture.width, picture.height).getContext('2d');
                canvas.drawImage(picture, 0, 0);
                return [picture.width, canvas.getImageData(1, 1, 1, 1).data.every((part) => part === 255)];
            })")
        .await;
    assert!(width > 1500 && white, "{width} pixels wide");
    // The library is restored from its file; lines that are already here don't come twice.
    unfold(&page).await;
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
    for (name, text, count, opened) in [
        ("lines.json", texts[2].clone(), 1, LINE.to_string()),
        ("other.txt", LINE.replace("Week 3", "Week 9"), 2, LINE.replace("Week 3", "Week 9")),
        (
            "more.json",
            json!({ "lines": [{ "text": LINE }, { "text": "D4:4 |\n" }, { "text": "C4:4 |\n" }] })
                .to_string(),
            4,
            "C4:4 |\n".into(),
        ),
    ] {
        let file = folder.join(format!("keep-{name}"));
        std::fs::write(&file, text).unwrap();
        let field = page.driver().find(By::Id("open-file")).await.unwrap();
        field.send_keys(file.to_str().unwrap()).await.unwrap();
        page.until("it is open", &format!("return text().value === {}", json!(opened))).await;
        assert_eq!(titles(&page).await.len(), count, "{name}");
    }
    for (name, content) in [("picture.txt", vec![0u8; 100]), ("huge.txt", b"C4 D E F ".repeat(50_000))] {
        let file = folder.join(format!("keep-{name}"));
        std::fs::write(&file, content).unwrap();
        let field = page.driver().find(By::Id("open-file")).await.unwrap();
        field.send_keys(file.to_str().unwrap()).await.unwrap();
        page.until(
            "it is refused",
            "return one('#import-says').textContent.includes('t the text of a line')",
        )
        .await;
        assert_eq!(page.text().await, "C4:4 |\n");
    }
}

async fn two_windows_lose_nothing(page: Page) {
    open(&page, LINE).await;
    let own = page.driver().window().await.unwrap();
    let other = page.new_window().await;
    page.driver().switch_to_window(other).await.unwrap();
    page.go().await;
    page.until("the same line is open", "return text().value.includes('Week 3')").await;
    // Both change it.
    page.go_to_end_of_text().await;
    page.keys("C4:4 |").await;
    kept(&page, "C4:4").await;
    page.driver().switch_to_window(own).await.unwrap();
    page.go_to_end_of_text().await;
    page.keys("D4:4 |").await;
    kept(&page, "D4:4").await;
    let text: String = page.js("return localStorage.getItem('halfbar-lines')").await;
    assert!(text.contains("C4:4") && text.contains("D4:4"), "{text}");
    assert!(says(&page).await.contains("changed in another window"), "{}", says(&page).await);
    assert!(page.text().await.ends_with("D4:4 |"));
}

/// A second window with the same lines.
async fn in_another_window(page: &Page, script: &str) {
    let own = page.driver().window().await.unwrap();
    let other = page.new_window().await;
    page.driver().switch_to_window(other).await.unwrap();
    page.go().await;
    page.until_alive().await;
    unfold(page).await;
    page.until("its lines are there", "return all('#lines li').length > 0").await;
    page.js::<Value>(script).await;
    page.driver().close_window().await.unwrap();
    page.driver().switch_to_window(own).await.unwrap();
}

async fn two_windows_keep_their_own_lines(page: Page) {
    open(&page, LINE).await;
    page.click("one('#new-line')").await;
    unfold(&page).await;
    in_another_window(&page, "one('#lines [data-delete]').click(); one('#new-line').click()").await;
    page.until("the change is received", "return all('#lines li').length === 2").await;
    assert_eq!(
        titles(&page).await,
        ["A new line", "A new line"],
        "Week 3 was deleted there, so it has to be deleted here"
    );
    page.go_to_end_of_text().await;
    page.keys("E4:4 |").await;
    kept(&page, "E4:4").await;
    unfold(&page).await;
    assert_eq!(titles(&page).await.len(), 2);
    // A line that is deleted in another window while it is changed here stays.
    in_another_window(
        &page,
        "all('#lines [data-delete]').forEach(() => one('#lines [data-delete]').click())",
    )
    .await;
    page.until("they are gone", "return all('#lines li').length === 0").await;
    page.go_to_end_of_text().await;
    page.keys("F4:4 |").await;
    kept(&page, "F4:4").await;
    unfold(&page).await;
    assert_eq!(titles(&page).await, ["A new line"]);
}

async fn a_deleted_line_gives_its_place_and_comes_back(page: Page) {
    open(&page, LINE).await;
    page.click("one('#new-line')").await;
    unfold(&page).await;
    page.click("all('#lines [data-delete]')[1]").await;
    assert_eq!(page.text().await, LINE, "the other line is open");
    assert!(says(&page).await.starts_with("Deleted."), "{}", says(&page).await);
    page.click("one('#status button')").await;
    assert!(page.text().await.starts_with("title: A new line"), "{}", page.text().await);
    assert_eq!(titles(&page).await, ["Week 3, a short one", "A new line"]);
    // One that isn't open comes back beside the one that is.
    page.click("all('#lines [data-delete]')[0]").await;
    assert!(page.text().await.starts_with("title: A new line"), "{}", page.text().await);
    page.click("one('#status button')").await;
    assert!(page.text().await.starts_with("title: A new line"), "{}", page.text().await);
    assert_eq!(titles(&page).await, ["A new line", "Week 3, a short one"]);
    // Once the last one is deleted, the page is as it was at first.
    page.click("one('#lines [data-delete]')").await;
    page.click("one('#lines [data-delete]')").await;
    assert_eq!(page.text().await, page.js::<String>("return text().defaultValue").await);
}

async fn a_line_with_a_mistake_comes_back_as_far_as_it_can_be_read(page: Page) {
    open(&page, LINE).await;
    page.paste(&LINE.replace("C4", "C4 H")).await;
    kept(&page, "C4 H").await;
    page.open(1280).await;
    assert!(page.text().await.contains("C4 H"), "{}", page.text().await);
    // Its own title and its own notes, in gray.
    let music: (String, bool) =
        page.js("return [one('#sheet').ariaLabel, one('#sheet').classList.contains('stale')]").await;
    assert!(music.0.contains("Week 3") && music.1, "{music:?}");
    // For a text without music, there is none.
    page.paste("title: Words only\nIt rained all week.\n").await;
    kept(&page, "Words only").await;
    page.open(1280).await;
    assert_eq!(page.js::<usize>("return all('#sheet .note').length").await, 0);
}

/// What another window wrote a moment ago, before this one is notified.
async fn unannounced_changes_are_taken_in(page: Page) {
    open(&page, LINE).await;
    page.js::<Value>(
        "const kept = JSON.parse(localStorage.getItem('halfbar-lines'));
        kept.lines.push({ id: 77, text: 'title: Unheard\\nC4:4 |\\n' });
        localStorage.setItem('halfbar-lines', JSON.stringify(kept))",
    )
    .await;
    page.click("one('#new-line')").await;
    unfold(&page).await;
    assert_eq!(titles(&page).await, ["Week 3, a short one", "Unheard", "A new line"]);
    kept(&page, "Unheard").await;
}

async fn early_changes_are_not_lost(page: Page) {
    open(&page, LINE).await;
    // A user who comes back and types before the lines are loaded.
    page.js::<Value>(
        "sessionStorage.setItem('lines', localStorage.getItem('halfbar-lines'));
        localStorage.removeItem('halfbar-lines')",
    )
    .await;
    page.open(1280).await;
    page.js::<Value>(
        "localStorage.setItem('halfbar-lines', sessionStorage.getItem('lines'));
        text().value += 'C4:4 |';
        text().dispatchEvent(new Event('input', { bubbles: true }))",
    )
    .await;
    unfold(&page).await;
    kept(&page, "C4:4").await;
    assert_eq!(titles(&page).await.len(), 2);
    assert!(page.text().await.ends_with("C4:4 |"));
    // A user who types and immediately follows a link.
    page.open_part("share").await;
    page.click("one('#copy-link')").await;
    page.js::<Value>(
        "const fragment = one('#link').value.split('#')[1];
        text().value = 'D4:4 |';
        text().dispatchEvent(new Event('input', { bubbles: true }));
        location.hash = fragment",
    )
    .await;
    page.until("the link's line is there", "return text().value.endsWith('C4:4 |')").await;
    kept(&page, "D4:4").await;
}

async fn storage_that_is_damaged_or_full_says_so(page: Page) {
    page.open(1280).await;
    for damaged in ["{", "[]", "null", "{\"lines\":[{\"text\":5}]}", "<img src=x onerror=alert(1)>"] {
        page.js::<Value>(&format!("localStorage.setItem('halfbar-lines', {})", json!(damaged))).await;
        page.open(1280).await;
        unfold(&page).await;
        page.until("the message is shown", "return one('#status').textContent.includes('could not be read')")
            .await;
        let aside: String = page.js("return localStorage.getItem('halfbar-lines-damaged')").await;
        assert_eq!(aside, damaged);
        assert!(page.music().await.counts.notes > 50, "the page still works");
    }
    page.js::<Value>(
        "localStorage.clear(); Storage.prototype.setItem = () => { throw new DOMException('full', 'QuotaExceededError'); }",
    )
    .await;
    page.paste(LINE).await;
    page.until(
        "the message is shown",
        "return one('#status').textContent.includes('Browser storage is full')",
    )
    .await;
    assert_eq!(page.text().await, LINE);
    // Also where something else would be said.
    unfold(&page).await;
    page.click("one('#lines [data-delete]')").await;
    assert!(says(&page).await.starts_with("Browser storage is full"), "{}", says(&page).await);
}

async fn hostile_titles_stay_text(page: Page) {
    let title =
        "</title><img src=x onerror=\"document.body.dataset.harmed=1\"><script>1</script>\u{202e}x\u{200b}";
    open(&page, &LINE.replace("Week 3", &format!("Week 3 {title}"))).await;
    assert!(titles(&page).await[0].contains("<img src=x"), "{:?}", titles(&page).await);
    page.open_part("share").await;
    page.click("one('#save-svg')").await;
    let harmed: (usize, bool) =
        page.js("return [all('main img, main script').length, 'harmed' in document.body.dataset]").await;
    assert_eq!(harmed, (0, false));
}
