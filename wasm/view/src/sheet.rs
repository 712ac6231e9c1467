//! The music: one picture a system, with its pads under it.

use halfbar_words::view as says;
use std::ops::Range;
use std::sync::Arc;

use halfbar_core::Piece;
use halfbar_core::describe;
use halfbar_core::engrave::{Before, Layout};
use halfbar_core::line::NoteId;
use halfbar_core::recast::{Offer, Refusal};
use halfbar_core::scene::{Group, PadPlace, Scene, Sp, System};
use halfbar_core::score::Annotations;
use halfbar_core::time::Onset;
use halfbar_core::write;
use wasm_bindgen::JsCast;
use web_sys::{
    Element, EventTarget, HtmlButtonElement, HtmlElement, KeyboardEvent, MouseEvent, NodeList,
    ScrollIntoViewOptions, ScrollLogicalPosition,
};

use crate::{Pictures, Rhythm, unworded};
use halfbar_dom::markup::put;
use halfbar_dom::{Result, children, create, document, window};
use halfbar_markup::{Look, Room, label, named, row_label};

/// Where to go from a pad.
#[allow(missing_docs)]
pub enum Go {
    Next,
    Previous,
    Above,
    Below,
    First,
    Last,
}

impl Go {
    /// Where a key goes: the arrows, Home and End, without any other key held but Shift.
    pub fn by(event: &KeyboardEvent) -> Option<Go> {
        let go = match event.key().as_str() {
            "ArrowRight" => Go::Next,
            "ArrowLeft" => Go::Previous,
            "ArrowDown" => Go::Below,
            "ArrowUp" => Go::Above,
            "Home" => Go::First,
            "End" => Go::Last,
            _ => return None,
        };
        let held = event.ctrl_key() || event.alt_key() || event.meta_key();
        (!held).then_some(go)
    }
}

/// The drawn systems.
pub struct Sheet {
    root: HtmlElement,
    /// What holds the head and the rows: the root itself, or the music that came with the page.
    inside: Element,
    head: Element,
    /// The head that is drawn, and how wide and tall its picture is.
    drawn_head: (Vec<Group>, Sp, Sp),
    rows: Vec<Row>,
    /// Whether head and rows came with the page, and show what will be drawn first.
    came: bool,
    /// What was drawn last: what has not changed is not engraved again.
    before: Option<(Piece, Layout, Scene)>,
    /// The width of the page's column, in pixels.
    width: i32,
    /// The pad that the tab key reaches.
    current: usize,
    /// The bars that are marked, in each way.
    marked: [Option<Range<usize>>; Mark::ALL.len()],
}

/// A way to mark bars.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Mark {
    /// The reader has selected them.
    Selected,
    /// The cursor of the text is in it.
    Cursor,
    /// The text has a mistake there.
    Wrong,
    /// They are played in a loop.
    Looped,
}

impl Mark {
    const ALL: [Mark; 4] = [Mark::Selected, Mark::Cursor, Mark::Wrong, Mark::Looped];

    /// Its class.
    fn name(self) -> &'static str {
        match self {
            Mark::Selected => "selected",
            Mark::Cursor => "cursor",
            Mark::Wrong => "wrong",
            Mark::Looped => "looped",
        }
    }
}

/// The attribute of music that came with the page: for how wide a column it was laid out, in CSS pixels.
const ROOM: &str = "data-room";

/// The signs of notes that can be selected.
const NOTES: &str = "div > svg .note[data-note], div > svg .fret[data-note]";
/// The class of the signs of a chosen note, and of a chosen name.
const CHOSEN: &str = "chosen";
/// How far beside a note's ink it can be tapped, in CSS pixels: with that, the smallest sign is 24 across (WCAG 2.2, 2.5.8).
const REACH: f64 = 10.0;

/// The elements of a list.
fn elements(list: &NodeList) -> impl Iterator<Item = Element> {
    (0..list.length()).filter_map(|index| list.get(index)?.dyn_into().ok())
}

