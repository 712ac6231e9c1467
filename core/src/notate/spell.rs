//! Spelling: the cheapest way to write exact durations over the meter.
//!
//! **The notation of a bar is the cheapest path from its start to its end.** A step along the path writes
//! either a single note or rest value, or a whole tuplet, whose inside is a cheapest path of its own. Every
//! step has a cost; the costs are named below, each with its reason. A window's spelling doesn't add costs:
//! it restricts the steps there are (one tuplet over the window, or no step across a beat).
//!
//! Times in here are whole ticks, fine enough for 64ths in tuplets of 3, 5 and 7 and in triplets inside
//! triplets. A time that isn't a whole number of ticks can't be written, so nothing is ever rounded.

use std::rc::Rc;

use super::error::{NotateError, Result};
use crate::meter::Meter;
use crate::time::{Duration, Onset, Span, TimeError};
use crate::timed::{Spelling, Timed, TimedWindow};
use crate::value::{Base, NoteValue, TICKS};

use super::written::{Grace, Symbol, Tuplet, WrittenBar};

type Tick = i64;
type Cost = u32;

/// Every sign is one more to read.
const SIGN: Cost = 10;
/// A tie takes longer to read than a longer value. (Gould 2011, on rhythmic grouping, from memory: prefer the
/// fewest ties.)
const TIE: Cost = 30;
/// A dot, which is cheaper than a tie.
const DOT: Cost = 4;
/// A second dot is rarely worth it in this music, since a tie shows the beat.
const SECOND_DOT: Cost = 25;
/// Rests are not dotted in simple meters (Gould 2011, from memory).
const DOT_ON_REST: Cost = 25;
/// A value that starts between beats and sounds across the next one: eighth quarter eighth. It is usual, and
/// so cheaper than a tie.
const SYNCOPATION: Cost = 20;
/// A value that hides a point two or more levels stronger than its start, such as the middle of a 4/4 bar
/// behind an offbeat. More expensive than a tie.
const HIDDEN: Cost = 100;
/// A rest never hides a stronger point than the one it starts on (Gould 2011, from memory).
const HIDDEN_BY_REST: Cost = 1000;
/// A tuplet, by how unusual its number is. Those in the time of three or six fill dotted notes.
const TUPLETS: [(u8, u8, Cost); 6] = [(3, 2, 40), (6, 4, 45), (5, 4, 60), (7, 4, 70), (5, 3, 65), (7, 6, 75)];
/// A note that starts between two units of its tuplet. A triplet with all three notes split is written as a
/// sextuplet.
const SPLIT_UNIT: Cost = 2;
/// A note that starts on a beat inside a tuplet, where two smaller tuplets would show the beat. Twice as much
/// at the middle of the bar.
const BEAT_IN_TUPLET: Cost = 60;
/// A tuplet across the middle of the bar is a last resort: for three half notes in the time of two, but for
/// nothing that ties spell as well.
const TUPLET_OVER_MIDDLE: Cost = 75;
/// How deep tuplets can nest.
const DEEPEST: u8 = 2;
/// The lengths that a tuplet can fill, longest first: a whole note to an eighth, plain or dotted. A tuplet
/// starts at a multiple of its length from the bar line, or a dotted one at a multiple of a third of it. Each
/// length is listed with that step.
const TUPLET_SPANS: [(Tick, Tick); 7] = [
    (4 * TICKS, 4 * TICKS),
    (3 * TICKS, TICKS),
    (2 * TICKS, 2 * TICKS),
    (3 * TICKS / 2, TICKS / 2),
    (TICKS, TICKS),
    (3 * TICKS / 4, TICKS / 4),
    (TICKS / 2, TICKS / 2),
];

/// The part of an event inside a bar: everything its spelling depends on.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Cell {
    start: Tick,
    end: Tick,
    rest: bool,
}

/// Where a cell comes from.
#[derive(Clone, Copy)]
struct Source {
    /// Which event of the line it is.
    event: usize,
    /// Whether the event continues from the bar before or into the next.
    from_before: bool,
    into_next: bool,
}

/// A window, or its part in this bar, that prescribes how it is written.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Frame {
    start: Tick,
    end: Tick,
    wants: Wants,
}

/// What a window prescribes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Wants {
    /// One tuplet over all of it: actual and normal number.
    Tuplet(u8, u8),
    /// No value across a beat.
    Beats,
}

