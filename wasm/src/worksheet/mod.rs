//! Put it on paper: what is on the worksheet, its pages in front of the reader, printing, and a PDF.

mod examples;
mod pages;

use halfbar_core::drill::LadderStep;
use halfbar_core::line::{Heading, Line};
use halfbar_core::recast::Casting;
use halfbar_core::worksheet::{Format, SheetNames};
use halfbar_core::write;
use halfbar_dom::form::{Told, chosen, entered, say, sentence, tick, ticked};
use halfbar_dom::{Result, by_id, files, store, window};
use web_sys::{Element, HtmlInputElement, HtmlSelectElement};

use crate::app::{App, Control};
use crate::keep::{Keep, button_of};
use crate::page::Page;
use crate::parts::Part;
use crate::{make, practice};
use examples::Examples;

/// Where the name of the workshop is kept, which is the same on every sheet.
const WORKSHOP: &str = "halfbar-workshop";
/// Where the paper is kept that a reader has chosen.
const PAPER: &str = "halfbar-paper";

pub(crate) struct Worksheet {
    examples: Examples,
    pages: pages::Preview,
    /// Whether the pages are older than what they show.
    stale: bool,
}

/// What a reader does to a worksheet.
pub(crate) const CONTROLS: &[Control] = &[
    ("worksheet", "input", |app, _| app.worksheet.follow()),
    ("worksheet", "change", |app, _| app.worksheet.follow()),
    ("paper", "change", |app, _| app.worksheet.keep_paper()),
    // An answer key is for what is left blank.
    ("answers", "change", |_, _| {
        if ticked("answers")? && !has_blanks()? { tick("recast-yourself", true) } else { Ok(()) }
    }),
    ("recast-yourself", "change", |_, _| if has_blanks()? { Ok(()) } else { tick("answers", false) }),
    ("sheet-names", "change", |_, _| if has_blanks()? { Ok(()) } else { tick("answers", false) }),
    ("put-on", "click", |app, _| app.put_on()),
    ("take-all-off", "click", |app, _| app.worksheet.take_all_off()),
    ("save-pdf", "click", |app, _| app.worksheet.save(&app.page, &app.keep)),
    ("print-worksheet", "click", |app, _| app.worksheet.print(&app.page, &app.keep)),
    ("examples", "click", |app, event| match button_of(event) {
        Some(button) => app.worksheet.pressed(&button),
        None => Ok(()),
    }),
];

impl App {
    /// Puts lines on the sheet: the page's, a kept one, or what the page can make.
    fn put_on(&mut self) -> Result<()> {
        let source = chosen("source")?;
        let new = match source.parse::<u32>() {
            Ok(id) => Ok(self.keep.lines().iter().filter(|line| line.id == id).map(Into::into).collect()),
            Err(_) if source == "line" => Ok(vec![examples::of_the_page(&self.page, &self.keep)]),
            Err(_) => texts(&source, &self.page)?.map(|texts| texts.into_iter().map(Into::into).collect()),
        };
        match new.and_then(|new| self.worksheet.examples.put_on(new)) {
            Ok(()) => {
                self.worksheet.change();
                self.worksheet.examples.show()
            }
            Err(why) => say("worksheet-says", &why),
        }
    }
}

/// The texts of the `steps` to the figure on the shelf, of the `shape` moved as the page's fields say, or of the line in twelve `keys`.
fn texts(what: &str, page: &Page) -> Result<Told<Vec<String>>> {
    let made = match page.right() {
        Err(why) => Err(why),
        // A step is called by what is to be done: a worksheet numbers its examples itself.
        Ok(piece) if what == "steps" => practice::ladder(piece, page.figure(), page.words())?
            .map(|steps| steps.into_iter().map(unnumbered).collect()),
        Ok(piece) => {
            make::offer_scales(page)?;
            let made = if what == "shape" { make::shape(piece, page.stretch())? } else { make::keys(piece)? };
            made.map(|made| vec![(made.line, made.casting)])
        }
    };
    let texts = made.and_then(|made: Vec<_>| {
        let texts = made.iter().map(|(line, casting)| write::text::line(line, casting));
        texts.collect::<std::result::Result<_, _>>().map_err(|error| error.to_string())
    });
    Ok(texts.map_err(|why| sentence(&why)))
}

fn unnumbered(step: LadderStep) -> (Line, Casting) {
    let heading = Heading { title: step.says, ..step.line.heading().clone() };
    (step.line.with_heading(heading), step.casting)
}

/// Whether something is left blank on the sheet.
fn has_blanks() -> Result<bool> {
    Ok(ticked("recast-yourself")? || chosen("sheet-names")? == SheetNames::Blank.name())
}

impl Worksheet {
    pub(crate) fn new() -> Result<Worksheet> {
        let usual = || {
            Format::usual_for(
                &window().ok().and_then(|window| window.navigator().language()).unwrap_or_default(),
            )
        };
        let kept = store::get(PAPER).and_then(|kept| kept.parse().ok());
        by_id::<HtmlSelectElement>("paper")?.set_value(kept.unwrap_or_else(usual).name());
        Ok(Worksheet { examples: Examples::new()?, pages: pages::Preview::new()?, stale: false })
    }

    /// Whether the pages should follow.
    pub(crate) fn is_behind(&self) -> bool {
        self.stale
    }

    /// Fills in what is kept, the first time.
    pub(crate) fn unfold(&mut self, keep: &Keep) -> Result<()> {
        let workshop: HtmlInputElement = by_id("workshop")?;
        if workshop.value().is_empty()
            && let Some(kept) = store::get(WORKSHOP)
        {
            workshop.set_value(&kept);
        }
        self.change();
        self.examples.offer_kept(keep)
    }

    /// A paper was chosen, for the next sheets as well.
    fn keep_paper(&mut self) -> Result<()> {
        store::set(PAPER, &chosen("paper")?);
        Ok(())
    }

    /// A field was changed.
    fn follow(&mut self) -> Result<()> {
        self.change();
        Ok(())
    }

    /// Something has changed that pages may show.
    pub(crate) fn change(&mut self) {
        self.stale = true;
    }

    /// Lays the pages out, if that part of the page is open.
    pub(crate) fn draw(&mut self, page: &Page, keep: &Keep) -> Result<()> {
        self.stale = false;
        if !Part::Worksheet.is_open()? {
            return Ok(());
        }
        self.examples.offer_kept(keep)?;
        store::set(WORKSHOP, &entered("workshop")?);
        let says = match self.examples.pieces(page, keep)? {
            Ok(pieces) => self.pages.draw(&pieces, page.words())?,
            Err(why) => why,
        };
        say("worksheet-says", &says)
    }

    /// A button beside an example was pressed.
    fn pressed(&mut self, button: &Element) -> Result<()> {
        self.change();
        self.examples.pressed(button)
    }

    fn take_all_off(&mut self) -> Result<()> {
        self.change();
        self.examples.clear()
    }

    fn save(&mut self, page: &Page, keep: &Keep) -> Result<()> {
        self.draw(page, keep)?;
        match self.pages.laid_out() {
            Some(pages) => {
                let name = files::name(&pages.title, "pdf");
                files::save(&write::pdf::document(pages), "application/pdf", &name)?;
                say("worksheet-says", &halfbar_words::keep::saved(name))
            }
            None => Ok(()),
        }
    }

    /// Prints what the page shows while this part of it is open.
    fn print(&mut self, page: &Page, keep: &Keep) -> Result<()> {
        self.draw(page, keep)?;
        page.lay_out_for_paper()?;
        window()?.print()
    }
}
