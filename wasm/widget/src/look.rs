//! What an element's attributes ask for.

use halfbar_core::dialect::Dialect;
use halfbar_core::engrave::{View, Width};
use halfbar_core::recast::{Figure, Spelling};
use halfbar_words::element as says;
use js_sys::Reflect;
use wasm_bindgen::prelude::*;

/// The options as they were given. What is missing, or no such thing, is as usual.
#[derive(Clone, PartialEq, Default)]
pub(crate) struct Options {
    pub(crate) view: View,
    pub(crate) width: Option<f64>,
    pub(crate) fingers: bool,
    pub(crate) pads: bool,
    pub(crate) shelf: bool,
    /// Whether the text's recasts are the answer to a task.
    pub(crate) task: bool,
    /// Whether a new text keeps what a reader has recast.
    pub(crate) keep: bool,
    /// Whether a new text is the one before, as a reader has recast it.
    pub(crate) again: bool,
    pub(crate) figure: Option<String>,
    pub(crate) spelling: Option<Spelling>,
    pub(crate) words: Dialect,
}

/// Something wrong with an option: its name, and a sentence.
pub(crate) type Wrong = (&'static str, String);

impl Options {
    /// Reads the options, and says what is wrong with them.
    pub(crate) fn read(options: &JsValue) -> (Options, Vec<Wrong>) {
        let mut wrong = Vec::new();
        let get = |name: &str| Reflect::get(options, &name.into()).unwrap_or_default();
        let is = |name: &str| get(name).is_truthy();
        let text = |name: &str| get(name).as_string().filter(|text| !text.is_empty());
        let [fingers, pads, shelf, task, keep, again] =
            ["fingers", "pads", "shelf", "task", "keep", "again"].map(is);
        let mut read =
            Options { fingers, pads, shelf, task, keep, again, figure: text("figure"), ..Options::default() };
        if let Some(view) = text("view") {
            match view.parse() {
                Ok(view) => read.view = view,
                Err(_) => {
                    wrong.push(("view", says::no_view(&view)));
                }
            }
        }
        if let Some(words) = text("words") {
            match words.parse() {
                Ok(words) => read.words = words,
                Err(_) => wrong.push(("words", says::no_words(&words))),
            }
        }
        if let Some(spelling) = text("spelling") {
            read.spelling = spelling.parse().ok();
            if read.spelling.is_none() {
                let names = Spelling::ALL.map(Spelling::name).join(", ");
                wrong.push(("spelling", says::no_spelling(&spelling, &names)));
            }
        }
        if let Some(width) = get("width").as_f64() {
            read.width = Width::new(width).ok().map(Width::spaces);
            if read.width.is_none() {
                let says = says::WIDTHS;
                wrong.push(("width", says.into()));
            }
        }
        (read, wrong)
    }
}

/// What is wrong with a figure's name.
pub(crate) fn no_figure(name: &str) -> Wrong {
    let names: Vec<&str> = Figure::all().iter().map(|figure| figure.name()).collect();
    ("figure", says::no_figure(name, names.join(", ")))
}