/// Everything that the spelling of a bar depends on.
type Rhythm = (Meter, Vec<Cell>, Vec<Frame>);

/// A step of the path.
#[derive(Clone)]
enum Step {
    /// A value for (a part of) the cell with this index.
    Value { cell: usize, start: Tick, end: Tick, value: NoteValue },
    /// A tuplet and what is inside it.
    Tuplet { actual: u8, normal: u8, unit: Base, inside: Rc<Vec<Step>> },
}

/// Spells a whole line, bar by bar. Beams and accidentals are left empty.
pub(super) fn bars(timed: &Timed) -> Result<Vec<WrittenBar>> {
    let mut events = (0..).zip(&timed.events).peekable();
    let mut windows = timed.windows.as_slice();
    let mut bars = Vec::new();
    // Most bars of a line have the same rhythm as an earlier one. They are found by a sorted list of indexes: a hash table would add 2 KB to a
    // module, and to move indexes is cheap.
    let (mut known, mut sorted): (Vec<(Rhythm, Vec<Step>)>, Vec<usize>) = (Vec::new(), Vec::new());
    // The event that sounds across the last bar line.
    let mut sounding: Option<usize> = None;
    while events.peek().is_some() || sounding.is_some() {
        let (meter, span) = (timed.bars.meter(bars.len()), timed.bars.span(bars.len())?);
        let downbeat = timed.bars.downbeat(bars.len())?;
        let begins = span.start().checked_since(downbeat)?;
        let tick = |onset: Onset| match ticks(onset.checked_since(downbeat)?) {
            Some(tick) => Ok(tick),
            None => Err(NotateError::Unwritable { place: timed.bars.place(onset)? }),
        };
        let (first, bar_end) = (tick(span.start())?, tick(span.end())?);

        let (mut cells, mut sources) = (Vec::new(), Vec::new());
        while let Some((event, from_before)) = sounding.take().map(|event| (event, true)).or_else(|| {
            events.next_if(|(_, event)| event.onset < span.end()).map(|(event, _)| (event, false))
        }) {
            let source = &timed.events[event];
            let end = source.span()?.end();
            let start = if from_before { first } else { tick(source.onset)? };
            let into_next = end > span.end();
            let cell_end = if into_next { bar_end } else { tick(end)? };
            cells.push(Cell { start, end: cell_end, rest: source.pitch.is_none() });
            sources.push(Source { event, from_before, into_next });
            if into_next {
                sounding = Some(event);
                break;
            }
        }
        let mut frames = Vec::new();
        for window in windows.iter().take_while(|window| window.span.start() < span.end()) {
            frames.extend(frame(window, (first, bar_end), &tick)?);
        }
        // A window that extends into the next bar counts there too.
        windows = &windows[windows.partition_point(|window| window.span.end() <= span.end())..];
        let rhythm = (meter, cells, frames);
        let at = match sorted.binary_search_by(|&at| known[at].0.cmp(&rhythm)) {
            Ok(place) => sorted[place],
            Err(place) => {
                let speller = Speller { cells: &rhythm.1, frames: &rhythm.2 };
                let Some(steps) = speller.bar(meter) else {
                    return Err(NotateError::Unwritable { place: timed.bars.place(span.start())? });
                };
                known.push((rhythm, steps));
                sorted.insert(place, known.len() - 1);
                known.len() - 1
            }
        };
        let ((_, cells, _), steps) = &known[at];
        let end = match sources.last() {
            Some(source) => timed.events[source.event].span()?.end(),
            None => span.end(),
        };
        let span = Span::new(span.start(), span.end().min(end)).ok_or(TimeError)?;
        let symbols = Vec::with_capacity(sources.len());
        let mut bar =
            WrittenBar { span, meter, key: timed.bars.key(bars.len()), begins, symbols, tuplets: Vec::new() };
        write(steps, cells, &sources, timed, &mut bar)?;
        bars.push(bar);
    }
    Ok(bars)
}

/// What a window prescribes in a bar.
fn frame(
    window: &TimedWindow,
    bar: (Tick, Tick),
    tick: &impl Fn(Onset) -> Result<Tick>,
) -> Result<Option<Frame>> {
    let wants = match window.spelling {
        Spelling::Plain | Spelling::Grouped => return Ok(None),
        Spelling::Tied => Wants::Beats,
        Spelling::Bracket => match window.tuplet {
            Some((actual, normal)) => Wants::Tuplet(actual, normal),
            None => return Ok(None),
        },
    };
    let (start, end) = (tick(window.span.start())?.max(bar.0), tick(window.span.end())?.min(bar.1));
    Ok(Some(Frame { start, end, wants }))
}