/// How many pixels tall the page's letters are.
fn letters() -> Result<u16> {
    let Some(root) = document()?.document_element() else { return Ok(16) };
    let style = window()?.get_computed_style(&root)?;
    let size = style.map_or(Ok(String::new()), |style| style.get_property_value("font-size"))?;
    // Whole pixels: reading floats would take 10 KB of code.
    Ok(size.split(['.', 'p']).next().and_then(|whole| whole.parse().ok()).unwrap_or(16).clamp(8, 64))
}

/// One system in the page.
struct Row {
    root: Element,
    picture: Element,
    /// What is drawn, and how wide the page was.
    drawn: Option<(Sp, Arc<System>)>,
    /// The same in words, for those who don't see it: an item a bar, with the bar's index.
    list: Element,
    told: Vec<(Element, usize)>,
    pads: Vec<Pad>,
    /// What marks its bars, and where each mark is, in thousandths of its width.
    marks: [Option<(HtmlElement, [i32; 2])>; Mark::ALL.len()],
}

struct Pad {
    button: HtmlButtonElement,
    /// What is drawn.
    state: Option<PadState>,
    picture: String,
    chosen: bool,
}

/// All that a pad's look depends on.
#[derive(PartialEq)]
struct PadState {
    at: PadPlace,
    rhythm: Rhythm,
    refusal: Option<Refusal>,
    /// How wide the page is, and how far the system reaches above and below its top line.
    row: (Sp, Sp, Sp),
}

/// The onset of the pad that an event came from.
pub fn pad_of(target: &EventTarget) -> Option<Onset> {
    let button = target.dyn_ref::<Element>()?.closest("button[data-start]").ok()??;
    button.get_attribute("data-start")?.parse().ok().map(Onset::after)
}

impl Sheet {
    /// A sheet inside an element, without music yet.
    ///
    /// # Errors
    /// None in practice.
    pub fn new(root: HtmlElement) -> Result<Sheet> {
        let head: Element = create("div")?;
        root.append_child(&head)?;
        Ok(Sheet {
            inside: root.clone().into(),
            root,
            head,
            drawn_head: (Vec::new(), 0.0, 0.0),
            rows: Vec::new(),
            came: false,
            before: None,
            width: 0,
            current: 0,
            marked: Default::default(),
        })
    }

    /// Goes on with the music that came with the page, if that is what will be drawn first and was laid out for the room that there is; otherwise
    /// takes it away.
    ///
    /// # Errors
    /// None in practice.
    pub fn take_over(&mut self, is_first: bool) -> Result<()> {
        self.measure();
        let usual = f64::from(letters()?) == Room::of(0.0).letters;
        for music in children(&self.root).filter(|music| music.has_attribute(ROOM)).collect::<Vec<_>>() {
            let room = music.get_attribute(ROOM).and_then(|room| room.parse().ok());
            if !is_first || !usual || room != Some(self.width) {
                music.remove();
                continue;
            }
            let mut parts = children(&music);
            let Some(head) = parts.next() else { continue };
            self.head.remove();
            self.head = head;
            self.rows = parts.filter_map(Row::of).collect();
            // From now on it is as wide as any room.
            music.remove_attribute(ROOM)?;
            music.remove_attribute("class")?;
            self.inside = music;
            self.came = true;
        }
        Ok(())
    }

    /// The onset of the pad that has the focus.
    ///
    /// # Errors
    /// None in practice.
    pub fn focused_pad(&self) -> Result<Option<Onset>> {
        // Not by the document, which only knows the element that a shadow belongs to.
        Ok(self.root.query_selector(".pad:focus")?.and_then(|pad| pad_of(&pad)))
    }

    /// The bar of the pad that has the focus.
    ///
    /// # Errors
    /// None in practice.
    pub fn focused_bar(&self) -> Result<Option<usize>> {
        let start = self.focused_pad()?;
        let bars = self.before.as_ref().map(|(piece, ..)| piece.line().bars());
        Ok(start.zip(bars).and_then(|(start, bars)| Some(bars.split(start).ok()?.0)))
    }

