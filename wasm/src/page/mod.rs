//! The line: drawn, with a pad under every half-bar and a shelf of figures, and as text.

mod advice;
mod apart;
mod caret;
mod hands;
mod harmony;
mod history;
mod neck;
mod note;
mod overlay;
mod print;
mod problems;
mod selection;
mod shelf;
mod stretch;

use halfbar_words::page as says;
use halfbar_words::shared::seen;
use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

use halfbar_core::dialect::Dialect;
use halfbar_core::engrave::{Layout, Width};
use halfbar_core::hand;
use halfbar_core::line::{Line, NoteId};
use halfbar_core::material::{Lasting, Progression};
use halfbar_core::neck::Position;
use halfbar_core::recast::{self, Casting, Direction, Figure, Refusal, Spelling, Window};
use halfbar_core::score::Annotations;
use halfbar_core::time::{Onset, Span};
use halfbar_core::{Piece, read, write};
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{
    Event, EventTarget, HtmlButtonElement, HtmlElement, HtmlSelectElement, HtmlTextAreaElement,
    KeyboardEvent, MouseEvent, PointerEvent, ResizeObserver,
};

use crate::app::{App, Control, tell};
use crate::make::scale_of;
use crate::parts::Part;
use advice::Advice;
use halfbar_dom::form::Told;
use halfbar_dom::{Result, by_id, focused, form, hand_on_focus, store, thrown};
use halfbar_markup::{capital, left_out, named};
use halfbar_view::{Go, Mark, Reader, Sheet, pad_of, piece_of};
use hands::{Hands, Reach};
use harmony::Harmony;
use history::{By, History};
use selection::Selection;
use shelf::Shelf;
pub(crate) use stretch::{Stretch, between};

/// The line, and how it is shown.
pub(crate) struct Page {
    text: HtmlTextAreaElement,
    status: HtmlElement,
    shelf: Shelf,
    sheet: Sheet,
    stretch: Stretch,
    hands: Hands,
    harmony: Harmony,
    advice: Advice,
    history: History,
    /// The note that is selected.
    note: Option<NoteId>,
    selection: Selection,
    /// What can be done with the selected bars; it stands below them.
    actions: HtmlElement,
    undo: HtmlButtonElement,
    redo: HtmlButtonElement,
    repeat: HtmlButtonElement,
    /// All that is said, in the reader's words.
    reader: Reader,
    lengths: HtmlSelectElement,
    /// The window that was recast last.
    last: Option<Onset>,
    /// The last text that was right, as a piece; it stays on screen while the text is wrong.
    piece: Option<Piece>,
    /// Whether the text is right now.
    right: bool,
    /// Whether somebody has said where in the line the neck's notes go: by a note of the music, or by the cursor.
    placed: bool,
    changed: Changed,
}

/// What has changed since somebody asked last.
#[derive(Default)]
pub(crate) struct Changed {
    pub(crate) text: bool,
    /// The music was drawn anew.
    pub(crate) music: bool,
    /// It is another line.
    pub(crate) line: bool,
    /// Other bars are selected, or none.
    pub(crate) selection: bool,
}

/// What a tap on the music can meet besides a pad.
enum Tapped {
    Stroke(NoteId),
    Note(NoteId),
    /// A name, by its index.
    Name(usize),
}

/// The attribute of the button that puts back what another figure has changed.
pub(crate) const PUT_BACK: &str = "data-put-back";

/// Where it is kept what lengths are called.
const WORDS: &str = "halfbar-lengths";

