//! Exercises made of the line: a shape through a scale, the line in twelve keys. They can be heard before they are made.

use halfbar_words::make as says;

use halfbar_core::drill::{self, Exercise, Region, Shape};
use halfbar_core::key::{Key, Mode};
use halfbar_core::line::{Heading, Line};
use halfbar_core::neck::Fret;
use halfbar_core::scale::{Scale, ScaleError, ScaleKind};
use halfbar_core::time::Span;
use halfbar_core::{Piece, write};
use halfbar_dom::form::{Told, chosen, number, offer_as, say, sentence};
use halfbar_dom::{Result, by_id};
use halfbar_markup::capital;
use web_sys::{HtmlInputElement, HtmlSelectElement};

use crate::app::{App, Control};
use crate::page::{Page, Stretch};

/// The tonics on offer, of the usual keys, major and minor.
const TONICS: [&str; 18] =
    ["C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#", "F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb"];

/// The attribute with the key whose scale was last chosen for the reader.
const OF_KEY: &str = "data-key";

/// Makes an exercise of a piece.
type Make = fn(&Piece, &Stretch) -> Result<Told<Exercise>>;

const TWELVE: Make = |piece, _| keys(piece);

/// What a reader does to have more music made.
pub(crate) const CONTROLS: &[Control] = &[
    ("hear-shape", "click", |app, _| app.hear_first("hear-shape", shape, says::THE_SEQUENCE)),
    ("make-shape", "click", |app, _| app.make(shape, says::SEQUENCE)),
    ("hear-keys", "click", |app, _| app.hear_first("hear-keys", TWELVE, says::THE_KEYS)),
    ("make-keys", "click", |app, _| app.make(TWELVE, says::TWELVE_KEYS)),
];

/// Offers the scales, and chooses the line's own where its key is another one than before.
pub(crate) fn offer_scales(page: &Page) -> Result<()> {
    let (tonics, kinds): (HtmlSelectElement, HtmlSelectElement) =
        (by_id("scale-tonic")?, by_id("scale-kind")?);
    if tonics.length() == 0 {
        for name in TONICS {
            offer_as(&tonics, name, &name.replace('b', "♭").replace('#', "♯"))?;
        }
        for kind in ScaleKind::all() {
            offer_as(&kinds, kind.name(), &capital(kind.name()))?;
        }
        by_id::<HtmlInputElement>("highest-fret")?.set_value(&Region::default().up_to.0.to_string());
    }
    let Some(key) = page.piece().map(|piece| piece.line().bars().key(0)) else { return Ok(()) };
    let name = key.to_string();
    if tonics.get_attribute(OF_KEY).as_ref() != Some(&name) {
        tonics.set_attribute(OF_KEY, &name)?;
        tonics.set_value(&key.tonic().to_string());
        let kind = ScaleKind::named(if key.mode() == Mode::Major { "major" } else { "minor" });
        kinds.set_value(kind.map_or("", ScaleKind::name));
    }
    Ok(())
}

impl App {
    /// An exercise of the line as it is now; says why where there can be none.
    fn made(&self, make: Make) -> Result<Told<Exercise>> {
        match self.page.right() {
            Ok(piece) => make(piece, self.page.stretch()),
            Err(why) => Ok(Err(why)),
        }
    }

    /// Plays an exercise that isn't made yet.
    fn hear_first(&mut self, button: &str, make: Make, name: &str) -> Result<()> {
        let button = by_id(button)?;
        if self.practice.stop_by(&button)? {
            return Ok(());
        }
        let piece = self
            .made(make)?
            .and_then(|made| Piece::new(made.line, made.casting).map_err(|error| error.to_string()));
        let heard = match piece {
            Ok(piece) => self.practice.hear_aside(button, name.into(), piece)?,
            Err(why) => Err(why),
        };
        say("make-says", &heard.map_or_else(|why| sentence(&why), |()| String::new()))
    }

    /// Has an exercise made of the line, as a new line whose title says what it is.
    fn make(&mut self, make: Make, what: &str) -> Result<()> {
        let text = self.made(make)?.and_then(|made| {
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
    let (steps, up_to) = (number("shape-steps", says::NUMBER_OF_STEPS)?, highest_fret()?);
    let down = chosen("shape-way")? == "down";
    Ok((|| {
        let scale: Scale = scale.parse().map_err(|error: ScaleError| error.to_string())?;
        let steps = i8::try_from(steps?).unwrap_or(i8::MAX);
        let region = Region { strings: strings.parse().ok(), up_to: up_to? };
        let (line, casting) = (piece.line(), piece.casting());
        let stretch = match which.as_str() {
            "stretch" => stretch(line, chosen_stretch)?,
            _ => drill::first_shape(line, casting).map_err(|error| error.to_string())?,
        };
        let steps = if down { -steps } else { steps };
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
    Ok(highest_fret()?.and_then(|up_to| {
        let region = Region { up_to, ..Region::default() };
        drill::keys(piece.line(), piece.casting(), cycle, region).map_err(|error| error.to_string())
    }))
}

/// The scale of a key.
pub(crate) fn scale_of(key: Key) -> String {
    format!("{} {}", key.tonic(), if key.mode() == Mode::Major { "major" } else { "minor" })
}

/// The highest fret that an exercise may use.
pub(crate) fn highest_fret() -> Result<Told<Fret>> {
    let fret = number("highest-fret", says::HIGHEST_FRET)?;
    Ok(fret.map(|fret| Fret(u8::try_from(fret).unwrap_or(u8::MAX))))
}

/// What came of it, a sentence a row.
fn told(made: &Exercise) -> String {
    let bars = made.line.bar_count();
    let mut told = vec![says::bars_written(bars)];
    told.extend(made.remarks().into_iter().map(|remark| remark + "."));
    told.join("\n")
}
