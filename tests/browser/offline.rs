//! The page as an app: installed, opened without a network, and replaced by a newer version.
//!
//! A browser's "offline" setting covers only one page, while a host that is gone is gone for workers too. So both are done.

use std::fs;

use serde_json::{Value, json};

use crate::expected::count;
use crate::host::Host;
use crate::page::Page;
use crate::session::run_hosted;

scenarios! {
    one_file (OneFile): the_one_file_needs_no_network;
}

/// Makes a test of each scenario, with its own host.
macro_rules! hosted {
    ($($scenario:ident),+ $(,)?) => {
        mod hosted {
            $(#[test]
            fn $scenario() {
                super::run_hosted(concat!(module_path!(), "::", stringify!($scenario)), super::$scenario);
            })+
        }
    };
}

hosted! {
    it_opens_and_plays_without_a_network, it_can_be_installed, a_newer_version_takes_over, a_version_is_kept_whole_or_not_at_all,
    other_sites_are_left_alone, without_the_module_nothing_is_lost,
}

const KEPT: &str = "This page is now on your device and works offline.";
const NEWER: &str = "There is a newer version of this page.";

impl Page {
    /// Waits until the page says whether it works offline.
    async fn until_kept(&self, says: &str) {
        let script = format!(
            "return !one('#offline').hidden && one('#offline').innerText.startsWith({})",
            json!(says)
        );
        self.until(says, &script).await;
    }

    async fn network(&self, offline: bool) {
        self.cdp("Network.enable", json!({})).await;
        let conditions =
            json!({ "offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1 });
        self.cdp("Network.emulateNetworkConditions", conditions).await;
    }

    /// The result of an asynchronous script, or what it throws, as a string.
    async fn asked(&self, script: &str) -> Value {
        let whole = format!(
            "const done = arguments[0]; (async () => {{ {script} }})().then((value) => done(value ?? null), (error) => done(`${{error}}`))"
        );
        self.driver().execute_async(whole, Vec::new()).await.unwrap().json().clone()
    }

    /// Makes the host unreachable for the page and for its worker.
    async fn cut_off(&self, host: &mut Host) {
        self.network(true).await;
        host.stop();
    }

    async fn opens_practice(&self) {
        self.open_part("practice").await;
        self.until("practice is ready", "return one('#tempo').value !== ''").await;
    }

    async fn plays(&self) {
        self.click("one('[data-play]')").await;
        self.until("a note sounds", "return all('#sheet .sounding').length > 0").await;
        self.click("one('[data-play]')").await;
    }

    /// Clears the browser's expected messages about files that it couldn't get.
    async fn forgive(&self) {
        let _ = self.driver().browser_log().await;
    }
}

async fn it_opens_and_plays_without_a_network(page: Page, mut host: Host) {
    page.open(1280).await;
    page.until_kept(KEPT).await;
    page.cut_off(&mut host).await;
    page.opens_practice().await;
    page.open(390).await;
    page.until_kept(KEPT).await;
    let before = page.text().await;
    page.touch("pad(3, 1)").await;
    let text = page.text().await;
    assert_ne!(text, before);
    assert_eq!(page.music().await.counts, count(&text));
    page.opens_practice().await;
    page.plays().await;
    assert!(page.js::<bool>("return one('#failure').hidden").await);
    // What reads and writes files is there too.
    page.open_part("share").await;
    page.catch_files().await;
    page.click("one('#save-musicxml')").await;
    page.until("the line is saved", "return files.at(-1)?.saved?.endsWith('.musicxml') ?? false").await;
    // The page under its other name, and with a query, as some links have.
    for name in ["index.html", "?from=a-friend"] {
        page.driver().goto(host.address() + name).await.unwrap();
        page.until_alive().await;
        assert_eq!(page.text().await, text, "the line is kept");
    }
    // The lesson page, and the element in it.
    page.driver().goto(host.address() + "lesson.html").await.unwrap();
    page.until("an example is drawn", "return one('half-bar').drawn").await;
    page.click("one('half-bar').shadowRoot.querySelector('.play')").await;
    page.until("it plays", "return one('half-bar').playing").await;
    page.forgive().await;
}

/// The members that browsers require before they offer to install: W3C Web App Manifest, and Chromium's own check.
async fn it_can_be_installed(page: Page, host: Host) {
    page.open(1280).await;
    page.until_kept(KEPT).await;
    let manifest = page.cdp("Page.getAppManifest", json!({})).await;
    assert_eq!(manifest["errors"], json!([]), "{manifest}");
    assert_eq!(manifest["url"], host.address() + "app.webmanifest");
    let told = page.cdp("Page.getInstallabilityErrors", json!({})).await;
    assert_eq!(told["installabilityErrors"], json!([]), "{told}");
    let data: Value = serde_json::from_str(manifest["data"].as_str().unwrap()).unwrap();
    for member in ["name", "short_name", "description", "lang", "display", "start_url", "scope"] {
        assert!(data[member].as_str().is_some_and(|value| !value.is_empty()), "{member}: {data}");
    }
    // The colors are the page's, light and dark.
    let paper = "return getComputedStyle(document.documentElement).getPropertyValue('--paper')";
    let theme = "return one(`meta[name=theme-color][media*=${matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light'}]`).content";
    for scheme in ["light", "dark"] {
        page.cdp(
            "Emulation.setEmulatedMedia",
            json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] }),
        )
        .await;
        let color: String = page.js(paper).await;
        assert_eq!(page.js::<String>(theme).await, color, "{scheme}");
        if scheme == "light" {
            assert_eq!((&data["theme_color"], &data["background_color"]), (&json!(color), &json!(color)));
        }
    }
    let icons = data["icons"].as_array().unwrap();
    let purposes = ["any", "maskable"].map(|purpose| {
        icons.iter().filter(|icon| icon["purpose"].as_str().unwrap_or("any") == purpose).count()
    });
    assert!(purposes.iter().all(|count| *count >= 2), "{purposes:?}");
    for icon in icons {
        let name = icon["src"].as_str().unwrap();
        let size = page
            .asked(&format!(
                "const image = new Image(); image.src = '{name}'; await image.decode(); return `${{image.naturalWidth}}x${{image.naturalHeight}}`"
            ))
            .await;
        assert!(
            size == icon["sizes"]
                || icon["sizes"] == "any" && size.as_str().is_some_and(|size| size.contains('x')),
            "{name}: {size}"
        );
    }
}