    /// Takes the width that the page gives now, and says whether it is another than before. Asking costs the browser a layout.
    pub fn measure(&mut self) -> bool {
        let width = self.root.client_width();
        // A page that is being printed shows none of this.
        if width == 0 || width == self.width {
            return false;
        }
        self.width = width;
        true
    }

    /// Whether there has ever been room for the music.
    pub fn is_measured(&self) -> bool {
        self.width > 0
    }

    /// Shows that the drawing is older than the text.
    ///
    /// # Errors
    /// None in practice.
    pub fn dim(&self, dim: bool) -> Result<()> {
        self.root.class_list().toggle_with_force("stale", dim)?;
        Ok(())
    }

    /// Draws a piece. What looks the same as before is left alone.
    ///
    /// # Errors
    /// None in practice.
    pub fn draw(&mut self, piece: &Piece, look: &Look, pictures: &mut Pictures) -> Result<()> {
        let room = Room { width: f64::from(self.width), letters: f64::from(letters()?) };
        let &Look { annotations, ref offers, .. } = look;
        let before =
            self.before.as_ref().map(|(piece, layout, scene)| Before { score: piece.score(), layout, scene });
        let (layout, scene) = room.lay_out(piece, look, before);
        let label = label(piece, &scene);
        let came = std::mem::take(&mut self.came)
            && self.rows.len() == scene.systems.len()
            && self.root.get_attribute("aria-label").as_ref() == Some(&label);
        self.root.set_attribute("aria-label", &label)?;

        let focused = self.focused_pad()?;
        let told = self.before.as_ref().filter(|(_, layout, _)| layout.annotations == annotations);
        let told = told.map(|(piece, ..)| piece).or(came.then_some(piece));
        let (head, width, height) = &self.drawn_head;
        if *head != scene.head || *width != scene.width || *height != scene.head_height {
            if !came {
                put(&self.head, &write::svg::head(&scene))?;
            }
            self.drawn_head = (scene.head.clone(), scene.width, scene.head_height);
        }
        while self.rows.len() > scene.systems.len() {
            if let Some(row) = self.rows.pop() {
                row.root.remove();
            }
        }
        for (index, system) in scene.systems.iter().enumerate() {
            if index == self.rows.len() {
                self.rows.push(Row::new(&self.inside)?);
            }
            let row = &mut self.rows[index];
            if came {
                row.came(&scene, system);
            }
            row.draw(&scene, system)?;
            row.tell(system, piece, annotations, told)?;
            row.draw_pads(&scene, system, piece, offers.as_deref().unwrap_or_default(), pictures)?;
            for mark in Mark::ALL {
                row.mark(mark, self.marked[mark as usize].as_ref())?;
            }
        }
        self.before = Some((piece.clone(), layout, scene));
        self.settle_focus(focused)
    }

    /// Marks some bars in one way, and no others.
    ///
    /// # Errors
    /// None in practice.
    pub fn mark(&mut self, mark: Mark, bars: Option<Range<usize>>) -> Result<()> {
        if self.marked[mark as usize] == bars {
            return Ok(());
        }
        self.marked[mark as usize] = bars;
        self.rows.iter_mut().try_for_each(|row| row.mark(mark, self.marked[mark as usize].as_ref()))
    }

    /// Marks all signs of the note that is chosen.
    ///
    /// # Errors
    /// None in practice.
    pub fn choose_note(&mut self, note: Option<NoteId>) -> Result<()> {
        let chosen = self.root.query_selector_all(&format!("[data-note].{CHOSEN}"))?;
        for sign in elements(&chosen) {
            sign.class_list().remove_1(CHOSEN)?;
        }
        let Some(note) = note else { return Ok(()) };
        let signs = self.root.query_selector_all(&format!(".row > div [data-note=\"{}\"]", note.0))?;
        elements(&signs).try_for_each(|sign| sign.class_list().add_1(CHOSEN))
    }