/// A duration in ticks, if it is a whole number of them.
fn ticks(duration: Duration) -> Option<Tick> {
    let scale = TICKS / duration.denom();
    (TICKS % duration.denom() == 0).then(|| duration.numer().checked_mul(scale)).flatten()
}

fn duration(ticks: Tick) -> std::result::Result<Duration, TimeError> {
    Duration::new(ticks, TICKS)
}

/// Turns the path into the bar's symbols and tuplets.
fn write(
    steps: &[Step],
    cells: &[Cell],
    sources: &[Source],
    timed: &Timed,
    bar: &mut WrittenBar,
) -> Result<()> {
    for step in steps {
        match step {
            &Step::Value { cell, start, end, value } => {
                let (cell, source) = (&cells[cell], &sources[cell]);
                let event = &timed.events[source.event];
                let tied_from = !cell.rest && (start > cell.start || source.from_before);
                let tied_to = !cell.rest && (end < cell.end || source.into_next);
                bar.symbols.push(Symbol {
                    note: event.id,
                    start: duration(start)?,
                    length: duration(end - start)?,
                    value,
                    pitch: event.pitch,
                    tied_from,
                    tied_to,
                    accent: event.accent && !tied_from,
                    grace: event.grace.filter(|_| !tied_from).map(|pitch| Grace { pitch, accidental: None }),
                    accidental: None,
                    beams: Vec::new(),
                });
            }
            Step::Tuplet { actual, normal, unit, inside } => {
                let (index, first) = (bar.tuplets.len(), bar.symbols.len());
                bar.tuplets.push(Tuplet {
                    actual: *actual,
                    normal: *normal,
                    unit: *unit,
                    symbols: first..first,
                });
                write(inside, cells, sources, timed, bar)?;
                bar.tuplets[index].symbols = first..bar.symbols.len();
            }
        }
    }
    Ok(())
}

/// How strong each point of a bar or tuplet is: level 0 is its start, and higher levels are weaker.
struct Grid {
    levels: Vec<Level>,
    /// Whether a plain value that starts on the second level may sound across a point of the first: quarter
    /// half quarter in 4/4.
    over_middle: bool,
    /// Whether dotted values belong to the meter, as in 6/8.
    compound: bool,
}

enum Level {
    At(Vec<Tick>),
    Every(Tick),
}

impl Level {
    fn holds(&self, tick: Tick) -> bool {
        match self {
            Level::At(ticks) => ticks.contains(&tick),
            Level::Every(step) => tick % step == 0,
        }
    }

    /// Whether a point of this level is between the two, excluding both.
    fn between(&self, start: Tick, end: Tick) -> bool {
        match self {
            Level::At(ticks) => ticks.iter().any(|&tick| start < tick && tick < end),
            Level::Every(step) => (end - 1) / step * step > start,
        }
    }
}

impl Grid {
    fn of_meter(meter: Meter) -> Grid {
        let meter = meter.frame();
        let groups: Vec<Tick> = meter.group_starts().chain([meter.bar()]).filter_map(ticks).collect();
        let unit = ticks(meter.unit_length()).unwrap_or(TICKS);
        let mut levels = vec![Level::At(groups)];
        if meter.groups().any(|group| group > 1) {
            levels.push(Level::Every(unit));
        }
        levels.extend(halves(unit / 2));
        // 0 if the groups differ.
        let even = meter.groups().reduce(|one, other| if one == other { one } else { 0 }).unwrap_or(0);
        Grid { levels, over_middle: (1..3).contains(&even), compound: even == 3 }
    }

    fn of_tuplet(unit: Tick) -> Grid {
        Grid { levels: halves(unit).collect(), over_middle: true, compound: false }
    }

    /// Where the groups of the meter start, and where the last one ends; none in a tuplet.
    fn groups(&self) -> &[Tick] {
        match self.levels.first() {
            Some(Level::At(groups)) => groups,
            _ => &[],
        }
    }

    fn level(&self, tick: Tick) -> usize {
        if tick == 0 {
            return 0;
        }
        1 + self.levels.iter().position(|level| level.holds(tick)).unwrap_or(self.levels.len())
    }

