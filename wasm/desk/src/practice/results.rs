//! Results by figure and the delays of this device, kept by the browser.

use halfbar_core::listen::Timing;
use halfbar_dom::{Result, by_id, create, focused, hand_on_focus, store};
use halfbar_words::desk as says;
use js_sys::{Array, JSON, Object, Reflect};
use wasm_bindgen::prelude::*;
use web_sys::Element;

use super::check::{By, ms, off};

/// Where they are kept.
const KEPT: &str = "halfbar-timing";

/// All that is kept. What is damaged counts as nothing.
fn kept() -> Object {
    let kept = store::get(KEPT).and_then(|text| JSON::parse(&text).ok()?.dyn_into::<Object>().ok());
    kept.unwrap_or_default()
}

fn set(name: &str, value: &JsValue) -> Result<()> {
    let kept = kept();
    Reflect::set(&kept, &name.into(), value)?;
    // A full or a locked store keeps nothing; the pass was told all the same.
    store::set(KEPT, &String::from(JSON::stringify(&kept)?));
    Ok(())
}

/// How late this device tells what is played, if that was found.
pub(super) fn delay(by: By) -> Result<Option<f64>> {
    Ok(Reflect::get(&kept(), &by.name().into())?.as_f64())
}

/// Keeps how late this device tells what is played.
pub(super) fn set_delay(by: By, seconds: f64) -> Result<()> {
    set(by.name(), &seconds.into())
}

/// What is kept of a figure: how many times it was told, its notes played, missed and too many, and mean and spread in seconds, the mean of all
/// played notes so far.
type Record = [f64; 6];

fn record(name: &str) -> Record {
    let row = Reflect::get(&kept(), &name.into()).ok().and_then(|row| row.dyn_into::<Array>().ok());
    let number =
        |index| row.as_ref().and_then(|row| row.get(index).as_f64()).filter(|number| number.is_finite());
    [0, 1, 2, 3, 4, 5].map(|index| number(index).unwrap_or(0.0))
}

/// Adds a pass to what is kept of a figure.
pub(super) fn add(name: &str, timing: &Timing) -> Result<()> {
    let [times, matched, missed, extra, mean, spread] = record(name);
    let new = timing.matched as f64;
    let all = (matched + new).max(1.0);
    let joined = |old: f64, now: Option<f64>| (old * matched + now.unwrap_or(old) * new) / all;
    let record = [
        times + 1.0,
        matched + new,
        missed + timing.missed as f64,
        extra + timing.extra as f64,
        joined(mean, timing.mean),
        joined(spread, timing.spread),
    ];
    set(name, &record.iter().map(|number| JsValue::from_f64(*number)).collect::<Array>())
}

/// Shows what is kept by figure.
pub(super) fn show() -> Result<()> {
    let rows: Element = by_id("kept-rows")?;
    rows.set_inner_html("");
    let mut any = false;
    for name in Object::keys(&kept()).iter().filter_map(|name| name.as_string()) {
        let [times, matched, missed, extra, mean, spread] = record(&name);
        if times == 0.0 {
            continue;
        }
        any = true;
        let count = |number: f64| ms(number / 1000.0);
        let row: Element = create("tr")?;
        let cells = [
            ("th", name),
            ("td", count(times).to_string()),
            ("td", says::of(count(matched), count(matched + missed))),
            ("td", count(extra).to_string()),
            ("td", off(ms(mean))),
            ("td", says::milliseconds(ms(spread))),
        ];
        for (kind, text) in cells {
            let cell: Element = create(kind)?;
            cell.set_text_content(Some(&text));
            row.append_child(&cell)?;
        }
        rows.append_child(&row)?;
    }
    by_id::<Element>("kept")?.toggle_attribute_with_force("hidden", !any)?;
    Ok(())
}

/// Forgets results and delays.
pub(super) fn forget() -> Result<()> {
    store::remove(KEPT);
    let had = focused()?;
    show()?;
    hand_on_focus(had.as_ref(), &["#tap"])
}
