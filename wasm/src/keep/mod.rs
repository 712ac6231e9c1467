//! Keep it and hand it on: lines on this device, files, and links.

mod exchange;
mod library;
mod link;
mod out;

use halfbar_words::exchange::OPENING;
use halfbar_words::keep as says;

use halfbar_core::write;
use halfbar_dom::files::{name, save};
use halfbar_dom::form::{entered, offer_in, say, sentence, title};
use halfbar_dom::{Result, by_id, create, focused, hand_on_focus, window};
use js_sys::Function;
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::JsFuture;
use web_sys::{DragEvent, Element, Event, File, HtmlButtonElement, HtmlInputElement};

use crate::app::{App, Control, Heard};
use crate::page::Page;
use crate::parts::{self, Part};
pub(crate) use library::Kept;
use library::{Library, Trouble};

/// The width of saved pictures, in staff spaces, as on paper.
const WIDTH: f64 = 84.0;
/// From how many lines on they can be searched, and how many may be new before the reader is reminded of a backup.
const MANY: usize = 6;
/// The largest file that is opened, in bytes.
const LARGEST: f64 = 20e6;

pub(crate) struct Keep {
    library: Library,
    /// Has the module for files of other programs do something.
    files: Function,
    /// What went wrong when the lines were read.
    trouble: Option<Trouble>,
    /// The text that is kept: nothing is written as long as the reader has not changed it.
    kept: String,
    behind: bool,
    /// Whether the lines are others than when somebody asked last.
    edited: bool,
    /// Whether the reader was asked if the bin should be emptied.
    asked: bool,
}

/// What a reader does to the lines that are kept, and to hand one on.
pub(crate) const CONTROLS: &[Control] = &[
    ("save-svg", "click", |app, _| app.keep.save_svg(&app.page)),
    ("save-png", "click", |app, _| app.save_png()),
    ("save-text", "click", |app, _| app.keep.save_text(&app.page)),
    ("save-musicxml", "click", |app, _| app.save_for_others("save-musicxml")),
    ("save-midi", "click", |app, _| app.save_for_others("save-midi")),
    ("copy-link", "click", |app, _| app.copy_link()),
    ("new-line", "click", |app, event| {
        button_of(event).map_or(Ok(()), |button| parts::close_panel(&button))?;
        app.new_line()
    }),
    ("find-line", "input", |app, _| app.keep.show()),
    ("empty-bin", "click", |app, _| app.keep.empty_bin()),
    ("bin", "click", |app, event| match button_of(event) {
        Some(button) => app.keep.pressed(&mut app.page, &button),
        None => Ok(()),
    }),
    ("save-all", "click", |app, _| app.keep.save_all()),
    ("print-line", "click", |app, _| print(&app.page)),
    ("lines", "click", |app, event| match button_of(event) {
        Some(button) => app.keep.pressed(&mut app.page, &button),
        None => Ok(()),
    }),
    ("lines", "change", |app, event| match event.target() {
        Some(target) => app.keep.renamed(&mut app.page, target.unchecked_ref()),
        None => Ok(()),
    }),
    ("open-file", "change", |app, _| {
        let field: HtmlInputElement = by_id("open-file")?;
        if let Some(file) = field.files().and_then(|files| files.get(0)) {
            app.read_file(file, exchange::HERE);
        }
        // So that the same file can be chosen again.
        field.set_value("");
        Ok(())
    }),
    ("import", "click", |app, event| match button_of(event) {
        Some(button) => app.ask(exchange::PRESS, &button, "", exchange::HERE),
        None => Ok(()),
    }),
];

/// Other windows and links change lines, too, and nothing is lost when the page is left.
pub(crate) const OF_THE_WINDOW: &[(&str, Heard)] = &[
    ("hashchange", |app, _| app.keep.arrive(&mut app.page)),
    ("storage", |app, _| {
        app.keep.library.refresh();
        app.keep.edited = true;
        app.keep.show()
    }),
    ("pagehide", |app, _| app.keep.changed(&app.page)),
];

