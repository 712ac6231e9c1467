//! New lines from chords and scales, which can be heard before they are made.

use halfbar_words::material as says;
use std::fmt::Display;
use std::str::FromStr;

use halfbar_core::chord::ChordSymbol;
use halfbar_core::drill::Region;
use halfbar_core::harmony::Position;
use halfbar_core::line::{Heading, Line};
use halfbar_core::material::{
    self, AlteredShape, Arpeggios, Chain, ChordSize, Fit, Land, Leap, Made, NoteOrder, Pentatonic,
    Progression, Setup, Shapes, Side, Voicing, Way,
};
use halfbar_core::recast::Casting;
use halfbar_core::scale::Scale;
use halfbar_core::{Piece, write};
use halfbar_dom::form::{Told, chosen, entered, number, say, sentence, ticked};
use halfbar_dom::{Result, by_id, create, document};
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, HtmlInputElement};

use crate::app::{App, Control};
use crate::make::{highest_fret, scale_of};
use crate::page::Page;

/// The attribute with the kinds of material that a field is for.
const FOR: &str = "data-for";
/// The attribute with what a field was filled with; what a reader has written instead stays.
const SUGGESTED: &str = "data-suggested";
/// The attributes of the buttons that make a line of what is listed, and let it be heard first, with its index.
const USE: &str = "data-use";
const HEAR: &str = "data-hear";
/// How many copies of the chords go through the key.
const COPIES: u8 = 6;
/// Notes per string of a pentatonic scale that a hand keeps in one position (common practice, no source).
const BOX: u8 = 2;
/// The most chords that the line's own are taken from.
const CHORDS: usize = 4;

/// What a reader does to have lines made.
pub(crate) const CONTROLS: &[Control] = &[
    ("material", "toggle", |app, _| show(&app.page)),
    ("material-kind", "change", |app, _| show(&app.page)),
    ("material-shapes", "change", |app, _| show(&app.page)),
    ("material-chord", "input", |_, _| show_listed()),
    ("make-material", "click", |app, _| app.make_material()),
    ("hear-material", "click", |app, _| app.hear_material()),
    ("material-list", "click", |app, event| app.use_listed(event)),
];

/// A line that was made, and what is said of it.
struct New {
    line: Line,
    casting: Casting,
    says: Vec<String>,
}

impl New {
    /// What was made, under a title.
    fn of(made: Made, title: String) -> New {
        let says = made.remarks.iter().map(ToString::to_string).collect();
        let heading = Heading { title, ..made.line.heading().clone() };
        New { line: made.line.with_heading(heading), casting: Casting::default(), says }
    }
}

/// Shows the fields for the kind that is chosen, filled from the line.
pub(crate) fn show(page: &Page) -> Result<()> {
    let kind = chosen("material-kind")?;
    let fields = document()?.query_selector_all(&format!("#material [{FOR}]"))?;
    for field in (0..fields.length()).filter_map(|index| fields.get(index)) {
        let field: &HtmlElement = field.unchecked_ref();
        let is_for = field.get_attribute(FOR).is_some_and(|kinds| kinds.split(' ').any(|one| one == kind));
        field.set_hidden(!is_for);
    }
    if chosen("material-shapes")? != "listed" {
        by_id::<HtmlElement>("material-listed-field")?.set_hidden(true);
    }
    by_id::<Element>("material-list")?.set_inner_html("");
    say("material-says", "")?;
    let Some((chords, key)) = page.chords_here(CHORDS) else { return Ok(()) };
    let first = chords.split([':', ' ']).next().unwrap_or_default().to_string();
    suggest("material-chords", &chords)?;
    suggest("material-chord", &first)?;
    suggest("material-scale", &key)?;
    show_listed()
}

/// Lists what there is for a chord, where that is asked for.
fn show_listed() -> Result<()> {
    match chosen("material-kind")?.as_str() {
        "fits" => list(fits()?.map(|fits| rows(&fits))),
        "altered" => list(altered()?.map(|shapes| rows(&shapes))),
        _ => Ok(()),
    }
}

