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
            carried.filter_map(|(figure, spelling)| written_as(line, figure, *spelling, event.onset));
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

/// The window in the first spelling that sounds the same as `found` and can be written there; a bracket may
/// not hide anything.
fn written_as(line: &Line, figure: &Arc<Figure>, found: Spelling, start: Onset) -> Option<Window> {
    let same = |spelling: &&Spelling| figure.stretches(**spelling) == figure.stretches(found);
    let windows = figure.spellings().iter().filter(same);
    windows
        .map(|&spelling| Window::new(start, Arc::clone(figure), spelling))
        .find(|window| super::apply::shows(line.bars(), window))
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
    let mut casting = Casting::default();
    let mut windows = find(line).into_iter().peekable();
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