/// Files are dropped anywhere.
pub(crate) const OF_THE_DOCUMENT: &[(&str, Heard)] = &[
    ("dragover", |_, event| {
        event.prevent_default();
        Ok(())
    }),
    ("drop", |app, event| {
        let drop: &DragEvent = event.unchecked_ref();
        if let Some(file) = drop.data_transfer().and_then(|data| data.files()).and_then(|files| files.get(0))
        {
            event.prevent_default();
            let on = event.target().and_then(|target| target.dyn_into::<Element>().ok());
            let on_music = on.is_some_and(|on| on.closest("#music").is_ok_and(|music| music.is_some()));
            app.read_file(file, if on_music { exchange::BELOW } else { exchange::HERE });
        }
        Ok(())
    }),
];

/// The button that an event came from.
pub(crate) fn button_of(event: &Event) -> Option<Element> {
    event.target()?.dyn_into::<Element>().ok()?.closest("button").ok()?
}

/// Lists lines, each with its title and its buttons: what a button says, its attribute, and whether it can't be pressed. `of` also says
/// whether a line is the one in the page.
fn list<'a, const N: usize>(
    id: &str,
    lines: impl Iterator<Item = &'a Kept>,
    of: impl Fn(&Kept) -> (bool, [(&'static str, &'static str, bool); N]),
) -> Result<()> {
    let list: Element = by_id(id)?;
    list.set_inner_html("");
    for line in lines {
        let item: Element = create("li")?;
        let field: HtmlInputElement = create("input")?;
        let title = title(&line.text);
        let (is_current, buttons) = of(line);
        field.set_value(title);
        field.set_attribute("data-title", &line.id.to_string())?;
        field.set_attribute("aria-label", says::TITLE)?;
        field.set_read_only(id == "bin");
        item.append_child(&field)?;
        if is_current {
            item.set_attribute("aria-current", "true")?;
        }
        for (label, name, disabled) in buttons {
            let button: HtmlButtonElement = create("button")?;
            button.set_type("button");
            button.set_attribute(name, &line.id.to_string())?;
            button.set_attribute("aria-label", &says::button(label, title))?;
            button.set_text_content(Some(label));
            button.set_disabled(disabled);
            item.append_child(&button)?;
        }
        list.append_child(&item)?;
    }
    Ok(())
}

/// Prints the line.
fn print(page: &Page) -> Result<()> {
    page.lay_out_for_paper()?;
    window()?.print()
}

impl App {
    /// Begins a new line, with the cursor in its text.
    pub(crate) fn new_line(&mut self) -> Result<()> {
        self.keep.new_line(&mut self.page)?;
        self.edit_text()
    }

    /// Reads a file, and takes in what is in it. `place` is where it is said why that can't be done.
    fn read_file(&mut self, file: File, place: &'static str) {
        let text = {
            let file = file.clone();
            async move {
                match file.size() <= LARGEST {
                    true => JsFuture::from(file.text()).await.ok().and_then(|text| text.as_string()),
                    false => None,
                }
            }
        };
        self.spawn(text, move |app, text| match text {
            Some(text) if exchange::is_foreign(&text) => {
                app.keep.say("")?;
                say(place, OPENING)?;
                app.ask(exchange::OPEN, &file, "", place)
            }
            Some(text) => app.keep.take_in(&mut app.page, text, place),
            None => say(place, says::FILE_UNREADABLE),
        });
    }

    /// Saves the line as the file that a button stands for.
    fn save_for_others(&self, button: &str) -> Result<()> {
        match self.page.right() {
            Ok(_) => self.ask(exchange::SAVE, &button.into(), &self.page.source(), exchange::BELOW),
            Err(_) => self.keep.say(says::FIX_FIRST),
        }
    }

    fn save_png(&self) -> Result<()> {
        let Some(svg) = picture(&self.page) else { return self.keep.say(says::FIX_FIRST) };
        let file = name(title(&self.page.source()), "png");
        self.ask(exchange::SAVE_PNG, &svg.into(), &file, exchange::BELOW)
    }

