//! The inverse of recasting: which windows of a line already carry a figure, and the plain line under them.

use std::sync::Arc;

use super::error::Result;
use crate::line::{Event, Line};
use crate::time::{Duration, Onset};

use crate::timed::Spelling;

use super::figures::{Figure, Stretch};
use super::windows::{Casting, Window};

/// The windows of a line that already carry a figure of the catalogue, in order of time and without overlaps.
///
/// Two figures can sound the same in a line: `long-first-of-3` and two eighths are `long-first-of-5`. The
/// shorter one is found, which leaves more of the line plain. If a figure's spellings sound the same, the
/// first one is found. Accents don't change any time and aren't found.
pub fn find(line: &Line) -> Vec<Window> {
    find_as(line, &|_| None)
}

/// The same, where something decides between spellings that sound the same: it is given the windows and returns the index of one, or `None`
/// for the first.
fn find_as(line: &Line, choose: &dyn Fn(&[Window]) -> Option<usize>) -> Vec<Window> {
    let mut ways: Vec<(&Arc<Figure>, Spelling)> = Vec::new();
    for figure in Figure::all().iter().filter(|figure| !figure.is_accented()) {
        ways.extend(figure.spellings().iter().map(|&spelling| (figure, spelling)));
    }

    let events = line.events();
    let (mut found, mut index) = (Vec::new(), 0);
    while let Some(event) = events.get(index) {
        let in_bar = line.bars().split(event.onset);
        let on_an_eighth = in_bar.is_ok_and(|(_, offset)| offset.is_multiple_of(Duration::EIGHTH));
        let carried = ways
            .iter()
            .filter(|_| on_an_eighth)
            .filter(|(figure, spelling)| carries(&events[index..], figure.stretches(*spelling)));
        let windows =
            carried.filter_map(|(figure, spelling)| written_as(line, figure, *spelling, event.onset, choose));
        // Of several that are equally short, the first.
        match windows.min_by_key(|window| window.figure.span()) {
            Some(window) => {
                index += window.figure.stretches(window.spelling).len();
                found.push(window);
            }
            None => index += 1,
        }
    }
    found
}

/// Whether the events start with exactly these notes and rests.
fn carries(events: &[Event], stretches: &[Stretch]) -> bool {
    events.len() >= stretches.len()
        && events.iter().zip(stretches).all(|(event, stretch)| {
            event.duration == stretch.duration && event.pitch.is_some() == stretch.sounds
        })
}

/// The window in a spelling that sounds the same as `found` and can be written there; a bracket may not hide anything.
fn written_as(
    line: &Line,
    figure: &Arc<Figure>,
    found: Spelling,
    start: Onset,
    choose: &dyn Fn(&[Window]) -> Option<usize>,
) -> Option<Window> {
    let same = |spelling: &&Spelling| figure.stretches(**spelling) == figure.stretches(found);
    let windows = figure.spellings().iter().filter(same);
    let mut windows: Vec<Window> = windows
        .map(|&spelling| Window::new(start, Arc::clone(figure), spelling))
        .filter(|window| super::apply::shows(line.bars(), window))
        .collect();
    let index = choose(&windows).unwrap_or(0);
    (index < windows.len()).then(|| windows.swap_remove(index))
}

/// The plain line under the figures that a line carries, and the casting that brings them back. The notes of
/// every window become eighths.
///
/// ```
/// use halfbar_core::read;
/// use halfbar_core::recast::{self, reduce};
///
/// let line = read::text("C4:2/3 D:2/3 E:1/3 F:1/3 G A B C |").line.unwrap();
/// let (plain, casting) = reduce(&line)?;
/// assert!(plain.events().iter().all(|event| event.duration.to_string() == "1/2"));
/// assert_eq!((casting.windows().len(), casting.windows()[0].figure.name()), (1, "split-last"));
/// let again = recast::apply(&plain, &casting)?;
/// assert_eq!(again.events, line.events());
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for times out of range.
pub fn reduce(line: &Line) -> Result<(Line, Casting)> {
    reduce_to(line, find(line))
}

/// The same, where something decides between spellings that sound the same: it is given the windows and returns the index of one, or `None`
/// for the first.
///
/// # Errors
/// As [`reduce`].
#[cfg(feature = "exchange")]
pub(crate) fn reduce_as(line: &Line, choose: &dyn Fn(&[Window]) -> Option<usize>) -> Result<(Line, Casting)> {
    reduce_to(line, find_as(line, choose))
}

fn reduce_to(line: &Line, windows: Vec<Window>) -> Result<(Line, Casting)> {
    let mut casting = Casting::default();
    let mut windows = windows.into_iter().peekable();
    let mut parts = Vec::new();
    let mut inside = Onset::ZERO;
    for event in line.events() {
        if let Some(window) = windows.next_if(|window| window.start == event.onset) {
            inside = window.start.checked_add(window.figure.span())?;
            casting.put(window);
        }
        let plain = event.onset < inside;
        if plain && event.pitch.is_none() {
            continue;
        }
        let duration = if plain { Duration::EIGHTH } else { event.duration };
        parts.push(event.lasting(duration));
    }
    let plain = Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec())?;
    Ok((plain.with_constraints(line.constraints().to_vec()).with_calls(line.calls().to_vec()), casting))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Eighths fill every figure's window, so the plain line has one for each note.
    #[test]
    fn every_figure_takes_as_many_notes_as_eighths() {
        for figure in Figure::all() {
            let eighths = Duration::EIGHTH.checked_mul(figure.notes() as i64).unwrap();
            assert_eq!(eighths, figure.span(), "{}", figure.name());
        }
    }
}
