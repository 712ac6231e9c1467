//! The element `<half-bar>`: in a lesson page with a strict security policy, and in pages made by scripts.
//!
//! Violations of the policy show up on the console (CSP Level 3, 5.3), and any message there fails the scenario.

use std::fs;

use halfbar_tests::target;
use serde::Deserialize;
use serde_json::{Value, json};
use thirtyfour::prelude::*;

use crate::expected::{Counts, LINE, count};
use crate::page::Page;
use crate::practice;

scenarios! {
    lesson (Lesson):
        the_lesson_is_drawn, a_tap_recasts_and_sends_events, keys_do_what_taps_do, the_shelf_chooses, one_example_plays_at_a_time;
    blank (Blank):
        what_was_set_before_the_script_counts, attributes_and_properties_agree, a_mistake_keeps_the_drawing,
        what_is_worth_saying_is_told, a_text_that_cannot_be_drawn_says_why, without_its_explanation_a_mistake_is_still_shown,
        a_moved_element_keeps_its_state, an_element_moved_into_a_frame_still_works, a_tap_is_heard_while_it_plays, removed_elements_are_freed, hostile_text_stays_text, text_that_comes_later_is_drawn,
        only_examples_near_the_window_are_drawn, pictures_that_came_with_the_page_cost_nothing_until_a_tap,
        a_script_works_without_a_tap, what_the_command_line_writes_is_shown_and_taken_over, without_the_module_the_text_stays,
        sound_is_fetched_when_it_is_played;
}

/// Helpers for scripts. `tag(n)` is the n-th element.
const HELP: &str = r#"
const tags = () => all("half-bar");
const tag = (n) => tags()[n];
// Empty until the script is loaded.
const inside = (n, selector) => [...(tag(n).shadowRoot?.querySelectorAll(selector) ?? [])];
const signs = (n, role) => inside(n, `.row > div > svg.system g.${role}`);
const padOf = (n, bar, beat) =>
  inside(n, "button.pad").find((button) => button.dataset.start === `${4 * (bar - 1) + beat - 1}`);
const said = (n) => inside(n, ".status")[0].textContent;
const wrong = (n) => inside(n, ".problem").filter((one) => !one.hidden).map((one) => one.textContent);
const counts = (n) => ({
  notes: signs(n, "note").length,
  rests: signs(n, "rest").length,
  tuplets: signs(n, "tuplet").length,
  ties: signs(n, "tie").length,
  chords: signs(n, "chord").length,
});
const seen = (element) => element.checkVisibility();
"#;

impl Page {
    /// Runs a script with the helpers for elements.
    pub(crate) async fn ask<T: serde::de::DeserializeOwned>(&self, script: &str) -> T {
        self.js(&format!("{HELP}{script}")).await
    }

    pub(crate) async fn wait(&self, what: &str, script: &str) {
        self.until(what, &format!("{HELP}{script}")).await;
    }

    /// Runs an asynchronous script and returns its result, or a string that starts with `thrown` if it throws.
    pub(crate) async fn later(&self, script: &str) -> Value {
        let whole = format!(
            "{}{HELP}const done = arguments[0]; (async () => {{ {script} }})()
                .then((value) => done(value ?? null), (error) => done(`thrown ${{error.code}}: ${{error.message}}`))",
            include_str!("page.js")
        );
        let answer = self.driver().execute_async(whole, Vec::new()).await;
        answer.unwrap_or_else(|error| panic!("{script}: {error}")).json().clone()
    }

    async fn click_in(&self, element: &str) {
        // In a block, so that names can shadow those of the page.
        self.click(&format!("(() => {{{HELP} return {element}; }})()")).await;
    }

    /// Puts elements into an empty page, with a list of all their events, and loads the script.
    pub(crate) async fn put_elements(&self, markup: &str) {
        self.go().await;
        let script = "document.body.innerHTML = arguments[0];
            window.heard = [];
            for (const name of ['casting', 'note', 'error'])
                document.addEventListener(`halfbar-${name}`, ({ detail, target }) =>
                    heard.push({ name, detail, id: target.id }));";
        let _: Value = self.js_with(script, &[json!(markup)]).await;
    }

    pub(crate) async fn load_script(&self) {
        let loaded = self.later("await import('./half-bar.js'); return null").await;
        assert_eq!(loaded, Value::Null);
    }

    pub(crate) async fn living(&self) -> Value {
        self.later("return (await import('./halfbar_widget.js')).living()").await
    }

    async fn modules_fetched(&self) -> usize {
        self.js("return performance.getEntriesByType('resource').filter((one) => one.name.endsWith('.wasm')).length").await
    }
}

/// A line as markup, its text escaped for HTML.
pub(crate) fn markup(attributes: &str, text: &str) -> String {
    format!("<half-bar {attributes}><pre>{}</pre></half-bar>", escaped(text))
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;")
}

#[derive(Deserialize, Debug)]
struct Heard {
    name: String,
    detail: Value,
    id: String,
}

async fn heard(page: &Page) -> Vec<Heard> {
    page.js("return heard.splice(0)").await
}

pub(crate) async fn the_lesson_is_drawn(page: Page) {
    page.resize(1280).await;
    page.go().await;
    for index in 0..5 {
        page.ask::<Value>(&format!("tag({index}).scrollIntoView()")).await;
        page.wait("an example is drawn", &format!("return signs({index}, 'note').length > 0")).await;
        let text: String = page.ask(&format!("return tag({index}).querySelector('pre').textContent")).await;
        let found: Counts = page.ask(&format!("return counts({index})")).await;
        let expected = count(text.trim_start());
        let words: bool = page.ask(&format!("return seen(tag({index}).querySelector('pre'))")).await;
        assert!(!words, "the text is shown beside the music");
        assert_eq!(found, expected, "{text}");
    }
    let pads: Vec<usize> = page.ask("return tags().map((_, n) => inside(n, 'button.pad').length)").await;
    assert_eq!(pads, [8, 4, 8, 4, 0]);
    let frets: Vec<bool> = page.ask("return tags().map((_, n) => signs(n, 'fret').length > 0)").await;
    assert_eq!(frets, [true, false, true, false, true]);
    let shown: Vec<[bool; 2]> = page
        .ask("return tags().map((_, n) => ['.shelf', '.play'].map((one) => seen(inside(n, one)[0])))")
        .await;
    assert_eq!(shown, [[false, true], [false, false], [true, true], [false, false], [false, false]]);
    // One module for all of them.
    assert_eq!(page.modules_fetched().await, 1);
}

