//! What is in the line: its names in the margin, with reasons and other readings.

use std::sync::Arc;

use halfbar_core::harmony::{self, NameSign, Names};
use halfbar_core::line::{Call, Degrees, Line, NoteId};
use halfbar_core::time::Span;
use halfbar_core::{Piece, write};
use halfbar_words::harmony as says;
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlElement, HtmlInputElement, HtmlSelectElement};

use super::Page;
use crate::parts::Part;
use halfbar_dom::form::{chosen, entered, say, tick, ticked};
use halfbar_dom::{Result, by_id, create, focused, hand_on_focus, thrown};
use halfbar_markup::capital;

/// The attribute with the index of a name among those of the piece: of a button in the list, and of a bracket in the music.
const NAME: &str = "data-name";
/// The attribute of a button that keeps a reading, with its words.
const CALL: &str = "data-call";
/// The attribute of a button that takes back what the writer calls a passage.
const UNCALL: &str = "data-uncall";

/// What a press on the list asks for.
enum Asked {
    /// A name is chosen, or no longer.
    Name(usize),
    /// It is called something; nothing takes back what it was called.
    Call(Option<String>),
}

/// The names of the line.
pub(super) struct Harmony {
    list: HtmlElement,
    /// The names that a piece has, and how they were found.
    found: Option<(Arc<[NameSign]>, Names)>,
    /// The name that is chosen, among those of the piece.
    chosen: Option<usize>,
    /// What is listed: the names, and which of them is chosen.
    listed: Option<(Arc<[NameSign]>, Option<usize>)>,
}

impl Harmony {
    pub(super) fn new() -> Result<Harmony> {
        Ok(Harmony { list: by_id("names-found")?, found: None, chosen: None, listed: None })
    }

    /// A piece with its names, where they are shown. They are found once for as long as its notes stay the same.
    pub(super) fn name(&mut self, piece: Piece) -> Result<Piece> {
        if !piece.line().heading().names && !Part::Harmony.is_open()? {
            return Ok(piece);
        }
        if let (Some(signs), Some((own, _))) = (piece.names(), &self.found)
            && Arc::ptr_eq(signs, own)
        {
            return Ok(piece);
        }
        let before = self.chosen_sign().map(|sign| (sign.first, sign.last, sign.is_landing));
        let names = harmony::names(piece.line());
        let signs: Arc<[NameSign]> = names.signs(piece.line()).into();
        self.chosen = signs.iter().position(|sign| Some((sign.first, sign.last, sign.is_landing)) == before);
        self.found = Some((Arc::clone(&signs), names));
        Ok(piece.with_names(signs))
    }

    /// The name that is chosen in the music and in the list.
    pub(super) fn chosen(&self) -> Option<usize> {
        self.chosen
    }

    /// Chooses a name, or none.
    pub(super) fn choose(&mut self, name: Option<usize>) {
        self.chosen = name;
    }

    fn chosen_sign(&self) -> Option<&NameSign> {
        let (signs, _) = self.found.as_ref()?;
        signs.get(self.chosen?)
    }

