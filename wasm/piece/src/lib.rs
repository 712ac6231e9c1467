//! A line as a JavaScript class: read once, ask often.

use halfbar_core::engrave::Layout;
use halfbar_core::harmony::{self, NameSign};
use halfbar_core::line::Line;
use halfbar_core::score::Annotations;
use halfbar_core::write::dump::Dump;
use halfbar_core::{read, write};
use halfbar_view::{Problem, layout, piece_of, recast, restore, thrown};
use halfbar_words::element as says;
use wasm_bindgen::prelude::*;

/// A line with its casting.
#[wasm_bindgen]
pub struct Piece {
    source: String,
    piece: halfbar_core::Piece,
}

/// Everything that is wrong with a text: an array of `{line, column, length, code, message}`, empty when it is right and can be drawn.
#[wasm_bindgen]
pub fn check(text: &str) -> Vec<JsValue> {
    let reading = read::text(text);
    let undrawable = match piece_of(&reading, None) {
        Some(Err(why)) => Some(Problem::undrawable(Some(why.to_string()))),
        _ => None,
    };
    reading.diagnostics.iter().map(Problem::of).chain(undrawable).map(|problem| problem.record()).collect()
}

/// What is right in a text and still worth saying, such as a chord symbol with two meanings: an array as that of `check`.
#[wasm_bindgen]
pub fn remarks(text: &str) -> Vec<JsValue> {
    read::text(text).remarks.iter().map(|remark| Problem::of(remark).record()).collect()
}

/// The names of what is in a line, as `name` of the element's widget takes them; none while the text is wrong.
#[wasm_bindgen]
pub fn names(text: &str) -> Vec<String> {
    let line = read::text(text).line;
    line.map_or_else(Vec::new, |line| signs(&line).iter().map(halfbar_view::names::to_row).collect())
}

fn signs(line: &Line) -> Vec<NameSign> {
    harmony::names(line).signs(line)
}

#[wasm_bindgen]
impl Piece {
    /// Reads a text.
    ///
    /// # Errors
    /// An `Error` with `code`, `line` and `column` for the first thing that is wrong with it.
    #[wasm_bindgen(constructor)]
    pub fn new(text: &str) -> Result<Piece, JsValue> {
        let reading = read::text(text);
        match (reading.line, reading.diagnostics.first()) {
            (Some(line), None) => {
                let names = line.heading().names.then(|| signs(&line));
                let piece = halfbar_core::Piece::new(line, reading.casting).map_err(thrown)?;
                let piece = match names {
                    Some(names) => piece.with_names(names.into()),
                    None => piece,
                };
                Ok(Piece { source: text.into(), piece })
            }
            (_, Some(problem)) => Err(Problem::of(problem).thrown()),
            (None, None) => Err(js_sys::Error::new(says::NO_MUSIC).into()),
        }
    }

    /// The text, with its casting as it is now.
    ///
    /// # Errors
    /// An `Error` with `code`.
    pub fn text(&self) -> Result<String, JsValue> {
        write::text::with_casting(&self.source, self.piece.casting(), self.piece.line().bars())
            .map_err(thrown)
    }

    /// The music as an SVG document. `options` may hold `width`, in staff spaces, `head`, whether title and tempo are
    /// drawn, `fingers`, whether the fretting hand's are, `view`: `both`, `staff`, `tab` or `rhythm`, and `words`: `us` or `uk`.
    ///
    /// # Errors
    /// An `Error` that names an option that is not known or of the wrong kind.
    pub fn svg(&self, options: JsValue) -> Result<String, JsValue> {
        let annotations = Annotations::of(self.piece.line().heading());
        let layout = layout(options, Layout { annotations, ..Layout::default() })?;
        Ok(write::svg::document(&self.piece.engrave(&layout)))
    }

    /// Notes, notation and windows as plain records; times are exact fractions of a quarter note, as text.
    ///
    /// # Errors
    /// An `Error` with `code`.
    pub fn dump(&self) -> Result<JsValue, JsValue> {
        Ok(serde_wasm_bindgen::to_value(&Dump::of(&self.piece).map_err(thrown)?)?)
    }

    /// Recasts the window at a bar and beat, both counted from 1; beat 2.5 lies half way between 2 and 3.
    ///
    /// # Errors
    /// An `Error` with `code` when there is no such place, figure or spelling, or when the window can't be recast; the piece stays
    /// as it was.
    pub fn recast(
        &mut self,
        bar: u32,
        beat: f64,
        figure: &str,
        spelling: Option<String>,
    ) -> Result<(), JsValue> {
        self.piece = recast(&self.piece, (bar, beat), figure, spelling, thrown)?;
        Ok(())
    }

    /// Takes the window at a bar and beat back to its plain rhythm. Says whether anything stood there.
    ///
    /// # Errors
    /// An `Error` with `code` when there is no such place.
    pub fn restore(&mut self, bar: u32, beat: f64) -> Result<bool, JsValue> {
        let (piece, restored) = restore(&self.piece, (bar, beat), thrown)?;
        self.piece = piece;
        Ok(restored)
    }
}
