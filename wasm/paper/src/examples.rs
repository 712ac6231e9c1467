//! What is on the sheet, in its order.

use halfbar_core::{Piece, read};
use halfbar_dom::form::{Told, title};
use halfbar_dom::{MOST_BARS, Result, by_id, create};
use halfbar_words::paper as says;
use js_sys::{Array, Error, Function};
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{Element, HtmlButtonElement, HtmlElement, HtmlOptionElement, HtmlTextAreaElement};

/// The most examples on a sheet: a term's worth.
const MOST: usize = 100;

/// Where texts come from: see [`crate::open`].
pub(crate) struct Supply {
    pub(crate) lines: Function,
    pub(crate) texts: Function,
}

/// A line that the browser keeps.
struct Kept {
    id: u32,
    text: String,
}

/// A line on the sheet, as it was put there; a kept one as it is now.
struct Example {
    kept: Option<u32>,
    text: String,
}

/// The lines on the sheet. As long as there are none, the sheet shows the page's own.
pub(crate) struct Examples {
    supply: Supply,
    text: HtmlTextAreaElement,
    list: HtmlElement,
    examples: Vec<Example>,
    /// The kept lines that are offered.
    offered: Vec<(u32, String)>,
}

impl Supply {
    fn kept(&self) -> Result<Vec<Kept>> {
        let rows: Array = self.lines.call0(&JsValue::NULL)?.unchecked_into();
        let kept = rows.iter().filter_map(|row| {
            let row: Array = row.unchecked_into();
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "it was an u32")]
            Some(Kept { id: row.get(0).as_f64()? as u32, text: row.get(1).as_string()? })
        });
        Ok(kept.collect())
    }

    fn texts(&self, what: &str) -> Told<Vec<String>> {
        match self.texts.call1(&JsValue::NULL, &what.into()) {
            Ok(texts) => {
                Ok(texts.unchecked_into::<Array>().iter().filter_map(|text| text.as_string()).collect())
            }
            Err(thrown) => {
                Err(thrown.dyn_into::<Error>().map_or_else(|_| String::new(), |why| why.message().into()))
            }
        }
    }
}

impl Examples {
    pub(crate) fn new(supply: Supply) -> Result<Examples> {
        let (text, list) = (by_id("text")?, by_id("examples")?);
        let mut examples = Examples { supply, text, list, examples: Vec::new(), offered: Vec::new() };
        examples.offer_kept()?;
        examples.show()?;
        Ok(examples)
    }

    /// Offers the kept lines by their titles.
    pub(crate) fn offer_kept(&mut self) -> Result<()> {
        let kept = self.supply.kept()?;
        let offered: Vec<_> = kept.iter().map(|line| (line.id, title(&line.text).to_string())).collect();
        if offered == self.offered {
            return Ok(());
        }
        let group: HtmlElement = by_id("kept-lines")?;
        group.set_inner_html("");
        for (id, title) in &offered {
            let option: HtmlOptionElement = create("option")?;
            option.set_value(&id.to_string());
            option.set_text(title);
            group.append_child(&option)?;
        }
        self.offered = offered;
        Ok(())
    }

    /// Puts lines on the sheet: the page's `line`, a kept one by its number, or what the page can make.
    pub(crate) fn take(&mut self, source: &str) -> Result<Told<()>> {
        let kept = self.supply.kept()?;
        let new = match (source, source.parse::<u32>()) {
            ("line", _) => {
                let text = self.text.value();
                let kept = kept.iter().find(|line| line.text == text).map(|line| line.id);
                Ok(vec![Example { kept, text }])
            }
            (_, Ok(id)) => {
                let line = kept.into_iter().find(|line| line.id == id);
                Ok(line.into_iter().map(|Kept { id, text }| Example { kept: Some(id), text }).collect())
            }
            _ => self
                .supply
                .texts(source)
                .map(|texts| texts.into_iter().map(|text| Example { kept: None, text }).collect()),
        };
        let told = match new {
            Ok(new) if self.examples.len() + new.len() > MOST => Err(says::full(MOST)),
            Ok(new) => {
                self.examples.extend(new);
                Ok(())
            }
            Err(why) => Err(why),
        };
        self.show()?;
        Ok(told)
    }

