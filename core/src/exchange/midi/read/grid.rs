//! The eighths of all bars, and when what is written in them is played.

use crate::bars::Bars;
use crate::exchange::error::Result;
use crate::time::Duration;

/// The start of an eighth, which a rhythm may start at. Positions are in quarter notes from the start of the file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub(super) at: Duration,
    /// The same, inexactly.
    pub(super) time: f64,
    /// The start of its beat.
    beat: f64,
    /// Whether eighths swing in this meter.
    pub(super) swings: bool,
    /// Whether a beat starts here.
    pub(super) is_beat: bool,
    /// Whether a half-bar starts here.
    pub(super) is_half: bool,
    /// How long it lasts: an eighth, or what is left of the bar.
    pub(super) length: Duration,
    /// How many eighths are left in the bar, with this one.
    pub(super) left: usize,
}

/// The eighths of this many bars, and last the end.
pub(super) fn nodes(bars: &Bars, count: usize) -> Result<Vec<Node>> {
    let mut nodes = Vec::new();
    for index in 0..count {
        let span = bars.span(index).map_err(crate::Error::from)?;
        let downbeat = bars.downbeat(index).map_err(crate::Error::from)?;
        let meter = bars.meter(index);
        let swings = meter.has_quarter_beats();
        let first = nodes.len();
        let mut at = span.start();
        while at < span.end() {
            let offset = at.checked_since(downbeat).map_err(crate::Error::from)?;
            // After a pickup that starts inside an eighth, eighths count from the bar line.
            let next =
                offset.floor_to(Duration::EIGHTH).and_then(|eighth| eighth.checked_add(Duration::EIGHTH));
            let next =
                next.and_then(|next| downbeat.checked_add(next)).map_err(crate::Error::from)?.min(span.end());
            let beat = offset.floor_to(Duration::QUARTER).map_err(crate::Error::from)?;
            let time = at.since_start().to_f64();
            nodes.push(Node {
                at: at.since_start(),
                time,
                beat: time - offset.to_f64() + beat.to_f64(),
                swings,
                is_beat: swings && offset == beat,
                is_half: meter.window_starts(false).contains(&offset),
                length: next.checked_since(at).map_err(crate::Error::from)?,
                left: 0,
            });
            at = next;
        }
        let last = nodes.len();
        for (node, left) in nodes.iter_mut().skip(first).zip((1..=last - first).rev()) {
            node.left = left;
        }
    }
    let end = bars.downbeat(count).map_err(crate::Error::from)?.since_start();
    let time = end.to_f64();
    let (length, swings) = (Duration::EIGHTH, false);
    nodes.push(Node { at: end, time, beat: time, swings, is_beat: false, is_half: true, length, left: 0 });
    Ok(nodes)
}

impl Node {
    /// When a note is played that is written `offset` after this eighth, if the first eighth of a beat lasts `long`. What is `literal`, as in a
    /// tuplet, doesn't swing.
    pub(super) fn played(&self, offset: f64, is_literal: bool, long: f64) -> f64 {
        let written = self.time + offset;
        if is_literal || !self.swings {
            return written;
        }
        let beat = self.beat + (written - self.beat + 1e-9).floor();
        beat + swung(written - beat, long)
    }
}

/// As `swing::swung`, inexactly.
fn swung(in_beat: f64, long: f64) -> f64 {
    if in_beat <= 0.5 { 2.0 * long * in_beat } else { long + 2.0 * (1.0 - long) * (in_beat - 0.5) }
}
