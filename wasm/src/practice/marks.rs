//! How early or late each note was, above it in the music: a sign to the left or to the right of it, the farther the more.

use halfbar_core::line::NoteId;
use halfbar_core::listen::HIT;
use halfbar_dom::{Result, create};
use web_sys::HtmlElement;

use super::check::ms;
use super::playhead::head;

/// How many milliseconds a pixel is.
const MS_A_PIXEL: i32 = 10;

/// The signs that are shown, with their notes.
#[derive(Default)]
pub(super) struct Marks {
    shown: Vec<(NoteId, HtmlElement)>,
}

impl Marks {
    /// Shows how late a note was, in seconds, in place of what was shown for it.
    pub(super) fn show(&mut self, note: NoteId, late: f64) -> Result<()> {
        let Some(sign) = head(note)? else { return Ok(()) };
        let Some(row) = sign.closest(".row")? else { return Ok(()) };
        let index = self.shown.iter().position(|(other, _)| *other == note);
        let mark = match index {
            Some(index) => self.shown[index].1.clone(),
            None => {
                let mark: HtmlElement = create("span")?;
                mark.set_attribute("aria-hidden", "true")?;
                self.shown.push((note, mark.clone()));
                mark
            }
        };
        let (class, shape) = match late {
            late if late.abs() <= HIT => ("close", "•"),
            late if late < 0.0 => ("early", "◀"),
            _ => ("late", "▶"),
        };
        mark.set_class_name(&format!("timed {class}"));
        mark.set_text_content(Some(shape));
        let (place, all) = (sign.get_bounding_client_rect(), row.get_bounding_client_rect());
        let middle = place.left() + place.width() / 2.0 - all.left();
        // Whole pixels, as floats would take much code to write.
        #[allow(clippy::cast_possible_truncation)]
        let left = middle.round() as i32 + ms(late) / MS_A_PIXEL;
        mark.style().set_property("left", &format!("{left}px"))?;
        row.append_child(&mark).map(|_| ())
    }

    /// Takes all of them away.
    pub(super) fn clear(&mut self) {
        self.shown.drain(..).for_each(|(_, mark)| mark.remove());
    }
}
