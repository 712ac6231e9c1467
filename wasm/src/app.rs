//! The parts of the page together: what a reader does goes to one of them, and what comes of it to the others.

use std::cell::RefCell;
use std::future::Future;
use std::rc::{Rc, Weak};

use halfbar_dom::{Result, by_id, document, hand_on_focus, window};
use js_sys::Function;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use web_sys::{Event, EventTarget};

use crate::keep::{self, Keep};
use crate::page::{self, Page};
use crate::parts::{self, Part};
use crate::practice::{self, Practice};
use crate::worksheet::{self, Worksheet};
use crate::{help, keys, make, material};

/// All parts of the page.
pub(crate) struct App {
    me: Weak<RefCell<App>>,
    pub(crate) page: Page,
    pub(crate) practice: Practice,
    pub(crate) keep: Keep,
    pub(crate) worksheet: Worksheet,
    waits: Waits,
}

/// What is done about an event.
pub(crate) type Heard = fn(&mut App, &Event) -> Result<()>;

/// The id of an element, what happens to it, and what is done about that.
pub(crate) type Control = (&'static str, &'static str, Heard);

/// What the browser calls later.
struct Waits {
    keep: Call,
    worksheet: Call,
    practice: Call,
    frame: Call,
}

/// How often a text that changed is kept, how soon worksheets follow what is changed, and how often more is put on the audio clock, in
/// milliseconds.
const KEEP: i32 = 500;
const WORKSHEET: i32 = 250;
const PRACTICE: i32 = 50;

/// Brings all of the page to life.
pub(crate) fn start(worklet: String, files: Function) -> Result<()> {
    let (mut page, mut keep) = (Page::new()?, Keep::open(files));
    // The line that is seen first is the one that the reader had, or was sent.
    keep.begin(&mut page)?;
    let (practice, worksheet) = (Practice::new(worklet)?, Worksheet::new()?);
    let app = Rc::new_cyclic(|me| {
        let waits = Waits {
            keep: Call::new(me, |app| &mut app.waits.keep, |app| app.keep.changed(&app.page)),
            worksheet: Call::new(
                me,
                |app| &mut app.waits.worksheet,
                |app| app.worksheet.draw(&app.page, &app.keep),
            ),
            practice: Call::new(me, |app| &mut app.waits.practice, |app| app.practice.go_on(&app.page)),
            frame: Call::new(me, |app| &mut app.waits.frame, App::show_sounding),
        };
        RefCell::new(App { me: Weak::clone(me), page, practice, keep, worksheet, waits })
    });
    let controls = [
        page::CONTROLS,
        practice::CONTROLS,
        make::CONTROLS,
        material::CONTROLS,
        keep::CONTROLS,
        worksheet::CONTROLS,
        keys::CONTROLS,
        help::CONTROLS,
    ];
    for controls in controls {
        for &(id, event, heard) in controls {
            on(&app, &by_id::<EventTarget>(id)?, event, heard)?;
        }
    }
    let buttons = document()?.query_selector_all(parts::BUTTONS)?;
    for button in (0..buttons.length()).filter_map(|index| buttons.get(index)) {
        on(&app, &button, "click", App::press_part)?;
    }
    on(
        &app,
        &document()?.query_selector(practice::PLAY)?.ok_or("the page lacks its Play")?.into(),
        "click",
        |app, _| app.practice.play_or_stop(&app.page),
    )?;
    let (window, document) = (window()?.into(), document()?.into());
    for (target, events) in [(&window, keep::OF_THE_WINDOW), (&document, keep::OF_THE_DOCUMENT)] {
        for &(event, heard) in events {
            on(&app, target, event, heard)?;
        }
    }
    on(&app, &by_id::<EventTarget>("status")?, "click", App::take_offer)?;
    on(&app, &window, "beforeprint", |app, _| app.page.lay_out_for_paper())?;
    on(&app, &document, "focusin", |_, event| parts::show_focused(event))?;
    on(&app, &document, "keydown", App::key)?;
    on(&app, &document, "pointerup", |app, _| app.page.release())?;
    on(&app, &document, "selectionchange", |app, _| app.page.mark_cursor())?;
    on(&app, &document, "visibilitychange", |app, _| app.practice.go_on(&app.page))?;
    page::follow_width(&app)?;
    let mut app = app.borrow_mut();
    app.open(Part::Figures)?;
    app.settle()
}