    fn copy_link(&mut self) -> Result<()> {
        let fragment = match link::fragment(&self.page.source()) {
            Ok(fragment) => fragment,
            Err(why) => return self.keep.say(&sentence(&why)),
        };
        let link = out::address()? + &fragment;
        let field: HtmlInputElement = by_id("link")?;
        field.set_value(&link);
        field.remove_attribute("hidden")?;
        self.spawn(out::copy(link), move |app, copied| match copied {
            Ok(()) => app.keep.say(says::LINK_COPIED),
            Err(_) => {
                field.focus()?;
                field.select();
                app.keep.say(says::COPY_THE_LINK)
            }
        });
        Ok(())
    }
}

fn picture(page: &Page) -> Option<String> {
    Some(page.picture(page.right().ok()?, WIDTH, true))
}

impl Keep {
    /// The lines as they are kept.
    pub(crate) fn open(files: Function) -> Keep {
        let (library, trouble) = Library::open();
        let kept = String::new();
        Keep { library, files, trouble, kept, behind: false, edited: false, asked: false }
    }

    /// Shows the line that the address brings, or the one that was open last; but a reader who has begun another one before goes on with that.
    pub(crate) fn begin(&mut self, page: &mut Page) -> Result<()> {
        let text = page.source();
        self.kept = page.first_source()?;
        if text != self.kept {
            self.library.current = None;
            page.begin(&text)?;
            self.arrive(page)?;
        } else {
            let last = |keep: &Keep| keep.library.line(keep.library.current?).map(|line| line.text.clone());
            self.kept = self.sent()?.or_else(|| last(self)).unwrap_or(text);
            page.begin(&self.kept)?;
        }
        self.name()?;
        self.trouble.map_or(Ok(()), |trouble| self.say(trouble.says()))
    }

    /// The lines that are kept.
    pub(crate) fn lines(&self) -> &[Kept] {
        &self.library.lines
    }

    /// Shows the line that the address brings, if it brings one.
    fn arrive(&mut self, page: &mut Page) -> Result<()> {
        self.changed(page)?;
        match self.sent()? {
            Some(text) => self.write(page, &text),
            None => Ok(()),
        }
    }

    /// The line that the address brings. It is kept beside the others, once.
    fn sent(&mut self) -> Result<Option<String>> {
        let text = match link::text(&window()?.location().hash()?) {
            Some(Ok(text)) => text,
            Some(Err(why)) => {
                self.say(&sentence(&why))?;
                return Ok(None);
            }
            None => return Ok(None),
        };
        self.edit("", |library| {
            match library.lines.iter().find(|line| line.text == text).map(|line| line.id) {
                Some(id) => library.current = Some(id),
                None => library.add(&text),
            }
        })?;
        Ok(Some(text))
    }

    /// Puts a text into the page, which is then the one that is kept. It is another line: undo stops here.
    fn write(&mut self, page: &mut Page, text: &str) -> Result<()> {
        self.kept = text.into();
        self.name()?;
        page.open(text)
    }

    /// Begins a new line with this text; the one in the page is kept, even if nobody has changed it.
    pub(crate) fn begin_line(&mut self, page: &mut Page, text: &str, says: &str) -> Result<()> {
        self.changed(page)?;
        let before = page.source();
        let mut from = None;
        self.edit("", |library| {
            if library.current.is_none() {
                library.change(&before);
            }
            from = library.current;
            library.add(text);
        })?;
        self.write(page, text)?;
        if says.is_empty() {
            return Ok(());
        }
        self.say(says)?;
        from.map_or(Ok(()), |id| offer_in("status", says::BACK, "data-open", &id.to_string()))
    }

    /// Shows the name of the line that is open.
    fn name(&self) -> Result<()> {
        say("line-name", title(&self.kept))
    }

    /// The page may have another text.
    pub(crate) fn text_changed(&mut self) {
        self.behind = true;
    }

