//! How eighths are played, and with it the written onsets.

use super::fit::{Fit, Nearness, fit};
use super::grid::Node;
use super::ways::ways;
use crate::line::{Feel, SwingRatio, Tempo};
use crate::swing::long_eighth;

/// Feels are told apart by what their rhythms cost, plus this: straight, with the ratio that follows the tempo, or with another one.
const STRAIGHT: f64 = 0.0;
const BY_TEMPO: f64 = 0.5;
const OTHER: f64 = 6.0;

/// How far a hand is from the beat if nothing is known about it, in seconds: a standard deviation, as published for tapping and playing in time
/// (10 to 20 ms; from memory).
const DEVIATION: f64 = 0.015;
/// What it is taken to be at least and at most once something is known.
const DEVIATIONS: (f64, f64) = (0.006, 0.025);
/// The ratios that are tried first.
const RATIOS: [f64; 8] = [1.15, 1.3, 1.5, 1.75, 2.0, 2.4, 2.8, 3.3];

/// What was found.
pub(super) struct Found {
    pub(super) feel: Feel,
    /// How long the first eighth of a beat is, in quarter notes.
    pub(super) long: f64,
    pub(super) fit: Fit,
    pub(super) is_exact: bool,
}

/// Finds the feel and the rhythm of notes at these times, in quarter notes. The error is the index of the eighth where nothing fits.
pub(super) fn feel(nodes: &[Node], times: &[f64], ticks: u16, tempo: Tempo) -> Result<Found, usize> {
    match exact(nodes, times, ticks, tempo) {
        Some(found) => Ok(found),
        None => loose(nodes, times, tempo),
    }
}

/// The part of a beat that the first eighth takes.
fn long_of(feel: Feel, tempo: Tempo) -> f64 {
    long_eighth(feel, tempo).map_or(0.5, |long| long.to_f64())
}

/// Where every note is at its place to the tick.
fn exact(nodes: &[Node], times: &[f64], ticks: u16, tempo: Tempo) -> Option<Found> {
    let ways = ways(true);
    let mut feels = vec![(Feel::Straight, STRAIGHT), (Feel::SwingAuto, BY_TEMPO)];
    feels.extend(likely_ratios(nodes, times, ticks).into_iter().map(|ratio| (Feel::Swing(ratio), OTHER)));
    let found = feels.into_iter().filter_map(|(feel, cost)| {
        let long = long_of(feel, tempo);
        let fit = fit(nodes, &ways, times, long, Nearness::Exact { ticks }).ok()?;
        Some((fit.cost + cost, Found { feel, long, fit, is_exact: true }))
    });
    // A ratio in hundredths that is as near as the ratio by tempo isn't meant.
    found.min_by(|one, other| one.0.total_cmp(&other.0)).map(|(_, found)| found)
}

/// The ratios with which the most notes are where the second eighth of a beat would be.
fn likely_ratios(nodes: &[Node], times: &[f64], ticks: u16) -> Vec<SwingRatio> {
    let mut in_beat: Vec<f64> = Vec::new();
    let mut beats = nodes.iter().filter(|node| node.is_beat).peekable();
    for &time in times {
        while beats.peek().is_some_and(|beat| beat.time + 1.0 <= time) {
            beats.next();
        }
        in_beat.extend(beats.peek().map(|beat| time - beat.time).filter(|part| (0.5..0.8).contains(part)));
    }
    in_beat.sort_by(f64::total_cmp);
    let ratios = (101..=350).filter_map(SwingRatio::from_hundredths);
    let mut counted: Vec<(usize, f64, SwingRatio)> = ratios
        .map(|ratio| {
            let ratio_f64 = f64::from(ratio.hundredths()) / 100.0;
            let long = ratio_f64 / (1.0 + ratio_f64);
            let near = 1.01 / f64::from(ticks);
            let first = in_beat.partition_point(|part| *part < long - near);
            let after = in_beat.partition_point(|part| *part <= long + near);
            let away = in_beat
                .get(first..after)
                .unwrap_or_default()
                .iter()
                .map(|part| (part - long).abs())
                .sum::<f64>();
            (after - first, away, ratio)
        })
        .filter(|(count, ..)| *count > 0)
        .collect();
    counted.sort_by(|one, other| other.0.cmp(&one.0).then(one.1.total_cmp(&other.1)));
    counted.into_iter().take(3).map(|(.., ratio)| ratio).collect()
}

