//! What a worksheet is made of, as texts: the module of worksheets asks for it.

use halfbar_core::drill::LadderStep;
use halfbar_core::line::{Heading, Line};
use halfbar_core::recast::Casting;
use halfbar_core::write;
use halfbar_dom::Result;
use halfbar_dom::form::sentence;
use js_sys::{Array, Error};
use wasm_bindgen::prelude::*;

use crate::keep::Library;
use crate::lesson::Lesson;
use crate::{make, practice};

/// The lines on this device, as rows of number and text.
#[wasm_bindgen]
pub fn lines() -> Array {
    let (library, _) = Library::open();
    library.lines.iter().map(|line| Array::of2(&line.id.into(), &line.text.as_str().into())).collect()
}

/// The texts of the `steps` to the figure on the shelf, of the `shape` moved as the page's fields say, or of the line in twelve `keys`.
///
/// # Errors
/// A JavaScript `Error` that says what stands against it, as a sentence.
#[wasm_bindgen]
pub fn texts(what: &str) -> Result<Vec<String>> {
    let mut lesson = Lesson::new()?;
    let made = match lesson.right() {
        Err(why) => Err(why),
        Ok(piece) if what == "steps" => {
            practice::steps_of(piece)?.map(|steps| steps.into_iter().map(unnumbered).collect())
        }
        Ok(piece) => {
            let made = if what == "shape" { make::shape(piece)? } else { make::keys(piece)? };
            made.map(|made| vec![(made.line, made.casting)])
        }
    };
    let texts = made.and_then(|made| {
        let texts = made.iter().map(|(line, casting)| write::text::line(line, casting));
        texts.collect::<std::result::Result<_, _>>().map_err(|error| error.to_string())
    });
    texts.map_err(|why| Error::new(&sentence(&why)).into())
}

/// A step, called by what is to be done: a worksheet numbers its examples itself.
fn unnumbered(step: LadderStep) -> (Line, Casting) {
    let heading = Heading { title: step.says, ..step.line.heading().clone() };
    (step.line.with_heading(heading), step.casting)
}