pub(crate) async fn a_tap_recasts_and_sends_events(page: Page) {
    page.resize(1280).await;
    page.go().await;
    page.wait("the first example is drawn", "return signs(0, 'note').length > 0").await;
    let before: String = page.ask("return tag(0).text").await;
    page.ask::<Value>(
        "window.heard = []; document.addEventListener('halfbar-casting', (event) => heard.push(event.detail))",
    )
    .await;
    page.click_in("padOf(0, 2, 1)").await;
    let text: String = page.ask("return tag(0).text").await;
    assert_eq!(text, before.replace("1.3 bracket", "1.3 bracket, 2.1 bracket"));
    let detail: Vec<Value> = page.js("return heard.splice(0)").await;
    let window = |bar: u32, beat: u32| json!({ "bar": bar, "beat": beat, "figure": "split-last", "spelling": "bracket" });
    assert_eq!(detail, [json!({ "text": text, "windows": [window(1, 3), window(2, 1)] })]);
    assert_eq!(page.ask::<Counts>("return counts(0)").await, count(text.trim_start()));
    let (pressed, says): (String, String) = page.ask("return [padOf(0, 2, 1).ariaPressed, said(0)]").await;
    assert_eq!(
        (pressed.as_str(), says.as_str()),
        ("true", "Bar 2 beat 1: quarter-note triplet, last note split (one bracket).")
    );
    // The others stay the same.
    assert_eq!(
        page.ask::<String>("return tag(1).text").await,
        page.ask::<String>("return tag(1).querySelector('pre').textContent").await
    );
    page.click_in("padOf(0, 2, 1)").await;
    assert_eq!(page.ask::<String>("return tag(0).text").await, before);
    assert_eq!(page.ask::<String>("return said(0)").await, "Bar 2 beat 1: plain again.");
    // A half-bar that can't be recast says why.
    page.click_in("padOf(0, 4, 1)").await;
    let says: String = page.ask("return said(0)").await;
    assert!(
        says.starts_with("Bar 4 beat 1: ") && says.contains("1 note here and this figure takes 4"),
        "{says}"
    );
    assert_eq!(page.ask::<String>("return tag(0).text").await, before);
}

pub(crate) async fn keys_do_what_taps_do(page: Page) {
    page.resize(1280).await;
    page.go().await;
    page.wait("the first example is drawn", "return signs(0, 'note').length > 0").await;
    page.keys(Key::Tab).await;
    let focus = "const at = tag(0).shadowRoot.activeElement; return label(at) ?? at?.textContent ?? ''";
    assert_eq!(page.ask::<String>(focus).await, "bar 1 beat 1: plain eighths");
    for (key, name) in [
        (Key::Right, "bar 1 beat 3: quarter-note triplet, last note split (one bracket)"),
        (Key::End, "bar 4 beat 3: can't be recast"),
        (Key::Home, "bar 1 beat 1: plain eighths"),
    ] {
        page.keys(key).await;
        let there: String = page.ask(focus).await;
        assert!(there.starts_with(name), "{there}");
    }
    page.keys(" ").await;
    assert_eq!(
        page.ask::<String>(focus).await,
        "bar 1 beat 1: quarter-note triplet, last note split (one bracket)"
    );
    page.keys(Key::Enter).await;
    assert_eq!(page.ask::<String>(focus).await, "bar 1 beat 1: plain eighths");
    // All pads together are one tab stop.
    page.keys(Key::Tab).await;
    assert_eq!(page.ask::<String>(focus).await, "Play");
}

async fn the_shelf_chooses(page: Page) {
    page.resize(390).await;
    page.go().await;
    page.ask::<Value>("tag(2).scrollIntoView()").await;
    page.wait("the third example is drawn", "return signs(2, 'note').length > 0").await;
    page.click_in("inside(2, 'input[value=split-middle]')[0].closest('label')").await;
    page.click_in("inside(2, 'input[value=tied]')[0].closest('label')").await;
    page.click_in("padOf(2, 1, 1)").await;
    let windows = page.later("return await tag(2).windows()").await;
    assert_eq!(windows, json!([{ "bar": 1, "beat": 1, "figure": "split-middle", "spelling": "tied" }]));
    // Nothing is wider than the phone.
    let wide: bool = page.js("return document.documentElement.scrollWidth > innerWidth").await;
    assert!(!wide, "the page scrolls sideways");
    let small: Vec<[f64; 2]> = page
        .ask("return tags().flatMap((_, n) => inside(n, 'button, .choices label')).filter(seen).map((one) => one.getBoundingClientRect())
            .filter(({ width, height }) => width < 24 || height < 44).map(({ width, height }) => [width, height])")
        .await;
    // WCAG 2.2, 2.5.8 and 2.5.5: as on the page, 24 px wide and tall enough for a thumb.
    assert!(small.is_empty(), "{small:?}");
}

pub(crate) async fn one_example_plays_at_a_time(page: Page) {
    page.resize(1280).await;
    page.go().await;
    page.wait("the first example is drawn", "return signs(0, 'note').length > 0").await;
    page.ask::<Value>(
        "window.heard = []; document.addEventListener('halfbar-note', ({ target, detail }) =>
            heard.push([tags().indexOf(target), detail.note, detail.when <= performance.now()]))",
    )
    .await;
    page.click_in("inside(0, '.play')[0]").await;
    page.wait("notes sound", "return heard.length > 2 && inside(0, '.sounding').length > 0").await;
    let notes: Vec<(usize, u32, bool)> = page.js("return heard.splice(0)").await;
    // A busy machine may skip some.
    assert!(notes.iter().all(|note| note.0 == 0 && note.2), "{notes:?}");
    assert!(notes.windows(2).all(|pair| pair[0].1 < pair[1].1), "{notes:?}");
    page.click_in("inside(2, '.play')[0]").await;
    page.wait("the third sounds", "return tag(2).playing && inside(2, '.sounding').length > 0").await;
    let first: (bool, String, usize) = page
        .ask("return [tag(0).playing, inside(0, '.play')[0].textContent, inside(0, '.sounding').length]")
        .await;
    assert_eq!(first, (false, "Play".into(), 0));
    page.click_in("inside(2, '.play')[0]").await;
    assert!(!page.ask::<bool>("return tag(2).playing").await);
    // A removed element falls silent.
    page.click_in("inside(0, '.play')[0]").await;
    page.wait("the first sounds again", "return tag(0).playing").await;
    page.ask::<Value>("window.gone = tag(0); gone.remove()").await;
    page.until("it falls silent", "return !gone.playing").await;
}