/// What a reader does to the line.
pub(crate) const CONTROLS: &[Control] = &[
    ("text", "input", |app, event| app.page.typed(event)),
    ("text", "scroll", |app, _| {
        overlay::scroll_along(&app.page.text);
        Ok(())
    }),
    ("text", "focus", |app, _| {
        app.page.placed = true;
        Ok(())
    }),
    ("undo", "click", |app, _| app.page.go_back_or_on(true)),
    ("redo", "click", |app, _| app.page.go_back_or_on(false)),
    ("repeat", "click", |app, _| app.page.repeat()),
    ("gather", "click", |app, _| app.page.gather()),
    ("figures", "change", |app, event| app.choose_figure(event)),
    ("spellings", "change", |app, event| app.choose_figure(event)),
    ("eighths", "change", |app, _| app.page.draw()),
    ("fit", "change", |app, _| app.page.draw()),
    ("view", "change", |app, _| app.page.draw()),
    ("fingers", "change", |app, _| app.page.draw()),
    ("chord-tones", "change", |app, _| app.page.draw()),
    ("lengths", "change", |app, _| {
        app.page.choose_words()?;
        app.practice.show_ladder(&app.page)
    }),
    ("sheet", "click", |app, event| app.tap_music(event)),
    ("sheet", "keydown", |app, event| app.page.walk(event.unchecked_ref())),
    ("sheet", "pointerdown", |app, event| app.press(event.unchecked_ref())),
    ("sheet", "pointermove", |app, event| app.drag(event.unchecked_ref())),
    ("fill", "click", |app, _| app.page.fill()),
    ("unselect", "click", |app, _| app.page.clear_selection()),
    ("stretch", "toggle", |app, _| app.page.show_stretch()),
    ("stretch", "input", |app, _| {
        app.page.stretch.chosen();
        app.page.show_stretch()
    }),
    ("tile", "click", |app, _| app.page.tile()),
    ("earlier", "click", |app, _| app.page.shift(Direction::Earlier)),
    ("later", "click", |app, _| app.page.shift(Direction::Later)),
    ("apart", "toggle", |app, _| app.page.piece.as_ref().map_or(Ok(()), apart::show)),
    ("problems", "click", |app, event| match event.target() {
        Some(target) => problems::go_to(&target, &app.page.text),
        None => Ok(()),
    }),
    ("style", "change", |app, _| app.page.choose_hands()),
    ("strokes", "change", |app, _| app.page.choose_hands()),
    ("first", "change", |app, _| app.page.choose_hands()),
    ("slurs", "change", |app, _| app.page.choose_hands()),
    ("labels", "change", |app, _| app.page.show_hands()),
    ("left", "change", |app, _| app.page.show_hands()),
    ("way-for", "change", |app, _| app.page.give_up_way()),
    ("bar-before", "click", |app, _| app.page.go_to_bar(false)),
    ("bar-after", "click", |app, _| app.page.go_to_bar(true)),
    ("way", "click", |app, _| app.page.list_ways()),
    ("ways", "change", |app, event| app.page.look_at_way(event)),
    ("position", "change", |app, _| app.page.choose_position()),
    ("picked", "change", |app, _| app.page.choose_picking_here()),
    ("keep", "click", |app, _| app.page.keep_way()),
    ("names", "change", |app, _| app.page.choose_names()),
    ("degrees", "change", |app, _| app.page.choose_names()),
    ("names-found", "click", |app, event| match event.target() {
        Some(target) => app.page.press_name(&target),
        None => Ok(()),
    }),
    ("suggest", "click", |app, _| app.page.suggest()),
    ("density", "change", |app, _| app.page.suggest_again()),
    ("take-all", "click", |app, _| app.page.take_advice(None)),
    ("advice", "click", |app, event| match event.target().and_then(|target| advice::taken(&target)) {
        Some(index) => app.page.take_advice(Some(index)),
        None => Ok(()),
    }),
    ("fretboard", "click", |app, event| match event.target().and_then(|target| neck::place_of(&target)) {
        Some(place) => app.tap_neck(place),
        None => Ok(()),
    }),
    ("fretboard", "focus", |app, _| app.page.come_to_neck()),
    ("fretboard", "keydown", |app, event| match app.page.walk_neck(event.unchecked_ref())? {
        Some(place) => app.tap_neck(place),
        None => Ok(()),
    }),
];

/// Draws again whenever the sheet's width changes.
pub(crate) fn follow_width(app: &Rc<RefCell<App>>) -> Result<()> {
    let weak = Rc::downgrade(app);
    let changed = Closure::<dyn FnMut()>::new(move || {
        tell(&weak, |app| if app.page.sheet.measure() { app.page.draw() } else { Ok(()) });
    });
    ResizeObserver::new(changed.as_ref().unchecked_ref())?.observe(&by_id("sheet")?);
    changed.forget();
    Ok(())
}

impl App {
    /// Another figure or notation is chosen.
    fn choose_figure(&mut self, event: &Event) -> Result<()> {
        self.page.choose_figure(event)?;
        self.practice.show_ladder(&self.page)
    }

    /// A pad of the music is tapped, or a note.
    fn tap_music(&mut self, event: &Event) -> Result<()> {
        let Some(target) = event.target() else { return Ok(()) };
        if self.page.selection.take_dragged() {
            return Ok(());
        }
        if let Some(start) = pad_of(&target) {
            self.practice.choose_window(start);
            return self.page.tap(start);
        }
        match self.page.tapped(&target, event.unchecked_ref())? {
            Some(Tapped::Stroke(note)) => self.page.turn_stroke(note),
            Some(Tapped::Note(note)) => {
                self.page.select(note)?;
                self.practice.start_from(note, &self.page)
            }
            Some(Tapped::Name(name)) => {
                self.page.harmony.choose(Some(name));
                self.open(Part::Harmony)?;
                self.page.harmony.show_chosen()
            }
            None => Ok(()),
        }
    }

