//! Where the line could be recast: suggestions with their reasons, in the margin and at their half-bars.

use std::sync::Arc;

use halfbar_core::Piece;
use halfbar_core::advise::{self, Suggestion};
use halfbar_core::recast::{Casting, Figure};
use halfbar_core::time::Onset;
use halfbar_core::timed::Spelling;
use halfbar_words::harmony as says;
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlElement};

use halfbar_dom::form::{Told, chosen, say, sentence};
use halfbar_dom::{Result, by_id, create};
use halfbar_markup::capital;

/// The attribute of a button that takes a suggestion, with its index.
const TAKE: &str = "data-take";

/// The suggestions that are listed.
#[derive(Default)]
pub(super) struct Advice {
    suggestions: Vec<Suggestion>,
}

impl Advice {
    /// Asks for suggestions at the density that is chosen. Says why where there are none.
    pub(super) fn ask(
        &mut self,
        piece: &Piece,
        figure: &Arc<Figure>,
        spelling: Spelling,
    ) -> Result<Told<()>> {
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
    pub(super) fn take(&mut self, which: Option<usize>, mut casting: Casting) -> Option<Casting> {
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

    /// The line is another one: nothing is suggested for it.
    pub(super) fn forget(&mut self) {
        self.suggestions.clear();
    }

    /// Lists the suggestions.
    pub(super) fn show(&self) -> Result<()> {
        let list: Element = by_id("advice")?;
        list.set_inner_html("");
        by_id::<HtmlElement>("take-all")?.set_hidden(self.suggestions.len() < 2);
        for (index, suggestion) in self.suggestions.iter().enumerate() {
            let (item, button): (Element, HtmlElement) = (create("li")?, create("button")?);
            let reasons: Vec<String> = suggestion.reasons.iter().map(ToString::to_string).collect();
            let words = says::suggestion(suggestion.place.spoken(), &reasons);
            item.set_text_content(Some(&format!("{} ", capital(&words))));
            button.set_attribute("type", "button")?;
            button.set_attribute(TAKE, &index.to_string())?;
            button.set_text_content(Some(says::RECAST_IT));
            item.append_child(&button)?;
            list.append_child(&item)?;
        }
        if self.suggestions.is_empty() {
            say("advice-says", "")?;
        }
        Ok(())
    }
}

/// The suggestion whose button was pressed.
pub(super) fn taken(target: &EventTarget) -> Option<usize> {
    target.dyn_ref::<Element>()?.closest(&format!("[{TAKE}]")).ok()??.get_attribute(TAKE)?.parse().ok()
}
