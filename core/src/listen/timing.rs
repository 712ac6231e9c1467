//! How early or late a take was, and how much of that is the device's latency.

use super::error::{LEAST_TAPS, LatencyError, MOST_SPREAD_MS};
use crate::order;

use super::align::{Alignment, HIT, Heard, align};

/// Statistics on how early or late the notes of a take were.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Timing {
    /// How many expected notes were played.
    pub matched: usize,
    /// How many of those were within [`HIT`] of their time.
    pub on_time: usize,
    /// How many expected notes were missed.
    pub missed: usize,
    /// How many extra notes were played.
    pub extra: usize,
    /// How late the matched notes are on average, in seconds; negative if early. `None` without a match.
    pub mean: Option<f64>,
    /// How much they vary around that, as a sample standard deviation in seconds. `None` with fewer than two.
    pub spread: Option<f64>,
    /// How much later they get per minute, in seconds, along the best-fitting straight line (least squares);
    /// negative for rushing. `None` with fewer than two that were expected at different times.
    pub drift: Option<f64>,
}

/// The timing of a whole take: `expected` as it was given to [`align`], and the result.
///
/// ```
/// use halfbar_core::listen::{WINDOW, align, timing};
///
/// let (expected, played) = ([0.0, 0.5, 1.0, 1.5], [0.01, 0.52, 1.03, 1.25]);
/// let timing = timing(&expected, &align(&expected, &played, WINDOW));
/// assert_eq!((timing.matched, timing.missed, timing.extra), (3, 1, 1));
/// assert!((timing.mean.unwrap() - 0.02).abs() < 1e-9 && (timing.spread.unwrap() - 0.01).abs() < 1e-9);
/// assert!((timing.drift.unwrap() - 1.2).abs() < 1e-9); // 20 ms later every second
/// ```
pub fn timing(expected: &[f64], alignment: &Alignment) -> Timing {
    let notes: Vec<_> = expected.iter().copied().zip(alignment.heard.iter().copied()).collect();
    of(&notes, alignment.extra.len())
}

/// The timing of each group of notes, in the order the groups first appear. `groups` assigns each expected
/// note to a group, such as the figure it belongs to. An extra note counts toward the group of the last
/// expected note before it, or else of the first note.
///
/// ```
/// use halfbar_core::listen::{WINDOW, align, timing_by_group};
///
/// let (expected, played) = ([0.0, 0.5, 1.0, 1.5], [0.0, 0.5, 1.04, 1.54]);
/// let figures = [None, None, Some("split-last"), Some("split-last")];
/// let timings = timing_by_group(&expected, &figures, &align(&expected, &played, WINDOW));
/// assert_eq!(timings[0].0, None);
/// assert_eq!(timings[1].0, Some("split-last"));
/// assert!((timings[1].1.mean.unwrap() - 0.04).abs() < 1e-9);
/// ```
pub fn timing_by_group<G: Copy + PartialEq>(
    expected: &[f64],
    groups: &[G],
    alignment: &Alignment,
) -> Vec<(G, Timing)> {
    let notes = || groups.iter().copied().zip(expected.iter().copied());
    let owners: Vec<G> = alignment
        .extra
        .iter()
        .filter_map(|&extra| {
            let before = notes().filter(|note| note.1 <= extra).max_by_key(|note| order::of_time(note.1));
            let first = || notes().filter(|note| note.1 > extra).min_by_key(|note| order::of_time(note.1));
            before.or_else(first).map(|note| note.0)
        })
        .collect();
    let mut timings: Vec<(G, Timing)> = Vec::new();
    for (group, _) in notes() {
        if timings.iter().all(|known| known.0 != group) {
            let all = notes().zip(alignment.heard.iter().copied());
            let own: Vec<_> =
                all.filter(|note| note.0.0 == group).map(|((_, time), heard)| (time, heard)).collect();
            let extra = owners.iter().filter(|&&owner| owner == group).count();
            timings.push((group, of(&own, extra)));
        }
    }
    timings
}