    /// A place on the neck is tapped, and heard.
    fn tap_neck(&mut self, place: neck::Place) -> Result<()> {
        match self.page.enter(place)? {
            Some((key, string)) => self.practice.hear(key, string),
            None => Ok(()),
        }
    }

    /// The pointer goes down over the music: a drag from there selects bars. A finger scrolls instead.
    fn press(&mut self, event: &PointerEvent) -> Result<()> {
        let Some(bar) = self.page.sheet.bar_at(event) else { return Ok(()) };
        if event.pointer_type() == "touch" || event.button() != 0 {
            return Ok(());
        }
        self.page.selection.press(bar, event.shift_key());
        if event.shift_key() { self.page.show_selection() } else { Ok(()) }
    }

    /// The pointer moves over the music.
    fn drag(&mut self, event: &PointerEvent) -> Result<()> {
        if event.buttons() & 1 == 0 {
            return self.page.release();
        }
        match self.page.sheet.bar_at(event) {
            Some(bar) if self.page.selection.drag(bar) => self.page.show_selection(),
            _ => Ok(()),
        }
    }
}

impl Page {
    pub(crate) fn new() -> Result<Page> {
        let page = Page {
            text: by_id("text")?,
            status: by_id("status")?,
            shelf: Shelf::new()?,
            sheet: Sheet::new(by_id("sheet")?)?,
            stretch: Stretch::new()?,
            hands: Hands::new()?,
            harmony: Harmony::new()?,
            advice: Advice::default(),
            history: History::default(),
            note: None,
            selection: Selection::default(),
            actions: by_id("selection")?,
            undo: by_id("undo")?,
            redo: by_id("redo")?,
            repeat: by_id("repeat")?,
            reader: Reader::new(by_id("page")?)?,
            lengths: by_id("lengths")?,
            last: None,
            piece: None,
            right: false,
            placed: false,
            changed: Changed::default(),
        };
        if let Some(words) = store::get(WORDS) {
            page.lengths.set_value(&words);
        }
        page.reader.set(page.words())?;
        Ok(page)
    }

    /// Shows the first text, which has no past.
    pub(crate) fn begin(&mut self, text: &str) -> Result<()> {
        if self.source() != text {
            self.text.set_value(text);
        }
        self.history.start(text);
        let is_first = text == self.first_source()? && self.shelf.is_first();
        self.sheet.take_over(is_first && self.words() == Dialect::default())?;
        self.read()?;
        if self.piece.is_none() {
            // Beside a text that is wrong from the start stands what can be read of it.
            let reading = read::text(text);
            self.piece = reading.line.and_then(|line| Piece::new(line, reading.casting).ok());
        }
        if self.right { Ok(()) } else { self.draw() }
    }

    /// The text as it stands.
    pub(crate) fn source(&self) -> String {
        self.text.value()
    }

    /// The text that the page came with.
    pub(crate) fn first_source(&self) -> Result<String> {
        self.text.default_value()
    }

    /// The music of the last text that was right; none when there was no such text.
    pub(crate) fn piece(&self) -> Option<&Piece> {
        self.piece.as_ref()
    }

    /// The music, unless the text has a mistake now.
    pub(crate) fn right(&self) -> std::result::Result<&Piece, String> {
        self.piece.as_ref().filter(|_| self.right).ok_or(halfbar_words::shared::TEXT_HAS_A_MISTAKE.into())
    }

    /// Some chords from where the reader is on, with their lengths, and the scale of the key there.
    pub(crate) fn chords_here(&self, count: usize) -> Option<(String, String)> {
        let line = self.piece.as_ref()?.line();
        let bar = self.selection.bars().map(|bars| bars.start);
        let bar = bar.or_else(|| caret::bar(&self.text).ok()?).unwrap_or(0);
        let start = line.bar(bar).ok()?.start();
        let chords = line.chords();
        let first = chords.partition_point(|chord| chord.onset <= start).saturating_sub(1);
        let ends = chords.iter().skip(first + 1).map(|chord| chord.onset).chain([line.end()]);
        let lasting = chords.iter().skip(first).zip(ends).take(count).map_while(|(chord, end)| {
            let length = Span::new(chord.onset, end)?.length().ok();
            Some(Lasting { symbol: chord.symbol.clone(), length })
        });
        let chords = Progression::new(lasting).ok()?;
        Some((chords.to_string(), scale_of(line.bars().key(bar))))
    }

