//! How long things take. The times are printed, but don't fail, because on a busy machine they say nothing about the page.
//!
//!     cargo test -p halfbar-tests --test browser latency -- --nocapture

use std::fs;

use halfbar_tests::target;
use serde::Deserialize;
use serde_json::{Value, json};

use crate::element::markup;
use crate::expected::{LINE, long_line};
use crate::page::{Kind, Page};
use crate::session::run_alone;

/// How many times slower the processor is made: not at all, and about like a phone's.
const SLOWER: [u32; 2] = [1, 4];
const WIDTHS: [u32; 2] = [1280, 390];
/// How often the page is opened.
const LOADS: usize = 20;

#[test]
fn a_tap_in_32_bars() {
    run_alone(concat!(module_path!(), "::a_tap_in_32_bars"), Kind::Served, |page| async move {
        setting(&page).await;
        for width in WIDTHS {
            page.open_with(width, &long_line()).await;
            // The browser has nothing else to do: parts that are filled later are filled, and the page is cached.
            page.open_part("practice").await;
            page.until("practice is ready", "return one('#tempo').value !== ''").await;
            page.open_part("practice").await;
            page.until("the page is kept", "return !one('#offline').hidden").await;
            for slower in SLOWER {
                page.slow_down(slower).await;
                taps(&page, &format!("a tap in 32 bars at {width} px, processor {slower} times slower"))
                    .await;
            }
            page.slow_down(1).await;
        }
    });
}

/// Two bars are typed at the end of 32.
#[test]
fn a_key_in_32_bars() {
    const KEYS: &str = "C4 D E F G F E D | E F G A B A G F | D C";
    run_alone(concat!(module_path!(), "::a_key_in_32_bars"), Kind::Served, |page| async move {
        setting(&page).await;
        for width in WIDTHS {
            for slower in SLOWER {
                page.open_with(width, &long_line()).await;
                page.go_to_end_of_text().await;
                page.slow_down(slower).await;
                let act = format!("() => document.execCommand('insertText', false, {KEYS:?}[tap])");
                let keys = page.acts(&act).await;
                tell(
                    &format!("a key in 32 bars at {width} px, processor {slower} times slower"),
                    &parts(&keys),
                );
                page.slow_down(1).await;
                page.until("it is written", &format!("return text().value.endsWith({KEYS:?})")).await;
            }
        }
    });
}

#[test]
fn the_first_drawing_of_32_bars() {
    run_alone(concat!(module_path!(), "::the_first_drawing_of_32_bars"), Kind::Served, |page| async move {
        setting(&page).await;
        // The page's own line is shorter, so another one is put into its text before any script of the page runs. A frame has been painted
        // when a message that was sent in it arrives.
        let script = "
            document.addEventListener('readystatechange', () => {
                if (document.readyState !== 'interactive') return;
                document.querySelector('#text').defaultValue = LINE;
                new MutationObserver((_, observer) => {
                    if (!document.querySelector('#sheet svg.system')) return;
                    observer.disconnect();
                    const { port1, port2 } = new MessageChannel();
                    port1.onmessage = () => (window.painted = performance.now());
                    requestAnimationFrame(() => port2.postMessage(null));
                }).observe(document.querySelector('#sheet'), { childList: true, subtree: true });
            });"
        .replace("LINE", &json!(long_line()).to_string());
        page.cdp("Page.addScriptToEvaluateOnNewDocument", json!({ "source": script })).await;
        page.cdp("Network.enable", json!({})).await;
        // As on a first visit.
        page.cdp("Network.setBypassServiceWorker", json!({ "bypass": true })).await;
        page.cdp("Network.setCacheDisabled", json!({ "cacheDisabled": true })).await;
        for width in WIDTHS {
            page.resize(width).await;
            for slower in SLOWER {
                page.slow_down(slower).await;
                let mut times = Vec::new();
                for _ in 0..LOADS {
                    page.go().await;
                    page.until("the line is painted", "return window.painted > 0").await;
                    times.push(page.js("return painted").await);
                }
                tell(
                    &format!("opened with 32 bars at {width} px, processor {slower} times slower"),
                    &[("painted", times)],
                );
            }
            page.slow_down(1).await;
        }
    });
}

/// A lesson page with a hundred examples.
#[test]
fn a_hundred_on_a_page() {
    run_alone(concat!(module_path!(), "::a_hundred_on_a_page"), Kind::Blank, |page| async move {
        setting(&page).await;
        let examples = markup("", LINE).repeat(100);
        let html = format!(
            "<!doctype html>\n<html lang=en>\n<meta charset=utf-8>\n<title>A hundred</title>\n<link rel=icon href='data:,'>\n\
             <link rel=stylesheet href=half-bar.css>\n<script type=module src=half-bar.js></script>\n{examples}"
        );
        fs::write(target().join("site/hundred.html"), html).unwrap();
        page.resize(1280).await;
        page.go().await;
        let address: String = page.js("return location.href.replace(/[^/]*$/, 'hundred.html')").await;
        let script = "
            const look = () => {
                const near = [...document.querySelectorAll('half-bar')].filter((one) => one.getBoundingClientRect().top < innerHeight);
                if (near.length > 0 && near.every((one) => one.drawn)) window.seen = performance.now();
                else requestAnimationFrame(look);
            };
            requestAnimationFrame(look);";
        page.cdp("Page.addScriptToEvaluateOnNewDocument", json!({ "source": script })).await;
        let (mut loaded, mut seen) = (Vec::new(), Vec::new());
        for _ in 0..LOADS {
            page.driver().goto(&address).await.unwrap();
            page.until("everything in view is drawn", "return window.seen > 0").await;
            loaded.push(page.js("return performance.getEntriesByType('navigation')[0].loadEventStart").await);
            seen.push(page.js("return window.seen").await);
        }
        tell("a hundred examples of 8 bars", &[("loaded", loaded), ("all in view drawn", seen)]);
        memory(&page, "those in view drawn").await;
        let took = page
            .later("const start = performance.now(); await Promise.all(tags().map((one) => one.ready())); return performance.now() - start")
            .await;
        println!("  the others drawn   {:6.0} ms", took.as_f64().unwrap());
        assert_eq!(page.living().await, json!(100));
        memory(&page, "all drawn").await;
        for slower in SLOWER {
            page.slow_down(slower).await;
            let pads: Value =
                page.ask("window.pad_of = (n) => padOf((n % 20) >> 1, 3, 1); return null").await;
            assert_eq!(pads, Value::Null);
            let taps = page.taps("pad_of(tap)").await;
            tell(&format!("a tap with all of them drawn, processor {slower} times slower"), &parts(&taps));
        }
        page.slow_down(1).await;
    });
}

