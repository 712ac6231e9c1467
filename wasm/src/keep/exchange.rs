//! Files of other programs, and pictures as PNG. A module of its own reads and writes these, and shows what is in them; it is fetched when it is first needed.

use halfbar_dom::Result;
use halfbar_dom::form::{say, sentence};
use js_sys::{Array, Error, Promise};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;

use crate::app::App;
use crate::parts::Part;

/// Where the page says what came of a file: in the part for files, or below the music, where it was dropped.
pub(super) const HERE: &str = "import-says";
pub(super) const BELOW: &str = "status";

/// What the module does: opens a file, does what a button of the part stands for, saves a line, and saves a picture.
pub(super) const OPEN: &str = "openFile";
pub(super) const PRESS: &str = "press";
pub(super) const SAVE: &str = "saveFile";
pub(super) const SAVE_PNG: &str = "savePng";

/// Whether another program has written a file, as it begins when it is taken for text: markup, two bytes a letter, something compressed, MIDI, and
/// MIDI in a wrapper.
pub(super) fn is_foreign(text: &str) -> bool {
    let text = text.trim_start();
    ["<", "\u{fffd}", "PK", "MThd", "RIFF"].iter().any(|start| text.starts_with(start))
}

impl App {
    /// Has the module do something. `place` is where it is said what came of it.
    pub(super) fn ask(&self, what: &str, subject: &JsValue, more: &str, place: &'static str) -> Result<()> {
        let answer = self.keep.files.call3(&JsValue::NULL, &what.into(), subject, &more.into())?;
        self.spawn(JsFuture::from(Promise::from(answer)), move |app, answer| app.answered(answer, place));
        Ok(())
    }

    /// A voice was taken, which is a new line; or the part for files needs something else first. What goes wrong is said.
    fn answered(&mut self, answer: Result<JsValue>, place: &'static str) -> Result<()> {
        let answer = match answer {
            Ok(answer) => Array::from(&answer),
            Err(why) => {
                let why = why.dyn_ref::<Error>().map(|why| String::from(why.message()));
                say(place, &sentence(&why.unwrap_or_default()))?;
                return self.show_import(place == HERE);
            }
        };
        // The line, what is said of it, and whether the part for files has more to tell.
        let [text, says, more] = [0, 1, 2].map(|index| answer.get(index).as_string());
        let says = says.unwrap_or_default();
        match text {
            Some(text) => {
                say(HERE, "")?;
                self.keep.begin_line(&mut self.page, &text, &says)?;
            }
            None => self.keep.say(&says)?,
        }
        self.show_import(more.is_some())
    }

    /// Opens the part for files.
    fn show_import(&mut self, show: bool) -> Result<()> {
        if show && !Part::Import.is_open()? { self.open(Part::Import) } else { Ok(()) }
    }
}
