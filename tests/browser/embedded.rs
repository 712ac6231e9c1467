//! The element `<half-bar>` in the pages of others: what they write, how they style it, and what goes wrong there.

use std::fs;

use halfbar_tests::target;
use serde_json::{Value, json};
use thirtyfour::common::print::PrintParameters;

use crate::element::{block, markup};
use crate::expected::LINE;
use crate::host::Host;
use crate::page::Page;
use crate::paper::poppler;

scenarios! {
    blank (Blank):
        a_text_comes_from_where_the_page_says, tools_have_names_that_survive, what_a_page_was_told_changes_nothing,
        an_empty_example_says_why, a_text_cut_anywhere_is_one_clear_message, a_sites_styles_hold, states_parts_and_a_caption,
        every_example_is_printed, it_works_under_trusted_types, a_module_that_is_a_page_is_said, a_second_copy_shares_the_first,
        it_speaks_the_pages_language, the_list_of_phrases_is_complete, a_task_is_part_of_a_form, elements_come_and_go_in_every_way,
        names_are_found_by_another_module, without_that_module_there_are_no_names;
}

/// Two bars, and the same with other notes in the second.
const BARS: &str = "C4 D E F  G F E D | C4 D E F  G A B C |";
const OTHER_BARS: &str = "C4 D E F  G F E D | E4 D C B3  C D E F |";

impl Page {
    /// The same as [`Page::put_elements`], with the console's warnings noted.
    async fn embed(&self, markup: &str) {
        self.put_elements(markup).await;
        self.js::<Value>("window.warned = []; console.warn = (...words) => warned.push(words.join(' '));")
            .await;
        // By a tag: in Firefox, what a driver's script imports is not the page's.
        let loaded = "await new Promise((done) => {
            const script = document.createElement('script');
            Object.assign(script, { type: 'module', src: 'half-bar.js', onload: done });
            document.head.append(script);
        })";
        self.later(loaded).await;
    }

    async fn warned(&self) -> Vec<String> {
        self.js("return warned.splice(0)").await
    }

    /// Puts a file beside the site's, and goes to it if it is a page.
    async fn own_page(&self, name: &str, content: &str) {
        fs::write(target().join("site").join(name), content).unwrap();
        self.go().await;
        let address: String = self.js("return location.href.replace(/[^/]*$/, '')").await;
        if name.ends_with(".html") {
            self.driver().goto(format!("{address}{name}")).await.unwrap();
        }
    }
}

async fn names_are_found_by_another_module(page: Page) {
    let named = format!("names: yes\n@Am7 E3 G B C  C E A C | {BARS}");
    let asked = "return performance.getEntriesByType('resource').filter((one) => one.name.includes('piece_bg')).length";
    // An example without names needs only its own module.
    page.embed(&format!("<half-bar><pre>{BARS}</pre></half-bar>")).await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    assert_eq!(page.js::<usize>(asked).await, 0);
    page.ask::<()>(&format!("tag(0).text = {}", json!(named))).await;
    page.wait("it has brackets", "return inside(0, '[data-name]').length > 1").await;
    assert_eq!(page.js::<usize>(asked).await, 1);
    // A screen reader hears them.
    let heard: String = page.ask("return tag(0).shadowRoot.textContent").await;
    assert!(heard.contains("C major 7 arpeggio, 1st inversion, up"), "{heard}");
    // A tap changes no name, and finds none again; another line has its own.
    let names = "return inside(0, '[data-name]').length";
    let before: usize = page.ask(names).await;
    page.ask::<()>("tag(0).recast(1, 1, 'split-last')").await;
    assert_eq!(page.ask::<usize>(names).await, before);
    page.ask::<()>(&format!("tag(0).text = {}", json!(BARS))).await;
    page.wait("brackets are gone", "return inside(0, '[data-name]').length === 0").await;
}

