//! Notes with written onsets -> the parts of a line: grace notes, lengths, rests, the pickup, and chords.

use super::events::{File, Note, Voice};
use super::feel::{Found, feel};
use super::grid::{Node, nodes};
use super::measures::{MOST_BARS, Measures};
use crate::bars::Bars;
use crate::exchange::error::Result;
use crate::exchange::midi::error::MidiError;
use crate::line::{ChordAt, Feel, Part, Tempo};
use crate::pitch::MidiKey;
use crate::technique::Pin;
use crate::time::{Duration, Onset};

/// The longest note that is a grace note, in seconds (common practice, no source).
const GRACE: f64 = 0.061;
/// The shortest silence that is a rest rather than the end of a note: half an eighth.
const SILENCE: Duration = Duration::of(1, 4);
/// A length that a pickup may have is a multiple of this.
const PICKUP: Duration = Duration::of(1, 16);

/// A voice with its rhythm. Times are in quarter notes from the start of the line.
pub(super) struct Taken {
    pub(super) feel: Feel,
    /// The length of the pickup if silence at the start makes one.
    pub(super) pickup: Option<Duration>,
    notes: Vec<Written>,
    end: Duration,
    /// How far the start of the line is after the start of the file.
    shift: Duration,
    nodes: Vec<Node>,
    long: f64,
    /// When each note starts as played, from the start of the file, and where it is written.
    played: Vec<(f64, Duration)>,
}

/// A note that is written.
struct Written {
    start: Duration,
    end: Duration,
    key: u8,
    grace: Option<u8>,
}

/// Chords, and how many markers they were.
pub(super) struct Chords {
    pub(super) chords: Vec<ChordAt>,
    pub(super) markers: usize,
}

/// Finds the rhythm of notes.
pub(super) fn taken(
    file: &File,
    voice: &Voice,
    notes: &[Note],
    measures: &Measures,
    tempo: Tempo,
) -> Result<Taken> {
    let quarters = |tick: u64| measures.time(tick).map(|time| time.since_start().to_f64());
    let Some(last) = notes.last() else { return Err(MidiError::Empty.into()) };
    // A note may be played a little before the bar line that it belongs to.
    let (last_bar, _) = measures.bar(last.start.max(last.end).saturating_add(u64::from(file.ticks) / 4))?;
    if last_bar + 1 >= MOST_BARS {
        return Err(MidiError::Bars { allowed: MOST_BARS }.into());
    }
    let nodes = nodes(&measures.bars, last_bar + 1)?;
    let seconds = 60.0 / f64::from(tempo.quarters_per_minute());
    let (mains, graces) = graces(notes, file.ticks, seconds);
    let mut times: Vec<f64> = mains.iter().filter_map(|note| quarters(note.start)).collect();
    // At the very start there is no time before the note, so its grace note has taken the note's.
    if let (Some(time), Some(Some(_)), Some(grace)) = (times.first_mut(), graces.first(), notes.first()) {
        let eighths = quarters(grace.start).unwrap_or(0.0) * 2.0;
        if (eighths - eighths.round()).abs() * f64::from(file.ticks) <= 2.0 {
            *time = eighths / 2.0;
        }
    }
    let crowded =
        times.windows(20).position(|notes| matches!(notes, [first, .., last] if last - first < 0.5));
    if let Some(note) = crowded.and_then(|index| mains.get(index)) {
        return Err(MidiError::Rhythm { place: measures.place(note.start) }.into());
    }
    let Found { feel, long, fit, is_exact } = feel(&nodes, &times, file.ticks, tempo).map_err(|index| {
        let at = nodes.get(index).map(|node| Onset::after(node.at));
        let place = at.and_then(|at| measures.bars.place(at).ok()).unwrap_or(measures.place(0));
        MidiError::Rhythm { place }
    })?;
    let all = nodes.last().map_or(Duration::ZERO, |end| end.at);
    let mut written = Vec::new();
    for (index, (note, &start)) in mains.iter().zip(&fit.onsets).enumerate() {
        let next = fit.onsets.get(index + 1).copied();
        let ends = Ends { nodes: &nodes, tuplets: &fit.tuplets, long, ticks: is_exact.then_some(file.ticks) };
        let played = quarters(note.end).unwrap_or(0.0);
        let next_played = times.get(index + 1).copied().unwrap_or(f64::INFINITY);
        let end = ends.end(played, next_played, start, next.unwrap_or(all))?;
        let grace = graces.get(index).copied().flatten();
        written.push(Written { start, end, key: note.key, grace });
    }
    let played = times.iter().copied().zip(fit.onsets.iter().copied()).collect();
    let first = fit.onsets.first().copied().unwrap_or(Duration::ZERO);
    let pickup = if measures.bars.pickup() > Duration::ZERO { None } else { pickup(measures, first)? };
    let bar = measures.bars.meter(0).bar();
    let shift = match pickup {
        Some(pickup) => bar.checked_sub(pickup).map_err(crate::Error::from)?,
        None => Duration::ZERO,
    };
    let mut end = written.last().map_or(Duration::ZERO, |note| note.end);
    // Silence at the end counts in a file of ours; in others, it is where somebody stopped recording.
    if file.text.is_some()
        && let Some(at) = measures.time(voice.end)
        && measures.bar(voice.end).is_ok()
    {
        end = end.max(at.since_start().floor_to(PICKUP).map_err(crate::Error::from)?);
    }
    Ok(Taken { feel, pickup, notes: written, end, shift, nodes, long, played })
}