    /// Whether there may be something to keep.
    pub(crate) fn is_behind(&self) -> bool {
        self.behind
    }

    /// Whether the lines are others than when this was asked last.
    pub(crate) fn take_edited(&mut self) -> bool {
        std::mem::take(&mut self.edited)
    }

    /// Keeps the text, if it is another one. What is wrong is kept, too: it is somebody's work.
    pub(crate) fn changed(&mut self, page: &Page) -> Result<()> {
        self.behind = false;
        let text = page.source();
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
        self.name()?;
        self.edit(says, |library| library.change(&text))
    }

    /// Changes the lines as they are now, whichever window wrote them, and keeps and shows them. What goes wrong is said; otherwise `says`, if
    /// that says anything.
    fn edit(&mut self, says: &str, edit: impl FnOnce(&mut Library)) -> Result<()> {
        match self.change(edit)? {
            Some(trouble) => self.say(trouble.says()),
            None if says.is_empty() => Ok(()),
            None => self.say(says),
        }
    }

    /// Does the same without a word.
    fn change(&mut self, edit: impl FnOnce(&mut Library)) -> Result<Option<Trouble>> {
        self.library.refresh();
        edit(&mut self.library);
        self.edited = true;
        let trouble = self.library.keep()?;
        say("saved", if trouble.is_some() { says::NOT_SAVED } else { says::SAVED })?;
        self.show()?;
        Ok(trouble)
    }

    /// Takes in a file: all lines of a library, or one line's text.
    fn take_in(&mut self, page: &mut Page, text: String, place: &str) -> Result<()> {
        self.changed(page)?;
        let (lines, says) = match Library::parse(&text) {
            Some(other) => {
                let says = says::lines_read(other.lines.len());
                (other.lines.into_iter().map(|line| line.text).collect(), says)
            }
            None if text.len() > library::LONGEST || text.contains('\0') => {
                return say(place, says::FILE_IS_NOT_A_LINE);
            }
            None => (vec![text], says::FILE_OPEN.into()),
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
            Some(last) => self.write(page, last),
            None => Ok(()),
        }
    }

    /// A button beside a line was pressed.
    pub(crate) fn pressed(&mut self, page: &mut Page, button: &Element) -> Result<()> {
        self.changed(page)?;
        let id = |name: &str| button.get_attribute(name).and_then(|id| id.parse::<u32>().ok());
        let text = |keep: &Keep, id| keep.library.line(id).map(|line| line.text.clone());
        if let Some(id) = id("data-open")
            && let Some(text) = text(self, id)
        {
            self.edit("", |library| library.current = Some(id))?;
            self.write(page, &text)
        } else if let Some(id) = id("data-copy")
            && let Some(text) = text(self, id)
        {
            self.edit("", |library| library.add(&text))?;
            self.write(page, &text)
        } else if let Some(id) = id("data-delete") {
            self.delete(page, id)
        } else if let Some(id) = id("data-restore") {
            self.edit(says::RESTORED, |library| library.put_back(id))
        } else if let Some(id) = id("data-bring-back") {
            self.edit(says::RESTORED, |library| {
                library.put_back(id);
                library.current = Some(id);
            })?;
            text(self, id).map_or(Ok(()), |text| self.write(page, &text))
        } else {
            Ok(())
        }
    }

    /// Puts a line into the bin, and offers to take it out again. A line that was open gives its place to the last one of the others.
    fn delete(&mut self, page: &mut Page, id: u32) -> Result<()> {
        let was_open = self.library.current == Some(id);
        let trouble = self.change(|library| {
            library.remove(id);
            if was_open {
                library.current = library.lines.last().map(|line| line.id);
            }
        })?;
        if was_open {
            let next = self.library.lines.last().map(|line| line.text.clone());
            let text = next.map_or_else(|| page.first_source(), Ok)?;
            self.write(page, &text)?;
        }
        self.say(trouble.map_or(says::DELETED, Trouble::says))?;
        let does = if was_open { "data-bring-back" } else { "data-restore" };
        offer_in("status", says::RESTORE, does, &id.to_string())
    }

