//! The music on the page: one picture a system, with its pads under it.

use halfbar_core::Piece;
use halfbar_core::engrave::Layout;
use halfbar_core::recast::{self, Offer};
use halfbar_core::scene::{Group, PadPlace, Scene, Sp, System};
use halfbar_core::time::{Duration, Onset};
use halfbar_core::write;
use halfbar_core::write::svg::Outlines;
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlButtonElement, HtmlElement};

use super::dom::{Result, by_id, create, document};
use super::shelf::{Shelf, spoken};
use crate::piece::thrown;

/// Pixels to the staff space on a wide page and on a phone.
const WIDE: f64 = 8.0;
const NARROW: f64 = 6.5;
/// A page narrower than this is a phone's.
const NARROW_BELOW: f64 = 620.0;
/// A pad is tall enough for a thumb (WCAG 2.2, target size: 44 px enhanced).
const PAD_HEIGHT: f64 = 48.0;

/// Where to go from a pad.
pub(super) enum Go {
    Next,
    Previous,
    Above,
    Below,
    First,
    Last,
}

/// The drawn systems.
pub(super) struct Sheet {
    root: HtmlElement,
    /// Holds the outlines that all pictures use.
    definitions: Element,
    outlines: Outlines,
    head: Element,
    drawn_head: Vec<Group>,
    rows: Vec<Row>,
    /// The width that was drawn for, in pixels.
    width: i32,
    /// The pad that the tab key reaches.
    current: usize,
}

/// One system in the page.
struct Row {
    root: HtmlElement,
    picture: Element,
    /// What is drawn, and how wide the page was.
    drawn: Option<(Sp, System)>,
    pads: Vec<Pad>,
}

struct Pad {
    button: HtmlButtonElement,
    picture: String,
    start: Onset,
    at: PadPlace,
}

/// The onset of the pad that an event came from.
pub(super) fn pad_of(target: &EventTarget) -> Option<Onset> {
    let button = target.dyn_ref::<Element>()?.closest("button[data-start]").ok()??;
    let start = button.get_attribute("data-start")?;
    let (numer, denom) = start.split_once('/').unwrap_or((&start, "1"));
    Duration::new(numer.parse().ok()?, denom.parse().ok()?).ok().map(Onset::after)
}

impl Sheet {
    pub(super) fn new() -> Result<Sheet> {
        let root: HtmlElement = by_id("sheet")?;
        let (definitions, head): (HtmlElement, HtmlElement) = (create("div")?, create("div")?);
        definitions.set_class_name("definitions");
        root.append_child(&definitions)?;
        root.append_child(&head)?;
        Ok(Sheet {
            root,
            definitions: definitions.into(),
            outlines: Outlines::default(),
            head: head.into(),
            drawn_head: Vec::new(),
            rows: Vec::new(),
            width: 0,
            current: 0,
        })
    }

    pub(super) fn has_new_width(&self) -> bool {
        self.root.client_width() != self.width
    }

    /// Shows that the drawing is older than the text.
    pub(super) fn dim(&self, dim: bool) -> Result<()> {
        self.root.class_list().toggle_with_force("stale", dim)?;
        Ok(())
    }

    /// Draws a piece. Systems that look the same as before are left alone.
    pub(super) fn draw(&mut self, piece: &Piece, shelf: &Shelf) -> Result<()> {
        self.width = self.root.client_width();
        let pixels = f64::from(self.width);
        let space = if pixels < NARROW_BELOW { NARROW } else { WIDE };
        let layout = Layout { width: pixels / space, head: true, pads: Some(PAD_HEIGHT / space) };
        let scene = piece.engrave(&layout);

        let mut more = false;
        for scene in shelf.scenes().chain([&scene]) {
            more |= self.outlines.add(scene);
        }
        if more {
            self.definitions.set_inner_html(&self.outlines.definitions());
        }
        if self.drawn_head != scene.head {
            self.head.set_inner_html(&write::svg::head(&scene));
            self.drawn_head.clone_from(&scene.head);
        }
        let label = format!("{} {}", scene.title, scene.description);
        self.root.set_attribute("aria-label", label.trim())?;

        let focused = document()?.active_element().and_then(|active| pad_of(&active));
        while self.rows.len() > scene.systems.len() {
            if let Some(row) = self.rows.pop() {
                row.root.remove();
            }
        }
        let offers = recast::offers(&piece.line, shelf.window(Onset::ZERO).figure).map_err(thrown)?;
        for (index, system) in scene.systems.iter().enumerate() {
            if index == self.rows.len() {
                self.rows.push(Row::new(&self.root)?);
            }
            self.rows[index].draw(&scene, system, piece, &offers, shelf)?;
        }
        self.settle_focus(focused)
    }

    fn pads(&self) -> impl Iterator<Item = &Pad> {
        self.rows.iter().flat_map(|row| &row.pads)
    }

    /// Only one pad is in the tab order; the focus stays on the window where it was.
    fn settle_focus(&mut self, focused: Option<Onset>) -> Result<()> {
        let count = self.pads().count();
        self.current = self.current.min(count.saturating_sub(1));
        let found = focused.and_then(|start| self.pads().position(|pad| pad.start == start));
        if let Some(pad) = found.and_then(|index| self.pads().nth(index)) {
            pad.button.focus()?;
        }
        self.current = found.unwrap_or(self.current);
        for (index, pad) in self.pads().enumerate() {
            pad.button.set_tab_index(if index == self.current { 0 } else { -1 });
        }
        Ok(())
    }

