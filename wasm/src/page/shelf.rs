//! The shelf: which figure a tap gives, in which spelling, and where pads stand.

use std::sync::Arc;

use halfbar_core::Piece;
use halfbar_core::engrave::{View, picture};
use halfbar_core::recast::{self, Casting, Figure, Grid, Offer, Spelling, Window};
use halfbar_core::scene::{Group, Scene};
use halfbar_core::time::Onset;
use halfbar_core::write;
use wasm_bindgen::prelude::*;
use web_sys::{Element, EventTarget, HtmlElement, HtmlInputElement, HtmlSelectElement};

use crate::piece::thrown;
use halfbar_dom::{Result, by_id, create};

/// The choices and their pictures.
pub(super) struct Shelf {
    figures: Vec<FigureChoice>,
    spellings: Vec<(HtmlInputElement, Spelling)>,
    /// The spelling that was asked for; a figure that lacks it takes its usual one.
    wanted: Spelling,
    every_eighth: HtmlInputElement,
    /// What to do with other numbers of notes.
    fit: HtmlSelectElement,
    view: HtmlSelectElement,
    fingers: HtmlInputElement,
    /// The picture of every figure in every spelling, and of the plain half-bar.
    pictures: Vec<Picture>,
}

struct FigureChoice {
    figure: Arc<Figure>,
    label: HtmlElement,
    input: HtmlInputElement,
    /// Where its picture stands.
    frame: Element,
}

/// A rhythm and how it is drawn.
struct Picture {
    rhythm: Rhythm,
    scene: Scene,
    svg: String,
}

/// A figure in a spelling; `None` is the plain half-bar.
pub(super) type Rhythm = Option<(Arc<Figure>, Spelling)>;

/// What a spelling is called where there is room for words.
pub(super) fn spoken(spelling: Spelling) -> &'static str {
    match spelling {
        Spelling::Bracket => "under one bracket",
        Spelling::Tied => "beat by beat, tied",
        Spelling::Plain => "as it falls",
        Spelling::Grouped => "beamed by the group",
    }
}

/// A rhythm in words.
pub(super) fn named(figure: &Figure, spelling: Spelling) -> String {
    match figure.spellings() {
        [_] => figure.name().into(),
        _ => format!("{}, {}", figure.name(), spoken(spelling)),
    }
}

impl Shelf {
    /// Puts the choices into the page; the first of each is chosen.
    pub(super) fn fill() -> Result<Shelf> {
        let spellings_box: Element = by_id("spellings")?;
        let mut spellings = Vec::new();
        for (index, spelling) in Spelling::ALL.into_iter().enumerate() {
            let (input, label) = choice("spelling", spelling.name(), index == 0)?;
            words(&label, spoken(spelling))?;
            spellings_box.append_child(&label)?;
            spellings.push((input, spelling));
        }
        let (every_eighth, fit, view) = (by_id("eighths")?, by_id("fit")?, by_id("view")?);
        let fingers = by_id("fingers")?;
        let (wanted, pictures) = (Spelling::Bracket, vec![Picture::of(None)?]);
        let mut shelf =
            Shelf { figures: Vec::new(), spellings, wanted, every_eighth, fit, view, fingers, pictures };
        for figure in Figure::all() {
            shelf.add(figure)?;
        }
        if let Some(first) = shelf.figures.first() {
            first.input.set_checked(true);
        }
        shelf.choose();
        by_id::<HtmlElement>("shelf")?.set_hidden(false);
        Ok(shelf)
    }

    fn add(&mut self, figure: &Arc<Figure>) -> Result<()> {
        for &spelling in figure.spellings() {
            self.pictures.push(Picture::of(Some((Arc::clone(figure), spelling)))?);
        }
        let (input, label) = choice("figure", figure.name(), false)?;
        let frame: Element = create("span")?;
        frame.set_class_name("picture");
        frame.set_attribute("aria-hidden", "true")?;
        label.append_child(&frame)?;
        words(&label, figure.name())?;
        label.set_title(if figure.says().is_empty() { "a figure of your own" } else { figure.says() });
        by_id::<Element>("figures")?.append_child(&label)?;
        self.figures.push(FigureChoice { figure: Arc::clone(figure), label, input, frame });
        Ok(())
    }