    /// The figure that a tap gives.
    pub(crate) fn figure(&self) -> &Arc<Figure> {
        self.shelf.figure()
    }

    /// The bars that are selected, counted from 0.
    pub(crate) fn selected(&self) -> Option<Range<usize>> {
        self.selection.bars()
    }

    /// The pointer goes up.
    pub(crate) fn release(&mut self) -> Result<()> {
        self.selection.release();
        Ok(())
    }

    /// Arrow keys, Home and End move from pad to pad; with Shift, arrows select bars.
    fn walk(&mut self, event: &KeyboardEvent) -> Result<()> {
        let Some(go) = Go::by(event) else { return Ok(()) };
        let before = self.sheet.focused_bar()?;
        event.prevent_default();
        self.sheet.go(go)?;
        self.choose_focused()?;
        let (Some(before), Some(bar)) = (before, self.sheet.focused_bar()?) else { return Ok(()) };
        if !event.shift_key() {
            return Ok(());
        }
        if self.selection.bars().is_none() {
            self.selection.press(before, false);
            self.selection.release();
        }
        self.selection.extend(bar);
        self.show_selection()
    }

    /// Lets go of the selected bars, the selected note and the half-bar that takes other figures.
    pub(crate) fn let_go(&mut self) -> Result<()> {
        (self.last, self.note) = (None, None);
        self.mark_chosen()?;
        self.sheet.choose_note(None)?;
        self.show_hands()?;
        self.clear_selection()
    }

    /// Selects no bars.
    fn clear_selection(&mut self) -> Result<()> {
        if self.selection.bars().is_none() {
            return Ok(());
        }
        self.selection.set(None);
        self.show_selection()
    }

    /// What a tap on the music met: a pick stroke or a note, itself or near enough for a finger.
    fn tapped(&self, target: &EventTarget, event: &MouseEvent) -> Result<Option<Tapped>> {
        if let Some(stroke) = hands::stroke_of(target) {
            return Ok(Some(Tapped::Stroke(stroke)));
        }
        if let Some(note) = hands::note_of(target) {
            return Ok(Some(Tapped::Note(note)));
        }
        if let Some(name) = target.dyn_ref().and_then(harmony::name_of) {
            return Ok(Some(Tapped::Name(name)));
        }
        if let Some(stroke) = self.sheet.stroke_near(event)? {
            return Ok(Some(Tapped::Stroke(stroke)));
        }
        if let Some(note) = self.sheet.note_near(event)? {
            return Ok(Some(Tapped::Note(note)));
        }
        Ok(self.sheet.name_near(event)?.map(Tapped::Name))
    }

    /// Marks the selected bars, and offers what can be done with them.
    fn show_selection(&mut self) -> Result<()> {
        self.changed.selection = true;
        let bars = self.selection.bars();
        self.sheet.mark(Mark::Selected, bars.clone())?;
        self.actions.toggle_attribute_with_force("hidden", bars.is_none())?;
        let (Some(bars), Some(piece)) = (bars, &self.piece) else { return Ok(()) };
        let line = piece.line();
        let (first, last) = (bars.start, bars.end.saturating_sub(1));
        let (first_number, last_number) = (line.bars().number(first), line.bars().number(last));
        form::say("selected", &says::selected(first_number, last_number))?;
        let (start, end) = (line.bar(first).map_err(thrown)?.start(), line.bar(last).map_err(thrown)?.end());
        self.stretch.set(start, end.min(line.end()), line)?;
        self.sheet.put_below(&self.actions, last)
    }

    /// Marks the bar that the cursor of the text is in.
    pub(crate) fn mark_cursor(&mut self) -> Result<()> {
        let is_in_text = focused()?.as_ref() == Some(self.text.as_ref());
        let bar = if is_in_text { caret::bar(&self.text)? } else { None };
        self.sheet.mark(Mark::Cursor, bar.map(|bar| bar..bar + 1))
    }

    /// Marks the bars that are played in a loop.
    pub(crate) fn mark_looped(&mut self, bars: Option<Range<usize>>) -> Result<()> {
        self.sheet.mark(Mark::Looped, bars)
    }

    /// By keys, the half-bar that has the focus is the one that takes another figure, if it is recast, and its bar is on the neck.
    fn choose_focused(&mut self) -> Result<()> {
        self.last = self.sheet.focused_pad()?;
        if let Some(bar) = self.sheet.focused_bar()? {
            self.hands.go_to(bar);
            self.show_bar()?;
        }
        self.mark_chosen()
    }

