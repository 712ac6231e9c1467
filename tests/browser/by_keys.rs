//! The whole job by keyboard only, and what WCAG 2.2 requires of every step: the focus is visible (2.4.7, 1.4.11), not covered (2.4.11),
//! never lost and never trapped (2.1.2), and what happens is announced in a live region (4.1.3).

use std::cell::Cell;

use serde::Deserialize;
use serde_json::{Value, json};
use thirtyfour::Key;
use thirtyfour::common::print::PrintParameters;

use crate::page::Page;
use crate::parts::PARTS;

scenarios! {
    served (Served):
        the_job_is_done_by_keys, the_job_is_done_by_keys_on_a_phone, the_job_is_done_by_shortcuts, the_tab_key_reaches_everything_and_comes_out_again,
        the_focus_is_seen_at_four_times_the_size;
    lesson (Lesson): examples_are_played_and_recast_by_keys;
}

/// What has the focus.
#[derive(Debug, Deserialize)]
struct Focus {
    /// Its kind and name, as a screen reader says them.
    name: String,
    /// What is wrong with it: an empty string if nothing is.
    wrong: Vec<String>,
}

/// `seen()` is what has the focus, even inside an element; `told(element)` is its name.
const HELP: &str = r#"
const seen = () => {
    let on = document.activeElement;
    while (on?.shadowRoot?.activeElement) on = on.shadowRoot.activeElement;
    return on;
};
const told = (element) => {
    if (element === document.body) return "the page";
    if (element.id === "line-name") return "button Your lines";
    const words = element.getAttribute("aria-label") ?? (element.labels?.[0] ?? element).textContent;
    const option = element.labels?.[0]?.querySelector("select") ? element.labels[0].firstChild.textContent : words;
    return `${element.type === "radio" ? "choice" : element.localName} ${option.replace(/\s+/g, " ").trim()}`;
};
// What shows the focus: the control itself or, if it is invisible, its label.
const shown = (element) => (["radio", "file"].includes(element.type) ? element.labels[0] : element);
const channels = (color) => color.match(/[\d.]+/g).map(Number);
const luminance = (color) => {
    const [red, green, blue] = channels(color).map((part) => part / 255)
        .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
};
const apart = (a, b) => {
    const [low, high] = [luminance(a), luminance(b)].sort((a, b) => a - b);
    return (high + 0.05) / (low + 0.05);
};
const judged = () => {
    const on = seen();
    if (!on || on === document.body || on === document.documentElement) return { name: "the page", wrong: ["the focus is lost"] };
    const wrong = [];
    const sign = shown(on);
    const { outlineStyle, outlineWidth, outlineColor } = getComputedStyle(sign);
    if (outlineStyle === "none" || parseFloat(outlineWidth) < 2) wrong.push(`no outline: ${outlineStyle} ${outlineWidth}`);
    else if (apart(outlineColor, getComputedStyle(document.body).backgroundColor) < 3) wrong.push(`a pale outline: ${outlineColor}`);
    const { left, top, right, bottom, width, height } = sign.getBoundingClientRect();
    if (width < 2 || height < 2) wrong.push(`${width} by ${height} px`);
    // All of it has to be visible, unless it is larger than the available space; then a part is enough.
    const whole = height < Math.min(200, innerHeight / 3);
    // Not the corners, which are rounded.
    const inside = [[0.5, 0.1], [0.1, 0.5], [0.5, 0.5], [0.9, 0.5], [0.5, 0.9]];
    const points = inside.map(([x, y]) => [left + x * width, top + y * height]);
    const hidden = points.filter(([x, y]) => {
        const hit = (sign.getRootNode()).elementFromPoint(x, y);
        return !hit || !(sign === hit || sign.contains(hit) || hit.contains(sign) && hit.closest("label, summary"));
    });
    if (whole ? hidden.length > 0 : hidden.length === points.length)
        wrong.push(`hidden at ${JSON.stringify(hidden)} of ${JSON.stringify([left, top, right, bottom])} in ${innerWidth} by ${innerHeight}`);
    // No scroll area cuts off the focus ring.
    const ring = parseFloat(outlineWidth) + parseFloat(getComputedStyle(sign).outlineOffset) - 0.5;
    for (let up = sign.parentElement; up && up !== document.body; up = up.parentElement) {
        // Nothing on the page cuts off a popover.
        if (up.matches(":popover-open")) break;
        if (getComputedStyle(up).overflowX === "visible") continue;
        const edge = up.getBoundingClientRect();
        if (left - ring < edge.left || right + ring > edge.right || top - ring < edge.top || bottom + ring > edge.bottom)
            wrong.push(`its ring is cut off by ${up.outerHTML.slice(0, 60)}`);
    }
    return { name: told(on), wrong };
};
"#;

