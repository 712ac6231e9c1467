//! One browser for each scenario, and what every scenario is checked for.

use std::path::PathBuf;
use std::sync::Once;
use std::sync::atomic::{AtomicU32, Ordering};

use halfbar_tests::target;
use serde_json::Value;
use thirtyfour::prelude::*;
use thirtyfour::{ChromiumLikeCapabilities, LoggingPrefsLogLevel};
use tokio::sync::RwLock;
use tokio::task::{LocalSet, spawn_local};

use crate::children;
use crate::host::Host;
use crate::page::{Kind, Page};

/// Scenarios run beside each other, but one that measures time runs alone.
static MACHINE: RwLock<()> = RwLock::const_new(());

/// A page with nothing on it, which asks for nothing.
const BLANK: &str = "<!doctype html>\n<html lang=\"en\">\n<title>Blank</title>\n<link rel=\"icon\" href=\"data:,\">\n<body></body>\n</html>\n";

/// Runs a scenario in a fresh browser.
pub(crate) fn run<F>(name: &str, kind: Kind, scenario: impl FnOnce(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    runtime().block_on(async {
        let _shared = MACHINE.read().await;
        check(name, kind, scenario).await;
    });
}

/// Runs a scenario in a fresh browser, with a web host of its own that has the site.
pub(crate) fn run_hosted<F>(name: &str, scenario: impl FnOnce(Page, Host) -> F)
where
    F: Future<Output = ()> + 'static,
{
    runtime().block_on(async {
        let _shared = MACHINE.read().await;
        let host = Host::new();
        let address = host.address();
        check_at(name, &address, false, |page| scenario(page, host)).await;
    });
}

/// Runs a scenario with the machine to itself.
pub(crate) fn run_alone<F>(name: &str, kind: Kind, scenario: impl FnOnce(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    runtime().block_on(async {
        let _alone = MACHINE.write().await;
        check(name, kind, scenario).await;
    });
}

fn runtime() -> tokio::runtime::Runtime {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap()
}

async fn check<F>(name: &str, kind: Kind, scenario: impl FnOnce(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    let site = children::site();
    let address = match kind {
        Kind::Served => site.to_string(),
        Kind::Lesson => format!("{site}lesson.html"),
        Kind::Blank => {
            // Once: a browser must not read it half written.
            static WRITTEN: Once = Once::new();
            WRITTEN.call_once(|| std::fs::write(target().join("site/blank.html"), BLANK).unwrap());
            format!("{site}blank.html")
        }
        Kind::OneFile => format!("file://{}", target().join("halfbar.html").display()),
        Kind::ManyFiles => format!("file://{}", target().join("site/index.html").display()),
    };
    // A page that can't load says so on the console too.
    check_at(name, &address, kind == Kind::ManyFiles, scenario).await;
}

async fn check_at<F>(name: &str, address: &str, may_complain: bool, scenario: impl FnOnce(Page) -> F)
where
    F: Future<Output = ()> + 'static,
{
    let profile = Profile::new();
    let driver = browser(&profile).await;
    let page = Page::new(driver.clone(), address);
    // In a task of its own, so that the browser ends even when the scenario panics.
    let task = async { spawn_local(scenario(page.clone())).await };
    let ended = LocalSet::new().run_until(task).await;
    match ended {
        Ok(()) => {
            let found = Found::by(&driver).await;
            let _ = driver.quit().await;
            found.judge(name, address, may_complain);
        }
        Err(error) => {
            eprintln!("{name}: {}", report(&page, name).await);
            let _ = driver.quit().await;
            std::panic::resume_unwind(error.into_panic());
        }
    }
}

async fn browser(profile: &Profile) -> WebDriver {
    let mut asked = DesiredCapabilities::chrome();
    let folder = format!("--user-data-dir={}", profile.0.display());
    for argument in [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--window-size=1280,1000",
        &folder,
    ] {
        asked.add_arg(argument).unwrap();
    }
    for log in ["browser", "performance"] {
        asked.set_logging_prefs(log, LoggingPrefsLogLevel::All).unwrap();
    }
    WebDriver::new(children::driver(), asked).await.expect("a browser starts")
}

/// What a browser noted beside the page.
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
            // The empty tab that a browser starts with is a page of the browser's own.
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
        // A blob is what the page itself has made.
        let inside = |url: &str| [own, "data:", "blob:"].iter().any(|start| url.starts_with(start));
        let foreign: Vec<_> = requests.iter().filter(|url| !inside(url)).collect();
        assert!(foreign.is_empty(), "{name}: requests that leave the page: {foreign:#?}");
    }
}

/// The rows of the browser's console since it was asked last.
async fn console(driver: &WebDriver) -> Vec<String> {
    let entries = driver.browser_log().await.unwrap_or_else(|error| panic!("the console: {error}"));
    entries.iter().map(|entry| format!("{} {}", entry.level, entry.message)).collect()
}

/// What helps to understand a failure.
async fn report(page: &Page, name: &str) -> String {
    let folder = target().join("browser-failures");
    let picture = folder.join(format!("{}.png", name.replace("::", "-")));
    let _ = std::fs::create_dir_all(&folder);
    let taken = page.driver().screenshot(&picture).await;
    let words = page.try_js("return document.body.innerText").await;
    let console = console(page.driver()).await;
    format!(
        "failed\npicture: {} {taken:?}\nconsole: {console:#?}\nwords: {}",
        picture.display(),
        words.map_or_else(|error| error.to_string(), |words| words.as_str().unwrap_or("").to_string())
    )
}

/// A fresh folder for a browser's own files.
struct Profile(PathBuf);

impl Profile {
    fn new() -> Profile {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let name = format!("browser-{}-{}", std::process::id(), COUNT.fetch_add(1, Ordering::Relaxed));
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
        std::fs::create_dir_all(&folder).unwrap();
        Profile(folder)
    }
}

impl Drop for Profile {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