    /// Another title was written beside a line.
    fn renamed(&mut self, page: &mut Page, field: &HtmlInputElement) -> Result<()> {
        self.changed(page)?;
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
            Some(text) => self.write(page, &text),
            None => Ok(()),
        }
    }

    fn new_line(&mut self, page: &mut Page) -> Result<()> {
        const EMPTY: &str =
            "title: A new line\nkey: C\nmeter: 4/4\ntempo: 120\n\nC4 D E F  G A B C | C:4 |\n";
        self.begin_line(page, EMPTY, "")
    }

    /// Empties the bin, once the reader was asked.
    fn empty_bin(&mut self) -> Result<()> {
        if !std::mem::replace(&mut self.asked, true) {
            return self.show();
        }
        self.edit(says::BIN_EMPTIED, |library| library.bin.clear())
    }

    fn save_all(&mut self) -> Result<()> {
        self.edit("", |library| library.backed_up = u32::try_from(library.lines.len()).unwrap_or(u32::MAX))?;
        self.save(self.library.file()?.as_bytes(), "application/json", "halfbar-lines.json")
    }

    /// Saves a file, and says so.
    fn save(&self, content: &[u8], kind: &str, name: &str) -> Result<()> {
        save(content, kind, name)?;
        self.say(&says::saved(name))
    }

    fn save_text(&self, page: &Page) -> Result<()> {
        let text = page.source();
        self.save(text.as_bytes(), "text/plain", &name(title(&text), "txt"))
    }

    fn save_svg(&self, page: &Page) -> Result<()> {
        match picture(page) {
            Some(svg) => self.save(svg.as_bytes(), "image/svg+xml", &name(title(&page.source()), "svg")),
            None => self.say(says::FIX_FIRST),
        }
    }

    /// Lists the lines, when that part of the page is open.
    pub(crate) fn show(&mut self) -> Result<()> {
        if !Part::Lines.is_open()? {
            return Ok(());
        }
        let had = focused()?;
        let wanted = entered("find-line")?.to_lowercase();
        let Library { lines, bin, current, backed_up } = &self.library;
        let found = lines.iter().filter(|line| line.text.to_lowercase().contains(&wanted));
        list("lines", found, |line| {
            let is_current = *current == Some(line.id);
            let open = (says::OPEN, "data-open", is_current);
            (is_current, [open, (says::DUPLICATE, "data-copy", false), (says::DELETE, "data-delete", false)])
        })?;
        list("bin", bin.iter(), |_| (false, [(says::RESTORE, "data-restore", false)]))?;
        let hide = |id: &str, hidden| by_id::<Element>(id)?.toggle_attribute_with_force("hidden", hidden);
        hide("the-bin", bin.is_empty())?;
        hide("find", lines.len() < MANY)?;
        self.asked &= !bin.is_empty();
        say(
            "empty-bin",
            &if self.asked { says::delete_for_good(bin.len()) } else { says::EMPTY_BIN.into() },
        )?;
        let new = lines.len().saturating_sub(*backed_up as usize);
        say("back-up-says", &if new < MANY { String::new() } else { says::back_up(new) })?;
        // To what does the same to the same line; else to the line; and from a line that is gone to the bin, or to what begins a new one.
        let same = had.as_ref().and_then(|had| {
            let names = ["data-title", "data-open", "data-copy", "data-delete", "data-restore"].into_iter();
            names.filter_map(|name| Some((name, had.get_attribute(name)?))).next()
        });
        let (name, id) = same.unwrap_or_default();
        let (same, line) =
            (format!("#your-lines [{name}=\"{id}\"]:enabled"), format!("#lines [data-title=\"{id}\"]"));
        let to = [same.as_str(), &line, "#the-bin:not([hidden]) summary", "#new-line"];
        hand_on_focus(had.as_ref(), if name.is_empty() { &to[2..] } else { &to })
    }

    fn say(&self, text: &str) -> Result<()> {
        say("status", text)
    }
}
