//! What a system shows: staff, tab, both, or the rhythm by itself.

use crate::naming::by_name;
use crate::scene::Sp;

/// What a system shows.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
#[non_exhaustive]
pub enum View {
    /// The staff with the tab under it.
    #[default]
    Both,
    /// The staff alone.
    Staff,
    /// The tab, with stems and beams under it.
    Tab,
    /// Slashes on one line: the rhythm without pitches.
    Rhythm,
}

/// The distance from one line of the tab to the next.
pub(super) const LINE_GAP: Sp = 1.5;
/// The distance from the tab's bottom line to the stems under it.
const TAB_TO_STEMS: Sp = 1.2;

impl View {
    /// All views, in the order they are offered.
    pub const ALL: [View; 4] = [View::Both, View::Staff, View::Tab, View::Rhythm];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            View::Both => "both",
            View::Staff => "staff",
            View::Tab => "tab",
            View::Rhythm => "rhythm",
        }
    }

    /// Whether it has a five-line staff.
    pub fn has_staff(self) -> bool {
        matches!(self, View::Both | View::Staff)
    }

    /// Whether it has a tab.
    pub(super) fn has_tab(self) -> bool {
        matches!(self, View::Both | View::Tab)
    }

    /// The row that carries the rhythm, from its top line to its bottom line.
    pub(super) fn row(self, strings: u8) -> (Sp, Sp) {
        match self {
            View::Both | View::Staff => (0.0, 4.0),
            View::Tab => (0.0, tab_height(strings)),
            // A slash is as tall as two spaces.
            View::Rhythm => (1.0, 3.0),
        }
    }

    /// Where the heads are, or where the stems start, if that doesn't depend on pitch.
    pub(super) fn height(self, strings: u8) -> Option<Sp> {
        match self {
            View::Both | View::Staff => None,
            View::Tab => Some(tab_height(strings) + TAB_TO_STEMS),
            View::Rhythm => Some(2.0),
        }
    }
}

/// The height of the tab from its top line to its bottom line.
pub(super) fn tab_height(strings: u8) -> Sp {
    LINE_GAP * f64::from(strings.saturating_sub(1))
}

by_name!(View, "a view");
