//! Which bars share a system, by dynamic programming over how much each system is stretched or squeezed.
//!
//! After Hegazy and Gourlay, "Optimal line breaking in music" (1988), and Knuth and Plass, "Breaking
//! paragraphs into lines" (1981): what counts is the sum over all systems, not each system in turn. Bars are
//! never split.

use std::ops::Range;

use crate::scene::Sp;

/// The width a bar needs.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct BarWidth {
    /// Its natural width, when nothing stretches or squeezes it.
    pub(super) natural: Sp,
    /// The least width it can be squeezed to.
    pub(super) least: Sp,
    /// The width of the courtesy signatures before it, if the previous system ends here.
    pub(super) courtesy: Sp,
    /// The part of its width it doesn't need when it starts a system.
    pub(super) key_change: Sp,
    /// The width of what goes before it then.
    pub(super) prefix: Sp,
    /// Whether it may start a system.
    pub(super) start: Start,
}

/// Whether a bar should start a system.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) enum Start {
    /// If it looks good.
    #[default]
    Free,
    /// The writer wants it to.
    Wanted,
    /// The writer doesn't want it to, but it does if the bars before it don't fit otherwise.
    Unwanted,
}

/// Squeezing music looks worse than stretching it.
const SQUEEZE: f64 = 10.0;
/// A last system emptier than this isn't stretched at all.
const FULL_ENOUGH: f64 = 0.7;
/// The cost of an almost empty last system: slightly tighter systems before it are better.
const EMPTY: f64 = 0.15;
/// The cost of a bar that is alone in the last system, in less than half of it: two bars and two look better than
/// three and one.
const ALONE: f64 = 0.6;
/// Each system costs a little, so that two half-empty ones aren't preferred to one full one.
const EACH_SYSTEM: f64 = 0.02;
/// A break that the writer doesn't want.
const UNWANTED: f64 = 100.0;
/// A bar that doesn't fit even on its own.
const OVERFULL: f64 = 1e6;

/// Divides the bars among systems of this width.
pub(super) fn break_bars(bars: &[BarWidth], width: Sp) -> Vec<Range<usize>> {
    // For each number of bars set so far: the least badness, and where their last system starts.
    let mut best: Vec<(f64, usize)> = vec![(0.0, 0)];
    for end in 1..=bars.len() {
        let courtesy = bars.get(end).map_or(0.0, |next| next.courtesy);
        let (mut natural, mut least) = (courtesy, courtesy);
        let mut found = (f64::INFINITY, end - 1);
        for start in (0..end).rev() {
            natural += bars[start].natural;
            least += bars[start].least;
            let (room, less) = (width - bars[start].prefix, bars[start].key_change);
            if least - less > room && start + 1 < end {
                break;
            }
            let unwanted = if bars[start].start == Start::Unwanted { UNWANTED } else { 0.0 };
            let last = (end == bars.len()).then_some(start..end);
            let this = badness(natural - less, least - less, room, last);
            let badness = best[start].0 + this + unwanted;
            if badness < found.0 {
                found = (badness, start);
            }
            if bars[start].start == Start::Wanted {
                break;
            }
        }
        best.push(found);
    }
    let mut systems = Vec::new();
    let mut end = bars.len();
    while end > 0 {
        let start = best[end].1;
        systems.push(start..end);
        end = start;
    }
    systems.reverse();
    systems
}

/// How bad a system with this natural width looks at this width; with its bars if it is the last one.
fn badness(natural: Sp, least: Sp, width: Sp, last: Option<Range<usize>>) -> f64 {
    let pull = width / natural - 1.0;
    let is_alone =
        last.as_ref().is_some_and(|bars| bars.start > 0 && bars.len() == 1) && 2.0 * natural < width;
    EACH_SYSTEM
        + if is_alone { ALONE } else { 0.0 }
        + match () {
            () if least > width => OVERFULL * (least / width),
            () if pull < 0.0 => SQUEEZE * pull * pull,
            () if last.is_some() && !justifies(natural, width) => EMPTY * (1.0 - natural / width).powi(2),
            () => pull * pull,
        }
}

