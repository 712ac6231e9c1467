//! One line, drawn, with its pads, its shelf and what is said about it.

use halfbar_words::element as says;
use halfbar_words::shared::seen;
use std::cell::RefCell;
use std::sync::Arc;

use halfbar_core::recast::{self, Cast, Casting, Figure, Grid, Spelling, Window};
use halfbar_core::score::Annotations;
use halfbar_core::time::Onset;
use halfbar_core::{Error, Piece, read, write};
use halfbar_dom::{Result, create};
use halfbar_markup::{Look, capital, left_out, named, spelling_for};
use halfbar_view::{
    Choices, Go, Pictures, Problem, Reader, Sheet, Undrawable, coded, names, pad_of, piece_of, record,
    unworded,
};
use wasm_bindgen::prelude::*;
use web_sys::{Element, Event, HtmlElement, KeyboardEvent};

use crate::look::{Options, Wrong, no_figure};

thread_local! {
    /// The rhythms' pictures, which all examples of a page share.
    static PICTURES: RefCell<Pictures> = RefCell::default();
}

/// Something to tell: its name and its detail.
type News = (&'static str, JsValue);

pub(crate) struct Example {
    sheet: Sheet,
    music: HtmlElement,
    shelf: HtmlElement,
    /// The choices, from the first time on that the shelf is shown.
    choices: Option<Choices>,
    status: HtmlElement,
    problem: HtmlElement,
    /// All that is said, in the reader's words.
    reader: Reader,
    options: Options,
    /// What is wrong with them.
    wrong: Vec<Wrong>,
    figure: Arc<Figure>,
    /// The spelling that was asked for; a figure that lacks it takes its usual one.
    wanted: Spelling,
    /// The text, right or wrong.
    text: String,
    /// The last text that was right, as a piece; it stays on screen while the text is wrong.
    piece: Option<Piece>,
    /// What the text's author has recast, and what a reader starts from: with a task, nothing.
    answer: Casting,
    given: Casting,
    right: bool,
    drawn: bool,
    /// What is to be told when all is done.
    pub(crate) news: Vec<News>,
}

impl Example {
    pub(crate) fn new(root: HtmlElement) -> Result<Example> {
        let part = |kind: &str, name: &str| -> Result<HtmlElement> {
            let part: HtmlElement = create(kind)?;
            part.set_class_name(name);
            part.set_attribute("part", name)?;
            root.append_child(&part)?;
            Ok(part)
        };
        let (music, shelf) = (part("div", "music")?, part("div", "shelf")?);
        let (status, problem) = (part("p", "status")?, part("p", "problem")?);
        music.set_attribute("role", "group")?;
        shelf.set_hidden(true);
        problem.set_hidden(true);
        for said in [&status, &problem] {
            said.set_attribute("role", "status")?;
        }
        Ok(Example {
            sheet: Sheet::new(music.clone())?,
            music,
            shelf,
            choices: None,
            status,
            problem,
            reader: Reader::new(root.into())?,
            options: Options::default(),
            wrong: Vec::new(),
            figure: Arc::clone(&Figure::all()[0]),
            wanted: Spelling::Bracket,
            text: String::new(),
            piece: None,
            answer: Casting::default(),
            given: Casting::default(),
            right: false,
            drawn: false,
            news: Vec::new(),
        })
    }

    /// What a reader taps: the music and the shelf.
    pub(crate) fn roots(&self) -> (HtmlElement, HtmlElement) {
        (self.music.clone(), self.shelf.clone())
    }

    pub(crate) fn show(&mut self, text: Option<String>, options: &JsValue) -> Result<()> {
        let (options, mut wrong) = Options::read(options);
        let before = std::mem::replace(&mut self.options, options);
        if let Some(text) = text {
            self.read(text)?;
        }
        if self.options.spelling != before.spelling || self.options.figure != before.figure {
            self.wanted = self.options.spelling.unwrap_or(Spelling::Bracket);
            self.figure = Arc::clone(&Figure::all()[0]);
            if let Some(name) = self.options.figure.clone() {
                let own = self.piece.as_ref().and_then(|piece| piece.casting().figure(&name));
                match own.or_else(|| Figure::named(&name)) {
                    Some(figure) => self.figure = figure,
                    None => wrong.push(no_figure(&name)),
                }
            }
            self.choose_for_reader()?;
        }
        for (code, message) in &wrong {
            // What was told before is not told again with every other change.
            if !self.wrong.iter().any(|(_, told)| told == message) {
                self.complain(code, message.clone())?;
            }
        }
        self.wrong = wrong;
        self.reader.set(self.options.words)?;
        self.fill_shelf()?;
        self.sheet.measure();
        self.draw()
    }

    /// Reads a text. Right: it is drawn next. Wrong: says what is wrong and leaves the drawing.
    fn read(&mut self, text: String) -> Result<()> {
        let reading = read::text(&text);
        self.text = text;
        let problem = match piece_of(&reading, self.piece.as_ref()) {
            Some(Ok(piece)) => {
                self.start_with(piece)?;
                None
            }
            Some(Err(why)) => Some(Problem::undrawable(match why {
                Undrawable::Long(bars) => Some(Undrawable::long(bars)),
                Undrawable::Failed(_) => None,
            })),
            None => reading.diagnostics.first().map(Problem::at),
        };
        if self.piece.as_ref().is_some_and(lacks_names) {
            self.news.push(("names", JsValue::UNDEFINED));
        }
        self.right = problem.is_none();
        self.sheet.dim(!self.right)?;
        self.problem.set_hidden(true);
        self.say("");
        let Some(problem) = problem else {
            // For who writes the page; a reader sees the music as it is written.
            for remark in &reading.remarks {
                self.news.push(("remark", Problem::at(remark).record()));
            }
            return Ok(());
        };
        self.news.push(("error", problem.record()));
        Ok(())
    }

    /// Takes a new text, as a piece: with what a reader has recast, if that is kept; without its answer, if it is a task.
    fn start_with(&mut self, piece: Piece) -> Result<()> {
        let mut casting = piece.casting().clone();
        if !self.options.again {
            self.answer = casting.clone();
            if self.options.task {
                casting = casting.cleared();
            }
            let given = casting.clone();
            if let Some(before) = self.piece.as_ref().filter(|_| self.options.keep) {
                let to = Cast { line: piece.line(), casting: &given };
                casting = self.given.carried(before.line(), before.casting(), to);
            }
            self.given = given;
        }
        if casting == *piece.casting() {
            self.piece = Some(piece);
            return Ok(());
        }
        self.put(Piece::after(&piece, piece.line().clone(), casting).map_err(unworded)?)?;
        if self.options.keep { self.tell_casting() } else { Ok(()) }
    }

    /// Shows what is wrong with the text.
    pub(crate) fn explain(&self, (line, column): (usize, usize), message: &str) {
        self.problem.set_text_content(Some(&says::problem(line, column, message)));
        self.problem.set_hidden(false);
    }

    /// Tells what is wrong with an option.
    fn complain(&mut self, code: &'static str, message: String) -> Result<()> {
        let problem = Problem { line: 0, column: 0, length: 0, code, message: Some(message) };
        self.news.push(("error", problem.record()));
        Ok(())
    }

    /// Makes the shelf when it is wanted first.
    fn fill_shelf(&mut self) -> Result<()> {
        let wanted = self.options.shelf && self.options.pads;
        self.shelf.set_hidden(!wanted);
        if !wanted || self.choices.is_some() {
            return Ok(());
        }
        let boxed = |legend: &str, name: &str| -> Result<Element> {
            let (set, title, choices): (Element, Element, Element) =
                (create("fieldset")?, create("legend")?, create("div")?);
            title.set_text_content(Some(legend));
            choices.set_class_name(name);
            set.append_child(&title)?;
            set.append_child(&choices)?;
            self.shelf.append_child(&set)?;
            Ok(choices)
        };
        let figures = boxed(says::FIGURES, "choices figures")?;
        let spellings = boxed(says::SPELLINGS, "choices")?;
        self.choices =
            Some(PICTURES.with_borrow_mut(|pictures| Choices::fill(figures, &spellings, pictures))?);
        self.choose_for_reader()
    }

    /// Puts what the attributes choose onto the shelf.
    fn choose_for_reader(&mut self) -> Result<()> {
        let Some(choices) = &mut self.choices else { return Ok(()) };
        PICTURES.with_borrow_mut(|pictures| {
            if let Some(piece) = &self.piece {
                choices.offer_own(piece.casting(), pictures)?;
            }
            choices.choose(&self.figure, self.wanted, pictures)
        })
    }

    /// A reader chose a figure or a spelling.
    pub(crate) fn choose(&mut self, event: &Event) -> Result<()> {
        let Some(choices) = &mut self.choices else { return Ok(()) };
        PICTURES.with_borrow_mut(|pictures| choices.changed(event.target(), pictures))?;
        self.figure = Arc::clone(choices.figure());
        self.wanted = choices.wanted();
        self.draw()
    }

    pub(crate) fn resize(&mut self) -> Result<()> {
        if self.sheet.measure() { self.draw() } else { Ok(()) }
    }

    fn draw(&mut self) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.sheet.is_measured()) else { return Ok(()) };
        let Options { view, width, fingers, pads, words, .. } = self.options;
        let offers = pads
            .then(|| recast::offers(piece.line(), piece.casting(), Grid::Groups, &self.window(Onset::ZERO)));
        if lacks_names(piece) {
            return Ok(());
        }
        let annotations = Annotations { fingers, ..Annotations::of(piece.line().heading()) };
        let look = Look { view, annotations, width, words, offers: offers.transpose().map_err(unworded)? };
        PICTURES.with_borrow_mut(|pictures| {
            if let Some(choices) = &mut self.choices {
                choices.offer_own(piece.casting(), pictures)?;
            }
            self.sheet.draw(piece, &look, pictures)
        })?;
        self.drawn = true;
        Ok(())
    }

    /// Takes the names of the line, a row each, and draws them.
    pub(crate) fn name(&mut self, rows: &[String]) -> Result<()> {
        if let Some(piece) = self.piece.take_if(|piece| lacks_names(piece)) {
            self.piece = Some(piece.with_names(rows.iter().filter_map(|row| names::from_row(row)).collect()));
        }
        self.draw()
    }

    /// The window that a tap at `start` asks for.
    fn window(&self, start: Onset) -> Window {
        Window::new(start, Arc::clone(&self.figure), spelling_for(&self.figure, self.wanted))
    }

    pub(crate) fn clicked(&mut self, event: &Event) -> Result<()> {
        match event.target().and_then(|target| pad_of(&target)) {
            Some(start) => self.tap(start),
            None => Ok(()),
        }
    }

    /// Arrow keys, Home and End move from pad to pad.
    pub(crate) fn walk(&mut self, event: &KeyboardEvent) -> Result<()> {
        let Some(go) = Go::by(event) else { return Ok(()) };
        event.prevent_default();
        self.sheet.go(go)
    }

    /// Recasts or restores the window at `start`, in the music and in the text.
    fn tap(&mut self, start: Onset) -> Result<()> {
        let Some(piece) = &self.piece else { return Ok(()) };
        let place = piece.line().bars().place(start).map_err(unworded)?;
        if !self.right {
            self.say(says::FIX_THEN_RECAST);
            return Ok(());
        }
        let window = self.window(start);
        let mut casting: Casting = piece.casting().clone();
        let says = match casting.tap(piece.line(), window.clone()) {
            Ok(true) => named(&window.figure, window.spelling),
            Ok(false) => says::PLAIN_AGAIN.into(),
            Err(why) => {
                self.say(&format!("{}: {why}.", place.spoken()));
                return Ok(());
            }
        };
        let piece = Piece::after(piece, piece.line().clone(), casting).map_err(unworded)?;
        let left_out = left_out(&piece, start);
        self.take(piece)?;
        self.say(&format!("{}: {says}{left_out}.", place.spoken()));
        Ok(())
    }

    /// Takes a new casting into the music and the text.
    fn take(&mut self, piece: Piece) -> Result<()> {
        self.put(piece)?;
        self.tell_casting()?;
        self.draw()
    }

    fn put(&mut self, piece: Piece) -> Result<()> {
        self.text =
            write::text::with_casting(&self.text, piece.casting(), piece.line().bars()).map_err(unworded)?;
        self.piece = Some(piece);
        Ok(())
    }

    fn tell_casting(&mut self) -> Result<()> {
        let change = record([("text", self.text.as_str().into()), ("windows", self.windows(false)?.into())]);
        self.news.push(("casting", change));
        Ok(())
    }

    pub(crate) fn recast(
        &mut self,
        at: (u32, f64),
        figure: Option<String>,
        spelling: Option<String>,
    ) -> Result<()> {
        let chosen = self.window(Onset::ZERO);
        let spelling = match &figure {
            Some(_) => spelling,
            None => spelling.or_else(|| Some(chosen.spelling.name().into())),
        };
        let figure = figure.unwrap_or_else(|| chosen.figure.name().into());
        let piece = halfbar_view::recast(self.right()?, at, &figure, spelling, refused)?;
        self.take(piece)
    }

    pub(crate) fn restore(&mut self, at: (u32, f64)) -> Result<bool> {
        let (piece, restored) = halfbar_view::restore(self.right()?, at, refused)?;
        if restored {
            self.take(piece)?;
        }
        Ok(restored)
    }

    /// The music, unless the text has a mistake now.
    fn right(&self) -> Result<&Piece> {
        let piece = self.piece.as_ref().filter(|_| self.right);
        piece.ok_or_else(|| js_sys::Error::new(says::TEXT_HAS_A_MISTAKE).into())
    }

    pub(crate) fn text(&self) -> String {
        self.text.clone()
    }

    /// What is recast, or what the text's author has recast.
    pub(crate) fn windows(&self, answer: bool) -> Result<Vec<JsValue>> {
        let Some(piece) = &self.piece else { return Ok(Vec::new()) };
        windows(piece, if answer { &self.answer } else { piece.casting() })
    }

    pub(crate) fn is_drawn(&self) -> bool {
        self.drawn
    }

    pub(crate) fn say(&self, text: &str) {
        self.status.set_text_content(Some(&capital(&seen(text))));
    }
}

/// Why a script can't recast a window, in words where a script can run into it: see [`Problem`].
fn refused(error: Error) -> JsValue {
    match &error {
        Error::Bars(why) => coded(&why.to_string(), error.code()),
        Error::Recast(why) => coded(&why.to_string(), error.code()),
        _ => unworded(error),
    }
}

/// Recast windows, as a script sees them.
fn windows(piece: &Piece, casting: &Casting) -> Result<Vec<JsValue>> {
    let windows = casting.windows().iter().map(|window| {
        let place = piece.line().bars().place(window.start).map_err(unworded)?;
        Ok(record([
            ("bar", place.bar.into()),
            ("beat", place.beat.to_f64().into()),
            ("figure", window.figure.name().into()),
            ("spelling", window.spelling.name().into()),
        ]))
    });
    windows.collect()
}

/// Whether the line is to be shown with its names, which aren't there yet.
fn lacks_names(piece: &Piece) -> bool {
    piece.line().heading().names && piece.names().is_none()
}
