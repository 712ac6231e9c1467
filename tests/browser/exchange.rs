//! Files of other programs: how they come into the page and go out of it.

use halfbar_core::exchange::midi::{self, MidiOptions};
use halfbar_core::exchange::musicxml::{self, Staves};
use halfbar_core::{Piece, read};
use halfbar_tests::midi::{file, note};
use serde_json::{Value, json};
use thirtyfour::prelude::*;

use crate::element::markup;
use crate::folder::Folder;
use crate::page::Page;

scenarios! {
    served (Served):
        files_are_opened_by_the_button, dropped_files_are_new_lines, a_voice_is_chosen_by_its_picture, what_a_file_leaves_open_is_asked,
        a_file_that_cannot_be_opened_says_why, what_is_saved_opens_as_the_same_text, the_module_is_fetched_when_it_is_needed;
    one_file (OneFile): what_is_saved_opens_as_the_same_text;
    blank (Blank): an_element_gives_its_files;
}

const LINE: &str = "title: Fog bell\nkey: F\nmeter: 4/4\ntempo: 132\nfeel: swing auto\nrecast: split-last at 1.1\n\n@Gm7 G3 Bb D F  A G F D | @C7 E4 G Bb C  D Bb G E |\n@Fmaj7 F4:2 r:2 |\n";

/// A guitar, and a piano with chords in its upper staff, each with something that a line can't have.
const SCORE: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0">
  <work><work-title>Two at the quay</work-title></work>
  <part-list>
    <score-part id="P1"><part-name>Guitar</part-name></score-part>
    <score-part id="P2"><part-name>Piano</part-name></score-part>
  </part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>
        <clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef></attributes>
      <note><pitch><step>C</step><octave>4</octave></pitch><duration>2</duration><voice>1</voice><type>half</type><lyric><text>fog</text></lyric></note>
      <note><pitch><step>E</step><octave>4</octave></pitch><duration>2</duration><voice>1</voice><type>half</type></note>
      <barline location="right"><repeat direction="backward"/></barline>
    </measure>
  </part>
  <part id="P2">
    <measure number="1">
      <attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>
        <staves>2</staves><clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef></attributes>
      <note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice><type>whole</type><staff>1</staff></note>
      <note><chord/><pitch><step>G</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice><type>whole</type><staff>1</staff></note>
      <backup><duration>4</duration></backup>
      <note><pitch><step>C</step><octave>2</octave></pitch><duration>4</duration><voice>5</voice><type>whole</type><staff>2</staff></note>
    </measure>
  </part>
</score-partwise>
"#;

fn piece(text: &str) -> Piece {
    let reading = read::text(text);
    Piece::new(reading.line.unwrap(), reading.casting).unwrap()
}

/// The line in each kind of file.
fn files() -> [(&'static str, Vec<u8>); 3] {
    let piece = piece(LINE);
    [
        ("fog.musicxml", musicxml::document(&piece, LINE, Staves::Both).unwrap().into_bytes()),
        ("fog.mxl", musicxml::compressed(&piece, LINE, Staves::Both).unwrap()),
        ("fog.mid", midi::document(&piece, LINE, &MidiOptions::default()).unwrap()),
    ]
}

/// Chooses a file with the button.
async fn choose(page: &Page, folder: &Folder, name: &str, content: &[u8]) {
    let file = folder.0.join(name);
    std::fs::write(&file, content).unwrap();
    page.open_part("import").await;
    let field = page.driver().find(By::Id("open-file")).await.unwrap();
    field.send_keys(file.to_str().unwrap()).await.unwrap();
}

/// Drops a file on something.
async fn drop_on(page: &Page, on: &str, name: &str, content: &[u8]) {
    let script = "const transfer = new DataTransfer();
        transfer.items.add(new File([Uint8Array.from(arguments[0])], arguments[1]));
        const drop = new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: transfer });
        one(arguments[2]).dispatchEvent(drop);
        return drop.defaultPrevented";
    let taken: bool = page.js_with(script, &[json!(content), json!(name), json!(on)]).await;
    assert!(taken, "the browser must not open the file itself");
}

async fn until_says(page: &Page, place: &str, words: &str) {
    let script = format!("return one('#{place}').textContent.includes({})", json!(words));
    page.until(words, &script).await;
}

