//! The small steps that lead to the figure on the shelf: each can be heard, and written into the text.

use halfbar_core::drill::{self, LadderStep, Side, StepKind};
use halfbar_core::{Piece, write};
use halfbar_dom::form::{Told, chosen, say, sentence};
use halfbar_dom::{Result, by_id, create, document, focused, hand_on_focus, on};
use halfbar_words::desk as says;
use js_sys::Function;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{Element, HtmlButtonElement, HtmlElement, HtmlInputElement};

use super::{Practice, Shared, controls};

/// The width of a step's picture, in staff spaces.
const WIDTH: f64 = 60.0;

pub(super) struct Steps {
    draw: Function,
    list: Element,
    /// The steps that are shown, with the figure and side that they are for.
    shown: Vec<LadderStep>,
    of: (String, String),
    /// The step that is heard in place of the line.
    heard: Option<usize>,
}

impl Steps {
    pub(super) fn new(draw: Function) -> Result<Steps> {
        let of = (String::new(), String::new());
        Ok(Steps { draw, list: by_id("steps")?, shown: Vec::new(), of, heard: None })
    }

    /// Whether a step is heard, and not the line.
    pub(super) fn is_heard(&self) -> bool {
        self.heard.is_some()
    }

    pub(super) fn forget_heard(&mut self) {
        self.heard = None;
    }
}

pub(super) fn listen(practice: &Shared) -> Result<()> {
    let root: Element = by_id("ladder")?;
    on(practice, &root, "toggle", |practice, _| practice.show_ladder())?;
    on(practice, &root, "change", |practice, _| practice.show_ladder())?;
    for elsewhere in ["shelf", "lengths"] {
        let elsewhere: Element = by_id(elsewhere)?;
        on(practice, &elsewhere, "change", |practice, _| practice.show_ladder())?;
    }
    on(practice, &root, "click", |practice, event| {
        let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let Some(button) = target.and_then(|target| target.closest("button").ok()?) else { return Ok(()) };
        let step = |name: &str| button.get_attribute(name).and_then(|number| number.parse().ok());
        match (step("data-hear"), step("data-write")) {
            (Some(step), _) => practice.hear_step(step),
            (_, Some(step)) => practice.write_step(step),
            _ => Ok(()),
        }
    })
}

impl Practice {
    pub(super) fn show_ladder(&mut self) -> Result<()> {
        if !by_id::<Element>("ladder")?.has_attribute("open") {
            return Ok(());
        }
        let Some(name) = on_the_shelf()? else { return Ok(()) };
        let of = (name.clone(), chosen("side")?);
        let steps = {
            let mut lesson = self.lesson.borrow_mut();
            lesson.read();
            lesson.piece().map_or(Ok(Vec::new()), |piece| ladder(piece, &name, &of.1))
        };
        let steps = match steps {
            Ok(steps) => steps,
            Err(why) => {
                self.steps.list.set_inner_html("");
                return say("ladder-says", &sentence(&why));
            }
        };
        say("ladder-says", "")?;
        if steps == self.steps.shown && of == self.steps.of {
            return Ok(());
        }
        let had = focused()?;
        self.steps.list.set_inner_html("");
        for (index, step) in steps.iter().enumerate() {
            let item = self.item(index, step)?;
            self.steps.list.append_child(&item)?;
        }
        (self.steps.shown, self.steps.of) = (steps, of);
        let step =
            had.as_ref().and_then(|had| had.get_attribute("data-write").or(had.get_attribute("data-hear")));
        let step = format!("#steps [data-write=\"{}\"]", step.unwrap_or_default());
        hand_on_focus(had.as_ref(), &[&step, "#side"])
    }

    /// A step in the list: what to do, its music, and what can be done with it.
    fn item(&self, index: usize, step: &LadderStep) -> Result<Element> {
        let item: Element = create("li")?;
        let says: HtmlElement = create("p")?;
        says.set_text_content(Some(&format!("{}.", step.says)));
        let picture: HtmlElement = create("div")?;
        picture.set_class_name("step");
        // The reader's own line is on the page already.
        if step.kind != StepKind::Line
            && let Ok(text) = write::text::line(&step.line, &step.casting)
        {
            let drawn = self.steps.draw.call3(&JsValue::NULL, &text.into(), &WIDTH.into(), &false.into())?;
            picture.set_inner_html(&drawn.as_string().unwrap_or_default());
        }
        let buttons: Element = create("p")?;
        buttons.set_class_name("steps");
        for (name, label) in [("data-hear", says::HEAR_IT), ("data-write", says::WRITE_IT)] {
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

    fn hear_step(&mut self, index: usize) -> Result<()> {
        if self.steps.heard == Some(index) && self.player.is_some() {
            return self.stop();
        }
        let Some(step) = self.steps.shown.get(index) else { return Ok(()) };
        let piece = Piece::new(step.line.clone(), step.casting.clone()).map_err(|error| error.to_string());
        let plan = match piece {
            Ok(piece) => controls::plan_of(piece)?,
            Err(why) => Err(why),
        };
        match plan {
            Ok(plan) => {
                self.stop()?;
                self.play(plan)?;
                self.steps.heard = Some(index);
                Ok(())
            }
            Err(why) => say("ladder-says", &sentence(&why)),
        }
    }

    fn write_step(&mut self, index: usize) -> Result<()> {
        let Some(step) = self.steps.shown.get(index) else { return Ok(()) };
        match write::text::line(&step.line, &step.casting) {
            Ok(text) => {
                self.lesson.borrow_mut().write(&text)?;
                say("ladder-says", says::STEP_WRITTEN)?;
                self.show_line()?;
                self.replan()
            }
            Err(why) => say("ladder-says", &sentence(&why.to_string())),
        }
    }
}

/// The name of the figure that is chosen on the shelf.
fn on_the_shelf() -> Result<Option<String>> {
    let figure = document()?.query_selector("#figures input:checked")?;
    Ok(figure.and_then(|input| input.dyn_into().ok()).map(|input: HtmlInputElement| input.value()))
}

/// The steps to the figure on the shelf, from the side that is chosen.
pub(crate) fn steps_of(piece: &Piece) -> Result<Told<Vec<LadderStep>>> {
    Ok(ladder(piece, &on_the_shelf()?.unwrap_or_default(), &chosen("side")?))
}

/// The steps to a figure of the catalogue or of the line; with the line at their end, where it takes the figure.
fn ladder(piece: &Piece, name: &str, side: &str) -> Told<Vec<LadderStep>> {
    let figure = piece.casting().figure(name).ok_or(says::CHOOSE_A_FIGURE)?;
    let side: Side = side.parse().map_err(|_| says::CHOOSE_A_START.to_string())?;
    let within = drill::ladder(&figure, side, Some((piece.line(), piece.casting())));
    let steps = within.or_else(|_| drill::ladder(&figure, side, None)).map_err(|error| error.to_string())?;
    // Written into a text, they keep the words that the reader has now.
    let words = chosen("lengths").ok().and_then(|words| words.parse().ok()).unwrap_or_default();
    Ok(steps.into_iter().map(|step| step.in_words(words)).collect())
}
