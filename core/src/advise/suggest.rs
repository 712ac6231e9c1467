//! Which half-bars to recast.

use std::sync::Arc;

use crate::bars::Place;
use crate::hand;
use crate::line::Line;
use crate::recast::{self, Casting, Figure, Grid, Window};
use crate::time::{Duration, Onset, Span};
use crate::timed::Spelling;

use super::choose::{Choice, choose};
use super::context::Context;
use super::density::Density;
use super::error::{AdviseError, Result};
use super::reason::Reason;
use super::{hand as fretting, tempo};

/// A half-bar that might be recast, with what speaks for it and against it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Suggestion {
    /// The window as it would be recast: put it into the casting to take the suggestion.
    pub window: Window,
    /// Where it starts, as musicians count.
    pub place: Place,
    /// The sum of the weights of its reasons.
    pub weight: i32,
    /// What speaks for it, then what speaks against it, each with the most important first.
    pub reasons: Vec<Reason>,
}

/// Suggests where to recast a line so that it gains most: of all choices of half-bars that the density allows, the one with the largest sum of
/// weights ([`Reason::weight`]). At [`Density::Everywhere`], it is every half-bar that can be recast; where windows overlap, as many as possible.
///
/// What is recast already stays, counts as a neighbor, and isn't suggested again. Each window has all its notes, exactly as many as the figure takes.
/// A note that the line lands on keeps its onset. Without a spelling, each window has the figure's usual one, or the first other one that works there.
///
/// There is always at least one suggestion. Taking all of them gives a casting that the line can take. In order of time.
///
/// ```
/// use halfbar_core::advise::{Density, advise};
/// use halfbar_core::read;
/// use halfbar_core::recast::{Casting, Figure};
///
/// let figure = Figure::named("split-last").expect("in the catalogue");
/// let line = |text: &str| read::text(text).line.expect("full bars");
/// let waltz = line("key: G\nmeter: 3/4\n@Am7 C4 E G B  A G | @D7 F#4 A C5 A  F# D | @Gmaj7 B3:3 |");
/// let found = advise(&waltz, &Casting::default(), &figure, None, Density::Everywhere)?;
/// assert_eq!(found.iter().map(|one| one.place.to_string()).collect::<Vec<_>>(), ["1.1", "2.1"]);
///
/// let error = advise(&line("C4 E G B A G F E |"), &Casting::default(), &figure, None, Density::Often).unwrap_err();
/// assert!(error.to_string().starts_with("there are no chords"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// [`AdviseError::NoChords`] for a line without chords, [`AdviseError::NoWindow`] and [`AdviseError::Taken`] if no half-bar can be recast,
/// [`AdviseError::Enough`] if the density leaves none; otherwise the error of the line or of its casting.
pub fn advise(
    line: &Line,
    casting: &Casting,
    figure: &Arc<Figure>,
    spelling: Option<Spelling>,
    density: Density,
) -> Result<Vec<Suggestion>> {
    let weighed = weigh(line, casting, figure, spelling)?;
    let slots = Slots::of(line)?;
    let mut spots = Vec::with_capacity(weighed.len());
    for suggestion in &weighed {
        let span = span(&suggestion.window)?;
        spots.push(Spot { half_bars: slots.touched(span), in_bar: line.bars().split(span.start())? });
    }
    let taken: Vec<(usize, usize)> =
        casting.windows().iter().filter_map(Window::span).map(|span| slots.touched(span)).collect();
    let chosen = |density: Density| {
        let free = (0..weighed.len()).filter(|&index| spots[index].is_free(&taken, density));
        let free: Vec<usize> = free.collect();
        let choices: Vec<Choice> =
            free.iter().map(|&index| spots[index].choice(&spots, weighed[index].weight)).collect();
        choose(&choices, density).into_iter().map(|choice| free[choice]).collect::<Vec<usize>>()
    };
    let found = chosen(density);
    if found.is_empty() {
        let enough = Density::ALL.into_iter().find(|&other| !chosen(other).is_empty());
        let enough = enough.unwrap_or(Density::Everywhere);
        return Err(AdviseError::Enough { figure: figure.name().into(), density, enough });
    }
    let mut suggestions: Vec<Suggestion> = Vec::with_capacity(found.len());
    for &index in &found {
        let mut suggestion = weighed[index].clone();
        if spots[index].before(&spots).is_some_and(|before| found.binary_search(&before).is_ok()) {
            suggestion.reasons.push(Reason::SameSpot);
        }
        suggestions.push(sorted(suggestion));
    }
    Ok(suggestions)
}

