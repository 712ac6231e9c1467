//! Beams: which eighths and shorter notes share them.
//!
//! The rules are Gould's (*Behind Bars*, 2011, chapter on grouping), from memory: in 4/4, eighths are beamed
//! in half-bars and never across the middle; if there are triplets or sixteenths among them, each beat has
//! its own beam; compound meters are beamed by dotted beats. A tuplet longer than a beat keeps its notes
//! under beams of its own. Inside a beat, a beam continues across rests shorter than an eighth.

use super::error::Result;
use crate::time::{Duration, Span};

use super::written::{Beam, Symbol, WrittenBar};
use crate::value::Base;

/// What notes that share a beam have in common. Notes with different keys never share one.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Home {
    /// A part of the meter, by its start.
    Meter(Duration),
    /// A window that is beamed on its own, by its index.
    Window(usize),
    /// A tuplet longer than a beat, by its index, in a group of the meter, so that no beam hides the middle
    /// of the bar.
    Tuplet(usize, usize),
}

/// Gives each symbol of the bar its beams. `grouped` are the windows in it that have beams of their own.
pub(super) fn beam(bar: &mut WrittenBar, grouped: &[Span]) -> Result<()> {
    let stretches = stretches(bar)?;
    let middles: Vec<Duration> = bar.meter.middles().collect();
    let mut homes: Vec<Option<Home>> =
        (0..bar.symbols.len()).map(|index| home(bar, index, &stretches, &middles, grouped)).collect();
    bridge(bar, &stretches, &mut homes);
    let mut first = 0;
    while first < homes.len() {
        let same = homes[first..].iter().take_while(|home| home.is_some() && **home == homes[first]).count();
        if same > 1 {
            join(&mut bar.symbols[first..first + same]);
        }
        first += same.max(1);
    }
    Ok(())
}

/// Takes short rests between two notes of a beat under their beam.
fn bridge(bar: &WrittenBar, stretches: &[Duration], homes: &mut [Option<Home>]) {
    let mut from: Option<usize> = None;
    for index in 0..homes.len() {
        let symbol = &bar.symbols[index];
        if let (Some(Home::Meter(start)), Some(before)) = (homes[index], from) {
            let next = stretches.iter().copied().find(|other| *other > start).unwrap_or(bar.meter.bar());
            let beat = next.checked_sub(start).is_ok_and(|length| length <= LONGEST_BEAT);
            if beat && homes[before] == homes[index] {
                let home = homes[index];
                homes[before + 1..index].fill(home);
            }
        }
        match homes[index] {
            Some(_) => from = Some(index),
            None if symbol.pitch.is_none() && symbol.value.base > Base::Eighth => {}
            None => from = None,
        }
    }
}

/// A dotted quarter, the beat of compound meters.
const LONGEST_BEAT: Duration = Duration::of(3, 2);

/// The starts of the parts that are beamed together, in order.
fn stretches(bar: &WrittenBar) -> Result<Vec<Duration>> {
    let mut starts = Vec::new();
    let groups: Vec<Duration> = bar.meter.group_starts().collect();
    let ends = groups.iter().skip(1).copied().chain([bar.meter.bar()]);
    for (&start, end) in groups.iter().zip(ends) {
        starts.push(start);
        let mixed = bar.symbols.iter().enumerate().any(|(index, symbol)| {
            let inside = start <= symbol.start && symbol.start < end;
            let in_tuplet = bar.tuplets_of(index).next().is_some();
            inside && (symbol.value.base > Base::Eighth || in_tuplet)
        });
        // A dotted beat of a compound meter stays whole; a longer group is divided into quarters.
        let beat = Duration::QUARTER;
        if mixed && end.checked_sub(start)?.is_multiple_of(beat) {
            let mut at = start.checked_add(beat)?;
            while at < end {
                starts.push(at);
                at = at.checked_add(beat)?;
            }
        }
    }
    Ok(starts)
}

/// Where a symbol is beamed; `None` for rests and for notes without flags.
fn home(
    bar: &WrittenBar,
    index: usize,
    stretches: &[Duration],
    middles: &[Duration],
    grouped: &[Span],
) -> Option<Home> {
    let symbol = &bar.symbols[index];
    if symbol.pitch.is_none() || symbol.value.base.beams() == 0 {
        return None;
    }
    let onset = bar.onset(symbol).ok()?;
    if let Some(window) = grouped.iter().position(|span| span.contains(onset)) {
        return Some(Home::Window(window));
    }
    let wide = bar.tuplets.iter().position(|tuplet| {
        let over_a_beat = tuplet.unit.length().checked_mul(tuplet.normal.into());
        tuplet.symbols.contains(&index) && over_a_beat.is_ok_and(|length| length > Duration::QUARTER)
    });
    match wide {
        Some(tuplet) => {
            Some(Home::Tuplet(tuplet, middles.iter().filter(|middle| **middle <= symbol.start).count()))
        }
        None => {
            let after = stretches.partition_point(|&start| start <= symbol.start);
            Some(Home::Meter(stretches[after.checked_sub(1)?]))
        }
    }
}

