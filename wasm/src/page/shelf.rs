//! The shelf: which figure a tap gives, in which spelling, where pads stand, and how the music is shown.

use std::sync::Arc;

use halfbar_core::Piece;
use halfbar_core::dialect::Dialect;
use halfbar_core::engrave::View;
use halfbar_core::line::Heading;
use halfbar_core::recast::{self, Casting, Figure, Grid, Spelling, Window};
use halfbar_core::score::Annotations;
use halfbar_core::time::Onset;
use halfbar_dom::form::say;
use halfbar_dom::{Result, by_id, thrown};
use halfbar_markup::{Look, capital};
use halfbar_view::{Choices, Pictures};
use web_sys::{EventTarget, HtmlInputElement, HtmlSelectElement};

/// The choices and their pictures.
pub(super) struct Shelf {
    choices: Choices,
    pub(super) pictures: Pictures,
    every_eighth: HtmlInputElement,
    /// What to do with other numbers of notes.
    fit: HtmlSelectElement,
    view: HtmlSelectElement,
    fingers: HtmlInputElement,
    chord_tones: HtmlInputElement,
}

impl Shelf {
    /// The choices of the page; the first of each is chosen.
    pub(super) fn new() -> Result<Shelf> {
        let mut pictures = Pictures::default();
        let choices = Choices::fill(by_id("figures")?, &by_id("spellings")?, &mut pictures)?;
        let (every_eighth, fit, view) = (by_id("eighths")?, by_id("fit")?, by_id("view")?);
        let (fingers, chord_tones) = (by_id("fingers")?, by_id("chord-tones")?);
        let shelf = Shelf { choices, pictures, every_eighth, fit, view, fingers, chord_tones };
        shelf.name()?;
        Ok(shelf)
    }

    /// Whether the music is to be shown as the page came.
    pub(super) fn is_first(&self) -> bool {
        self.view(&Heading::default()) == Default::default() && !self.every_eighth.checked()
    }

    /// Offers the figures of the user's own beside the catalogue, as the text has them now.
    pub(super) fn offer_own(&mut self, casting: &Casting) -> Result<()> {
        self.choices.offer_own(casting, &mut self.pictures)
    }

    /// A choice was made, of a figure or of a spelling.
    pub(super) fn changed(&mut self, target: Option<EventTarget>) -> Result<()> {
        self.choices.changed(target, &mut self.pictures)?;
        self.name()
    }

    /// Chooses the figure at this index, if there is one.
    pub(super) fn take_figure(&mut self, index: usize) -> Result<()> {
        let wanted = self.choices.wanted();
        if let Some(figure) = Figure::all().get(index) {
            self.choices.choose(figure, wanted, &mut self.pictures)?;
        }
        self.name()
    }

    /// Chooses a spelling.
    pub(super) fn take_spelling(&mut self, spelling: Spelling) -> Result<()> {
        let figure = Arc::clone(self.figure());
        self.choices.choose(&figure, spelling, &mut self.pictures)
    }

    /// Names the figure that is chosen: there are only pictures of the others.
    fn name(&self) -> Result<()> {
        let name = self.figure().label();
        say("figure-name", &capital(if name.is_empty() { self.figure().name() } else { name }))
    }

    /// The figure that is chosen.
    pub(super) fn figure(&self) -> &Arc<Figure> {
        self.choices.figure()
    }

    /// The window that a tap at `start` asks for.
    pub(super) fn window(&self, start: Onset) -> Window {
        let fit = self.fit.value().parse().unwrap_or_default();
        Window { fit, ..Window::new(start, Arc::clone(self.choices.figure()), self.choices.spelling()) }
    }

    /// What each system shows, and what is added to the notes.
    pub(super) fn view(&self, heading: &Heading) -> (View, Annotations) {
        let (fingers, chord_tones) = (self.fingers.checked(), self.chord_tones.checked());
        let added = Annotations { fingers, chord_tones, ..Annotations::of(heading) };
        (self.view.value().parse().unwrap_or_default(), added)
    }

    /// How the music is drawn, and what a tap may do, place by place.
    pub(super) fn look(&self, piece: &Piece, words: Dialect) -> Result<Look> {
        let grid = if self.every_eighth.checked() { Grid::Eighths } else { Grid::Groups };
        let offers = recast::offers(piece.line(), piece.casting(), grid, &self.window(Onset::ZERO));
        let (view, annotations) = self.view(piece.line().heading());
        // The rings are around heads.
        self.chord_tones.set_disabled(!view.has_staff());
        Ok(Look { view, annotations, words, width: None, offers: Some(offers.map_err(thrown)?) })
    }
}