    /// Moves the focus from pad to pad.
    pub(super) fn go(&mut self, go: Go) -> Result<()> {
        let active = document()?.active_element().and_then(|active| pad_of(&active));
        let pads: Vec<(usize, &Pad)> = self
            .rows
            .iter()
            .enumerate()
            .flat_map(|(row, one)| one.pads.iter().map(move |pad| (row, pad)))
            .collect();
        let Some(here) = pads.iter().position(|(_, pad)| Some(pad.start) == active) else { return Ok(()) };
        let (row, pad) = pads[here];
        let centre = |pad: &Pad| pad.at.at.x + pad.at.width / 2.0;
        let nearest_in = |wanted: Option<usize>| {
            let in_row = pads.iter().enumerate().filter(|(_, (row, _))| Some(*row) == wanted);
            let distances = in_row.map(|(index, (_, other))| (index, (centre(other) - centre(pad)).abs()));
            distances.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(index, _)| index)
        };
        let there = match go {
            Go::Next => Some(here + 1),
            Go::Previous => here.checked_sub(1),
            Go::Above => nearest_in(row.checked_sub(1)),
            Go::Below => nearest_in(Some(row + 1)),
            Go::First => Some(0),
            Go::Last => pads.len().checked_sub(1),
        };
        let start = there.and_then(|index| pads.get(index)).map(|(_, pad)| pad.start);
        if start.is_some() { self.settle_focus(start) } else { Ok(()) }
    }
}

impl Row {
    fn new(sheet: &HtmlElement) -> Result<Row> {
        let (root, picture): (HtmlElement, HtmlElement) = (create("div")?, create("div")?);
        root.set_class_name("row");
        picture.set_attribute("aria-hidden", "true")?;
        root.append_child(&picture)?;
        sheet.append_child(&root)?;
        Ok(Row { root, picture: picture.into(), drawn: None, pads: Vec::new() })
    }

    fn draw(
        &mut self,
        scene: &Scene,
        system: &System,
        piece: &Piece,
        offers: &[Offer],
        shelf: &Shelf,
    ) -> Result<()> {
        if self.drawn.as_ref().is_none_or(|(width, drawn)| *width != scene.width || !drawn.looks_like(system))
        {
            self.picture.set_inner_html(&write::svg::system(scene, system));
            self.drawn = Some((scene.width, system.clone()));
        }
        while self.pads.len() > system.pads.len() {
            if let Some(pad) = self.pads.pop() {
                pad.button.remove();
            }
        }
        for (index, place) in system.pads.iter().enumerate() {
            if index == self.pads.len() {
                self.pads.push(Pad::new(&self.root, *place)?);
            }
            let offer = offers.binary_search_by_key(&place.start, |offer| offer.start).ok();
            self.pads[index].draw(
                scene,
                system,
                *place,
                piece,
                offer.and_then(|index| offers.get(index)),
                shelf,
            )?;
        }
        Ok(())
    }
}

impl Pad {
    fn new(row: &HtmlElement, at: PadPlace) -> Result<Pad> {
        let button: HtmlButtonElement = create("button")?;
        button.set_type("button");
        button.set_class_name("pad");
        row.append_child(&button)?;
        Ok(Pad { button, picture: String::new(), start: at.start, at })
    }

    fn draw(
        &mut self,
        scene: &Scene,
        system: &System,
        at: PadPlace,
        piece: &Piece,
        offer: Option<&Offer>,
        shelf: &Shelf,
    ) -> Result<()> {
        (self.start, self.at) = (at.start, at);
        let window = piece.casting.at(at.start).map(|window| (window.figure, window.spelling));
        let place = piece.line.heading().meter.place(at.start).map_err(thrown)?;
        let refusal = offer.and_then(|offer| offer.refusal.as_ref()).filter(|_| window.is_none());
        let state = match (window, refusal) {
            (Some((figure, spelling)), _) => format!("{}, {}", figure.name, spoken(spelling)),
            (None, None) => "plain eighths".into(),
            (None, Some(why)) => format!("can't be recast: {why}"),
        };
        let button = &self.button;
        button.set_attribute("data-start", &at.start.to_string())?;
        button.set_attribute("aria-label", &format!("{place}: {state}"))?;
        button.set_attribute("aria-pressed", if window.is_some() { "true" } else { "false" })?;
        button.set_attribute("aria-disabled", if refusal.is_some() { "true" } else { "false" })?;
        button.set_title(&state);
        let height = system.above + system.below;
        // Zero to a hundred; in thousandths, because printing floats would take 15 KB of code.
        #[allow(clippy::cast_possible_truncation)]
        let percent = |part: Sp, whole: Sp| format!("{}e-3%", (1e5 * part / whole).round() as i32);
        let style = button.style();
        style.set_property("left", &percent(at.at.x, scene.width))?;
        style.set_property("top", &percent(at.at.y + system.above, height))?;
        style.set_property("width", &percent(at.width, scene.width))?;
        style.set_property("height", &percent(at.height, height))?;
        let picture = if refusal.is_some() { "" } else { shelf.picture(window) };
        if self.picture != picture {
            button.set_inner_html(picture);
            self.picture = picture.into();
        }
        Ok(())
    }
}