/// Joins notes under beams: on each level, runs of notes that are short enough. Rests between them interrupt
/// all beams but the first.
fn join(group: &mut [Symbol]) {
    let notes = group.iter().filter(|symbol| symbol.pitch.is_some());
    let deepest = notes.map(|symbol| symbol.value.base.beams()).max().unwrap_or(0);
    let first_start = group[0].start;
    for level in 1..=deepest {
        let mut run: Vec<usize> = Vec::new();
        for index in 0..=group.len() {
            match group.get(index) {
                Some(Symbol { pitch: None, .. }) if level == 1 => {}
                Some(Symbol { pitch: Some(_), value, .. }) if value.base.beams() >= level => run.push(index),
                _ => {
                    for (place, &note) in run.iter().enumerate() {
                        let beam = match (place, run.len()) {
                            (0, 1) => hook(group, note, first_start),
                            (0, _) => Beam::Begin,
                            (last, _) if last + 1 == run.len() => Beam::End,
                            _ => Beam::Continue,
                        };
                        group[note].beams.push(beam);
                    }
                    run.clear();
                }
            }
        }
    }
}

/// A single short note points to the note that completes it to a longer value: forward if it starts that
/// value.
fn hook(group: &[Symbol], index: usize, first_start: Duration) -> Beam {
    if index == 0 {
        return Beam::ForwardHook;
    }
    if index + 1 == group.len() {
        return Beam::BackwardHook;
    }
    let twice = group[index].length.checked_mul(2);
    let starts =
        group[index].start.checked_sub(first_start).and_then(|offset| Ok(offset.is_multiple_of(twice?)));
    if starts.unwrap_or(false) { Beam::ForwardHook } else { Beam::BackwardHook }
}

#[cfg(test)]
mod tests {
    use crate::{notate, read, recast};

    /// The beams of each bar's notes: `[` begin, `-` continue, `]` end, `>` and `<` hooks, `.` none; levels
    /// side by side.
    fn beams(text: &str) -> String {
        let reading = read::text(text);
        assert_eq!(reading.diagnostics, [], "{text}");
        let timed = recast::apply(&reading.line.unwrap(), &reading.casting).unwrap();
        let written = notate::notate(&timed).unwrap();
        let bars = written.bars.iter().map(|bar| {
            let signs = bar.symbols.iter().map(|symbol| match symbol.beams.as_slice() {
                [] => ".".to_string(),
                beams => beams.iter().map(|beam| ["[", "-", "]", ">", "<"][*beam as usize]).collect(),
            });
            signs.collect::<Vec<_>>().join(" ")
        });
        bars.collect::<Vec<_>>().join(" | ")
    }

    #[test]
    fn eighths_in_half_bars() {
        assert_eq!(beams("C4 C C C C C C C |"), "[ - - ] [ - - ]");
        assert_eq!(beams("C4 C C C r C C C | C C:1 C C C:1 C |"), "[ - - ] . [ - ] | . . . . . .");
        // The middle of the bar is never crossed: the tied halves of a quarter are beamed separately.
        assert_eq!(beams("C4 C C C:1 C C C |"), "[ - - ] [ - - ]");
    }

    #[test]
    fn beats_where_shorter_notes_mix() {
        assert_eq!(beams("C4 C C:1/4 C:1/4 C C C C C |"), "[ ] [[ -] ] [ - - ]");
        assert_eq!(beams("C4:3/4 C:1/4 C:1/4 C:3/4 C:2 |"), "[ ]< [> ] .");
        assert_eq!(beams("C4:1/4 C:1/2 C:1/4 C:1 C:2 |"), "[> - ]< . .");
        assert_eq!(beams("C4:1/3 C:1/3 C:1/3 C C C C C C |"), "[ - ] [ ] [ - - ]");
        // Across a short rest inside a beat, but not across one at its edge, nor one as long as an eighth.
        assert_eq!(beams("C4:1/4 r:1/4 C:1/4 C:1/4 C r C C r:1 |"), "[> . -[ ]] . . [ ] .");
        assert_eq!(beams("r:1/4 C4:1/4 C:1/4 r:1/4 C:1/4 C:1/4 r C C r:1 |"), ". [[ ]] . [[ ]] . [ ] .");
    }

    #[test]
    fn figures() {
        assert_eq!(
            beams("recast: split-last at 1.1 bracket, 1.3 tied\nC4 C C C C C C C |"),
            ". . [ ] [ ] [ - ]"
        );
        assert_eq!(
            beams("recast: split-middle at 1.1 bracket, 1.3 tied\nC4 C C C C C C C |"),
            ". [ ] . [ ] . ."
        );
        assert_eq!(
            beams("recast: split-first at 1.1 bracket, 1.3 tied\nC4 C C C C C C C |"),
            "[ ] . . [ - ] . ."
        );
    }

    /// Groupings by three and five, across the middle of the bar; a bar line interrupts them.
    #[test]
    fn beams_by_the_figure() {
        let bar = "C4 C C C C C C C |";
        assert_eq!(
            beams(&format!("recast: accent-3 at 1.1 grouped, 1.5/2 grouped\n{bar}")),
            "[ - ] [ - ] [ ]"
        );
        assert_eq!(beams(&format!("recast: accent-3 at 1.1, 1.5/2\n{bar}")), "[ - - ] [ - - ]");
        assert_eq!(
            beams(&format!("recast: accent-5 at 1.4 grouped\n{bar} {bar}")),
            "[ - - ] [ ] [ ] | [ - ] . [ - - ]"
        );
    }

    #[test]
    fn compound_meters() {
        assert_eq!(beams("meter: 6/8\nC4 C C C C C |"), "[ - ] [ - ]");
        assert_eq!(beams("meter: 6/8\nC4 C:1/4 C:1/4 C C C C |"), "[ -[ -] ] [ - ]");
    }
}