async fn what_was_set_before_the_script_counts(page: Page) {
    page.put_elements(&(markup("id=one", LINE) + "<half-bar id=two></half-bar>")).await;
    let text = "C4 D E F  G F E D |";
    page.ask::<Value>(&format!(
        "tag(1).text = '{text}'; tag(1).view = 'tab'; tag(1).fingers = true; tag(1).width = 40"
    ))
    .await;
    // Without the script, the text can be read.
    assert!(page.ask::<bool>("return seen(tag(0).querySelector('pre'))").await);
    page.load_script().await;
    page.wait("both are drawn", "return tag(0).drawn && tag(1).drawn").await;
    let seen: (String, usize, bool, String, String) = page
        .ask("return [tag(1).text, signs(1, 'fret').length, signs(1, 'finger').length > 4, tag(1).getAttribute('view'), tag(1).getAttribute('width')]")
        .await;
    assert_eq!(seen, (text.into(), 8, true, "tab".into(), "40".into()));
    assert!(
        page.ask::<bool>("return !Object.hasOwn(tag(1), 'view') && tag(1).hasAttribute('fingers')").await
    );
    assert_eq!(page.ask::<Counts>("return counts(0)").await, count(LINE));
    // Loading the script again changes nothing.
    assert_eq!(page.later("await import('./half-bar.js?again'); return null").await, Value::Null);
}