async fn labels(page: &Page) -> Vec<String> {
    page.js("return all('#voices > li > button').map((button) => button.firstChild.textContent)").await
}

async fn kept(page: &Page) -> Vec<String> {
    page.js(
        "return JSON.parse(localStorage.getItem('halfbar-lines') ?? '{\"lines\":[]}').lines.map(({ text }) => text)",
    )
    .await
}

async fn files_are_opened_by_the_button(page: Page) {
    let folder = Folder::new("files");
    page.open(1280).await;
    let first = page.text().await;
    for (name, content) in files() {
        choose(&page, &folder, name, &content).await;
        until_says(&page, "status", "Opened Fog bell: 3 bars.").await;
        assert_eq!(page.text().await, LINE, "{name}");
        assert_eq!(page.js::<String>("return one('#line-name').textContent").await, "Fog bell");
        assert!(kept(&page).await.contains(&first), "the line before is kept");
        // Back to the line before.
        page.click("one('#status button')").await;
        assert_eq!(page.text().await, first, "{name}");
    }
    // Each of them is a new line.
    assert_eq!(kept(&page).await, [first.as_str(), LINE, LINE, LINE]);
}

async fn dropped_files_are_new_lines(page: Page) {
    page.open(390).await;
    let first = page.text().await;
    for ((name, content), on) in files().iter().zip(["#sheet", "#shelf", "#top"]) {
        drop_on(&page, on, name, content).await;
        until_says(&page, "status", "Opened Fog bell: 3 bars.").await;
        assert_eq!(page.text().await, LINE, "{name}");
        page.touch("one('#status button')").await;
        page.until("the line before is back", &format!("return text().value === {}", json!(first))).await;
    }
    // By what is in it, not by its name.
    drop_on(&page, "#sheet", "fog.txt", &files()[2].1).await;
    until_says(&page, "status", "Opened Fog bell").await;
    assert_eq!(page.text().await, LINE);
    assert!(page.is_pressed(1, 1).await, "its figure is where it was");
}

async fn a_voice_is_chosen_by_its_picture(page: Page) {
    page.open(1280).await;
    let first = page.text().await;
    drop_on(&page, "#sheet", "score.xml", SCORE.as_bytes()).await;
    until_says(&page, "import-says", "What should be opened").await;
    assert_eq!(
        labels(&page).await,
        [
            "Guitar: 2 notes",
            "Piano, staff 1: top notes (2 notes in all)",
            "Piano, staff 1: bottom notes (2 notes in all)",
            "Piano, staff 2: 1 note"
        ]
    );
    assert_eq!(page.text().await, first, "nothing is opened before one is chosen");
    // The pictures have the notes; the label is all that is read out.
    let notes: Vec<usize> =
        page.js("return all('#voices > li').map((item) => all('svg g.note', item).length)").await;
    assert_eq!(notes, [2, 1, 1, 1]);
    let hidden = "return all('#voices svg').every((picture) => picture.parentElement.ariaHidden === 'true')";
    assert!(page.js::<bool>(hidden).await);
    // By keys: from the button that opens files to the second voice.
    page.js::<Value>("one('#open-file').focus()").await;
    page.keys(Key::Tab).await;
    page.keys(Key::Tab).await;
    page.keys(Key::Enter).await;
    until_says(&page, "status", "Opened Two at the quay: 1 bar").await;
    assert!(page.text().await.contains("G4:4"), "{}", page.text().await);
    let focus: Option<String> = page.js("return document.activeElement.dataset.voice ?? null").await;
    assert_eq!(focus.as_deref(), Some("1"), "the focus stays");
    // What was left out stands below what was chosen.
    let left_out: Vec<String> =
        page.js("return all('#voices [aria-current] #left-out li').map((row) => row.textContent)").await;
    assert!(!left_out.is_empty(), "the other parts are left out");
    let said: String = page.js("return one('#status').firstChild.textContent").await;
    assert!(said.contains(&format!("{} thing", left_out.len())), "{said}: {left_out:?}");
    // The other voices are still there; each becomes a line.
    page.click("one('#voices li:first-child > button')").await;
    page.until("the guitar is open", "return text().value.includes('C4:2  E:2')").await;
    let left_out: String = page.js("return one('#left-out').textContent").await;
    assert!(left_out.contains("1 repeat") && left_out.contains("1 lyric"), "{left_out}");
    assert_eq!(kept(&page).await.len(), 3);
}

