//! The written onsets of notes: the cheapest path through the bars.
//!
//! A state of the search is an eighth and how many notes have started before it. From there, every [`Way`] that fits leads to a later eighth and takes the
//! notes up to it, at the price of the rhythm and of the notes' distances from it. A note near an eighth may belong to either side.

use super::grid::Node;
use super::ways::{Shape, Way};
use crate::time::Duration;

/// How near to its place a note has to be, in quarter notes.
#[derive(Clone, Copy, Debug)]
pub(super) enum Nearness {
    /// At its place, in a file with this many ticks per quarter note.
    Exact { ticks: u16 },
    /// Near it: the standard deviation.
    Loose(f64),
}

/// A rhythm for notes.
#[derive(Clone, Debug)]
pub(super) struct Fit {
    /// Where each note is written.
    pub(super) onsets: Vec<Duration>,
    /// When each note would be played.
    pub(super) played: Vec<f64>,
    /// For each eighth, into how many even parts its beat is divided by a tuplet; 1 without one.
    pub(super) tuplets: Vec<u16>,
    pub(super) cost: f64,
}

/// How far from its place a note may be at most, in quarter notes.
const FARTHEST: f64 = 0.2;
/// Beyond so many standard deviations, the cost grows evenly: some notes are just played wrong.
const OUTLIER: f64 = 3.0;

/// The cheapest way to reach a state.
#[derive(Clone, Copy)]
struct Reached {
    cost: f64,
    /// The notes that started before the way's eighth.
    notes: usize,
    way: usize,
}

/// The states of an eighth.
struct Layer {
    /// The fewest notes that may have started before it.
    fewest: usize,
    /// By how many more than these have.
    reached: Vec<Option<Reached>>,
}

/// Finds the cheapest rhythm for notes at these times, in order. The error is the index of the eighth at which nothing fits any more.
pub(super) fn fit(
    nodes: &[Node],
    ways: &[Way],
    times: &[f64],
    long: f64,
    near: Nearness,
) -> Result<Fit, usize> {
    let mut layers = layers(nodes, times, long, near);
    if let Some(start) = layers.first_mut().and_then(|layer| layer.reached.first_mut()) {
        *start = Some(Reached { cost: 0.0, notes: 0, way: 0 });
    }
    let mut parts = Vec::new();
    let mut farthest = 0;
    for (index, node) in nodes.iter().enumerate() {
        let Some(layer) = layers.get(index) else { break };
        let states: Vec<(usize, f64)> = (layer.fewest..)
            .zip(&layer.reached)
            .filter_map(|(notes, reached)| Some((notes, reached.as_ref()?.cost)))
            .collect();
        if !states.is_empty() {
            farthest = index;
        }
        for (notes, before) in states {
            for (number, way) in ways.iter().enumerate().filter(|(_, way)| fits(way, node)) {
                let Some(goal) = layers.get_mut(index + way.cells) else { continue };
                for (until, reached) in (goal.fewest..).zip(goal.reached.iter_mut()) {
                    let Some(taken) = until.checked_sub(notes).and_then(|_| times.get(notes..until)) else {
                        continue;
                    };
                    let Some(error) = place(node, way, taken, long, near, &mut parts) else { continue };
                    let cost = before + error + way.cost(&parts, node.is_half, node.is_beat);
                    if reached.is_none_or(|other| cost < other.cost) {
                        *reached = Some(Reached { cost, notes, way: number });
                    }
                }
            }
        }
    }
    trace(nodes, ways, times, long, near, &layers).ok_or(farthest)
}

/// Whether a rhythm may start at an eighth.
fn fits(way: &Way, node: &Node) -> bool {
    use super::ways::Start;
    way.cells <= node.left
        && match way.start {
            Start::Anywhere => true,
            Start::Beat => node.is_beat,
            Start::OtherMeter => !node.swings,
        }
}

/// The states that there are: at each eighth, the notes that are certainly before it, and those that may be.
fn layers(nodes: &[Node], times: &[f64], long: f64, near: Nearness) -> Vec<Layer> {
    let reach = match near {
        Nearness::Exact { ticks } => 1.5 / f64::from(ticks),
        Nearness::Loose(deviation) => (4.0 * deviation).min(FARTHEST),
    };
    let last = nodes.len().saturating_sub(1);
    let layer = |(index, node): (usize, &Node)| {
        let at = node.played(0.0, false, long);
        let fewest = times.partition_point(|time| *time < at - reach);
        // A tuplet's start doesn't swing.
        let literal = at.max(node.time);
        let most =
            if index == last { times.len() } else { times.partition_point(|time| *time <= literal + reach) };
        let fewest = if index == last {
            times.len()
        } else if index == 0 {
            0
        } else {
            fewest.min(times.partition_point(|time| *time < node.time - reach))
        };
        Layer { fewest, reached: vec![None; (most + 1).saturating_sub(fewest)] }
    };
    nodes.iter().enumerate().map(layer).collect()
}