/// A user at the keyboard.
struct Reader<'a> {
    page: &'a Page,
    presses: Cell<usize>,
}

impl Reader<'_> {
    fn count(&self, keys: usize) {
        self.presses.set(self.presses.get() + keys);
    }

    async fn focus(&self) -> Focus {
        self.page.frames().await;
        self.page.js(&format!("{HELP}return judged()")).await
    }

    /// Something has the focus, visibly, and isn't covered.
    async fn check(&self, after: &str) -> String {
        let Focus { name, wrong } = self.focus().await;
        assert!(wrong.is_empty(), "`{name}` after {after}: {wrong:#?}");
        name
    }

    async fn press(&self, key: Key) {
        let after = format!("{key:?}");
        self.count(1);
        self.page.keys(key).await;
        self.check(&after).await;
    }

    /// Presses a shortcut of the page, which may put the focus on a part as a whole.
    async fn key(&self, key: &str) {
        self.count(1);
        self.page.keys(key).await;
        self.page.frames().await;
    }

    async fn chord(&self, held: Key, key: char) {
        self.count(1);
        let chain = self.page.driver().action_chain();
        let chain = chain.key_down(held.value()).send_keys(key.to_string()).key_up(held.value());
        chain.perform().await.expect("keys can be pressed");
        self.check(&format!("{key}")).await;
    }

    /// Presses Tab or Shift+Tab until something with this name has the focus.
    async fn go(&self, back: bool, name: &str) {
        let mut passed = Vec::new();
        for _ in 0..120 {
            self.count(1);
            match back {
                true => self.page.chord(Key::Shift, Key::Tab).await,
                false => self.page.keys(Key::Tab).await,
            }
            let Focus { name: here, wrong } = self.focus().await;
            // After the last thing on the page, the focus wraps around.
            if here != "the page" {
                assert!(wrong.is_empty(), "`{here}` on the way to `{name}`, after {passed:?}: {wrong:#?}");
            }
            if here.starts_with(name) {
                return;
            }
            passed.push(here);
        }
        panic!("the tab key does not reach `{name}`: {passed:?}");
    }

    async fn on(&self, name: &str) {
        self.go(false, name).await;
    }

    async fn back(&self, name: &str) {
        self.go(true, name).await;
    }

    /// Waits until a live region shows these words.
    async fn hears(&self, words: &str) {
        let script = format!(
            "const live = all('[role=status], [role=alert], [aria-live=polite]');
            return live.some((one) => one.checkVisibility() && one.textContent.includes({}))",
            json!(words)
        );
        self.page.until(&format!("`{words}` is announced"), &script).await;
    }

    /// Opens a part of the page with its button, which keeps the focus.
    async fn part(&self, button: &str) {
        self.on(&format!("button {button}")).await;
        self.opens_part().await;
    }

    async fn part_back(&self, button: &str) {
        self.back(&format!("button {button}")).await;
        self.opens_part().await;
    }

    /// Opens a part whose button is in the header or, on a phone, in its menu.
    async fn part_of_menu(&self, phone: bool, button: &str) {
        if !phone {
            return self.part_back(button).await;
        }
        self.back("button Menu").await;
        self.press(Key::Enter).await;
        self.on(&format!("button {button}")).await;
        self.key(&Key::Enter.value().to_string()).await;
    }

    /// Opens what a phone has in a panel.
    async fn opens_panel(&self, phone: bool, button: &str) {
        if phone {
            self.on(&format!("button {button}")).await;
            self.press(Key::Enter).await;
        }
    }

    async fn closes_panel(&self, phone: bool) {
        if phone {
            self.press(Key::Escape).await;
        }
    }

    async fn opens_part(&self) {
        self.press(Key::Enter).await;
        let open: String = self.page.js(&format!("{HELP}return seen().ariaExpanded")).await;
        assert_eq!(open, "true");
    }

    async fn opens(&self, fold: &str) {
        self.on(&format!("summary {fold}")).await;
        self.press(Key::Enter).await;
        let open: bool = self.page.js(&format!("{HELP}return seen().parentElement.open")).await;
        assert!(open, "{fold} does not open");
    }

    /// Chooses from a list with the arrow keys.
    async fn chooses(&self, list: &str, value: &str) {
        self.on(&format!("select {list}")).await;
        for _ in 0..30 {
            if self.page.js::<String>(&format!("{HELP}return seen().value")).await == value {
                return;
            }
            self.press(Key::Down).await;
        }
        panic!("`{list}` has no `{value}`");
    }

    async fn types(&self, text: &str) {
        self.count(text.len());
        self.page.keys(text).await;
        self.check(text).await;
    }
}