    /// Marks the name that is chosen, by its index among those of the piece.
    ///
    /// # Errors
    /// None in practice.
    pub fn choose_name(&mut self, name: Option<usize>) -> Result<()> {
        let chosen = self.root.query_selector_all(&format!("[data-name].{CHOSEN}"))?;
        for sign in elements(&chosen) {
            sign.class_list().remove_1(CHOSEN)?;
        }
        let Some(name) = name else { return Ok(()) };
        let signs = self.root.query_selector_all(&format!(".row > div [data-name=\"{name}\"]"))?;
        elements(&signs).try_for_each(|sign| sign.class_list().add_1(CHOSEN))
    }

    /// The note that is nearest to where an event of the pointer is, within reach of a finger: its ink is small.
    ///
    /// # Errors
    /// None in practice.
    pub fn note_near(&self, event: &MouseEvent) -> Result<Option<NoteId>> {
        Ok(self.near(event, NOTES, "data-note")?.map(|(_, note)| NoteId(note)))
    }

    /// The name whose bracket or words are nearest to where an event of the pointer is, within reach of a finger.
    ///
    /// # Errors
    /// None in practice.
    pub fn name_near(&self, event: &MouseEvent) -> Result<Option<usize>> {
        let near = self.near(event, "div > svg [data-name]", "data-name")?;
        Ok(near.and_then(|(_, name)| usize::try_from(name).ok()))
    }

    /// The note whose pick mark is near to where an event of the pointer is, if no note is nearer.
    ///
    /// # Errors
    /// None in practice.
    pub fn stroke_near(&self, event: &MouseEvent) -> Result<Option<NoteId>> {
        let stroke = self.near(event, "div > svg .stroke[data-note]", "data-note")?;
        let note = self.near(event, NOTES, "data-note")?;
        let nearer = |(distance, _): &(f64, u32)| note.is_none_or(|(other, _)| *distance < other);
        Ok(stroke.filter(nearer).map(|(_, note)| NoteId(note)))
    }

    /// What the sign of some kind says in an attribute that is nearest to where an event of the pointer is, and how far that is in pixels.
    fn near(&self, event: &MouseEvent, signs: &str, attribute: &str) -> Result<Option<(f64, u32)>> {
        let target = event.target().and_then(|target| target.dyn_into::<Element>().ok());
        let row = target.map_or(Ok(None), |target| target.closest(".row"))?;
        let Some(row) = row else { return Ok(None) };
        let (x, y) = (f64::from(event.client_x()), f64::from(event.client_y()));
        let signs = row.query_selector_all(signs)?;
        let distance = |sign: &Element| {
            let place = sign.get_bounding_client_rect();
            let beside = |at: f64, low: f64, high: f64| (low - at).max(at - high).max(0.0);
            beside(x, place.left(), place.right()).hypot(beside(y, place.top(), place.bottom()))
        };
        let near = elements(&signs).map(|sign| (distance(&sign), sign));
        let nearest = near.filter(|(distance, _)| *distance <= REACH).min_by(|a, b| a.0.total_cmp(&b.0));
        let says =
            |(distance, sign): (f64, Element)| Some((distance, sign.get_attribute(attribute)?.parse().ok()?));
        Ok(nearest.and_then(says))
    }

    /// Puts something under a bar, between its system and the next one.
    ///
    /// # Errors
    /// None in practice.
    pub fn put_below(&self, what: &HtmlElement, bar: usize) -> Result<()> {
        let row = self
            .rows
            .iter()
            .find(|row| row.drawn.as_ref().is_some_and(|(_, system)| system.bars.contains(&bar)));
        match row {
            Some(row) if what.parent_element().as_ref() != Some(&row.root) => {
                row.root.append_child(what).map(|_| ())
            }
            _ => Ok(()),
        }
    }

    /// The bar that an event of the pointer is at.
    pub fn bar_at(&self, event: &MouseEvent) -> Option<usize> {
        let target: Element = event.target()?.dyn_into().ok()?;
        let root = target.closest(".row").ok()??;
        let row = self.rows.iter().find(|row| row.root == root)?;
        let place = root.get_bounding_client_rect();
        row.bar_at((f64::from(event.client_x()) - place.left()) / place.width())
    }

