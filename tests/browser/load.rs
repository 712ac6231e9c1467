//! Opening the page.

use serde_json::{Value, json};

use crate::expected::{LINE, count};
use crate::page::Page;

scenarios! {
    served (Served):
        the_line_is_drawn_without_any_action, the_music_is_there_for_screen_readers,
        the_music_is_there_without_script, the_module_takes_over_without_a_jump, the_built_page_is_what_the_module_draws;
    from_disk (OneFile): the_line_is_drawn_without_any_action, the_music_is_there_without_script,
        a_browser_that_cannot_decompress_says_so;
    folder_from_disk (ManyFiles): a_page_that_cannot_load_says_so;
}

async fn the_line_is_drawn_without_any_action(page: Page) {
    page.open(1280).await;
    let (text, music) = (page.text().await, page.music().await);
    let expected = count(&text);
    assert!(expected.notes > 50 && expected.tuplets > 1 && expected.chords > 5, "no line: {text}");
    assert_eq!(music.counts, expected, "{text}");
    // Every notehead has a number on the tab, in parentheses if it is tied from the one before.
    assert_eq!(music.frets, expected.notes);
    for role in ["note", "fret"] {
        let nameless: usize = page
            .js(&format!(
                "return drawn('{role}').filter((sign) => !/^\\d+$/.test(sign.dataset.note) \
                 || !/^[1-9]\\d*$/.test(sign.dataset.bar)).length"
            ))
            .await;
        assert_eq!(nameless, 0, "{role}s without data-note or data-bar");
    }
    // A note tied from the one before belongs to the same event.
    let events: usize = page.js("return new Set(drawn('note').map((note) => note.dataset.note)).size").await;
    assert_eq!(events, expected.notes - expected.ties);

    let (title, label): (String, String) =
        page.js("return [text().value.match(/^title: (.*)$/m)[1], label(one('#sheet'))]").await;
    assert_eq!(
        label,
        format!("\u{201C}{title}\u{201D}: 8 bars in 4/4, E flat major, 132 quarter notes per minute, swing.")
    );
    let failure: Value = page.js("return [one('#failure').hidden, one('#failure').textContent]").await;
    assert_eq!(failure, json!([true, ""]));
    let resources: Vec<String> =
        page.js("return performance.getEntriesByType('resource').map((entry) => entry.name)").await;
    let origin: String = page.js("return location.origin === 'null' ? 'file://' : location.origin").await;
    assert!(
        resources.iter().all(|name| name.starts_with(&origin) || name.starts_with("data:")),
        "{resources:?}"
    );
}

async fn a_page_that_cannot_load_says_so(page: Page) {
    page.go().await;
    page.until("the failure is shown", "return !one('#failure').hidden").await;
    let said: String = page.js("return one('#failure').innerText").await;
    assert!(said.starts_with("Sorry, the music could not be loaded"), "{said}");
    let (role, visible): (String, bool) = page
        .js("const note = one('#failure'); return [note.role, note.getBoundingClientRect().height > 20]")
        .await;
    assert_eq!((role.as_str(), visible), ("alert", true));
    // The line can still be read.
    assert!(page.text().await.contains("@Fm7"), "the text is gone");
}

