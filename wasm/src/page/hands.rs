//! On the neck: what the hands like, one bar of it drawn, other ways to play it, and why the plan is as it is.

use halfbar_core::hand::{self, Bound, Cost, Fingering, Term, Way};
use halfbar_core::line::{Event, NoteId};
use halfbar_core::neck::Position;
use halfbar_core::technique::{Constraint, FingeringStyle, Picking, Pin};
use halfbar_core::time::Span;
use halfbar_core::{Piece, write};
use halfbar_words::page as says;
use wasm_bindgen::JsCast;
use web_sys::{Element, EventTarget, HtmlButtonElement, HtmlElement, HtmlInputElement, HtmlSelectElement};

use super::neck::Neck;
use crate::parts::Part;
use halfbar_dom::{Result, by_id, create, focused, hand_on_focus, thrown};
use halfbar_markup::capital;

/// How many other ways are offered.
const WAYS: usize = 8;

/// The part of the page about hands.
pub(super) struct Hands {
    style: HtmlSelectElement,
    strokes: HtmlSelectElement,
    first: HtmlSelectElement,
    slurs: HtmlInputElement,
    where_to: HtmlSelectElement,
    keep: HtmlButtonElement,
    pub(super) neck: Neck,
    /// The bar that is drawn, by index.
    bar: usize,
    /// The plan as it was, and other ways to play it; empty until one is asked for.
    ways: Vec<Way>,
    /// What they are ways to play.
    passage: Option<Span>,
    list: Element,
    /// The list with the button that keeps one of them.
    others: HtmlElement,
    /// Which of them is shown.
    shown: usize,
}

/// What the other ways are for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Reach {
    Bar,
    Stretch,
    Line,
}

impl Hands {
    pub(super) fn new() -> Result<Hands> {
        Ok(Hands {
            style: by_id("style")?,
            strokes: by_id("strokes")?,
            first: by_id("first")?,
            slurs: by_id("slurs")?,
            where_to: by_id("way-for")?,
            keep: by_id("keep")?,
            neck: Neck::new()?,
            bar: 0,
            ways: Vec::new(),
            passage: None,
            list: by_id("ways")?,
            others: by_id("other")?,
            shown: 0,
        })
    }