async fn without_that_module_there_are_no_names(page: Page) {
    block(&page, Some("*halfbar_piece_bg.wasm")).await;
    page.embed(&format!("<half-bar><pre>names: yes\n@Am7 E3 G B C  C E A C | {BARS}</pre></half-bar>")).await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    assert_eq!(page.ask::<usize>("return inside(0, '[data-name]').length").await, 0);
    let warned = page.warned().await;
    assert!(warned.len() == 1 && warned[0].starts_with("<half-bar>"), "{warned:?}");
    let _ = page.driver().browser_log().await;
}

async fn a_text_comes_from_where_the_page_says(page: Page) {
    page.own_page("quay.txt", LINE).await;
    let elements = [
        // Letters of any case, and attributes in any order.
        format!("<HALF-BAR Text='{BARS}' VIEW=staff></HALF-BAR>"),
        "<half-bar src=quay.txt></half-bar>".into(),
        "<half-bar src=missing.txt></half-bar>".into(),
        "<half-bar src=lesson.html></half-bar>".into(),
        format!("<half-bar src=quay.txt text='{OTHER_BARS}'><pre>{BARS}</pre></half-bar>"),
        // What is inside serves where there is no file.
        format!("<half-bar src='http://[' tools=play tempo=fast><pre>{BARS}</pre></half-bar>"),
    ];
    page.embed(&elements.concat()).await;
    page.wait("four are drawn", "return [0, 1, 4, 5].every((n) => tag(n).drawn)").await;
    let texts: Vec<String> = page.ask("return [0, 1, 4, 5].map((n) => tag(n).text)").await;
    assert_eq!(texts, [BARS, LINE, OTHER_BARS, BARS]);
    page.wait("two say why not", "return [2, 3].every((n) => seen(inside(n, '.failure')[0]))").await;
    let warned = page.warned().await;
    let one = |what: &str| warned.iter().filter(|row| row.contains(what)).count() == 1;
    assert!(one("missing.txt: status 404") && one("lesson.html is a web page, not a text"), "{warned:?}");
    assert!(one("the tempo must be a number") && warned.len() == 4, "{warned:?}");
    let failed: Vec<bool> = page.ask("return tags().map((one) => one.matches(':state(failed)'))").await;
    assert_eq!(failed, [false, false, true, true, false, true]);
    page.later("await tag(5).play()").await;
    page.wait("it plays at the line's own tempo", "return tag(5).playing").await;
    page.ask::<Value>("tag(5).stop(); tag(5).src = 'quay.txt'").await;
    let found = format!("return tag(5).text === {} && !seen(inside(5, '.failure')[0])", json!(LINE));
    page.wait("another file is there", &found).await;
    // An attribute that changes gives another text; a mistake in a file is told like any other.
    page.ask::<Value>(&format!("tag(2).src = 'quay.txt'; tag(0).setAttribute('text', '{OTHER_BARS}')")).await;
    page.wait("both have it", &format!("return tag(2).drawn && tag(0).text === '{OTHER_BARS}'")).await;
    page.own_page("wrong.txt", "C4 D H F G F E D |").await;
    page.embed("<half-bar src=wrong.txt></half-bar>").await;
    page.wait("the mistake is shown", "return wrong(0).length === 1").await;
    let said: String = page.ask("return wrong(0)[0]").await;
    assert!(said.starts_with("Line 1, column 6: `H` is not a note"), "{said}");
    // The driver notes that a file was missing.
    let _ = page.driver().browser_log().await;
}

