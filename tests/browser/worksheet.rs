//! Worksheets on the page: what is on them, their pages, what a browser prints, and the PDF.
//!
//! PDFs are read back by poppler (Debian `poppler-utils`), which has nothing to do with this project.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use halfbar_core::worksheet::Format;
use halfbar_core::{drill, read};
use halfbar_tests::target;
use serde_json::{Value, json};

use crate::page::Page;
use crate::paper::poppler;

scenarios! {
    served (Served):
        the_line_is_on_the_sheet_as_it_stands, steps_shapes_and_keys_are_put_on_it, kept_lines_are_as_they_are_now, examples_are_moved_and_removed,
        tasks_and_answers, names_to_fill_in, what_is_printed_on_each_paper, paper_is_the_usual_one_or_the_last, a_pdf_is_saved, what_cannot_be_added_says_why, hostile_titles_stay_text;
    from_disk (OneFile): a_pdf_is_saved;
}

const LINE: &str = "title: Week 5, a short one\nkey: F\nmeter: 4/4\nrecast: split-last at 1.1 bracket\n\n\
                    @Fmaj7 F3 A C4 E  D C Bb A | @Gm7 G3 Bb D F  E D C Bb |\n";

/// Opens the part, and waits until it is filled.
async fn open(page: &Page, width: u32, line: &str) {
    page.open_with(width, line).await;
    page.open_part("worksheet").await;
    page.until("the pages are drawn", "return all('#pages .page').length > 0").await;
}

async fn put(page: &Page, source: &str, examples: usize) {
    page.js::<Value>(&format!("one('#source').value = {}", json!(source))).await;
    page.click("one('#put-on')").await;
    page.until("it is on the sheet", &format!("return one('#examples').children.length === {examples}"))
        .await;
    settled(page).await;
}

/// Waits until the pages show the change.
async fn settled(page: &Page) {
    page.js::<Value>("return new Promise((resolve) => setTimeout(resolve, 700))").await;
}

async fn titles(page: &Page) -> Vec<String> {
    page.js("return all('#examples span').map((title) => title.textContent)").await
}

async fn says(page: &Page) -> String {
    page.js("return one('#worksheet-says').textContent").await
}

/// How many parts of a kind are on the pages.
async fn parts(page: &Page, kind: &str) -> usize {
    page.js(&format!("return all('#pages g.{kind}').length")).await
}

async fn notes(page: &Page) -> usize {
    page.js("return all('#pages g.music g.note').length").await
}

async fn the_line_is_on_the_sheet_as_it_stands(page: Page) {
    open(&page, 1280, LINE).await;
    assert_eq!((parts(&page, "head").await, notes(&page).await), (1, 16));
    assert_eq!(says(&page).await, "1 page.");
    // The same music as above, even after a tap.
    for choice in ["tied", "bracket"] {
        page.open_part("figures").await;
        page.click_pad(2, 1).await;
        page.click(&format!("one('input[value={choice}]').closest('label')")).await;
        page.open_part("worksheet").await;
        settled(&page).await;
        let above: usize = page.js("return drawn('note').length").await;
        assert_eq!(notes(&page).await, above);
    }
    page.click("one('#worksheet-title')").await;
    page.js::<Value>("one('#worksheet-title').select()").await;
    page.keys("Tuesday").await;
    page.click("one('#workshop')").await;
    page.keys("Harbour Lane").await;
    settled(&page).await;
    let title: String = page.js("return one('#pages .page title').textContent").await;
    assert_eq!(title, "Tuesday, page 1 of 1");
    // The studio's name is remembered from week to week.
    page.open(1280).await;
    page.open_part("worksheet").await;
    page.until("the name is back", "return one('#workshop').value === 'Harbour Lane'").await;
    // The sheet has the same view as the music.
    page.js::<Value>(
        "one('#view').value = 'staff'; one('#view').dispatchEvent(new Event('change', { bubbles: true }))",
    )
    .await;
    page.until(
        "the tab is gone",
        "return all('#pages .page').length > 0 && all('#pages g.fret').length === 0",
    )
    .await;
}