/// Fills a field, unless a reader has written something else there.
fn suggest(id: &str, value: &str) -> Result<()> {
    let field: HtmlInputElement = by_id(id)?;
    let written = field.value();
    if written.is_empty() || field.get_attribute(SUGGESTED).as_deref() == Some(&written) {
        field.set_value(value);
        field.set_attribute(SUGGESTED, value)?;
    }
    Ok(())
}

/// What is read from a field.
fn read<T: FromStr<Err: Display>>(text: &str) -> Told<T> {
    text.trim().parse().map_err(|error: T::Err| error.to_string())
}

/// What is read from a field that may be empty.
fn read_if_any<T: FromStr<Err: Display>>(text: &str) -> Told<Option<T>> {
    if text.trim().is_empty() { Ok(None) } else { read(text).map(Some) }
}

fn told<T>(made: std::result::Result<T, impl Display>) -> Told<T> {
    made.map_err(|error| error.to_string())
}

impl App {
    /// The line that is asked for; says why where there can be none.
    fn material(&self) -> Result<Told<New>> {
        let kind = chosen("material-kind")?;
        if kind == "land" {
            return Ok(match self.page.right() {
                Ok(piece) => landed(piece)?,
                Err(why) => Err(why),
            });
        }
        let setup = match setup(&self.page)? {
            Ok(setup) => setup,
            Err(why) => return Ok(Err(why)),
        };
        match kind.as_str() {
            "chain" => chain(setup),
            "arpeggios" => arpeggios(setup),
            "voicing" => voicing(setup),
            _ => pentatonic(setup),
        }
    }

    fn make_material(&mut self) -> Result<()> {
        let new = self.material()?;
        self.begin_material(new)
    }

    /// Makes a line of what is listed, or plays it.
    fn use_listed(&mut self, event: &Event) -> Result<()> {
        let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let button = target.map_or(Ok(None), |target| target.closest("button"))?;
        let Some(button) = button.and_then(|button| button.dyn_into::<HtmlElement>().ok()) else {
            return Ok(());
        };
        let index = |attribute: &str| button.get_attribute(attribute)?.parse::<usize>().ok();
        match (index(USE), index(HEAR)) {
            (Some(index), _) => {
                let new = self.listed(index)?;
                self.begin_material(new)
            }
            (_, Some(_)) if self.practice.stop_by(&button)? => Ok(()),
            (_, Some(index)) => {
                let new = self.listed(index)?;
                self.hear(button, new)
            }
            _ => Ok(()),
        }
    }

    /// The line of what is listed at an index.
    fn listed(&self, index: usize) -> Result<Told<New>> {
        let (setup, chord) = (setup(&self.page)?, entered("material-chord")?);
        Ok(match chosen("material-kind")?.as_str() {
            "altered" => altered()?.and_then(|shapes| {
                let shape = shapes.get(index).ok_or(says::NOT_LISTED)?;
                let title = says::over(&shape.chord.to_string(), &chord);
                Ok(New::of(told(shape.line(&setup?))?, title))
            }),
            _ => fits()?.and_then(|fits| {
                let scale = fits.get(index).ok_or(says::NOT_LISTED)?.scale;
                let asked = Pentatonic {
                    setup: setup?,
                    over: read_if_any(&chord)?,
                    per_string: Some(BOX),
                    ..Pentatonic::new(scale)
                };
                Ok(New::of(told(material::pentatonic(&asked))?, says::over(&scale.to_string(), &chord)))
            }),
        })
    }

    /// Opens a line that was made as a new one, and says what came of it.
    fn begin_material(&mut self, new: Told<New>) -> Result<()> {
        let text = new.and_then(|new| {
            let text = told(write::text::line(&new.line, &new.casting))?;
            let says: Vec<String> = new.says.iter().map(|remark| sentence(remark)).collect();
            Ok((text, says.join("\n")))
        });
        let says = match text {
            Ok((text, says)) => {
                self.keep.begin_line(&mut self.page, &text, halfbar_words::make::NEW_LINE)?;
                says
            }
            Err(why) => sentence(&why),
        };
        say("material-says", &says)
    }