async fn tools_have_names_that_survive(page: Page) {
    let written = [
        "",
        "tools",
        "tools='pads play'",
        "controls='pads play'",
        "controls",
        "tools='figures'",
        "controls=shelf",
        "tools=none",
        "tools='Pads  PLAY'",
        "tools='pads cowbell'",
    ];
    page.embed(&written.map(|tools| markup(tools, BARS)).concat()).await;
    page.wait("all are drawn", "return tags().every((one) => one.drawn)").await;
    let shown: Vec<String> = page
        .ask("return tags().map((_, n) => ['.pad', '.shelf', '.play'].map((one) => Number(inside(n, one).some(seen))).join(''))")
        .await;
    assert_eq!(shown, ["100", "100", "101", "101", "100", "110", "110", "000", "101", "100"]);
    let warned = page.warned().await;
    assert_eq!(warned, ["<half-bar> there is no tool `cowbell`: use any of pads, figures, play, or none"]);
}

async fn what_a_page_was_told_changes_nothing(page: Page) {
    page.embed(&markup("tools='pads play'", BARS)).await;
    page.later("await tag(0).recast(1, 1); await tag(0).play()").await;
    page.wait("it plays", "return tag(0).playing").await;
    page.ask::<Value>("padOf(0, 2, 1).click()").await;
    let (before, said): (String, String) = page.ask("return [tag(0).text, said(0)]").await;
    assert!(
        before.contains("1.1 bracket, 2.1 bracket") && said.starts_with("Bar 2 beat 1"),
        "{before}\n{said}"
    );
    // A binding gives back what it was told: nothing stops and nothing is taken back.
    let same: (bool, String, usize) = page
        .ask("heard.splice(0); tag(0).text = tag(0).text; return [tag(0).playing, said(0), heard.length]")
        .await;
    assert!(same.0, "it was stopped");
    assert_eq!((same.1.as_str(), same.2), (said.as_str(), 0));
    // Other notes in bar 2: what is recast in bar 1 stays.
    let now: (String, bool) =
        page.ask(&format!("tag(0).text = '{OTHER_BARS}'; return [tag(0).text, tag(0).playing]")).await;
    assert_eq!(now, (format!("recast: split-last at 1.1 bracket\n{OTHER_BARS}"), false));
    let told: Vec<String> = page
        .ask("return heard.filter(({ name }) => name === 'casting').map(({ detail }) => detail.text)")
        .await;
    assert_eq!(told, [now.0]);
    // Moved out and back, it still knows what its author wrote.
    page.ask::<Value>("window.gone = tag(0); gone.remove()").await;
    page.until("it has let go of its drawing", "return !gone.drawn").await;
    page.ask::<Value>("document.body.append(gone)").await;
    page.wait("it is drawn again", "return tag(0).drawn").await;
    let again: [String; 2] = page.ask("const now = gone.text; gone.reset(); return [now, gone.text]").await;
    assert_eq!(again, [format!("recast: split-last at 1.1 bracket\n{OTHER_BARS}"), OTHER_BARS.into()]);
}

async fn an_empty_example_says_why(page: Page) {
    page.embed("<half-bar tools='pads play'></half-bar><p>key: Eb</p>").await;
    page.until("it is said", "return warned.length > 0").await;
    let heard: Value = page.js("return heard").await;
    assert_eq!(
        (heard[0]["name"].as_str(), heard[0]["detail"]["code"].as_str()),
        (Some("error"), Some("empty"))
    );
    let warned = page.warned().await;
    assert!(warned.len() == 1 && warned[0].contains("a Markdown tool has closed the tag"), "{warned:?}");
    assert!(!page.ask::<bool>("return seen(inside(0, '.play')[0])").await, "there is nothing to play");
    page.ask::<Value>(&format!("tag(0).text = '{BARS}'")).await;
    page.wait("it can be filled later", "return tag(0).drawn && seen(inside(0, '.play')[0])").await;
    assert!(page.warned().await.is_empty());
}