async fn attributes_and_properties_agree(page: Page) {
    page.put_elements(&markup("id=one figure=split-first", LINE)).await;
    page.load_script().await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    // From attribute to property and back.
    for (name, value) in
        [("view", "staff"), ("figure", "split-middle"), ("spelling", "tied"), ("controls", "shelf")]
    {
        let back: (String, String) = page
            .ask(&format!(
                "tag(0).setAttribute('{name}', '{value}'); const there = tag(0).{name}; tag(0).{name} = null;
                 const gone = tag(0).getAttribute('{name}'); tag(0).{name} = '{value}';
                 return [there, `${{gone}} ${{tag(0).getAttribute('{name}')}}`]"
            ))
            .await;
        assert_eq!(back, (value.to_string(), format!("null {value}")));
    }
    let numbers: Value = page
        .ask("tag(0).tempo = 90; tag(0).loop = true; tag(0).setAttribute('width', '60');
             return [tag(0).getAttribute('tempo'), tag(0).hasAttribute('loop'), tag(0).width, tag(0).fingers]")
        .await;
    assert_eq!(numbers, json!(["90", true, 60, false]));
    // They take effect.
    assert_eq!(page.ask::<usize>("return signs(0, 'fret').length").await, 0);
    let box_of: String =
        page.ask("return inside(0, '.row > div > svg.system')[0].getAttribute('viewBox')").await;
    assert!(box_of.split(' ').nth(2) == Some("15000"), "60 spaces are {box_of}");
    page.click_in("padOf(0, 3, 1)").await;
    let windows = page.later("return (await tag(0).windows()).filter((one) => one.bar === 3)").await;
    assert_eq!(windows, json!([{ "bar": 3, "beat": 1, "figure": "split-middle", "spelling": "tied" }]));
    page.ask::<Value>("tag(0).controls = 'none'").await;
    assert_eq!(page.ask::<usize>("return inside(0, 'button').filter(seen).length").await, 0);
    // An invalid value is reported, and everything else still works.
    heard(&page).await;
    for (name, value) in
        [("view", "upside-down"), ("figure", "<b>"), ("spelling", "phonetic"), ("width", "3")]
    {
        page.ask::<Value>(&format!("tag(0).setAttribute('{name}', '{value}')")).await;
        let told = heard(&page).await;
        let last = told.last().unwrap_or_else(|| panic!("{name} is not reported"));
        assert_eq!((last.name.as_str(), last.id.as_str()), ("error", "one"));
        assert_eq!((&last.detail["code"], &last.detail["line"]), (&json!(name), &json!(0)), "{last:?}");
    }
    assert_eq!(page.ask::<usize>("return tag(0).shadowRoot.querySelectorAll('b').length").await, 0);
    assert!(page.ask::<usize>("return signs(0, 'fret').length").await > 0, "the usual view is not back");
}

async fn a_mistake_keeps_the_drawing(page: Page) {
    page.put_elements(&[markup("id=one", LINE), markup("id=two", "C4 H E F G A B C |")].concat()).await;
    page.load_script().await;
    page.wait("it is drawn", "return tag(0).drawn && wrong(1).length === 1").await;
    // A text that was never correct stays readable, with a message about what is wrong.
    assert!(page.ask::<bool>("return seen(tag(1).querySelector('pre')) && !tag(1).drawn").await);
    let told = heard(&page).await;
    let [Heard { name, detail, id }] = told.as_slice() else { panic!("{told:?}") };
    assert_eq!((name.as_str(), id.as_str()), ("error", "two"));
    assert_eq!((&detail["line"], &detail["column"]), (&json!(1), &json!(4)), "{detail}");
    assert!(page.ask::<Vec<String>>("return wrong(1)").await[0].starts_with("Line 1, column 4: "));

    let before: Counts = page.ask("return counts(0)").await;
    page.ask::<Value>("tag(0).text = 'title: x\\nC4 D Z |'").await;
    assert_eq!(page.ask::<Counts>("return counts(0)").await, before);
    let (dim, text): (bool, String) =
        page.ask("return [inside(0, '.stale').length === 1, tag(0).text]").await;
    assert_eq!((dim, text.as_str()), (true, "title: x\nC4 D Z |"));
    page.wait("the mistake is told", "return heard.length === 1 && wrong(0).length === 1").await;
    assert!(page.ask::<Vec<String>>("return wrong(0)").await[0].contains("`Z` is not a note"));
    page.click_in("padOf(0, 3, 1)").await;
    assert!(page.ask::<String>("return said(0)").await.starts_with("Fix the mistake"));
    let thrown = page.later("await tag(0).recast(3, 1)").await;
    assert!(thrown.as_str().is_some_and(|said| said.contains("mistake")), "{thrown}");
    page.ask::<Value>("tag(0).text = 'C4 D E F  G F E D |'").await;
    assert_eq!(page.ask::<usize>("return wrong(0).length + inside(0, '.stale').length").await, 0);
    assert_eq!(page.ask::<Counts>("return counts(0)").await, count("C4 D E F  G F E D |"));
    // A mistake that is corrected before it is explained is never told.
    heard(&page).await;
    page.later(
        "tag(0).text = 'C4 D Z |'; tag(0).text = 'C4 D E F  G F E D |'; await new Promise(setTimeout)",
    )
    .await;
    assert_eq!((heard(&page).await.len(), page.ask::<usize>("return wrong(0).length").await), (0, 0));
}

async fn what_is_worth_saying_is_told(page: Page) {
    page.put_elements(&markup("id=one", "@C2 C4 D E F  G F E D |")).await;
    page.ask::<Value>("document.addEventListener('halfbar-remark', ({ detail }) => heard.push({ name: 'remark', detail, id: '' }))").await;
    page.load_script().await;
    page.wait("it is told", "return heard.length > 0").await;
    let told = heard(&page).await;
    let [Heard { name, detail, .. }] = told.as_slice() else { panic!("{told:?}") };
    assert_eq!(
        (name.as_str(), &detail["code"], &detail["column"]),
        ("remark", &json!("chord-quality"), &json!(1))
    );
    assert!(detail["message"].as_str().is_some_and(|says| says.contains("`sus2` or `add9`")), "{detail}");
    assert!(page.ask::<bool>("return tag(0).drawn && wrong(0).length === 0").await);
}

async fn a_text_that_cannot_be_drawn_says_why(page: Page) {
    page.put_elements(&markup("id=one", &"C4:4 | ".repeat(2_001))).await;
    page.load_script().await;
    page.wait("it is told", "return wrong(0).length === 1").await;
    let says = page.ask::<Vec<String>>("return wrong(0)").await;
    assert!(says[0].contains("2001 bars"), "{says:?}");
    // This needs no explanation from another module.
    assert_eq!(page.modules_fetched().await, 1);
    let unplayable = "hand: position V at 1.1 to 2.1\nA4 C5 E5 D5 r:2 |";
    page.ask::<Value>(&format!("tag(0).text = {}", json!(unplayable))).await;
    page.wait("it is told", "return wrong(0).length === 1 && !wrong(0)[0].includes('2001')").await;
    let says = page.ask::<Vec<String>>("return wrong(0)").await;
    assert!(says[0].starts_with("Line 1, column 1: position V can't hold E5"), "{says:?}");
}

async fn a_moved_element_keeps_its_state(page: Page) {
    page.put_elements(&(markup("id=one", LINE) + "<section></section>")).await;
    page.load_script().await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    page.click_in("padOf(0, 3, 1)").await;
    let text: String = page.ask("return tag(0).text").await;
    page.ask::<Value>("window.kept = signs(0, 'note')[0]; one('section').append(tag(0))").await;
    // Some time after the move.
    let same = page
        .later("await new Promise((go) => setTimeout(go, 100)); return kept === signs(0, 'note')[0]")
        .await;
    assert_eq!(same, json!(true), "it was redrawn");
    assert_eq!(page.ask::<String>("return tag(0).text").await, text);
    assert_eq!(page.living().await, json!(1));
    page.click_in("padOf(0, 3, 1)").await;
    assert_ne!(page.ask::<String>("return tag(0).text").await, text);
}

async fn an_element_moved_into_a_frame_still_works(page: Page) {
    page.resize(1280).await;
    let frame = "<iframe srcdoc='<!doctype html><body></body>' width=900 height=600></iframe>";
    page.put_elements(
        &[markup("id=one controls='pads play' loop", LINE), markup("id=two", LINE), frame.into()].concat(),
    )
    .await;
    page.load_script().await;
    page.wait("both are drawn", "return tag(0).drawn && tag(1).drawn").await;
    page.wait("the frame is there", "return one('iframe').contentDocument?.URL === 'about:srcdoc'").await;
    page.click_in("padOf(0, 3, 1)").await;
    page.click_in("inside(0, '.play')[0]").await;
    page.wait("it plays", "return tag(0).playing").await;
    let text: String = page.ask("return tag(0).text").await;
    let looks = "const pad = moved.shadowRoot.querySelector('button.pad'), style = getComputedStyle(pad);
        return [style.position, style.borderTopStyle, style.borderTopLeftRadius, style.cursor]";
    page.ask::<Value>("window.moved = tag(0)").await;
    let before: [String; 4] = page.ask(looks).await;
    page.ask::<Value>("one('iframe').contentDocument.body.append(moved)").await;
    let same = page
        .later(
            "await new Promise((go) => setTimeout(go, 200)); return [moved.drawn, moved.playing, moved.text]",
        )
        .await;
    assert_eq!(same, json!([true, true, text]));
    assert_eq!(page.ask::<[String; 4]>(looks).await, before, "its styles were left behind");
    assert_eq!(page.living().await, json!(2));
    // It works there, and is redrawn if the width is different.
    let tapped: (String, Vec<String>) = page
        .ask("[...moved.shadowRoot.querySelectorAll('button.pad')].find((pad) => pad.dataset.start === '8').click();
              return [moved.text, heard.filter((one) => one.name === 'casting').map((one) => one.id)]")
        .await;
    assert_ne!(tapped.0, text);
    page.ask::<Value>(
        "window.rows = moved.shadowRoot.querySelectorAll('.row').length; one('iframe').width = 320",
    )
    .await;
    page.wait("it is redrawn", "return moved.shadowRoot.querySelectorAll('.row').length > rows").await;
    // The other one keeps its styles, and the first one has them again when it comes back.
    page.ask::<Value>("document.body.prepend(moved)").await;
    page.frames().await;
    assert_eq!(page.ask::<[String; 4]>(looks).await, before);
    page.ask::<Value>("moved = tag(1)").await;
    assert_eq!(page.ask::<[String; 4]>(looks).await, before);
    // It falls silent when its frame is removed.
    page.ask::<Value>("moved = tag(0); one('iframe').contentDocument.body.append(moved)").await;
    assert!(page.ask::<bool>("return moved.playing").await);
    page.ask::<Value>("one('iframe').remove()").await;
    page.until("it falls silent", "return !moved.playing").await;
    // In an invisible document, there is no event either: it is out of the page, and keeps its text.
    page.ask::<Value>("moved = tag(0); document.implementation.createHTMLDocument().body.append(moved)")
        .await;
    let text = page.later("await new Promise((go) => setTimeout(go, 100)); return moved.text").await;
    assert!(text.as_str().is_some_and(|text| text.contains("@Fm7")), "{text}");
    page.ask::<Value>("document.body.prepend(moved)").await;
    page.wait("it is drawn again", "return moved.drawn").await;
    assert_eq!(page.ask::<[String; 4]>(looks).await, before);
}

async fn a_tap_is_heard_while_it_plays(page: Page) {
    page.resize(1280).await;
    page.put_elements(&markup("id=one controls='pads play' loop", practice::LINE)).await;
    page.load_script().await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    page.js::<Value>(practice::NOTE_STARTS).await;
    // The second bar is tapped as soon as the first note is scheduled.
    page.ask::<Value>(
        "const timer = setInterval(() => {
            if (starts.length === 0) return;
            clearInterval(timer);
            padOf(0, 2, 1).click();
         }, 5)",
    )
    .await;
    page.click_in("inside(0, '.play')[0]").await;
    let found = practice::starts(&page, 32).await;
    let text: String = page.ask("return tag(0).text").await;
    let expected = practice::performed(&text);
    assert_eq!(expected.len(), 16);
    let plain = practice::performed(practice::LINE);
    assert!((plain[9] - expected[9]).abs() > 0.01, "the tap makes no difference");
    practice::agree(&found[..16], &expected);
    let pass = 8.0 * 60.0 / 200.0;
    let again: Vec<f64> = expected.iter().map(|start| start + pass).collect();
    practice::agree(&found[16..], &again);
    // A change in a bar that was already played is heard the next time through.
    page.ask::<Value>("starts.length = 0; padOf(0, 1, 1).click()").await;
    page.click_in("inside(0, '.play')[0]").await;
    assert!(!page.ask::<bool>("return tag(0).playing").await);
}