async fn a_browser_that_cannot_decompress_says_so(page: Page) {
    let source = "delete globalThis.DecompressionStream";
    page.cdp("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source })).await;
    page.go().await;
    page.until("the failure is shown", "return !one('#failure').hidden").await;
    let said: String = page.js("return one('#failure').innerText").await;
    assert!(said.starts_with("Sorry, the music could not be loaded"), "{said}");
    assert!(said.ends_with("Please update your browser, or open this file in another one."), "{said}");
    assert!(page.text().await.contains("@Fm7"), "the text is gone");
}

/// What a visitor without scripts sees and hears.
async fn the_music_is_there_without_script(page: Page) {
    for width in [1280, 390] {
        page.resize(width).await;
        page.cdp("Emulation.setScriptExecutionDisabled", json!({ "value": true })).await;
        page.go().await;
        let seen = "const seen = (one) => one.checkVisibility();
            const rows = all('#sheet .row').filter(seen);
            return [rows.length, all('.spoken li', rows[0].parentElement).length, rows.every((row) => row.clientWidth > innerWidth / 2),
                all('#shelf, button, details').filter(seen).map((one) => one.outerHTML.slice(0, 80)), seen(text())]";
        let (rows, bars, wide, dead, text): (usize, usize, bool, Vec<String>, bool) = page.js(seen).await;
        assert!(rows > 2 && bars == 8 && wide && text, "{width}: {rows} rows, {bars} bars");
        assert!(dead.is_empty(), "{width}: controls that do nothing: {dead:?}");
        page.cdp("Emulation.setScriptExecutionDisabled", json!({ "value": false })).await;
    }
}

/// Nothing in view moves when the module takes over (Layout Instability, W3C Web Incubator).
async fn the_module_takes_over_without_a_jump(page: Page) {
    let source = "window.shifts = [];
        new PerformanceObserver((list) => {
            for (const { value, sources } of list.getEntries())
                shifts.push(`${value}: ${sources.map(({ node }) => node?.outerHTML?.slice(0, 80))}`);
        }).observe({ type: 'layout-shift', buffered: true });";
    page.cdp("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source })).await;
    for (width, narrower) in [(1280, 900), (390, 350)] {
        page.open(width).await;
        page.frames().await;
        let shifts: Vec<String> = page.js("return shifts").await;
        assert!(shifts.is_empty(), "{width}: {shifts:#?}");
        // It is still the same picture, and it follows the width.
        assert_eq!(page.js::<usize>("return all('[data-room]').length").await, 0);
        let before = page.music().await.systems;
        page.resize(narrower).await;
        let other = format!("return systems()[0].outerHTML !== {}", json!(before[0]));
        page.until("it is laid out again", &other).await;
        assert!(page.js::<bool>("return systems().every((system) => system.checkVisibility())").await);
    }
}

/// The music and the choices in the built site are the same as those that the module draws.
async fn the_built_page_is_what_the_module_draws(page: Page) {
    for (width, name) in [(1280, "wide"), (390, "narrow")] {
        page.open(width).await;
        let parts = "(inside) => [...inside.querySelectorAll('.row > div, .row > ul, .head')].map((part) => part.outerHTML)";
        let script = format!(
            "const parts = {parts};
            return fetch('index.html').then((page) => page.text()).then((page) => {{
                const came = new DOMParser().parseFromString(page, 'text/html');
                return [parts(came.querySelector('#sheet > .{name}')), came.querySelector('#figures').innerHTML, label(came.querySelector('#sheet'))];
            }})"
        );
        let came: (Vec<String>, String, String) = page.js(&script).await;
        assert!(came.0.len() > 6, "{width}: {:?}", came.0);
        for view in ["tab", "both"] {
            page.js::<Value>(&format!(
                "one('#view').value = '{view}'; one('#view').dispatchEvent(new Event('change', {{ bubbles: true }}))"
            ))
            .await;
        }
        // Every picture is redrawn, in another spelling and back.
        for spelling in ["tied", "bracket"] {
            page.js::<Value>(&format!("one('#spellings [value={spelling}]').click()")).await;
        }
        let now: (Vec<String>, String, String) =
            page.js(&format!("const parts = {parts}; return [parts(one('#sheet')), one('#figures').innerHTML, label(one('#sheet'))]")).await;
        assert_eq!(came, now, "{width}");
    }
}

/// As the browser presents it to assistive technology.
async fn the_music_is_there_for_screen_readers(page: Page) {
    page.open_with(1280, LINE).await;
    let tree = page.cdp("Accessibility.getFullAXTree", json!({})).await;
    let nodes: Vec<(&str, &str, &str)> = (tree["nodes"].as_array().unwrap().iter())
        .filter(|node| node["ignored"] == false)
        .map(|node| ["role", "name", "description"].map(|key| node[key]["value"].as_str().unwrap_or("")))
        .map(|[role, name, description]| (role, name, description))
        .collect();
    let names =
        |role: &str| nodes.iter().filter(|node| node.0 == role).map(|node| node.1).collect::<Vec<_>>();
    let pads: Vec<_> = names("button").into_iter().filter(|name| name.starts_with("bar ")).collect();
    assert_eq!(pads.len(), 16);
    assert_eq!(
        pads[..2],
        ["bar 1 beat 1: quarter-note triplet, last note split (one bracket)", "bar 1 beat 3: plain eighths"]
    );
    assert!(names("radio").len() >= 5, "{:?}", names("radio"));
    for role in ["button", "radio", "checkbox"] {
        assert!(names(role).iter().all(|name| !name.is_empty()), "{role}: {:?}", names(role));
    }
    assert_eq!(names("textbox"), ["The line as text"]);
    // The music: one picture per system, followed by one item per bar.
    let pictures: Vec<_> = names("image").into_iter().filter(|name| name.starts_with("bar")).collect();
    assert!(pictures[0].starts_with("bars 1 to ") && pictures.len() > 2, "{pictures:?}");
    let said: Vec<_> = names("StaticText").into_iter().filter(|said| said.starts_with("Bar ")).collect();
    let bars: Vec<_> = said.iter().filter(|said| said.contains(" string ")).collect();
    assert_eq!(bars.len(), 8, "{said:?}");
    assert!(
        bars[0]
            .starts_with("Bar 1, F minor 7: F 3, beat 1, quarter note in a triplet, string 5 fret 8, down; "),
        "{}",
        bars[0]
    );
    let items = names("listitem").len();
    assert!(items >= 8, "{items}");
    // A tap changes the description of its bar, and of no other.
    let spoken = "return all('.spoken li').map((item) => item.textContent)";
    let before: Vec<String> = page.js(spoken).await;
    page.click_pad(2, 1).await;
    let after: Vec<String> = page.js(spoken).await;
    let changed: Vec<usize> = (0..8).filter(|&bar| before[bar] != after[bar]).collect();
    assert!(
        changed.starts_with(&[1]) && after[1].contains("the last third of beat 1"),
        "{changed:?} {}",
        after[1]
    );
}