    /// Marks the half-bar that takes another figure at once, and says which it is beside the figure.
    fn mark_chosen(&mut self) -> Result<()> {
        let chosen = self.chosen();
        let place =
            self.piece.as_ref().zip(chosen).and_then(|(piece, at)| piece.line().bars().place(at).ok());
        form::say(
            "figure-for",
            &place.map_or(says::TAP_TO_RECAST.into(), |place| says::in_place(place.spoken())),
        )?;
        self.sheet.choose(chosen)
    }

    /// Gives the focus to the half-bar that arrow keys start from.
    pub(crate) fn focus_music(&mut self) -> Result<()> {
        self.sheet.focus()
    }

    /// Chooses a figure by its number on the shelf.
    pub(crate) fn take_figure(&mut self, index: usize) -> Result<()> {
        self.shelf.take_figure(index)?;
        self.figure_chosen()
    }

    /// Chooses a notation.
    pub(crate) fn take_spelling(&mut self, spelling: Spelling) -> Result<()> {
        self.shelf.take_spelling(spelling)?;
        self.figure_chosen()
    }

    /// Undoes a step, or takes it again.
    pub(crate) fn go_back_or_on(&mut self, back: bool) -> Result<()> {
        match back {
            true => self.step(History::undo, says::UNDONE),
            false => self.step(History::redo, says::DONE_AGAIN),
        }
    }

    /// The stretch that is chosen.
    pub(crate) fn stretch(&self) -> &Stretch {
        &self.stretch
    }

    /// In whose words lengths are named.
    pub(crate) fn words(&self) -> Dialect {
        self.lengths.value().parse().unwrap_or_default()
    }

    /// What has changed since this was asked last.
    pub(crate) fn take_changed(&mut self) -> Changed {
        std::mem::take(&mut self.changed)
    }

    /// A picture of some music, of a width in staff spaces, with its title and tempo or without.
    pub(crate) fn picture(&self, piece: &Piece, width: f64, head: bool) -> String {
        let annotations = Annotations::of(piece.line().heading());
        let width = Width::nearest(width);
        let layout = Layout { width, head, words: self.words(), annotations, ..Layout::default() };
        write::svg::document(&piece.engrave(&layout))
    }

    /// Has the sheet for paper show the line as it is now.
    pub(crate) fn lay_out_for_paper(&self) -> Result<()> {
        match &self.piece {
            Some(piece) => {
                print::draw(piece, self.shelf.view(piece.line().heading()), self.words(), self.right)
            }
            None => Ok(()),
        }
    }

    /// Goes along with what is heard.
    pub(crate) fn follow(&mut self, bar: usize) -> Result<()> {
        self.hands.follow(bar)?;
        self.show_hands()
    }

    fn typed(&mut self, event: &Event) -> Result<()> {
        // What a script writes is no typing, and a step of its own.
        let by = if event.is_trusted() { By::Typing(event.time_stamp()) } else { By::Tap };
        self.history.change(&self.text.value(), by);
        self.note = None;
        self.read()
    }

    /// Another figure or notation was chosen: the half-bar that was recast last takes it.
    fn choose_figure(&mut self, event: &Event) -> Result<()> {
        self.shelf.changed(event.target())?;
        self.figure_chosen()
    }

    fn figure_chosen(&mut self) -> Result<()> {
        // What was said of the choice before is over.
        self.say("");
        match self.chosen().filter(|_| self.right) {
            Some(start) => {
                let before = self.source();
                self.cast(start, By::Choice(start), |casting, line, window| {
                    casting.put_fitting(line, window).map(|()| true)
                })?;
                if self.source() != before {
                    form::offer_in("status", says::PUT_BACK, PUT_BACK, "")?;
                }
            }
            None => self.draw()?,
        }
        self.suggest_again()
    }

    /// The half-bar gets back what it had before another figure was chosen, which the next one takes.
    pub(crate) fn put_back(&mut self) -> Result<()> {
        self.go_back_or_on(true)?;
        self.let_go()
    }

    fn choose_words(&mut self) -> Result<()> {
        store::set(WORDS, &self.lengths.value());
        self.reader.set(self.words())?;
        self.draw()
    }

    fn go_to_bar(&mut self, forward: bool) -> Result<()> {
        if let Some(piece) = &self.piece {
            self.hands.go_on(piece, forward)?;
        }
        self.show_bar()
    }

    /// Shows the bar that was gone to on the neck. Fingerings that are listed for another one are given up.
    fn show_bar(&mut self) -> Result<()> {
        match &self.piece {
            Some(piece) if self.hands.lists_another_bar(piece)? => self.give_up_way(),
            _ => self.show_hands(),
        }
    }

