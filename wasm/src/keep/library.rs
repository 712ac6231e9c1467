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

/// The lines, the one that was open last, and whatever went wrong.
#[derive(Default)]
pub(crate) struct Library {
    pub(crate) lines: Vec<Kept>,
    pub(super) current: Option<u32>,
    /// What was taken away last, and from where.
    pub(super) removed: Option<(usize, Kept)>,
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
        let lines = Reflect::get(&kept, &"lines".into()).ok()?.dyn_into::<Array>().ok()?;
        let mut library = Library::default();
        for line in lines.iter() {
            let text = Reflect::get(&line, &"text".into()).ok()?.as_string()?;
            let id = Reflect::get(&line, &"id".into()).ok().and_then(|id| whole(&id));
            let free = |id: &u32| library.lines.iter().all(|line| line.id != *id);
            let id = id.filter(free).unwrap_or_else(|| library.next_id());
            if text.len() <= LONGEST {
                library.lines.push(Kept { id, text });
            }
        }
        let current = Reflect::get(&kept, &"current".into()).ok().and_then(|id| whole(&id));
        library.current = current.filter(|&id| library.line(id).is_some());
        Some(library)
    }

    /// As a file has them.
    pub(super) fn file(&self) -> Result<String> {
        let lines = Array::new();
        for line in &self.lines {
            let row = Object::new();
            Reflect::set(&row, &"id".into(), &line.id.into())?;
            Reflect::set(&row, &"text".into(), &line.text.as_str().into())?;
            lines.push(&row);
        }
        let kept = Object::new();
        Reflect::set(&kept, &"current".into(), &self.current.into())?;
        Reflect::set(&kept, &"lines".into(), &lines)?;
        Ok(JSON::stringify(&kept)?.into())
    }

    pub(super) fn line(&self, id: u32) -> Option<&Kept> {
        self.lines.iter().find(|line| line.id == id)
    }

    fn next_id(&self) -> u32 {
        self.lines.iter().map(|line| line.id).max().map_or(1, |last| last.saturating_add(1))
    }

    /// Adds a line, which is then the current one.
    pub(super) fn add(&mut self, text: &str) {
        let id = self.next_id();
        self.lines.push(Kept { id, text: text.into() });
        self.current = Some(id);
    }

    /// Takes a line away.
    pub(super) fn remove(&mut self, id: u32) {
        if let Some(index) = self.lines.iter().position(|line| line.id == id) {
            self.removed = Some((index, self.lines.remove(index)));
        }
        self.current = self.current.filter(|&current| current != id);
    }

    /// Puts back the line that was taken away last, and says which that is. Another window may have given its number to a new line.
    pub(super) fn put_back(&mut self) -> Option<u32> {
        let (index, mut line) = self.removed.take()?;
        if self.line(line.id).is_some() {
            line.id = self.next_id();
        }
        let id = line.id;
        self.lines.insert(index.min(self.lines.len()), line);
        Some(id)
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
            self.lines = other.lines;
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