    /// The headers of the text that say what is shown.
    fn headers(&self) -> Result<[(&'static str, Option<String>); 2]> {
        let degrees = chosen("degrees")?;
        Ok([
            ("names", ticked("names")?.then(|| "yes".into())),
            ("degrees", Some(degrees).filter(|degrees| degrees != Degrees::No.name())),
        ])
    }

    /// The text with the chosen name called something, or as it was found.
    fn called(&self, piece: &Piece, source: &str, words: Option<&str>) -> Result<Option<String>> {
        let Some(sign) = self.chosen_sign() else { return Ok(None) };
        let Some(span) = span(piece.line(), sign.first, sign.last) else { return Ok(None) };
        let line = piece.line().clone();
        let line = match words {
            Some(words) => line.with_call(Call::new(span, words).map_err(thrown)?),
            None => {
                let others =
                    line.calls().iter().filter(|call| !call.span().overlaps(span)).cloned().collect();
                line.with_calls(others)
            }
        };
        write::text::with_calls(source, &line).map(Some).map_err(thrown)
    }

    /// What a press on the list asks for, and the words that the reader has written for it.
    fn asked(target: &EventTarget) -> Result<Option<Asked>> {
        let Some(button) = target.dyn_ref::<Element>().map_or(Ok(None), |target| target.closest("button"))?
        else {
            return Ok(None);
        };
        if let Some(words) = button.get_attribute(CALL) {
            let words = if words.is_empty() { entered("called")?.trim().to_string() } else { words };
            return Ok(Some(Asked::Call(Some(words))));
        }
        if button.has_attribute(UNCALL) {
            return Ok(Some(Asked::Call(None)));
        }
        Ok(name_of(&button).map(Asked::Name))
    }

    /// Lists the names, with what can be said of the chosen one.
    pub(super) fn show(&mut self, piece: &Piece) -> Result<()> {
        if !Part::Harmony.is_open()? {
            return Ok(());
        }
        let heading = piece.line().heading();
        tick("names", heading.names)?;
        by_id::<HtmlSelectElement>("degrees")?.set_value(heading.degrees.name());
        let Some((signs, names)) = &self.found else { return Ok(()) };
        let is_listed =
            |(known, chosen): &(Arc<[NameSign]>, _)| Arc::ptr_eq(known, signs) && *chosen == self.chosen;
        if self.listed.as_ref().is_some_and(is_listed) {
            return Ok(());
        }
        self.list.set_inner_html("");
        let empty = signs.is_empty();
        say("harmony-say", if empty { says::NOTHING_NAMED } else { says::TAP_A_NAME })?;
        for (index, sign) in signs.iter().enumerate() {
            let item: Element = create("li")?;
            let is_chosen = self.chosen == Some(index);
            let button: HtmlElement = create("button")?;
            button.set_attribute("type", "button")?;
            button.set_attribute(NAME, &index.to_string())?;
            button.set_attribute("aria-expanded", if is_chosen { "true" } else { "false" })?;
            let place = place(piece.line(), sign.first);
            button.set_text_content(Some(&says::named(place, &sign.says)));
            item.append_child(&button)?;
            if is_chosen {
                self.detail(&item, sign, names)?;
            }
            self.list.append_child(&item)?;
        }
        self.listed = Some((Arc::clone(signs), self.chosen));
        Ok(())
    }

    /// Has the chosen name in view in the list.
    pub(super) fn show_chosen(&self) -> Result<()> {
        let button = self.list.query_selector("[aria-expanded=true]")?;
        button.and_then(|button| button.parent_element()).map_or(Ok(()), |item| {
            let nearest = web_sys::ScrollIntoViewOptions::new();
            nearest.set_block(web_sys::ScrollLogicalPosition::Nearest);
            item.scroll_into_view_with_scroll_into_view_options(&nearest);
            Ok(())
        })
    }

    /// The reasons for a name, its other readings, and a field for words of the reader's own.
    fn detail(&self, item: &Element, sign: &NameSign, names: &Names) -> Result<()> {
        let detail: HtmlElement = create("div")?;
        let line = |text: &str| -> Result<()> {
            let line: Element = create("p")?;
            line.set_text_content(Some(&capital(text)));
            detail.append_child(&line).map(|_| ())
        };
        match sign.index.and_then(|index| names.all().get(index)) {
            Some(name) => {
                if let Some(fit) = name.fit() {
                    line(&format!("{fit}."))?;
                }
                let doubts = name.doubts();
                if !doubts.is_empty() {
                    line(&says::doubts(&doubts))?;
                }
            }
            None if sign.is_landing => {}
            None => line(says::CALLED_BY_YOU)?,
        }
        let others = sign.index.map(|index| names.others(index)).unwrap_or_default();
        if !others.is_empty() {
            let (heading, list): (Element, Element) = (create("h4")?, create("ul")?);
            heading.set_text_content(Some(says::OTHER_READINGS));
            for other in others {
                let item: Element = create("li")?;
                item.set_text_content(Some(&format!(
                    "{} ",
                    says::other(&other.says, other.more, &other.reasons)
                )));
                if other.same_notes {
                    item.append_child(&*button(says::USE_THIS_NAME, CALL, &other.says)?)?;
                }
                list.append_child(&item)?;
            }
            detail.append_child(&heading)?;
            detail.append_child(&list)?;
        }
        item.append_child(&detail)?;
        if sign.is_landing {
            return Ok(());
        }
        let steps: Element = create("p")?;
        steps.set_class_name("steps");
        let step = match sign.index {
            None => button(says::AS_FOUND, UNCALL, "")?,
            Some(_) => {
                let (label, field): (Element, HtmlInputElement) = (create("label")?, create("input")?);
                label.set_text_content(Some(&format!("{} ", says::OWN_WORDS)));
                field.set_type("text");
                field.set_id("called");
                field.set_max_length(Call::LONGEST.into());
                label.append_child(&field)?;
                steps.append_child(&label)?;
                button(says::USE_THIS_NAME, CALL, "")?
            }
        };
        steps.append_child(&step)?;
        detail.append_child(&steps).map(|_| ())
    }
}

impl Page {
    /// Finds the names of the line, where they are shown.
    pub(super) fn name(&mut self) -> Result<()> {
        if let Some(piece) = self.piece.take() {
            self.piece = Some(self.harmony.name(piece)?);
        }
        Ok(())
    }