    /// The values of the `style` and the `picking` header as they are chosen; none where they say what goes without saying.
    pub(super) fn headers(&self) -> [(&'static str, Option<String>); 2] {
        let style = Some(self.style.value()).filter(|style| style != FingeringStyle::default().name());
        let slurs = if self.slurs.checked() { ", slurs" } else { "" };
        let first = match self.first.value() {
            first if first.is_empty() => first,
            first => format!(", first {first}"),
        };
        let picking = Some(format!("{}{slurs}{first}", self.strokes.value()));
        [("style", style), ("picking", picking.filter(|text| text.parse() != Ok(Picking::default())))]
    }

    /// Goes to a bar.
    pub(super) fn go_to(&mut self, bar: usize) {
        self.bar = bar;
    }

    /// Goes along with what is heard, unless somebody is looking at fingerings of a bar. Nobody wants to be told each bar over the music.
    pub(super) fn follow(&mut self, bar: usize) -> Result<()> {
        if self.passage.is_none() || self.reach() != Reach::Bar {
            self.bar = bar;
        }
        by_id::<Element>("hands-bar")?.set_attribute("aria-live", "off")
    }

    /// Goes on by bars.
    pub(super) fn go_on(&mut self, piece: &Piece, forward: bool) -> Result<()> {
        let last = piece.line().bar_count().saturating_sub(1);
        self.bar = if forward { (self.bar + 1).min(last) } else { self.bar.saturating_sub(1) };
        by_id::<Element>("hands-bar")?.set_attribute("aria-live", "polite")
    }

    /// Whether the ways that are listed are for another bar than the one that is drawn.
    pub(super) fn lists_another_bar(&self, piece: &Piece) -> Result<bool> {
        let bar = self.bar(piece)?;
        Ok(self.reach() == Reach::Bar && self.passage.is_some_and(|passage| passage != bar))
    }

    /// What the other ways are for.
    pub(super) fn reach(&self) -> Reach {
        match self.where_to.value().as_str() {
            "bar" => Reach::Bar,
            "stretch" => Reach::Stretch,
            _ => Reach::Line,
        }
    }

    /// Shows what is set for the bar.
    fn show_set(&self, piece: &Piece) -> Result<()> {
        let bar = self.bar(piece)?;
        // A note that is moved elsewhere leaves the rest of the bar in its position.
        let here = piece.line().constraints().iter().filter(|one| one.span.overlaps(bar));
        let wants: Vec<Constraint> = here.map(|one| one.want).collect();
        let position = agreed(wants.iter().filter_map(|want| match want {
            Constraint::Position(there) => Some(there.to_string()),
            _ => None,
        }));
        let picked = agreed(wants.iter().filter_map(|want| match want {
            Constraint::Picking(style) => Some(style.name()),
            _ => None,
        }));
        by_id::<HtmlSelectElement>("position")?.set_value(&position.unwrap_or_default());
        by_id::<HtmlSelectElement>("picked")?.set_value(picked.unwrap_or_default());
        Ok(())
    }

    /// The bar that is drawn.
    pub(super) fn bar(&self, piece: &Piece) -> Result<Span> {
        piece.line().bar(self.bar.min(piece.line().bar_count().saturating_sub(1))).map_err(thrown)
    }

    /// The plan is another now, so the ways found earlier are none.
    pub(super) fn forget(&mut self) -> Result<()> {
        let had = focused()?;
        (self.ways, self.shown, self.passage) = (Vec::new(), 0, None);
        self.list.set_inner_html("");
        self.keep.set_disabled(true);
        self.others.set_hidden(true);
        hand_on_focus(had.as_ref(), &["#fretboard"])
    }

    /// Lists other ways to play a passage, positions first; says so when there are none.
    pub(super) fn list_ways(&mut self, piece: &Piece, passage: Span) -> Result<Option<&'static str>> {
        self.forget()?;
        let own = Way { position: None, cost: Cost::default(), fingering: piece.fingering().clone() };
        let listed = |bound| piece.fingering().listed(piece.line(), passage, WAYS, bound);
        let others = listed(Bound::TwiceTheBest);
        let others = if others.is_empty() { listed(Bound::None) } else { others };
        if others.is_empty() {
            return Ok(Some(says::NO_OTHER_FINGERING));
        }
        let events: Vec<&Event> =
            piece.timed().events.iter().filter(|event| passage.contains(event.onset)).collect();
        self.passage = Some(passage);
        self.ways = std::iter::once(own).chain(others).collect();
        for (index, way) in self.ways.iter().enumerate() {
            let (item, field): (Element, HtmlInputElement) = (create("label")?, create("input")?);
            let costs =
                |way_is: String| says::costs(way_is, &fretting_work(&way.fingering, &events), way.cost);
            let label = match (index, way.position) {
                (0, _) => says::ORIGINAL_FINGERING.to_string(),
                (_, Some(position)) => costs(says::way_in_position(position)),
                (_, None) => costs(says::way(index)),
            };
            field.set_type("radio");
            field.set_name("way");
            field.set_value(&index.to_string());
            field.set_checked(index == 0);
            item.append_child(&field)?;
            item.append_with_str_1(&capital(&label))?;
            self.list.append_child(&item)?;
        }
        self.others.set_hidden(false);
        // Arrow keys go on from there.
        self.list
            .query_selector("input")?
            .map_or(Ok(()), |field| field.unchecked_ref::<HtmlElement>().focus())?;
        Ok(None)
    }

    /// Shows the way that was chosen in a field.
    pub(super) fn show_way(&mut self, field: &HtmlInputElement) -> Option<Fingering> {
        let index = field.value().parse::<usize>().ok()?;
        let fingering = self.ways.get(index)?.fingering.clone();
        self.shown = index;
        self.keep.set_disabled(index == 0);
        Some(fingering)
    }

    /// The text with the way that is shown kept in it: a position for its passage, or pins. Says how.
    pub(super) fn kept(&self, piece: &Piece, source: &str) -> Result<Option<(String, String)>> {
        let ([first, ..], Some(passage)) = (self.ways.as_slice(), self.passage) else { return Ok(None) };
        let way = &self.ways[self.shown];
        if let Some(position) = way.position {
            let line = hand::in_position(piece.line(), passage, Some(position));
            let text = write::text::with_constraints(source, &line).map_err(thrown)?;
            return Ok(Some((text, says::position_set(position))));
        }
        let own = |note: NoteId| {
            piece.line().events().get(note.0 as usize).map_or(Pin::default(), |event| event.pin)
        };
        let pins = way.fingering.pins_over(&first.fingering).into_iter();
        let pins: Vec<(NoteId, Pin)> =
            pins.map(|(note, pin)| (note, Pin { string: pin.string, ..own(note) })).collect();
        let count = if pins.len() == 1 { says::ONE_PIN.into() } else { says::pins(pins.len()) };
        Ok(Some((write::text::with_pins(source, &pins), says::kept_by(&count))))
    }