async fn steps_shapes_and_keys_are_put_on_it(page: Page) {
    open(&page, 1280, LINE).await;
    let reading = read::text(LINE);
    let (line, casting) = (reading.line.unwrap(), reading.casting);
    let figure = casting.figure("split-last").unwrap();
    let ladder = drill::ladder(&figure, drill::Side::Triplets, Some((&line, &casting))).unwrap();
    let mut expected: Vec<String> = ladder.into_iter().map(|step| step.says).collect();
    put(&page, "steps", expected.len()).await;
    assert_eq!(titles(&page).await, expected);
    assert_eq!(parts(&page, "head").await, expected.len());
    expected.extend(["Week 5, a short one".to_string(), "Week 5, a short one".to_string()]);
    put(&page, "shape", expected.len() - 1).await;
    put(&page, "keys", expected.len()).await;
    assert_eq!(titles(&page).await, expected);
    assert_eq!(parts(&page, "head").await, expected.len());
    let pages: usize = page.js("return all('#pages .page').length").await;
    assert!(pages > 3, "{pages}");
    assert_eq!(says(&page).await, format!("{pages} pages."));
}

async fn kept_lines_are_as_they_are_now(page: Page) {
    open(&page, 1280, LINE).await;
    page.until("the line is kept", "return (localStorage.getItem('halfbar-lines') ?? '').includes('Week 5')")
        .await;
    put(&page, "line", 1).await;
    page.open_part("lines").await;
    page.until("the lines are listed", "return all('#lines li').length > 0").await;
    page.frames().await;
    page.click("one('#new-line')").await;
    page.open_part("worksheet").await;
    page.until("it is offered", "return one('#kept-lines').children.length === 2").await;
    let offered: Vec<String> =
        page.js("return all('#kept-lines option').map((line) => line.textContent)").await;
    assert_eq!(offered, ["Week 5, a short one", "A new line"]);
    let second: String = page.js("return all('#kept-lines option')[1].value").await;
    put(&page, &second, 2).await;
    assert_eq!(titles(&page).await, offered);
    // The first is opened and changed; the second stays the same.
    page.open_part("lines").await;
    page.click("all('#lines [data-open]')[0]").await;
    page.open_part("figures").await;
    page.click("one('input[value=tied]').closest('label')").await;
    page.click_pad(2, 1).await;
    page.open_part("lines").await;
    page.js::<Value>(
        "const title = all('#lines input')[0];
        title.value = 'Week 6';
        title.dispatchEvent(new Event('change', { bubbles: true }))",
    )
    .await;
    page.open_part("worksheet").await;
    page.until("the worksheet is updated", "return one('#examples span').textContent === 'Week 6'").await;
    settled(&page).await;
    let above: usize = page.js("return drawn('note').length").await;
    assert_eq!(notes(&page).await, above + 9, "{above} notes and those of the new line");
    // A line that is deleted stays on the sheet as it was.
    page.open_part("lines").await;
    page.click("all('#lines [data-delete]')[1]").await;
    page.open_part("worksheet").await;
    settled(&page).await;
    assert_eq!(titles(&page).await, ["Week 6", "A new line"]);
}

async fn examples_are_moved_and_removed(page: Page) {
    open(&page, 390, LINE).await;
    let count = drill_steps();
    put(&page, "steps", count).await;
    let start = titles(&page).await;
    page.click("one('[data-down=\"0\"]')").await;
    assert_eq!(titles(&page).await[..3], [start[1].clone(), start[0].clone(), start[2].clone()]);
    assert_eq!(page.focus().await, format!("Down: {}", start[0]), "the focus goes with the example");
    page.click("one('[data-up=\"1\"]')").await;
    assert_eq!(titles(&page).await, start);
    // At the edge, it can't move any farther, and the focus stays with the example.
    assert_eq!(page.focus().await, format!("Remove: {}", start[0]));
    page.click(&format!("one('[data-off=\"{}\"]')", count - 1)).await;
    page.click("one('[data-off=\"0\"]')").await;
    assert_eq!(titles(&page).await, start[1..count - 1]);
    assert_eq!(page.focus().await, format!("Remove: {}", start[1]));
    settled(&page).await;
    assert_eq!(parts(&page, "head").await, count - 2);
    page.click("one('#take-all-off')").await;
    assert_eq!(titles(&page).await, Vec::<String>::new());
    assert_eq!(page.js::<String>("return document.activeElement.id").await, "put-on");
    settled(&page).await;
    assert_eq!(parts(&page, "head").await, 1, "an empty sheet shows the page's line");
}