const TYPED: &str = "title: Week 21, by keys\nkey: Eb\ntempo: 200\n\n@Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D F Ab C  Bb Ab F D |\n";

async fn the_job_is_done_by_keys(page: Page) {
    job(&page, 1280).await;
}

async fn the_job_is_done_by_keys_on_a_phone(page: Page) {
    job(&page, 390).await;
}

async fn job(page: &Page, width: u32) {
    page.open(width).await;
    let reader = Reader { page, presses: Cell::new(0) };
    let phone = width < 600;

    // On a phone, the text is behind a button.
    if phone {
        reader.part("Text").await;
    }
    reader.on("textarea").await;
    reader.writes_the_line().await;

    // Recast a half-bar; choosing another notation changes it immediately.
    reader.on("button bar 1 beat 1: plain eighths").await;
    reader.recasts().await;
    if phone {
        reader.back("button Figures").await;
        reader.press(Key::Enter).await;
    }
    reader.on("choice quarter-note triplet, last note split").await;
    reader.on("choice one bracket").await;
    reader.press(Key::Right).await;
    reader.has_recast().await;

    // Undo and redo to the end. Once a button is disabled, the focus moves to the other one.
    reader.back("button Undo").await;
    while reader.can("undo").await {
        assert_eq!(page.focus().await, "undo");
        reader.press(Key::Enter).await;
        reader.hears("Undone.").await;
    }
    assert_eq!(page.focus().await, "redo");
    while reader.can("redo").await {
        assert_eq!(page.focus().await, "redo");
        reader.press(Key::Space).await;
    }
    reader.hears("Redone.").await;
    assert_eq!(page.focus().await, "undo");
    assert_eq!(page.recast_rows().await, ["recast: split-last at 1.3 tied"]);

    reader.part("Fingering").await;
    reader.on("button Next bar").await;
    reader.press(Key::Enter).await;
    reader.back("select Apply to").await;
    reader.takes_another_fingering().await;
    reader.plays(phone).await;
    reader.compares(phone).await;
    reader.part_back("Practice").await;
    reader.opens_a_step().await;
    reader.part_back("Your lines").await;
    reader.goes_back_to_the_line().await;
    reader.part_back("Exercises").await;
    reader.creates_a_sequence().await;
    reader.part_back("Your lines").await;
    reader.renames_and_restores().await;
    reader.part_of_menu(phone, "Share").await;
    reader.hands_it_on().await;
    reader.part_of_menu(phone, "Worksheet").await;
    reader.makes_a_worksheet().await;
    println!("the whole job at {width} px: {} keys", reader.presses.get());
}