    /// Lists the names of the line in the margin.
    pub(crate) fn show_harmony(&mut self) -> Result<()> {
        self.name()?;
        self.sheet.choose_name(self.harmony.chosen())?;
        match &self.piece {
            Some(piece) => self.harmony.show(piece),
            None => Ok(()),
        }
    }

    /// Names or degrees are to be shown, or no longer: that goes into the text.
    pub(super) fn choose_names(&mut self) -> Result<()> {
        let mut text = self.text.value();
        for (name, value) in self.harmony.headers()? {
            text = write::text::with_header(&text, name, value.as_deref());
        }
        self.rewrite(&text)
    }

    /// A button in the list of names was pressed: it chooses a name, or keeps what it is called in the text.
    pub(super) fn press_name(&mut self, target: &EventTarget) -> Result<()> {
        let had = focused()?;
        match Harmony::asked(target)? {
            Some(Asked::Name(name)) => {
                let chosen = self.harmony.chosen();
                self.harmony.choose(Some(name).filter(|_| chosen != Some(name)));
                self.show_harmony()?;
                self.harmony.show_chosen()?;
            }
            Some(Asked::Call(words)) => self.call(words.as_deref())?,
            None => return Ok(()),
        }
        // The list is new.
        hand_on_focus(had.as_ref(), &["#names-found [aria-expanded=true]", "#names"])
    }

    /// Keeps in the text what the chosen name is called, or takes that back.
    fn call(&mut self, words: Option<&str>) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else {
            self.say(halfbar_words::shared::TEXT_HAS_A_MISTAKE);
            return Ok(());
        };
        if words == Some("") {
            self.say(says::EMPTY_WORDS);
            return Ok(());
        }
        match self.harmony.called(piece, &self.text.value(), words)? {
            Some(text) => {
                self.rewrite(&text)?;
                self.say(&words.map_or(String::new(), says::called));
            }
            None => self.say(says::BEYOND_THE_LINE),
        }
        Ok(())
    }
}

/// The name of the music or of the list that an element belongs to.
pub(super) fn name_of(target: &Element) -> Option<usize> {
    target.closest(&format!("[{NAME}]")).ok()??.get_attribute(NAME)?.parse().ok()
}

fn button(label: &str, attribute: &str, value: &str) -> Result<HtmlElement> {
    let button: HtmlElement = create("button")?;
    button.set_attribute("type", "button")?;
    button.set_attribute(attribute, value)?;
    button.set_text_content(Some(label));
    Ok(button)
}

/// Where a note is in the plain line, such as `2.3`.
fn place(line: &Line, note: NoteId) -> String {
    let onset = line.events().get(note.0 as usize).map(|event| event.onset);
    onset.and_then(|onset| line.bars().place(onset).ok()).map_or(String::new(), |place| place.to_string())
}

/// The time of some notes of the plain line.
fn span(line: &Line, first: NoteId, last: NoteId) -> Option<Span> {
    let event = |note: NoteId| line.events().get(note.0 as usize);
    Span::new(event(first)?.onset, event(last)?.span().ok()?.end())
}
