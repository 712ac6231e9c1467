//! A page in the browser: what is on it, and what a user does.

use std::panic::panic_any;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use thirtyfour::action_chain::ActionChain;
use thirtyfour::error::WebDriverErrorInner;
use thirtyfour::prelude::*;

use crate::engine::Engine;
use crate::expected::{Counts, count};

/// How long anything may take that should happen immediately. It is long because a busy machine is not the page's fault.
const PATIENCE: Duration = Duration::from_secs(20);

/// What a scenario panics with when the browser's driver doesn't answer at all, not even with an error. That says nothing about the page.
pub(crate) struct NoAnswer(pub(crate) String);

/// Where the page comes from.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Kind {
    /// The folder of the site through its server.
    Served,
    /// The lesson page of the site through its server.
    Lesson,
    /// An empty page next to the site's. The only script in it is the scenario's.
    Blank,
    /// The one-file page from disk.
    OneFile,
    /// The folder of the site from disk, where browsers don't allow modules.
    ManyFiles,
}

/// What is drawn.
#[derive(Clone, PartialEq, Debug, Deserialize)]
pub(crate) struct Music {
    pub(crate) counts: Counts,
    pub(crate) frets: usize,
    /// Each system's SVG.
    pub(crate) systems: Vec<String>,
}

#[derive(Clone)]
pub(crate) struct Page {
    driver: WebDriver,
    engine: Engine,
    address: String,
    folder: PathBuf,
}

impl Page {
    pub(crate) fn new(driver: WebDriver, engine: Engine, address: &str, folder: &Path) -> Page {
        Page { driver, engine, address: address.into(), folder: folder.into() }
    }

    /// The folder of the browser, which is also where downloads go.
    pub(crate) fn folder(&self) -> &Path {
        &self.folder
    }

    pub(crate) fn address(&self) -> &str {
        &self.address
    }

    pub(crate) fn driver(&self) -> &WebDriver {
        &self.driver
    }

    /// Opens the page, `width` CSS pixels wide, and waits until it answers.
    pub(crate) async fn open(&self, width: u32) {
        self.resize(width).await;
        self.go().await;
        self.until_alive().await;
    }

    /// Waits until the line has pads. Before that, it is a picture that came with the page.
    pub(crate) async fn until_alive(&self) {
        self.until("the line has its pads", "return pads().length > 0").await;
    }

    /// Opens the page, enters a line, and shows the figures.
    pub(crate) async fn open_with(&self, width: u32, line: &str) {
        self.open(width).await;
        self.paste(line).await;
        self.until("the line is correct", "return text().getAttribute('aria-invalid') === 'false'").await;
        self.open_part("figures").await;
        assert_eq!(self.music().await.counts, count(line), "{line}");
    }

    /// Opens one more window with the same storage. WebDriver's own command would open it outside of this one's context.
    pub(crate) async fn new_window(&self) -> WindowHandle {
        let before = self.driver.windows().await.unwrap();
        self.js::<Value>("open('about:blank', '', 'noopener')").await;
        let start = Instant::now();
        loop {
            let now = self.driver.windows().await.unwrap();
            match now.into_iter().find(|window| !before.contains(window)) {
                Some(window) => return window,
                None => assert!(start.elapsed() < PATIENCE, "no window opens"),
            }
        }
    }

    /// Goes to the page without waiting for its module.
    pub(crate) async fn go(&self) {
        self.driver.goto(self.address.as_str()).await.expect("the page opens");
    }

    /// Makes the page this wide, with the usual height for such a screen.
    pub(crate) async fn resize(&self, width: u32) {
        self.screen(width, if width < 600 { 844 } else { 900 }).await;
    }

