//! What is on the sheet, in its order.

use halfbar_core::harmony::names;
use halfbar_core::{Piece, read};
use halfbar_dom::form::{Told, title};
use halfbar_dom::{MOST_BARS, Result, by_id, create};
use halfbar_words::worksheet as says;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlButtonElement, HtmlElement, HtmlOptionElement};

use crate::keep::{Keep, Kept};
use crate::page::Page;

/// The most examples on a sheet: a term's worth.
const MOST: usize = 100;

/// A line on the sheet, as it was put there; a kept one as it is now.
pub(super) struct Example {
    kept: Option<u32>,
    text: String,
}

impl From<String> for Example {
    fn from(text: String) -> Example {
        Example { kept: None, text }
    }
}

impl From<&Kept> for Example {
    fn from(line: &Kept) -> Example {
        Example { kept: Some(line.id), text: line.text.clone() }
    }
}

/// The line of the page, as one that is kept where it is.
pub(super) fn of_the_page(page: &Page, keep: &Keep) -> Example {
    let text = page.source();
    keep.lines().iter().find(|line| line.text == text).map_or_else(|| Example::from(text.clone()), Into::into)
}

/// The lines on the sheet. As long as there are none, the sheet shows the page's own.
pub(super) struct Examples {
    list: HtmlElement,
    examples: Vec<Example>,
    /// The kept lines that are offered.
    offered: Vec<(u32, String)>,
}

impl Examples {
    pub(super) fn new() -> Result<Examples> {
        Ok(Examples { list: by_id("examples")?, examples: Vec::new(), offered: Vec::new() })
    }

    /// Offers the kept lines by their titles.
    pub(super) fn offer_kept(&mut self, keep: &Keep) -> Result<()> {
        let offered: Vec<_> =
            keep.lines().iter().map(|line| (line.id, title(&line.text).to_string())).collect();
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

    /// Puts lines on the sheet, if there is room for them.
    pub(super) fn put_on(&mut self, new: Vec<Example>) -> Told<()> {
        if self.examples.len() + new.len() > MOST {
            return Err(says::full(MOST));
        }
        self.examples.extend(new);
        Ok(())
    }

    /// Takes all of them off.
    pub(super) fn clear(&mut self) -> Result<()> {
        self.examples.clear();
        self.show()?;
        by_id::<HtmlElement>("put-on")?.focus()
    }

    /// A button beside an example was pressed.
    pub(super) fn pressed(&mut self, button: &Element) -> Result<()> {
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

    pub(super) fn show(&self) -> Result<()> {
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
                ("off", says::REMOVE, false),
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
    pub(super) fn pieces(&mut self, page: &Page, keep: &Keep) -> Result<Told<Vec<Piece>>> {
        if self.examples.is_empty() {
            let own = page.right().map(|piece| vec![named(piece.clone())]);
            return Ok(own.map_err(|_| says::TEXT_HAS_A_MISTAKE.to_string()));
        }
        let (mut pieces, mut bars, mut changed) = (Vec::new(), 0, false);
        for (example, number) in self.examples.iter_mut().zip(1..) {
            let kept = keep.lines().iter().find(|line| Some(line.id) == example.kept);
            if let Some(now) = kept.filter(|line| line.text != example.text) {
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
    Piece::new(line, reading.casting).ok().map(named)
}

/// A piece with its names, which the sheet may show even where its text doesn't ask for them.
fn named(piece: Piece) -> Piece {
    match piece.names() {
        Some(_) => piece,
        None => {
            let signs = names(piece.line()).signs(piece.line());
            piece.with_names(signs.into())
        }
    }
}
