//! Keep it and hand it on: lines on this device, files, and links.

mod library;
mod link;
mod out;

use halfbar_words::desk as says;
use std::cell::RefCell;
use std::rc::Rc;

use halfbar_core::write;
use halfbar_dom::files::{name, save};
use halfbar_dom::form::{say, sentence, title};
use halfbar_dom::{Result, by_id, create, document, every, focused, hand_on_focus, on, window};
use js_sys::Function;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::{JsFuture, spawn_local};
use web_sys::{
    DragEvent, Element, File, HtmlButtonElement, HtmlElement, HtmlInputElement, HtmlTextAreaElement,
};

use crate::lesson::Lesson;
pub(crate) use library::Library;
use library::Trouble;

/// The width of saved pictures, in staff spaces, as on paper; and how much larger than the SVG says a PNG is: 1,720 pixels wide.
const WIDTH: f64 = 84.0;
const TIMES: f64 = 2.5;
/// How often a text that changed is kept, in milliseconds.
const OFTEN: i32 = 500;
/// The largest file that is opened, in bytes.
const LARGEST: f64 = 20e6;

struct Keep {
    lesson: Rc<RefCell<Lesson>>,
    draw: Function,
    text: HtmlTextAreaElement,
    library: Library,
    /// The text that is kept: nothing is written as long as the reader has not changed it.
    kept: String,
}

type Shared = Rc<RefCell<Keep>>;

pub(crate) fn open(lesson: &Rc<RefCell<Lesson>>, draw: Function) -> Result<()> {
    let text: HtmlTextAreaElement = by_id("text")?;
    let (library, trouble) = Library::open();
    // What a reader changed while this module was on its way is changed.
    let kept = text.default_value()?;
    let keep: Shared = Rc::new(RefCell::new(Keep { lesson: Rc::clone(lesson), draw, text, library, kept }));
    {
        let mut keep = keep.borrow_mut();
        keep.come_back()?;
        keep.arrive()?;
        if let Some(trouble) = trouble {
            keep.say(trouble.says())?;
        }
    }
    on(&keep, &window()?.into(), "hashchange", |keep, _| keep.arrive())?;
    on(&keep, &window()?.into(), "storage", |keep, _| {
        keep.library.refresh();
        keep.show()
    })?;
    // What is wrong is kept, too: it is somebody's work.
    every(&keep, OFTEN, Keep::changed)?;
    on(&keep, &window()?.into(), "pagehide", |keep, _| keep.changed())?;
    for (id, heard) in [
        ("save-svg", (|keep| keep.save_svg()) as fn(&mut Keep) -> Result<()>),
        ("save-png", |keep| keep.save_png()),
        ("save-text", |keep| keep.save_text()),
        ("copy-link", |keep| keep.copy_link()),
        ("new-line", |keep| keep.new_line()),
        ("bring-back", |keep| keep.bring_back()),
        ("save-all", |keep| keep.save_all()),
        ("print-line", |_| print()),
    ] {
        let button: Element = by_id(id)?;
        on(&keep, &button, "click", move |keep, _| heard(keep))?;
    }
    let lines: Element = by_id("lines")?;
    on(&keep, &lines, "click", |keep, event| {
        let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let Some(button) = target.and_then(|target| target.closest("button").ok()?) else { return Ok(()) };
        keep.pressed(&button)
    })?;
    on(&keep, &lines, "change", |keep, event| match event.target() {
        Some(target) => keep.renamed(target.unchecked_ref()),
        None => Ok(()),
    })?;
    open_files(&keep)
}

/// Prints the line, and no worksheet: that is what is printed as long as its part of the page is open.
fn print() -> Result<()> {
    by_id::<Element>("worksheet")?.remove_attribute("open")?;
    window()?.print()
}

/// Files that are chosen, or dropped on the page.
fn open_files(keep: &Shared) -> Result<()> {
    let field: Element = by_id("open-file")?;
    let shared = Rc::clone(keep);
    on(keep, &field, "change", move |_, _| {
        let field: HtmlInputElement = by_id("open-file")?;
        let file = field.files().and_then(|files| files.get(0));
        if let Some(file) = file {
            read_file(&shared, file);
        }
        // So that the same file can be chosen again.
        field.set_value("");
        Ok(())
    })?;
    let page = document()?.into();
    on(keep, &page, "dragover", |_, event| {
        event.prevent_default();
        Ok(())
    })?;
    let shared = Rc::clone(keep);
    on(keep, &page, "drop", move |_, event| {
        let drop: &DragEvent = event.unchecked_ref();
        let file = drop.data_transfer().and_then(|data| data.files()).and_then(|files| files.get(0));
        if let Some(file) = file {
            event.prevent_default();
            read_file(&shared, file);
        }
        Ok(())
    })
}

