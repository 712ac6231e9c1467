//! A line's text as a file.

use halfbar_core::exchange::midi::{self, MidiOptions};
use halfbar_core::exchange::musicxml::{self, Staves};
use halfbar_core::{Piece, read};
use halfbar_dom::Result;
use halfbar_dom::files::{name, save};
use halfbar_dom::form::{chosen, ticked, title};
use halfbar_view::{Problem, coded, thrown};
use halfbar_words::{element, exchange as says, keep};
use js_sys::Array;
use wasm_bindgen::prelude::*;

use crate::options::{each, failed, unknown, whole};
use crate::part::answer;

/// What the kinds of files are called: the first by MusicXML 4.0 and IANA (*Media Types*), the second by common practice, no source.
const MUSICXML: &str = "application/vnd.recordare.musicxml+xml";
const MIDI: &str = "audio/midi";

/// A line's text as MusicXML. `options` may hold `view`: `both`, notation and tab, or `staff`, notation with strings and frets at its notes.
///
/// # Errors
/// An `Error` with `code`, and with `line` and `column` for the first thing that is wrong with the text.
#[wasm_bindgen]
pub fn musicxml(text: &str, options: JsValue) -> Result<String> {
    let mut staves = Staves::default();
    each(options, |name, value| match (name, value.as_string()) {
        ("view", Some(view)) => {
            staves = self::staves(&view)?;
            Ok(Some(()))
        }
        ("view", None) => Ok(None),
        _ => unknown(name),
    })?;
    musicxml::document(&piece(text)?, text, staves).map_err(failed)
}

/// A line's text as a MIDI file. `options` may hold `straight`, whether notes have their written times; `click`: `every`, `2+4` or `1`; `countIn`, a number
/// of bars; and `comp`, whether chords are played.
///
/// # Errors
/// As [`musicxml()`].
#[wasm_bindgen]
pub fn midi(text: &str, options: JsValue) -> Result<Vec<u8>> {
    let mut asked = MidiOptions::default();
    each(options, |name, value| {
        let known = match name {
            "straight" => value.as_bool().map(|on| asked.straight = on),
            "comp" => value.as_bool().map(|on| asked.comp = on),
            "countIn" => whole(value).map(|bars| asked.count_in = bars),
            "click" => match value.as_string() {
                Some(click) => {
                    asked.click = Some(click.parse().map_err(|_| coded(&says::no_click(&click), "option"))?);
                    Some(())
                }
                None => None,
            },
            _ => return unknown(name),
        };
        Ok(known)
    })?;
    midi::document(&piece(text)?, text, &asked).map_err(failed)
}

/// Saves a line's text as the file that a button of the page stands for, with what is chosen beside it. Gives the same as [`crate::open_file`], without
/// a text.
///
/// # Errors
/// An `Error` with the first thing that is wrong with the text.
#[wasm_bindgen(js_name = saveFile)]
pub fn save_file(button: &str, text: &str) -> Result<Array> {
    let piece = piece(text)?;
    let title = title(text);
    let (content, kind, file) = match button {
        "save-midi" => {
            let click = chosen("midi-click")?;
            let options = MidiOptions {
                straight: chosen("midi-times")? == "straight",
                click: click.parse().ok().filter(|_| click != "off"),
                count_in: chosen("midi-count-in")?.parse().unwrap_or(0),
                comp: ticked("midi-comp")?,
            };
            (midi::document(&piece, text, &options).map_err(failed)?, MIDI, name(title, "mid"))
        }
        _ => {
            let staves = staves(&chosen("musicxml-view")?)?;
            let document = musicxml::document(&piece, text, staves).map_err(failed)?;
            (document.into_bytes(), MUSICXML, name(title, "musicxml"))
        }
    };
    save(&content, kind, &file)?;
    Ok(answer(None, &keep::saved(file), false))
}

fn staves(view: &str) -> Result<Staves> {
    match view {
        "both" => Ok(Staves::Both),
        "staff" => Ok(Staves::Staff),
        _ => Err(coded(&says::no_staves(view), "view")),
    }
}

/// The music of a text.
fn piece(text: &str) -> Result<Piece> {
    let reading = read::text(text);
    match (reading.line, reading.diagnostics.first()) {
        (Some(line), None) => Piece::new(line, reading.casting).map_err(thrown),
        (_, Some(problem)) => Err(Problem::of(problem).thrown()),
        (None, None) => Err(coded(element::NO_MUSIC, "empty")),
    }
}
