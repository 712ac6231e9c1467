//! `figure` and `recast` headers: `lilt = 2/3 1/3 1/3 2/3`, and `split-last at 1.1 bracket, 2.3 tied`.

use std::sync::Arc;

use crate::bars::Place;
use crate::line::Line;
use crate::naming::quoted;
use crate::recast::{self, Casting, Figure, Fit, RecastError, Refusal, Window};
use crate::time::{Duration, Onset};

use super::diagnostic::Problem;
use super::words::{Findings, Spot, Words};

/// Reads the headers into the casting they ask for. Each `recast` header comes with the spot of its name.
pub(super) fn read(
    line: &Line,
    figures: Vec<(&str, Spot)>,
    headers: Vec<(Words<'_>, Spot)>,
    found: &mut Findings,
) -> Casting {
    let mut wanted = Casting::default();
    for (value, at) in figures {
        match own_figure(value, &wanted) {
            Ok(figure) => wanted.add_figure(figure),
            Err(problem) => found.add(at, problem),
        }
    }
    for (mut words, name) in headers {
        let Some((text, at)) = words.next(',') else {
            found.add(name, Problem::RecastForm);
            continue;
        };
        let Some(figure) = wanted.figure(text) else {
            found.add(at, Problem::Figure { name: quoted(text) });
            continue;
        };
        if !matches!(words.next(','), Some(("at", _))) {
            found.add(words.here(), Problem::RecastForm);
            continue;
        }
        places(line, &figure, words, &mut wanted, found);
    }
    wanted
}

/// Reads `name = lengths`.
fn own_figure(value: &str, wanted: &Casting) -> Result<Figure, Problem> {
    let (name, lengths) = value.split_once('=').ok_or(Problem::FigureForm)?;
    let name = name.trim();
    let letters = name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if name.is_empty() || name.len() > LONGEST_NAME || !letters || wanted.figure(name).is_some() {
        return Err(Problem::FigureName { name: quoted(name) });
    }
    Figure::new(name, lengths).map_err(Problem::OwnFigure)
}

/// The most characters in a figure's name.
const LONGEST_NAME: usize = 40;

/// Reads places separated by commas, each with what follows it.
fn places(
    line: &Line,
    figure: &Arc<Figure>,
    mut words: Words<'_>,
    wanted: &mut Casting,
    found: &mut Findings,
) {
    loop {
        let Some((text, at)) = words.next(',').filter(|(text, _)| *text != ",") else {
            return found.add(words.here(), Problem::RecastForm);
        };
        let start = place_at(line, text);
        let mut like = Window::new(Onset::ZERO, Arc::clone(figure), figure.spellings()[0]);
        let mut to = None;
        let more = loop {
            match words.next(',') {
                None => break false,
                Some((",", _)) => break true,
                Some(("to", at)) => match words.next(',').filter(|(text, _)| *text != ",") {
                    Some((text, at)) => match place_at(line, text) {
                        Ok(end) => to = Some((end, at)),
                        Err(problem) => found.add(at, problem),
                    },
                    None => return found.add(at, Problem::RecastForm),
                },
                Some((word, at)) => match (word.parse(), word.parse()) {
                    (Ok(spelling), _) => like.spelling = spelling,
                    (_, Ok(fit)) if fit != Fit::Exact => like.fit = fit,
                    _ => found.add(at, Problem::Spelling { text: quoted(word) }),
                },
            }
        };
        match (start, to) {
            (Ok(start), None) => one(line, like.at(start), at, wanted, found),
            (Ok(start), Some((end, to))) => repeated(line, &like.at(start), (end, to), at, wanted, found),
            (Err(problem), _) => found.add(at, problem),
        }
        if !more {
            return;
        }
    }
}

/// Adds one window, if it can be recast along with those already there.
fn one(line: &Line, window: Window, at: Spot, wanted: &mut Casting, found: &mut Findings) {
    if wanted.at(window.start).is_some() {
        return found.add(at, Problem::RecastTwice);
    }
    let possible = match recast::can_recast(line, &window) {
        Ok(()) if wanted.overlaps(&window) => Err(Refusal::Overlap),
        possible => possible,
    };
    match possible {
        Ok(()) => wanted.put(window),
        Err(why) => found.add(at, refused(line, window.start, why)),
    }
}

/// Repeats a window up to an end.
fn repeated(
    line: &Line,
    window: &Window,
    (end, to): (Onset, Spot),
    at: Spot,
    wanted: &mut Casting,
    found: &mut Findings,
) {
    let Ok(tiling) = recast::tile(line, wanted, window, end) else { return };
    match tiling.stopped {
        Some(why) => found.add(at, refused(line, tiling.end, why)),
        None if tiling.windows == 0 => found.add(to, Problem::NothingRepeated { span: window.figure.span() }),
        None if tiling.left > Duration::ZERO => {
            if let Ok(place) = line.bars().place(tiling.end) {
                found.remark(to, Problem::LeftOver { left: tiling.left, place });
            }
        }
        None => {}
    }
}

fn refused(line: &Line, start: Onset, why: Refusal) -> Problem {
    Problem::Recast(match line.bars().place(start) {
        Ok(place) => RecastError::Window { place, why },
        Err(error) => error.into(),
    })
}

fn onset(line: &Line, place: Place) -> Result<Onset, Problem> {
    line.bars().onset(place).map_err(|error| Problem::Recast(error.into()))
}

/// The moment of a place in the line.
pub(super) fn place_at(line: &Line, text: &str) -> Result<Onset, Problem> {
    place(text).and_then(|place| onset(line, place))
}

fn place(text: &str) -> Result<Place, Problem> {
    text.parse().map_err(Problem::Place)
}
