//! One line with its pads, in whatever element a page gives it: what stands inside of a `half-bar`.
//!
//! The element itself, with its attributes and its life in the document, is `www/half-bar.js`, because only a JavaScript class can be one.
//! Whatever is musical is decided in `halfbar-core`; what the page does too, in `halfbar-view`.

mod example;
mod listener;
mod look;

use halfbar_words::element as says;
use std::cell::{Cell, RefCell, RefMut};
use std::rc::Rc;

use halfbar_dom::Result;
use js_sys::{Error, Function};
use wasm_bindgen::prelude::*;
use web_sys::{Event, EventTarget, HtmlElement};

use example::Example;
use listener::Listener;

thread_local! {
    /// How many widgets there are: one that is forgotten and not freed shows.
    static LIVING: Cell<u32> = const { Cell::new(0) };
}

/// How many widgets there are that were not freed.
#[wasm_bindgen]
pub fn living() -> u32 {
    LIVING.get()
}

/// A line in an element. Free it when the element is gone: that ends all that it listens to.
#[wasm_bindgen]
pub struct Widget {
    shared: Rc<Shared>,
    _listeners: Vec<Listener>,
}

struct Shared {
    example: RefCell<Example>,
    /// Is told what happens, by name, with its detail.
    hears: Function,
}

impl Shared {
    /// Does something to the example, and then tells what came of it: whoever hears it may ask for more.
    fn act<T>(&self, act: impl FnOnce(&mut Example) -> Result<T>) -> Result<T> {
        let mut example = self.borrow()?;
        let done = act(&mut example);
        self.tell(example)?;
        done
    }

    // Not part of what is compiled for each kind of act.
    fn borrow(&self) -> Result<RefMut<'_, Example>> {
        self.example.try_borrow_mut().map_err(|_| Error::new(says::BEING_DRAWN).into())
    }

    // The same.
    fn tell(&self, mut example: RefMut<'_, Example>) -> Result<()> {
        let news = std::mem::take(&mut example.news);
        drop(example);
        for (name, detail) in news {
            self.hears.call2(&JsValue::NULL, &name.into(), &detail)?;
        }
        Ok(())
    }
}

#[wasm_bindgen]
impl Widget {
    /// An example inside an empty element. `tell` is called with `casting` and `{text, windows}` when the casting changes, with `error` and
    /// `{code, line, column, length, message}` when something is wrong, and with `remark` and the same when something is worth saying. Line and
    /// column are 0 for what is not in the text. For what is in the text there may be no message: `explain` it then. `tell` is called with `names` when
    /// the line is to be shown with its names: it is drawn once they are given with `name`.
    ///
    /// # Errors
    /// None in practice.
    #[wasm_bindgen(constructor)]
    pub fn new(root: HtmlElement, tell: Function) -> Result<Widget> {
        let example = Example::new(root)?;
        let (sheet, shelf) = example.roots();
        let shared = Rc::new(Shared { example: RefCell::new(example), hears: tell });
        let listeners = vec![
            shared.on(&sheet, "click", |example, event| example.clicked(event))?,
            shared.on(&sheet, "keydown", |example, event| example.walk(event.unchecked_ref()))?,
            shared.on(&shelf, "change", |example, event| example.choose(event))?,
        ];
        LIVING.set(LIVING.get() + 1);
        Ok(Widget { shared, _listeners: listeners })
    }

    /// Shows a text, or the one before, the way that `options` say: an object with `view`, `figure`, `spelling`, `width`, `fingers`, `words`, `pads`,
    /// `shelf`, `task`, `keep` and `again`, of which any may be missing. A text that is wrong leaves the last good drawing. With `task`, it is shown
    /// without its recasts; with `keep`, with those that a reader has made in the one before, wherever the notes are the same. With `again`, it is the
    /// one before as a reader has recast it.
    ///
    /// # Errors
    /// None in practice: what is wrong is told.
    pub fn show(&self, text: Option<String>, options: &JsValue) -> Result<()> {
        self.shared.act(|example| example.show(text, options))
    }

    /// Draws again, if the room for it is another.
    ///
    /// # Errors
    /// None in practice.
    pub fn resize(&self) -> Result<()> {
        self.shared.act(Example::resize)
    }

    /// The text, with its casting as it is now.
    ///
    /// # Errors
    /// None in practice.
    pub fn text(&self) -> Result<String> {
        self.shared.act(|example| Ok(example.text()))
    }

    /// The recast windows, or those that the text's author has recast, which are the answer to a task: an array of `{bar, beat, figure, spelling}`,
    /// bar and beat counted from 1.
    ///
    /// # Errors
    /// None in practice.
    pub fn windows(&self, answer: bool) -> Result<Vec<JsValue>> {
        self.shared.act(|example| example.windows(answer))
    }

    /// Whether there is a drawing.
    ///
    /// # Errors
    /// None in practice.
    pub fn drawn(&self) -> Result<bool> {
        self.shared.act(|example| Ok(example.is_drawn()))
    }

    /// Shows what is wrong with the text, and where.
    ///
    /// # Errors
    /// None in practice.
    pub fn explain(&self, line: usize, column: usize, message: &str) -> Result<()> {
        self.shared.act(|example| {
            example.explain((line, column), message);
            Ok(())
        })
    }

    /// Takes the names of the line, as the other module has found them; none if it can't be had.
    ///
    /// # Errors
    /// None in practice.
    pub fn name(&self, rows: Vec<String>) -> Result<()> {
        self.shared.act(|example| example.name(&rows))
    }

    /// Recasts the window at a bar and beat, both counted from 1; without a figure, in the chosen one.
    ///
    /// # Errors
    /// An `Error` with `code` when there is no such place, figure or spelling, or when the window can't be recast; nothing changes then.
    pub fn recast(
        &self,
        bar: u32,
        beat: f64,
        figure: Option<String>,
        spelling: Option<String>,
    ) -> Result<()> {
        self.shared.act(|example| example.recast((bar, beat), figure, spelling))
    }

    /// Takes the window at a bar and beat back to its plain rhythm. Says whether anything stood there.
    ///
    /// # Errors
    /// An `Error` with `code` when there is no such place.
    pub fn restore(&self, bar: u32, beat: f64) -> Result<bool> {
        self.shared.act(|example| example.restore((bar, beat)))
    }

    /// Says something to the reader.
    ///
    /// # Errors
    /// None in practice.
    pub fn say(&self, text: &str) -> Result<()> {
        self.shared.act(|example| {
            example.say(text);
            Ok(())
        })
    }
}

impl Drop for Widget {
    fn drop(&mut self) {
        LIVING.set(LIVING.get() - 1);
    }
}

impl Shared {
    /// Calls `heard` at every event for as long as the listener is kept; what goes wrong is thrown, so that the browser's console shows it.
    fn on(
        self: &Rc<Shared>,
        target: &EventTarget,
        event: &'static str,
        mut heard: impl FnMut(&mut Example, &Event) -> Result<()> + 'static,
    ) -> Result<Listener> {
        let shared = Rc::downgrade(self);
        Listener::new(target, event, move |event| {
            let done = shared.upgrade().map_or(Ok(()), |shared| shared.act(|example| heard(example, &event)));
            if let Err(error) = done {
                wasm_bindgen::throw_val(error);
            }
        })
    }
}