async fn removed_elements_are_freed(page: Page) {
    page.put_elements(&(0..20).map(|_| markup("", LINE)).collect::<String>()).await;
    page.load_script().await;
    let ready = page.later("await Promise.all(tags().map((one) => one.ready())); return null").await;
    assert_eq!(ready, Value::Null);
    assert_eq!(page.living().await, json!(20));
    page.click_in("padOf(0, 3, 1)").await;
    let text: String = page.ask("window.first = tag(0); return first.text").await;
    page.ask::<Value>("document.body.replaceChildren()").await;
    let living = page.later("await new Promise((go) => setTimeout(go, 50)); return (await import('./halfbar_widget.js')).living()").await;
    assert_eq!(living, json!(0), "removed elements keep their memory");
    // An element that comes back has its casting.
    page.ask::<Value>("document.body.append(first)").await;
    page.wait("it is drawn again", "return tag(0).drawn").await;
    assert_eq!(page.ask::<String>("return tag(0).text").await, text);
    assert_eq!(page.ask::<Counts>("return counts(0)").await, count(&text));
    // Even one that was never in the document.
    let living = page
        .later("const loose = document.createElement('half-bar'); loose.text = 'C4 D E F  G F E D |'; await loose.recast(1, 1, 'split-last');
            const text = loose.text; await new Promise((go) => setTimeout(go, 50));
            return [text === loose.text && text, (await import('./halfbar_widget.js')).living()]")
        .await;
    assert_eq!(living, json!(["recast: split-last at 1.1 bracket\nC4 D E F  G F E D |", 1]));
    // Memory is freed and reused: there are a hundred times as many elements as are alive at any time.
    let grown = page
        .later("const { default: init } = await import('./halfbar_widget.js'); const { memory } = await init();
            const round = async () => { const one = document.createElement('half-bar'); one.text = first.text; document.body.append(one);
                await one.ready(); one.remove(); await new Promise((go) => setTimeout(go)); };
            for (let n = 0; n < 20; n++) await round();
            const before = memory.buffer.byteLength;
            for (let n = 0; n < 200; n++) await round();
            return memory.buffer.byteLength - before")
        .await;
    assert_eq!(grown, json!(0), "growth of the module's memory in bytes");
}

async fn hostile_text_stays_text(page: Page) {
    let hostile = "</pre><script>window.hit = true</script><img src=x onerror='window.hit = true'>";
    let turned = "\u{202E}desrever \u{2067}\u{200B}";
    let line = LINE.replace("Week 12", &format!("{hostile} {turned}"));
    let elements = [
        markup("id=right", &line),
        markup("id=wrong", &format!("C4 D {hostile} E |")),
        markup("id=figure", &format!("figure: {hostile} = 1 1\nC4 D E F  G F E D |")),
        markup("figure='<img src=x onerror=window.hit=true>' controls='shelf <script>'", LINE),
    ];
    page.put_elements(&elements.concat()).await;
    page.load_script().await;
    page.wait(
        "everything that can be drawn is",
        "return tag(0).drawn && wrong(1).length > 0 && wrong(2).length > 0 && tag(3).drawn",
    )
    .await;
    let foreign: usize = page
        .ask("return tags().flatMap((_, n) => inside(n, 'script, img, a, iframe, style, link')).length")
        .await;
    assert_eq!(foreign, 0);
    page.click_in("padOf(0, 3, 1)").await;
    assert!(
        page.ask::<String>("return said(0)")
            .await
            .starts_with("Bar 3 beat 1: quarter-note triplet, last note split")
    );
    assert!(page.ask::<bool>("return window.hit === undefined").await, "a text was executed");
    let name: String = page.ask("return label(inside(0, '.music')[0])").await;
    assert!(name.contains("<img src=x onerror="), "{name}");
    // Ten megabytes are refused immediately.
    let answered = page
        .later(
            "const start = performance.now(); tag(1).text = 'C4 D E F '.repeat(1_200_000);
             while (!wrong(1).length) await new Promise(setTimeout);
             return [wrong(1)[0], performance.now() - start]",
        )
        .await;
    assert!(answered[0].as_str().is_some_and(|said| said.contains("bytes")), "{answered}");
}

async fn text_that_comes_later_is_drawn(page: Page) {
    page.put_elements("<half-bar></half-bar><half-bar>C4 D E F  G F E D |</half-bar>").await;
    page.load_script().await;
    page.wait("text without a pre is drawn", "return tag(1).drawn").await;
    assert!(!page.ask::<bool>("return tag(0).drawn").await);
    page.ask::<Value>("tag(0).innerHTML = '<pre>E4 D C B3  C D E F |</pre>'").await;
    page.wait("what was added is drawn", "return tag(0).drawn").await;
    page.ask::<Value>("tag(0).firstChild.firstChild.data = 'E4:2 D:2 |'").await;
    page.wait("what was changed is drawn", "return signs(0, 'note').length === 2").await;
    assert!(heard(&page).await.is_empty());
}

async fn only_examples_near_the_window_are_drawn(page: Page) {
    page.resize(1280).await;
    page.put_elements(&(0..100).map(|_| markup("", LINE)).collect::<String>()).await;
    page.load_script().await;
    page.wait("the first two are drawn", "return tag(0).drawn && tag(1).drawn").await;
    page.frames().await;
    let near: usize = page.ask("return tags().filter((one) => one.drawn).length").await;
    assert!((2..10).contains(&near), "{near} of 100 are drawn");
    assert_eq!(page.living().await, json!(near));
    page.ask::<Value>("tag(70).scrollIntoView()").await;
    page.wait("one that was scrolled to is drawn", "return tag(70).drawn").await;
    assert!(page.ask::<usize>("return tags().filter((one) => one.drawn).length").await < 30);
    assert_eq!(page.modules_fetched().await, 1);
}

/// Elements with pictures, as the command line writes them.
async fn with_pictures(page: &Page, count: usize) {
    page.go().await;
    let svg = page
        .later(&format!(
            "const {{ default: init, Piece }} = await import('./halfbar_piece.js'); await init(); return new Piece({}).svg({{ width: 80 }})",
            json!(LINE)
        ))
        .await;
    let one = format!(
        "<half-bar><pre>{}</pre><figure>{}</figure></half-bar>",
        escaped(LINE),
        svg.as_str().unwrap()
    );
    page.put_elements(&one.repeat(count)).await;
}

async fn pictures_that_came_with_the_page_cost_nothing_until_a_tap(page: Page) {
    page.resize(1280).await;
    with_pictures(&page, 100).await;
    let before: f64 = page.ask("return tag(0).querySelector('svg').getBoundingClientRect().width").await;
    page.load_script().await;
    page.ask::<Value>("tag(50).scrollIntoView()").await;
    page.frames().await;
    page.ask::<Value>("tag(0).scrollIntoView()").await;
    page.frames().await;
    assert_eq!(page.modules_fetched().await, 0, "reading fetched a module");
    let shown: (bool, bool, f64) = page
        .ask("const [one] = tags(); return [seen(one.querySelector('svg')), seen(one.querySelector('pre')), one.querySelector('svg').getBoundingClientRect().width]")
        .await;
    assert_eq!((shown.0, shown.1), (true, false));
    assert!(
        (shown.2 - before).abs() < 1.0 || before > shown.2,
        "the picture grew from {before} to {}",
        shown.2
    );

    // From the tap on, watch for a frame without any music.
    page.ask::<Value>(
        "window.empty = 0; window.both = 0;
         const watch = () => {
            const picture = seen(tag(0).querySelector('svg')), drawing = signs(0, 'note').some(seen);
            if (!picture && !drawing) empty++;
            if (picture && drawing) both++;
            requestAnimationFrame(watch);
         };
         watch();",
    )
    .await;
    page.click_in("inside(0, '.open')[0]").await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    page.frames().await;
    assert_eq!(
        page.js::<[usize; 2]>("return [empty, both]").await,
        [0, 0],
        "frames without music, and with two copies of it"
    );
    assert_eq!(page.modules_fetched().await, 1);
    assert_eq!(page.living().await, json!(1));
    let focus: Option<String> = page.ask("return label(tag(0).shadowRoot.activeElement)").await;
    assert_eq!(focus.as_deref(), Some("bar 1 beat 1: quarter-note triplet, last note split (one bracket)"));
    assert!(
        page.ask::<bool>("return inside(0, '.open')[0].hidden && !seen(tag(0).querySelector('figure'))")
            .await
    );
    // A tap on the picture itself works too.
    page.click_in("tag(1).querySelector('svg')").await;
    page.wait("the second is drawn", "return tag(1).drawn").await;
    page.click_in("padOf(1, 3, 1)").await;
    assert_eq!(page.living().await, json!(2));
}

/// A page as a site generator writes it: markup from the command line, and no script other than the element's.
async fn what_the_command_line_writes_is_shown_and_taken_over(page: Page) {
    let folder = target().join("rendered");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    for number in 0..100 {
        fs::write(folder.join(format!("week {number:02}.txt")), LINE).unwrap();
    }
    let folder = folder.to_str().unwrap();
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".into());
    let program = ["run", "--quiet", "--package", "halfbar-cli", "--"];
    let asked = ["render", folder, "--to", "half-bar", "--out", folder];
    halfbar_tests::program(&cargo, &[program.as_slice(), &asked].concat());
    let mut markup = String::new();
    for number in 0..100 {
        markup += &fs::read_to_string(format!("{folder}/week {number:02}.half-bar.html")).unwrap();
    }
    let head = "<!doctype html>\n<html lang=en>\n<meta charset=utf-8>\n<title>A hundred weeks</title>\n<meta name=viewport content='width=device-width'>\n\
         <meta http-equiv=Content-Security-Policy content=\"default-src 'self'; script-src 'self' 'wasm-unsafe-eval'; img-src data:\">\n\
         <link rel=icon href='data:,'>\n<link rel=stylesheet href=half-bar.css>\n";
    let site = target().join("site");
    fs::write(site.join("plain-weeks.html"), format!("{head}{markup}")).unwrap();
    fs::write(
        site.join("weeks.html"),
        format!("{head}<script type=module src=half-bar.js></script>\n{markup}"),
    )
    .unwrap();
    page.go().await;
    let address: String = page.js("return location.href.replace(/[^/]*$/, '')").await;
    page.resize(390).await;

    // The music is there without any script.
    page.driver().goto(format!("{address}plain-weeks.html")).await.unwrap();
    let pictures = "return tags().map((one) => one.querySelector('svg').getBoundingClientRect()).map(({ width, height }) => [width, height])";
    let plain: Vec<[f64; 2]> = page.ask(pictures).await;
    assert_eq!(plain.len(), 100);
    assert!(plain.iter().all(|[width, height]| *width > 300.0 && *height > 40.0), "{plain:?}");
    // With the script, it has the same size, and scrolling through all of it fetches nothing that draws.
    page.driver().goto(format!("{address}weeks.html")).await.unwrap();
    page.wait(
        "the elements are there",
        "return customElements.get('half-bar') && seen(inside(0, '.open')[0])",
    )
    .await;
    assert_eq!(page.ask::<Vec<[f64; 2]>>(pictures).await, plain);
    for number in (0..100).step_by(9) {
        page.ask::<Value>(&format!("tag({number}).scrollIntoView()")).await;
        page.frames().await;
    }
    assert_eq!(page.modules_fetched().await, 0);
    let fetched: usize = page.js("return performance.getEntriesByType('resource').filter((one) => one.name.includes('widget')).length").await;
    assert_eq!(fetched, 0, "reading fetched a module's JavaScript");

    // A finger on a picture: every frame shows the music exactly once, and it is drawn once.
    page.ask::<Value>(
        "window.empty = window.both = window.drawings = 0;
         const note = (sign) => seen(sign) && sign.getBoundingClientRect().height > 0;
         const watch = () => {
            const picture = seen(tag(50).querySelector('svg')), drawing = signs(50, 'note').some(note);
            if (!picture && !drawing) empty++;
            if (picture && drawing) both++;
            requestAnimationFrame(watch);
         };
         watch();
         new MutationObserver((changes) => {
            for (const { addedNodes } of changes) drawings += [...addedNodes].filter((node) => node.matches?.('.row')).length;
         }).observe(tag(50).shadowRoot, { childList: true, subtree: true });
         window.place = tag(50).getBoundingClientRect().top + scrollY",
    )
    .await;
    let element = "tag(50).querySelector('svg')";
    page.touch(&format!("(() => {{{HELP} return {element}; }})()")).await;
    page.wait("it is drawn", "return tag(50).drawn").await;
    page.frames().await;
    page.frames().await;
    assert_eq!(
        page.js::<[usize; 2]>("return [empty, both]").await,
        [0, 0],
        "frames without music, and with two copies of it"
    );
    let drawn: (usize, usize) = page.ask("return [drawings, inside(50, '.row').length]").await;
    assert_eq!(drawn.0, drawn.1, "rows that were drawn, and rows in the document");
    assert!(
        page.ask::<bool>("return Math.abs(tag(50).getBoundingClientRect().top + scrollY - place) < 1").await,
        "the page jumped"
    );
    assert_eq!(page.ask::<Counts>("return counts(50)").await, count(LINE));
    assert_eq!((page.modules_fetched().await, page.living().await), (1, json!(1)));
    page.click_in("padOf(50, 3, 1)").await;
    let windows = page.later("return (await tag(50).windows()).length").await;
    assert_eq!(windows, json!(3));
}

async fn a_script_works_without_a_tap(page: Page) {
    with_pictures(&page, 3).await;
    page.load_script().await;
    let windows = page.later("return await tag(2).windows()").await;
    assert_eq!(
        windows,
        json!([
            { "bar": 1, "beat": 1, "figure": "split-last", "spelling": "bracket" },
            { "bar": 2, "beat": 3, "figure": "split-last", "spelling": "tied" },
        ])
    );
    assert_eq!(page.ask::<Vec<bool>>("return tags().map((one) => one.drawn)").await, [false, false, true]);
    let made = page
        .later("await tag(2).recast(1, 3, 'split-first', 'tied'); const stood = [await tag(2).restore(1, 1), await tag(2).restore(1, 1)];
            return [tag(2).text.match(/^recast: .*$/gm).sort(), stood, (await tag(2).svg({ view: 'tab' })).startsWith('<svg')]")
        .await;
    assert_eq!(
        made,
        json!([["recast: split-first at 1.3 tied", "recast: split-last at 2.3 tied"], [true, false], true])
    );
    let told = heard(&page).await;
    assert_eq!(told.iter().map(|one| one.name.as_str()).collect::<Vec<_>>(), ["casting", "casting"]);
    for (call, code) in [
        ("recast(99, 1)", "window"),
        ("recast(1, 1.3)", "place"),
        ("recast(1, 3, 'x')", "figure"),
        ("svg({ view: 'x' })", "view"),
    ] {
        let thrown = page.later(&format!("await tag(2).{call}")).await;
        assert!(
            thrown.as_str().is_some_and(|said| said.starts_with(&format!("thrown {code}"))),
            "{call}: {thrown}"
        );
    }
}

async fn without_the_module_the_text_stays(page: Page) {
    page.put_elements(&markup("id=one", LINE)).await;
    block(&page, Some("*halfbar_widget_bg.wasm")).await;
    page.load_script().await;
    fails_with(&page, "load").await;
    let shown: (bool, String) =
        page.ask("return [seen(tag(0).querySelector('pre')), inside(0, '.failure').filter(seen).map((one) => one.textContent).join('')]").await;
    assert!(shown.0 && shown.1.starts_with("Sorry, the music could not be loaded"), "{shown:?}");
    // The next request tries again.
    block(&page, None).await;
    assert_eq!(page.later("await tag(0).ready(); return tag(0).drawn").await, json!(true));
    // The blocked request is reported on the console, as expected.
    let _ = page.driver().browser_log().await;
}

async fn without_its_explanation_a_mistake_is_still_shown(page: Page) {
    page.put_elements(&markup("id=one", "C4 H E F G A B C |")).await;
    block(&page, Some("*halfbar_piece_bg.wasm")).await;
    page.load_script().await;
    fails_with(&page, "note").await;
    let says = page.ask::<Vec<String>>("return wrong(0)").await;
    assert!(says[0].starts_with("Line 1, column 4: there is a mistake here"), "{says:?}");
    // The next mistake tries again.
    block(&page, None).await;
    page.ask::<Value>("tag(0).text = 'C4 D Z |'").await;
    page.wait("it is explained", "return wrong(0).some((says) => says.includes('`Z` is not a note'))").await;
    let _ = page.driver().browser_log().await;
}

/// Makes the network refuse files whose addresses match a pattern, or none.
pub(crate) async fn block(page: &Page, pattern: Option<&str>) {
    page.cdp("Network.enable", json!({})).await;
    page.cdp("Network.setBlockedURLs", json!({ "urls": pattern.into_iter().collect::<Vec<_>>() })).await;
}

/// Waits for the first event, which has to be an error with this code.
async fn fails_with(page: &Page, code: &str) {
    page.wait("the failure is reported", "return heard.length > 0").await;
    let told = heard(page).await;
    assert_eq!((told[0].name.as_str(), &told[0].detail["code"]), ("error", &json!(code)));
}

async fn sound_is_fetched_when_it_is_played(page: Page) {
    page.put_elements(&markup("id=one controls='pads play'", LINE)).await;
    block(&page, Some("*halfbar_sound_bg.wasm")).await;
    page.load_script().await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    assert_eq!(page.modules_fetched().await, 1);
    // Browsers let sound start only during a tap, so the audio clock can't wait for the module.
    page.ask::<Value>(
        "window.clocks = []; let tapped = false;
         addEventListener('click', () => (tapped = true), { capture: true });
         addEventListener('click', () => (tapped = false));
         const Clock = window.AudioContext;
         window.AudioContext = class extends Clock { constructor() { super(); clocks.push(tapped); } }",
    )
    .await;
    page.click_in("inside(0, '.play')[0]").await;
    fails_with(&page, "sound").await;
    let state = "return [clocks, tag(0).playing, inside(0, '.play')[0].textContent]";
    assert_eq!(page.ask::<Value>(state).await, json!([[true], false, "Play"]));
    let _ = page.driver().browser_log().await;
    block(&page, None).await;
    // Stopped while the module is loading.
    let stopped = "const playing = tag(0).play(); tag(0).stop(); await playing; return [tag(0).playing, inside(0, '.play')[0].textContent]";
    assert_eq!(page.later(stopped).await, json!([false, "Play"]));
    page.click_in("inside(0, '.play')[0]").await;
    page.wait("it plays", "return tag(0).playing && inside(0, '.sounding').length > 0").await;
    assert_eq!(page.ask::<Value>(state).await, json!([[true], true, "Stop"]));
}
