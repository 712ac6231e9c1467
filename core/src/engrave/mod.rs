//! Written + Fingering -> [`Scene`]: every sign of the page in its place.
//!
//! Numbers are in staff spaces. Thicknesses are the engraving defaults of SMuFL's reference font. Rules
//! marked as Gould's are from *Behind Bars* (2011), from memory.

mod accents;
mod breaking;
mod chords;
mod grace;
mod head;
mod layout;
mod measure;
mod names;
mod notes;
mod part;
mod picture;
mod sign;
mod signatures;
mod sizes;
mod skyline;
mod slurs;
mod spacing;
mod stems;
mod system;
mod tab;
mod ties;
mod tuplets;
mod view;

use std::ops::Range;
use std::sync::Arc;

use crate::describe;
use crate::line::Line;
use crate::meter::Meter;
use crate::notate::{Symbol, Written, WrittenBar};
use crate::scene::{Scene, Sp, System};
use crate::score::Score;
use crate::time::{Onset, Span};

use breaking::{BarWidth, Start, break_bars};
use measure::{BarLine, Measure, Opening};
use part::Part;

pub use crate::geometry::{Width, WidthError};
pub(crate) use chords::Setter;
pub(crate) use head::rows;
pub use layout::{Layout, PadRow};
pub use picture::{catalogue, picture};
pub use view::View;

/// The distance between two systems.
const BETWEEN_SYSTEMS: Sp = 3.0;
/// The margin at the lower edge of the page.
const LOWER_MARGIN: Sp = 0.5;

/// Keeps the notes over each pad of a bar far enough apart.
fn hold_for_pads(bar: &WrittenBar, row: &PadRow, measure: &mut Measure) {
    let first = row.spans.partition_point(|span| span.start() < bar.span.start());
    for span in row.spans[first..].iter().take_while(|span| span.start() < bar.span.end()) {
        let symbol = |onset: Onset| match bar.offset(onset) {
            Ok(offset) if onset < bar.span.end() => bar.symbol_at(offset),
            _ => bar.symbols.len(),
        };
        let (start, end) = (symbol(span.start()), symbol(span.end()));
        measure.hold_apart(start..end.max(start + 1), row.least_width + system::BETWEEN_PADS);
    }
}

/// Where the writer wants systems to start.
fn starts(line: &Line) -> impl Iterator<Item = Start> {
    let systems = &line.heading().systems;
    systems.starts(line.bars()).map(|is_wanted| match systems.every {
        _ if is_wanted => Start::Wanted,
        Some(_) => Start::Unwanted,
        None => Start::Free,
    })
}

/// What is new at the start of a bar.
fn opening(written: &Written, index: usize, view: View) -> Opening {
    let key = written.bars[index].key;
    let before = index.checked_sub(1).map_or(key, |before| written.bars[before].key);
    Opening {
        meter: new_meter(written, index),
        key: if view.has_staff() { measure::key_change(before, key) } else { Vec::new() },
        prefix: measure::prefix_width(key, view),
    }
}

/// What ends a bar.
fn bar_line(written: &Written, index: usize) -> BarLine {
    match (&written.bars[index], written.bars.get(index + 1)) {
        (_, None) => BarLine::End,
        (bar, Some(next)) if next.key != bar.key => BarLine::Double,
        _ => BarLine::Single,
    }
}

/// The time signature before a bar: that of the first bar, and any that differs from the bar before.
fn new_meter(written: &Written, index: usize) -> Option<Meter> {
    let signature = |meter: Meter| (meter.count(), meter.unit());
    let meter = written.bars[index].meter;
    let before = index.checked_sub(1).map(|before| written.bars[before].meter);
    before.is_none_or(|before| signature(before) != signature(meter)).then_some(meter)
}

/// An earlier page, and what it was made from.
#[derive(Clone, Copy, Debug)]
pub struct Before<'a> {
    /// The music.
    pub score: Score<'a>,
    /// The layout.
    pub layout: &'a Layout,
    /// The page itself.
    pub scene: &'a Scene,
}