/// Puts notes in the nearest places of a rhythm, and returns what their distances cost; `None` if they don't fit. `parts` is filled with the parts that they
/// take of an even rhythm.
fn place(
    node: &Node,
    way: &Way,
    times: &[f64],
    long: f64,
    near: Nearness,
    parts: &mut Vec<u16>,
) -> Option<f64> {
    parts.clear();
    match &way.shape {
        Shape::Hold => times.is_empty().then_some(0.0),
        Shape::Listed(notes) => {
            if notes.len() != times.len() {
                return None;
            }
            let mut cost = 0.0;
            for (time, (offset, literal)) in times.iter().zip(notes) {
                cost += near.cost(time - node.played(offset.to_f64(), *literal, long), 4)?;
            }
            Some(cost)
        }
        &Shape::Even { parts: count, literal } => {
            if times.is_empty() || times.len() > usize::from(count) {
                return None;
            }
            let span = length(node, way);
            let start = node.played(0.0, literal, long);
            // Inside an eighth, what swings is even, too.
            let part = (node.played(span * (1.0 - 1e-6), literal, long) - start) / f64::from(count);
            let (mut cost, mut next) = (0.0, 0);
            for time in times {
                let nearest = (0..count).min_by(|&one, &other| {
                    let away = |number: u16| (start + f64::from(number) * part - time).abs();
                    away(one).total_cmp(&away(other))
                })?;
                let number = nearest.max(next);
                if number >= count {
                    return None;
                }
                cost += near.cost(time - (start + f64::from(number) * part), per_quarter(count, span))?;
                parts.push(number);
                next = number + 1;
            }
            Some(cost)
        }
    }
}

/// The length of an even rhythm in quarter notes.
fn length(node: &Node, way: &Way) -> f64 {
    if way.cells == 1 { node.length.to_f64() } else { 1.0 }
}

/// How many parts a quarter note has.
fn per_quarter(parts: u16, span: f64) -> u16 {
    if span < 0.75 { parts.saturating_mul(2) } else { parts }
}

impl Nearness {
    /// What it costs to be so far from a place that is one of so many in a quarter note; `None` if it is too far.
    fn cost(self, error: f64, parts: u16) -> Option<f64> {
        match self {
            Nearness::Exact { ticks } => {
                // Within a tick. But where a quarter of all ticks would be near to some place, that says nothing, so only rounding is allowed for.
                let loose = u32::from(parts) * 3 * 4 <= u32::from(ticks);
                let allowed = if loose { 1.01 } else { 0.51 };
                (error.abs() * f64::from(ticks) <= allowed).then_some(0.0)
            }
            Nearness::Loose(deviation) => {
                let away = error.abs() / deviation;
                let cost = if away <= OUTLIER {
                    away * away / 2.0
                } else {
                    OUTLIER * away - OUTLIER * OUTLIER / 2.0
                };
                (error.abs() <= FARTHEST).then_some(cost)
            }
        }
    }
}

/// Follows the cheapest path back from the end.
fn trace(
    nodes: &[Node],
    ways: &[Way],
    times: &[f64],
    long: f64,
    near: Nearness,
    layers: &[Layer],
) -> Option<Fit> {
    let mut index = layers.len().checked_sub(1)?;
    let mut notes = times.len();
    let cost = layers.get(index)?.reached.first()?.as_ref()?.cost;
    let (mut onsets, mut played) = (vec![Duration::ZERO; notes], vec![0.0; notes]);
    let mut tuplets = vec![1; nodes.len()];
    let mut parts = Vec::new();
    // Every eighth but the first is reached from an earlier one.
    while index > 0 {
        let layer = layers.get(index)?;
        // Which way led here also says how long it is.
        let reached = layer.reached.get(notes.checked_sub(layer.fewest)?)?.as_ref()?;
        let way = ways.get(reached.way)?;
        index = index.checked_sub(way.cells)?;
        let node = nodes.get(index)?;
        let taken = times.get(reached.notes..notes)?;
        place(node, way, taken, long, near, &mut parts)?;
        let offsets: Vec<(Duration, bool)> = match &way.shape {
            Shape::Hold => Vec::new(),
            Shape::Listed(listed) => listed.clone(),
            &Shape::Even { parts: count, literal } => {
                let span = if way.cells == 1 { node.length } else { Duration::QUARTER };
                let part = span.checked_div(count.into()).ok()?;
                parts
                    .iter()
                    .map(|&number| Some((part.checked_mul(number.into()).ok()?, literal)))
                    .collect::<Option<_>>()?
            }
        };
        for (offset, (onset, sounds)) in offsets
            .iter()
            .zip(onsets.get_mut(reached.notes..notes)?.iter_mut().zip(played.get_mut(reached.notes..notes)?))
        {
            *onset = node.at.checked_add(offset.0).ok()?;
            *sounds = node.played(offset.0.to_f64(), offset.1, long);
        }
        let divided = match &way.shape {
            &Shape::Even { parts, literal: true } => parts,
            Shape::Listed(listed) if listed.iter().any(|(_, literal)| *literal) => 3,
            _ => 1,
        };
        tuplets.get_mut(index..index + way.cells)?.fill(divided);
        notes = reached.notes;
    }
    Some(Fit { onsets, played, tuplets, cost })
}