async fn a_text_cut_anywhere_is_one_clear_message(page: Page) {
    let rows: Vec<&str> = LINE.split_inclusive('\n').collect();
    let cut = (0..=rows.len()).map(|at| {
        // What a tool leaves outside.
        format!(
            "<half-bar tools='pads play'><pre>{}</pre></half-bar><p>{}</p>",
            rows[..at].concat(),
            rows[at..].concat()
        )
    });
    page.embed(&cut.collect::<String>()).await;
    page.later("await Promise.all(tags().map((one) => one.ready())); return null").await;
    let settled = "return tags().every((one, n) => one.drawn || wrong(n).length > 0)";
    page.wait("each is drawn or says what is wrong", settled).await;
    page.until("the empty one says so too", "return warned.length > 0").await;
    let told: Vec<(bool, usize, bool)> = page
        .ask("return tags().map((one, n) => [one.drawn, wrong(n).length, seen(inside(n, '.play')[0])])")
        .await;
    // Drawn, with Play, or one message and no Play.
    assert!(
        told.iter().all(|(drawn, messages, play)| drawn == play && usize::from(!drawn) == *messages),
        "{told:?}"
    );
    assert!(told.iter().any(|(drawn, ..)| *drawn) && told.iter().any(|(drawn, ..)| !*drawn));
    assert_eq!(page.warned().await.len(), 1);
}

/// A style sheet like those of themes for articles, in specificity too.
const THEME: &str =
    "<style>.prose half-bar > pre, .prose pre { display: block !important; background: black; }