async fn tasks_and_answers(page: Page) {
    open(&page, 1280, LINE).await;
    page.click("one('#recast-yourself')").await;
    settled(&page).await;
    assert_eq!(
        (parts(&page, "task").await, parts(&page, "staves").await, parts(&page, "answer").await),
        (1, 1, 0)
    );
    // An answer key is for what is left blank.
    let boxes = "return [one('#answers').checked, one('#recast-yourself').checked]";
    page.click("one('#answers')").await;
    assert_eq!(page.js::<[bool; 2]>(boxes).await, [true, true]);
    page.click("one('#recast-yourself')").await;
    assert_eq!(page.js::<[bool; 2]>(boxes).await, [false, false]);
    page.click("one('#answers')").await;
    page.click("one('#room-for-notes')").await;
    settled(&page).await;
    assert_eq!((parts(&page, "answer").await, parts(&page, "notes").await), (1, 1));
    assert_eq!(says(&page).await, "2 pages.");
}

async fn names_to_fill_in(page: Page) {
    open(&page, 1280, LINE).await;
    let brackets = "return all('#pages [data-name]').length";
    assert_eq!(page.js::<usize>(brackets).await, 0, "the line doesn't ask for them");
    let names = async |which: &str| {
        page.js::<Value>(&format!(
            "one('#sheet-names').value = '{which}'; one('#sheet-names').dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ))
        .await;
        settled(&page).await;
        page.js::<usize>(brackets).await
    };
    assert!(names("printed").await > 2);
    assert!(names("blank").await > 2);
    // The key has the words, and blank brackets are enough to have one.
    page.click("one('#answers')").await;
    settled(&page).await;
    let boxes: [bool; 2] = page.js("return [one('#answers').checked, one('#recast-yourself').checked]").await;
    assert_eq!(boxes, [true, false]);
    assert_eq!(parts(&page, "answer").await, 1);
    names("as-written").await;
    assert!(!page.js::<bool>("return one('#answers').checked").await, "nothing is left blank");
}

async fn what_is_printed_on_each_paper(page: Page) {
    open(&page, 1280, LINE).await;
    put(&page, "steps", drill_steps()).await;
    for (paper, size) in [("a4", [595.3, 841.9]), ("letter", [612.0, 792.0])] {
        page.js::<Value>(&format!(
            "one('#paper').value = '{paper}'; one('#paper').dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ))
        .await;
        settled(&page).await;
        let pages: usize = page.js("return all('#pages .page').length").await;
        let info = printed(&page, &format!("worksheet-{paper}")).await;
        assert_eq!(field(&info, "Pages"), pages.to_string());
        let numbers: Vec<f64> =
            field(&info, "Page size").split(' ').filter_map(|word| word.parse().ok()).collect();
        assert!(
            numbers.iter().zip(size).all(|(found, asked)| (found - asked).abs() < 1.0),
            "{paper}: {numbers:?}"
        );
    }
    // Once that part is closed, it is not what is printed. Printing the line closes it.
    page.js::<Value>("window.print = () => (window.printed = (window.printed ?? 0) + 1)").await;
    page.click("one('#print-worksheet')").await;
    page.open_part("share").await;
    page.click("one('#print-line')").await;
    let asked: (usize, bool) = page.js("return [window.printed, shown(one('#worksheet'))]").await;
    assert_eq!(asked, (2, false));
    let info = printed(&page, "worksheet-closed").await;
    assert_eq!(field(&info, "Pages"), "1");
}

/// Until a reader chooses one, paper is what is usual in the region of the browser's language.
async fn paper_is_the_usual_one_or_the_last(page: Page) {
    open(&page, 1280, LINE).await;
    let language: String = page.js("return navigator.language").await;
    let paper = async || page.js::<String>("return one('#paper').value").await;
    let usual = Format::usual_for(&language);
    assert_eq!(paper().await, usual.name(), "{language}");
    let other = if usual == Format::A4 { Format::Letter } else { Format::A4 };
    page.js::<Value>(&format!(
        "one('#paper').value = '{other}'; one('#paper').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ))
    .await;
    settled(&page).await;
    open(&page, 1280, LINE).await;
    assert_eq!(paper().await, other.name());
}

fn drill_steps() -> usize {
    let reading = read::text(LINE);
    let (line, casting) = (reading.line.unwrap(), reading.casting);
    let figure = casting.figure("split-last").unwrap();
    drill::ladder(&figure, drill::Side::Triplets, Some((&line, &casting))).unwrap().len()
}

/// What poppler says about what the browser prints.
async fn printed(page: &Page, name: &str) -> String {
    let asked = json!({ "preferCSSPageSize": true, "printBackground": true });
    let printed = page.cdp("Page.printToPDF", asked).await;
    read_back(name, &STANDARD.decode(printed["data"].as_str().unwrap()).unwrap())
}

fn read_back(name: &str, pdf: &[u8]) -> String {
    let file = target().join("shots").join(format!("{name}.pdf"));
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    std::fs::write(&file, pdf).unwrap();
    poppler("pdfinfo", &[file.to_str().unwrap()])
}

fn field(info: &str, name: &str) -> String {
    let row = info.lines().find_map(|row| row.strip_prefix(&format!("{name}:")));
    row.unwrap_or_else(|| panic!("no `{name}` in {info}")).trim().to_string()
}

async fn a_pdf_is_saved(page: Page) {
    open(&page, 1280, LINE).await;
    page.catch_files().await;
    page.click("one('#workshop')").await;
    page.keys("Harbour Lane").await;
    page.click("one('#save-pdf')").await;
    page.until("the file is there", "return files.length === 1 && files[0].saved !== undefined").await;
    let (name, kind, bytes): (String, String, String) = page
        .js("return files[0].arrayBuffer().then((bytes) =>
                [files[0].saved, files[0].type, btoa(String.fromCharCode(...new Uint8Array(bytes)))])")
        .await;
    assert_eq!((name.as_str(), kind.as_str()), ("worksheet.pdf", "application/pdf"));
    let info = read_back("worksheet-saved", &STANDARD.decode(bytes).unwrap());
    assert_eq!(field(&info, "Title"), "Worksheet");
    assert_eq!(field(&info, "Author"), "Harbour Lane");
    assert_eq!(field(&info, "Pages"), "1");
    let file = target().join("shots/worksheet-saved.pdf");
    let words = poppler("pdftotext", &[file.to_str().unwrap(), "-"]);
    for word in ["Worksheet", "Harbour Lane", "Week 5, a short one", "Fmaj7", "Gm7"] {
        assert!(words.contains(word), "`{word}` is not found in: {words}");
    }
}

async fn what_cannot_be_added_says_why(page: Page) {
    open(&page, 1280, LINE).await;
    let before = notes(&page).await;
    page.go_to_end_of_text().await;
    page.keys("H4").await;
    page.open_part("worksheet").await;
    page.until("the message is shown", "return one('#worksheet-says').textContent.includes('mistake')").await;
    assert_eq!(notes(&page).await, before, "the last good pages stay");
    page.js::<Value>("one('#source').value = 'steps'").await;
    page.click("one('#put-on')").await;
    page.until(
        "the message is shown",
        "return one('#worksheet-says').textContent.startsWith('Fix the mistake in the text first')",
    )
    .await;
    assert_eq!(titles(&page).await, Vec::<String>::new());
    // The message about what can't be made stays until something is changed.
    page.paste(LINE).await;
    page.open_part("worksheet").await;
    settled(&page).await;
    page.js::<Value>("one('#source').value = 'shape'; one('#shape-steps').value = '99'").await;
    page.click("one('#put-on')").await;
    settled(&page).await;
    assert_eq!(says(&page).await, "The number of steps must be a whole number from 1 to 24.");
}

async fn hostile_titles_stay_text(page: Page) {
    let title = "<img src=x onerror=alert(1)>\u{202e}&lt;";
    open(&page, 1280, &LINE.replace("Week 5, a short one", title)).await;
    put(&page, "line", 1).await;
    page.js_with::<Value>(
        "one('#worksheet-title').value = arguments[0]; one('#workshop').value = arguments[0];
        one('#workshop').dispatchEvent(new Event('input', { bubbles: true }))",
        &[json!(title)],
    )
    .await;
    settled(&page).await;
    assert_eq!(page.js::<usize>("return all('#worksheet img, #worksheet script').length").await, 0);
    assert!(titles(&page).await[0].contains("<img src=x"), "{:?}", titles(&page).await);
}
