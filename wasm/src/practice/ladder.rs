//! The small steps that lead to the figure on the shelf: each can be heard, and written into the text.

use std::sync::Arc;

use halfbar_core::Piece;
use halfbar_core::dialect::Dialect;
use halfbar_core::drill::{self, LadderStep, Side, StepKind};
use halfbar_core::recast::Figure;
use halfbar_core::write;
use halfbar_dom::form::{Told, chosen, say, sentence};
use halfbar_dom::{Result, by_id, create, focused, hand_on_focus};
use halfbar_words::practice as says;
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlButtonElement, HtmlElement};

use super::Practice;
use crate::app::App;
use crate::keep::button_of;
use crate::page::Page;

/// The width of a step's picture, in staff spaces.
const WIDTH: f64 = 60.0;

pub(super) struct Steps {
    list: Element,
    /// The steps that are shown.
    shown: Vec<LadderStep>,
}

impl Steps {
    pub(super) fn new() -> Result<Steps> {
        Ok(Steps { list: by_id("steps")?, shown: Vec::new() })
    }
}

impl App {
    /// A button of a step is pressed.
    pub(super) fn press_step(&mut self, event: &Event) -> Result<()> {
        let Some(button) = button_of(event) else { return Ok(()) };
        let step = |name: &str| button.get_attribute(name).and_then(|number| number.parse().ok());
        match (step("data-hear"), step("data-write")) {
            (Some(step), _) => self.practice.hear_step(step, button.unchecked_into()),
            (_, Some(step)) => self.write_step(step),
            _ => Ok(()),
        }
    }

    /// Makes a step a line of its own.
    fn write_step(&mut self, index: usize) -> Result<()> {
        let Some(step) = self.practice.steps.shown.get(index) else { return Ok(()) };
        match write::text::line(&step.line, &step.casting) {
            Ok(text) => self.keep.begin_line(&mut self.page, &text, says::STEP_WRITTEN),
            Err(why) => say("ladder-says", &sentence(&why.to_string())),
        }
    }
}

impl Practice {
    /// Shows the steps to the figure on the shelf, when that part of the page is open.
    pub(crate) fn show_ladder(&mut self, page: &Page) -> Result<()> {
        if !by_id::<Element>("ladder")?.has_attribute("open") {
            return Ok(());
        }
        let steps = match page.piece().map(|piece| ladder(piece, page.figure(), page.words())) {
            None => Vec::new(),
            Some(steps) => match steps? {
                Ok(steps) => steps,
                Err(why) => {
                    self.steps.list.set_inner_html("");
                    self.steps.shown.clear();
                    return say("ladder-says", &sentence(&why));
                }
            },
        };
        say("ladder-says", "")?;
        if steps == self.steps.shown {
            return Ok(());
        }
        let had = focused()?;
        self.steps.list.set_inner_html("");
        for (index, step) in steps.iter().enumerate() {
            let item = item(index, step, page)?;
            self.steps.list.append_child(&item)?;
        }
        self.steps.shown = steps;
        let step =
            had.as_ref().and_then(|had| had.get_attribute("data-write").or(had.get_attribute("data-hear")));
        let step = format!("#steps [data-write=\"{}\"]", step.unwrap_or_default());
        hand_on_focus(had.as_ref(), &[&step, "#side"])
    }

    fn hear_step(&mut self, index: usize, button: HtmlElement) -> Result<()> {
        if self.stop_by(&button)? {
            return Ok(());
        }
        let Some(step) = self.steps.shown.get(index) else { return Ok(()) };
        let heard = match Piece::new(step.line.clone(), step.casting.clone()) {
            Ok(piece) => self.hear_aside(button, says::step_number(index + 1), piece)?,
            Err(error) => Err(error.to_string()),
        };
        heard.map_or_else(|why| say("ladder-says", &sentence(&why)), Ok)
    }
}

/// A step in the list: what to do, its music, and what can be done with it.
fn item(index: usize, step: &LadderStep, page: &Page) -> Result<Element> {
    let item: Element = create("li")?;
    let says: HtmlElement = create("p")?;
    says.set_text_content(Some(&format!("{}.", step.says)));
    let picture: HtmlElement = create("div")?;
    picture.set_class_name("step");
    // The reader's own line is on the page already.
    if step.kind != StepKind::Line
        && let Ok(piece) = Piece::new(step.line.clone(), step.casting.clone())
    {
        picture.set_inner_html(&page.picture(&piece, WIDTH, false));
    }
    let buttons: Element = create("p")?;
    buttons.set_class_name("steps");
    for (name, label) in [("data-hear", says::PLAY), ("data-write", says::COPY_IT)] {
        let button: HtmlButtonElement = create("button")?;
        button.set_type("button");
        button.set_attribute(name, &index.to_string())?;
        button.set_text_content(Some(label));
        button.set_attribute("aria-label", &says::button_of_step(label, index + 1))?;
        buttons.append_child(&button)?;
    }
    for child in [says.unchecked_ref(), picture.unchecked_ref(), &buttons] {
        item.append_child(child)?;
    }
    Ok(item)
}

/// The steps to a figure of the catalogue or of the line, from the side that is chosen; with the line at their end, where it takes the figure.
pub(crate) fn ladder(piece: &Piece, figure: &Arc<Figure>, words: Dialect) -> Result<Told<Vec<LadderStep>>> {
    let side = chosen("side")?;
    Ok((|| {
        let side: Side = side.parse().map_err(|_| says::CHOOSE_A_START.to_string())?;
        let within = drill::ladder(figure, side, Some((piece.line(), piece.casting())));
        let steps =
            within.or_else(|_| drill::ladder(figure, side, None)).map_err(|error| error.to_string())?;
        // Written into a text, they keep the words that the reader has now.
        Ok(steps.into_iter().map(|step| step.in_words(words)).collect())
    })())
}
