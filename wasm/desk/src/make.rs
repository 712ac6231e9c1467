//! Make more of it: a shape through a scale, the line in twelve keys.

use halfbar_words::desk as says;
use std::cell::RefCell;
use std::rc::Rc;

use halfbar_core::bars::Place;
use halfbar_core::drill::{self, Exercise, Shape};
use halfbar_core::line::Line;
use halfbar_core::scale::{Scale, ScaleError, ScaleKind};
use halfbar_core::time::Span;
use halfbar_core::{Piece, write};
use halfbar_dom::form::{Told, chosen, entered, number, offer, say, sentence};
use halfbar_dom::{Result, by_id, on};
use web_sys::{Element, HtmlSelectElement};

use crate::lesson::{Lesson, between};

/// The tonics on offer, of the usual keys.
const TONICS: [&str; 15] =
    ["C", "G", "D", "A", "E", "B", "F#", "C#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb"];

pub(crate) fn open(lesson: &Rc<RefCell<Lesson>>) -> Result<()> {
    let (tonics, kinds): (Element, Element) = (by_id("scale-tonic")?, by_id("scale-kind")?);
    for name in TONICS {
        offer(&tonics, name)?;
    }
    for kind in ScaleKind::all() {
        offer(&kinds, kind.name())?;
    }
    if let Some(piece) = lesson.borrow().piece() {
        let key = piece.line().bars().key(0);
        by_id::<HtmlSelectElement>("scale-tonic")?.set_value(&key.tonic().to_string());
    }
    for (button, make) in [("make-shape", shape as fn(&Piece) -> Result<Told<Exercise>>), ("make-keys", keys)]
    {
        let button: Element = by_id(button)?;
        on(lesson, &button, "click", move |lesson, _| {
            let made = match lesson.right() {
                Ok(piece) => make(piece)?,
                Err(why) => Err(why),
            };
            let text = made.and_then(|made| {
                let text = write::text::line(&made.line, &made.casting).map_err(|error| error.to_string())?;
                Ok((text, told(&made)))
            });
            let says = match text {
                Ok((text, says)) => {
                    lesson.write(&text)?;
                    says
                }
                Err(why) => sentence(&why),
            };
            say("make-says", &says)
        })?;
    }
    Ok(())
}

/// The shape that is asked for, and its copies.
pub(crate) fn shape(piece: &Piece) -> Result<Told<Exercise>> {
    let scale = format!("{} {}", chosen("scale-tonic")?, chosen("scale-kind")?);
    let (strings, which) = (chosen("shape-strings")?, chosen("shape-of")?);
    let steps = number("shape-steps", says::NUMBER_OF_STEPS)?;
    let down = chosen("shape-way")? == "down";
    let edges = [(entered("from-bar")?, chosen("from-beat")?), (entered("to-bar")?, chosen("to-beat")?)];
    Ok((|| {
        let scale: Scale = scale.parse().map_err(|error: ScaleError| error.to_string())?;
        let steps = i8::try_from(steps?).unwrap_or(i8::MAX);
        let (line, casting) = (piece.line(), piece.casting());
        let stretch = match which.as_str() {
            "stretch" => stretch(line, edges)?,
            _ => drill::first_shape(line, casting).map_err(|error| error.to_string())?,
        };
        let steps = if down { -steps } else { steps };
        let shape = Shape { stretch, scale, steps, strings: strings.parse().ok() };
        drill::sequence(line, casting, &shape).map_err(|error| error.to_string())
    })())
}

/// The stretch that is chosen further up in the page.
fn stretch(line: &Line, edges: [(String, String); 2]) -> Told<Span> {
    let [start, end] = edges.map(|(bar, beat)| {
        let place = bar.parse().ok().zip(beat.parse().ok()).map(|(bar, beat)| Place { bar, beat });
        let place = place.ok_or(says::CHOOSE_A_STRETCH)?;
        line.bars().onset(place).map_err(|error| error.to_string())
    });
    between(line, start?, end?)
}

/// The line in twelve keys.
pub(crate) fn keys(piece: &Piece) -> Result<Told<Exercise>> {
    let cycle = chosen("keys-by")?.parse().unwrap_or(drill::Cycle::Fourths);
    Ok(drill::keys(piece.line(), piece.casting(), cycle).map_err(|error| error.to_string()))
}

/// What came of it, a sentence a row.
fn told(made: &Exercise) -> String {
    let bars = made.line.bar_count();
    let mut told = vec![says::bars_written(bars)];
    told.extend(made.remarks().into_iter().map(|remark| remark + "."));
    told.join("\n")
}
