//! The page's part for files: what is in a file as small pictures to choose from, what a file leaves open, and what was left out of it.

use halfbar_core::exchange::midi::MidiError;
use halfbar_core::exchange::{Choice, ExchangeError, Imported};
use halfbar_core::key::Key;
use halfbar_dom::form::{chosen, offer_as, say, sentence};
use halfbar_dom::{Result, by_id, children, create, hand_on_focus, markup, thrown};
use halfbar_words::exchange as says;
use js_sys::{Array, Error, Uint8Array};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    Element, File, HtmlButtonElement, HtmlSelectElement, ScrollIntoViewOptions, ScrollLogicalPosition,
};

use crate::opened::{self, Opened, key};
use crate::options::words;

/// Where the part says what it needs, and why something can't be opened.
const SAYS: &str = "import-says";
/// That with all that the part says of a file besides its voices.
const MORE: &str = "import-more";
/// The attributes of the buttons that take a voice, by its index; take it in another octave; and take it in the key that is chosen.
const VOICE: &str = "data-voice";
const OCTAVES: &str = "data-octaves";
const IN_KEY: &str = "data-in-key";
/// The field for the key, and the keys in it: first without signs, then with up to six flats, then with up to six sharps.
const KEY: &str = "import-key";
const MAJOR: [&str; 13] = ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "G", "D", "A", "E", "B", "F#"];
const MINOR: [&str; 13] = ["A", "D", "G", "C", "F", "Bb", "Eb", "E", "B", "F#", "C#", "G#", "D#"];

thread_local! {
    /// The file that was opened last: its voices stay there to choose from.
    static IMPORT: RefCell<Option<Import>> = const { RefCell::new(None) };
}

/// A file that is being imported.
struct Import {
    opened: Opened,
    /// The name of the file.
    file: String,
    /// What was taken last, or tried.
    index: usize,
    octaves: i8,
    key: Option<Key>,
}

/// Opens a file for the page. Its only voice is taken; of several, the part for files shows what there is. Gives the line's text, what to say about it,
/// and whether the part has more to tell; without a text, the part needs something first.
///
/// # Errors
/// An `Error` that says what is wrong with the file, and where.
#[wasm_bindgen(js_name = openFile)]
pub async fn open_file(file: File) -> Result<Array> {
    home()?;
    let bytes = Uint8Array::new(&JsFuture::from(file.array_buffer()).await?).to_vec();
    let file = file.name();
    let failed = |why: &str| thrown(says::not_opened(&file, why));
    let opened = opened::open(&bytes).map_err(|why| failed(&message(&why)))?;
    if opened.voices.is_empty() {
        return Err(failed(says::NO_NOTES));
    }
    let mut import = Import { opened, file, index: 0, octaves: 0, key: None };
    let begun = import.begin();
    IMPORT.set(Some(import));
    begun
}

/// Does what a button of the part for files stands for. Gives the same as [`open_file`].
///
/// # Errors
/// None in practice.
#[wasm_bindgen]
pub fn press(button: &Element) -> Result<Array> {
    let pressed = IMPORT.with_borrow_mut(|import| match import {
        Some(import) => import.press(button),
        None => Ok(answer(None, "", false)),
    });
    let nearest = ScrollIntoViewOptions::new();
    nearest.set_block(ScrollLogicalPosition::Nearest);
    by_id::<Element>(MORE)?.scroll_into_view_with_scroll_into_view_options(&nearest);
    // What the file left open goes with its answer.
    hand_on_focus(Some(button), &["#voices [aria-current] button", "#open-file"])?;
    pressed
}

impl Import {
    /// Takes the only voice, or shows what there is.
    fn begin(&mut self) -> Result<Array> {
        for id in ["voices", "import-asks", "left-out", "left-out-name"] {
            empty(id)?;
        }
        if self.opened.voices.len() == 1 {
            return self.take();
        }
        say(SAYS, &says::choose(&self.file))?;
        let list: Element = by_id("voices")?;
        for (index, voice) in self.opened.voices.iter().enumerate() {
            let (item, picture): (Element, Element) = (create("li")?, create("span")?);
            let button = button(&voice.label, VOICE, &index.to_string())?;
            match self.opened.picture(index) {
                Ok(svg) => {
                    picture.set_attribute("aria-hidden", "true")?;
                    markup::put(&picture, &svg)?;
                }
                // Why it can't be opened as it is stands in the place of the picture.
                Err(why) => picture.set_text_content(Some(&sentence(&message(&why)))),
            }
            button.append_child(&picture)?;
            item.append_child(&button)?;
            list.append_child(&item)?;
        }
        Ok(answer(None, "", true))
    }