async fn what_a_file_leaves_open_is_asked(page: Page) {
    let folder = Folder::new("files");
    page.open(1280).await;
    choose(&page, &folder, "score.musicxml", SCORE.as_bytes()).await;
    page.until("the voices are there", "return all('#voices > li').length === 4").await;
    page.click("one('#voices li:last-child > button')").await;
    until_says(&page, "import-says", "below this neck").await;
    let said: String = page.js("return one('#import-says').textContent").await;
    assert!(said.starts_with("Bar 1 beat 1: ") && !said.contains("--octave"), "{said}");
    page.click("one('#import-asks button')").await;
    until_says(&page, "status", "Opened Two at the quay").await;
    assert!(page.text().await.contains("C3:4"), "{}", page.text().await);
    assert_eq!(page.js::<String>("return one('#import-says').textContent").await, "");
    // In which key: three notes of B flat major, one of which could also be A sharp.
    let notes = [(58, 0), (62, 480), (65, 960), (70, 1440)];
    let events: Vec<_> = notes.iter().flat_map(|&(key, at)| note(0, key, at, at + 480)).collect();
    choose(&page, &folder, "keyless.mid", &file(480, &events)).await;
    until_says(&page, "import-says", "does not say in which key it is").await;
    page.js::<Value>("one('#import-key').value = 'Bb'").await;
    page.click("one('#import-asks button')").await;
    until_says(&page, "status", "Opened “keyless.mid”").await;
    assert!(page.text().await.contains("key: Bb"), "{}", page.text().await);
}

async fn a_file_that_cannot_be_opened_says_why(page: Page) {
    let folder = Folder::new("files");
    page.open(1280).await;
    let first = page.text().await;
    let [_, (_, mxl), (_, midi)] = files();
    for (name, content, why) in [
        ("cut.mid", &midi[..midi.len() / 2], "damaged"),
        ("cut.mxl", &mxl[..mxl.len() / 2], "can't be opened"),
        ("cut.xml", &SCORE.as_bytes()[..400], "can't be opened"),
        ("page.html", b"<!doctype html><p>Fog</p>".as_slice(), "can't be opened"),
        ("nothing.xml", b"<score-partwise version=\"4.0\"/>".as_slice(), "can't be opened"),
    ] {
        // Where it was dropped.
        page.js::<Value>("one('#status').textContent = ''").await;
        drop_on(&page, "#sheet", name, content).await;
        until_says(&page, "status", why).await;
        let said: String = page.js("return one('#status').textContent").await;
        assert!(said.starts_with(&format!("\u{201c}{name}\u{201d} can't be opened: ")), "{said}");
        assert!(said.ends_with('.') && !said.contains("--"), "{said}");
        // And beside the button.
        choose(&page, &folder, name, content).await;
        until_says(&page, "import-says", why).await;
        assert_eq!(page.js::<String>("return one('#import-says').textContent").await, said);
    }
    assert_eq!(page.text().await, first);
    assert!(kept(&page).await.is_empty(), "no line comes of it");
}

async fn what_is_saved_opens_as_the_same_text(page: Page) {
    page.open(1280).await;
    page.paste(LINE).await;
    page.catch_files().await;
    for (button, view, name) in [
        ("save-musicxml", "musicxml-view=both", "fog-bell.musicxml"),
        ("save-musicxml", "musicxml-view=staff", "fog-bell.musicxml"),
        ("save-midi", "midi-times=played", "fog-bell.mid"),
        ("save-midi", "midi-times=straight", "fog-bell.mid"),
        ("save-midi", "midi-click=2+4", "fog-bell.mid"),
        ("save-midi", "midi-count-in=2", "fog-bell.mid"),
    ] {
        page.open_part("share").await;
        let (field, value) = view.split_once('=').unwrap();
        page.js::<Value>(&format!("one('#{field}').value = '{value}'")).await;
        let before: usize = page.js("return files.length").await;
        page.click(&format!("one('#{button}')")).await;
        until_says(&page, "status", &format!("Saved as {name}.")).await;
        let bytes: Vec<u8> = page
            .js(&format!(
                "return files.at({before}).arrayBuffer().then((bytes) => [...new Uint8Array(bytes)])"
            ))
            .await;
        assert_eq!(page.js::<usize>("return files.length").await, before + 1);
        // As the library writes it.
        let expected = expected(view);
        assert!(bytes == expected, "{view}: {} bytes instead of {}", bytes.len(), expected.len());
        page.js::<Value>("one('#new-line').click()").await;
        drop_on(&page, "#sheet", name, &bytes).await;
        until_says(&page, "status", "Opened Fog bell: 3 bars").await;
        assert_eq!(page.text().await, LINE, "{view}");
    }
    // A text with a mistake has no file.
    page.paste(&LINE.replace("A G F D", "A G H D")).await;
    page.open_part("share").await;
    page.click("one('#save-midi')").await;
    until_says(&page, "status", "Fix the mistake in the text first.").await;
}

