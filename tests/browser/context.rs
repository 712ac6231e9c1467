//! Chromium browsers that one scenario after another uses. Starting one costs a second of both processors, so a scenario gets a context of its
//! own instead: cookies, storage, caches and service workers apart, as in a private window.
//!
//! WebDriver has no contexts, so they are made through the browser's own protocol, over a connection that ends with the context.

use std::path::Path;
use std::sync::{Mutex, MutexGuard};

use futures_util::{SinkExt, StreamExt};
use serde_json::{Value, json};
use thirtyfour::prelude::*;
use tokio::net::TcpStream;
use tokio_tungstenite::{WebSocketStream, client_async};

use crate::folder::Folder;

/// The browsers that no scenario uses.
static IDLE: Mutex<Vec<Chromium>> = Mutex::new(Vec::new());

fn idle() -> MutexGuard<'static, Vec<Chromium>> {
    IDLE.lock().unwrap()
}

/// A running Chromium.
struct Chromium {
    driver: WebDriver,
    /// The empty window that keeps it open.
    home: WindowHandle,
    /// Its own files.
    profile: Folder,
}

/// A browser with a context for one scenario, in its current window.
pub(crate) struct Context {
    browser: Chromium,
    connection: Connection,
}

impl Context {
    /// Makes a context whose downloads go to a folder, in a browser that is idle or that `start` starts.
    pub(crate) async fn new(downloads: &Path, start: impl AsyncFnOnce(&Path) -> WebDriver) -> Context {
        let waiting = idle().pop();
        let browser = match waiting {
            Some(browser) => browser,
            None => {
                let profile = Folder::new("chromium");
                let driver = start(&profile.0).await;
                Chromium { home: driver.window().await.unwrap(), driver, profile }
            }
        };
        let mut connection = Connection::to(&browser.profile).await;
        let made = connection.ask("Target.createBrowserContext", json!({ "disposeOnDetach": true })).await;
        let id = &made["browserContextId"];
        let to_folder = json!({ "behavior": "allow", "browserContextId": id, "downloadPath": downloads });
        connection.ask("Browser.setDownloadBehavior", to_folder).await;
        let opened = json!({ "url": "about:blank", "browserContextId": id });
        let window = connection.ask("Target.createTarget", opened).await;
        let window = WindowHandle::from(window["targetId"].as_str().unwrap().to_string());
        browser.driver.switch_to_window(window).await.unwrap();
        Context { browser, connection }
    }

    pub(crate) fn driver(&self) -> &WebDriver {
        &self.browser.driver
    }

    /// Closes the context with its windows. The browser is there for the next scenario.
    pub(crate) async fn close(self) {
        let Context { browser, connection } = self;
        connection.close().await;
        browser.driver.switch_to_window(browser.home.clone()).await.unwrap();
        // What is still in the logs belongs to the context.
        for log in ["browser", "performance"] {
            browser.driver.get_log(log).await.unwrap();
        }
        idle().push(browser);
    }
}

/// A connection to a browser's own protocol.
struct Connection {
    socket: WebSocketStream<TcpStream>,
    asked: u64,
}

impl Connection {
    /// Where a browser listens is in its profile.
    async fn to(profile: &Folder) -> Connection {
        let listens = std::fs::read_to_string(profile.0.join("DevToolsActivePort")).unwrap();
        let (port, path) = listens.split_once('\n').unwrap();
        let address = format!("127.0.0.1:{port}");
        let stream = TcpStream::connect(&address).await.unwrap();
        let (socket, _) = client_async(format!("ws://{address}{path}"), stream).await.unwrap();
        Connection { socket, asked: 0 }
    }

    async fn ask(&mut self, method: &str, parameters: Value) -> Value {
        self.asked += 1;
        let question = json!({ "id": self.asked, "method": method, "params": parameters });
        self.socket.send(question.to_string().into()).await.unwrap();
        loop {
            let answer = self.socket.next().await.unwrap_or_else(|| panic!("{method}: no answer")).unwrap();
            let Ok(answer) = serde_json::from_slice::<Value>(&answer.into_data()) else { continue };
            if answer["id"] == self.asked {
                assert!(answer["error"].is_null(), "{method}: {answer}");
                return answer["result"].clone();
            }
        }
    }

    async fn close(mut self) {
        let _ = self.socket.close(None).await;
        while let Some(Ok(_)) = self.socket.next().await {}
    }
}
