//! The browser engines: how each is started, and what can't be tested in it.

use std::path::Path;

use serde_json::json;
use thirtyfour::prelude::*;
use thirtyfour::{Capabilities, ChromiumLikeCapabilities, LoggingPrefsLogLevel};

use crate::children::{self, Guarded};

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Engine {
    Chromium,
    /// Firefox's.
    Gecko,
    /// Safari's, and that of every browser on an iPhone; here in WebKitGTK's browser for tests.
    WebKit,
}

/// What can't be tested in which engine, and why.
const BEYOND: [(Engine, &str, &str); 2] = [
    (Engine::WebKit, "the_music_is_printed", "WebKitGTK's driver doesn't know the command"),
    (Engine::WebKit, "a_finger_recasts", "WebKitGTK's driver moves a mouse instead of a finger"),
];

impl Engine {
    /// Why a scenario can't be tested in this engine, if it can't.
    pub(crate) fn why_not(self, scenario: &str) -> Option<&'static str> {
        let found = BEYOND.iter().find(|(engine, name, _)| *engine == self && *name == scenario);
        found.map(|(_, _, why)| *why)
    }

    /// Starts a browser that keeps its files in a folder. The programs that are returned with it must outlive it.
    pub(crate) async fn start(self, folder: &Path) -> (WebDriver, Vec<Guarded>) {
        let (programs, address, asked) = match self {
            Engine::Chromium => (Vec::new(), children::chromedriver(), chromium(folder)),
            Engine::Gecko => {
                let (driver, address) = children::driver("geckodriver", folder, None);
                (vec![driver], address, gecko(folder))
            }
            Engine::WebKit => {
                let screen = children::screen();
                let (driver, address) = children::driver("WebKitWebDriver", folder, Some(&screen));
                (vec![driver, screen], address, webkit())
            }
        };
        let driver = WebDriver::new(address, asked.unwrap()).await;
        (driver.unwrap_or_else(|error| panic!("{self:?} doesn't start: {error}")), programs)
    }
}

fn chromium(folder: &Path) -> WebDriverResult<Capabilities> {
    let mut asked = DesiredCapabilities::chrome();
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
        &format!("--user-data-dir={}", folder.display()),
    ] {
        asked.add_arg(argument)?;
    }
    asked.add_experimental_option("prefs", json!({ "download.default_directory": folder }))?;
    for log in ["browser", "performance"] {
        asked.set_logging_prefs(log, LoggingPrefsLogLevel::All)?;
    }
    Ok(asked.into())
}

fn gecko(folder: &Path) -> WebDriverResult<Capabilities> {
    let mut asked = Capabilities::new();
    let settings = json!({ "browser.download.folderList": 2, "browser.download.dir": folder });
    asked.set("moz:firefoxOptions", json!({ "args": ["-headless"], "prefs": settings }))?;
    Ok(asked)
}

fn webkit() -> WebDriverResult<Capabilities> {
    let mut asked = Capabilities::new();
    asked.set("webkitgtk:browserOptions", json!({ "args": ["--automation"] }))?;
    Ok(asked)
}