impl Before<'_> {
    /// The earlier system of these bars, if a new one would be the same: nothing it is made from has changed.
    fn system(
        &self,
        score: Score<'_>,
        layout: &Layout,
        width: Sp,
        bars: &Range<usize>,
    ) -> Option<&Arc<System>> {
        let (line, old) = (score.line, self.score.line);
        let systems = &self.scene.systems;
        let index = systems.binary_search_by_key(&bars.start, |system| system.bars.start).ok()?;
        let system = systems.get(index).filter(|system| system.bars == *bars)?;
        // The previous bar determines what is new in the first one, and the next bar what is announced in the
        // last.
        let beside = |written: &Written| {
            let beside = [bars.start.checked_sub(1), Some(bars.end)].map(|index| written.bars.get(index?));
            beside.map(|bar| bar.map(|bar| (bar.meter, bar.key)))
        };
        let time = Span::new(
            score.written.bars[bars.start].span.start(),
            score.written.bars[bars.end - 1].span.end(),
        )?;
        let same_pads = match (&layout.pads, &self.layout.pads) {
            (Some(a), Some(b)) => {
                (a.height, a.least_width) == (b.height, b.least_width)
                    && within(&a.spans, time, |span| span.start())
                        == within(&b.spans, time, |span| span.start())
            }
            (None, None) => true,
            _ => false,
        };
        // Fingers and rings are drawn only when asked for. How a note begins shows at its first symbol, and how it connects
        // to the next one at its last.
        let drawn = |score: Score<'_>, symbol: &Symbol| {
            let fretting = score.fingering.of(symbol.note)?;
            let finger = Some(fretting.finger).filter(|_| layout.annotations.shows_fingers());
            let attacks = score.fingering.attacks();
            let begins = attacks.of(symbol.note).filter(|_| !symbol.tied_from);
            let leads = attacks.leads(symbol.note).filter(|_| !symbol.tied_to);
            let ringed = layout.annotations.chord_tones && score.is_chord_tone(symbol.note);
            let degree = names::under(score, layout, symbol);
            Some((fretting.string, fretting.fret, finger, begins, leads, ringed, degree))
        };
        let same_names = !layout.annotations.names
            || names::Inside::of(score, bars) == names::Inside::of(self.score, bars);
        let mut symbols = score.written.bars[bars.clone()].iter().flat_map(|bar| &bar.symbols);
        let same = self.scene.width == width
            && (layout.view, layout.annotations) == (self.layout.view, self.layout.annotations)
            && same_pads
            && beside(score.written) == beside(self.score.written)
            && Some(&score.written.bars[bars.clone()]) == self.score.written.bars.get(bars.clone())
            && (line.heading().neck == old.heading().neck)
            && (line.bars().number(0) == old.bars().number(0))
            && within(line.chords(), time, |chord| chord.onset)
                == within(old.chords(), time, |chord| chord.onset)
            && same_names
            && symbols.all(|symbol| drawn(score, symbol) == drawn(self.score, symbol));
        same.then_some(system)
    }
}

/// The part of a time-ordered list that starts in a span.
fn within<T>(list: &[T], time: Span, start: impl Fn(&T) -> Onset) -> &[T] {
    let first = list.partition_point(|one| start(one) < time.start());
    let after = list.partition_point(|one| start(one) < time.end());
    &list[first..after]
}

/// Engraves a piece, reusing whatever hasn't changed from an earlier page.
pub fn engrave(score: Score<'_>, layout: &Layout, before: Option<Before<'_>>) -> Scene {
    let Score { line, written, fingering: plan, .. } = score;
    let rings = layout.has_rings();
    let heading = line.heading();
    let view = layout.view;
    let chords = chords::in_bars(line, written);
    let room = |symbol: &Symbol| {
        let fretting = plan.of(symbol.note).filter(|_| view.has_tab());
        let number = fretting.map_or(0.0, |fretting| tab::number_width(symbol, fretting));
        number.max(names::width(score, layout, symbol))
    };
    let mut measures: Vec<Measure> = (written.bars.iter().zip(&chords).enumerate())
        .map(|(index, (bar, chords))| {
            Measure::of(bar, opening(written, index, view), chords, view, plan.attacks(), rings, room)
        })
        .collect();
    if let Some(row) = &layout.pads {
        for (bar, measure) in written.bars.iter().zip(&mut measures) {
            hold_for_pads(bar, row, measure);
        }
    }
    for (measure, index) in measures.iter_mut().zip(0..) {
        measure.end_with(bar_line(written, index));
    }
    let widths: Vec<BarWidth> = (measures.iter().zip(starts(line)))
        .map(|(measure, start)| BarWidth { start, ..measure.width() })
        .collect();

    // A bar that doesn't fit by itself makes the page wider rather than running over its edge.
    let courtesies = widths.iter().skip(1).map(|next| next.courtesy).chain([0.0]);
    let alone = |(bar, next): (&BarWidth, Sp)| bar.least - bar.key_change + bar.prefix + next;
    let width = layout.width.spaces().max(widths.iter().zip(courtesies).map(alone).fold(0.0, Sp::max));

    let (head, head_height) =
        if layout.head { head::head(heading, width, layout.words) } else { (Vec::new(), 0.0) };
    let mut top = head_height;
    let mut systems = Vec::new();
    for bars in break_bars(&widths, width) {
        let last = bars.end == written.bars.len();
        let same = before.and_then(|before| before.system(score, layout, width, &bars).cloned());
        let mut system = same.unwrap_or_else(|| {
            Arc::new(system::system(&Part {
                score,
                layout,
                width,
                last,
                first_bar: bars.start,
                bars: &written.bars[bars.clone()],
                measures: &measures[bars.clone()],
                next: measures.get(bars.end),
                chords: &chords[bars],
            }))
        });
        if system.top != top + system.above {
            let set = Arc::make_mut(&mut system);
            set.top = top + set.above;
        }
        top = system.top + system.below + BETWEEN_SYSTEMS;
        systems.push(system);
    }
    Scene {
        width,
        height: top - BETWEEN_SYSTEMS + LOWER_MARGIN,
        title: heading.title.clone(),
        description: layout.words.say(&describe::summary(line, written)).into(),
        head,
        head_height,
        systems,
    }
}