/// What was played by hand: the ratio and the accuracy are found along with the rhythm.
fn loose(nodes: &[Node], times: &[f64], tempo: Tempo) -> Result<Found, usize> {
    let ways = ways(false);
    let per_second = f64::from(tempo.quarters_per_minute()) / 60.0;
    let deviation = DEVIATION * per_second;
    let by_tempo = long_of(Feel::SwingAuto, tempo);
    let try_out = |long: f64, deviation: f64| fit(nodes, &ways, times, long, Nearness::Loose(deviation));
    let mut best: Option<(f64, f64, Fit)> = None;
    let mut stuck = 0;
    let starts = RATIOS.into_iter().map(|ratio| (ratio / (1.0 + ratio), OTHER));
    for (long, cost) in [(0.5, STRAIGHT), (by_tempo, BY_TEMPO)].into_iter().chain(starts) {
        match try_out(long, deviation) {
            Ok(fit) => {
                let cost = fit.cost + cost;
                if best.as_ref().is_none_or(|best| cost < best.0) {
                    best = Some((cost, long, fit));
                }
            }
            Err(index) => stuck = stuck.max(index),
        }
    }
    let (_, mut long, mut found) = best.ok_or(stuck)?;
    // With the rhythm known, ratio and accuracy are those of the notes; with these, the rhythm may be another one.
    for _ in 0..2 {
        long = if long == 0.5 { long } else { measured(nodes, times, &found).unwrap_or(long) };
        let (least, most) = DEVIATIONS;
        let spread = spread(times, &found, deviation).clamp(least * per_second, most * per_second);
        if let Ok(fit) = try_out(long, spread) {
            found = fit;
        }
    }
    let ratio = long / (1.0 - long);
    // A hundredth of a beat is less than anybody hears.
    let feel = if (long - 0.5).abs() < 0.01 {
        Feel::Straight
    } else if (long - by_tempo).abs() < 0.01 {
        Feel::SwingAuto
    } else {
        hundredths(ratio).map_or(Feel::SwingAuto, Feel::Swing)
    };
    Ok(Found { feel, long, fit: found, is_exact: false })
}

/// The nearest ratio that a heading may have, to a twentieth.
fn hundredths(ratio: f64) -> Option<SwingRatio> {
    (20..=70u16)
        .min_by(|&one, &other| {
            let away = |twentieths: u16| (f64::from(twentieths) / 20.0 - ratio).abs();
            away(one).total_cmp(&away(other))
        })
        .and_then(|twentieths| SwingRatio::from_hundredths(twentieths * 5))
}

/// How long the first eighth of a beat is, on average.
fn measured(nodes: &[Node], times: &[f64], fit: &Fit) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0u32);
    let mut beats = nodes.iter().zip(&fit.tuplets).filter(|(node, _)| node.is_beat).peekable();
    for (time, onset) in times.iter().zip(&fit.onsets) {
        let written = onset.to_f64();
        while beats.peek().is_some_and(|(beat, _)| beat.time + 1.0 <= written) {
            beats.next();
        }
        if let Some((beat, 1)) = beats.peek()
            && (written - beat.time - 0.5).abs() < 1e-6
        {
            sum += time - beat.time;
            count += 1;
        }
    }
    (count > 0).then(|| (sum / f64::from(count)).clamp(0.5, 3.5 / 4.5))
}

/// How far notes are from their places: the standard deviation, as if there were four more notes with the `usual` one.
fn spread(times: &[f64], fit: &Fit, usual: f64) -> f64 {
    let squares: f64 = times.iter().zip(&fit.played).map(|(time, place)| (time - place).powi(2)).sum();
    let count = f64::from(u32::try_from(times.len().max(1)).unwrap_or(u32::MAX));
    ((squares + 4.0 * usual * usual) / (count + 4.0)).sqrt()
}
