//! How long the quick notes of recast windows last as they are played.

use crate::line::Line;
use crate::notate;
use crate::perform;
use crate::recast::{self, Casting, Window};
use crate::time::{Duration, Span};

use super::error::Result;
use super::hand::quick;
use super::reason::Reason;
use super::weights::FAST_MS;

/// For each window, whether its quick notes are too fast as they are played: in the line's own tempo and feel, as the window is written. The windows
/// are in order of time, and nothing is recast where they are.
pub(super) fn reasons(
    line: &Line,
    casting: &Casting,
    windows: &[(Window, Span)],
) -> Result<Vec<Option<Reason>>> {
    let mut reasons = vec![None; windows.len()];
    let mut left: Vec<usize> = (0..windows.len()).collect();
    // Windows that overlap take turns.
    while !left.is_empty() {
        let (mut casting, mut now, mut later) = (casting.clone(), Vec::new(), Vec::new());
        for index in left {
            let (window, _) = &windows[index];
            if casting.overlaps(window) {
                later.push(index);
            } else {
                casting.put(window.clone());
                now.push(index);
            }
        }
        // No window overlaps what is recast already, so this only keeps the loop finite.
        if now.is_empty() {
            break;
        }
        let timed = recast::apply(line, &casting)?;
        let performed = perform::perform(&notate::notate(&timed)?, line.heading())?;
        let tempo = i64::from(performed.tempo().quarters_per_minute());
        for index in now {
            let (window, span) = &windows[index];
            let first = timed.events.partition_point(|event| event.onset < span.start());
            let starts = performed.starts();
            let mut shortest: Option<Duration> = None;
            for (at, _) in (first..).zip(quick(window)).filter(|(_, is_quick)| *is_quick) {
                let (Some(start), Some(event)) = (starts.get(at), timed.events.get(at)) else { continue };
                let end = starts.get(at + 1).map_or_else(|| event.span().map(Span::end), |next| Ok(*next))?;
                let lasts = end.checked_since(*start)?;
                shortest = Some(shortest.map_or(lasts, |shortest| shortest.min(lasts)));
            }
            let least = Duration::new(FAST_MS * tempo, 60_000)?;
            if let Some(lasts) = shortest.filter(|lasts| *lasts < least) {
                let ms = u16::try_from(60_000 * lasts.numer() / (lasts.denom() * tempo)).unwrap_or(u16::MAX);
                reasons[index] = Some(Reason::Fast { ms });
            }
        }
        left = later;
    }
    Ok(reasons)
}