    /// Plays a line that isn't made yet.
    fn hear_material(&mut self) -> Result<()> {
        let button = by_id("hear-material")?;
        if self.practice.stop_by(&button)? {
            return Ok(());
        }
        let new = self.material()?;
        self.hear(button, new)
    }

    /// Plays a line until its button is pressed again, or says why there is none.
    fn hear(&mut self, button: HtmlElement, new: Told<New>) -> Result<()> {
        let piece = new.and_then(|new| told(Piece::new(new.line, new.casting)));
        let heard = match piece {
            Ok(piece) => self.practice.hear_aside(button, says::THE_NEW_LINE.into(), piece)?,
            Err(why) => Err(why),
        };
        say("material-says", &heard.map_or_else(|why| sentence(&why), |()| String::new()))
    }
}

/// Meter, key and neck of the line, with the strings that are chosen.
fn setup(page: &Page) -> Result<Told<Setup>> {
    let own = page.piece().map_or_else(Setup::default, |piece| Setup::of(piece.line()));
    let strings = chosen("material-strings")?.parse().ok();
    Ok(highest_fret()?.map(|up_to| Setup { region: Region { strings, up_to }, ..own }))
}

fn chain(setup: Setup) -> Result<Told<New>> {
    let (chords, shapes, listed) =
        (entered("material-chords")?, chosen("material-shapes")?, entered("material-listed")?);
    let (inversion, way, leap) =
        (chosen("material-join")?, chosen("material-chain-way")?, chosen("material-leap")?);
    let (notes, through) = (entered("material-notes")?, chosen("material-through")?);
    Ok((|| {
        let own: Progression = read(&chords)?;
        let steps = match through.as_str() {
            "steps" => 1,
            "thirds" => 2,
            _ => 0,
        };
        let key = setup.bars.key(0);
        let progression = match steps {
            0 => own,
            steps => told(own.through(read(&scale_of(key))?, steps, COPIES))?,
        };
        let shapes: Shapes = read(if shapes == "listed" { &listed } else { &shapes })?;
        let asked = Chain {
            setup,
            shapes,
            inversion: read_if_any(&inversion)?,
            direction: read_if_any::<Way>(&way)?,
            notes: read_if_any(&notes)?,
            leap: read::<Leap>(&leap)?,
            ..Chain::new(progression)
        };
        Ok(New::of(told(material::chain(&asked))?, says::chained(&chords)))
    })())
}

fn arpeggios(setup: Setup) -> Result<Told<New>> {
    let (scale, size, inversion) =
        (entered("material-scale")?, chosen("material-size")?, chosen("material-inversion")?);
    let (order, way, one_per_string) =
        (entered("material-order")?, chosen("material-way")?, ticked("material-one-per-string")?);
    let steps = number("material-steps", halfbar_words::make::NUMBER_OF_STEPS)?;
    Ok((|| {
        let scale: Scale = read(&scale)?;
        let asked = Arpeggios {
            setup,
            size: read::<ChordSize>(&size)?,
            inversion: read_if_any(&inversion)?,
            order: read_if_any::<NoteOrder>(&order)?.unwrap_or_default(),
            direction: read::<Way>(&way)?,
            one_per_string,
            steps: i8::try_from(steps?).unwrap_or(i8::MAX),
            ..Arpeggios::new(scale)
        };
        Ok(New::of(told(material::arpeggios(&asked))?, says::arpeggios_of(&scale.to_string())))
    })())
}

