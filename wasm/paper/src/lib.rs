//! A worksheet in the page: what is on it, its pages in front of the reader, printing, and a PDF.
//!
//! A module of its own, fetched when a reader opens that part of the page: only there are whole pages laid out, and PDF written.

mod examples;
mod pages;

use std::cell::RefCell;
use std::rc::Rc;

use halfbar_core::write;
use halfbar_dom::form::{chosen, entered, say};
use halfbar_dom::{Result, by_id, every, files, on, store, window};
use js_sys::Function;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{Element, HtmlInputElement};

use examples::{Examples, Supply};

/// Where the name of the workshop is kept, which is the same on every sheet.
const WORKSHOP: &str = "halfbar-workshop";
/// How soon the pages follow what is changed, in milliseconds.
const SOON: i32 = 250;

struct Paper {
    examples: Examples,
    pages: pages::Preview,
    /// Whether the pages are older than what they show.
    stale: bool,
}

/// Brings the worksheet to life. Called once, when a reader has opened that part of the page. `lines` gives the lines on this device, rows of
/// number and text; `texts` gives the texts of `steps`, `shape` or `keys`, or throws the reason why not.
///
/// # Errors
/// A JavaScript `Error` that names what the page lacks.
#[wasm_bindgen]
pub fn open(lines: Function, texts: Function) -> Result<()> {
    if let Some(workshop) = store::get(WORKSHOP) {
        by_id::<HtmlInputElement>("workshop")?.set_value(&workshop);
    }
    let examples = Examples::new(Supply { lines, texts })?;
    let paper = Rc::new(RefCell::new(Paper { examples, pages: pages::Preview::new()?, stale: true }));
    let part: Element = by_id("worksheet")?;
    for event in ["input", "change", "toggle"] {
        on(&paper, &part, event, |paper, _| paper.change())?;
    }
    let sheet: Element = by_id("sheet")?;
    on(&paper, &sheet, "drawn", |paper, _| paper.change())?;
    // A text with a mistake is not drawn.
    let text: Element = by_id("text")?;
    on(&paper, &text, "input", |paper, _| paper.change())?;
    for (id, pressed) in [
        ("put-on", (|paper| paper.put_on()) as fn(&mut Paper) -> Result<()>),
        ("take-all-off", |paper| paper.take_all_off()),
        ("save-pdf", |paper| paper.save()),
        ("print-worksheet", |paper| paper.print()),
    ] {
        let button: Element = by_id(id)?;
        on(&paper, &button, "click", move |paper, _| pressed(paper))?;
    }
    let list: Element = by_id("examples")?;
    on(&paper, &list, "click", |paper, event| {
        let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let Some(button) = target.and_then(|target| target.closest("button").ok()?) else { return Ok(()) };
        paper.stale = true;
        paper.examples.pressed(&button)
    })?;
    every(&paper, SOON, |paper| if paper.stale { paper.draw() } else { Ok(()) })
}

impl Paper {
    fn change(&mut self) -> Result<()> {
        self.stale = true;
        Ok(())
    }

    /// Lays the pages out, if that part of the page is open.
    fn draw(&mut self) -> Result<()> {
        if !by_id::<Element>("worksheet")?.has_attribute("open") {
            return Ok(());
        }
        self.stale = false;
        self.examples.offer_kept()?;
        store::set(WORKSHOP, &entered("workshop")?);
        let says = match self.examples.pieces()? {
            Ok(pieces) => self.pages.draw(&pieces)?,
            Err(why) => why,
        };
        say("worksheet-says", &says)
    }

    fn put_on(&mut self) -> Result<()> {
        match self.examples.take(&chosen("source")?)? {
            Ok(()) => self.change(),
            Err(why) => say("worksheet-says", &why),
        }
    }

    fn take_all_off(&mut self) -> Result<()> {
        self.examples.clear()?;
        self.change()
    }

    fn save(&mut self) -> Result<()> {
        self.draw()?;
        match self.pages.laid_out() {
            Some(pages) => {
                let name = files::name(&pages.title, "pdf");
                files::save(&write::pdf::document(pages), "application/pdf", &name)
            }
            None => Ok(()),
        }
    }

    /// Prints what the page shows while this part of it is open.
    fn print(&mut self) -> Result<()> {
        self.draw()?;
        window()?.print()
    }
}
