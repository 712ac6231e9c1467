//! A browser for each scenario, and what is checked in every scenario.

use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::{LazyLock, Once};

use halfbar_tests::target;
use serde_json::Value;
use thirtyfour::prelude::*;
use tokio::runtime::Runtime;
use tokio::sync::RwLock;
use tokio::task::{LocalSet, spawn_local};

use crate::children;
use crate::engine::{Browser, Engine};
use crate::host::Host;
use crate::page::{Kind, NoAnswer, Page};

/// For all scenarios, since a connection to a browser that several of them use belongs to it.
static RUNTIME: LazyLock<Runtime> = LazyLock::new(|| Runtime::new().unwrap());

/// Scenarios run in parallel, but one that measures time runs alone.
static MACHINE: RwLock<()> = RwLock::const_new(());

/// An empty page that requests nothing.
const BLANK: &str = "<!doctype html>\n<html lang=\"en\">\n<title>Blank</title>\n<link rel=\"icon\" href=\"data:,\">\n<body></body>\n</html>\n";

/// Runs a scenario in a browser.
pub(crate) fn run<F>(name: &str, kind: Kind, scenario: impl FnOnce(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    RUNTIME.block_on(async {
        let _shared = MACHINE.read().await;
        check(name, kind, scenario).await;
    });
}

/// Runs a scenario in a new browser, with its own web host for the site. Private windows have no installed sites.
pub(crate) fn run_hosted<F>(name: &str, scenario: impl FnOnce(Page, Host) -> F)
where
    F: Future<Output = ()> + 'static,
{
    RUNTIME.block_on(async {
        let _shared = MACHINE.read().await;
        let host = Host::new();
        let address = host.address();
        check_at(name, Browser::new(Engine::Chromium).await, &address, false, |page| scenario(page, host))
            .await;
    });
}

/// Runs a scenario in a browser of an engine, unless it can't be tested there. If the driver stops answering, as those of Firefox and WebKit
/// may on a busy machine, the scenario gets one more browser.
pub(crate) fn run_in<F>(engine: Engine, name: &str, kind: Kind, scenario: impl Fn(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    if let Some(why) = engine.why_not(name.rsplit("::").next().unwrap()) {
        return println!("{name} is skipped: {why}");
    }
    let go = || {
        RUNTIME.block_on(async {
            let _shared = MACHINE.read().await;
            check_at(name, Browser::new(engine).await, &watched(kind), false, &scenario).await;
        });
    };
    if let Err(panic) = catch_unwind(AssertUnwindSafe(go)) {
        match panic.downcast::<NoAnswer>() {
            Ok(no_answer) => {
                println!("{name} gets another browser, since the first doesn't answer: {}", no_answer.0)
            }
            Err(panic) => resume_unwind(panic),
        }
        go();
    }
}

/// Runs a scenario with the machine to itself.
pub(crate) fn run_alone<F>(name: &str, kind: Kind, scenario: impl FnOnce(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    RUNTIME.block_on(async {
        let _alone = MACHINE.write().await;
        check(name, kind, scenario).await;
    });
}

async fn check<F>(name: &str, kind: Kind, scenario: impl FnOnce(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    // A page that can't load says so on the console too.
    check_at(name, Browser::shared().await, &address(kind), kind == Kind::ManyFiles, scenario).await;
}

/// The address of a page.
fn address(kind: Kind) -> String {
    let site = children::site();
    match kind {
        Kind::Served => site.to_string(),
        Kind::Lesson => format!("{site}lesson.html"),
        Kind::Blank => {
            // Only once: a browser must not read it while it is being written.
            static WRITTEN: Once = Once::new();
            WRITTEN.call_once(|| std::fs::write(target().join("site/blank.html"), BLANK).unwrap());
            format!("{site}blank.html")
        }
        Kind::OneFile => format!("file://{}", target().join("halfbar.html").display()),
        Kind::ManyFiles => format!("file://{}", target().join("site/index.html").display()),
    }
}

/// Notes a page's errors. Goes before every script of the page.
const WATCH: &str = "window.complaints = [];
const note = (...words) => complaints.push(words.join(' '));
addEventListener('error', ({ message, target }) => note(message ?? `could not load ${target.src ?? target.href}`), true);
addEventListener('unhandledrejection', ({ reason }) => note(reason));
addEventListener('securitypolicyviolation', ({ blockedURI }) => note(`refused ${blockedURI}`));
const { error } = console;
console.error = (...words) => (note(...words), error(...words));
";

/// The address of a copy of a page that notes errors, since only Chromium's driver can read the console.
fn watched(kind: Kind) -> String {
    static COPIES: Once = Once::new();
    let address = address(kind);
    COPIES.call_once(|| {
        std::fs::write(target().join("site/watch.js"), WATCH).unwrap();
        for (folder, name, script) in
            [("site", "index", "watch.js"), ("site", "lesson", "watch.js"), (".", "halfbar", "site/watch.js")]
        {
            let folder = target().join(folder);
            let page = std::fs::read_to_string(folder.join(format!("{name}.html"))).unwrap();
            let page = page.replacen("<script", &format!("<script src=\"{script}\"></script><script"), 1);
            std::fs::write(folder.join(format!("{name}-watched.html")), page).unwrap();
        }
    });
    match kind {
        Kind::Served => format!("{address}index-watched.html"),
        Kind::Blank => address,
        _ => address.replace(".html", "-watched.html"),
    }
}

async fn check_at<F>(
    name: &str,
    browser: Browser,
    address: &str,
    may_complain: bool,
    scenario: impl FnOnce(Page) -> F,
) where
    F: Future<Output = ()> + 'static,
{
    let driver = browser.driver();
    let page = Page::new(driver.clone(), browser.engine, address, &browser.folder.0);
    // In a separate task, so that the browser ends even if the scenario panics.
    let task = async { spawn_local(scenario(page.clone())).await };
    let ended = LocalSet::new().run_until(task).await;
    match ended {
        Ok(()) => {
            let complaints: Vec<String> = page.js("return window.complaints ?? []").await;
            let found = if browser.engine == Engine::Chromium { Some(Found::by(driver).await) } else { None };
            browser.close().await;
            assert!(complaints.is_empty(), "{name}: the page complains: {complaints:#?}");
            if let Some(found) = found {
                found.judge(name, address, may_complain);
            }
        }
        Err(error) => {
            let panic = error.into_panic();
            if panic.is::<NoAnswer>() {
                browser.leave();
                resume_unwind(panic);
            }
            eprintln!("{name}: {}", report(&page, name).await);
            browser.abandon().await;
            resume_unwind(panic);
        }
    }
}

/// What a browser noted apart from the page.
struct Found {
    console: Vec<String>,
    requests: Vec<String>,
}

impl Found {
    async fn by(driver: &WebDriver) -> Found {
        let events = driver.get_log("performance").await.unwrap();
        let requests = events.iter().filter_map(|event| {
            let event: Value = serde_json::from_str(&event.message).ok()?;
            let event = &event["message"];
            let url = event["params"]["request"]["url"].as_str()?;
            // The empty tab that a browser starts with is one of its own pages.
            let asked = event["method"] == "Network.requestWillBeSent" && !url.starts_with("chrome:");
            asked.then(|| url.to_string())
        });
        Found { console: console(driver).await, requests: requests.collect() }
    }

    fn judge(self, name: &str, address: &str, may_complain: bool) {
        let Found { console, requests } = self;
        let errors: Vec<_> = console.iter().filter(|row| row.starts_with("SEVERE")).collect();
        assert!(errors.is_empty() || may_complain, "{name}: errors on the console: {errors:#?}");
        assert!(requests.iter().any(|url| url == address), "{name}: no request for the page: {requests:?}");
        let own = address.rsplit_once('/').map_or(address, |(folder, _)| folder);
        // Blobs are made by the page itself.
        let inside = |url: &str| [own, "data:", "blob:"].iter().any(|start| url.starts_with(start));
        let foreign: Vec<_> = requests.iter().filter(|url| !inside(url)).collect();
        assert!(foreign.is_empty(), "{name}: requests that leave the page: {foreign:#?}");
    }
}

/// The lines on the browser's console since the last call.
async fn console(driver: &WebDriver) -> Vec<String> {
    match driver.browser_log().await {
        Ok(entries) => entries.iter().map(|entry| format!("{} {}", entry.level, entry.message)).collect(),
        Err(error) => vec![format!("SEVERE no console: {error}")],
    }
}

/// What helps to understand a failure.
async fn report(page: &Page, name: &str) -> String {
    let folder = target().join("browser-failures");
    let picture = folder.join(format!("{}.png", name.replace("::", "-")));
    let _ = std::fs::create_dir_all(&folder);
    let taken = page.driver().screenshot(&picture).await;
    let words = page.try_js("return document.body.innerText").await;
    let console = console(page.driver()).await;
    let complaints = page.try_js("return window.complaints").await;
    format!(
        "failed\npicture: {} {taken:?}\nconsole: {console:#?}\ncomplaints: {complaints:?}\nwords: {}",
        picture.display(),
        words.map_or_else(|error| error.to_string(), |words| words.as_str().unwrap_or("").to_string())
    )
}