/// The same job for someone who knows the shortcuts that Help lists.
async fn the_job_is_done_by_shortcuts(page: Page) {
    page.open(1280).await;
    let reader = Reader { page: &page, presses: Cell::new(0) };

    reader.key("e").await;
    reader.writes_the_line().await;
    reader.press(Key::Escape).await;
    reader.recasts().await;
    reader.key("t").await;
    reader.has_recast().await;
    while reader.can("undo").await {
        reader.chord(Key::Control, 'z').await;
    }
    while reader.can("redo").await {
        reader.chord(Key::Control, 'y').await;
    }
    assert_eq!(page.recast_rows().await, ["recast: split-last at 1.3 tied"]);

    // Moving to a half-bar with the arrows shows its bar on the neck.
    reader.press(Key::Right).await;
    reader.key("f").await;
    reader.takes_another_fingering().await;
    reader.plays(false).await;
    reader.key("a").await;
    reader.hears("Versions: original, then recast.").await;
    reader.key(" ").await;
    page.until("it says what sounds", "return one('#now').textContent === 'Original'").await;
    reader.key(" ").await;
    reader.key("p").await;
    reader.opens_a_step().await;
    reader.key("y").await;
    reader.goes_back_to_the_line().await;
    reader.press(Key::Escape).await;
    reader.key("x").await;
    reader.creates_a_sequence().await;
    reader.key("y").await;
    reader.renames_and_restores().await;
    // Leave the title, where letters are just typed.
    reader.press(Key::Escape).await;
    reader.key("s").await;
    reader.hands_it_on().await;
    reader.key("w").await;
    reader.makes_a_worksheet().await;
    let presses = reader.presses.get();
    println!("the whole job by shortcuts: {presses} keys");
    // What it took before there were shortcuts and a margin, counted by the same steps on that page: 484.
    assert!(presses <= 484 / 2, "{presses}");
}