/// The file for what the page was asked for, one thing after another.
fn expected(last: &str) -> Vec<u8> {
    let piece = piece(LINE);
    let click = Some("2+4".parse().unwrap());
    let options = match last {
        "musicxml-view=both" => return musicxml::document(&piece, LINE, Staves::Both).unwrap().into_bytes(),
        "musicxml-view=staff" => {
            return musicxml::document(&piece, LINE, Staves::Staff).unwrap().into_bytes();
        }
        "midi-times=played" => MidiOptions::default(),
        "midi-times=straight" => MidiOptions { straight: true, ..MidiOptions::default() },
        "midi-click=2+4" => MidiOptions { straight: true, click, ..MidiOptions::default() },
        _ => MidiOptions { straight: true, click, count_in: 2, ..MidiOptions::default() },
    };
    midi::document(&piece, LINE, &options).unwrap()
}

async fn the_module_is_fetched_when_it_is_needed(page: Page) {
    page.open(1280).await;
    let fetched = "return performance.getEntriesByType('resource').filter(({ name }) => name.endsWith('halfbar_exchange_bg.wasm')).length";
    page.open_part("import").await;
    page.open_part("share").await;
    // The worker that keeps the site on the device fetches by itself.
    assert_eq!(page.js::<usize>(fetched).await, 0);
    page.click("one('#save-musicxml')").await;
    until_says(&page, "status", "Saved as").await;
    assert_eq!(page.js::<usize>(fetched).await, 1);
    page.click("one('#save-midi')").await;
    until_says(&page, "status", ".mid.").await;
    assert_eq!(page.js::<usize>(fetched).await, 1);
}

async fn an_element_gives_its_files(page: Page) {
    page.put_elements(&markup("", LINE)).await;
    page.load_script().await;
    let files = page
        .later("return [await tag(0).musicxml(), await tag(0).musicxml({ view: 'staff' }), [...await tag(0).midi()], [...await tag(0).midi({ straight: true })]]")
        .await;
    let text: String = page.ask("return tag(0).text").await;
    let piece = piece(&text);
    let xml = |staves| json!(musicxml::document(&piece, &text, staves).unwrap());
    let midi = |straight| {
        json!(midi::document(&piece, &text, &MidiOptions { straight, ..MidiOptions::default() }).unwrap())
    };
    assert_eq!(files, json!([xml(Staves::Both), xml(Staves::Staff), midi(false), midi(true)]));
    // A script reads them back.
    let back = page
        .later(
            "const { default: init, open } = await import('./halfbar_exchange.js');
            await init();
            const bytes = new TextEncoder().encode(await tag(0).musicxml());
            const files = [open(bytes), open(await tag(0).midi())];
            return files.flatMap((file) => [file.format, file.title, file.choices().length, file.take(0).text === tag(0).text, file.picture(0).startsWith('<svg')])",
        )
        .await;
    assert_eq!(back, json!(["musicxml", "Fog bell", 1, true, true, "midi", "Fog bell", 1, true, true]));
    for (call, code) in [
        ("musicxml({ view: 'tab' })", "view"),
        ("musicxml({ views: 'both' })", "option"),
        ("midi({ straight: 1 })", "option"),
        ("midi({ click: '3' })", "option"),
        ("midi({ countIn: 1.5 })", "option"),
    ] {
        let failed = page
            .later(&format!(
                "return tag(0).{call}.then(() => 'fine', (error) => error instanceof Error && error.code)"
            ))
            .await;
        assert_eq!(failed, json!(code), "{call}");
    }
}
