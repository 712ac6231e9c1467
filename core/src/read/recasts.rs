//! `figure` and `recast` headers: `lilt = 2/3 1/3 1/3 2/3`, and `split-last at 1.1 bracket, 2.3 tied`.

use std::sync::Arc;

use crate::bars::Place;
use crate::error::{Error, quoted};
use crate::line::Line;
use crate::recast::{self, Casting, Figure, Window};

use super::diagnostic::Problem;
use super::text::{Findings, Spot, Words};

/// Reads the headers, `recast` ones each given with the spot of its name, into the casting they ask for.
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

/// `name = lengths`.
fn own_figure(value: &str, wanted: &Casting) -> Result<Figure, Problem> {
    let (name, lengths) = value.split_once('=').ok_or(Problem::FigureForm)?;
    let name = name.trim();
    let letters = name.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if name.is_empty() || name.len() > LONGEST_NAME || !letters || wanted.figure(name).is_some() {
        return Err(Problem::FigureName { name: quoted(name) });
    }
    Figure::new(name, lengths).map_err(Problem::OwnFigure)
}

/// The longest name of a figure.
const LONGEST_NAME: usize = 40;

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
        let mut next = words.next(',');
        let mut spelling = figure.spellings()[0];
        if let Some((word, at)) = next.filter(|(word, _)| *word != ",") {
            match word.parse() {
                Ok(known) => spelling = known,
                Err(()) => found.add(at, Problem::Spelling { text: quoted(word) }),
            }
            next = words.next(',');
        }
        let window = place(text).and_then(|place| {
            let start = line.bars().onset(place).map_err(Problem::Recast)?;
            window(line, place, Window { start, figure: Arc::clone(figure), spelling }, wanted)
        });
        match window {
            Ok(window) => wanted.put(window),
            Err(problem) => found.add(at, problem),
        }
        match next {
            None => return,
            Some((",", _)) => {}
            Some((_, at)) => return found.add(at, Problem::RecastForm),
        }
    }
}

/// The window, when it can be recast beside the ones there are.
fn window(line: &Line, place: Place, window: Window, wanted: &Casting) -> Result<Window, Problem> {
    if wanted.at(window.start).is_some() {
        return Err(Problem::RecastTwice);
    }
    let refused = |why| Problem::Recast(Error::Window { place, why });
    recast::can_recast(line, &window).map_err(refused)?;
    if wanted.overlaps(&window) {
        return Err(refused(recast::Refusal::Overlap));
    }
    Ok(window)
}

/// `bar.beat`; the beat may be a fraction.
fn place(text: &str) -> Result<Place, Problem> {
    let parts = text.split_once('.').and_then(|(bar, beat)| Some((bar.parse().ok()?, beat.parse().ok()?)));
    parts.map(|(bar, beat)| Place { bar, beat }).ok_or_else(|| Problem::Place { text: quoted(text) })
}