/// The timing of expected notes and what happened to them.
fn of(notes: &[(f64, Heard)], extra: usize) -> Timing {
    let matched: Vec<(f64, f64)> =
        notes.iter().filter_map(|&(time, heard)| heard.late().map(|late| (time, late))).collect();
    let count = matched.len();
    let missed = notes.len() - count;
    let mean_of = |value: fn(&(f64, f64)) -> f64| matched.iter().map(value).sum::<f64>() / count as f64;
    let (mean_time, mean) = (mean_of(|note| note.0), mean_of(|note| note.1));
    // Sums of products of deviations from the means.
    let (mut times, mut lates, mut both) = (0.0, 0.0, 0.0);
    for (time, late) in &matched {
        let (time, late) = (time - mean_time, late - mean);
        times += time * time;
        lates += late * late;
        both += time * late;
    }
    Timing {
        matched: count,
        on_time: matched.iter().filter(|(_, late)| late.abs() <= HIT).count(),
        missed,
        extra,
        mean: (count > 0).then_some(mean),
        spread: (count > 1).then(|| (lates / (count - 1) as f64).sqrt()),
        drift: (times > 0.0).then(|| both / times * 60.0),
    }
}

/// For a normal distribution, the standard deviation divided by the median distance from the median.
const DEVIATION: f64 = 1.4826;

/// The delay between a click and the tap that answers it, as the device reports it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Latency {
    /// How late taps arrive, in seconds. Subtract it from the time of what is played. It includes the way out
    /// through the loudspeaker and in through the microphone, and how early this person taps, which for most
    /// people is a few hundredths of a second.
    pub seconds: f64,
    /// How much the taps vary, as a standard deviation in seconds that a few stray taps don't affect.
    pub spread: f64,
    /// How many taps matched a click of their own.
    pub taps: usize,
}

/// The device's latency from taps along with a steady click: the median of the differences. Clicks and taps
/// are in seconds, in any order.
///
/// A tap belongs to a click if it follows by at most three quarters of the time between two clicks, or comes
/// at most a quarter before. A longer latency looks like a shorter one with the next click, so the clicks
/// should be slow: at least half a second apart.
///
/// # Errors
/// [`LatencyError::FewTaps`] if fewer than [`LEAST_TAPS`] match clicks of their own, and
/// [`LatencyError::UnsteadyTaps`] if they vary by more than [`MOST_SPREAD_MS`].
///
/// ```
/// use halfbar_core::listen::latency;
///
/// let clicks: Vec<f64> = (0..8).map(|click| f64::from(click) * 0.5).collect();
/// let taps: Vec<f64> = clicks.iter().map(|click| click + 0.12).collect();
/// assert!((latency(&clicks, &taps)?.seconds - 0.12).abs() < 1e-9);
/// let few = latency(&clicks, &taps[..3]).unwrap_err();
/// assert_eq!(few.to_string(), "3 taps on a steady click are too few to measure the latency: tap at least 4 times, each near a click");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn latency(clicks: &[f64], taps: &[f64]) -> Result<Latency, LatencyError> {
    let clicks = order::finite(clicks);
    let gaps: Vec<f64> = clicks.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let gap = median(&gaps).unwrap_or(0.0);
    let middles: Vec<f64> = clicks.iter().map(|click| click + gap / 4.0).collect();
    let heard = align(&middles, taps, gap / 2.0).heard;
    let lates: Vec<f64> = heard.into_iter().filter_map(|heard| Some(heard.late()? + gap / 4.0)).collect();
    let taps = lates.len();
    let seconds = median(&lates).filter(|_| taps >= LEAST_TAPS).ok_or(LatencyError::FewTaps { taps })?;
    let off: Vec<f64> = lates.iter().map(|late| (late - seconds).abs()).collect();
    let spread = DEVIATION * median(&off).unwrap_or(0.0);
    if spread > f64::from(MOST_SPREAD_MS) / 1000.0 {
        #[allow(
            clippy::cast_possible_truncation,
            reason = "a float cast saturates, and this one is above 0"
        )]
        return Err(LatencyError::UnsteadyTaps { spread_ms: (spread * 1000.0).ceil() as u32 });
    }
    Ok(Latency { seconds, spread, taps })
}