/// Whether a last system is justified to the full width. A shorter one keeps its natural spacing.
pub(super) fn justifies(natural: Sp, width: Sp) -> bool {
    natural >= FULL_ENOUGH * width
}

#[cfg(test)]
mod tests {
    use super::*;

    fn total(bars: &[BarWidth], width: Sp, systems: &[Range<usize>]) -> f64 {
        let one = |system: &Range<usize>| {
            let after = bars.get(system.end).map_or(0.0, |next| next.courtesy);
            let (natural, least) =
                bars[system.clone()].iter().fold((after, after), |(n, l), b| (n + b.natural, l + b.least));
            let BarWidth { key_change, prefix, .. } = bars[system.start];
            let (natural, least, room) = (natural - key_change, least - key_change, width - prefix);
            if least > room && system.len() > 1 {
                return f64::INFINITY;
            }
            let starts = |start: Start| bars[system.clone()].iter().skip(1).any(|bar| bar.start == start);
            let unwanted = if bars[system.start].start == Start::Unwanted { UNWANTED } else { 0.0 };
            match starts(Start::Wanted) {
                true => f64::INFINITY,
                false => {
                    let last = (system.end == bars.len()).then(|| system.clone());
                    unwanted + badness(natural, least, room, last)
                }
            }
        };
        systems.iter().map(one).sum()
    }

    #[test]
    fn no_bar_is_alone_if_little_helps() {
        let broken = |natural: Sp, count: usize| {
            let bar = BarWidth {
                natural,
                least: 0.9 * natural,
                courtesy: 0.0,
                key_change: 0.0,
                prefix: 0.0,
                start: Start::Free,
            };
            let systems = break_bars(&vec![bar; count], 100.0);
            systems.iter().map(Range::len).collect::<Vec<_>>()
        };
        assert_eq!(broken(24.0, 4), [4]);
        assert_eq!(broken(29.0, 4), [2, 2]);
        assert_eq!(broken(24.0, 5), [3, 2]);
        assert_eq!(broken(29.0, 7), [3, 2, 2]);
        // Bars that are alone everywhere are so at the end; and here, nothing else helps.
        assert_eq!(broken(70.0, 3), [1, 1, 1]);
        assert_eq!(broken(40.0, 3), [2, 1]);
    }

    /// Every way to break the bars, for short pieces.
    #[test]
    fn no_other_breaking_is_better() {
        let mut state = 7u32;
        let mut random = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 16) / 65_536.0
        };
        for round in 0..200 {
            let count = 1 + round % 12;
            let bars: Vec<_> = (0..count)
                .map(|_| {
                    let natural = 8.0 + 30.0 * random();
                    let courtesy = if random() < 0.2 { 4.0 } else { 0.0 };
                    let start = match random() {
                        r if r < 0.2 => Start::Wanted,
                        r if r < 0.5 => Start::Unwanted,
                        _ => Start::Free,
                    };
                    let (key_change, prefix) = (courtesy * random(), 5.0 * random());
                    BarWidth {
                        natural,
                        least: natural * (0.5 + 0.4 * random()),
                        courtesy,
                        key_change,
                        prefix,
                        start,
                    }
                })
                .collect();
            let room = 63.0;
            let chosen = total(&bars, room, &break_bars(&bars, room));
            let best = (0..1u32 << (count - 1)).map(|cuts| {
                let (mut systems, mut start) = (Vec::new(), 0);
                for bar in 1..=count {
                    if bar == count || cuts >> (bar - 1) & 1 == 1 {
                        systems.push(start..bar);
                        start = bar;
                    }
                }
                total(&bars, room, &systems)
            });
            let best = best.fold(f64::INFINITY, f64::min);
            assert!((chosen - best).abs() < 1e-9, "{chosen} is not {best} for {bars:?}");
        }
    }
}
