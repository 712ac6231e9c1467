//! Make more of it: a shape through a scale, the line in twelve keys.

use halfbar_words::make as says;

use halfbar_core::drill::{self, Exercise, Region, Shape};
use halfbar_core::line::{Heading, Line};
use halfbar_core::scale::{Scale, ScaleError, ScaleKind};
use halfbar_core::time::Span;
use halfbar_core::{Piece, write};
use halfbar_dom::form::{Told, chosen, number, offer, say, sentence};
use halfbar_dom::{Result, by_id};
use web_sys::{Element, HtmlSelectElement};

use crate::app::{App, Control};
use crate::page::{Page, Stretch};

/// The tonics on offer, of the usual keys.
const TONICS: [&str; 15] =
    ["C", "G", "D", "A", "E", "B", "F#", "C#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb"];

/// What a reader does to have more music made.
pub(crate) const CONTROLS: &[Control] = &[
    ("make-shape", "click", |app, _| app.make(shape, says::SEQUENCE)),
    ("make-keys", "click", |app, _| app.make(|piece, _| keys(piece), says::TWELVE_KEYS)),
];

/// Offers the scales, the line's own first; once.
pub(crate) fn offer_scales(page: &Page) -> Result<()> {
    let (tonics, kinds): (HtmlSelectElement, Element) = (by_id("scale-tonic")?, by_id("scale-kind")?);
    if tonics.length() > 0 {
        return Ok(());
    }
    for name in TONICS {
        offer(&tonics, name)?;
    }
    for kind in ScaleKind::all() {
        offer(&kinds, kind.name())?;
    }
    if let Some(piece) = page.piece() {
        tonics.set_value(&piece.line().bars().key(0).tonic().to_string());
    }
    Ok(())
}

impl App {
    /// Has an exercise made of the line, as a new line whose title says what it is.
    fn make(&mut self, make: fn(&Piece, &Stretch) -> Result<Told<Exercise>>, what: &str) -> Result<()> {
        let made = match self.page.right() {
            Ok(piece) => make(piece, self.page.stretch())?,
            Err(why) => Err(why),
        };
        let text = made.and_then(|made| {
            let heading = made.line.heading();
            let title = says::titled(&heading.title, what);
            let line = made.line.clone().with_heading(Heading { title, ..heading.clone() });
            let text = write::text::line(&line, &made.casting).map_err(|error| error.to_string())?;
            Ok((text, told(&made)))
        });
        let says = match text {
            Ok((text, says)) => {
                self.keep.begin_line(&mut self.page, &text, says::NEW_LINE)?;
                says
            }
            Err(why) => sentence(&why),
        };
        say("make-says", &says)
    }
}

/// The shape that is asked for, and its copies.
pub(crate) fn shape(piece: &Piece, chosen_stretch: &Stretch) -> Result<Told<Exercise>> {
    let scale = format!("{} {}", chosen("scale-tonic")?, chosen("scale-kind")?);
    let (strings, which) = (chosen("shape-strings")?, chosen("shape-of")?);
    let steps = number("shape-steps", says::NUMBER_OF_STEPS)?;
    let down = chosen("shape-way")? == "down";
    Ok((|| {
        let scale: Scale = scale.parse().map_err(|error: ScaleError| error.to_string())?;
        let steps = i8::try_from(steps?).unwrap_or(i8::MAX);
        let (line, casting) = (piece.line(), piece.casting());
        let stretch = match which.as_str() {
            "stretch" => stretch(line, chosen_stretch)?,
            _ => drill::first_shape(line, casting).map_err(|error| error.to_string())?,
        };
        let steps = if down { -steps } else { steps };
        let region = Region { strings: strings.parse().ok(), ..Region::default() };
        let shape = Shape { stretch, scale, steps, region };
        drill::sequence(line, casting, &shape).map_err(|error| error.to_string())
    })())
}

/// The stretch that is chosen further up in the page.
fn stretch(line: &Line, chosen: &Stretch) -> Told<Span> {
    chosen.places().ok_or(says::CHOOSE_A_SELECTION)?;
    chosen.span(line)
}

/// The line in twelve keys.
pub(crate) fn keys(piece: &Piece) -> Result<Told<Exercise>> {
    let cycle = chosen("keys-by")?.parse().unwrap_or(drill::Cycle::Fourths);
    Ok(drill::keys(piece.line(), piece.casting(), cycle, Region::default())
        .map_err(|error| error.to_string()))
}

/// What came of it, a sentence a row.
fn told(made: &Exercise) -> String {
    let bars = made.line.bar_count();
    let mut told = vec![says::bars_written(bars)];
    told.extend(made.remarks().into_iter().map(|remark| remark + "."));
    told.join("\n")
}
