//! The arithmetic of recasting: the same notes in the same order at other times, in bars that stay full.

use std::ops::Range;

use super::error::{RecastError, Result};
use crate::bars::{Bars, Place};
use crate::line::{Event, Line, NoteId, settle_joins};
use crate::meter::Meter;
use crate::time::{Duration, Onset, Span, TimeError};
use crate::timed::{Spelling, Timed, TimedWindow};

use super::windows::{Casting, Fit, Refusal, Window};

/// A place that a page may offer for recasting: a window that is recast, or one that might be.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Offer {
    /// Its time: all of a recast window, otherwise up to the next offer or bar line.
    pub span: Span,
    /// Where it starts, as musicians count.
    pub place: Place,
    /// Why it can't be recast; `None` if it can, or already is.
    pub refusal: Option<Refusal>,
}

/// Where offered windows may start.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Grid {
    /// At the meter's groups: the half-bars of 4/4.
    Groups,
    /// On every eighth where a note starts.
    Eighths,
}

/// Applies a casting to a line.
///
/// # Errors
/// [`RecastError::Window`] with the place of the first window that can't be recast, and the reason.
pub fn apply(line: &Line, casting: &Casting) -> Result<Timed> {
    let (mut events, mut windows) = (Vec::with_capacity(line.events().len()), Vec::new());
    let (mut next, mut added) = (0, line.events().len());
    let mut end_before = Onset::ZERO;
    for window in casting.windows() {
        let refused = |why| match line.bars().place(window.start) {
            Ok(place) => RecastError::Window { place, why },
            Err(error) => error.into(),
        };
        if window.start < end_before {
            return Err(refused(Refusal::Overlap));
        }
        let inside = notes_inside(line, window).map_err(refused)?;
        events.extend_from_slice(&line.events()[next..inside.start]);
        next = inside.end;
        let span = Span::starting(window.start, window.figure.span())?;
        let notes = &line.events()[inside];
        let sounding = sounding(window, notes.len());
        // A connection into a note that is left out leads nowhere.
        if sounding.start > 0
            && let Some(before) = events.last_mut()
        {
            before.legato = None;
        }
        let left_out_after = notes.get(sounding.end).map(|note| note.id);
        let leads_on = |note: &Event| left_out_after.is_none_or(|next| note.id.0 + 1 != next.0);
        let mut sounds = notes[sounding.clone()].iter();
        let (mut onset, mut repeated) = (window.start, Vec::new());
        for stretch in window.figure.stretches(window.spelling) {
            // A place without a note of its own is a rest, or repeats the last note.
            let own = if stretch.sounds { sounds.next() } else { None };
            let repeats = stretch.sounds && window.fit == Fit::RepeatLast;
            let id = match own {
                Some(note) => note.id,
                None => NoteId(u32::try_from(added).map_err(|_| TimeError)?),
            };
            added += usize::from(own.is_none());
            let note = own.or(if repeats { notes.last() } else { None });
            repeated.extend(note.filter(|note| note.id != id).map(|note| (id, note.id)));
            events.push(Event {
                id,
                onset,
                duration: stretch.duration,
                pitch: note.and_then(|note| note.pitch),
                pin: note.map(|note| note.pin).unwrap_or_default(),
                legato: note.filter(|note| leads_on(note)).and_then(|note| note.legato),
                grace: own.and_then(|note| note.grace),
                accent: window.figure.is_accented() && onset == window.start,
            });
            onset = onset.checked_add(stretch.duration)?;
        }
        end_before = span.end();
        let left_out =
            notes[..sounding.start].iter().chain(&notes[sounding.end..]).map(|note| note.id).collect();
        windows.push(TimedWindow {
            span,
            spelling: window.spelling,
            tuplet: window.figure.tuplet(),
            left_out,
            repeats: repeated,
        });
    }
    events.extend_from_slice(&line.events()[next..]);
    settle_joins(&mut events);
    Ok(Timed { bars: line.bars().clone(), events, windows })
}

/// Checks whether a window of `line` can be recast.
///
/// # Errors
/// The [`Refusal`] if it can't.
pub fn can_recast(line: &Line, window: &Window) -> std::result::Result<(), Refusal> {
    notes_inside(line, window).map(|_| ())
}

/// Where windows may start in a bar.
pub(crate) fn window_starts(line: &Line, index: usize, grid: Grid) -> Result<Vec<Onset>> {
    let (bar, downbeat) = (line.bar(index)?, line.bars().downbeat(index)?);
    let mut starts = Vec::new();
    for start in line.bars().meter(index).window_starts(grid == Grid::Eighths) {
        starts.push(downbeat.checked_add(start)?);
    }
    starts.retain(|&start| bar.contains(start));
    Ok(starts)
}

/// The recast windows, and outside them every start on the grid, with the reason it can't be recast like the
/// window `like`, if there is one. Where `like` itself starts doesn't matter. In order of time.
///
/// # Errors
/// [`TimeError`] if the line is too long to count.
pub fn offers(line: &Line, casting: &Casting, grid: Grid, like: &Window) -> Result<Vec<Offer>> {
    let mut windows = casting.windows().iter().filter_map(Window::span).peekable();
    let mut spans = Vec::new();
    let mut taken = Onset::ZERO;
    for index in 0..line.bar_count() {
        let bar = line.bar(index)?;
        let mut starts = window_starts(line, index, grid)?;
        if grid == Grid::Eighths {
            // A window never starts where no note does.
            let sounds = |onset: &Onset| line.events().binary_search_by_key(onset, |event| event.onset);
            starts.retain(|start| sounds(start).is_ok_and(|index| line.events()[index].pitch.is_some()));
        }
        let ends = starts.iter().skip(1).copied().chain([bar.end()]);
        for (&start, end) in starts.iter().zip(ends) {
            while let Some(window) = windows.next_if(|window| window.start() < end) {
                spans.extend(
                    Span::new(start, window.start()).filter(|_| taken <= start && window.start() > start),
                );
                spans.push(window);
                taken = window.end();
            }
            if taken <= start {
                spans.extend(Span::new(start, end));
            }
        }
    }
    let offer = |span: Span| {
        let window = like.at(span.start());
        let refusal = match casting.at(span.start()) {
            Some(_) => None,
            None if casting.overlaps(&window) => Some(Refusal::Overlap),
            None => can_recast(line, &window).err(),
        };
        Ok(Offer { span, place: line.bars().place(span.start())?, refusal })
    };
    spans.into_iter().map(offer).collect()
}

