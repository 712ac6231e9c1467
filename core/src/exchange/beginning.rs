//! The first bars of a voice, to choose one by.

use crate::bars::Bars;
use crate::error::Result;
use crate::line::SystemBreaks;
use crate::time::{Duration, Onset};

use super::draft::Draft;

impl Draft {
    /// Its first bars, as the file has them. A note that goes on is cut.
    pub(super) fn beginning(mut self, count: usize) -> Result<Draft> {
        let end = self.bars.downbeat(count)?;
        let mut at = Onset::ZERO;
        let mut kept = 0;
        for part in &mut self.parts {
            let left = end.checked_since(at)?;
            if left <= Duration::ZERO {
                break;
            }
            part.duration = part.duration.min(left);
            at = at.checked_add(part.duration)?;
            kept += 1;
        }
        self.parts.truncate(kept);
        self.hands.truncate(kept);
        self.chords.retain(|chord| chord.onset < at);
        self.tuplets.retain(|tuplet| tuplet.end() <= at);
        self.bars = first(&self.bars, count)?;
        self.heading.systems = SystemBreaks::default();
        self.text = None;
        Ok(self)
    }
}

/// Bars without what changes later.
fn first(bars: &Bars, count: usize) -> Result<Bars> {
    let mut first = Bars::new(bars.meter(0)).in_key(bars.key(0));
    if bars.pickup() > Duration::ZERO {
        first = first.with_pickup(bars.pickup())?;
    }
    for index in 1..count {
        first.change(index, bars.meter(index))?;
        first.change_key(index, bars.key(index))?;
    }
    Ok(first)
}