fn voicing(setup: Setup) -> Result<Told<New>> {
    let (chords, position, lowest, order) = (
        entered("material-chords")?,
        chosen("material-position")?,
        chosen("material-lowest")?,
        entered("material-order")?,
    );
    Ok((|| {
        let position = match position.as_str() {
            "3" => Position::DropThree,
            "2+4" => Position::DropTwoAndFour,
            "shell" => Position::Shell,
            "spread" => Position::Spread,
            _ => Position::DropTwo,
        };
        let asked = Voicing {
            setup,
            position,
            lowest: read_if_any(&lowest)?,
            order: read_if_any::<NoteOrder>(&order)?.unwrap_or_default(),
            ..Voicing::new(read(&chords)?)
        };
        Ok(New::of(told(material::voicing(&asked))?, says::voicings_of(&chords)))
    })())
}

fn pentatonic(setup: Setup) -> Result<Told<New>> {
    let (scale, groups, per_string) =
        (entered("material-tonic")?, chosen("material-groups")?, chosen("material-per-string")?);
    let (skips, way, over) = (ticked("material-skip")?, chosen("material-way")?, entered("material-over")?);
    let advance = number("material-advance", says::ADVANCE)?;
    Ok((|| {
        let scale = told(material::pentatonic_scale(&scale))?;
        let asked = Pentatonic {
            setup,
            groups: read_if_any(&groups)?,
            advance: u8::try_from(advance?).unwrap_or(u8::MAX),
            skips,
            per_string: read_if_any(&per_string)?,
            direction: read::<Way>(&way)?,
            over: read_if_any::<ChordSymbol>(&over)?,
            ..Pentatonic::new(scale)
        };
        Ok(New::of(told(material::pentatonic(&asked))?, scale.to_string()))
    })())
}

/// The line as it lands on its chords, with what is changed for that.
fn landed(piece: &Piece) -> Result<Told<New>> {
    let (targets, from) = (entered("material-targets")?, chosen("material-from")?);
    let most = number("material-most", says::MOST_CHANGED)?;
    Ok((|| {
        let numbers = targets.split([' ', ',']).filter(|one| !one.is_empty());
        let targets = numbers.map(str::parse).collect::<std::result::Result<_, _>>();
        let asked = Land {
            targets: targets.map_err(|_| says::TARGETS.to_string())?,
            from: read_if_any::<Side>(&from)?,
            most: u8::try_from(most?).unwrap_or(u8::MAX),
            ..Land::default()
        };
        let landed = told(material::land(piece.line(), piece.casting(), &asked))?;
        let says: Vec<String> = landed.changes.iter().map(ToString::to_string).collect();
        if landed.changes.iter().all(|change| change.changed.is_empty()) {
            return Err(says.join(". "));
        }
        Ok(New { line: landed.line, casting: landed.casting, says })
    })())
}

/// The pentatonic scales that fit the chord.
fn fits() -> Result<Told<Vec<Fit>>> {
    Ok(read::<ChordSymbol>(&entered("material-chord")?).and_then(|chord| told(material::pentatonics(&chord))))
}

/// The shapes of the dominant.
fn altered() -> Result<Told<Vec<AlteredShape>>> {
    Ok(read::<ChordSymbol>(&entered("material-chord")?).and_then(|chord| told(material::altered(&chord))))
}

fn rows(of: &[impl Display]) -> Vec<String> {
    of.iter().map(ToString::to_string).collect()
}

/// Lists what there is, each with a button that makes a line of it.
fn list(rows: Told<Vec<String>>) -> Result<()> {
    let list: Element = by_id("material-list")?;
    list.set_inner_html("");
    let rows = match rows {
        Ok(rows) => rows,
        Err(why) => return say("material-says", &sentence(&why)),
    };
    say("material-says", "")?;
    for (index, row) in rows.iter().enumerate() {
        let item: Element = create("li")?;
        item.set_text_content(Some(&format!("{} ", says::printed(row))));
        for (attribute, label) in [(USE, says::CREATE), (HEAR, says::HEAR)] {
            let button: HtmlElement = create("button")?;
            button.set_attribute("type", "button")?;
            button.set_attribute(attribute, &index.to_string())?;
            button.set_text_content(Some(label));
            item.append_child(&button)?;
            item.append_with_str_1(" ")?;
        }
        list.append_child(&item)?;
    }
    Ok(())
}
