//! A stretch of the line, from one place up to another: the chosen figure again and again, or all of it an eighth earlier or later.

use halfbar_core::Piece;
use halfbar_core::bars::{Bars, Place};
use halfbar_core::line::Line;
use halfbar_core::meter::Meter;
use halfbar_core::names::quarters;
use halfbar_core::recast::{self, Casting, Direction, Shifted, Tiling, Window};
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_words::page as says;
use web_sys::{Element, HtmlElement, HtmlInputElement, HtmlOptionElement, HtmlSelectElement};

use halfbar_dom::form::Told;
use halfbar_dom::{Result, by_id, create, thrown};

/// The part of the page where a stretch is chosen.
pub(crate) struct Stretch {
    root: Element,
    from: Edge,
    to: Edge,
    says: HtmlElement,
    /// Whether an end was chosen; until then it is the line's.
    chosen: bool,
}

/// A place that can be chosen.
struct Edge {
    bar: HtmlInputElement,
    beat: HtmlSelectElement,
    /// Whose beats are offered.
    meter: Option<Meter>,
}

impl Stretch {
    pub(super) fn new() -> Result<Stretch> {
        let edge = |name: &str| -> Result<Edge> {
            Ok(Edge {
                bar: by_id(&format!("{name}-bar"))?,
                beat: by_id(&format!("{name}-beat"))?,
                meter: None,
            })
        };
        let (root, says) = (by_id("stretch")?, by_id("stretch-says")?);
        Ok(Stretch { root, from: edge("from")?, to: edge("to")?, says, chosen: false })
    }

    /// An edge was chosen by hand.
    pub(super) fn chosen(&mut self) {
        self.chosen = true;
    }

    /// Chooses the stretch from a moment of a line up to another.
    pub(super) fn set(&mut self, start: Onset, end: Onset, line: &Line) -> Result<()> {
        self.chosen = true;
        for (edge, onset) in [(&mut self.from, start), (&mut self.to, end)] {
            edge.show(line.bars().place(onset).map_err(thrown)?, line.bars())?;
        }
        Ok(())
    }

    /// Starts the stretch where somebody has just tapped.
    pub(super) fn start_at(&mut self, place: Place, line: &Line) -> Result<()> {
        self.from.show(place, line.bars())
    }

    /// Says what could be done with the stretch, when this part of the page is open.
    pub(super) fn show(&mut self, piece: &Piece, like: &Window) -> Result<()> {
        if !self.root.has_attribute("open") {
            return Ok(());
        }
        let bars = piece.line().bars();
        if !self.chosen
            && let Ok(end) = bars.place(piece.line().end())
        {
            self.to.show(end, bars)?;
        }
        self.from.offer(bars)?;
        self.to.offer(bars)?;
        let says = match self.span(piece.line()) {
            Ok(span) => {
                let repeated = self.repeat(piece, like).map(|(_, tiling)| told(piece, &tiling));
                let shifted = |direction| shift(piece, span, direction).map(|shifted| lost(&shifted));
                [
                    ("Repeated", repeated),
                    ("Earlier", shifted(Direction::Earlier)),
                    ("Later", shifted(Direction::Later)),
                ]
                .map(|(what, says)| format!("{what}: {}.", says.unwrap_or_else(|why| why)))
                .join("\n")
            }
            Err(why) => why,
        };
        self.says.set_text_content(Some(&says));
        Ok(())
    }

    /// The chosen figure repeated over the stretch; or what stands against it.
    pub(super) fn repeat(&self, piece: &Piece, like: &Window) -> Told<(Casting, Tiling)> {
        let span = self.span(piece.line())?;
        let mut casting = piece.casting().clone();
        let tiling = recast::tile(piece.line(), &mut casting, &like.at(span.start()), span.end());
        Ok((casting, tiling.map_err(|error| error.to_string())?))
    }

    /// The line with the stretch an eighth earlier or later; or what stands against it.
    pub(super) fn shift(&self, piece: &Piece, direction: Direction) -> Told<Shifted> {
        shift(piece, self.span(piece.line())?, direction)
    }

