//! Which figure a tap gives, and in which spelling: radio buttons with the rhythms as they would be written.

use halfbar_words::view as says;
use std::sync::Arc;

use halfbar_core::recast::{Casting, Figure, Spelling};
use halfbar_dom::{Result, create};
use web_sys::{Element, EventTarget, HtmlElement, HtmlInputElement};

use crate::{Pictures, spoken};

/// The choices in their two boxes.
pub struct Choices {
    root: Element,
    figures: Vec<FigureChoice>,
    spellings: Vec<(HtmlInputElement, Spelling)>,
    /// The spelling that was asked for; a figure that lacks it takes its usual one.
    wanted: Spelling,
}

struct FigureChoice {
    figure: Arc<Figure>,
    label: HtmlElement,
    input: HtmlInputElement,
    /// Where its picture stands.
    frame: Element,
}

/// The spelling that is wanted, or, for a figure that lacks it, its usual one.
pub fn spelling_for(figure: &Figure, wanted: Spelling) -> Spelling {
    if figure.spellings().contains(&wanted) { wanted } else { figure.spellings()[0] }
}

impl Choices {
    /// Puts the choices into their boxes; the first of each is chosen.
    ///
    /// # Errors
    /// None in practice.
    pub fn fill(figures: Element, spellings: &Element, pictures: &mut Pictures) -> Result<Choices> {
        let mut inputs = Vec::new();
        for (index, spelling) in Spelling::ALL.into_iter().enumerate() {
            let (input, label) = choice("spelling", spelling.name(), index == 0)?;
            words(&label, spoken(spelling))?;
            spellings.append_child(&label)?;
            inputs.push((input, spelling));
        }
        let wanted = Spelling::Bracket;
        let mut choices = Choices { root: figures, figures: Vec::new(), spellings: inputs, wanted };
        for figure in Figure::all() {
            choices.add(figure)?;
        }
        if let Some(first) = choices.figures.first() {
            first.input.set_checked(true);
        }
        choices.show(pictures)?;
        Ok(choices)
    }

    fn add(&mut self, figure: &Arc<Figure>) -> Result<()> {
        let (input, label) = choice("figure", figure.name(), false)?;
        let frame: Element = create("span")?;
        frame.set_class_name("picture");
        frame.set_attribute("aria-hidden", "true")?;
        label.append_child(&frame)?;
        match figure.label() {
            "" => {
                words(&label, figure.name())?.set_attribute("translate", "no")?;
                label.set_title(says::OWN_FIGURE);
            }
            phrase => {
                words(&label, phrase)?;
                label.set_title(figure.says());
            }
        }
        self.root.append_child(&label)?;
        self.figures.push(FigureChoice { figure: Arc::clone(figure), label, input, frame });
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
        let chosen =
            gone.iter().find(|choice| choice.input.checked()).map(|choice| choice.figure.name().to_string());
        for choice in &gone {
            choice.label.remove();
            pictures.forget(choice.figure.name());
        }
        for figure in casting.own_figures() {
            self.add(figure)?;
        }
        let again = self.figures.iter().find(|choice| Some(choice.figure.name()) == chosen.as_deref());
        if let Some(choice) = again.or(self.figures.first()).filter(|_| chosen.is_some()) {
            choice.input.set_checked(true);
        }
        self.show(pictures)
    }

    /// Shows each figure as it would be written now, and which spellings the chosen one has.
    fn show(&self, pictures: &mut Pictures) -> Result<()> {
        for FigureChoice { figure, frame, .. } in &self.figures {
            let rhythm = Some((Arc::clone(figure), spelling_for(figure, self.wanted)));
            frame.set_inner_html(pictures.of(&rhythm)?);
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
        self.show(pictures)
    }

    /// Chooses for the reader.
    ///
    /// # Errors
    /// None in practice.
    pub fn choose(&mut self, figure: &Figure, wanted: Spelling, pictures: &mut Pictures) -> Result<()> {
        if let Some(choice) = self.figures.iter().find(|choice| choice.figure.name() == figure.name()) {
            choice.input.set_checked(true);
        }
        self.wanted = wanted;
        self.show(pictures)
    }

    /// The chosen figure.
    pub fn figure(&self) -> &Arc<Figure> {
        let chosen = self.figures.iter().find(|choice| choice.input.checked());
        chosen.map_or(&Figure::all()[0], |choice| &choice.figure)
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

fn words(label: &HtmlElement, text: &str) -> Result<Element> {
    let words: Element = create("span")?;
    words.set_text_content(Some(text));
    label.append_child(&words)?;
    Ok(words)
}