    /// Makes the page this wide and tall. If it is narrower than a tablet, it is a phone with touch.
    pub(crate) async fn screen(&self, width: u32, height: u32) {
        if self.engine != Engine::Chromium {
            return self.fit_window(width, height).await;
        }
        let phone = width < 600;
        let screen = json!({
            "width": width,
            "height": height,
            "deviceScaleFactor": if phone { 2 } else { 1 },
            "mobile": phone,
        });
        self.cdp("Emulation.setDeviceMetricsOverride", screen).await;
        let touch = json!({ "enabled": phone, "maxTouchPoints": 1 });
        self.cdp("Emulation.setTouchEmulationEnabled", touch).await;
        self.frames().await;
    }

    /// Makes the window as large as the page needs; it can't be as narrow as a phone.
    async fn fit_window(&self, width: u32, height: u32) {
        for _ in 0..2 {
            let [inner, outer]: [[u32; 2]; 2] =
                self.js("return [[innerWidth, innerHeight], [outerWidth, outerHeight]]").await;
            let [across, down] = [0, 1].map(|side| outer[side].saturating_sub(inner[side]));
            self.driver
                .set_window_rect(0, 0, width + across, height + down)
                .await
                .expect("a window has a size");
            self.frames().await;
        }
    }

    /// Emulates a user's media settings.
    pub(crate) async fn media(&self, features: Value) {
        self.cdp("Emulation.setEmulatedMedia", json!({ "media": "screen", "features": features })).await;
        self.frames().await;
    }

    /// Sends a command of the browser's own protocol.
    pub(crate) async fn cdp(&self, method: &str, parameters: Value) -> Value {
        let answer = self.driver.cdp().send_raw(method, parameters).await;
        answer.unwrap_or_else(|error| panic!("{method}: {error}"))
    }

    /// Runs a script with `page.js` before it and reads what it returns.
    pub(crate) async fn js<T: DeserializeOwned>(&self, script: &str) -> T {
        self.js_with(script, &[]).await
    }

    pub(crate) async fn js_with<T: DeserializeOwned>(&self, script: &str, arguments: &[Value]) -> T {
        // In a block, so that its names can shadow those of the file.
        let whole = format!("{}{{{script}}}", include_str!("page.js"));
        let answer = self.driver.execute(whole, arguments.to_vec()).await.unwrap_or_else(|error| {
            if let WebDriverErrorInner::HttpError(why) = error.as_inner() {
                panic_any(NoAnswer(format!("{script}: {why}")));
            }
            panic!("{script}: {error}")
        });
        answer.convert().unwrap_or_else(|error| panic!("{script}: {error}: {}", answer.json()))
    }

    pub(crate) async fn try_js(&self, script: &str) -> WebDriverResult<Value> {
        Ok(self.driver.execute(script, Vec::new()).await?.json().clone())
    }