    /// The cost of a value from `start` to `end` hiding stronger points than the one it starts on.
    fn hiding(&self, start: Tick, end: Tick, rest: bool, dots: u8) -> Cost {
        let from = self.level(start);
        let hidden = (1..from).find(|&level| self.levels[level - 1].between(start, end));
        // A syncopated value ends where the one after it is back in place: on a point as strong as its start,
        // or stronger if it is dotted.
        let lands = self.level(end) + usize::from(dots > 0) <= from;
        // In compound meters, a value across several dotted beats consists of whole ones: half and eighth is
        // not how to fill 6/8.
        let torn = self.compound && self.levels[0].between(start, end) && from.max(self.level(end)) > 1;
        match hidden.or(torn.then_some(1)) {
            None => 0,
            Some(_) if rest => HIDDEN_BY_REST,
            Some(1) if dots > 0 || !self.over_middle => HIDDEN,
            Some(level) if level + 1 == from && lands => SYNCOPATION,
            Some(_) => HIDDEN,
        }
    }
}

/// A step, its half, its quarter, ... down to what ticks can express.
fn halves(step: Tick) -> impl Iterator<Item = Level> {
    let mut step = step;
    std::iter::from_fn(move || {
        let this = (step > 0).then_some(Level::Every(step));
        step = if step % 2 == 0 { step / 2 } else { 0 };
        this
    })
}

struct Speller<'a> {
    cells: &'a [Cell],
    frames: &'a [Frame],
}

/// What a path spells: the bar, or the inside of a tuplet.
struct Region<'a> {
    /// Where its grid starts: at its own start, except in a pickup.
    origin: Tick,
    start: Tick,
    end: Tick,
    /// A value of nominal length `n` lasts `n * scale.0 / scale.1` here.
    scale: (Tick, Tick),
    grid: &'a Grid,
    depth: u8,
}

/// The best way found to a point.
struct Way {
    at: Tick,
    cost: Cost,
    /// The index of the way before the last step, and that step.
    last: Option<(usize, Step)>,
}

/// All values with their lengths in ticks, longest first.
static VALUES: [(NoteValue, Tick); 21] = {
    let mut values = [(NoteValue { base: Base::Whole, dots: 0 }, 0); 21];
    let mut index = 0;
    while index < 21 {
        let (base, dots) = (index / 3, [2, 1, 0][index % 3]);
        let whole = (4 * TICKS) >> base;
        let length = whole + if dots > 0 { whole / 2 } else { 0 } + if dots > 1 { whole / 4 } else { 0 };
        values[index] = (NoteValue { base: Base::ALL[base], dots }, length);
        index += 1;
    }
    values
};

