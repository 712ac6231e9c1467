//! The shelf: which figure a tap gives, and in which spelling.

use halfbar_core::engrave::picture;
use halfbar_core::recast::{Figure, Spelling, Window};
use halfbar_core::scene::{Group, Scene};
use halfbar_core::time::Onset;
use halfbar_core::write;
use wasm_bindgen::prelude::*;
use web_sys::{Element, HtmlElement, HtmlInputElement};

use super::dom::{Result, by_id, create};
use crate::piece::thrown;

/// The choices and their pictures.
pub(super) struct Shelf {
    figures: Vec<(HtmlInputElement, &'static Figure)>,
    spellings: Vec<(HtmlInputElement, Spelling)>,
    /// The place in each figure's label where its picture stands.
    frames: Vec<Element>,
    /// The picture of every figure in every spelling, and of the plain half-bar.
    pictures: Vec<Picture>,
}

/// A rhythm and how it is drawn.
struct Picture {
    rhythm: Rhythm,
    scene: Scene,
    svg: String,
}

/// A figure in a spelling; `None` is the plain half-bar.
pub(super) type Rhythm = Option<(&'static Figure, Spelling)>;

/// What a spelling is called where there is room for words.
pub(super) fn spoken(spelling: Spelling) -> &'static str {
    match spelling {
        Spelling::Bracket => "under one bracket",
        Spelling::Tied => "beat by beat, tied",
    }
}

impl Shelf {
    /// Puts the choices into the page; the first of each is chosen.
    pub(super) fn fill() -> Result<Shelf> {
        let mut rhythms = vec![None];
        for figure in Figure::all() {
            rhythms.extend(Spelling::ALL.map(|spelling| Some((figure, spelling))));
        }
        let pictures: Result<Vec<_>> = rhythms
            .into_iter()
            .map(|rhythm| {
                let scene = picture(rhythm).map_err(thrown)?;
                let svg = scene.systems.first().map(|system| write::svg::system(&scene, system));
                Ok(Picture { rhythm, svg: svg.unwrap_or_default(), scene })
            })
            .collect();

        let figures_box: Element = by_id("figures")?;
        let (mut figures, mut frames) = (Vec::new(), Vec::new());
        for (index, figure) in Figure::all().iter().enumerate() {
            let (input, label) = choice("figure", figure.name, index == 0)?;
            let frame: Element = create("span")?;
            frame.set_class_name("picture");
            frame.set_attribute("aria-hidden", "true")?;
            label.append_child(&frame)?;
            words(&label, figure.name)?;
            label.set_title(figure.says);
            figures_box.append_child(&label)?;
            figures.push((input, figure));
            frames.push(frame);
        }
        let spellings_box: Element = by_id("spellings")?;
        let mut spellings = Vec::new();
        for (index, spelling) in Spelling::ALL.into_iter().enumerate() {
            let (input, label) = choice("spelling", spelling.name(), index == 0)?;
            words(&label, spoken(spelling))?;
            spellings_box.append_child(&label)?;
            spellings.push((input, spelling));
        }
        let mut shelf = Shelf { figures, spellings, frames, pictures: pictures? };
        shelf.choose();
        by_id::<HtmlElement>("shelf")?.set_hidden(false);
        Ok(shelf)
    }

    /// Shows each figure in the spelling that is chosen now.
    pub(super) fn choose(&mut self) {
        let spelling = self.spelling();
        for ((_, figure), frame) in self.figures.iter().zip(&self.frames) {
            frame.set_inner_html(self.picture(Some((figure, spelling))));
        }
    }

    fn spelling(&self) -> Spelling {
        self.spellings
            .iter()
            .find(|(input, _)| input.checked())
            .map_or(Spelling::default(), |(_, spelling)| *spelling)
    }

    /// The window that a tap at `start` asks for.
    pub(super) fn window(&self, start: Onset) -> Window {
        let chosen = self.figures.iter().find(|(input, _)| input.checked());
        let figure = chosen.map_or(&Figure::all()[0], |(_, figure)| figure);
        Window { start, figure, spelling: self.spelling() }
    }

    /// The picture of a window's rhythm, as SVG.
    pub(super) fn picture(&self, rhythm: Rhythm) -> &str {
        self.pictures.iter().find(|picture| picture.rhythm == rhythm).map_or("", |picture| &picture.svg)
    }

    /// All that is drawn in the pictures: the page defines its outlines.
    pub(super) fn groups(&self) -> impl Iterator<Item = &Group> {
        self.pictures.iter().flat_map(|picture| picture.scene.groups())
    }
}

/// A radio button inside its label.
fn choice(name: &str, value: &str, checked: bool) -> Result<(HtmlInputElement, HtmlElement)> {
    let label: HtmlElement = create("label")?;
    let input: HtmlInputElement = create("input")?;
    input.set_type("radio");
    input.set_name(name);
    input.set_value(value);
    input.set_checked(checked);
    label.append_child(&input)?;
    Ok((input, label))
}

fn words(label: &HtmlElement, text: &str) -> std::result::Result<(), JsValue> {
    let words: Element = create("span")?;
    words.set_text_content(Some(text));
    label.append_child(&words)?;
    Ok(())
}