    /// Offers the figures of the user's own beside the catalogue, as the text has them now.
    pub(super) fn offer_own(&mut self, casting: &Casting) -> Result<()> {
        let catalogue = Figure::all().len();
        let offered = self.figures[catalogue..].iter().map(|choice| &choice.figure);
        if offered.eq(casting.own_figures()) {
            return Ok(());
        }
        let gone: Vec<FigureChoice> = self.figures.drain(catalogue..).collect();
        let chosen =
            gone.iter().find(|choice| choice.input.checked()).map(|choice| choice.figure.name().to_string());
        for choice in &gone {
            choice.label.remove();
            let name = choice.figure.name();
            self.pictures
                .retain(|picture| picture.rhythm.as_ref().is_none_or(|(figure, _)| figure.name() != name));
        }
        for figure in casting.own_figures() {
            self.add(figure)?;
        }
        let again = self.figures.iter().find(|choice| Some(choice.figure.name()) == chosen.as_deref());
        if let Some(choice) = again.or(self.figures.first()).filter(|_| chosen.is_some()) {
            choice.input.set_checked(true);
        }
        self.choose();
        Ok(())
    }

    /// Shows each figure as it would be written now, and which spellings the chosen one has.
    pub(super) fn choose(&self) {
        for FigureChoice { figure, frame, .. } in &self.figures {
            frame.set_inner_html(self.picture(&Some((Arc::clone(figure), self.spelling_of(figure)))));
        }
        let chosen = self.figure();
        for (input, spelling) in &self.spellings {
            input.set_disabled(!chosen.spellings().contains(spelling));
            input.set_checked(*spelling == self.spelling_of(chosen));
        }
    }

    /// A choice was made, of a figure or of a spelling.
    pub(super) fn changed(&mut self, target: Option<EventTarget>) {
        let is_target = |input: &HtmlInputElement| target.as_ref() == Some(input.as_ref());
        if let Some((_, spelling)) = self.spellings.iter().find(|(input, _)| is_target(input)) {
            self.wanted = *spelling;
        }
        self.choose();
    }

    fn figure(&self) -> &Arc<Figure> {
        let chosen = self.figures.iter().find(|choice| choice.input.checked());
        chosen.map_or(&Figure::all()[0], |choice| &choice.figure)
    }

    /// The chosen spelling, or, for a figure that lacks it, its usual one.
    fn spelling_of(&self, figure: &Figure) -> Spelling {
        let has_it = figure.spellings().contains(&self.wanted);
        if has_it { self.wanted } else { figure.spellings()[0] }
    }

    /// The window that a tap at `start` asks for.
    pub(super) fn window(&self, start: Onset) -> Window {
        let figure = self.figure();
        let fit = self.fit.value().parse().unwrap_or_default();
        Window { fit, ..Window::new(start, Arc::clone(figure), self.spelling_of(figure)) }
    }

    /// What each system shows, and whether fingers stand under it.
    pub(super) fn view(&self) -> (View, bool) {
        (self.view.value().parse().unwrap_or_default(), self.fingers.checked())
    }

    /// What a tap may do, place by place.
    pub(super) fn offers(&self, piece: &Piece) -> Result<Vec<Offer>> {
        let grid = if self.every_eighth.checked() { Grid::Eighths } else { Grid::Groups };
        recast::offers(&piece.line, &piece.casting, grid, &self.window(Onset::ZERO)).map_err(thrown)
    }

    /// The picture of a window's rhythm, as SVG.
    pub(super) fn picture(&self, rhythm: &Rhythm) -> &str {
        self.pictures.iter().find(|picture| picture.rhythm == *rhythm).map_or("", |picture| &picture.svg)
    }

    /// All that is drawn in the pictures: the page defines its outlines.
    pub(super) fn groups(&self) -> impl Iterator<Item = &Group> {
        self.pictures.iter().flat_map(|picture| picture.scene.groups())
    }
}

impl Picture {
    fn of(rhythm: Rhythm) -> Result<Picture> {
        let scene = picture(rhythm.as_ref().map(|(figure, spelling)| (figure, *spelling))).map_err(thrown)?;
        let svg = scene.systems.first().map(|system| write::svg::system(&scene, system)).unwrap_or_default();
        Ok(Picture { rhythm, scene, svg })
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