impl Speller<'_> {
    fn bar(&self, meter: Meter) -> Option<Vec<Step>> {
        let (start, end) = (self.cells.first()?.start, self.cells.last()?.end);
        if let [Cell { rest: true, .. }] = self.cells
            && Some(end - start) == ticks(meter.bar())
        {
            // A rest for a whole bar is written as a whole rest in every meter.
            let value = NoteValue { base: Base::Whole, dots: 0 };
            return Some(vec![Step::Value { cell: 0, start, end, value }]);
        }
        let grid = Grid::of_meter(meter);
        let region = Region { origin: 0, start, end, scale: (1, 1), grid: &grid, depth: 0 };
        self.cheapest(&region).map(|(_, steps)| steps)
    }

    /// The cheapest path through a region. Points are visited in order of time, and each one's best way is
    /// final by then, because every step leads forward.
    fn cheapest(&self, region: &Region<'_>) -> Option<(Cost, Vec<Step>)> {
        let grain = self.grain(region);
        let mut ways = vec![Way { at: region.start, cost: 0, last: None }];
        let mut index = 0;
        while index < ways.len() {
            let (at, cost) = (ways[index].at, ways[index].cost);
            if at == region.end {
                return Some((cost, path(&ways, index)));
            }
            self.steps_from(at, region, grain, &mut |end, step_cost, step| {
                reach(&mut ways, index, end, cost + step_cost, step);
            });
            index += 1;
        }
        None
    }

    /// The finest binary step that a cut inside a value may need: that of the points where events and the
    /// meter's groups start.
    fn grain(&self, region: &Region<'_>) -> Tick {
        let nominal = |real: Tick| {
            (real * region.scale.1 % region.scale.0 == 0).then(|| real * region.scale.1 / region.scale.0)
        };
        let mut grain = 4 * TICKS;
        let starts =
            self.cells.iter().map(|cell| cell.start).filter(|&at| region.start < at && at < region.end);
        let groups = region.grid.groups().iter().map(|&group| region.origin + group);
        for point in starts.chain(groups).chain([region.end]) {
            match nominal(point - region.origin).filter(|&n| n % FINEST == 0) {
                Some(n) => {
                    while n % grain != 0 {
                        grain /= 2;
                    }
                }
                // A tuplet will be needed, and it can start on any eighth.
                None => grain = grain.min(TICKS / 2),
            }
        }
        grain * region.scale.0 / region.scale.1
    }

    fn steps_from(
        &self,
        at: Tick,
        region: &Region<'_>,
        grain: Tick,
        found: &mut impl FnMut(Tick, Cost, Step),
    ) {
        let framed = region.depth == 0;
        let bracket = self.frames.iter().filter(|frame| framed && frame.start == at).find_map(|frame| {
            match frame.wants {
                Wants::Tuplet(actual, normal) => Some((frame.end, actual, normal)),
                Wants::Beats => None,
            }
        });
        if let Some((end, actual, normal)) = bracket {
            if let Some((cost, step)) = self.tuplet(at, end, region, actual, normal) {
                found(end, cost, step);
            }
            return;
        }
        let wall = if framed { self.wall_after(at, region.end) } else { region.end };
        let index = self.cells.partition_point(|cell| cell.end <= at);
        let Some(cell) = self.cells.get(index) else { return };
        let limit = cell.end.min(wall);
        for (value, nominal) in &VALUES {
            let (length, left) =
                (nominal * region.scale.0 / region.scale.1, nominal * region.scale.0 % region.scale.1);
            let end = at + length;
            if left != 0 || end > limit || (end < cell.end && (end - region.origin) % grain != 0) {
                continue;
            }
            let cost = value_cost(
                cell,
                *value,
                at - region.origin,
                end - region.origin,
                end < cell.end,
                region.grid,
            );
            found(end, cost, Step::Value { cell: index, start: at, end, value: *value });
        }
        if region.depth < DEEPEST {
            self.tuplets_from(at, wall, region, found);
        }
    }

    fn tuplets_from(
        &self,
        at: Tick,
        wall: Tick,
        region: &Region<'_>,
        found: &mut impl FnMut(Tick, Cost, Step),
    ) {
        for (nominal, step) in TUPLET_SPANS {
            let real = |nominal: Tick| nominal * region.scale.0 / region.scale.1;
            let (end, step) = (at + real(nominal), real(step));
            if end > wall || (at - region.origin) % step != 0 || !self.needs_tuplet(at, end, region) {
                continue;
            }
            for (actual, normal, _) in TUPLETS {
                if let Some((cost, step)) = self.tuplet(at, end, region, actual, normal) {
                    found(end, cost, step);
                }
            }
        }
    }

    /// Whether an event starts inside at a point that repeated halving doesn't reach.
    fn needs_tuplet(&self, start: Tick, end: Tick, region: &Region<'_>) -> bool {
        let finest = FINEST * region.scale.0 / region.scale.1;
        self.starts_inside(start, end).any(|at| (at - region.origin) % finest.max(1) != 0)
    }

    fn starts_inside(&self, start: Tick, end: Tick) -> impl Iterator<Item = Tick> {
        let first = self.cells.partition_point(|cell| cell.start <= start);
        self.cells[first..].iter().map(|cell| cell.start).take_while(move |&at| at < end)
    }

    fn tuplet(
        &self,
        start: Tick,
        end: Tick,
        outer: &Region<'_>,
        actual: u8,
        normal: u8,
    ) -> Option<(Cost, Step)> {
        let (a, n) = (Tick::from(actual), Tick::from(normal));
        let nominal = (end - start) * outer.scale.1 / outer.scale.0;
        let unit = duration(nominal / n).ok().and_then(Base::from_length)?;
        let scale = (outer.scale.0 * n, outer.scale.1 * a);
        let grid = Grid::of_tuplet((end - start) / a);
        let region = Region { origin: start, start, end, scale, grid: &grid, depth: outer.depth + 1 };
        let (inside_cost, inside) = self.cheapest(&region)?;
        let beats = self
            .starts_inside(start, end)
            .map(|at| BEATS.saturating_sub(outer.grid.level(at - outer.origin)));
        let hidden = Cost::try_from(beats.sum::<usize>()).unwrap_or(Cost::MAX / BEAT_IN_TUPLET);
        let cost = tuplet_cost(actual, normal)
            + inside_cost
            + self.splits(start, end, actual)
            + BEAT_IN_TUPLET * hidden
            + over_middle(outer, start, end);
        Some((cost, Step::Tuplet { actual, normal, unit, inside: Rc::new(inside) }))
    }

    /// The cost of the notes that start between two units of a tuplet.
    fn splits(&self, start: Tick, end: Tick, actual: u8) -> Cost {
        let unit = (end - start) / Tick::from(actual);
        self.starts_inside(start, end).map(|at| if (at - start) % unit == 0 { 0 } else { SPLIT_UNIT }).sum()
    }

    /// The next point that no step may cross: the edge of a window, or a beat in a window that is written
    /// beat by beat.
    fn wall_after(&self, at: Tick, end: Tick) -> Tick {
        let walls = self.frames.iter().filter(|frame| frame.end > at).map(|frame| match frame.wants {
            _ if frame.start > at => frame.start,
            Wants::Tuplet(..) => frame.end,
            Wants::Beats => frame.end.min((at / TICKS + 1) * TICKS),
        });
        walls.min().unwrap_or(end).min(end)
    }
}

