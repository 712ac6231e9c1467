//! Lines and what a script asks of them, with what is wrong as JavaScript errors.

use halfbar_core::bars::Place;
use halfbar_core::engrave::{Layout, Width};
use halfbar_core::recast::Window;
use halfbar_core::time::Duration;
use halfbar_core::{Error, read};
use halfbar_dom::MOST_BARS;
use halfbar_words::view as says;
use js_sys::Object;
use std::fmt;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;

/// Something wrong with a text, or worth saying about it, as a script sees it. The module of the element has no messages for what is wrong with a
/// text: their wording is a tenth of what would be downloaded, and few readers ever see one.
#[allow(missing_docs)]
pub struct Problem {
    pub line: usize,
    pub column: usize,
    pub length: usize,
    pub code: &'static str,
    pub message: Option<String>,
}

/// Why a text that is right still can't be drawn.
pub enum Undrawable {
    /// It has this many bars, which is too many.
    Long(usize),
    /// A stage failed.
    Failed(Error),
}

impl Undrawable {
    /// What a script calls it.
    pub const CODE: &'static str = "undrawable";

    /// The message for a line of this many bars.
    pub fn long(bars: usize) -> String {
        says::too_many_bars(bars, MOST_BARS)
    }
}

impl fmt::Display for Undrawable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Undrawable::Long(bars) => f.write_str(&Undrawable::long(*bars)),
            Undrawable::Failed(error) => error.fmt(f),
        }
    }
}

/// The piece that a text says, with what has not changed since the one before; an error for a text that is right and still can't be
/// drawn. `None` for a text that is wrong, as its diagnostics say.
pub fn piece_of(
    reading: &read::Reading,
    before: Option<&halfbar_core::Piece>,
) -> Option<Result<halfbar_core::Piece, Undrawable>> {
    let line = reading.line.as_ref().filter(|_| reading.diagnostics.is_empty())?;
    let bars = line.bar_count();
    if bars > MOST_BARS {
        return Some(Err(Undrawable::Long(bars)));
    }
    let (line, casting) = (line.clone(), reading.casting.clone());
    let piece = match before {
        Some(before) => halfbar_core::Piece::after(before, line, casting),
        None => halfbar_core::Piece::new(line, casting),
    };
    Some(piece.map_err(Undrawable::Failed))
}

/// Makes a JavaScript `Error` from one of the core.
pub type Worded = fn(Error) -> JsValue;

/// A piece with the window at a bar and beat recast, both counted from 1; without a spelling, in the figure's usual one.
///
/// # Errors
/// An `Error` with `code` when there is no such place, figure or spelling, or when the window can't be recast.
pub fn recast(
    piece: &halfbar_core::Piece,
    (bar, beat): (u32, f64),
    figure: &str,
    spelling: Option<String>,
    worded: Worded,
) -> Result<halfbar_core::Piece, JsValue> {
    let unknown = |name: &str| coded(&says::unknown(name), "figure");
    let figure = piece.casting().figure(figure).ok_or_else(|| unknown(figure))?;
    let spelling = match spelling {
        Some(name) => name.parse().map_err(|_| unknown(&name))?,
        None => figure.spellings()[0],
    };
    let start = onset(piece, bar, beat).map_err(worded)?;
    let mut casting = piece.casting().clone();
    casting.put(Window::new(start, figure, spelling));
    halfbar_core::Piece::after(piece, piece.line().clone(), casting).map_err(worded)
}

/// A piece with the window at a bar and beat plain again, and whether anything stood there.
///
/// # Errors
/// An `Error` with `code` when there is no such place.
pub fn restore(
    piece: &halfbar_core::Piece,
    (bar, beat): (u32, f64),
    worded: Worded,
) -> Result<(halfbar_core::Piece, bool), JsValue> {
    let start = onset(piece, bar, beat).map_err(worded)?;
    let mut casting = piece.casting().clone();
    let restored = casting.restore(start).is_some();
    let piece = halfbar_core::Piece::after(piece, piece.line().clone(), casting).map_err(worded)?;
    Ok((piece, restored))
}

fn onset(piece: &halfbar_core::Piece, bar: u32, beat: f64) -> Result<halfbar_core::time::Onset, Error> {
    // Windows start on eighths, so beats are halves; what is no half, or no number, comes out as no beat.
    #[allow(clippy::cast_possible_truncation)]
    let halves = if (beat * 2.0).fract() == 0.0 { (beat * 2.0) as i32 } else { 0 };
    let place = Place { bar, beat: Duration::of(halves, 2) };
    Ok(piece.line().bars().onset(place)?)
}

/// The layout that `svg`'s options ask for; `words` where they name none.
///
/// # Errors
/// An `Error` that names an option that is not known or of the wrong kind.
pub fn layout(options: JsValue, mut layout: Layout) -> Result<Layout, JsValue> {
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
    /// Where a diagnostic is and what it is called, without its message.
    pub fn at(diagnostic: &read::Diagnostic) -> Problem {
        let &read::Diagnostic { line, column, length, ref problem } = diagnostic;
        Problem { line, column, length, code: problem.code(), message: None }
    }

    /// A diagnostic.
    pub fn of(diagnostic: &read::Diagnostic) -> Problem {
        Problem { message: Some(diagnostic.problem.to_string()), ..Problem::at(diagnostic) }
    }

    /// A text that is right and can't be drawn.
    pub fn undrawable(message: Option<String>) -> Problem {
        Problem { line: 1, column: 1, length: 1, code: Undrawable::CODE, message }
    }

    /// As a JavaScript object.
    pub fn record(&self) -> JsValue {
        record([
            ("line", JsValue::from_f64(self.line as f64)),
            ("column", JsValue::from_f64(self.column as f64)),
            ("length", JsValue::from_f64(self.length as f64)),
            ("code", self.code.into()),
            ("message", self.message.as_deref().into()),
        ])
    }

    /// As a JavaScript `Error` with `code`, `line` and `column`.
    pub fn thrown(self) -> JsValue {
        let error = coded(self.message.as_deref().unwrap_or(self.code), self.code);
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

/// A core error that doesn't happen to a piece that was made, as a JavaScript `Error` with its code as the message: see [`Problem`].
pub fn unworded(error: impl Into<Error>) -> JsValue {
    let code = error.into().code();
    coded(code, code)
}

/// A JavaScript `Error` with `code`.
pub fn coded(message: &str, code: &str) -> JsValue {
    let error = js_sys::Error::new(message).into();
    set(&error, "code", code.into());
    error
}

/// A JavaScript object with these properties.
pub fn record<const N: usize>(properties: [(&str, JsValue); N]) -> JsValue {
    let record = Object::new().into();
    for (name, value) in properties {
        set(&record, name, value);
    }
    record
}

fn set(target: &JsValue, name: &str, value: JsValue) {
    // A fresh object takes every property.
    let _ = js_sys::Reflect::set(target, &name.into(), &value);
}
