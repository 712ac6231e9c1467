//! The browser engines: how each is started, and what can't be tested in it.

use std::path::Path;
use std::time::Duration;

use serde_json::json;
use thirtyfour::prelude::*;
use thirtyfour::{Capabilities, ChromiumLikeCapabilities, LoggingPrefsLogLevel};

use crate::children::{self, Guarded};
use crate::context::Context;
use crate::folder::Folder;

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Engine {
    Chromium,
    /// Firefox's.
    Gecko,
    /// Safari's, and that of every browser on an iPhone; here in WebKitGTK's browser for tests.
    WebKit,
}

/// How long a driver may take to answer. A script that a page doesn't finish is given up after half of it.
const PATIENCE: Duration = Duration::from_secs(60);

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

    async fn drive(self, address: String, asked: WebDriverResult<Capabilities>) -> WebDriver {
        let driver = WebDriver::builder(address, asked.unwrap()).request_timeout(PATIENCE).await;
        driver.unwrap_or_else(|error| panic!("{self:?} doesn't start: {error}"))
    }
}

/// A browser for one scenario.
pub(crate) struct Browser {
    pub(crate) engine: Engine,
    /// Where its downloads go.
    pub(crate) folder: Folder,
    inside: Inside,
}

enum Inside {
    /// A context in a browser that others use before and after.
    Shared(Box<Context>),
    /// A browser, and the programs that must outlive it.
    Own(WebDriver, #[expect(dead_code, reason = "held until it is dropped")] Vec<Guarded>),
}

impl Browser {
    /// A private window of a Chromium that is used by one scenario after another.
    pub(crate) async fn shared() -> Browser {
        let (engine, folder) = (Engine::Chromium, Folder::new("downloads"));
        let start = async |profile: &Path| engine.drive(children::chromedriver(), chromium(profile)).await;
        let inside = Inside::Shared(Box::new(Context::new(&folder.0, start).await));
        Browser { engine, folder, inside }
    }

    /// A new browser.
    pub(crate) async fn new(engine: Engine) -> Browser {
        let home = Folder::new("home");
        let folder = &home.0;
        let (address, asked, programs) = match engine {
            Engine::Chromium => (children::chromedriver(), chromium(folder), Vec::new()),
            Engine::Gecko => {
                let (program, address) = children::driver("geckodriver", folder, None);
                (address, gecko(folder), vec![program])
            }
            Engine::WebKit => {
                let screen = children::screen();
                let (program, address) = children::driver("WebKitWebDriver", folder, Some(&screen));
                (address, webkit(), vec![program, screen])
            }
        };
        let inside = Inside::Own(engine.drive(address, asked).await, programs);
        Browser { engine, folder: home, inside }
    }

    pub(crate) fn driver(&self) -> &WebDriver {
        match &self.inside {
            Inside::Shared(context) => context.driver(),
            Inside::Own(driver, _) => driver,
        }
    }

    /// Ends it after a scenario that went well.
    pub(crate) async fn close(self) {
        match self.inside {
            Inside::Shared(context) => context.close().await,
            Inside::Own(..) => self.abandon().await,
        }
    }

    /// Leaves a browser whose driver doesn't answer. It ends with its programs.
    pub(crate) fn leave(self) {
        let _ = self.driver().clone().leak();
    }

    /// Ends it, whatever state it is in.
    pub(crate) async fn abandon(self) {
        let _ = self.driver().clone().quit().await;
        // Only now may its programs end.
        drop(self);
    }
}

fn chromium(profile: &Path) -> WebDriverResult<Capabilities> {
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
        &format!("--user-data-dir={}", profile.display()),
    ] {
        asked.add_arg(argument)?;
    }
    asked.add_experimental_option("prefs", json!({ "download.default_directory": profile }))?;
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