.prose figure { display: block !important; } .dark { background: #111; color: #eee; }
.dark half-bar { --half-bar-accent: rgb(240, 160, 112); --half-bar-on-accent: rgb(20, 20, 20); }</style>";

pub(crate) async fn a_sites_styles_hold(page: Page) {
    let picture = "<figure><svg width=90 height=90 viewBox='0 0 9 9'><path d='M0 0h9v9z'/></svg></figure>";
    let with_picture = format!("<half-bar><pre>{BARS}</pre>{picture}</half-bar>");
    let recast = markup("", &format!("recast: split-last at 1.1\n{BARS}"));
    page.embed(&format!("{THEME}<article class='prose dark'>{with_picture}{recast}</article>")).await;
    page.wait("the second is drawn", "return tag(1).drawn").await;
    let shown: Vec<[bool; 2]> =
        page.ask("return tags().map((one) => [one.querySelector('pre'), one.querySelector('svg')].map((part) => part !== null && seen(part)))").await;
    assert_eq!(shown, [[false, true], [false, false]]);
    // Two custom properties fit it to a page that is dark by a class.
    let colors: Vec<String> = page
        .ask("const pad = padOf(1, 1, 1), styles = getComputedStyle(pad); return [styles.color, getComputedStyle(inside(1, '.music')[0]).color]")
        .await;
    assert_eq!(colors[1], "rgb(238, 238, 238)");
    page.ask::<Value>("tag(0).click(); inside(0, '.open')[0].click()").await;
    page.wait("the first is drawn too", "return tag(0).drawn && !seen(tag(0).querySelector('svg'))").await;
}

pub(crate) async fn states_parts_and_a_caption(page: Page) {
    let caption = "<figcaption slot=caption>Down the <b>quay</b> steps</figcaption>";
    page.embed(&format!(
        "<half-bar tools='figures play'>{caption}<pre>recast: split-last at 1.1\n{BARS}</pre></half-bar>
         <half-bar><pre>{BARS}</pre><img alt='' src='data:,'></half-bar>"
    ))
    .await;
    page.wait("the first is drawn", "return tag(0).drawn").await;
    let states = "return tags().map((one) => ['drawn', 'playing', 'waiting', 'failed'].map((state) => Number(one.matches(`:state(${state})`))).join(''))";
    assert_eq!(page.ask::<Vec<String>>(states).await, ["1000", "0010"]);
    // A text that it has already doesn't make it draw.
    page.ask::<Value>("tag(1).text = tag(1).text").await;
    assert_eq!(page.ask::<Vec<String>>(states).await[1], "0010");
    assert!(page.ask::<bool>("return seen(tag(0).querySelector('figcaption'))").await);
    assert!(!page.ask::<String>("return tag(0).text").await.contains("quay"));
    page.ask::<Value>("padOf(0, 1, 3).click()").await;
    let parts: Vec<String> =
        page.ask("return inside(0, '.pad').map((pad) => pad.getAttribute('part'))").await;
    assert_eq!(parts, ["half-bar recast", "half-bar recast chosen", "half-bar", "half-bar"]);
    let figures: [usize; 2] = page
        .ask("return ['[part~=figure]', '[part=\"figure chosen\"]'].map((one) => inside(0, one).length)")
        .await;
    assert!(figures[0] > 10 && figures[1] == 1, "{figures:?}");
    // A page's style reaches them.
    let color: String = page
        .ask("const sheet = new CSSStyleSheet(); sheet.replaceSync('half-bar::part(chosen) { outline-color: rgb(1, 2, 3) }');
             document.adoptedStyleSheets = [sheet]; return getComputedStyle(padOf(0, 1, 3)).outlineColor")
        .await;
    assert_eq!(color, "rgb(1, 2, 3)");
    page.later("await tag(0).play()").await;
    page.wait("it says that it plays", "return tag(0).matches(':state(playing)')").await;
    page.ask::<Value>("tag(0).stop()").await;
    assert_eq!(page.ask::<Vec<String>>(states).await[0], "1000");
}

/// On paper, every example is music, on the same page as its heading.
async fn every_example_is_printed(page: Page) {
    page.resize(1280).await;
    let heading = |n: usize| format!("<h2 style='break-after: auto'>Exercise {n}</h2>");
    let markup: String = (0..20).map(|n| heading(n) + markup("tools='pads play'", LINE).as_str()).collect();
    page.embed(&markup).await;
    page.until(
        "the module is there",
        "return performance.getEntriesByType('resource').some((one) => one.name.endsWith('.wasm'))",
    )
    .await;
    page.wait("the first is drawn", "return tag(0).drawn").await;
    assert!(!page.ask::<bool>("return tag(19).drawn").await, "it is far below");
    let pdf = page.driver().print_page(PrintParameters::default()).await.unwrap();
    assert!(page.ask::<bool>("return tags().every((one) => one.drawn)").await);
    let file = target().join("shots/embedded.pdf");
    fs::create_dir_all(file.parent().unwrap()).unwrap();
    fs::write(&file, pdf).unwrap();
    let words = poppler("pdftotext", &["-layout", file.to_str().unwrap(), "-"]);
    for word in ["recast:", "tempo:", "Play", "@Fm7"] {
        assert!(!words.contains(word), "`{word}` is printed: {words}");
    }
    // Each page begins with a heading or music, and none ends with a heading.
    assert_eq!((0..20).filter(|n| words.contains(&format!("Exercise {n}\n"))).count(), 20, "{words}");
    let last_rows = words.split('\u{c}').filter_map(|sheet| sheet.trim_end().lines().next_back());
    let is_parted = |row: &str| ["Exercise", "Week 12", "Swing"].iter().any(|word| row.contains(word));
    let parted: Vec<&str> = last_rows.filter(|row| is_parted(row)).collect();
    assert!(parted.is_empty(), "{parted:?}");
}

async fn it_works_under_trusted_types(page: Page) {
    let head = |policy: &str| {
        format!(
        "<!doctype html><html lang=en><meta charset=utf-8><title>Strict</title><link rel=icon href='data:,'>
         <meta http-equiv=Content-Security-Policy content=\"default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; \
         connect-src 'self'; img-src data:; require-trusted-types-for 'script'; trusted-types {policy}\">
         <script type=module src=half-bar.js></script><half-bar tools='figures play'><pre>{BARS}</pre></half-bar>"
    )
    };
    page.own_page("strict.html", &head("half-bar")).await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    page.ask::<Value>("padOf(0, 1, 1).click()").await;
    assert!(page.ask::<String>("return tag(0).text").await.contains("1.1 bracket"));
    // A page that doesn't allow the policy sees the text and a message, and a script gets an answer.
    page.own_page("stricter.html", &head("'none'")).await;
    page.wait("it says so", "return seen(inside(0, '.failure')[0])").await;
    let left: (bool, String, bool) =
        page.ask("return [tag(0).drawn, tag(0).text, seen(tag(0).querySelector('pre'))]").await;
    assert_eq!(left, (false, BARS.into(), true));
    // The browser's own reports are expected here.
    let _ = page.driver().browser_log().await;
}

async fn a_module_that_is_a_page_is_said(page: Page) {
    page.put_elements(&markup("", BARS)).await;
    let said = |wasm: &str| {
        format!(
            "const {{ HalfBar }} = await import('./half-bar.js'); HalfBar.wasm = {wasm};
         return await tag(0).ready().then(() => 'drawn', (error) => error.message)"
        )
    };
    page.js::<Value>("console.warn = () => {}").await;
    let found = page.later(&said("{ widget: 'lesson.html' }")).await;
    assert!(
        found.as_str().is_some_and(|found| found.contains("lesson.html is a web page, not the module")),
        "{found}"
    );
    let found = page.later(&said("new URL('nowhere/', location)")).await;
    assert!(
        found.as_str().is_some_and(|found| found.contains("nowhere/halfbar_widget_bg.wasm: status 404")),
        "{found}"
    );
    // Where they are, as the network tells.
    let folder = "(await (await fetch('half-bar.js')).text()).match(/\"\\.\\/([^/]+)\\//)?.[1] ?? ''";
    assert_eq!(page.later(&said(folder)).await, json!("drawn"));
    // The driver notes that a file was missing.
    let _ = page.driver().browser_log().await;
}

async fn a_second_copy_shares_the_first(page: Page) {
    page.embed(&markup("", BARS)).await;
    let same = page.later("const [one, other] = [await import('./half-bar.js'), await import('./half-bar.js?copy')]; return one.HalfBar === other.HalfBar").await;
    assert_eq!(same, json!(true));
    // The site's file is one line that imports its version's, so a real copy needs another address.
    let copied = page
        .later(
            "const path = (await (await fetch('half-bar.js')).text()).match(/\"(.*)\"/)[1];
             const { HalfBar } = await import(path + '?copy'); return HalfBar === customElements.get('half-bar')",
        )
        .await;
    assert_eq!(copied, json!(true));
    assert_eq!(
        page.warned().await,
        ["<half-bar> this script was loaded twice; the page uses the first copy of the element"]
    );
}

async fn it_speaks_the_pages_language(page: Page) {
    page.embed(&markup("tools='pads play'", &format!("title: Play\n{BARS}"))).await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    let lang = "return [inside(0, '.example')[0].lang, inside(0, '.play')[0].lang, inside(0, '.play')[0].textContent, label(padOf(0, 2, 3))]";
    assert_eq!(page.ask::<[String; 4]>(lang).await, ["en", "en", "Play", "bar 2 beat 3: plain eighths"]);
    let phrases = json!({
        "Play": "Écouter", "Stop": "Arrêter", "bar {} beat {}": "mesure {}, temps {}",
        "plain eighths": "croches simples", "plain again": "de nouveau simple", "quarter-note triplet, last note split": "triolet de noires",
        "(one bracket)": "(un crochet)", "of": "de", "": "nothing", "{}": "nothing",
    });
    page.later(&format!(
        "const {{ HalfBar }} = await import('./half-bar.js'); HalfBar.language = 'fr'; HalfBar.phrases = {phrases};"
    ))
    .await;
    page.wait("it is in French", "return inside(0, '.play')[0].textContent === 'Écouter'").await;
    assert_eq!(
        page.ask::<[String; 4]>(lang).await,
        ["fr", "fr", "Écouter", "mesure 2, temps 3: croches simples"]
    );
    page.ask::<Value>("padOf(0, 2, 3).click()").await;
    page.wait(
        "what a tap did is in French",
        "return said(0) === 'Mesure 2, temps 3: triolet de noires (un crochet).'",
    )
    .await;
    // The title is the author's own.
    assert!(page.ask::<bool>("return tag(0).text.startsWith('title: Play')").await);
    page.later("(await import('./half-bar.js')).HalfBar.phrases = null").await;
    page.wait("and English again", "return inside(0, '.play')[0].textContent === 'Play'").await;
}

pub(crate) async fn a_task_is_part_of_a_form(page: Page) {
    page.embed(&format!(
        "<form>{}<button>Send</button></form>",
        markup("name=line task tools='pads play'", &format!("recast: split-last at 1.3 bracket\n\n{BARS}"))
    ))
    .await;
    page.ask::<Value>("document.addEventListener('halfbar-task', ({ detail }) => heard.push({ name: 'task', detail, id: '' }))").await;
    page.wait("it is drawn", "return tag(0).drawn").await;
    let state = "const form = one('form'); return [new FormData(form).get('line').trim(), form.checkValidity(), tag(0).validationMessage]";
    let told: (String, bool, String) = page.ask(state).await;
    assert_eq!(told, (BARS.into(), false, "0 of 1 half-bar right so far.".into()));
    assert_eq!(
        page.js::<Value>("return heard").await,
        json!([]),
        "nothing is told before the reader does anything"
    );
    page.ask::<Value>("padOf(0, 2, 1).click(); padOf(0, 1, 3).click()").await;
    let told: (String, bool, String) = page.ask(state).await;
    assert!(told.0.contains("1.3 bracket, 2.1 bracket") && !told.1, "{told:?}");
    assert!(told.2.starts_with("Put the other half-bars back"), "{}", told.2);
    page.ask::<Value>("padOf(0, 2, 1).click()").await;
    let told: (String, bool, String) = page.ask(state).await;
    assert_eq!((told.1, told.2.as_str()), (true, ""));
    let task: Vec<Value> =
        page.js("return heard.filter(({ name }) => name === 'task').map(({ detail }) => detail)").await;
    let step = |done: bool, right: u32| json!({ "done": done, "right": right, "of": 1 });
    assert_eq!(task, [step(false, 0), step(false, 1), step(true, 1)]);
    // Taken back by the form.
    let reset: (String, bool) =
        page.ask("one('form').reset(); return [tag(0).text.trim(), one('form').checkValidity()]").await;
    assert_eq!(reset, (BARS.into(), false));
    let off: bool = page.ask("const set = document.createElement('fieldset'); one('form').append(set); set.append(tag(0)); set.disabled = true; return inside(0, '.example')[0].inert").await;
    assert!(off, "a disabled form can't be tapped");
}

async fn elements_come_and_go_in_every_way(page: Page) {
    page.embed("<div id=home></div><iframe></iframe>").await;
    let markup = json!(markup("tools='figures play'", LINE));
    let done = page
        .later(&format!(
            "const home = one('#home'), frame = one('iframe').contentDocument;
             const wait = (ms) => new Promise((done) => setTimeout(done, ms));
             for (let round = 0; round < 3; round++) {{
                home.innerHTML = {markup};
                home.append(home.firstChild.cloneNode(true));
                // Gone before anything has come.
                home.innerHTML = {markup};
                const gone = home.firstChild; gone.ready().catch(() => {{}}); gone.remove();
                home.append(document.createElement('half-bar'), new (customElements.get('half-bar'))());
                home.lastChild.text = 'C4 D E F  G F E D |';
                await home.lastChild.ready();
                const copy = home.lastChild.cloneNode(true);
                home.append(copy);
                frame.body.append(frame.adoptNode(home.children[1]));
                home.append(frame.body.firstChild);
                document.importNode(home.lastChild, true);
                await wait(20);
             }}
             home.replaceChildren();
             await wait(100);
             return (await import('./halfbar_widget.js')).living()"
        ))
        .await;
    assert_eq!(done, json!(0), "drawings that were not freed");
}

/// The package's list of phrases has all that readers see and hear: with each of them set to a sign, no English is left.
async fn the_list_of_phrases_is_complete(page: Page) {
    let list = fs::read_to_string(halfbar_tests::top().join("wasm/pack/package/phrases.json")).unwrap();
    page.resize(1280).await;
    let line = LINE.replace("key: Eb", "key: Eb\nfigure: lilt = 2/3 1/3 1/3 2/3");
    let other = "key: C minor\npickup: 1\nC4 D | C4_ D E_s F (G)G F E:1 | 3/4 =Bb @C7#9 C4 D:1/2 E F:3/2 | r:3 | @Gm7b5 Gb:3 | @Bdim7/A F#:3/2 B:3/2 |";
    page.embed(
        &[markup("tools='figures play' fingers", &line), markup("tools='pads play' figure=accent-3", other)]
            .concat(),
    )
    .await;
    page.wait("both are drawn", "return tags().every((one) => one.drawn)").await;
    page.later(&format!(
        "const phrases = Object.fromEntries(Object.keys({list}).map((phrase) => [phrase, '~' + '{{}}~'.repeat(phrase.split('{{}}').length - 1)]));
         const {{ HalfBar }} = await import('./half-bar.js'); HalfBar.phrases = phrases;"
    ))
    .await;
    page.wait("it is translated", "return inside(0, '.play')[0].textContent === '~'").await;
    let left: Vec<String> = page
        .later(
            "const left = new Set();
             const collect = (one) => {
                const walker = document.createTreeWalker(one.shadowRoot, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT);
                for (let node = walker.nextNode(); node; node = walker.nextNode()) {
                    const element = node.nodeType === Node.TEXT_NODE ? node.parentElement : node;
                    if (element.closest('svg, [translate=no]')) continue;
                    const said = node === element ? [element.ariaLabel, element.title] : [node.data];
                    for (const text of said) {
                        const words = (text ?? '').replaceAll(/“.*?”/g, '').match(/[A-Za-z]*[a-z]{2,}[a-z]*/g);
                        if (words) left.add(`${words.join(' ')}: ${text}`);
                    }
                }
             };
             const settle = () => new Promise((done) => requestAnimationFrame(() => setTimeout(done)));
             await settle();
             for (const one of tags()) {
                collect(one);
                for (const pad of one.shadowRoot.querySelectorAll('.pad')) {
                    pad.click(); await settle(); collect(one); pad.click(); await settle(); collect(one);
                }
             }
             return [...left]",
        )
        .await
        .as_array()
        .unwrap()
        .iter()
        .map(|text| text.as_str().unwrap().to_string())
        .collect();
    assert!(left.is_empty(), "{left:#?}");
}

/// The pages that `tests/sites/run` has made with three Markdown tools; their own script draws and recasts every example.
pub(crate) async fn what_markdown_tools_write_is_drawn(page: Page) {
    page.go().await;
    for tool in ["markdown-it", "pulldown-cmark", "python-markdown"] {
        let folder = target().join("sites").join(tool).join("site");
        if !folder.join("index.html").exists() {
            println!("SKIPPED: there is no {}: `tests/sites/run {tool}` makes it", folder.display());
            continue;
        }
        let host = Host::of(&folder);
        page.driver().goto(host.top()).await.unwrap();
        page.until("its script is done", "return document.title !== 'waiting'").await;
        let title: String = page.js("return document.title").await;
        assert!(title.ends_with(" drawn and recast") && !title.starts_with('0'), "{tool}: {title}");
    }
    page.go().await;
}
