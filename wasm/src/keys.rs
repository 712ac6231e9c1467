//! What keys do outside of text fields. Each can be switched off (WCAG 2.2, success criterion 2.1.4), and the browser remembers that.

use halfbar_core::recast::Spelling;
use halfbar_dom::{Result, by_id, create, store};
use halfbar_words::keys as says;
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, HtmlInputElement, KeyboardEvent};

use crate::app::{App, Control};
use crate::parts::Part;

/// A key, or keys that do the like.
struct Shortcut {
    /// As `KeyboardEvent.key` has them, in lowercase.
    keys: &'static [&'static str],
    /// What they are called, and what they do.
    says: (&'static str, &'static str),
    /// What is done, with the key's index among them.
    does: fn(&mut App, usize) -> Result<()>,
}

const SHORTCUTS: &[Shortcut] = &[
    Shortcut { keys: &[" "], says: says::SPACE, does: |app, _| app.practice.play_or_stop(&app.page) },
    Shortcut {
        keys: &["arrowleft", "arrowright"],
        says: says::LEFT_RIGHT,
        does: |app, _| app.page.focus_music(),
    },
    Shortcut {
        keys: &["arrowdown", "arrowup"],
        says: says::UP_DOWN,
        does: |app, up| app.practice.change_tempo(if up == 1 { 1 } else { -1 }, &app.page),
    },
    Shortcut {
        keys: &["1", "2", "3", "4", "5", "6", "7", "8", "9"],
        says: says::DIGITS,
        does: |app, index| {
            app.page.take_figure(index)?;
            app.practice.show_ladder(&app.page)
        },
    },
    Shortcut {
        keys: &["b", "t"],
        says: says::NOTATION,
        does: |app, index| app.page.take_spelling([Spelling::Bracket, Spelling::Tied][index]),
    },
    Shortcut { keys: &["l"], says: says::LOOP, does: |app, _| app.practice.loop_chosen(&app.page) },
    Shortcut { keys: &["a"], says: says::VERSION, does: |app, _| app.practice.next_version(&app.page) },
    Shortcut { keys: &["f"], says: says::NECK, does: |app, _| app.go_to_neck() },
    Shortcut { keys: &["e"], says: says::TEXT, does: |app, _| app.edit_text() },
    Shortcut {
        keys: &["[", "]"],
        says: says::STRINGS,
        does: |app, higher| app.page.change_string(higher == 1),
    },
    Shortcut { keys: &["n"], says: says::NEW, does: |app, _| app.new_line() },
    Shortcut {
        keys: &["p", "x", "y", "s", "w"],
        says: says::PARTS,
        does: |app, index| {
            app.go_to_part([Part::Practice, Part::Make, Part::Lines, Part::Share, Part::Worksheet][index])
        },
    },
    Shortcut { keys: &["escape"], says: says::ESCAPE, does: |app, _| app.page.let_go() },
    Shortcut { keys: &["?"], says: says::HELP, does: |app, _| app.go_to_part(Part::Help) },
];

/// Where the browser keeps which keys are switched off: the first key of each, one a line.
const OFF: &str = "halfbar-keys-off";

/// What a reader does to the list of keys.
pub(crate) const CONTROLS: &[Control] = &[("keys", "change", |_, _| remember())];

/// Lists the keys, each with a box to switch it off.
pub(crate) fn list() -> Result<()> {
    let (list, off): (Element, _) = (by_id("keys")?, store::get(OFF).unwrap_or_default());
    if list.first_element_child().is_some() {
        return Ok(());
    }
    for shortcut in SHORTCUTS {
        let (name, does) = shortcut.says;
        let (item, label): (Element, HtmlElement) = (create("li")?, create("label")?);
        let field: HtmlInputElement = create("input")?;
        field.set_type("checkbox");
        field.set_checked(!shortcut.is_off(&off));
        let key: HtmlElement = create("kbd")?;
        key.set_text_content(Some(name));
        let what: HtmlElement = create("span")?;
        what.set_text_content(Some(does));
        label.set_class_name("tick");
        label.append_child(&field)?;
        label.append_child(&key)?;
        label.append_child(&what)?;
        item.append_child(&label)?;
        list.append_child(&item)?;
    }
    Ok(())
}

impl Shortcut {
    fn is_off(&self, off: &str) -> bool {
        off.lines().any(|key| key == self.keys[0])
    }
}

/// Keeps which keys are switched off.
fn remember() -> Result<()> {
    let fields = by_id::<Element>("keys")?.query_selector_all("input")?;
    let is_off = |index: u32| {
        let field = fields.get(index).and_then(|field| field.dyn_into::<HtmlInputElement>().ok());
        field.is_some_and(|field| !field.checked())
    };
    let off: Vec<&str> = (0..)
        .zip(SHORTCUTS)
        .filter(|(index, _)| is_off(*index))
        .map(|(_, shortcut)| shortcut.keys[0])
        .collect();
    store::set(OFF, &off.join("\n"));
    Ok(())
}

impl App {
    /// Opens the text, with the cursor in it.
    pub(crate) fn edit_text(&mut self) -> Result<()> {
        self.open(Part::Text)?;
        by_id::<HtmlElement>("text")?.focus()
    }

    /// A key is pressed anywhere in the page.
    pub(crate) fn key(&mut self, event: &Event) -> Result<()> {
        let key: &KeyboardEvent = event.unchecked_ref();
        if self.practice.is_tapped_by(key)? || event.default_prevented() {
            return Ok(());
        }
        let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let within =
            |selector: &str| target.as_ref().is_some_and(|target| target.matches(selector) == Ok(true));
        let name = key.key().to_lowercase();
        if within("input:not([type=checkbox], [type=radio], [type=range]), textarea") {
            // Out of the field, to the music.
            return if name == "escape" && !within("[type=search]") {
                self.page.focus_music()
            } else {
                Ok(())
            };
        }
        if (key.ctrl_key() || key.meta_key()) && !key.alt_key() {
            let step = match (name.as_str(), key.shift_key()) {
                ("z", false) => "undo",
                ("z", true) | ("y", false) => "redo",
                _ => return Ok(()),
            };
            event.prevent_default();
            return self.page.go_back_or_on(step == "undo");
        }
        // What a control does with a key itself goes first.
        let own = match name.as_str() {
            " " => within("button:not(.pad), summary, input, select"),
            "arrowleft" | "arrowright" | "arrowup" | "arrowdown" => within("input, select, .pad"),
            "escape" => false,
            _ => within("select"),
        };
        if own || key.alt_key() || key.ctrl_key() || key.meta_key() || name.len() > 1 && key.shift_key() {
            return Ok(());
        }
        let off = store::get(OFF).unwrap_or_default();
        for shortcut in SHORTCUTS.iter().filter(|shortcut| !shortcut.is_off(&off)) {
            if let Some(index) = shortcut.keys.iter().position(|key| *key == name) {
                // What the browser does with Escape itself, such as closing a panel, it does as well.
                if name != "escape" {
                    event.prevent_default();
                }
                return (shortcut.does)(self, index);
            }
        }
        Ok(())
    }
}