    /// Marks the pad of the window that is chosen.
    ///
    /// # Errors
    /// None in practice.
    pub fn choose(&mut self, start: Option<Onset>) -> Result<()> {
        for row in &mut self.rows {
            row.pads.iter_mut().try_for_each(|pad| pad.choose(start.is_some() && pad.start() == start))?;
        }
        Ok(())
    }

    /// Marks the pads of the windows that are suggested.
    ///
    /// # Errors
    /// None in practice.
    pub fn suggest(&self, starts: &[Onset]) -> Result<()> {
        self.pads().try_for_each(|pad| {
            let is_suggested = pad.start().is_some_and(|start| starts.contains(&start));
            pad.button.toggle_attribute_with_force("data-suggested", is_suggested).map(|_| ())
        })
    }

    /// Has the pad of a window in view, with its system.
    ///
    /// # Errors
    /// None in practice.
    pub fn reveal(&self, start: Onset) -> Result<()> {
        let is_there = |row: &&Row| row.pads.iter().any(|pad| pad.start() == Some(start));
        let nearest = ScrollIntoViewOptions::new();
        nearest.set_block(ScrollLogicalPosition::Nearest);
        if let Some(row) = self.rows.iter().find(is_there) {
            row.root.scroll_into_view_with_scroll_into_view_options(&nearest);
        }
        Ok(())
    }

    fn pads(&self) -> impl Iterator<Item = &Pad> {
        self.rows.iter().flat_map(|row| &row.pads)
    }

    /// Gives the focus to the pad that the tab key reaches.
    ///
    /// # Errors
    /// None in practice.
    pub fn focus(&self) -> Result<()> {
        self.pads().nth(self.current).map_or(Ok(()), |pad| pad.button.focus())
    }

    /// Only one pad is in the tab order; the focus stays on the window where it was.
    fn settle_focus(&mut self, focused: Option<Onset>) -> Result<()> {
        let count = self.pads().count();
        let found = focused.and_then(|start| self.pads().position(|pad| pad.start() == Some(start)));
        if let Some(pad) = found.and_then(|index| self.pads().nth(index)) {
            pad.button.focus()?;
        }
        let before = self.current;
        self.current = found.unwrap_or(before.min(count.saturating_sub(1)));
        for (index, tab_index) in [(before, -1), (self.current, 0)] {
            if let Some(pad) = self.pads().nth(index) {
                pad.button.set_tab_index(tab_index);
            }
        }
        Ok(())
    }

    /// Moves the focus from pad to pad.
    ///
    /// # Errors
    /// None in practice.
    pub fn go(&mut self, go: Go) -> Result<()> {
        let Some(focused) = self.focused_pad()? else { return Ok(()) };
        let pads: Vec<(usize, &Pad)> = self
            .rows
            .iter()
            .enumerate()
            .flat_map(|(row, one)| one.pads.iter().map(move |pad| (row, pad)))
            .collect();
        let Some(here) = pads.iter().position(|(_, pad)| pad.start() == Some(focused)) else { return Ok(()) };
        let (row, pad) = pads[here];
        let nearest_in = |wanted: Option<usize>| {
            let in_row = pads.iter().enumerate().filter(|(_, (row, _))| Some(*row) == wanted);
            let distances = in_row.map(|(index, (_, other))| (index, (other.center() - pad.center()).abs()));
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
        let start = there.and_then(|index| pads.get(index)).and_then(|(_, pad)| pad.start());
        if start.is_some() { self.settle_focus(start) } else { Ok(()) }
    }
}

impl Row {
    fn new(sheet: &Element) -> Result<Row> {
        let (root, picture, list): (Element, Element, Element) =
            (create("div")?, create("div")?, create("ul")?);
        root.set_class_name("row");
        picture.set_attribute("role", "img")?;
        list.set_class_name("spoken");
        root.append_child(&picture)?;
        root.append_child(&list)?;
        sheet.append_child(&root)?;
        Ok(Row {
            root,
            picture,
            drawn: None,
            list,
            told: Vec::new(),
            pads: Vec::new(),
            marks: Default::default(),
        })
    }