    /// Reads the text. Right: draws it. Wrong: says what is wrong and leaves the drawing.
    fn read(&mut self) -> Result<()> {
        self.changed.text = true;
        let source = self.text.value();
        let reading = read::text(&source);
        self.right = reading.diagnostics.is_empty();
        let mut unwritable = None;
        match piece_of(&reading, self.piece.as_ref()) {
            Some(Ok(piece)) => self.piece = Some(piece),
            Some(Err(why)) => unwritable = Some(why.to_string()),
            None => {}
        }
        self.right &= unwritable.is_none();
        self.name()?;
        self.advice.forget();
        self.hands.forget()?;
        problems::show(&reading, unwritable, &self.text)?;
        self.sheet.dim(!self.right)?;
        let wrong = reading.diagnostics.first();
        let bar = wrong.and_then(|wrong| caret::bar_of(&reading, (wrong.line, wrong.column)));
        self.sheet.mark(Mark::Wrong, bar.map(|bar| bar..bar + 1))?;
        self.say("");
        if self.right {
            return self.draw();
        }
        self.offer_steps()
    }

    /// Offers the steps that can be taken now.
    fn offer_steps(&self) -> Result<()> {
        let had = focused()?;
        self.undo.set_disabled(!self.history.can_undo());
        self.redo.set_disabled(!self.history.can_redo());
        self.repeat.set_disabled(!self.right || self.chosen().is_none());
        hand_on_focus(had.as_ref(), &["#undo:enabled", "#redo:enabled"])
    }

    fn draw(&mut self) -> Result<()> {
        self.offer_steps()?;
        let bars = self.piece.as_ref().map_or(0, |piece| piece.line().bar_count());
        if self.selection.bars().is_some_and(|selected| selected.end > bars) {
            self.clear_selection()?;
        }
        match &self.piece {
            Some(piece) => {
                self.hands.show(piece, self.note)?;
                self.harmony.show(piece)?;
                self.advice.follow(piece.casting());
                self.advice.show()?;
                self.shelf.offer_own(piece.casting())?;
                apart::show(piece)?;
                self.stretch.show(piece, &self.shelf.window(Onset::ZERO))?;
                let look = self.shelf.look(piece, self.words())?;
                self.changed.music = true;
                self.sheet.draw(piece, &look, &mut self.shelf.pictures)?;
                self.mark_chosen()?;
                self.sheet.choose_note(self.note)?;
                self.sheet.choose_name(self.harmony.chosen())?;
                self.sheet.suggest(&self.advice.starts())?;
                match self.selection.bars() {
                    Some(bars) => self.sheet.put_below(&self.actions, bars.end - 1),
                    None => Ok(()),
                }
            }
            None => Ok(()),
        }
    }

    /// The half-bar that takes another figure at once: the one that was recast last, while it is.
    fn chosen(&self) -> Option<Onset> {
        let casting = self.piece.as_ref()?.casting();
        self.last.filter(|&start| casting.at(start).is_some())
    }

    /// Puts back the text of another step.
    fn step(&mut self, step: fn(&mut History) -> Option<&str>, says: &str) -> Result<()> {
        let Some(text) = step(&mut self.history) else { return Ok(()) };
        self.text.set_value(text);
        self.note = None;
        let asked = self.advice.is_asked();
        self.read()?;
        if asked {
            self.advise()?;
        }
        self.say(says);
        Ok(())
    }

    /// Recasts or restores the window at `start`.
    fn tap(&mut self, start: Onset) -> Result<()> {
        self.cast(start, By::Tap, Casting::tap)
    }

    /// Changes what is recast at `start`, in the music and in the text, and tells what came of it. `change` says whether it is recast now.
    fn cast(
        &mut self,
        start: Onset,
        by: By,
        change: impl FnOnce(&mut Casting, &Line, Window) -> std::result::Result<bool, Refusal>,
    ) -> Result<()> {
        let Some(piece) = &self.piece else { return Ok(()) };
        let place = piece.line().bars().place(start).map_err(thrown)?;
        if !self.right {
            self.say(says::FIX_THEN_RECAST);
            return Ok(());
        }
        let window = self.shelf.window(start);
        let mut casting = piece.casting().clone();
        let says = match change(&mut casting, piece.line(), window.clone()) {
            Ok(true) => {
                let named = named(&window.figure, window.spelling);
                let sounds = apart::sentence(piece, &window.figure, window.spelling);
                format!("{named}. {}", sounds.unwrap_or_default()).trim_end_matches([' ', '.']).to_string()
            }
            Ok(false) => says::PLAIN_AGAIN.into(),
            Err(why) => {
                self.say(&format!("{}: {why}.", place.spoken()));
                return self.draw();
            }
        };
        self.last = casting.at(start).map(|window| window.start);
        self.stretch.start_at(place, piece.line())?;
        self.recast(casting, by)?;
        let says = says + &self.piece.as_ref().map_or(String::new(), |piece| left_out(piece, start));
        self.say(&format!("{}: {says}.", place.spoken()));
        Ok(())
    }