/// Reads a file, and takes in what is in it.
fn read_file(keep: &Shared, file: File) {
    let keep = Rc::clone(keep);
    spawn_local(async move {
        let text = match file.size() <= LARGEST {
            true => JsFuture::from(file.text()).await.ok().and_then(|text| text.as_string()),
            false => None,
        };
        let Ok(mut keep) = keep.try_borrow_mut() else { return };
        let taken = match text {
            Some(text) => keep.take_in(&text),
            None => keep.say(says::FILE_UNREADABLE),
        };
        if let Err(error) = taken {
            wasm_bindgen::throw_val(error);
        }
    });
}

impl Keep {
    /// Shows the line that was open last, unless the reader has begun another one already.
    fn come_back(&mut self) -> Result<()> {
        if self.text.value() != self.kept {
            self.library.current = None;
            return self.changed();
        }
        match self.library.current.and_then(|id| self.library.line(id)).cloned() {
            Some(line) => self.write(&line.text),
            None => Ok(()),
        }
    }

    /// Shows the line that the address brings, if it brings one.
    fn arrive(&mut self) -> Result<()> {
        match link::text(&window()?.location().hash()?) {
            Some(Ok(text)) => {
                self.changed()?;
                self.edit("", |library| {
                    // A line that somebody sent is kept beside the others, once.
                    match library.lines.iter().find(|line| line.text == text).map(|line| line.id) {
                        Some(id) => library.current = Some(id),
                        None => library.add(&text),
                    }
                })?;
                self.write(&text)
            }
            Some(Err(why)) => self.say(&sentence(&why)),
            None => self.show(),
        }
    }

    /// Puts a text into the page, which is then the one that is kept.
    fn write(&mut self, text: &str) -> Result<()> {
        self.kept = text.into();
        match self.lesson.try_borrow_mut() {
            Ok(mut lesson) => lesson.write(text),
            Err(_) => Ok(()),
        }
    }

    /// The text may be another one.
    fn changed(&mut self) -> Result<()> {
        let text = self.text.value();
        if text == self.kept {
            return Ok(());
        }
        let before = std::mem::replace(&mut self.kept, text.clone());
        self.library.refresh();
        let theirs = self.library.current.and_then(|id| self.library.line(id));
        let says = match theirs.is_some_and(|line| line.text != before && line.text != text) {
            true => {
                self.library.current = None;
                Trouble::Elsewhere.says()
            }
            false => "",
        };
        self.edit(says, |library| library.change(&text))
    }

    /// Changes the lines as they are now, whichever window wrote them, and keeps and shows them. What goes wrong is said; otherwise `says`, if
    /// that says anything.
    fn edit(&mut self, says: &str, edit: impl FnOnce(&mut Library)) -> Result<()> {
        self.library.refresh();
        edit(&mut self.library);
        let trouble = self.library.keep()?;
        self.show()?;
        match trouble {
            Some(trouble) => self.say(trouble.says()),
            None if says.is_empty() => Ok(()),
            None => self.say(says),
        }
    }

    /// Takes in a file: all lines of a library, or one line's text.
    fn take_in(&mut self, text: &str) -> Result<()> {
        self.changed()?;
        let (lines, says) = match Library::parse(text) {
            Some(other) => {
                let says = says::lines_read(other.lines.len());
                (other.lines.into_iter().map(|line| line.text).collect(), says)
            }
            None if text.len() > library::LONGEST || text.contains('\0') => {
                return self.say(says::FILE_IS_NO_LINE);
            }
            None => (vec![text.to_string()], says::FILE_OPEN.into()),
        };
        self.edit(&says, |library| {
            for text in &lines {
                match library.lines.iter().find(|own| own.text == *text).map(|own| own.id) {
                    Some(id) => library.current = Some(id),
                    None => library.add(text),
                }
            }
        })?;
        match lines.last() {
            Some(last) => self.write(last),
            None => Ok(()),
        }
    }

    /// A button beside a line was pressed.
    fn pressed(&mut self, button: &Element) -> Result<()> {
        self.changed()?;
        let id = |name: &str| button.get_attribute(name).and_then(|id| id.parse::<u32>().ok());
        let text = |keep: &Keep, id| keep.library.line(id).map(|line| line.text.clone());
        if let Some(id) = id("data-open")
            && let Some(text) = text(self, id)
        {
            self.edit("", |library| library.current = Some(id))?;
            self.write(&text)
        } else if let Some(id) = id("data-copy")
            && let Some(text) = text(self, id)
        {
            self.edit("", |library| library.add(&text))?;
            self.write(&text)
        } else if let Some(id) = id("data-delete") {
            self.edit(says::DELETED, |library| library.remove(id))
        } else {
            Ok(())
        }
    }

    /// Another title was written beside a line.
    fn renamed(&mut self, field: &HtmlInputElement) -> Result<()> {
        self.changed()?;
        let Some(id) = field.get_attribute("data-title").and_then(|id| id.parse::<u32>().ok()) else {
            return Ok(());
        };
        let title = field.value();
        let title = Some(title.trim()).filter(|title| !title.is_empty());
        let mut renamed = None;
        self.edit("", |library| {
            if let Some(line) = library.lines.iter_mut().find(|line| line.id == id) {
                line.text = write::text::with_header(&line.text, "title", title);
                renamed = Some(line.text.clone());
            }
        })?;
        match renamed.filter(|_| self.library.current == Some(id)) {
            Some(text) => self.write(&text),
            None => Ok(()),
        }
    }