    /// The stretch; or what stands against it.
    pub(crate) fn span(&self, line: &Line) -> Told<Span> {
        let (from, to) = self.places().ok_or(says::CHOOSE_A_PLACE)?;
        let onset = |place: Place| line.bars().onset(place).map_err(|error| error.to_string());
        between(line, onset(from)?, onset(to)?)
    }

    /// Where it starts and ends, when both are chosen.
    pub(crate) fn places(&self) -> Option<(Place, Place)> {
        self.from.place().zip(self.to.place())
    }
}

/// From one place of a line up to another, or to its end.
pub(crate) fn between(line: &Line, start: Onset, end: Onset) -> Told<Span> {
    let end = end.min(line.end());
    Span::new(start, end).filter(|_| start < end).ok_or(says::SELECTION_ENDS_FIRST.into())
}

impl Edge {
    fn place(&self) -> Option<Place> {
        Some(Place { bar: self.bar.value().parse().ok()?, beat: self.beat.value().parse().ok()? })
    }

    fn show(&mut self, place: Place, bars: &Bars) -> Result<()> {
        self.bar.set_value(&place.bar.to_string());
        self.offer(bars)?;
        self.beat.set_value(&place.beat.to_string());
        Ok(())
    }

    /// Offers the beats of the bar's meter.
    fn offer(&mut self, bars: &Bars) -> Result<()> {
        let bar = self.bar.value().parse::<usize>().ok();
        let index = bar.and_then(|bar| bar.checked_sub(bars.number(0)));
        let meter = bars.meter(index.unwrap_or(0));
        if self.meter == Some(meter) {
            return Ok(());
        }
        let before = self.beat.value();
        self.beat.set_inner_html("");
        let full = Bars::new(meter);
        for start in meter.window_starts(true) {
            let Ok(Place { beat, .. }) = full.place(Onset::after(start)) else { continue };
            let option: HtmlOptionElement = create("option")?;
            option.set_value(&beat.to_string());
            option.set_text(&match (beat.denom(), beat.numer()) {
                (2, halves) => says::the_and_of(halves / 2),
                _ => beat.to_string(),
            });
            self.beat.append_child(&option)?;
            if beat.to_string() == before {
                self.beat.set_value(&before);
            }
        }
        self.meter = Some(meter);
        Ok(())
    }
}

fn shift(piece: &Piece, span: Span, direction: Direction) -> Told<Shifted> {
    let shifted = recast::shift(piece.line(), piece.casting(), span, direction);
    let shifted = shifted.map_err(|error| error.to_string())?;
    // Half a tuplet an eighth away may be beyond any notation.
    Piece::new(shifted.line.clone(), shifted.casting.clone()).map_err(|error| error.to_string())?;
    Ok(shifted)
}

/// What came of a tiling, without a full stop.
pub(super) fn told(piece: &Piece, tiling: &Tiling) -> String {
    let times = match tiling.windows {
        0 => says::NOWHERE.into(),
        1 => says::ONCE.into(),
        times => says::times(times),
    };
    let Ok(place) = piece.line().bars().place(tiling.end) else { return times };
    match (&tiling.stopped, tiling.left > Duration::ZERO) {
        (Some(why), _) => says::stops(&times, place.spoken(), why),
        (None, true) => says::left_over(&times, place.spoken(), quarters(tiling.left)),
        (None, false) => says::nothing_left_over(&times),
    }
}

/// How many notes are told one by one.
const TOLD: usize = 4;

/// What a shift costs, without a full stop.
pub(super) fn lost(shifted: &Shifted) -> String {
    let mut told: Vec<String> = (shifted.pushed_out.iter().take(TOLD))
        .map(|pushed| {
            let what = if pushed.left > Duration::ZERO { says::SHORTENS } else { says::PUSHES_OUT };
            says::lost(what, pushed.pitch, pushed.place.spoken())
        })
        .collect();
    if shifted.pushed_out.len() > TOLD {
        told.push(says::and_more(shifted.pushed_out.len() - TOLD));
    }
    if told.is_empty() {
        told.push(says::NOTHING_LOST.into());
    }
    let places: Vec<_> = shifted.respelled.iter().map(|place| place.spoken().to_string()).collect();
    match places.as_slice() {
        [] => {}
        [place] => told.push(says::respelled(place)),
        [first, others @ ..] => told.push(says::all_respelled(first, others.len())),
    }
    told.join(", ")
}
