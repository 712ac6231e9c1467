//! The lines that this browser keeps.

use halfbar_dom::{Result, store};
use halfbar_words::keep as says;
use js_sys::{Array, JSON, Object, Reflect};
use wasm_bindgen::prelude::*;

/// Where they are kept, and where what could not be read is put aside.
const KEY: &str = "halfbar-lines";
const ASIDE: &str = "halfbar-lines-damaged";
/// The longest text that is taken in from outside, in letters: much more than a page can draw.
pub(super) const LONGEST: usize = 200_000;

/// A line that is kept.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Kept {
    pub(crate) id: u32,
    pub(crate) text: String,
}

/// The lines, those in the bin, and the one that was open last.
#[derive(Default)]
pub(crate) struct Library {
    pub(crate) lines: Vec<Kept>,
    /// Deleted lines, the last one first, until the bin is emptied.
    pub(super) bin: Vec<Kept>,
    pub(super) current: Option<u32>,
    /// How many lines the last backup had.
    pub(super) backed_up: u32,
}

/// Why a line was not kept, or not where it was.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Trouble {
    /// Nothing can be kept in this browser, or no more.
    Full,
    /// What was kept could not be read, and was put aside.
    Damaged,
    /// Another window wrote this line; this one goes on as a copy.
    Elsewhere,
}

impl Trouble {
    pub(super) fn says(self) -> &'static str {
        match self {
            Trouble::Full => says::STORAGE_IS_FULL,
            Trouble::Damaged => says::KEPT_UNREADABLE,
            Trouble::Elsewhere => says::CHANGED_ELSEWHERE,
        }
    }
}

impl Library {
    /// What is kept now.
    pub(crate) fn open() -> (Library, Option<Trouble>) {
        let Some(text) = store::get(KEY) else { return (Library::default(), None) };
        match Library::parse(&text) {
            Some(library) => (library, None),
            None => {
                // Where it can't be put aside it stays where it is until the next line is kept.
                store::set(ASIDE, &text);
                (Library::default(), Some(Trouble::Damaged))
            }
        }
    }

    /// Lines as a file has them; none when it is no such file.
    pub(super) fn parse(text: &str) -> Option<Library> {
        let kept = JSON::parse(text).ok()?;
        let value = |of: &JsValue, name: &str| Reflect::get(of, &name.into()).ok();
        let mut library = Library::default();
        let list = |name| value(&kept, name)?.dyn_into::<Array>().ok();
        for (list, is_bin) in [(list("lines")?, false), (list("bin").unwrap_or_default(), true)] {
            for line in list.iter() {
                let text = value(&line, "text")?.as_string()?;
                let id = value(&line, "id").and_then(|id| whole(&id)).filter(|&id| library.is_free(id));
                let id = id.unwrap_or_else(|| library.next_id());
                if text.len() <= LONGEST {
                    let to = if is_bin { &mut library.bin } else { &mut library.lines };
                    to.push(Kept { id, text });
                }
            }
        }
        let number = |name| value(&kept, name).and_then(|number| whole(&number));
        library.current = number("current").filter(|&id| library.line(id).is_some());
        library.backed_up = number("backedUp").unwrap_or(0);
        Some(library)
    }

    /// As a file has them.
    pub(super) fn file(&self) -> Result<String> {
        let kept = Object::new();
        Reflect::set(&kept, &"current".into(), &self.current.into())?;
        Reflect::set(&kept, &"backedUp".into(), &self.backed_up.into())?;
        for (name, lines) in [("lines", &self.lines), ("bin", &self.bin)] {
            let list = Array::new();
            for line in lines {
                let row = Object::new();
                Reflect::set(&row, &"id".into(), &line.id.into())?;
                Reflect::set(&row, &"text".into(), &line.text.as_str().into())?;
                list.push(&row);
            }
            Reflect::set(&kept, &name.into(), &list)?;
        }
        Ok(JSON::stringify(&kept)?.into())
    }

    pub(super) fn line(&self, id: u32) -> Option<&Kept> {
        self.lines.iter().find(|line| line.id == id)
    }

    /// All of them, those in the bin too: no two have the same number.
    fn all(&self) -> impl Iterator<Item = &Kept> {
        self.lines.iter().chain(&self.bin)
    }

    fn is_free(&self, id: u32) -> bool {
        self.all().all(|line| line.id != id)
    }

    fn next_id(&self) -> u32 {
        self.all().map(|line| line.id).max().map_or(1, |last| last.saturating_add(1))
    }

    /// Adds a line, which is then the current one.
    pub(super) fn add(&mut self, text: &str) {
        let id = self.next_id();
        self.lines.push(Kept { id, text: text.into() });
        self.current = Some(id);
    }

    /// Puts a line into the bin.
    pub(super) fn remove(&mut self, id: u32) {
        if let Some(index) = self.lines.iter().position(|line| line.id == id) {
            self.bin.insert(0, self.lines.remove(index));
        }
        self.current = self.current.filter(|&current| current != id);
    }

    /// Takes a line out of the bin, to the end of the others.
    pub(super) fn put_back(&mut self, id: u32) {
        if let Some(index) = self.bin.iter().position(|line| line.id == id) {
            self.lines.push(self.bin.remove(index));
        }
    }

    /// Takes the current line's text in; a new line where there is no current one.
    pub(super) fn change(&mut self, text: &str) {
        match self.current.and_then(|id| self.lines.iter_mut().find(|line| line.id == id)) {
            Some(line) => line.text = text.into(),
            None => self.add(text),
        }
    }

    /// Takes in the lines as another window may have written them. Each change is made to these, and then kept.
    pub(super) fn refresh(&mut self) {
        if let Some(other) = store::get(KEY).and_then(|text| Library::parse(&text)) {
            (self.lines, self.bin, self.backed_up) = (other.lines, other.bin, other.backed_up);
        }
    }

    /// Writes all of it.
    pub(super) fn keep(&self) -> Result<Option<Trouble>> {
        Ok((!store::set(KEY, &self.file()?)).then_some(Trouble::Full))
    }
}

/// A whole number, and not a negative one.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(value: &JsValue) -> Option<u32> {
    let number = value.as_f64()?;
    (number.fract() == 0.0 && (0.0..4e9).contains(&number)).then_some(number as u32)
}