/// The cost of a tuplet with these numbers by itself.
fn tuplet_cost(actual: u8, normal: u8) -> Cost {
    TUPLETS.iter().find(|known| (known.0, known.1) == (actual, normal)).map_or(0, |known| known.2)
}

/// The cost of a tuplet hiding a group of the meter.
fn over_middle(outer: &Region<'_>, start: Tick, end: Tick) -> Cost {
    let (from, to) = (start - outer.origin, end - outer.origin);
    let hides = outer.grid.groups().iter().any(|&group| from < group && group < to);
    if hides { TUPLET_OVER_MIDDLE } else { 0 }
}

/// The finest binary point of a quarter that is written without a tuplet: a 64th.
const FINEST: Tick = TICKS / 16;
/// Levels below this are the middle and the beats in the grids of simple meters.
const BEATS: usize = 3;

fn value_cost(cell: &Cell, value: NoteValue, start: Tick, end: Tick, continues: bool, grid: &Grid) -> Cost {
    let dots = match (value.dots, cell.rest && !grid.compound) {
        (0, _) => 0,
        (1, false) => DOT,
        (1, true) => DOT_ON_REST,
        (_, false) => DOT + SECOND_DOT,
        (_, true) => DOT_ON_REST + SECOND_DOT,
    };
    let tie = if continues && !cell.rest { TIE } else { 0 };
    SIGN + dots + tie + grid.hiding(start, end, cell.rest, value.dots)
}

/// Records a way to `at`, unless there is a cheaper one. Of equal ones the last found stays, which starts
/// with the longer value. Ways are kept in order of time.
fn reach(ways: &mut Vec<Way>, from: usize, at: Tick, cost: Cost, step: Step) {
    match ways[from..].binary_search_by_key(&at, |way| way.at) {
        Ok(there) if ways[from + there].cost < cost => {}
        Ok(there) => ways[from + there] = Way { at, cost, last: Some((from, step)) },
        // Indices up to `from` are final, and `at` comes after it, so no index in use moves.
        Err(there) => ways.insert(from + there, Way { at, cost, last: Some((from, step)) }),
    }
}