    /// A row that came with the page.
    fn of(root: Element) -> Option<Row> {
        let picture = root.first_element_child()?;
        let list = picture.next_element_sibling()?;
        // Of which bar each item tells is not known yet.
        let told = children(&list).map(|item| (item, usize::MAX)).collect();
        Some(Row { root, picture, drawn: None, list, told, pads: Vec::new(), marks: Default::default() })
    }

    /// It shows a system, and tells its bars.
    fn came(&mut self, scene: &Scene, system: &Arc<System>) {
        self.drawn = Some((scene.width, Arc::clone(system)));
        for ((_, bar), index) in self.told.iter_mut().zip(system.bars.clone()) {
            *bar = index;
        }
    }

    /// Tells what is in the picture, bar by bar. What was told already is left alone.
    fn tell(
        &mut self,
        system: &System,
        piece: &Piece,
        added: Annotations,
        told: Option<&Piece>,
    ) -> Result<()> {
        self.picture.set_attribute("aria-label", &row_label(piece, system))?;
        while self.told.len() > system.bars.len() {
            if let Some((item, _)) = self.told.pop() {
                item.remove();
            }
        }
        for (place, index) in system.bars.clone().enumerate() {
            let same = self.told.get(place).is_some_and(|(_, told)| *told == index);
            if same
                && told.is_some_and(|before| {
                    describe::is_said_alike(piece.score(), before.score(), index, added)
                })
            {
                continue;
            }
            if place == self.told.len() {
                let item: Element = create("li")?;
                self.list.append_child(&item)?;
                self.told.push((item, index));
            }
            let (item, bar) = &mut self.told[place];
            item.set_text_content(Some(&piece.describe(index, added).map_err(unworded)?.to_string()));
            *bar = index;
        }
        Ok(())
    }

    /// Draws the music, unless it looks the same as before.
    fn draw(&mut self, scene: &Scene, system: &Arc<System>) -> Result<()> {
        let alike = |drawn: &Arc<System>| Arc::ptr_eq(drawn, system) || drawn.looks_like(system);
        let same = |(width, drawn): &(Sp, Arc<System>)| *width == scene.width && alike(drawn);
        if !self.drawn.as_ref().is_some_and(same) {
            put(&self.picture, &write::svg::system(scene, system))?;
            self.drawn = Some((scene.width, Arc::clone(system)));
        }
        Ok(())
    }

    /// The bar at a part of its width.
    fn bar_at(&self, part: f64) -> Option<usize> {
        let (width, system) = self.drawn.as_ref()?;
        let inner = system.edges.get(1..)?;
        let before = inner.iter().filter(|&&edge| edge <= part * width).count();
        Some(system.bars.start + before.min(system.bars.len().checked_sub(1)?))
    }

    /// Marks those of its bars that are among some, in one way.
    fn mark(&mut self, mark: Mark, bars: Option<&Range<usize>>) -> Result<()> {
        let there = self.drawn.as_ref().and_then(|(width, system)| {
            let edge = |bar: usize| system.edges.get(bar.checked_sub(system.bars.start)?);
            let bars = bars?;
            let (first, end) = (bars.start.max(system.bars.start), bars.end.min(system.bars.end));
            let (left, right) = (edge(first).filter(|_| first < end)?, edge(end)?);
            // In thousandths, because printing floats would take 15 KB of code.
            #[allow(clippy::cast_possible_truncation)]
            Some([*left, right - left].map(|x| (1e3 * x / width).round() as i32))
        });
        let drawn = &mut self.marks[mark as usize];
        let Some(there) = there else {
            if let Some((mark, _)) = drawn.take() {
                mark.remove();
            }
            return Ok(());
        };
        if drawn.as_ref().is_some_and(|(_, before)| *before == there) {
            return Ok(());
        }
        let sign = match drawn.take() {
            Some((sign, _)) => sign,
            None => {
                let sign: HtmlElement = create("div")?;
                sign.set_class_name(&format!("mark {}", mark.name()));
                self.root.append_child(&sign)?;
                sign
            }
        };
        for (name, thousandths) in ["left", "width"].into_iter().zip(there) {
            sign.style().set_property(name, &format!("{thousandths}e-1%"))?;
        }
        *drawn = Some((sign, there));
        Ok(())
    }

