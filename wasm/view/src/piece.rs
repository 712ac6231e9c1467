//! Lines and what a script asks of them, with what is wrong as JavaScript errors.

use halfbar_core::bars::Place;
use halfbar_core::dialect::Dialect;
use halfbar_core::engrave::{Layout, Width};
use halfbar_core::recast::Window;
use halfbar_core::time::Duration;
use halfbar_core::{Error, read};
use halfbar_dom::MOST_BARS;
use halfbar_words::view as says;
use js_sys::Object;
use serde::Serialize;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;

/// Something wrong with a text, as a script sees it.
#[derive(Serialize)]
#[allow(missing_docs)]
pub struct Problem {
    pub line: usize,
    pub column: usize,
    pub length: usize,
    pub code: &'static str,
    pub message: String,
}

/// The piece that a text says, with what has not changed since the one before; an error for a text that is right and still can't be
/// drawn. `None` for a text that is wrong, as its diagnostics say.
pub fn piece_of(
    reading: &read::Reading,
    before: Option<&halfbar_core::Piece>,
) -> Option<Result<halfbar_core::Piece, String>> {
    let line = reading.line.as_ref().filter(|_| reading.diagnostics.is_empty())?;
    let bars = line.bar_count();
    if bars > MOST_BARS {
        return Some(Err(says::too_many_bars(bars, MOST_BARS)));
    }
    let (line, casting) = (line.clone(), reading.casting.clone());
    let piece = match before {
        Some(before) => halfbar_core::Piece::after(before, line, casting),
        None => halfbar_core::Piece::new(line, casting),
    };
    Some(piece.map_err(|error| error.to_string()))
}

/// A piece with the window at a bar and beat recast, both counted from 1; without a spelling, in the figure's usual one.
///
/// # Errors
/// An `Error` with `code` when there is no such place, figure or spelling, or when the window can't be recast.
pub fn recast(
    piece: &halfbar_core::Piece,
    (bar, beat): (u32, f64),
    figure: &str,
    spelling: Option<String>,
) -> Result<halfbar_core::Piece, JsValue> {
    let unknown = |name: &str| coded(&says::unknown(name), "figure");
    let figure = piece.casting().figure(figure).ok_or_else(|| unknown(figure))?;
    let spelling = match spelling {
        Some(name) => name.parse().map_err(|_| unknown(&name))?,
        None => figure.spellings()[0],
    };
    let start = onset(piece, bar, beat)?;
    let mut casting = piece.casting().clone();
    casting.put(Window::new(start, figure, spelling));
    halfbar_core::Piece::after(piece, piece.line().clone(), casting).map_err(thrown)
}

/// A piece with the window at a bar and beat plain again, and whether anything stood there.
///
/// # Errors
/// An `Error` with `code` when there is no such place.
pub fn restore(
    piece: &halfbar_core::Piece,
    (bar, beat): (u32, f64),
) -> Result<(halfbar_core::Piece, bool), JsValue> {
    let start = onset(piece, bar, beat)?;
    let mut casting = piece.casting().clone();
    let restored = casting.restore(start).is_some();
    let piece = halfbar_core::Piece::after(piece, piece.line().clone(), casting).map_err(thrown)?;
    Ok((piece, restored))
}

fn onset(piece: &halfbar_core::Piece, bar: u32, beat: f64) -> Result<halfbar_core::time::Onset, JsValue> {
    // Windows start on eighths, so beats are halves; what is no half, or no number, comes out as no beat.
    #[allow(clippy::cast_possible_truncation)]
    let halves = if (beat * 2.0).fract() == 0.0 { (beat * 2.0) as i32 } else { 0 };
    let place = Place { bar, beat: Duration::of(halves, 2) };
    piece.line().bars().onset(place).map_err(thrown)
}

/// The layout that `svg`'s options ask for; `words` where they name none.
///
/// # Errors
/// An `Error` that names an option that is not known or of the wrong kind.
pub fn layout(options: JsValue, words: Dialect) -> Result<Layout, JsValue> {
    let mut layout = Layout { words, ..Layout::default() };
    if options.is_undefined() {
        return Ok(layout);
    }
    let options: Object = options.dyn_into().map_err(|_| coded(says::NOT_AN_OBJECT, "option"))?;
    for (name, value) in Object::keys(&options).iter().zip(Object::values(&options)) {
        let name = name.as_string().unwrap_or_default();
        let wrong = || coded(&says::wrong_option(&name), "option");
        match name.as_str() {
            _ if value.is_undefined() => {}
            "width" => layout.width = Width::new(value.as_f64().ok_or_else(wrong)?).map_err(thrown)?,
            "head" => layout.head = value.as_bool().ok_or_else(wrong)?,
            "words" => {
                let words = value.as_string().ok_or_else(wrong)?;
                layout.words = words.parse().map_err(|_| coded(&says::no_words(&words), "words"))?;
            }
            "fingers" => layout.annotations.fingers = value.as_bool().ok_or_else(wrong)?,
            "view" => {
                let view = value.as_string().ok_or_else(wrong)?;
                layout.view = view.parse().map_err(|_| coded(&says::no_view(&view), "view"))?;
            }
            _ => return Err(coded(&says::no_option(&name), "option")),
        }
    }
    Ok(layout)
}

impl Problem {
    /// A diagnostic.
    pub fn of(diagnostic: &read::Diagnostic) -> Problem {
        Problem {
            line: diagnostic.line,
            column: diagnostic.column,
            length: diagnostic.length,
            code: diagnostic.problem.code(),
            message: diagnostic.problem.to_string(),
        }
    }

    /// As a JavaScript `Error` with `code`, `line` and `column`.
    pub fn thrown(self) -> JsValue {
        let error = coded(&self.message, self.code);
        set(&error, "line", JsValue::from_f64(self.line as f64));
        set(&error, "column", JsValue::from_f64(self.column as f64));
        error
    }
}

/// A core error as a real JavaScript `Error`.
pub fn thrown(error: impl Into<Error>) -> JsValue {
    let error = error.into();
    coded(&error.to_string(), error.code())
}

fn coded(message: &str, code: &str) -> JsValue {
    let error = js_sys::Error::new(message).into();
    set(&error, "code", code.into());
    error
}

fn set(target: &JsValue, name: &str, value: JsValue) {
    // A fresh `Error` takes every property.
    let _ = js_sys::Reflect::set(target, &name.into(), &value);
}