    fn new_line(&mut self) -> Result<()> {
        const EMPTY: &str =
            "title: A new line\nkey: C\nmeter: 4/4\ntempo: 120\n\nC4 D E F  G A B C | C:4 |\n";
        self.changed()?;
        self.edit("", |library| library.add(EMPTY))?;
        self.write(EMPTY)
    }

    fn bring_back(&mut self) -> Result<()> {
        let mut id = None;
        self.edit(says::BACK, |library| id = library.put_back())?;
        match id
            .and_then(|id| document().ok()?.query_selector(&format!("#lines [data-title=\"{id}\"]")).ok()?)
        {
            Some(title) => title.unchecked_into::<HtmlElement>().focus(),
            None => Ok(()),
        }
    }

    fn save_all(&mut self) -> Result<()> {
        save(self.library.file()?.as_bytes(), "application/json", "halfbar-lines.json")
    }

    fn save_text(&mut self) -> Result<()> {
        save(self.text.value().as_bytes(), "text/plain", &name(&self.title(), "txt"))
    }

    fn save_svg(&mut self) -> Result<()> {
        match self.picture()? {
            Some(svg) => save(svg.as_bytes(), "image/svg+xml", &name(&self.title(), "svg")),
            None => self.say(says::MEND_FIRST),
        }
    }

    fn save_png(&mut self) -> Result<()> {
        let Some(svg) = self.picture()? else { return self.say(says::MEND_FIRST) };
        let file = name(&self.title(), "png");
        spawn_local(async move {
            if out::save_png(svg, TIMES, file).await.is_err() {
                let _ = say("keep-says", says::NO_PICTURE);
            }
        });
        Ok(())
    }

    fn picture(&self) -> Result<Option<String>> {
        if self.lesson.borrow_mut().right().is_err() {
            return Ok(None);
        }
        let text = self.text.value();
        Ok(self.draw.call3(&JsValue::NULL, &text.into(), &WIDTH.into(), &true.into())?.as_string())
    }

    fn copy_link(&mut self) -> Result<()> {
        let fragment = match link::fragment(&self.text.value()) {
            Ok(fragment) => fragment,
            Err(why) => return self.say(&sentence(&why)),
        };
        let link = out::address()? + &fragment;
        let field: HtmlInputElement = by_id("link")?;
        field.set_value(&link);
        field.remove_attribute("hidden")?;
        field.select();
        spawn_local(async move {
            let says = match out::copy(link).await {
                Ok(()) => says::LINK_COPIED,
                Err(_) => says::COPY_THE_LINK,
            };
            let _ = say("keep-says", says);
        });
        Ok(())
    }

    fn title(&self) -> String {
        title(&self.text.value()).into()
    }

    /// The lines that are kept.
    fn show(&self) -> Result<()> {
        let lines: Element = by_id("lines")?;
        let had = focused()?;
        lines.set_inner_html("");
        for line in &self.library.lines {
            let item: Element = create("li")?;
            let field: HtmlInputElement = create("input")?;
            let title = title(&line.text);
            field.set_value(title);
            field.set_attribute("data-title", &line.id.to_string())?;
            field.set_attribute("aria-label", says::TITLE)?;
            item.append_child(&field)?;
            let current = self.library.current == Some(line.id);
            if current {
                item.set_attribute("aria-current", "true")?;
            }
            for (name, label) in
                [("data-open", says::OPEN), ("data-copy", says::COPY), ("data-delete", says::DELETE)]
            {
                let button: HtmlButtonElement = create("button")?;
                button.set_type("button");
                button.set_attribute(name, &line.id.to_string())?;
                button.set_attribute("aria-label", &says::button(label, title))?;
                button.set_text_content(Some(label));
                button.set_disabled(current && label == says::OPEN);
                item.append_child(&button)?;
            }
            lines.append_child(&item)?;
        }
        let back: HtmlElement = by_id("bring-back")?;
        back.toggle_attribute_with_force("hidden", self.library.removed.is_none())?;
        // To what does the same to the same line; else to the line; and from a line that is deleted to what brings it back.
        let same = had.as_ref().and_then(|had| {
            let names = ["data-title", "data-open", "data-copy", "data-delete"].into_iter();
            names.filter_map(|name| Some((name, had.get_attribute(name)?))).next()
        });
        let (name, id) = same.unwrap_or_default();
        let (same, line) =
            (format!("#lines [{name}=\"{id}\"]:enabled"), format!("#lines [data-title=\"{id}\"]"));
        let to = [same.as_str(), &line, "#bring-back:not([hidden])", "#new-line"];
        hand_on_focus(had.as_ref(), if name.is_empty() { &to[2..] } else { &to })
    }

    fn say(&self, text: &str) -> Result<()> {
        say("keep-says", text)
    }
}
