//! `recast` headers: `split-last at 1.1 bracket, 2.3 tied`.

use crate::error::Error;
use crate::line::Line;
use crate::meter::Place;
use crate::recast::{self, Casting, Figure, Spelling, Window};
use crate::time::Duration;

use super::diagnostic::Problem;
use super::music::fraction;
use super::text::{Findings, Spot, Words};

/// Reads the headers, each given with the spot of its name, into the casting they ask for.
pub(super) fn read(line: &Line, headers: Vec<(Words<'_>, Spot)>, found: &mut Findings) -> Casting {
    let mut wanted = Casting::default();
    for (mut words, name) in headers {
        let Some((text, at)) = words.next(',') else {
            found.add(name, Problem::RecastForm);
            continue;
        };
        let Some(figure) = Figure::named(text) else {
            found.add(at, Problem::Figure { name: text.into() });
            continue;
        };
        if !matches!(words.next(','), Some(("at", _))) {
            found.add(words.here(), Problem::RecastForm);
            continue;
        }
        places(line, figure, words, &mut wanted, found);
    }
    wanted
}

fn places(
    line: &Line,
    figure: &'static Figure,
    mut words: Words<'_>,
    wanted: &mut Casting,
    found: &mut Findings,
) {
    loop {
        let Some((text, at)) = words.next(',').filter(|(text, _)| *text != ",") else {
            return found.add(words.here(), Problem::RecastForm);
        };
        let mut next = words.next(',');
        let mut spelling = Spelling::default();
        if let Some((word, at)) = next.filter(|(word, _)| *word != ",") {
            match word.parse() {
                Ok(known) => spelling = known,
                Err(()) => found.add(at, Problem::Spelling { text: word.into() }),
            }
            next = words.next(',');
        }
        match window(line, figure, spelling, text, wanted) {
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

/// The window at a place, when it can be recast beside the ones there are.
fn window(
    line: &Line,
    figure: &'static Figure,
    spelling: Spelling,
    text: &str,
    wanted: &Casting,
) -> Result<Window, Problem> {
    let place = place(text).ok_or_else(|| Problem::Place { text: text.into() })?;
    let start = line.heading().meter.onset(place).map_err(Problem::Recast)?;
    if wanted.at(start).is_some() {
        return Err(Problem::RecastTwice);
    }
    match recast::can_recast(line, start, figure) {
        Ok(()) => Ok(Window { start, figure, spelling }),
        Err(why) => Err(Problem::Recast(Error::Window { place, why })),
    }
}

/// `bar.beat`; the beat may be a fraction.
fn place(text: &str) -> Option<Place> {
    let (bar, beat) = text.split_once('.')?;
    let bar = bar.parse().ok()?;
    let beat: Duration = fraction(beat)?;
    Some(Place { bar, beat })
}
