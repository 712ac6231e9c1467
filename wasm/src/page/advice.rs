//! Where the line could be recast: suggestions with their reasons, in the margin and at their half-bars.

use std::sync::Arc;

use halfbar_core::Piece;
use halfbar_core::advise::{self, Reason, Suggestion};
use halfbar_core::recast::{Casting, Figure};
use halfbar_core::time::Onset;
use halfbar_core::timed::Spelling;
use halfbar_words::harmony as says;
use halfbar_words::shared::{TEXT_HAS_A_MISTAKE, seen};
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlElement};

use super::Page;
use super::history::By;
use halfbar_dom::form::{Told, chosen, say, sentence};
use halfbar_dom::{Result, by_id, create, focused, hand_on_focus};
use halfbar_markup::capital;

/// The attribute of a button that takes a suggestion, with its index.
const TAKE: &str = "data-take";

/// The suggestions that are listed.
#[derive(Default)]
pub(super) struct Advice {
    /// Whether suggestions were asked for and not given up since.
    asked: bool,
    suggestions: Vec<Suggestion>,
}

impl Advice {
    /// Asks for suggestions at the density that is chosen. Says why where there are none.
    fn ask(&mut self, piece: &Piece, figure: &Arc<Figure>, spelling: Spelling) -> Result<Told<()>> {
        self.asked = true;
        let density = chosen("density")?.parse().unwrap_or_default();
        let found = advise::advise(piece.line(), piece.casting(), figure, Some(spelling), density);
        let found = match found {
            // Where the chosen notation fits nowhere, another one may.
            Err(_) => advise::advise(piece.line(), piece.casting(), figure, None, density),
            found => found,
        };
        Ok(match found {
            Ok(suggestions) => {
                self.suggestions = suggestions;
                Ok(())
            }
            Err(why) => Err(sentence(&why.to_string())),
        })
    }

    /// Where the suggested half-bars start.
    pub(super) fn starts(&self) -> Vec<Onset> {
        self.suggestions.iter().map(|suggestion| suggestion.window.start).collect()
    }

    /// The casting with one suggestion taken, or with all. It is no longer listed.
    fn take(&mut self, which: Option<usize>, mut casting: Casting) -> Option<Casting> {
        let taken: Vec<Suggestion> = match which {
            Some(index) if index < self.suggestions.len() => vec![self.suggestions.remove(index)],
            Some(_) => Vec::new(),
            None => std::mem::take(&mut self.suggestions),
        };
        let any = !taken.is_empty();
        for suggestion in taken {
            casting.put(suggestion.window);
        }
        any.then_some(casting)
    }

    /// Gives up suggestions whose half-bars are recast now, by whatever way.
    pub(super) fn follow(&mut self, casting: &Casting) {
        self.suggestions.retain(|suggestion| !casting.overlaps(&suggestion.window));
    }

    /// Whether suggestions were asked for and should follow what changes.
    pub(super) fn is_asked(&self) -> bool {
        self.asked
    }

    /// The line is another one: nothing is suggested for it.
    pub(super) fn forget(&mut self) {
        *self = Advice::default();
    }

    /// Lists the suggestions.
    pub(super) fn show(&self) -> Result<()> {
        let list: Element = by_id("advice")?;
        list.set_inner_html("");
        by_id::<HtmlElement>("take-all")?.set_hidden(self.suggestions.len() < 2);
        for (index, suggestion) in self.suggestions.iter().enumerate() {
            let (item, button): (Element, HtmlElement) = (create("li")?, create("button")?);
            let (reasons, against): (Vec<&Reason>, Vec<&Reason>) =
                suggestion.reasons.iter().partition(|reason| reason.weight() > 0);
            let [reasons, against] =
                [reasons, against].map(|some| some.iter().map(ToString::to_string).collect::<Vec<_>>());
            let words = says::suggestion(suggestion.place.spoken(), &reasons, &against);
            item.set_text_content(Some(&format!("{} ", capital(&words))));
            button.set_attribute("type", "button")?;
            button.set_attribute(TAKE, &index.to_string())?;
            button.set_text_content(Some(says::RECAST_IT));
            item.append_child(&button)?;
            list.append_child(&item)?;
        }
        match self.suggestions.len() {
            0 => say("advice-says", ""),
            count => say("advice-says", &says::suggested(count)),
        }
    }
}

impl Page {
    /// Suggests where to recast the line in the chosen figure, and has the first place in view.
    pub(super) fn suggest(&mut self) -> Result<()> {
        self.advise()?;
        self.advice.starts().first().map_or(Ok(()), |first| self.sheet.reveal(*first))
    }

    /// Suggests again where that was asked for before, now that something else is chosen.
    pub(super) fn suggest_again(&mut self) -> Result<()> {
        if self.advice.is_asked() { self.advise() } else { Ok(()) }
    }

    pub(super) fn advise(&mut self) -> Result<()> {
        let window = self.shelf.window(Onset::ZERO);
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else {
            return say("advice-says", &sentence(TEXT_HAS_A_MISTAKE));
        };
        self.advice.forget();
        let told = self.advice.ask(piece, &window.figure, window.spelling)?;
        self.advice.show()?;
        self.sheet.suggest(&self.advice.starts())?;
        told.or_else(|why| say("advice-says", &seen(&why)))
    }

    /// Takes a suggestion, or all of them, as one step.
    pub(super) fn take_advice(&mut self, which: Option<usize>) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        let before = piece.casting().windows().len();
        let place = which.and_then(|index| self.advice.starts().get(index).copied());
        let Some(casting) = self.advice.take(which, piece.casting().clone()) else { return Ok(()) };
        let count = casting.windows().len().saturating_sub(before);
        let had = focused()?;
        self.recast(casting, By::Tap)?;
        self.say(&says::taken(count));
        place.map_or(Ok(()), |place| self.sheet.reveal(place))?;
        // The button went with its suggestion.
        hand_on_focus(had.as_ref(), &["#advice button", "#suggest"])
    }
}

/// The suggestion whose button was pressed.
pub(super) fn taken(target: &EventTarget) -> Option<usize> {
    target.dyn_ref::<Element>()?.closest(&format!("[{TAKE}]")).ok()??.get_attribute(TAKE)?.parse().ok()
}