/// One tap or key, in ms.
#[derive(Deserialize)]
struct Tap {
    /// Until the handler is done: text read, line engraved, elements in place.
    computed: f64,
    /// Until the next frame starts.
    framed: f64,
    /// Until that frame has been styled, laid out and handed over for painting.
    painted: f64,
}

impl Page {
    async fn slow_down(&self, times: u32) {
        self.cdp("Emulation.setCPUThrottlingRate", json!({ "rate": times })).await;
    }

    /// Forty taps on the pad that an expression returns.
    async fn taps(&self, pad: &str) -> Vec<Tap> {
        self.acts(&format!("((button) => () => button.click())({pad})")).await
    }

    /// Calls the function that an expression returns forty times; it may use `tap`, which counts from 0.
    async fn acts(&self, act: &str) -> Vec<Tap> {
        let script = "
            const done = arguments[0];
            const painted = () => new Promise((resolve) => {
                const { port1, port2 } = new MessageChannel();
                port1.onmessage = resolve;
                port2.postMessage(null);
            });
            const frame = () => new Promise(requestAnimationFrame);
            (async () => {
                const taps = [];
                for (let tap = 0; tap < 40; tap += 1) {
                    const act = ACT;
                    // At a different moment of the frame each time, as with real fingers.
                    await frame();
                    await new Promise((resolve) => setTimeout(resolve, tap % 16));
                    const start = performance.now();
                    act();
                    const computed = performance.now() - start;
                    await frame();
                    const framed = performance.now() - start;
                    await painted();
                    taps.push({ computed, framed, painted: performance.now() - start });
                }
                done(taps);
            })();"
            .replace("ACT", act);
        let answer = self.driver().execute_async(script, Vec::new()).await.unwrap();
        let taps: Vec<Tap> = answer.convert().unwrap();
        assert_eq!(taps.len(), 40);
        taps
    }
}

async fn taps(page: &Page, what: &str) {
    let before = page.text().await;
    let taps = page.taps("[...document.querySelectorAll('#sheet .pad')][21]").await;
    assert_eq!(page.text().await, before, "an even number of taps must leave the text the same");
    tell(what, &parts(&taps));
}

fn parts(taps: &[Tap]) -> [(&'static str, Vec<f64>); 3] {
    [
        ("computed", (|tap| tap.computed) as fn(&Tap) -> f64),
        ("next frame begins", |tap| tap.framed),
        ("next frame painted", |tap| tap.painted),
    ]
    .map(|(what, part)| (what, taps.iter().map(part).collect()))
}

/// Prints the median, the 95th percentile and the maximum.
fn tell(what: &str, parts: &[(&str, Vec<f64>)]) {
    println!("{what}, p50 / p95 / worst of {} in ms, load {}:", parts[0].1.len(), load());
    for (what, times) in parts {
        let mut times = times.clone();
        times.sort_by(f64::total_cmp);
        let part = |hundredths: usize| times[(times.len() * hundredths).div_ceil(100) - 1];
        let (p50, p95, worst) = (part(50), part(95), part(100));
        println!("  {what:18} {p50:6.1} / {p95:6.1} / {worst:6.1}");
        // This is so much longer than acceptable that it can't be the machine.
        assert!(p50 < 10_000.0, "{what}: half of them take longer than {p50} ms");
    }
}

/// Prints what machine and conditions it was measured with.
async fn setting(page: &Page) {
    let version = page.cdp("Browser.getVersion", json!({})).await;
    let cores = std::thread::available_parallelism().unwrap();
    println!("{} on {cores} cores, load {}", version["product"].as_str().unwrap(), load());
}

/// The load average over the last minute, which includes the browser.
fn load() -> String {
    let told = fs::read_to_string("/proc/loadavg").unwrap_or_default();
    told.split(' ').next().unwrap_or_default().to_string()
}

/// Prints a page's use of memory, after garbage collection.
async fn memory(page: &Page, when: &str) {
    page.cdp("HeapProfiler.collectGarbage", json!({})).await;
    page.cdp("Performance.enable", json!({})).await;
    let told = page.cdp("Performance.getMetrics", json!({})).await;
    let metrics = told["metrics"].as_array().unwrap();
    let metric = |name: &str| {
        metrics
            .iter()
            .find(|metric| metric["name"] == name)
            .and_then(|metric| metric["value"].as_f64())
            .unwrap()
    };
    let module = page
        .later("const { default: init } = await import('./halfbar_widget.js'); return (await init()).memory.buffer.byteLength")
        .await;
    println!(
        "  {when}: {:.1} MB of JavaScript, {:.1} MB of the module, {} nodes",
        metric("JSHeapUsedSize") / 1e6,
        module.as_f64().unwrap() / 1e6,
        metric("Nodes")
    );
}
