//! Results by figure and the delays of this device, kept by the browser.

use halfbar_core::listen::{Latency, Timing};
use halfbar_core::recast::Figure;
use halfbar_dom::form::{say, sentence};
use halfbar_dom::{Result, by_id, create, focused, hand_on_focus, store};
use halfbar_words::practice as says;
use js_sys::{Array, JSON, Object, Reflect};
use wasm_bindgen::prelude::*;
use web_sys::{Element, HtmlElement};

use crate::parts;

use super::check::{By, Report, lead, ms, off, told};
use super::strip::strip;

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

/// How late this device tells what is played, in seconds; as if at once, when that was never found.
pub(super) fn delay(by: By) -> Result<f64> {
    Ok(Reflect::get(&kept(), &by.name().into())?.as_f64().unwrap_or(0.0))
}

/// Keeps how late this device tells what is played, and says it.
pub(super) fn tell_delay(by: By, found: std::result::Result<Latency, String>) -> Result<()> {
    let says = match found {
        Ok(latency) => {
            set(by.name(), &latency.seconds.into())?;
            says::delay_found(by.says(), ms(latency.seconds))
        }
        Err(why) => sentence(&why),
    };
    say("timing-says", &says)
}

/// Says how close a pass was, shows it, and keeps it by figure.
pub(super) fn tell(report: &Report) -> Result<()> {
    say("timing-says", &told(report))?;
    // On a phone the result is below the edge of the drawer.
    if !parts::is_wide()? {
        say("status", &lead(report))?;
    }
    by_id::<HtmlElement>("strip")?.set_inner_html(&strip(&report.times, &report.alignment));
    for (name, timing) in &report.figures {
        set(name, &record(name).with(timing).as_row())?;
    }
    show()
}

/// What is kept of a figure.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
struct Record {
    /// How many times it was told.
    times: f64,
    /// Its notes that were played, missed, and too many.
    matched: f64,
    missed: f64,
    extra: f64,
    /// In seconds, over all its notes that were played so far.
    mean: f64,
    spread: f64,
}

impl Record {
    /// With another pass.
    fn with(self, timing: &Timing) -> Record {
        let new = timing.matched as f64;
        let all = (self.matched + new).max(1.0);
        let joined = |old: f64, now: Option<f64>| (old * self.matched + now.unwrap_or(old) * new) / all;
        Record {
            times: self.times + 1.0,
            matched: self.matched + new,
            missed: self.missed + timing.missed as f64,
            extra: self.extra + timing.extra as f64,
            mean: joined(self.mean, timing.mean),
            spread: joined(self.spread, timing.spread),
        }
    }

    fn as_row(self) -> Array {
        let Record { times, matched, missed, extra, mean, spread } = self;
        [times, matched, missed, extra, mean, spread].into_iter().map(JsValue::from_f64).collect()
    }
}

/// What is kept of a figure; where it is damaged, nothing.
fn record(name: &str) -> Record {
    let row = Reflect::get(&kept(), &name.into()).ok().and_then(|row| row.dyn_into::<Array>().ok());
    let number =
        |index| row.as_ref().and_then(|row| row.get(index).as_f64()).filter(|number| number.is_finite());
    let [times, matched, missed, extra, mean, spread] =
        [0, 1, 2, 3, 4, 5].map(|index| number(index).unwrap_or(0.0));
    Record { times, matched, missed, extra, mean, spread }
}

/// Shows what is kept by figure.
pub(super) fn show() -> Result<()> {
    let rows: Element = by_id("kept-rows")?;
    rows.set_inner_html("");
    let mut any = false;
    for name in Object::keys(&kept()).iter().filter_map(|name| name.as_string()) {
        let Record { times, matched, missed, extra, mean, spread } = record(&name);
        if times == 0.0 {
            continue;
        }
        any = true;
        let count = |number: f64| ms(number / 1000.0);
        let row: Element = create("tr")?;
        let figure = Figure::named(&name);
        let heading: Element = create("th")?;
        match &figure {
            Some(figure) => heading.set_text_content(Some(figure.label())),
            None => {
                heading.set_text_content(Some(&name));
                heading.set_attribute("translate", "no")?;
            }
        }
        row.append_child(&heading)?;
        let cells = [
            count(times).to_string(),
            says::of(count(matched), count(matched + missed)),
            count(extra).to_string(),
            off(ms(mean)),
            says::milliseconds(ms(spread)),
        ];
        for text in cells {
            let cell: Element = create("td")?;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn passes_add_up_by_the_notes_that_were_played() {
        let pass = |matched, mean, spread| Timing {
            matched,
            on_time: matched,
            missed: 1,
            extra: 2,
            mean,
            spread,
            drift: None,
        };
        let first = Record::default().with(&pass(4, Some(0.01), Some(0.004)));
        assert_eq!((first.mean, first.spread), (0.01, 0.004));
        let both = first.with(&pass(12, Some(0.03), Some(0.012)));
        assert_eq!((both.times, both.matched, both.missed, both.extra), (2.0, 16.0, 2.0, 4.0));
        assert!((both.mean - 0.025).abs() < 1e-12 && (both.spread - 0.01).abs() < 1e-12, "{both:?}");
        // A pass without a note that was played says nothing of their time.
        let none = both.with(&pass(0, None, None));
        assert_eq!((none.mean, none.spread, none.times), (both.mean, both.spread, 3.0));
    }
}
