//! Which part of the page is open: one part of the margin at a time, or the worksheet in place of the music.

use halfbar_dom::{Result, by_id, document, focused, window};
use wasm_bindgen::JsCast;
use web_sys::{Element, Event, HtmlElement, ScrollIntoViewOptions, ScrollLogicalPosition};

use crate::app::App;
use crate::{help, make, material};

/// Where the open part is written, so that the style sheet can lay out the page around it.
const PART: &str = "data-part";
/// The part that a section of the page is.
const OF: &str = "data-of";
/// A window at least this wide has margin and figures side by side, as the style sheet has it.
const WIDE: &str = "(min-width: 68.75rem)";

/// A part of the page that can be opened.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Part {
    /// The figures to choose from. A wide page shows them always, and the text in the margin then.
    Figures,
    Text,
    /// Fingering and picking, with the neck.
    Hands,
    Practice,
    /// What is in the line.
    Harmony,
    /// Exercises.
    Make,
    /// The reader's lines.
    Lines,
    /// Lines from files.
    Import,
    Share,
    Help,
    Worksheet,
}

impl Part {
    const ALL: [Part; 11] = [
        Part::Figures,
        Part::Text,
        Part::Hands,
        Part::Practice,
        Part::Harmony,
        Part::Make,
        Part::Lines,
        Part::Import,
        Part::Share,
        Part::Help,
        Part::Worksheet,
    ];

    /// Its name in the page.
    fn name(self) -> &'static str {
        match self {
            Part::Figures => "figures",
            Part::Text => "text",
            Part::Hands => "hands",
            Part::Practice => "practice",
            Part::Harmony => "harmony",
            Part::Make => "make",
            Part::Lines => "lines",
            Part::Import => "import",
            Part::Share => "share",
            Part::Help => "help",
            Part::Worksheet => "worksheet",
        }
    }

    fn named(name: &str) -> Option<Part> {
        Part::ALL.into_iter().find(|part| part.name() == name)
    }

    /// Whether it is open.
    pub(crate) fn is_open(self) -> Result<bool> {
        Ok(by_id::<Element>("page")?.get_attribute(PART).as_deref() == Some(self.name()))
    }
}

/// The buttons that open a part.
pub(crate) const BUTTONS: &str = "button[data-part]";

/// Whether the page has margin and figures side by side.
pub(crate) fn is_wide() -> Result<bool> {
    Ok(window()?.match_media(WIDE)?.is_some_and(|asked| asked.matches()))
}

/// Opens a part in place of the one that is open.
fn show(part: Part) -> Result<()> {
    by_id::<Element>("page")?.set_attribute(PART, part.name())?;
    let wide = is_wide()?;
    let is_shown =
        |name: &str| name == part.name() || wide && part == Part::Figures && name == Part::Text.name();
    let sections = document()?.query_selector_all(&format!("[{OF}], {BUTTONS}"))?;
    for index in 0..sections.length() {
        let Some(one) = sections.get(index).and_then(|one| one.dyn_into::<Element>().ok()) else { continue };
        match one.get_attribute(OF) {
            Some(of) => {
                one.toggle_attribute_with_force("data-open", of == part.name())?;
            }
            None => {
                let shown = is_shown(&one.get_attribute(PART).unwrap_or_default());
                one.set_attribute("aria-expanded", if shown { "true" } else { "false" })?;
            }
        }
    }
    Ok(())
}

/// Has all of what the keys have come to in view, with its ring: browsers leave it where it is when half of it can be seen.
pub(crate) fn show_focused(event: &Event) -> Result<()> {
    let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
    target.map_or(Ok(()), |target| show_whole(&target))
}

/// Has all of a control in view that the keys have come to.
pub(crate) fn show_whole(target: &Element) -> Result<()> {
    if target.matches(":is(button, summary, input, select):focus-visible")? {
        // Of a choice, only its label is seen.
        let label = if target.matches("[type=radio]")? { target.closest("label")? } else { None };
        let target = label.as_ref().unwrap_or(target);
        let nearest = ScrollIntoViewOptions::new();
        nearest.set_block(ScrollLogicalPosition::Nearest);
        nearest.set_inline(ScrollLogicalPosition::Nearest);
        target.scroll_into_view_with_scroll_into_view_options(&nearest);
    }
    Ok(())
}

/// Closes the panel that a button is in.
pub(crate) fn close_panel(button: &Element) -> Result<()> {
    let panel = button.closest(":popover-open")?.and_then(|panel| panel.dyn_into::<HtmlElement>().ok());
    panel.map_or(Ok(()), |panel| panel.hide_popover())
}

impl App {
    /// A button was pressed that opens a part, or closes it when it is open.
    pub(crate) fn press_part(&mut self, event: &Event) -> Result<()> {
        let button = event.current_target().and_then(|target| target.dyn_into::<HtmlElement>().ok());
        let name = button.as_ref().and_then(|button| button.get_attribute(PART)).unwrap_or_default();
        button.map_or(Ok(()), |button| close_panel(&button))?;
        Part::named(&name).map_or(Ok(()), |part| self.open_or_close(part))
    }

    /// Opens a part, or closes it when it is open.
    pub(crate) fn open_or_close(&mut self, part: Part) -> Result<()> {
        self.open(if part.is_open()? { Part::Figures } else { part })
    }

    /// A key opens a part, and the next Tab goes to its first control; or it closes the part, and the music has the focus.
    pub(crate) fn go_to_part(&mut self, part: Part) -> Result<()> {
        if part.is_open()? {
            self.open(Part::Figures)?;
            return self.page.focus_music();
        }
        self.open(part)?;
        let section = document()?.query_selector(&format!("[{OF}={}]", part.name()))?;
        section
            .and_then(|section| section.dyn_into::<HtmlElement>().ok())
            .map_or(Ok(()), |section| section.focus())
    }

    /// A key opens fingering, then goes to the neck, and closes both from there.
    pub(crate) fn go_to_neck(&mut self) -> Result<()> {
        let neck: HtmlElement = by_id("fretboard")?;
        if Part::Hands.is_open()? && focused()?.as_ref() != Some(neck.as_ref()) {
            neck.focus()?;
            self.page.come_to_neck()
        } else {
            self.go_to_part(Part::Hands)
        }
    }

    /// Opens a part of the page, with what it shows now.
    pub(crate) fn open(&mut self, part: Part) -> Result<()> {
        show(part)?;
        by_id::<Element>("margin")?.set_scroll_top(0);
        match part {
            Part::Hands => self.page.show_hands(),
            Part::Harmony => self.page.show_harmony(),
            Part::Make => {
                make::offer_scales(&self.page)?;
                material::show(&self.page)?;
                self.page.show_stretch()
            }
            Part::Lines => self.keep.show(),
            Part::Help => help::show(),
            Part::Worksheet => self.worksheet.unfold(&self.keep),
            Part::Figures | Part::Text | Part::Practice | Part::Import | Part::Share => Ok(()),
        }
    }
}
