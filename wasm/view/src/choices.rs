//! Which figure a tap gives, and in which spelling: radio buttons with the rhythms as they would be written.

use std::sync::Arc;

use halfbar_core::recast::{Casting, Figure, Spelling};
use halfbar_dom::markup::put;
use halfbar_dom::{Result, children, create};
use halfbar_markup as markup;
use halfbar_markup::spelling_for;
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlInputElement};

use crate::{Pictures, unworded};

/// The spelling that is wanted at first.
const USUAL: Spelling = Spelling::Bracket;

/// The choices in their two boxes.
pub struct Choices {
    root: Element,
    figures: Vec<FigureChoice>,
    spellings: Vec<(HtmlInputElement, Spelling)>,
    /// The figure that is chosen, by index.
    chosen: usize,
    /// The spelling that was asked for; a figure that lacks it takes its usual one.
    wanted: Spelling,
}

struct FigureChoice {
    figure: Arc<Figure>,
    label: Element,
    input: HtmlInputElement,
    /// Where its picture stands, and in which spelling.
    frame: Element,
    shown: Spelling,
}

impl Choices {
    /// Puts the choices into their boxes, unless they are there already; the first of each is chosen.
    ///
    /// # Errors
    /// None in practice.
    pub fn fill(figures: Element, spellings: &Element, pictures: &mut Pictures) -> Result<Choices> {
        if spellings.first_element_child().is_none() {
            put(&figures, &markup::figures(USUAL).map_err(unworded)?)?;
            put(spellings, &markup::spellings())?;
        }
        let labels = children(&figures).zip(Figure::all());
        let bound = labels.filter_map(|(label, figure)| FigureChoice::of(figure, label, USUAL)).collect();
        let inputs = children(spellings).filter_map(|label| label.first_element_child()?.dyn_into().ok());
        let spellings = inputs.zip(Spelling::ALL).collect();
        let mut choices = Choices { root: figures, figures: bound, spellings, chosen: 0, wanted: USUAL };
        // A reader may have chosen before.
        let chosen = choices.figures.iter().position(|choice| choice.input.checked());
        choices.chosen = chosen.unwrap_or(0);
        choices.show(pictures)?;
        Ok(choices)
    }

    fn add(&mut self, figure: &Arc<Figure>) -> Result<()> {
        let markup = markup::figure(figure, self.wanted, false).map_err(unworded)?;
        let around: Element = create("div")?;
        put(&around, &markup)?;
        let Some(label) = around.first_element_child() else { return Ok(()) };
        self.root.append_child(&label)?;
        self.figures.extend(FigureChoice::of(figure, label, self.wanted));
        Ok(())
    }

    /// Offers the figures of the user's own beside the catalogue, as the text has them now.
    ///
    /// # Errors
    /// An `Error` with `code` when one is beyond any notation.
    pub fn offer_own(&mut self, casting: &Casting, pictures: &mut Pictures) -> Result<()> {
        let catalogue = Figure::all().len();
        let offered = self.figures[catalogue..].iter().map(|choice| &choice.figure);
        if offered.eq(casting.own_figures()) {
            return Ok(());
        }
        let gone: Vec<FigureChoice> = self.figures.drain(catalogue..).collect();
        let chosen = gone.get(self.chosen.wrapping_sub(catalogue)).map(|choice| Arc::clone(&choice.figure));
        for choice in &gone {
            choice.label.remove();
            pictures.forget(choice.figure.name());
        }
        for figure in casting.own_figures() {
            self.add(figure)?;
        }
        if let Some(gone) = chosen {
            self.check(gone.name());
        }
        self.show(pictures)
    }

    /// Chooses a figure by its name, or the first one.
    fn check(&mut self, name: &str) {
        self.chosen = self.figures.iter().position(|choice| choice.figure.name() == name).unwrap_or(0);
        if let Some(choice) = self.figures.get(self.chosen) {
            choice.input.set_checked(true);
        }
    }

    /// Shows each figure as it would be written now, and which spellings the chosen one has.
    fn show(&mut self, pictures: &mut Pictures) -> Result<()> {
        for FigureChoice { figure, frame, shown, .. } in &mut self.figures {
            let spelling = spelling_for(figure, self.wanted);
            if std::mem::replace(shown, spelling) != spelling {
                put(frame, pictures.of(&Some((Arc::clone(figure), spelling)))?)?;
            }
        }
        let chosen = self.figure();
        for (input, spelling) in &self.spellings {
            input.set_disabled(!chosen.spellings().contains(spelling));
            input.set_checked(*spelling == self.spelling());
        }
        Ok(())
    }

    /// A choice was made, of a figure or of a spelling.
    ///
    /// # Errors
    /// None in practice.
    pub fn changed(&mut self, target: Option<EventTarget>, pictures: &mut Pictures) -> Result<()> {
        let is_target = |input: &HtmlInputElement| target.as_ref() == Some(input.as_ref());
        if let Some((_, spelling)) = self.spellings.iter().find(|(input, _)| is_target(input)) {
            self.wanted = *spelling;
        }
        let figure = self.figures.iter().position(|choice| is_target(&choice.input));
        self.chosen = figure.unwrap_or(self.chosen);
        self.show(pictures)
    }

    /// Chooses for the reader.
    ///
    /// # Errors
    /// None in practice.
    pub fn choose(&mut self, figure: &Figure, wanted: Spelling, pictures: &mut Pictures) -> Result<()> {
        if self.figures.iter().any(|choice| choice.figure.name() == figure.name()) {
            self.check(figure.name());
        }
        self.wanted = wanted;
        self.show(pictures)
    }

    /// The chosen figure.
    pub fn figure(&self) -> &Arc<Figure> {
        self.figures.get(self.chosen).map_or(&Figure::all()[0], |choice| &choice.figure)
    }

    /// The spelling that the chosen figure takes.
    pub fn spelling(&self) -> Spelling {
        spelling_for(self.figure(), self.wanted)
    }

    /// The spelling that was asked for, whether the chosen figure has it or not.
    pub fn wanted(&self) -> Spelling {
        self.wanted
    }
}

impl FigureChoice {
    /// A figure with the label that it is chosen by.
    fn of(figure: &Arc<Figure>, label: Element, wanted: Spelling) -> Option<FigureChoice> {
        let input = label.first_element_child()?;
        let frame = input.next_element_sibling()?;
        let (figure, shown) = (Arc::clone(figure), spelling_for(figure, wanted));
        Some(FigureChoice { figure, label, input: input.dyn_into().ok()?, frame, shown })
    }
}