/// The notes without grace notes, and for each its grace note.
///
/// A grace note leads to its note without a gap, and is shorter than any note that is written at this tempo and than the next one. It takes its time from the
/// note before, which keeps more, or just as much.
fn graces(notes: &[Note], ticks: u16, seconds: f64) -> (Vec<Note>, Vec<Option<u8>>) {
    let (mut mains, mut graces) = (Vec::new(), Vec::new());
    let longest = GRACE.min(0.9 * seconds / 4.0) / seconds * f64::from(ticks);
    let interval = |index: usize| {
        let (note, next) = (notes.get(index)?, notes.get(index + 1)?);
        u32::try_from(next.start - note.start).ok()
    };
    let is_short = |index: usize| interval(index).is_some_and(|interval| f64::from(interval) <= longest);
    let mut grace = None;
    for (index, note) in notes.iter().enumerate() {
        let leads = notes.get(index + 1).is_some_and(|next| note.end + 1 >= next.start);
        let before = index.checked_sub(1);
        let takes_half = before.is_some_and(|before| {
            let is_same =
                interval(before).zip(interval(index)).is_some_and(|(one, other)| one.abs_diff(other) <= 2);
            is_same && !before.checked_sub(1).is_some_and(is_short)
        });
        let is_alone = takes_half || !before.is_some_and(is_short);
        // The first of all has no note before it.
        let is_first = index == 0 && interval(0) == interval(1) && !is_short(2);
        if grace.is_none() && leads && is_alone && is_short(index) && (!is_short(index + 1) || is_first) {
            grace = Some(note.key);
            continue;
        }
        mains.push(*note);
        graces.push(grace.take());
    }
    (mains, graces)
}

/// What silence under a bar leaves of the first bar.
fn pickup(measures: &Measures, first: Duration) -> Result<Option<Duration>> {
    let bar = measures.bars.meter(0).bar();
    if first >= bar {
        return Ok(None);
    }
    // A pickup can't start inside a tuplet.
    let start = if first.is_multiple_of(PICKUP) {
        first
    } else {
        first.floor_to(Duration::QUARTER).map_err(crate::Error::from)?
    };
    let left = bar.checked_sub(start).map_err(crate::Error::from)?;
    Ok((left < bar).then_some(left))
}

/// Finds where notes end.
struct Ends<'a> {
    nodes: &'a [Node],
    tuplets: &'a [u16],
    long: f64,
    /// The ticks of a quarter note, if notes are at their places to the tick.
    ticks: Option<u16>,
}

impl Ends<'_> {
    /// The written end of a note that is played until `played`, starts at `start`, and is followed by another at `next`, which is played at
    /// `next_played`.
    fn end(&self, played: f64, next_played: f64, start: Duration, next: Duration) -> Result<Duration> {
        let is_gap = next_played - played >= SILENCE.to_f64();
        let index = self.nodes.partition_point(|node| node.time <= played + 1e-9).saturating_sub(1);
        // In a swung beat, the second eighth starts later than it is written.
        let mut best: Option<(f64, Duration)> = None;
        for at in index.saturating_sub(2)..(index + 3).min(self.nodes.len()) {
            let (Some(node), Some(&tuplet)) = (self.nodes.get(at), self.tuplets.get(at)) else { continue };
            for (offset, cost) in self.places(node, tuplet)? {
                let end = node.at.checked_add(offset).map_err(crate::Error::from)?;
                if end <= start || end > next {
                    continue;
                }
                let away = (node.played(offset.to_f64(), tuplet > 1, self.long) - played).abs();
                let cost = match self.ticks {
                    Some(ticks) if away * f64::from(ticks) <= 0.51 => cost - 1e6,
                    _ if !is_gap => continue,
                    _ => cost + away * away / (2.0 * LOOSE_END * LOOSE_END),
                };
                if best.is_none_or(|best| cost < best.0) {
                    best = Some((cost, end));
                }
            }
        }
        let end = best.map_or(next, |(_, end)| end);
        let gap = next.checked_sub(end).map_err(crate::Error::from)?;
        Ok(if gap < SILENCE { next } else { end })
    }

    /// Where a note may end from an eighth on, and what that costs.
    fn places(&self, node: &Node, tuplet: u16) -> Result<Vec<(Duration, f64)>> {
        let mut places = vec![(Duration::ZERO, 0.0)];
        let mut divide = |length: Duration, parts: u16, cost: f64| -> Result<()> {
            for number in 1..parts {
                let offset =
                    length.checked_div(parts.into()).and_then(|part| part.checked_mul(number.into()));
                places.push((offset.map_err(crate::Error::from)?, cost));
            }
            Ok(())
        };
        if tuplet > 1 {
            // Tuplets are divisions of a beat where there is one.
            if node.is_beat {
                divide(Duration::QUARTER, tuplet, 0.2)?;
            } else if !node.swings {
                divide(node.length, tuplet, 0.2)?;
            }
        } else {
            divide(node.length, 2, SIXTEENTH_END)?;
            if self.ticks.is_some() {
                divide(node.length, 4, 2.0 * SIXTEENTH_END)?;
            }
        }
        Ok(places)
    }
}