    fn draw_pads(
        &mut self,
        scene: &Scene,
        system: &System,
        piece: &Piece,
        offers: &[Offer],
        pictures: &mut Pictures,
    ) -> Result<()> {
        while self.pads.len() > system.pads.len() {
            if let Some(pad) = self.pads.pop() {
                pad.button.remove();
            }
        }
        for (index, at) in system.pads.iter().enumerate() {
            if index == self.pads.len() {
                self.pads.push(Pad::new(&self.root)?);
            }
            let rhythm =
                piece.casting().at(at.start).map(|window| (Arc::clone(&window.figure), window.spelling));
            let offer = offers.binary_search_by_key(&at.start, |offer| offer.span.start()).ok();
            let refusal = offer.and_then(|index| offers[index].refusal.clone());
            let row = (scene.width, system.above, system.below);
            self.pads[index].draw(PadState { at: *at, rhythm, refusal, row }, piece, pictures)?;
        }
        Ok(())
    }
}

impl Pad {
    fn new(row: &Element) -> Result<Pad> {
        let button: HtmlButtonElement = create("button")?;
        button.set_type("button");
        button.set_class_name("pad");
        button.set_tab_index(-1);
        row.append_child(&button)?;
        Ok(Pad { button, state: None, picture: String::new(), chosen: false })
    }

    fn choose(&mut self, chosen: bool) -> Result<()> {
        if std::mem::replace(&mut self.chosen, chosen) != chosen {
            self.button.toggle_attribute_with_force("data-chosen", chosen)?;
        }
        Ok(())
    }

    fn start(&self) -> Option<Onset> {
        self.state.as_ref().map(|state| state.at.start)
    }

    fn center(&self) -> Sp {
        self.state.as_ref().map_or(0.0, |state| state.at.at.x + state.at.width / 2.0)
    }

    fn draw(&mut self, state: PadState, piece: &Piece, pictures: &mut Pictures) -> Result<()> {
        if self.state.as_ref() == Some(&state) {
            return Ok(());
        }
        let PadState { at, rhythm, refusal, row: (width, above, below) } = &state;
        let place = piece.line().bars().place(at.start).map_err(unworded)?;
        let words = match (rhythm, refusal) {
            (Some((figure, spelling)), _) => named(figure, *spelling),
            (None, None) => says::PLAIN_EIGHTHS.into(),
            (None, Some(why)) => says::refused(why),
        };
        let button = &self.button;
        button.set_attribute("data-start", &at.start.to_string())?;
        button.set_attribute("aria-label", &format!("{}: {words}", place.spoken()))?;
        button.set_attribute("aria-pressed", if rhythm.is_some() { "true" } else { "false" })?;
        button.set_attribute("aria-disabled", if refusal.is_some() { "true" } else { "false" })?;
        // Zero to a hundred; in thousandths, because printing floats would take 15 KB of code.
        #[allow(clippy::cast_possible_truncation)]
        let percent = |part: Sp, whole: Sp| format!("{}e-3%", (1e5 * part / whole).round() as i32);
        let (style, height) = (button.style(), above + below);
        style.set_property("left", &percent(at.at.x, *width))?;
        style.set_property("top", &percent(at.at.y + above, height))?;
        style.set_property("width", &percent(at.width, *width))?;
        style.set_property("height", &percent(at.height, height))?;
        let picture = if refusal.is_some() { "" } else { pictures.of(rhythm)? };
        if self.picture != picture {
            put(button, picture)?;
            self.picture = picture.into();
        }
        self.state = Some(state);
        Ok(())
    }
}