    /// Waits until a script returns true.
    pub(crate) async fn until(&self, what: &str, script: &str) {
        let start = Instant::now();
        while !self.js::<bool>(script).await {
            assert!(start.elapsed() < PATIENCE, "gave up waiting until {what}: {script}");
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }

    /// Waits for two new frames. After that, everything that follows a change of size is done.
    pub(crate) async fn frames(&self) {
        let script = "requestAnimationFrame(() => requestAnimationFrame(() => arguments[0](true)))";
        self.driver.execute_async(script, Vec::new()).await.expect("the page renders frames");
    }

    pub(crate) async fn music(&self) -> Music {
        self.js("return music()").await
    }

    pub(crate) async fn text(&self) -> String {
        self.js("return text().value").await
    }

    /// The lines of the text that recast something.
    pub(crate) async fn recast_rows(&self) -> Vec<String> {
        let text = self.text().await;
        text.lines().filter(|row| row.starts_with("recast:")).map(String::from).collect()
    }

    pub(crate) async fn status(&self) -> String {
        self.js("return one('#status').textContent").await
    }

    /// The messages about mistakes in the text.
    pub(crate) async fn problems(&self) -> Vec<String> {
        self.js("return [...one('#problems').children].map((problem) => problem.innerText)").await
    }

    /// Whether the pad at `bar.beat` is pressed.
    pub(crate) async fn is_pressed(&self, bar: u32, beat: u32) -> bool {
        let state: String = self.js(&format!("return pad({bar}, {beat}).ariaPressed")).await;
        state == "true"
    }

    /// Clicks on the pad at `bar.beat` with the mouse.
    pub(crate) async fn click_pad(&self, bar: u32, beat: u32) {
        self.click(&format!("pad({bar}, {beat})")).await;
    }

    /// Clicks with the mouse on the element that an expression returns.
    pub(crate) async fn click(&self, element: &str) {
        let (x, y) = self.reach(element).await;
        let clicked = self.hands().move_to(x, y).click().perform().await;
        clicked.unwrap_or_else(|error| panic!("{element}: {error}"));
    }

    /// Drags the mouse from one element to another.
    pub(crate) async fn drag(&self, from: &str, to: &str) {
        let ((from_x, from_y), (to_x, to_y)) = (self.reach(from).await, self.reach(to).await);
        let held = self.hands().move_to(from_x, from_y).click_and_hold();
        let dragged = held.move_to((from_x + to_x) / 2, (from_y + to_y) / 2).move_to(to_x, to_y).release();
        dragged.perform().await.unwrap_or_else(|error| panic!("from {from} to {to}: {error}"));
    }

    /// Clicks on an element while a key is held.
    pub(crate) async fn click_holding(&self, held: Key, element: &str) {
        let (x, y) = self.reach(element).await;
        let chain = self.hands().key_down(held.value()).move_to(x, y).click().key_up(held.value());
        chain.perform().await.unwrap_or_else(|error| panic!("{element}: {error}"));
    }

    /// Takes the focus out of any field, so that the keys of the page work.
    pub(crate) async fn leave_fields(&self) {
        let _: Value = self.js("document.activeElement.blur()").await;
    }

    /// Touches the element that an expression returns with a finger.
    pub(crate) async fn touch(&self, element: &str) {
        let (x, y) = self.reach(element).await;
        let point = json!({ "type": "touchStart", "touchPoints": [{ "x": x, "y": y }] });
        self.cdp("Input.dispatchTouchEvent", point).await;
        self.cdp("Input.dispatchTouchEvent", json!({ "type": "touchEnd", "touchPoints": [] })).await;
    }

    /// Scrolls to an element, makes sure that nothing covers its center, and returns that; for a drawing, a point on its ink.
    async fn reach(&self, element: &str) -> (i64, i64) {
        let script = format!(
            "const found = {element};
            found.scrollIntoView({{ block: 'center', behavior: 'instant' }});
            const {{ left, top, width, height }} = found.getBoundingClientRect();
            const parts = found.ownerSVGElement ? [...Array(15).keys()].map((part) => (part + 1) / 16) : [1 / 2];
            const places = parts.flatMap((across) =>
                parts.map((down) => [Math.round(left + across * width), Math.round(top + down * height)]));
            const top_most = ([x, y]) => found.getRootNode().elementFromPoint(x, y);
            const place = places.find((place) => found.contains(top_most(place))) ?? places[0];
            return [...place, found.contains(top_most(place)) ? null : `${{top_most(place)?.outerHTML}}`];"
        );
        let (x, y, cover): (i64, i64, Option<String>) = self.js(&script).await;
        assert_eq!(cover, None, "something covers {element}");
        (x, y)
    }

    /// Mouse and keyboard actions without pauses.
    fn hands(&self) -> ActionChain {
        self.driver.action_chain_with_delay(Some(Duration::ZERO), Some(Duration::ZERO))
    }

    /// Presses keys, wherever the focus is.
    pub(crate) async fn keys(&self, keys: impl Into<TypingData>) {
        let keys: TypingData = keys.into();
        self.hands().send_keys(keys).perform().await.expect("keys can be pressed");
    }

    /// Presses a key while another is held.
    pub(crate) async fn chord(&self, held: Key, key: impl Into<TypingData>) {
        let key: TypingData = key.into();
        let chain = self.hands().key_down(held.value()).send_keys(key).key_up(held.value());
        chain.perform().await.expect("keys can be pressed");
    }

    /// Presses Tab or Shift+Tab until the focus is where it should be. If it never is, the panic lists where it has been.
    pub(crate) async fn tab_to(&self, back: bool, what: &str, is_there: impl Fn(&str) -> bool) {
        let mut passed = Vec::new();
        for _ in 0..20 {
            match back {
                true => self.chord(Key::Shift, Key::Tab).await,
                false => self.keys(Key::Tab).await,
            }
            passed.push(self.focus().await);
            if passed.last().is_some_and(|focus| is_there(focus)) {
                return;
            }
        }
        panic!("the tab key does not reach {what}: {passed:?}");
    }

    /// What has the focus: the name of a pad, the value of a choice, or otherwise the id.
    pub(crate) async fn focus(&self) -> String {
        let script =
            "const on = document.activeElement; return label(on) ?? (on.type === 'radio' ? on.value : on.id)";
        self.js(script).await
    }

    /// Collects the files that the page saves in `files`, and their names in `saved`.
    pub(crate) async fn catch_files(&self) {
        self.js::<Value>(
            "window.files = [];
            const create = URL.createObjectURL;
            URL.createObjectURL = (blob) => (files.push(blob), create(blob));
            HTMLAnchorElement.prototype.click = function () { files.at(-1).saved = this.download; };",
        )
        .await;
    }

    /// Puts the cursor at the end of the text.
    pub(crate) async fn go_to_end_of_text(&self) {
        self.show_text().await;
        self.click("text()").await;
        self.chord(Key::Control, Key::End).await;
    }

    /// Opens a part of the page with its button, unless it is open.
    pub(crate) async fn open_part(&self, part: &str) {
        let button = |part: &str| format!("all('button[data-part={part}]').find(shown)");
        let open: String = self.js("return one('#page').dataset.part").await;
        if open == part {
            return;
        }
        let in_header = format!("one('#top button[data-part={part}]')");
        if self.js::<bool>(&format!("return {in_header} !== null")).await {
            return self.click_in_header(&in_header).await;
        }
        if self.js::<bool>(&format!("return {} !== undefined", button(part))).await {
            return self.click(&button(part)).await;
        }
        // A wide page shows the figures whenever it shows the music, and a second press closes the open part. The worksheet replaces both.
        self.click(&button(if open == "worksheet" { "figures" } else { &open })).await;
        if part != "figures" {
            self.click(&button(part)).await;
        }
    }

    /// Opens a panel with its button, unless it is open.
    pub(crate) async fn open_panel(&self, panel: &str) {
        if !self.js::<bool>(&format!("return one('#{panel}').matches(':popover-open')")).await {
            self.click_in_header(&format!("one('button[popovertarget={panel}]')")).await;
        }
    }

    /// Clicks on a button that is in a panel of the header on a phone.
    pub(crate) async fn click_in_header(&self, button: &str) {
        if self.js::<bool>(&format!("return !shown({button}) && {button}.closest('#menu') !== null")).await {
            self.click("one('button[popovertarget=menu]')").await;
        }
        self.click(button).await;
    }

    /// Clicks on something in a panel, then closes the panel.
    pub(crate) async fn click_in_panel(&self, panel: &str, element: &str) {
        self.open_panel(panel).await;
        self.click(element).await;
        self.keys(Key::Escape).await;
    }

    /// Opens the part with the text, unless it is in view beside the music anyway.
    pub(crate) async fn show_text(&self) {
        if !self.js::<bool>("return shown(text())").await {
            self.open_part("text").await;
        }
    }

    /// Replaces the text as pasting does.
    pub(crate) async fn paste(&self, text: &str) {
        self.show_text().await;
        let paste =
            "text().focus(); text().select(); document.execCommand('insertText', false, arguments[0])";
        let _: Value = self.js_with(paste, &[json!(text)]).await;
        let there = self.text().await;
        assert_eq!(there.len(), text.len(), "the text was not pasted");
    }
}