/// How exactly notes end, in quarter notes: much less so than they start.
const LOOSE_END: f64 = 0.1;
/// What an end inside an eighth costs, in the currency of `ways`.
const SIXTEENTH_END: f64 = 2.0;

/// The notes and rests of the line.
pub(super) fn parts(taken: &Taken, bars: &Bars) -> Result<Vec<Part>> {
    let mut parts = Vec::new();
    let mut at = Duration::ZERO;
    let rest = |parts: &mut Vec<Part>, from: Duration, to: Duration| -> Result<()> {
        if to > from {
            parts.push(Part::rest(to.checked_sub(from).map_err(crate::Error::from)?));
        }
        Ok(())
    };
    for note in &taken.notes {
        let start = note.start.checked_sub(taken.shift).map_err(crate::Error::from)?;
        let end = note.end.checked_sub(taken.shift).map_err(crate::Error::from)?;
        rest(&mut parts, at, start)?;
        let (index, _) = bars.split(Onset::after(start)).map_err(crate::Error::from)?;
        let place = bars.place(Onset::after(start)).map_err(crate::Error::from)?;
        let spelled = |key: u8| bars.key(index).spell(MidiKey(key)).ok_or(MidiError::Low { place, key });
        parts.push(Part {
            duration: end.checked_sub(start).map_err(crate::Error::from)?,
            pitch: Some(spelled(note.key)?),
            pin: Pin::default(),
            legato: None,
            grace: note.grace.map(spelled).transpose()?,
        });
        at = end;
    }
    // The last bar is filled up, unless it is short by the pickup.
    let end = taken.end.checked_sub(taken.shift).map_err(crate::Error::from)?.max(at);
    let (index, over) = bars.split(Onset::after(end)).map_err(crate::Error::from)?;
    let bar = bars.meter(index).bar();
    let is_short =
        bars.pickup() > Duration::ZERO && index > 0 && bar.checked_sub(bars.pickup()).ok() == Some(over);
    let is_full = over == Duration::ZERO || is_short;
    let full = if is_full { end } else { bars.span(index).map_err(crate::Error::from)?.end().since_start() };
    rest(&mut parts, at, full)?;
    Ok(parts)
}

/// The chords that markers name.
pub(super) fn chords(file: &File, measures: &Measures, taken: &Taken) -> Chords {
    let mut chords: Vec<ChordAt> = Vec::new();
    let mut markers = 0;
    for (tick, words) in &file.markers {
        let (Ok(symbol), Some(time)) = (words.trim().parse(), measures.time(*tick)) else { continue };
        let at = taken.near(time.since_start().to_f64());
        let onset = Onset::after(at.checked_sub(taken.shift).unwrap_or(Duration::ZERO).max(Duration::ZERO));
        if time.since_start() > taken.end && at >= taken.end {
            continue;
        }
        markers += 1;
        // Of several at one moment, the last one counts.
        if chords.last().is_some_and(|chord| chord.onset == onset) {
            chords.pop();
        }
        chords.push(ChordAt { onset, symbol });
    }
    Chords { chords, markers }
}

impl Taken {
    /// Where something is written that happens at this time: with a note, or else on an eighth.
    fn near(&self, time: f64) -> Duration {
        /// How near a note has to be, in quarter notes.
        const WITH_NOTE: f64 = 0.1;
        let after = self.played.partition_point(|note| note.0 < time);
        let notes =
            self.played.get(after.saturating_sub(1)..(after + 1).min(self.played.len())).unwrap_or_default();
        let nearest =
            notes.iter().min_by(|one, other| (one.0 - time).abs().total_cmp(&(other.0 - time).abs()));
        if let Some(&(_, at)) = nearest.filter(|note| (note.0 - time).abs() <= WITH_NOTE) {
            return at;
        }
        let away =
            |node: &&Node| (node.played(0.0, false, self.long) - time).abs().min((node.time - time).abs());
        let after = self.nodes.partition_point(|node| node.time <= time);
        let near =
            self.nodes.get(after.saturating_sub(2)..(after + 1).min(self.nodes.len())).unwrap_or_default();
        let node = near.iter().min_by(|one, other| away(one).total_cmp(&away(other)));
        node.map_or(Duration::ZERO, |node| node.at)
    }
}