fn path(ways: &[Way], end: usize) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut way = &ways[end];
    while let Some((before, step)) = &way.last {
        steps.push(step.clone());
        way = &ways[*before];
    }
    steps.reverse();
    steps
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether some path from `at` to the end of the region costs less than `bound`, by trying every step:
    /// any value, cut anywhere, and any tuplet in the tables. It shares the costs with the search, and
    /// nothing else. Returns the lowest such cost.
    fn cheaper(speller: &Speller<'_>, region: &Region<'_>, at: Tick, bound: Cost) -> Option<Cost> {
        if at == region.end {
            return (bound > 0).then_some(0);
        }
        let mut bound = bound;
        let mut best = None;
        let mut step = |end: Tick, cost: Cost, bound: &mut Cost| {
            if cost < *bound
                && let Some(rest) = cheaper(speller, region, end, *bound - cost)
            {
                *bound = cost + rest;
                best = Some(*bound);
            }
        };
        let cell = speller.cells.iter().find(|cell| cell.start <= at && at < cell.end).unwrap();
        for (value, nominal) in &VALUES {
            let length = nominal * region.scale.0 / region.scale.1;
            let end = at + length;
            if length * region.scale.1 == nominal * region.scale.0 && end <= cell.end.min(region.end) {
                let (from, to) = (at - region.origin, end - region.origin);
                step(end, value_cost(cell, *value, from, to, end < cell.end, region.grid), &mut bound);
            }
        }
        for (nominal, step_length) in TUPLET_SPANS {
            let length = nominal * region.scale.0 / region.scale.1;
            let end = at + length;
            let aligned = (at - region.origin) % (step_length * region.scale.0 / region.scale.1) == 0;
            if end > region.end || !aligned || region.depth == DEEPEST {
                continue;
            }
            for (actual, normal, own) in TUPLETS {
                if Base::from_length(duration(nominal / Tick::from(normal)).unwrap()).is_none() {
                    continue;
                }
                let grid = Grid::of_tuplet(length / Tick::from(actual));
                let scale = (region.scale.0 * Tick::from(normal), region.scale.1 * Tick::from(actual));
                let inner =
                    Region { origin: at, start: at, end, scale, grid: &grid, depth: region.depth + 1 };
                let levels = speller.starts_inside(at, end).map(|at| region.grid.level(at - region.origin));
                let beats: Cost = levels.map(|level| BEAT_IN_TUPLET * [3, 2, 1, 0][level.min(3)]).sum();
                let beats = beats + over_middle(region, at, end) + speller.splits(at, end, actual);
                if own + beats < bound
                    && let Some(inside) = cheaper(speller, &inner, at, bound - own - beats)
                {
                    step(end, own + beats + inside, &mut bound);
                }
            }
        }
        best
    }

    fn prove(meter: Meter, length: Tick, starts: &[Tick], rests: u32) {
        let ends = starts.iter().skip(1).copied().chain([length]);
        let cells: Vec<Cell> = starts
            .iter()
            .zip(ends)
            .enumerate()
            .map(|(index, (&start, end))| Cell { start, end, rest: rests >> index & 1 == 1 })
            .collect();
        let speller = Speller { cells: &cells, frames: &[] };
        let grid = Grid::of_meter(meter);
        let region = Region { origin: 0, start: 0, end: length, scale: (1, 1), grid: &grid, depth: 0 };
        let Some((cost, _)) = speller.cheapest(&region) else { panic!("{starts:?} is not written") };
        assert_eq!(cheaper(&speller, &region, 0, cost), None, "{starts:?} (rests {rests:b}) costs {cost}");
    }

    /// Every rhythm of up to four notes on the grid of twelfths of a quarter, in half a 4/4 bar.
    #[test]
    fn no_path_is_cheaper_in_a_half_bar() {
        let meter = Meter::new(2, 4).unwrap();
        let at = |twelfth: i64| twelfth * TICKS / 12;
        for a in 1..=24 {
            for b in a..=24 {
                for c in b..=24 {
                    let mut starts: Vec<Tick> = vec![0, at(a), at(b), at(c)];
                    starts.dedup();
                    starts.retain(|&start| start < at(24));
                    prove(meter, at(24), &starts, 0);
                }
            }
        }
    }

    /// Each bar's values: letters for the shapes, `.` for a dot, `~` for a tie to the next, lowercase `r`
    /// before a rest, and tuplets as `3( )`.
    fn values(text: &str) -> String {
        let reading = crate::read::text(text);
        assert_eq!(reading.diagnostics, [], "{text}");
        let timed = crate::recast::apply(&reading.line.unwrap(), &reading.casting).unwrap();
        let bars = bars(&timed).unwrap().into_iter().map(|bar| {
            let symbols = bar.symbols.iter().enumerate().map(|(index, symbol)| {
                let shape = ["w", "h", "q", "e", "s", "t", "x"][symbol.value.base as usize];
                let opens = bar.tuplets.iter().filter(|tuplet| tuplet.symbols.start == index);
                let opens: String = opens.map(|tuplet| format!("{}(", tuplet.actual)).collect();
                let closes = bar.tuplets.iter().filter(|tuplet| tuplet.symbols.end == index + 1).map(|_| ")");
                let rest = if symbol.pitch.is_none() { "r" } else { "" };
                let tie = if symbol.tied_to { "~" } else { "" };
                let dots = ".".repeat(symbol.value.dots.into());
                format!("{opens}{rest}{shape}{dots}{tie}{}", closes.collect::<String>())
            });
            symbols.collect::<Vec<_>>().join(" ")
        });
        bars.collect::<Vec<_>>().join(" | ")
    }

    /// Source: Gould 2011, on rhythmic grouping and rests, from memory.
    #[test]
    fn handbook_spellings() {
        for (text, expected) in [
            ("C4 D:1 E F G A B |", "e q e e e e e"),
            ("C4:1 D:2 E:1 |", "q h q"),
            ("C4 D E F:1 G A B |", "e e e e~ e e e e"),
            ("C4:3/2 D:5/2 |", "q. e~ h"),
            ("C4:1 D:3 |", "q q~ h"),
            ("C4:3 D:1 |", "h. q"),
            ("C4:1/4 D E:1/4 F G A B:3/2 |", "s e s e e e q."),
            ("C4:1/4 D:3/4 E:1/2 F:5/2 |", "s e. e e~ h"),
            ("r:3 C4:1 |", "rh rq q"),
            ("C4 r:2 D E:1 |", "e re rq re e q"),
            ("r:4 |", "rw"),
            ("C4:2/3 D:2/3 E:1/3 F:1/3 r:2 |", "3(q q e e) rh"),
            ("C4:2/3 D:1/3 E:1/3 F:2/3 r:2 |", "3(q e) 3(e q) rh"),
            ("C4:4/3 D:4/3 E:4/3 |", "3(h h h)"),
            ("C4:1/6 D:1/6 E:1/6 F:1/6 G:1/6 A:1/6 r:3 |", "6(s s s s s s) rq rh"),
            ("C4:1/3 D:1/3 E:1/6 F:1/6 r:3 |", "3(e e s s) rq rh"),
            ("C4:1/3 D:1/3 E:1/3 F:1/3 G:1/3 A:1/3 r:2 |", "3(e e e) 3(e e e) rh"),
            ("meter: 6/8\nC4:3/10 D:3/10 E:3/10 F:3/10 G:3/10 r:3/2 |", "5(e e e e e) rq."),
            ("meter: 6/8\nC4:3/14 D:3/14 E:3/14 F:3/14 G:3/14 A:3/14 B:3/14 r:3/2 |", "7(s s s s s s s) rq."),
            ("meter: 6/8\nC4:3/4 D:3/4 r:3/2 |", "e. e. rq."),
            ("meter: 6/8\nC4:3/2 D:1 E | r:3/2 C4:3/2 |", "q. q e | rq. q."),
            ("meter: 6/8\nC4:2 D E | r:2 C4:1 | C:3 |", "q.~ e e e | rq. re q | h."),
            ("meter: 12/8\nC4:3 D:3 | C:4 D:2 |", "h. h. | h.~ q e~ q."),
            ("meter: 9/8\nC4:9/2 | C:3 D:3/2 |", "h.~ q. | h. q."),
            ("meter: 3/4\nC4:2 D:1 | C D:1 E:1 F |", "h q | e q q e"),
        ] {
            assert_eq!(values(text), expected, "{text}");
        }
    }

    /// A random sample of whole bars of notes and rests, on eighths, sixteenths or thirds of a beat.
    #[test]
    fn no_path_is_cheaper_in_a_bar() {
        let mut state = 11u32;
        let mut random = |below: u32| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 16) % below
        };
        for (count, unit) in [(4, 4), (3, 4), (6, 8)] {
            let meter = Meter::new(count, unit).unwrap();
            let length = ticks(meter.bar()).unwrap();
            for _ in 0..400 {
                let mut starts = vec![0];
                for beat in 0..length / TICKS {
                    let parts = [2, 2, 4, 3][random(4) as usize];
                    let inside = (0..parts).map(|part| beat * TICKS + part * TICKS / parts);
                    starts.extend(inside.filter(|_| random(5) < 2));
                }
                starts.dedup();
                prove(meter, length, &starts, random(1 << 16) & random(1 << 16));
            }
        }
    }
}