/// The steps of the job, each from where it begins.
impl Reader<'_> {
    async fn can(&self, button: &str) -> bool {
        self.page.js(&format!("return !one('#{button}').disabled")).await
    }

    /// Types a line with a mistake into the text, and fixes it.
    async fn writes_the_line(&self) {
        self.chord(Key::Control, 'a').await;
        self.types(&TYPED.replace("@Bb7 D", "@Bb7 H")).await;
        self.hears("`H` is not a note here").await;
        self.on("button Line 5").await;
        self.press(Key::Enter).await;
        let selected: String = self
            .page
            .js("const { value, selectionStart, selectionEnd } = text(); return value.slice(selectionStart, selectionEnd)")
            .await;
        assert_eq!((selected.as_str(), self.page.focus().await.as_str()), ("H", "text"));
        self.types("D").await;
        assert_eq!(self.page.text().await, TYPED);
        self.page.until("it is drawn", "return drawn('note').length === 16").await;
    }

    /// Moves from the first half-bar to the next one and recasts it.
    async fn recasts(&self) {
        self.press(Key::Right).await;
        self.press(Key::Enter).await;
        let recast = "beat 3: quarter-note triplet, last note split (one bracket)";
        assert_eq!(self.page.focus().await, format!("bar 1 {recast}"));
        self.hears(&format!("Bar 1 {recast}")).await;
    }

    async fn has_recast(&self) {
        self.hears("Bar 1 beat 3: quarter-note triplet, last note split (tied)").await;
        assert_eq!(self.page.recast_rows().await, ["recast: split-last at 1.3 tied"]);
    }

    /// Chooses another fingering for the second bar, which is on the neck.
    async fn takes_another_fingering(&self) {
        self.hears("Bar 2").await;
        self.on("button Other fingerings").await;
        self.press(Key::Enter).await;
        self.hears("Choose a fingering to see it").await;
        assert_eq!(self.check("the list").await, "choice As it is now");
        self.press(Key::Down).await;
        self.on("button Use this fingering").await;
        self.press(Key::Enter).await;
        self.hears("in the text").await;
        let text = self.page.text().await;
        assert!(
            ["^", "hand:"].iter().any(|kept| text.contains(kept)),
            "the fingering is not in the text: {text}"
        );
        assert_eq!(self.page.js::<String>("return document.activeElement.id").await, "fretboard");
    }

    /// Plays and stops, at a different tempo, with the metronome, in a loop.
    async fn plays(&self, phone: bool) {
        let page = self.page;
        self.on("input Tempo").await;
        self.chord(Key::Control, 'a').await;
        self.types("180").await;
        self.on("input Loop").await;
        self.press(Key::Space).await;
        self.press(Key::Space).await;
        self.opens_panel(phone, "Options").await;
        self.chooses("Click", "every").await;
        self.chooses("Count-in", "0").await;
        self.closes_panel(phone).await;
        self.back("button Play").await;
        self.press(Key::Enter).await;
        page.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
        assert_eq!(self.check("a note").await, "button Stop");
        page.until("bar 2 is heard", "return one('#hands-bar').textContent === 'Bar 2'").await;
        page.until("it is heard again", "return one('#hands-bar').textContent === 'Bar 1'").await;
        self.press(Key::Space).await;
        page.until("it is silent", "return all('#sheet .sounding').length === 0").await;
        assert_eq!(self.check("the end").await, "button Play");
    }

    /// Plays the original rhythm, then the recast one.
    async fn compares(&self, phone: bool) {
        self.opens_panel(phone, "Options").await;
        self.chooses("Versions", "plain").await;
        self.closes_panel(phone).await;
        self.back("button Play").await;
        self.press(Key::Enter).await;
        self.page.until("it says what sounds", "return one('#now').textContent === 'Original'").await;
        self.press(Key::Enter).await;
    }

    /// Puts the steps to the figure on a worksheet, and saves it.
    async fn makes_a_worksheet(&self) {
        self.chooses("Add", "steps").await;
        self.on("button Add to worksheet").await;
        self.press(Key::Enter).await;
        self.page.until("the pages are drawn", "return all('#pages .page').length > 0").await;
        self.back("button Save as PDF").await;
        self.press(Key::Enter).await;
        self.page.until("it is saved", "return window.saved.at(-1).endsWith('.pdf')").await;
        self.check("the worksheet").await;
    }

    /// Listens to one step to the figure, and makes another step a line.
    async fn opens_a_step(&self) {
        self.opens("Build this figure step by step").await;
        self.page.until("the steps are drawn", "return all('#steps svg').length > 3").await;
        self.on("button Play: step 2").await;
        self.press(Key::Enter).await;
        self.press(Key::Enter).await;
        self.on("button Open as a new line: step 4").await;
        self.press(Key::Enter).await;
        self.hears("This step is a new line.").await;
        self.check("a step was written").await;
    }

    async fn goes_back_to_the_line(&self) {
        self.on("button Open Week 21, by keys").await;
        self.press(Key::Enter).await;
        self.page.until("the line is back", "return text().value.includes('title: Week 21')").await;
        // The open line has no button to open it; its title comes next.
        assert_eq!(self.check("the line was opened").await, "input title");
    }

    async fn creates_a_sequence(&self) {
        self.on("button Create sequence").await;
        self.press(Key::Enter).await;
        self.page.until("shapes are written", "return pads().length === 8").await;
        self.hears("4 bars.").await;
    }

    /// Opens the line, renames it, deletes it and restores it.
    async fn renames_and_restores(&self) {
        self.goes_back_to_the_line().await;
        self.chord(Key::Control, 'a').await;
        self.types("Week 22").await;
        self.press(Key::Enter).await;
        self.page.until("it has its new name", "return text().value.includes('title: Week 22')").await;
        assert_eq!(self.check("the new name").await, "input title");
        self.on("button Delete Week 22").await;
        self.press(Key::Enter).await;
        self.hears("Deleted.").await;
        assert_eq!(self.check("it was deleted").await, "summary Deleted lines");
        self.press(Key::Enter).await;
        self.on("button Restore Week 22").await;
        self.press(Key::Enter).await;
        self.hears("Restored.").await;
        assert_eq!(self.page.js::<String>("return document.activeElement.value").await, "Week 22");
        self.on("button Open Week 22").await;
        self.press(Key::Enter).await;
        self.page.until("the line is there", "return text().value.includes('title: Week 22')").await;
        self.check("the line was opened").await;
    }

    /// Copies a link, saves a picture, prints.
    async fn hands_it_on(&self) {
        let page = self.page;
        page.js::<Value>(
            "window.saved = []; HTMLAnchorElement.prototype.click = function () { window.saved.push(this.download) }",
        )
        .await;
        self.on("button Copy link").await;
        self.press(Key::Enter).await;
        self.hears("Link").await;
        self.on("button Save as SVG").await;
        self.press(Key::Enter).await;
        assert_eq!(page.js::<Vec<String>>("return window.saved").await, ["week-22.svg"]);
        let saved = self.check("the picture").await;
        // What the browser does on Ctrl+P.
        page.driver().print_page(PrintParameters::default()).await.unwrap();
        assert!(page.js::<usize>("return all('#print g.note').length").await >= 16, "nothing is printed");
        assert_eq!(self.focus().await.name, saved);
    }
}

