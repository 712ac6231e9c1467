//! How long a tap takes: printed, not judged, as a busy machine says nothing about the page.

use serde::Deserialize;

use crate::expected::long_line;
use crate::page::{Kind, Page};
use crate::session::run_alone;

#[test]
fn a_tap_in_32_bars() {
    run_alone(concat!(module_path!(), "::a_tap_in_32_bars"), Kind::Served, |page| async move {
        for width in [1280, 390] {
            page.open_with(width, &long_line()).await;
            measure(&page, width).await;
        }
    });
}

/// One tap, in ms.
#[derive(Deserialize)]
struct Tap {
    /// Until the click has been answered: text read, line engraved, elements put in place.
    computed: f64,
    /// Until the frame after it begins.
    framed: f64,
    /// Until that frame has been styled, laid out and handed over for painting.
    painted: f64,
}

async fn measure(page: &Page, width: u32) {
    let script = "
        const done = arguments[0];
        const button = [...document.querySelectorAll('#sheet .pad')][21];
        const painted = () => new Promise((resolve) => {
            const { port1, port2 } = new MessageChannel();
            port1.onmessage = resolve;
            port2.postMessage(null);
        });
        const frame = () => new Promise(requestAnimationFrame);
        (async () => {
            const taps = [];
            for (let tap = 0; tap < 40; tap += 1) {
                // At another moment of the frame each time, as fingers do.
                await frame();
                await new Promise((resolve) => setTimeout(resolve, tap % 16));
                const start = performance.now();
                button.click();
                const computed = performance.now() - start;
                await frame();
                const framed = performance.now() - start;
                await painted();
                taps.push({ computed, framed, painted: performance.now() - start });
            }
            done(taps);
        })();";
    let before = page.text().await;
    let answer = page.driver().execute_async(script, Vec::new()).await.unwrap();
    let taps: Vec<Tap> = answer.convert().unwrap();
    assert_eq!(taps.len(), 40);
    assert_eq!(page.text().await, before, "an even number of taps leaves the text as it was");
    println!(
        "a tap in 32 bars at {width} px, site of `cargo site` (profile wasm), 40 taps, p50 / p95 / worst in ms:"
    );
    for (what, part) in [
        ("computed", (|tap| tap.computed) as fn(&Tap) -> f64),
        ("next frame begins", |tap| tap.framed),
        ("next frame painted", |tap| tap.painted),
    ] {
        let mut times: Vec<f64> = taps.iter().map(part).collect();
        times.sort_by(f64::total_cmp);
        let (p50, p95, worst) = (times[20], times[38], times[39]);
        println!("  {what:18} {p50:6.1} / {p95:6.1} / {worst:6.1}");
        assert!(p50 < 2_000.0, "{what}: half of the taps take longer than {p50} ms");
    }
}
