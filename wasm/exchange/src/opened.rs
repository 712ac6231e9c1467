//! A file, for scripts.

use halfbar_core::exchange::{self, Contents, Format, Imported, Keep};
use halfbar_core::key::Key;
use halfbar_dom::Result;
use halfbar_view::{coded, record};
use halfbar_words::exchange as says;
use wasm_bindgen::prelude::*;

use crate::choice::{self, Voice};
use crate::options::{each, failed, unknown, whole};

/// A file that was opened.
#[wasm_bindgen]
pub struct Opened {
    pub(crate) contents: Contents,
    pub(crate) voices: Vec<Voice>,
}

/// Opens a MusicXML or MIDI file, whatever its name is. Nothing that it refers to is fetched.
///
/// # Errors
/// An `Error` with `code` that says what is wrong with the file, and where.
#[wasm_bindgen]
pub fn open(bytes: &[u8]) -> Result<Opened> {
    let contents = exchange::open(bytes).map_err(failed)?;
    let voices = choice::voices(&contents);
    Ok(Opened { contents, voices })
}

#[wasm_bindgen]
impl Opened {
    /// `musicxml` or `midi`.
    #[wasm_bindgen(getter)]
    pub fn format(&self) -> String {
        let name = match self.contents.format {
            Format::MusicXml => "musicxml",
            Format::Midi => "midi",
        };
        name.into()
    }

    /// Its title; empty if there is none.
    #[wasm_bindgen(getter)]
    pub fn title(&self) -> String {
        self.contents.title.clone()
    }

    /// What can be taken from it: an array of `{part, staff, voice, keep, label, notes, together}`. Part, staff and voice have their names in the file;
    /// `keep` is `top` or `bottom` where notes sound together, and otherwise empty.
    pub fn choices(&self) -> Vec<JsValue> {
        let number = |number: usize| JsValue::from_f64(number as f64);
        let row = |voice: &Voice| {
            let choice = &voice.choice;
            let part = self.contents.parts.get(choice.part)?;
            let staff = part.staves.get(choice.staff)?;
            let keep = match choice.keep {
                Keep::Single => "",
                Keep::Top => "top",
                Keep::Bottom => "bottom",
            };
            Some(record([
                ("part", part.name.as_str().into()),
                ("staff", number(staff.number.into())),
                ("voice", staff.voices.get(choice.voice)?.name.as_str().into()),
                ("keep", keep.into()),
                ("label", voice.label.as_str().into()),
                ("notes", number(voice.notes)),
                ("together", number(voice.together)),
            ]))
        };
        self.voices.iter().filter_map(row).collect()
    }

    /// The first bars of a choice, by its index, as SVG.
    ///
    /// # Errors
    /// As [`Opened::take`].
    pub fn picture(&self, index: usize) -> Result<String> {
        choice::picture(&self.contents, &self.voice(index)?.choice).map_err(failed)
    }

    /// A choice as a line, by its index: `{text, remarks}`. `remarks` are sentences about what was left out and changed. `options` may hold `octaves`, by
    /// how many all notes go up, and `key`, such as `Eb` or `C minor`, for a MIDI file that says none.
    ///
    /// # Errors
    /// An `Error` with `code` that says what a line can't have, and where.
    pub fn take(&self, index: usize, options: JsValue) -> Result<JsValue> {
        let mut choice = self.voice(index)?.choice.clone();
        each(options, |name, value| {
            match name {
                "octaves" => match whole(value) {
                    Some(octaves) => choice.octaves = octaves,
                    None => return Ok(None),
                },
                "key" => match value.as_string() {
                    Some(key) => choice.key = Some(self::key(&key)?),
                    None => return Ok(None),
                },
                _ => return unknown(name),
            }
            Ok(Some(()))
        })?;
        let Imported { text, remarks, .. } = self.contents.take(&choice).map_err(failed)?;
        let remarks: Vec<JsValue> = remarks.iter().map(|remark| remark.to_string().into()).collect();
        Ok(record([("text", text.into()), ("remarks", remarks.into())]))
    }

    fn voice(&self, index: usize) -> Result<&Voice> {
        self.voices.get(index).ok_or_else(|| coded(&says::no_choice(index), "option"))
    }
}

/// The key that a text names.
pub(crate) fn key(text: &str) -> Result<Key> {
    text.parse().map_err(|_| coded(&says::no_key(text), "key"))
}
