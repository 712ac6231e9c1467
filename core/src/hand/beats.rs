//! Beats, as hands feel them.

use crate::bars::Bars;
use crate::time::{Duration, Onset};

use super::error::Result;

/// What most figures fill.
const HALF_BAR: Duration = Duration::of(2, 1);

/// Where a moment lies in its beat. Where beats are unequal, a beat is a group of its meter.
#[derive(Clone, Copy, Debug)]
pub(super) struct Beat {
    /// The length of a beat, in quarter notes.
    pub(super) length: Duration,
    /// How far into the beat the moment lies.
    pub(super) offset: Duration,
    /// The bar, from 0.
    pub(super) bar: usize,
    /// How far into the bar the moment lies.
    into_bar: Duration,
    /// Whether beats are quarters, so that there are half-bars.
    in_quarters: bool,
}

impl Beat {
    pub(super) fn at(bars: &Bars, onset: Onset) -> Result<Beat> {
        let (bar, offset) = bars.split(onset)?;
        let meter = bars.meter(bar);
        if meter.has_quarter_beats() {
            let into_beat = offset.checked_sub(offset.floor_to(Duration::QUARTER)?)?;
            return Ok(Beat {
                length: Duration::QUARTER,
                offset: into_beat,
                bar,
                into_bar: offset,
                in_quarters: true,
            });
        }
        let start =
            meter.group_starts().take_while(|start| *start <= offset).last().unwrap_or(Duration::ZERO);
        let dotted = meter.count().is_multiple_of(3);
        let length = if dotted { Duration::of(3, 2) } else { Duration::QUARTER };
        let into_beat = offset.checked_sub(start)?;
        Ok(Beat { length, offset: into_beat, bar, into_bar: offset, in_quarters: false })
    }

    /// A time in beats of this length.
    pub(super) fn count(self, time: Duration) -> Result<Duration> {
        Ok(time.checked_mul(self.length.denom())?.checked_div(self.length.numer())?)
    }

    /// Whether it is the start of the beat.
    pub(super) fn is_on(self) -> bool {
        self.offset == Duration::ZERO
    }

    /// Whether it lies in the second half of a half-bar.
    pub(super) fn is_late(self) -> Result<bool> {
        let start = self.into_bar.floor_to(HALF_BAR)?.checked_add(Duration::QUARTER)?;
        Ok(self.in_quarters && self.into_bar >= start)
    }

    /// Whether it is one of the down strokes of a hand that goes down with every second eighth.
    pub(super) fn is_down(self) -> bool {
        self.offset.is_multiple_of(Duration::QUARTER)
    }
}