    /// Shows the plan, when this part of the page is open, with the selected note marked on the neck.
    pub(super) fn show(&mut self, piece: &Piece, note: Option<NoteId>) -> Result<()> {
        if !Part::Hands.is_open()? {
            return Ok(());
        }
        self.bar = self.bar.min(piece.line().bar_count().saturating_sub(1));
        let heading = piece.line().heading();
        self.style.set_value(heading.style.name());
        self.strokes.set_value(heading.picking.strokes.name());
        self.first.set_value(heading.picking.first.map_or("", |first| first.name()));
        self.slurs.set_checked(heading.picking.slurs);
        self.show_set(piece)?;
        let number = piece.line().bars().number(self.bar);
        by_id::<HtmlElement>("hands-bar")?.set_text_content(Some(&says::bar(number)));
        let bar = self.bar(piece)?;
        self.neck.draw(piece, bar, note)?;
        let events: Vec<&Event> =
            piece.timed().events.iter().filter(|event| bar.contains(event.onset)).collect();
        by_id::<HtmlElement>("hands-say")?.set_text_content(Some(&summary(piece, &events)));
        let why: HtmlElement = by_id("why")?;
        why.set_inner_html("");
        for event in events {
            if let Some(reason) = reason(piece, event)? {
                let item: HtmlElement = create("li")?;
                item.set_text_content(Some(&reason));
                why.append_child(&item)?;
            }
        }
        Ok(())
    }
}

/// The note whose pick stroke an event came from.
pub(super) fn stroke_of(target: &EventTarget) -> Option<NoteId> {
    let sign = target.dyn_ref::<Element>()?.closest(".stroke[data-note]").ok()??;
    sign.get_attribute("data-note")?.parse().ok().map(NoteId)
}

/// The note of the music that an event came from.
pub(super) fn note_of(target: &EventTarget) -> Option<NoteId> {
    let group = target.dyn_ref::<Element>()?.closest("[data-note]").ok()??;
    group.get_attribute("data-note")?.parse().ok().map(NoteId)
}

/// Where the hand is in some notes, and how often either hand has more to do than usual.
fn summary(piece: &Piece, events: &[&Event]) -> String {
    let placings: Vec<_> = events.iter().filter_map(|event| piece.fingering().of(event.id)).collect();
    let positions = || placings.iter().filter(|placing| placing.finger.0 > 0).map(|placing| placing.position);
    let position = match (positions().min(), positions().max()) {
        (Some(low), Some(high)) if low == high => says::position(Position(low)),
        (Some(low), Some(high)) => says::positions(Position(low), Position(high)),
        _ => says::OPEN_STRINGS.into(),
    };
    let fretting = fretting_work(piece.fingering(), events);
    says::hands(&position, &[fretting, picking_work(piece.fingering(), events)].concat())
}

/// What all of them are, if they are the same.
fn agreed<T: PartialEq>(mut all: impl Iterator<Item = T>) -> Option<T> {
    let first = all.next()?;
    all.all(|other| other == first).then_some(first)
}

/// How often a kind of cost is charged in some notes: `2 shifts`, or nothing.
fn count(
    fingering: &Fingering,
    events: &[&Event],
    is: fn(&Term) -> bool,
    (one, many): (&str, &str),
) -> Option<String> {
    let terms = events.iter().flat_map(|event| fingering.charges(event.id)).map(|charge| charge.term);
    match terms.filter(is).count() {
        0 => None,
        1 => Some(format!("1 {one}")),
        count => Some(format!("{count} {many}")),
    }
}

/// How often the fretting hand has more to do than usual.
fn fretting_work(fingering: &Fingering, events: &[&Event]) -> Vec<String> {
    let count = |is, names| count(fingering, events, is, names);
    let shifts = count(|term| matches!(term, Term::Shift { .. }), (says::SHIFT, says::SHIFTS));
    let stretches = count(|term| matches!(term, Term::Stretch { .. }), (says::STRETCH, says::STRETCHES));
    shifts.into_iter().chain(stretches).collect()
}

/// How often the pick has more to do than usual.
fn picking_work(fingering: &Fingering, events: &[&Event]) -> Vec<String> {
    let count = |is, names| count(fingering, events, is, names);
    let inside = count(|term| *term == Term::Inside, (says::INSIDE_CROSSING, says::INSIDE_CROSSINGS));
    let outside = count(|term| *term == Term::Outside, (says::OUTSIDE_CROSSING, says::OUTSIDE_CROSSINGS));
    inside.into_iter().chain(outside).collect()
}

/// Why a note is played as it is, where a player might ask.
fn reason(piece: &Piece, event: &Event) -> Result<Option<String>> {
    let Some(pitch) = event.pitch else { return Ok(None) };
    let place = piece.timed().bars.place(event.onset).map_err(thrown)?;
    let reasons = piece.fingering().reasons(event.id, place).into_iter();
    let odd: Vec<String> = reasons.filter(|reason| reason.term.is_odd()).map(|reason| reason.words).collect();
    Ok((!odd.is_empty()).then(|| format!("{}, {pitch}: {}", place.spoken(), odd.join("; "))))
}