/// Which of a window's `holds` notes are played.
fn sounding(window: &Window, holds: usize) -> Range<usize> {
    let takes = window.figure.notes().min(holds);
    match window.fit {
        Fit::KeepLast => holds - takes..holds,
        _ => 0..takes,
    }
}

/// The events of `line` that a window would cover.
pub(super) fn notes_inside(line: &Line, window: &Window) -> std::result::Result<Range<usize>, Refusal> {
    let (bars, events) = (line.bars(), line.events());
    let (start, figure) = (window.start, &window.figure);
    let (bar, offset) = bars.split(start).map_err(|_| Refusal::Start)?;
    if !offset.is_multiple_of(Duration::EIGHTH) {
        return Err(Refusal::Start);
    }
    let end = start.checked_add(figure.span()).map_err(|_| Refusal::End)?;
    if end > line.end() {
        return Err(Refusal::End);
    }
    can_write(bars.meter(bar), window, offset)?;
    let first = events.partition_point(|event| event.onset < start);
    let after = events.partition_point(|event| event.onset < end);
    let held = |event: Option<&Event>, into: Onset| {
        if event.is_some_and(|event| event.pitch.is_none()) {
            return Err(Refusal::Rest);
        }
        let beat = bars.place(into).map_err(|_| Refusal::End)?.beat;
        let next_bar = bars.split(into).is_ok_and(|(index, _)| index > bar);
        Err(Refusal::Held { beat, next_bar })
    };
    if events.get(first).is_none_or(|event| event.onset != start) {
        return held(first.checked_sub(1).and_then(|before| events.get(before)), start);
    }
    let inside = &events[first..after];
    let holds = inside.iter().filter(|event| event.pitch.is_some()).count();
    if inside.last().and_then(|event| event.span().ok()).is_none_or(|span| span.end() != end) {
        return held(inside.last(), end);
    }
    match window.fit.allows(holds, figure.notes()) {
        false => Err(Refusal::Count { holds, takes: figure.notes() }),
        true if inside.len() > holds => Err(Refusal::Rest),
        true => Ok(first..after),
    }
}

/// Whether the window's spelling shows what has to be visible where the window lies.
pub(super) fn shows(bars: &Bars, window: &Window) -> bool {
    let place = bars.split(window.start);
    place.is_ok_and(|(bar, offset)| can_write(bars.meter(bar), window, offset).is_ok())
}

/// Whether the window's spelling shows what has to be visible from `offset` into its bar.
fn can_write(meter: Meter, window: &Window, offset: Duration) -> std::result::Result<(), Refusal> {
    let Window { figure, spelling, .. } = window;
    if !figure.spellings().contains(spelling) {
        let (name, spellings) = (figure.name().into(), figure.spellings().to_vec());
        return Err(Refusal::NoSpelling { figure: name, spelling: *spelling, spellings });
    }
    let end = offset.checked_add(figure.span()).map_err(|_| Refusal::End)?;
    match spelling {
        Spelling::Bracket if end > meter.bar() => Err(Refusal::Hides { hidden: "bar line" }),
        Spelling::Bracket if meter.middles().any(|middle| offset < middle && middle < end) => {
            Err(Refusal::Hides { hidden: "middle of the bar" })
        }
        Spelling::Tied if !meter.has_quarter_beats() || !offset.is_multiple_of(Duration::QUARTER) => {
            Err(Refusal::OffBeat)
        }
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::read;

    /// The names of the notes, each with `_` if it connects to the next.
    fn joined(text: &str) -> String {
        let reading = read::text(text);
        assert_eq!(reading.diagnostics, [], "{text}");
        let timed = apply(&reading.line.unwrap(), &reading.casting).unwrap();
        let names = timed.events.iter().map(|event| {
            let name = event.pitch.map_or("r".into(), |pitch| pitch.name.to_string());
            name + if event.legato.is_some() { "_" } else { "" }
        });
        names.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn what_led_into_a_note_left_out_leads_nowhere() {
        let five = |fit: &str, notes: &str| joined(&format!("recast: split-last at 1.3 {fit}\n{notes} |"));
        assert_eq!(five("keep-last", "C4 D E F_ G_ A:1/4_ B:1/4 C D"), "C D E F A_ B C D");
        assert_eq!(five("keep-first", "C4 D E F_ G A:1/4 B:1/4 C_ D | E:4"), "C D E F_ G A B C E");
        assert_eq!(five("keep-first", "C4 D E F_ G_ A:1/4 B:1/4_ C D"), "C D E F_ G_ A B_ C");
    }

    #[test]
    fn nothing_leads_into_a_rest_or_into_itself() {
        let three = |fit: &str| joined(&format!("recast: split-last at 1.1 {fit}\nC4 D E:1_ F G A B |"));
        assert_eq!(three("rest-last"), "C D E r F G A B");
        assert_eq!(three("repeat-last"), "C D E E_ F G A B");
    }
}