async fn a_newer_version_takes_over(page: Page, mut host: Host) {
    let [first, second, third] = ["111111111111", "222222222222", "333333333333"];
    host.deploy(first);
    page.open(1280).await;
    page.until_kept(KEPT).await;
    page.asked("await caches.open('somebody else\\'s')").await;
    page.asked(&format!("await caches.open('halfbar {}deeper/ {first}')", host.address())).await;

    // The page stays as it is, with the version that it started with: what it loads only now, for the microphone, is no longer on the host.
    host.deploy(second);
    page.asked("await (await navigator.serviceWorker.ready).update()").await;
    page.until_kept(NEWER).await;
    assert!(page.driver().title().await.unwrap().starts_with(first));
    page.click_pad(3, 1).await;
    let late = page.asked(&format!("return (await (await fetch('{first}/hear.js')).text()).trim()")).await;
    assert!(late.as_str().is_some_and(|late| late.ends_with(&format!("// {first}"))), "{late}");
    let text = page.text().await;

    // The next load is entirely of the newer version, with the line.
    page.click("one('#offline button')").await;
    page.until(
        "the newer page is there",
        &format!("return document.title.startsWith('{second}') && pads().length > 0"),
    )
    .await;
    page.until_kept(KEPT).await;
    page.until("the line is back", &format!("return text().value === {}", json!(text))).await;
    assert_eq!(page.js::<String>("return built").await, second);

    // Of the earlier versions, the last one is kept for open pages; other sites' caches stay.
    host.deploy(third);
    page.asked("await (await navigator.serviceWorker.ready).update()").await;
    page.until_kept(NEWER).await;
    let mut names: Vec<String> = page
        .asked("return caches.keys()")
        .await
        .as_array()
        .unwrap()
        .iter()
        .map(|name| name.as_str().unwrap().replace(&host.address(), "here/ "))
        .collect();
    names.sort();
    let ours = |version: &str| format!("halfbar here/  {version}");
    assert_eq!(
        names,
        [ours(second), ours(third), format!("halfbar here/ deeper/ {first}"), "somebody else's".into()]
    );
    // It doesn't need the network either.
    page.cut_off(&mut host).await;
    page.open(1280).await;
    assert!(page.driver().title().await.unwrap().starts_with(third));
    assert_eq!(page.js::<String>("return built").await, third);
    page.forgive().await;
}