/// What speaks for recasting each half-bar, and what against it: all of those that can be recast and aren't yet, in order of time, even where two of them
/// overlap. [`advise`] chooses among them.
///
/// ```
/// use halfbar_core::advise::weigh;
/// use halfbar_core::read;
/// use halfbar_core::recast::{Casting, Figure};
///
/// let line = read::text("tempo: 220\n@Dm7 D4 F A C5  B A G F | @G7 E4:4 |").line.expect("two bars");
/// let figure = Figure::named("split-last").expect("in the catalogue");
/// let weighed = weigh(&line, &Casting::default(), &figure, None)?;
/// let said: Vec<_> = weighed[1].reasons.iter().map(ToString::to_string).collect();
/// assert_eq!(said[0], "leads into the change to G7");
/// assert!(said.contains(&"quick notes last only 90 ms at this tempo".to_string()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// As [`advise`], except for [`AdviseError::Enough`].
pub fn weigh(
    line: &Line,
    casting: &Casting,
    figure: &Arc<Figure>,
    spelling: Option<Spelling>,
) -> Result<Vec<Suggestion>> {
    if line.chords().iter().all(|chord| chord.symbol.chord().is_none()) {
        return Err(AdviseError::NoChords);
    }
    recast::apply(line, casting)?;
    let (context, slots) = (Context::of(line), Slots::of(line)?);
    let fitting = windows(line, &context, &slots, figure, spelling)?;
    if fitting.is_empty() {
        let mut others = Vec::new();
        for other in Figure::all() {
            if !windows(line, &context, &slots, other, None)?.is_empty() {
                others.push(other.name().to_string());
            }
        }
        return Err(AdviseError::NoWindow { figure: figure.name().into(), others });
    }
    let is_free =
        |(window, _): &(Window, Span)| casting.at(window.start).is_none() && !casting.overlaps(window);
    let free: Vec<(Window, Span)> = fitting.into_iter().filter(is_free).collect();
    if free.is_empty() {
        return Err(AdviseError::Taken { figure: figure.name().into() });
    }
    let plan = hand::fret(line, None)?;
    let fast = tempo::reasons(line, casting, &free)?;
    let mut recast = Vec::with_capacity(casting.windows().len());
    for window in casting.windows() {
        recast.push(line.bars().split(window.start)?);
    }
    let mut weighed = Vec::with_capacity(free.len());
    for ((window, span), fast) in free.into_iter().zip(fast) {
        let mut reasons = context.reasons(span);
        reasons.extend(fretting::reason(&window, context.notes(span), &plan));
        reasons.extend(fast);
        let (bar, offset) = line.bars().split(span.start())?;
        if bar.checked_sub(1).is_some_and(|before| recast.binary_search(&(before, offset)).is_ok()) {
            reasons.push(Reason::SameSpot);
        }
        let place = line.bars().place(span.start())?;
        weighed.push(sorted(Suggestion { window, place, weight: 0, reasons }));
    }
    Ok(weighed)
}

/// A suggestion with its reasons in order, and their sum.
fn sorted(mut suggestion: Suggestion) -> Suggestion {
    suggestion.weight = suggestion.reasons.iter().map(Reason::weight).sum();
    let rank = |reason: &Reason| (reason.weight() < 0, -reason.weight().abs());
    crate::order::sort(&mut suggestion.reasons, rank);
    suggestion
}

fn span(window: &Window) -> Result<Span> {
    Ok(Span::starting(window.start, window.figure.span())?)
}

/// All windows that start with a half-bar, can be recast and leave landings where they are, in order of time.
fn windows(
    line: &Line,
    context: &Context<'_>,
    slots: &Slots,
    figure: &Arc<Figure>,
    spelling: Option<Spelling>,
) -> Result<Vec<(Window, Span)>> {
    let asked = spelling.as_ref().map_or(figure.spellings(), std::slice::from_ref);
    let mut found = Vec::new();
    for &start in &slots.starts {
        for &spelling in asked {
            let window = Window::new(start, Arc::clone(figure), spelling);
            if recast::can_recast(line, &window).is_err() {
                continue;
            }
            let span = span(&window)?;
            if context.keeps_landings(&window, span)? {
                found.push((window, span));
                break;
            }
        }
    }
    Ok(found)
}

/// Where the half-bars of a line start.
struct Slots {
    starts: Vec<Onset>,
}

impl Slots {
    fn of(line: &Line) -> Result<Slots> {
        let mut starts = Vec::new();
        for index in 0..line.bar_count() {
            starts.extend(recast::window_starts(line, index, Grid::Groups)?);
        }
        Ok(Slots { starts })
    }

    /// The half-bars that share time with a span: the first one, and the one after the last. Number 0 is what a pickup has of a half-bar that
    /// starts before it.
    fn touched(&self, span: Span) -> (usize, usize) {
        let first = self.starts.partition_point(|start| *start <= span.start());
        (first, self.starts.partition_point(|start| *start < span.end()) + 1)
    }
}

/// Where a window lies.
struct Spot {
    /// The half-bars that it touches: the first one, and the one after the last.
    half_bars: (usize, usize),
    /// Its bar, and where it starts there.
    in_bar: (usize, Duration),
}

impl Spot {
    /// The index of the window at the same spot in the bar before.
    fn before(&self, spots: &[Spot]) -> Option<usize> {
        let before = (self.in_bar.0.checked_sub(1)?, self.in_bar.1);
        spots.binary_search_by_key(&before, |spot| spot.in_bar).ok()
    }

    /// Whether a density allows this window beside those that are recast already, which are in order of time.
    fn is_free(&self, taken: &[(usize, usize)], density: Density) -> bool {
        let between = density.plain_between();
        if between == 0 {
            return true;
        }
        let (first, end) = self.half_bars;
        let next = taken.partition_point(|(other, _)| *other < first);
        let is_clear_before = next.checked_sub(1).is_none_or(|before| taken[before].1 + between <= first);
        let is_clear_after = taken.get(next).is_none_or(|(other, _)| end + between <= *other);
        is_clear_before && is_clear_after
    }

    fn choice(&self, spots: &[Spot], weight: i32) -> Choice {
        let (start, end) = self.half_bars;
        let same_spot = self.before(spots).map(|before| spots[before].half_bars.0);
        Choice { start, covers: end - start, weight, same_spot }
    }
}
