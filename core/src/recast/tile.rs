//! Tiling: one figure repeated, across bar lines.

use super::error::Result;
use crate::line::Line;
use crate::time::{Duration, Onset, Span};

use super::apply::can_recast;
use super::windows::{Casting, Refusal, Window};

/// The result of tiling.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tiling {
    /// How many windows were recast.
    pub windows: usize,
    /// Where it stopped: the first moment left plain.
    pub end: Onset,
    /// How much is left plain before the end asked for.
    pub left: Duration,
    /// Why it stopped early, if it wasn't for lack of room.
    pub stopped: Option<Refusal>,
}

/// Repeats a window from its start as often as it fits before `to`. What is left over stays plain.
///
/// Groups of three eighths meet the bar line of 4/4 again after three bars, groups of five after five, and
/// groups of seven after seven:
///
/// ```
/// use halfbar_core::read;
/// use halfbar_core::recast::{Casting, Figure, Spelling, Window, tile};
/// use halfbar_core::time::Onset;
///
/// let line = read::text(&"C4 D E F G F E D |".repeat(4)).line.unwrap();
/// let mut casting = Casting::default();
/// let figure = Figure::named("accent-3").unwrap();
/// let tiling = tile(&line, &mut casting, &Window::new(Onset::ZERO, figure, Spelling::Plain), Onset::at(16, 1))?;
/// assert_eq!((tiling.windows, tiling.left.to_string()), (10, "1".to_string()));
/// let on_a_bar_line = casting.windows().iter().skip(1).find(|window| window.start.since_start().is_multiple_of(line.bars().meter(0).bar()));
/// assert_eq!(on_a_bar_line.unwrap().start, Onset::at(12, 1));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for times out of range.
pub fn tile(line: &Line, casting: &mut Casting, window: &Window, to: Onset) -> Result<Tiling> {
    let (mut start, mut windows, mut stopped) = (window.start, 0, None);
    loop {
        let next = window.at(start);
        let end = start.checked_add(window.figure.span())?;
        if end > to {
            break;
        }
        stopped = match can_recast(line, &next) {
            Ok(()) if casting.at(start).is_some() || casting.overlaps(&next) => Some(Refusal::Overlap),
            Ok(()) => None,
            Err(why) => Some(why),
        };
        if stopped.is_some() {
            break;
        }
        casting.put(next);
        windows += 1;
        start = end;
    }
    Ok(Tiling { windows, end: start, left: to.checked_since(start)?.max(Duration::ZERO), stopped })
}

/// What came of filling a passage.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Filled {
    /// How many windows were recast.
    pub windows: usize,
    /// How many stayed plain because they can't be recast.
    pub plain: usize,
}

/// Recasts a passage with a figure again and again, in place of the figures that start there. A window that can't be
/// recast stays plain, and the next one is tried.
///
/// ```
/// use halfbar_core::read;
/// use halfbar_core::recast::{Figure, Filled, Window, fill};
/// use halfbar_core::time::{Onset, Span};
///
/// let reading = read::text("recast: split-first at 1.1\nC4 D E F G:2 | C D E F G A B C |");
/// let (line, mut casting) = (reading.line.unwrap(), reading.casting);
/// let figure = Figure::named("split-last").unwrap();
/// let spelling = figure.spellings()[0];
/// let passage = Span::new(Onset::ZERO, line.end()).unwrap();
/// let filled = fill(&line, &mut casting, &Window::new(Onset::ZERO, figure, spelling), passage)?;
/// assert_eq!(filled, Filled { windows: 3, plain: 1 });
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for times out of range.
pub fn fill(line: &Line, casting: &mut Casting, like: &Window, passage: Span) -> Result<Filled> {
    let inside = casting.windows().iter().map(|window| window.start).filter(|&start| passage.contains(start));
    for start in inside.collect::<Vec<_>>() {
        casting.restore(start);
    }
    let mut filled = Filled { windows: 0, plain: 0 };
    let mut start = passage.start();
    loop {
        let end = start.checked_add(like.figure.span())?;
        if end > passage.end() {
            return Ok(filled);
        }
        match casting.put_fitting(line, like.at(start)) {
            Ok(()) => filled.windows += 1,
            Err(_) => filled.plain += 1,
        }
        start = end;
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::read;
    use crate::recast::{Figure, Spelling};

    fn tiled(lengths: &str, bars: usize) -> (Casting, Tiling) {
        let line = read::text(&"C4 D E F G F E D |".repeat(bars)).line.unwrap();
        let mut casting = Casting::default();
        let figure = Arc::new(Figure::new("cell", lengths).unwrap());
        let window = Window::new(Onset::ZERO, figure, Spelling::Plain);
        let tiling = tile(&line, &mut casting, &window, line.end()).unwrap();
        (casting, tiling)
    }

    /// Arithmetic: the least common multiple of the group and the eight eighths in a 4/4 bar.
    #[test]
    fn groups_realign_with_the_bar_line() {
        for (lengths, bars) in
            [("1 1/4 1/4", 3), ("1 1/4 1/4 1/2 1/2", 5), ("1/2 1/2 1/2 1/2 1/2 1/2 1/2", 7)]
        {
            let (casting, _) = tiled(lengths, bars + 1);
            let bar = Duration::of(4, 1);
            let again = casting
                .windows()
                .iter()
                .skip(1)
                .find(|window| window.start.since_start().is_multiple_of(bar));
            assert_eq!(
                again.unwrap().start.since_start(),
                bar.checked_mul(bars as i64).unwrap(),
                "{lengths}"
            );
        }
    }

    #[test]
    fn what_does_not_fit_stays_plain() {
        let (casting, tiling) = tiled("1 1/4 1/4", 1);
        assert_eq!((casting.windows().len(), tiling.windows, tiling.left), (2, 2, Duration::QUARTER));
        assert_eq!(tiling.stopped, None);
        let line = read::text("C4 D E F G:2 |").line.unwrap();
        let window = Window::new(Onset::ZERO, Figure::named("accent-3").unwrap(), Spelling::Plain);
        let tiling = tile(&line, &mut Casting::default(), &window, Onset::at(4, 1)).unwrap();
        assert!(matches!(tiling.stopped, Some(Refusal::Held { .. })), "{tiling:?}");
        assert_eq!((tiling.windows, tiling.end), (1, Onset::at(3, 2)));
    }

    #[test]
    fn other_windows_are_left_alone() {
        let line = read::text("C4 D E F G A B C | C D E F G A B C |").line.unwrap();
        let window = |start, name| Window::new(start, Figure::named(name).unwrap(), Spelling::Plain);
        let mut casting = Casting::default();
        casting.put(window(Onset::at(4, 1), "split-middle"));
        let tiling = tile(&line, &mut casting, &window(Onset::ZERO, "split-last"), Onset::at(8, 1)).unwrap();
        assert_eq!((tiling.windows, tiling.stopped), (2, Some(Refusal::Overlap)));
        assert_eq!(casting.at(Onset::at(4, 1)).unwrap().figure.name(), "split-middle");
    }
}