/// The browser looks while files are being uploaded: the new worker is there, but one file is of another version.
async fn a_version_is_kept_whole_or_not_at_all(page: Page, mut host: Host) {
    let [first, second] = ["111111111111", "222222222222"];
    host.deploy(first);
    page.open(1280).await;
    page.until_kept(KEPT).await;
    host.deploy(second);
    let late = host.folder().join("half-bar.css");
    let right = fs::read(&late).unwrap();
    fs::write(&late, "half-bar { display: inline }").unwrap();
    let told = page
        .asked("const registration = await navigator.serviceWorker.ready; await registration.update().catch(() => {});
                while (registration.installing) await new Promise((go) => setTimeout(go, 20)); return caches.keys()")
        .await;
    assert_eq!(told, json!([format!("halfbar {} {first}", host.address())]));
    page.cut_off(&mut host).await;
    page.open(1280).await;
    assert!(page.driver().title().await.unwrap().starts_with(first));
    page.opens_practice().await;
    // The next time, it is complete.
    fs::write(&late, right).unwrap();
    host.start();
    page.network(false).await;
    page.asked("await (await navigator.serviceWorker.ready).update()").await;
    page.until_kept(NEWER).await;
    page.open(1280).await;
    assert!(page.driver().title().await.unwrap().starts_with(second));
    page.forgive().await;
}

async fn other_sites_are_left_alone(page: Page, host: Host) {
    page.open(1280).await;
    page.until_kept(KEPT).await;
    page.open(1280).await;
    let note = host.folder().join("note.txt");
    for said in ["Tuesday at seven", "Tuesday at eight"] {
        fs::write(&note, said).unwrap();
        let read = "return await (await fetch('note.txt', { cache: 'no-store' })).text()";
        assert_eq!(page.asked(read).await, json!(said));
    }
    let kept: Value = page
        .asked("const names = await caches.keys(); const [cache] = await Promise.all(names.map((name) => caches.open(name)));
                return [names.length, (await cache.keys()).map(({ url }) => url)]")
        .await;
    assert_eq!(kept[0], json!(1));
    let urls: Vec<&str> = kept[1].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    assert!(
        urls.len() > 20 && urls.iter().all(|url| url.starts_with(&host.address()) && !url.ends_with(".txt")),
        "{urls:?}"
    );
}

async fn the_one_file_needs_no_network(page: Page) {
    page.network(true).await;
    page.open(1280).await;
    let before = page.text().await;
    page.click_pad(3, 1).await;
    assert_ne!(page.text().await, before);
    page.opens_practice().await;
    page.plays().await;
    let quiet: (bool, bool) = page.js("return [one('#offline').hidden, one('#failure').hidden]").await;
    assert_eq!(quiet, (true, true));
    let (icon, manifests): (bool, usize) = page
        .js("return [one('link[rel=icon]').href.startsWith('data:image/svg+xml'), all('link[rel=manifest]').length]")
        .await;
    assert!(icon && manifests == 0);
    let workers = page.asked("return (await navigator.serviceWorker?.getRegistrations() ?? []).length").await;
    assert!(workers == json!(0) || workers.as_str().is_some(), "{workers}");
}

async fn without_the_module_nothing_is_lost(page: Page, host: Host) {
    let version = "111111111111";
    host.deploy(version);
    // Without one of its files, a version isn't kept, so the page has to ask the host.
    let module = host.folder().join(version).join("halfbar_wasm_bg.wasm");
    let content = fs::read(&module).unwrap();
    fs::remove_file(&module).unwrap();
    page.resize(1280).await;
    page.go().await;
    page.until("the failure is reported", "return !one('#failure').hidden").await;
    let said: String = page.js("return one('#failure').innerText").await;
    assert!(said.starts_with("Sorry, the music could not be loaded"), "{said}");
    assert!(said.ends_with("Please reload the page."), "{said}");
    // The music that came with the page can be read.
    let seen = "return systems().filter((system) => system.checkVisibility()).length";
    assert!(page.js::<usize>(seen).await > 2);
    // The message is in view, and unsaved text isn't lost without a warning.
    page.go_to_end_of_text().await;
    let asks = "const event = new Event('beforeunload', { cancelable: true }); dispatchEvent(event); return event.defaultPrevented";
    assert!(!page.js::<bool>(asks).await);
    page.keys("C4:4 |").await;
    let top: f64 = page.js("return one('#failure').getBoundingClientRect().top").await;
    assert!((0.0..100.0).contains(&top), "{top}");
    assert!(page.js::<bool>(asks).await, "a line that isn't kept is lost without a warning");
    fs::write(&module, content).unwrap();
    page.js::<Value>("text().value = text().defaultValue").await;
    page.open(1280).await;
    page.click_pad(3, 1).await;
    assert!(!page.js::<bool>(asks).await);
    page.opens_practice().await;
    page.plays().await;
    page.forgive().await;
}