    fn press(&mut self, button: &Element) -> Result<Array> {
        let number = |name: &str| button.get_attribute(name);
        if let Some(index) = number(VOICE).and_then(|index| index.parse().ok()) {
            (self.index, self.octaves) = (index, 0);
        } else if let Some(octaves) = number(OCTAVES).and_then(|octaves| octaves.parse().ok()) {
            self.octaves = octaves;
        } else if button.has_attribute(IN_KEY) {
            self.key = Some(key(&chosen(KEY)?)?);
        }
        self.take()
    }

    fn take(&mut self) -> Result<Array> {
        for id in [SAYS, "import-asks", "left-out", "left-out-name"] {
            empty(id)?;
        }
        let more: Element = by_id(MORE)?;
        for (index, item) in children(&by_id("voices")?).enumerate() {
            match index == self.index {
                // What is said of a voice stands below it.
                true => {
                    item.set_attribute("aria-current", "true")?;
                    item.append_child(&more)?;
                }
                false => item.remove_attribute("aria-current")?,
            }
        }
        let Some(voice) = self.opened.voices.get(self.index) else { return Ok(answer(None, "", false)) };
        let choice = Choice { octaves: self.octaves, key: self.key, ..voice.choice.clone() };
        match self.opened.contents.take(&choice) {
            Ok(imported) => self.taken(&imported),
            Err(error) => {
                self.ask(&error)?;
                Ok(answer(None, "", true))
            }
        }
    }

    /// Says what a voice leaves open, or why it can't be taken, and offers what would help.
    fn ask(&self, error: &ExchangeError) -> Result<()> {
        let asks: Element = by_id("import-asks")?;
        let says = match error {
            ExchangeError::OffNeck { octaves, fits: true, .. } => {
                let octaves = self.octaves.saturating_add(*octaves);
                asks.append_child(&*button(&says::octaves(octaves), OCTAVES, &octaves.to_string())?)?;
                words(error)
            }
            ExchangeError::Midi(MidiError::Key { likely }) => {
                ask_key(&asks, *likely)?;
                words(error)
            }
            _ => says::not_opened(&self.file, words(error)),
        };
        say(SAYS, &sentence(&says))
    }

    /// Lists what was left out.
    fn taken(&self, imported: &Imported) -> Result<Array> {
        let Imported { line, text, remarks, .. } = imported;
        let title = &line.heading().title;
        let name = if title.is_empty() { &says::own(&self.file) } else { title };
        say("left-out-name", &if remarks.is_empty() { String::new() } else { says::left_out(name) })?;
        let list = empty("left-out")?;
        for remark in remarks {
            let item: Element = create("li")?;
            item.set_text_content(Some(&sentence(&remark.to_string())));
            list.append_child(&item)?;
        }
        let says = says::opened(name, line.bar_count(), remarks.len());
        Ok(answer(Some(text), &says, !remarks.is_empty()))
    }
}

/// What the page is told.
pub(crate) fn answer(text: Option<&str>, says: &str, more: bool) -> Array {
    let more = if more { JsValue::from("") } else { JsValue::UNDEFINED };
    Array::of3(&text.into(), &says.into(), &more)
}

/// What an error says.
fn message(error: &JsValue) -> String {
    error.dyn_ref::<Error>().map(|error| error.message().into()).unwrap_or_default()
}

/// Puts what the part says above the voices.
fn home() -> Result<()> {
    by_id::<Element>("voices")?.insert_adjacent_element("beforebegin", &by_id(MORE)?).map(|_| ())
}

/// Empties an element.
fn empty(id: &str) -> Result<Element> {
    let element: Element = by_id(id)?;
    element.set_text_content(None);
    Ok(element)
}

fn button(label: &str, attribute: &str, value: &str) -> Result<HtmlButtonElement> {
    let (button, words): (HtmlButtonElement, Element) = (create("button")?, create("span")?);
    button.set_type("button");
    button.set_attribute(attribute, value)?;
    words.set_text_content(Some(label));
    button.append_child(&words)?;
    Ok(button)
}

/// A field for the key, with the likely one chosen, and the button that goes with it.
fn ask_key(asks: &Element, likely: Key) -> Result<()> {
    let (label, field): (Element, HtmlSelectElement) = (create("label")?, create("select")?);
    label.set_class_name("fit");
    label.set_text_content(Some(says::KEY));
    field.set_id(KEY);
    for (names, minor, mode) in [(MAJOR, "", says::MAJOR), (MINOR, "m", says::MINOR)] {
        for name in names {
            let shown = name.replace('b', "♭").replace('#', "♯");
            offer_as(&field, &format!("{name}{minor}"), &says::key(shown, mode))?;
        }
    }
    field.set_value(&likely.short());
    label.append_child(&field)?;
    asks.append_child(&label)?;
    asks.append_child(&*button(says::OPEN_IN_THIS_KEY, IN_KEY, "")?)?;
    Ok(())
}
