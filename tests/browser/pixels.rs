//! A saved picture looks the same in two renderers that have nothing in common: Chromium and resvg (a crate).

use halfbar_tests::gallery::cases;
use halfbar_tests::pixels::{apart, decode, render};
use serde_json::json;

use crate::page::Page;

scenarios! {
    served (Served): pictures_look_alike;
}

/// How different the two may be, because they smooth edges in different ways. Measured over the gallery at 8 pixels per staff space: at
/// most 0.0073, and 17 pixels in a million. A missing fret number is a hundred pixels of 400,000; moving all of the music down by a
/// fifth of a pixel is 0.02 and 0.03.
const MEAN: f64 = 0.01;
const FAR: f64 = 0.0001;

/// The file inside one whose size is in whole pixels. At the top of a page, Chromium snaps a picture to whole pixels and centers it there,
/// which moves it down by a fraction of a pixel.
fn whole_pixels(svg: &str) -> String {
    let document = roxmltree::Document::parse(svg).unwrap();
    let size = |name| document.root_element().attribute(name).unwrap().parse::<f64>().unwrap().ceil();
    let (width, height) = (size("width"), size("height"));
    format!(r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">{svg}</svg>"#)
}

async fn pictures_look_alike(page: Page) {
    page.open(1280).await;
    let (mut mean, mut far): (f64, f64) = (0.0, 0.0);
    for case in cases() {
        let svg = whole_pixels(&case.svg());
        let ours = render(&svg, 1.0);
        let screen = json!({ "width": ours.width(), "height": ours.height(), "deviceScaleFactor": 1, "mobile": false });
        page.cdp("Emulation.setDeviceMetricsOverride", screen).await;
        let bytes: String = svg.bytes().map(|byte| format!("%{byte:02X}")).collect();
        page.driver().goto(format!("data:image/svg+xml,{bytes}")).await.unwrap();
        let theirs = decode(&page.driver().screenshot_as_png().await.unwrap());
        let apart = apart(&ours, &theirs);
        assert!(apart.mean <= MEAN && apart.far <= FAR, "{}: {apart:?}", case.name);
        (mean, far) = (mean.max(apart.mean), far.max(apart.far));
    }
    println!("at most {mean:.4} apart on average, {far:.6} of the pixels by more than a quarter");
}