    /// Takes all of them off.
    pub(crate) fn clear(&mut self) -> Result<()> {
        self.examples.clear();
        self.show()?;
        by_id::<HtmlElement>("put-on")?.focus()
    }

    /// A button beside an example was pressed.
    pub(crate) fn pressed(&mut self, button: &Element) -> Result<()> {
        let Some((what, index)) = ["up", "down", "off"].into_iter().find_map(|what| {
            let index = button.get_attribute(&format!("data-{what}"))?.parse::<usize>().ok()?;
            (index < self.examples.len()).then_some((what, index))
        }) else {
            return Ok(());
        };
        let now = match what {
            "off" => {
                self.examples.remove(index);
                index.min(self.examples.len().saturating_sub(1))
            }
            _ => {
                let other = if what == "up" {
                    index.saturating_sub(1)
                } else {
                    (index + 1).min(self.examples.len() - 1)
                };
                self.examples.swap(index, other);
                other
            }
        };
        self.show()?;
        self.focus(what, now)
    }

    /// Gives the focus back to the button that was pressed, wherever it is now; where there is none, to what puts lines on the sheet.
    fn focus(&self, what: &str, index: usize) -> Result<()> {
        let item = self.list.query_selector(&format!("[data-{what}='{index}']:not(:disabled)"))?;
        let item = match item {
            Some(button) => Some(button),
            None => self.list.query_selector(&format!("[data-off='{index}']"))?,
        };
        match item.and_then(|button| button.dyn_into::<HtmlElement>().ok()) {
            Some(button) => button.focus(),
            None => by_id::<HtmlElement>("put-on")?.focus(),
        }
    }

    fn show(&self) -> Result<()> {
        let all_off: Element = by_id("take-all-off")?;
        all_off.toggle_attribute_with_force("hidden", self.examples.is_empty())?;
        self.list.set_inner_html("");
        let last = self.examples.len().saturating_sub(1);
        for (index, example) in self.examples.iter().enumerate() {
            let item: Element = create("li")?;
            let name: Element = create("span")?;
            let title = title(&example.text);
            name.set_text_content(Some(title));
            item.append_child(&name)?;
            for (what, label, at_edge) in [
                ("up", says::UP, index == 0),
                ("down", says::DOWN, index == last),
                ("off", says::TAKE_OFF, false),
            ] {
                let button: HtmlButtonElement = create("button")?;
                button.set_type("button");
                button.set_attribute(&format!("data-{what}"), &index.to_string())?;
                button.set_attribute("aria-label", &says::button(label, title))?;
                button.set_text_content(Some(label));
                button.set_disabled(at_edge);
                item.append_child(&button)?;
            }
            self.list.append_child(&item)?;
        }
        Ok(())
    }

    /// The music of all of them.
    pub(crate) fn pieces(&mut self) -> Result<Told<Vec<Piece>>> {
        if self.examples.is_empty() {
            let own = piece(&self.text.value());
            return Ok(own.map(|piece| vec![piece]).ok_or_else(|| says::TEXT_HAS_A_MISTAKE.to_string()));
        }
        let kept = self.supply.kept()?;
        let (mut pieces, mut bars, mut changed) = (Vec::new(), 0, false);
        for (example, number) in self.examples.iter_mut().zip(1..) {
            if let Some(now) =
                kept.iter().find(|line| Some(line.id) == example.kept && line.text != example.text)
            {
                example.text.clone_from(&now.text);
                changed = true;
            }
            let Some(piece) = piece(&example.text) else {
                return Ok(Err(says::example_has_a_mistake(number)));
            };
            bars += piece.line().bar_count();
            pieces.push(piece);
        }
        if changed {
            self.show()?;
        }
        match bars <= MOST_BARS {
            true => Ok(Ok(pieces)),
            false => Ok(Err(says::too_many_bars(MOST_BARS, bars))),
        }
    }
}

fn piece(text: &str) -> Option<Piece> {
    let reading = read::text(text);
    let line = reading.line.filter(|line| reading.diagnostics.is_empty() && line.bar_count() <= MOST_BARS)?;
    Piece::new(line, reading.casting).ok()
}