/// The middle value, or the mean of the two in the middle.
fn median(values: &[f64]) -> Option<f64> {
    let values = order::finite(values);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    Some(if values.len() % 2 == 1 { upper } else { (values[middle - 1] + upper) / 2.0 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::listen::WINDOW;

    #[test]
    fn no_figure_without_its_notes() {
        let of = |played: &[f64]| {
            let expected = [1.0, 2.0];
            timing(&expected, &align(&expected, played, WINDOW))
        };
        assert_eq!(of(&[]), Timing { missed: 2, ..Timing::default() });
        assert_eq!(of(&[1.5]), Timing { missed: 2, extra: 1, ..Timing::default() });
        let one = of(&[1.0]);
        assert_eq!((one.matched, one.mean, one.spread, one.drift), (1, Some(0.0), None, None));
        assert_eq!(of(&[1.0, 2.125]).drift, Some(7.5));
    }

    #[test]
    fn extra_notes_count_to_the_group_before() {
        let expected = [0.0, 1.0, 2.0, 3.0];
        let alignment = align(&expected, &[-0.5, 0.5, 1.5, 1.6, 3.5], 0.1);
        let timings = timing_by_group(&expected, &['a', 'b', 'b', 'a'], &alignment);
        let extra: Vec<_> = timings.iter().map(|(group, timing)| (*group, timing.extra)).collect();
        assert_eq!(extra, [('a', 3), ('b', 2)]);
    }

    fn clicks(count: u32) -> Vec<f64> {
        (0..count).map(|click| f64::from(click) / 2.0).collect()
    }

    /// Of nine taps, one is half a beat off, one comes twice, and one is before the first click.
    #[test]
    fn stray_taps_change_no_latency() {
        let offs = [0.19, 0.2, 0.21, 0.2, 0.19, 0.21, 0.2];
        let mut taps: Vec<f64> = clicks(7).iter().zip(offs).map(|(click, off)| click + off).collect();
        taps.extend([-0.3, 1.45, 0.21, 3.5]);
        let latency = latency(&clicks(7), &taps).unwrap();
        assert_eq!(latency.taps, 7);
        assert!(
            (latency.seconds - 0.2).abs() < 1e-9 && (latency.spread - 0.014_826).abs() < 1e-6,
            "{latency:?}"
        );
    }

    #[test]
    fn latency_from_a_little_early_to_most_of_a_click() {
        for (off, told) in [(-0.12, true), (0.0, true), (0.37, true), (0.38, false), (-0.13, false)] {
            let taps: Vec<f64> = clicks(10).iter().map(|click| click + off).collect();
            let right = latency(&clicks(10), &taps).is_ok_and(|latency| (latency.seconds - off).abs() < 1e-9);
            assert_eq!(right, told, "{off}");
        }
    }

    #[test]
    fn too_few_or_too_scattered() {
        let code = |clicks: &[f64], taps: &[f64]| latency(clicks, taps).unwrap_err().code();
        assert_eq!(code(&clicks(8), &clicks(3)), "few-taps");
        assert_eq!(code(&clicks(1), &clicks(8)), "few-taps");
        assert_eq!(code(&[], &[f64::NAN]), "few-taps");
        let scattered: Vec<f64> = (0..8).map(|tap| f64::from(tap) * 0.57).collect();
        assert_eq!(code(&clicks(8), &scattered), "unsteady-taps");
        assert!(latency(&clicks(4), &clicks(4)).is_ok());
    }
}