    /// Takes a new casting into the music and the text.
    fn recast(&mut self, casting: Casting, by: By) -> Result<()> {
        let Some(piece) = &self.piece else { return Ok(()) };
        let changed = Piece::after(piece, piece.line().clone(), casting).map_err(thrown)?;
        let text = write::text::with_casting(&self.text.value(), changed.casting(), changed.line().bars())
            .map_err(thrown)?;
        self.piece = Some(changed);
        self.replace(&text, by)
    }

    /// Puts a text that is right into the page, as a step that can be undone.
    fn replace(&mut self, text: &str, by: By) -> Result<()> {
        self.changed.text = true;
        self.hands.forget()?;
        self.text.set_value(text);
        self.history.change(text, by);
        self.draw()
    }

    fn say(&self, text: &str) {
        self.status.set_text_content(Some(&capital(&seen(text))));
    }

    /// Repeats the window that was recast last, to the end of the line.
    fn repeat(&mut self) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        let Some(window) = self.last.and_then(|start| piece.casting().at(start)).cloned() else {
            return Ok(());
        };
        let mut casting = piece.casting().clone();
        let next = window.at(window.start.checked_add(window.figure.span()).map_err(thrown)?);
        let end = piece.line().end();
        let tiling = recast::tile(piece.line(), &mut casting, &next, end).map_err(thrown)?;
        let told = stretch::told(piece, &tiling);
        self.recast(casting, By::Tap)?;
        self.say(&says::repeated(&told));
        Ok(())
    }

    pub(crate) fn show_hands(&mut self) -> Result<()> {
        match &self.piece {
            Some(piece) => self.hands.show(piece, self.note),
            None => Ok(()),
        }
    }

    /// Another style, or another way of picking, goes into the text.
    fn choose_hands(&mut self) -> Result<()> {
        let mut text = self.text.value();
        for (name, value) in self.hands.headers() {
            text = write::text::with_header(&text, name, value.as_deref());
        }
        self.rewrite(&text)
    }

    /// Puts a text into the page and reads it, as a step that can be undone.
    pub(crate) fn rewrite(&mut self, text: &str) -> Result<()> {
        self.text.set_value(text);
        self.history.change(text, By::Tap);
        self.read()
    }

    /// Puts another line into the page; the steps of the one before are not its past.
    pub(crate) fn open(&mut self, text: &str) -> Result<()> {
        self.text.set_value(text);
        self.history.start(text);
        (self.last, self.note, self.placed) = (None, None, false);
        self.selection.set(None);
        self.changed.line = true;
        self.show_selection()?;
        self.read()
    }

    /// What a fingering is chosen for: the bar, the selection or the line; or what stands against it.
    fn passage(&self, piece: &Piece) -> Result<Told<Span>> {
        Ok(match self.hands.reach() {
            Reach::Bar => Ok(self.hands.bar(piece)?),
            Reach::Stretch => self.stretch.span(piece.line()),
            Reach::Line => stretch::between(piece.line(), Onset::ZERO, piece.line().end()),
        })
    }

    /// Lists other ways to play the bar, the selection or the line.
    fn list_ways(&mut self) -> Result<()> {
        // What was only looked at is no longer.
        self.read()?;
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        match self.passage(piece)? {
            Ok(passage) => {
                let says = self.hands.list_ways(piece, passage)?;
                self.say(says.unwrap_or(says::FINGERINGS_LISTED));
            }
            Err(why) => self.say(&format!("{why}.")),
        }
        Ok(())
    }

    /// Shows another way to play it, in the music and on the neck.
    fn look_at_way(&mut self, event: &Event) -> Result<()> {
        let Some(target) = event.target() else { return Ok(()) };
        let (Some(way), Some(piece)) = (self.hands.show_way(target.unchecked_ref()), self.piece.as_ref())
        else {
            return Ok(());
        };
        self.piece = Some(piece.played(way));
        self.draw()
    }

    /// Goes back from another way that was only looked at.
    fn give_up_way(&mut self) -> Result<()> {
        self.read()
    }

    /// Writes the way that is shown into the text.
    fn keep_way(&mut self) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        let Some((text, says)) = self.hands.kept(piece, &self.text.value())? else { return Ok(()) };
        self.rewrite(&text)?;
        self.say(&says);
        Ok(())
    }

    /// Plays the bar, the selection or the line in the chosen position, or as is best.
    fn choose_position(&mut self) -> Result<()> {
        let position = form::chosen("position")?.parse().ok().map(Position);
        self.set_passage(|line, passage| hand::in_position(line, passage, position))
    }

    /// Picks the bar, the selection or the line in the chosen way, or like the rest.
    fn choose_picking_here(&mut self) -> Result<()> {
        let style = form::chosen("picked")?.parse().ok();
        self.set_passage(|line, passage| hand::picked(line, passage, style))
    }

    /// Sets something for the bar, the selection or the line; says why where it can't be.
    fn set_passage(&mut self, set: impl FnOnce(&Line, Span) -> Line) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        let passage = match self.passage(piece)? {
            Ok(passage) => passage,
            Err(why) => {
                self.say(&format!("{why}."));
                return Ok(());
            }
        };
        let line = set(piece.line(), passage);
        if let Err(why) = Piece::after(piece, line.clone(), piece.casting().clone()) {
            self.say(&format!("{why}."));
            return self.show_hands();
        }
        let text = write::text::with_constraints(&self.text.value(), &line).map_err(thrown)?;
        self.rewrite(&text)
    }

    pub(crate) fn show_stretch(&mut self) -> Result<()> {
        match &self.piece {
            Some(piece) => self.stretch.show(piece, &self.shelf.window(Onset::ZERO)),
            None => Ok(()),
        }
    }

    /// Repeats the chosen figure over the chosen stretch.
    fn tile(&mut self) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        match self.stretch.repeat(piece, &self.shelf.window(Onset::ZERO)) {
            Ok((casting, tiling)) => {
                let told = stretch::told(piece, &tiling);
                if tiling.windows > 0 {
                    self.recast(casting, By::Tap)?;
                }
                self.say(&says::repeated(&told));
            }
            Err(why) => self.say(&format!("{why}.")),
        }
        Ok(())
    }

    /// Fills the selected bars with the chosen figure.
    fn fill(&mut self) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else {
            self.say(says::FIX_THEN_RECAST);
            return Ok(());
        };
        let passage = match self.stretch.span(piece.line()) {
            Ok(passage) => passage,
            Err(why) => {
                self.say(&format!("{why}."));
                return Ok(());
            }
        };
        let mut casting = piece.casting().clone();
        let filled = recast::fill(piece.line(), &mut casting, &self.shelf.window(Onset::ZERO), passage);
        let recast::Filled { windows, plain } = filled.map_err(thrown)?;
        if windows == 0 {
            self.say(says::FITS_NOWHERE);
            return Ok(());
        }
        self.recast(casting, By::Tap)?;
        self.say(&says::filled(windows, plain));
        Ok(())
    }

    /// Moves the chosen stretch by an eighth.
    fn shift(&mut self, direction: Direction) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        match self.stretch.shift(piece, direction) {
            Ok(shifted) => {
                let told = stretch::lost(&shifted);
                let piece = Piece::after(piece, shifted.line, shifted.casting).map_err(thrown)?;
                self.note = None;
                self.take(piece)?;
                self.say(&says::shifted(&told));
            }
            Err(why) => self.say(&format!("{why}.")),
        }
        Ok(())
    }

    /// Takes other music into the drawing and the text; headers and comments stay.
    fn take(&mut self, piece: Piece) -> Result<()> {
        let text =
            write::text::with_music(&self.text.value(), piece.line(), piece.casting()).map_err(thrown)?;
        self.piece = Some(piece);
        self.replace(&text, By::Tap)
    }

    /// Turns figures that the text writes out note by note into recast windows over plain eighths.
    fn gather(&mut self) -> Result<()> {
        let Some(piece) = self.piece.as_ref().filter(|_| self.right) else { return Ok(()) };
        let (plain, found) = recast::reduce(piece.line()).map_err(thrown)?;
        let count = found.windows().len();
        if count == 0 {
            self.say(says::NOTHING_FOUND);
            return Ok(());
        }
        let mut casting = piece.casting().clone();
        for window in found.windows() {
            casting.put(window.clone());
        }
        let piece = Piece::after(piece, plain, casting).map_err(thrown)?;
        self.note = None;
        self.take(piece)?;
        let figures = if count == 1 { says::ONE_FIGURE.into() } else { says::figures(count) };
        self.say(&says::gathered(&figures));
        Ok(())
    }
}
