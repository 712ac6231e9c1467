//! The neck, with one bar of the line on it. It is tapped, or walked over by keys.

use halfbar_core::fretboard::FretboardLook;
use halfbar_core::line::NoteId;
use halfbar_core::neck::{Fret, StringNo};
use halfbar_core::time::Span;
use halfbar_core::{Piece, write};
use halfbar_dom::{Result, by_id};
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlElement, HtmlInputElement, HtmlSelectElement, KeyboardEvent};

/// A place where a note can be played.
pub(super) type Place = (StringNo, Fret);

/// The highest fret that is always shown.
const HIGHEST: u8 = 12;

pub(super) struct Neck {
    root: HtmlElement,
    labels: HtmlSelectElement,
    left: HtmlInputElement,
    /// Where keys have come to.
    here: Option<Place>,
}

/// What a key does on the neck.
pub(super) enum Step {
    /// It goes to another place.
    Went(Place),
    /// It taps where it is.
    Tapped(Place),
}

impl Neck {
    pub(super) fn new() -> Result<Neck> {
        Ok(Neck { root: by_id("fretboard")?, labels: by_id("labels")?, left: by_id("left")?, here: None })
    }

    /// Draws a bar of the line, with the selected note marked. All bars of a line show the same frets, so that nothing moves from one to the next.
    pub(super) fn draw(&self, piece: &Piece, bar: Span, note: Option<NoteId>) -> Result<()> {
        let events = piece.line().events().iter();
        let frets = events.filter_map(|event| Some(piece.fingering().of(event.id)?.fret.0));
        let reached = self.here.map_or(0, |(_, fret)| fret.0);
        let highest = frets.map(|fret| fret.saturating_add(1)).fold(HIGHEST.max(reached), u8::max);
        let look = FretboardLook {
            labels: self.labels.value().parse().unwrap_or_default(),
            left_handed: self.left.checked(),
            frets: Some((1, highest)),
        };
        self.root.set_inner_html(&write::svg::neck(&piece.fretboard(bar, &look)));
        if let Some(note) = note
            && let Some(place) = self.root.query_selector(&format!("[data-note~=\"{}\"]", note.0))?
        {
            place.class_list().add_1("chosen")?;
        }
        self.mark()
    }

    /// Marks where keys have come to.
    fn mark(&self) -> Result<()> {
        if let Some(before) = self.root.query_selector("[data-here]")? {
            before.remove_attribute("data-here")?;
        }
        let Some((StringNo(string), Fret(fret))) = self.here else { return Ok(()) };
        let cell = format!(".cells [data-string=\"{string}\"][data-fret=\"{fret}\"]");
        self.root.query_selector(&cell)?.map_or(Ok(()), |cell| cell.set_attribute("data-here", ""))
    }

    /// Keys go on from a place, which has its mark with the next drawing.
    pub(super) fn go_to(&mut self, place: Place) {
        self.here = Some(place);
    }

    /// Keys have come to the neck: they start at the selected note, else where they were before, else at the first note of the bar, or at the
    /// open highest string.
    pub(super) fn enter(
        &mut self,
        piece: &Piece,
        selected: Option<Place>,
        first: Option<Place>,
    ) -> Result<()> {
        let neck = &piece.line().heading().neck;
        let before = self.here.filter(|&(string, fret)| neck.sounding(string, fret).is_some());
        self.here = selected.or(before).or(first).or(Some((StringNo(1), Fret(0))));
        self.mark()
    }

    /// What a key does: arrows go to the next string or fret as the neck is seen, Enter and Space tap.
    pub(super) fn step(&mut self, event: &KeyboardEvent, piece: &Piece) -> Option<Step> {
        if event.ctrl_key() || event.meta_key() || event.alt_key() || event.shift_key() {
            return None;
        }
        let (string, fret) = self.here?;
        let neck = &piece.line().heading().neck;
        let up = (StringNo(string.0.saturating_sub(1).max(1)), fret);
        let down = (StringNo(string.0.saturating_add(1).min(neck.strings())), fret);
        let toward_nut = (string, Fret(fret.0.saturating_sub(1)));
        let from_nut = (string, Fret(fret.0.saturating_add(1).min(neck.frets())));
        let to = match (event.key().as_str(), self.left.checked()) {
            ("Enter" | " ", _) => return Some(Step::Tapped((string, fret))),
            ("ArrowUp", _) => up,
            ("ArrowDown", _) => down,
            ("ArrowLeft", false) | ("ArrowRight", true) => toward_nut,
            ("ArrowRight", false) | ("ArrowLeft", true) => from_nut,
            _ => return None,
        };
        self.here = Some(to);
        Some(Step::Went(to))
    }
}

/// The place on the neck that an event came from.
pub(super) fn place_of(target: &EventTarget) -> Option<Place> {
    let cell = target.dyn_ref::<Element>()?.closest("[data-fret]").ok()??;
    let number = |name: &str| cell.get_attribute(name)?.parse().ok();
    Some((StringNo(number("data-string")?), Fret(number("data-fret")?)))
}
