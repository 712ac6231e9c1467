//! How a page should look.

use crate::dialect::Dialect;
use crate::geometry::Width;
use crate::scene::Sp;
use crate::score::Annotations;
use crate::time::Span;

use super::view::View;

/// How the page should look.
#[derive(Clone, PartialEq, Debug)]
pub struct Layout {
    /// What each system shows.
    pub view: View,
    /// The width of a system. Music that can't be squeezed into it makes the page wider.
    pub width: Width,
    /// Whether the title and tempo go above the music.
    pub head: bool,
    /// What is added to the notes.
    pub annotations: Annotations,
    /// The row of pads under each system; `None` leaves no room for one.
    pub pads: Option<PadRow>,
    /// The dialect for length names.
    pub words: Dialect,
}

/// A row of pads: the areas under a system that can be tapped.
#[derive(Clone, PartialEq, Debug)]
pub struct PadRow {
    /// Its height.
    pub height: Sp,
    /// The least width of a pad. Notes are spread out as needed.
    pub least_width: Sp,
    /// The passages of the line that have a pad, in order of time. A pad ends with the bar it starts in.
    pub spans: Vec<Span>,
}

impl Layout {
    /// Whether heads may have a ring.
    pub(super) fn has_rings(&self) -> bool {
        self.view.has_staff() && self.annotations.chord_tones
    }
}

impl Default for Layout {
    /// A printed page with a heading and without pads.
    fn default() -> Layout {
        Layout {
            view: View::Both,
            width: Width::PRINTED,
            head: true,
            annotations: Annotations::default(),
            pads: None,
            words: Dialect::American,
        }
    }
}