/// Does something about every event of a kind, for as long as the page lives. What goes wrong is thrown, so that the browser's console shows it.
fn on(app: &Rc<RefCell<App>>, target: &EventTarget, event: &str, heard: Heard) -> Result<()> {
    let app = Rc::clone(app);
    let closure = Closure::<dyn FnMut(Event)>::new(move |event: Event| {
        tell(&Rc::downgrade(&app), |app| heard(app, &event));
    });
    target.add_event_listener_with_callback(event, closure.as_ref().unchecked_ref())?;
    // The page never stops listening.
    closure.forget();
    Ok(())
}

/// Does something to the app, if that is not busy: an event that arrives while another is being handled, such as focus, has nothing to add.
pub(crate) fn tell(app: &Weak<RefCell<App>>, act: impl FnOnce(&mut App) -> Result<()>) {
    let Some(app) = app.upgrade() else { return };
    let done = match app.try_borrow_mut() {
        Ok(mut app) => act(&mut app).and_then(|()| app.settle()),
        Err(_) => Ok(()),
    };
    // Only now: what is thrown leaves this module without giving anything back.
    drop(app);
    if let Err(error) = done {
        wasm_bindgen::throw_val(error);
    }
}

impl App {
    /// Tells each part what has come of another, and has the browser call again where something is left to do.
    fn settle(&mut self) -> Result<()> {
        let App { page, practice, keep, worksheet, waits, .. } = self;
        let changed = page.take_changed();
        if changed.line {
            practice.line_changed()?;
        }
        if changed.music {
            practice.music_changed();
        }
        if changed.selection {
            practice.bars_selected(page)?;
        }
        if changed.text {
            keep.text_changed();
            if Part::Make.is_open()? {
                make::offer_scales(page)?;
            }
        }
        if practice.take_chosen() | changed.text {
            let looped = page.piece().map_or(Ok(None), practice::looped)?;
            page.mark_looped(looped)?;
        }
        // A sheet shows what the music shows: its view, its fingers and its words, too.
        if keep.take_edited() | changed.text | changed.music {
            worksheet.change();
        }
        waits.keep.after(KEEP, keep.is_behind())?;
        waits.worksheet.after(WORKSHEET, worksheet.is_behind())?;
        waits.practice.after(PRACTICE, practice.is_busy())?;
        waits.frame.at_next_frame(practice.is_playing())
    }

    /// A button beside a message was pressed: it takes back what the message tells.
    fn take_offer(&mut self, event: &Event) -> Result<()> {
        let Some(button) = keep::button_of(event) else { return Ok(()) };
        match button.has_attribute(page::PUT_BACK) {
            true => self.page.put_back()?,
            false => self.keep.pressed(&mut self.page, &button)?,
        }
        // The button goes with the message.
        hand_on_focus(Some(&button), &[practice::PLAY])
    }

    /// Shows what is heard at this moment, and its bar on the neck.
    fn show_sounding(&mut self) -> Result<()> {
        if let Some(bar) = self.practice.new_bar() {
            self.page.follow(bar)?;
        }
        self.practice.show()
    }

    /// Starts what takes a while, and does something about its end.
    pub(crate) fn spawn<T>(
        &self,
        task: impl Future<Output = T> + 'static,
        done: impl FnOnce(&mut App, T) -> Result<()> + 'static,
    ) {
        let me = Weak::clone(&self.me);
        spawn_local(async move {
            let value = task.await;
            tell(&me, |app| done(app, value));
        });
    }
}

/// Something that the browser is asked to call after a while or at its next frame, once at a time.
struct Call {
    closure: Closure<dyn FnMut()>,
    awaited: bool,
}

impl Call {
    fn new(
        app: &Weak<RefCell<App>>,
        this: fn(&mut App) -> &mut Call,
        act: fn(&mut App) -> Result<()>,
    ) -> Call {
        let app = Weak::clone(app);
        let closure = Closure::new(move || {
            tell(&app, |app| {
                this(app).awaited = false;
                act(app)
            });
        });
        Call { closure, awaited: false }
    }

    /// Asks for the call so many milliseconds from now, if it is wanted and not on its way.
    fn after(&mut self, milliseconds: i32, wanted: bool) -> Result<()> {
        if wanted && !std::mem::replace(&mut self.awaited, true) {
            let call = self.closure.as_ref().unchecked_ref();
            window()?.set_timeout_with_callback_and_timeout_and_arguments_0(call, milliseconds)?;
        }
        Ok(())
    }

    fn at_next_frame(&mut self, wanted: bool) -> Result<()> {
        if wanted && !std::mem::replace(&mut self.awaited, true) {
            window()?.request_animation_frame(self.closure.as_ref().unchecked_ref())?;
        }
        Ok(())
    }
}
