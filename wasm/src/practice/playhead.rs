//! Where the music is: a line over the notes, and the sounding note in the accent's color on staff, tab and neck.

use halfbar_core::line::NoteId;
use halfbar_dom::{Result, create, document, window};
use web_sys::{Element, HtmlElement, ScrollBehavior, ScrollIntoViewOptions, ScrollLogicalPosition};

use halfbar_player::Due;

/// The class of what sounds.
const SOUNDING: &str = "sounding";

pub(super) struct Playhead {
    line: HtmlElement,
    /// The note that is shown, and all its signs.
    note: Option<NoteId>,
    signs: Vec<Element>,
    /// The bar that is heard.
    bar: Option<usize>,
    /// Whether the reader wants nothing to glide.
    still: bool,
}

impl Playhead {
    pub(super) fn new() -> Result<Playhead> {
        let line: HtmlElement = create("div")?;
        line.set_class_name("playhead");
        line.set_attribute("aria-hidden", "true")?;
        let still = window()?.match_media("(prefers-reduced-motion: reduce)")?;
        let still = still.is_some_and(|asked| asked.matches());
        Ok(Playhead { line, note: None, signs: Vec::new(), bar: None, still })
    }

    /// The music was drawn anew, so the signs are others.
    pub(super) fn forget(&mut self) {
        (self.note, self.signs) = (None, Vec::new());
    }

    /// Shows the note that sounds at a moment, on the way to the next one.
    pub(super) fn show(&mut self, at: f64, now: Due, next: Option<Due>) -> Result<()> {
        if self.note != Some(now.note) {
            self.light(now.note)?;
        }
        let Some(sign) = self.signs.first() else { return Ok(()) };
        let Some(row) = sign.closest(".row")? else { return Ok(()) };
        let left = row.get_bounding_client_rect().left();
        let x = |sign: &Element| {
            let place = sign.get_bounding_client_rect();
            place.left() + place.width() / 2.0 - left
        };
        let mut here = x(sign);
        if let Some(next) = next.filter(|_| !self.still)
            && let Some(there) = head(next.note)?
            && there.closest(".row")?.as_ref() == Some(&row)
            && x(&there) > here
        {
            let part = (at - now.start) / (next.start - now.start);
            here += part.clamp(0.0, 1.0) * (x(&there) - here);
        }
        if self.line.parent_element().as_ref() != Some(&row) {
            self.follow(&row)?;
            row.append_child(&self.line)?;
        }
        let picture = row.query_selector("svg.system")?;
        let height = picture.map_or(0.0, |picture| picture.get_bounding_client_rect().height());
        // Whole pixels, as floats would take much code to write.
        #[allow(clippy::cast_possible_truncation)]
        let (here, height) = (here.round() as i32, height.round() as i32);
        self.line.style().set_property("height", &format!("{height}px"))?;
        self.line.style().set_property("transform", &format!("translateX({here}px)"))
    }

    /// Whether a bar is another one than before. Its neck is new then.
    pub(super) fn is_new(&mut self, bar: usize) -> bool {
        let new = self.bar.replace(bar) != Some(bar);
        if new {
            self.note = None;
        }
        new
    }

    /// Nothing sounds.
    pub(super) fn hide(&mut self) -> Result<()> {
        self.line.remove();
        self.darken()?;
        (self.note, self.bar) = (None, None);
        Ok(())
    }

    fn darken(&mut self) -> Result<()> {
        self.signs.drain(..).try_for_each(|sign| sign.class_list().remove_1(SOUNDING))
    }

    fn light(&mut self, note: NoteId) -> Result<()> {
        self.darken()?;
        self.note = Some(note);
        let selector =
            format!("#sheet .row > div [data-note=\"{0}\"], #fretboard [data-note~=\"{0}\"]", note.0);
        let signs = document()?.query_selector_all(&selector)?;
        for index in 0..signs.length() {
            if let Some(sign) =
                signs.get(index).and_then(|sign| wasm_bindgen::JsCast::dyn_into::<Element>(sign).ok())
            {
                sign.class_list().add_1(SOUNDING)?;
                self.signs.push(sign);
            }
        }
        Ok(())
    }

    /// Scrolls on with the music, if the reader was looking at it.
    fn follow(&self, row: &Element) -> Result<()> {
        let Some(before) = self.line.parent_element() else { return Ok(()) };
        let height = window()?.inner_height()?.as_f64().unwrap_or(0.0);
        let seen = before.get_bounding_client_rect();
        if seen.bottom() > 0.0 && seen.top() < height {
            let options = ScrollIntoViewOptions::new();
            options.set_block(ScrollLogicalPosition::Nearest);
            options.set_behavior(if self.still { ScrollBehavior::Instant } else { ScrollBehavior::Smooth });
            row.scroll_into_view_with_scroll_into_view_options(&options);
        }
        Ok(())
    }
}

/// The first sign of a note in the music.
pub(super) fn head(note: NoteId) -> Result<Option<Element>> {
    document()?.query_selector(&format!("#sheet .row > div [data-note=\"{}\"]", note.0))
}
