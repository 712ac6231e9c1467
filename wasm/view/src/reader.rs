//! The reader's words for lengths, wherever something is said: on a page, in an element, whichever module has written it.
//!
//! All is written in the words of [`Dialect::American`]. For a reader of others, texts and labels are put into those as they appear, before the
//! browser paints them. What is the reader's own stands in an element with `translate="no"` (HTML, section 3.2.6.1), or in quotes.

use std::cell::RefCell;
use std::rc::Rc;

use halfbar_core::dialect::Dialect;
use halfbar_dom::{Result, document};
use js_sys::Array;
use wasm_bindgen::prelude::*;
use web_sys::{Element, MutationObserver, MutationObserverInit, MutationRecord, Node};

/// Attributes that are read out or shown.
const ATTRIBUTES: [&str; 2] = ["aria-label", "title"];
/// What holds nothing of ours: drawings, texts, and what is marked as somebody's own.
const OWN: &str = "svg, textarea, code, [translate=no]";
/// `NodeFilter.SHOW_TEXT` (DOM, section 6.4).
const SHOW_TEXT: u32 = 4;
/// Beyond so many, those that are gone are forgotten.
const MANY: usize = 500;

/// Everything inside an element, in the reader's words.
pub struct Reader {
    said: Rc<RefCell<Said>>,
    observer: MutationObserver,
    /// What the observer calls.
    _changed: Closure<dyn FnMut(Array, MutationObserver)>,
}

/// What was put into the reader's words, to be taken back.
struct Said {
    root: Element,
    words: Dialect,
    changed: Vec<Changed>,
}

struct Changed {
    node: Node,
    /// The attribute, if it is not the text itself.
    attribute: Option<&'static str>,
    before: String,
    now: String,
}

impl Reader {
    /// For everything inside an element; in the words of [`Dialect::American`] at first.
    ///
    /// # Errors
    /// None in practice.
    pub fn new(root: Element) -> Result<Reader> {
        let said = Rc::new(RefCell::new(Said { root, words: Dialect::American, changed: Vec::new() }));
        let shared = Rc::clone(&said);
        let changed = Closure::<dyn FnMut(Array, MutationObserver)>::new(
            move |records: Array, observer: MutationObserver| {
                let mut said = shared.borrow_mut();
                for record in records.iter() {
                    said.hear(record.unchecked_ref());
                }
                // What this has changed itself is no news.
                observer.take_records();
            },
        );
        let observer = MutationObserver::new(changed.as_ref().unchecked_ref())?;
        Ok(Reader { said, observer, _changed: changed })
    }

    /// From now on in these words.
    ///
    /// # Errors
    /// None in practice.
    pub fn set(&self, words: Dialect) -> Result<()> {
        let mut said = self.said.borrow_mut();
        if said.words == words {
            return Ok(());
        }
        self.observer.disconnect();
        said.take_back();
        said.words = words;
        if words == Dialect::American {
            return Ok(());
        }
        let root = said.root.clone();
        said.all(&root);
        let watch = MutationObserverInit::new();
        watch.set_subtree(true);
        watch.set_child_list(true);
        watch.set_character_data(true);
        watch.set_attribute_filter(&ATTRIBUTES.into_iter().map(JsValue::from).collect::<Array>());
        self.observer.observe_with_options(&root, &watch)
    }
}

impl Drop for Reader {
    fn drop(&mut self) {
        self.observer.disconnect();
    }
}

impl Said {
    fn hear(&mut self, record: &MutationRecord) {
        // A text that changed stands in an element.
        let Some(target) = record.target() else { return };
        match target.dyn_ref::<Element>() {
            Some(element) => self.all(element),
            None => self.put(&target, None, target.node_value()),
        }
        if self.changed.len() > MANY {
            self.changed.retain(|changed| changed.node.is_connected());
        }
    }

    /// An element and all in it.
    fn all(&mut self, element: &Element) {
        if let Ok(Ok(walker)) =
            document().map(|page| page.create_tree_walker_with_what_to_show(element, SHOW_TEXT))
        {
            while let Ok(Some(node)) = walker.next_node() {
                self.put(&node, None, node.node_value());
            }
        }
        self.labels(element);
        if let Ok(labelled) = element.query_selector_all("[aria-label], [title]") {
            for node in (0..labelled.length()).filter_map(|index| labelled.get(index)) {
                self.labels(node.unchecked_ref());
            }
        }
    }

    fn labels(&mut self, element: &Element) {
        for name in ATTRIBUTES {
            self.put(element, Some(name), element.get_attribute(name));
        }
    }

    fn put(&mut self, node: &Node, attribute: Option<&'static str>, before: Option<String>) {
        let Some(before) = before else { return };
        let now = self.words.say(&before).into_owned();
        if now == before {
            return;
        }
        let around = node.dyn_ref::<Element>().cloned().or_else(|| node.parent_element());
        if around.is_some_and(|element| !matches!(element.closest(OWN), Ok(None))) {
            return;
        }
        let changed = Changed { node: node.clone(), attribute, before, now };
        changed.set(&changed.now);
        self.changed.push(changed);
    }

    /// Everything as it was written, unless something else has been written since.
    fn take_back(&mut self) {
        for changed in self.changed.drain(..).rev() {
            if changed.is_there() {
                changed.set(&changed.before);
            }
        }
    }
}

impl Changed {
    fn is_there(&self) -> bool {
        let there = match self.attribute {
            None => self.node.node_value(),
            Some(name) => self.node.dyn_ref::<Element>().and_then(|element| element.get_attribute(name)),
        };
        there.as_ref() == Some(&self.now)
    }

    fn set(&self, text: &str) {
        match (self.attribute, self.node.dyn_ref::<Element>()) {
            (Some(name), Some(element)) => {
                // The name of an attribute that was there.
                let _ = element.set_attribute(name, text);
            }
            _ => self.node.set_node_value(Some(text)),
        }
    }
}