/// Everything a user can do, in page order: all the stops of the tab key, from the top to the end and back.
async fn the_tab_key_reaches_everything_and_comes_out_again(page: Page) {
    page.open_with(1280, TYPED).await;
    there_and_back(&page).await;
}

/// A window of 1280 by 1024 at 400 %.
async fn the_focus_is_seen_at_four_times_the_size(page: Page) {
    page.open_with(1280, TYPED).await;
    let screen = json!({ "width": 320, "height": 256, "deviceScaleFactor": 4, "mobile": false });
    page.cdp("Emulation.setDeviceMetricsOverride", screen).await;
    page.frames().await;
    there_and_back(&page).await;
}

async fn there_and_back(page: &Page) {
    page.unfold().await;
    for part in PARTS {
        page.show_part(part).await;
        // Pads, and choices of one kind, are a single tab stop; arrow keys move between them.
        let all: Vec<String> = page
            .js(&format!(
                "{HELP}
                const can = all('button, input, select, textarea, summary, a[href], [tabindex=\"0\"]');
                return can.filter((one) => one.checkVisibility() && !one.disabled && one.tabIndex >= 0
                    && (one.type !== 'radio' || one.checked)).map(told)"
            ))
            .await;
        assert!(all.len() > 12, "{part}: {all:?}");
        page.js::<Value>("scrollTo(0, 0); one('#line-name').focus()").await;
        let reader = Reader { page, presses: Cell::new(0) };
        let mut passed = vec![reader.check(&format!("the start of {part}")).await];
        for _ in 1..all.len() {
            page.keys(Key::Tab).await;
            passed.push(reader.check(&format!("Tab in {part}")).await);
        }
        assert_eq!(passed, all, "{part}");
        for name in all.iter().rev().skip(1) {
            page.chord(Key::Shift, Key::Tab).await;
            assert_eq!(reader.check(&format!("Shift+Tab in {part}")).await, *name);
        }
    }
}

async fn examples_are_played_and_recast_by_keys(page: Page) {
    page.resize(1280).await;
    page.go().await;
    page.js::<Value>("return Promise.all(all('half-bar').map((one) => one.ready()))").await;
    let reader = Reader { page: &page, presses: Cell::new(0) };
    let said = async |words: &str| {
        let script = format!(
            "return all('half-bar').flatMap((one) => all('[role=status]', one.shadowRoot)).some((one) => one.textContent.includes({}))",
            json!(words)
        );
        page.until("the message is shown", &script).await;
    };
    reader.on("button bar 1 beat 1: plain eighths").await;
    reader.press(Key::Enter).await;
    said("Bar 1 beat 1: quarter-note triplet, last note split").await;
    reader.on("button Play").await;
    reader.press(Key::Space).await;
    page.until("it sounds", "return all('half-bar')[0].playing").await;
    reader.press(Key::Space).await;
    page.until("it is silent", "return !all('half-bar')[0].playing").await;
    // The second has only pads, the third has a shelf.
    reader.on("button bar 1 beat 1: quarter-note triplet, last note split (tied)").await;
    reader.press(Key::Space).await;
    reader.on("button bar 1 beat 1: plain eighths").await;
    reader.on("choice quarter-note triplet, last note split").await;
    reader.press(Key::Right).await;
    reader.back("button bar 1 beat 1: plain eighths").await;
    reader.press(Key::Enter).await;
    said("Bar 1 beat 1: quarter-note triplet, middle note split").await;
    // And out at the end, past the fourth.
    for _ in 0..8 {
        page.keys(Key::Tab).await;
    }
    let out: String = page.js(&format!("{HELP}return told(seen())")).await;
    assert!(out == "the page" || out.starts_with("button bar"), "{out}");
}
