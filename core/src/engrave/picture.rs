//! A figure's rhythm by itself: heads at one height, stems up, no staff. It is drawn by the same code as the
//! page.

use std::sync::Arc;

use crate::attack::Attacks;
use crate::bars::Bars;
use crate::error::Result;
use crate::line::{Event, NoteId};
use crate::meter::Meter;
use crate::notate;
use crate::pitch::{Alter, Letter, Pitch};
use crate::recast::{Figure, Spelling, Stretch, Timed, TimedWindow};
use crate::scene::{Scene, Sp, System};
use crate::technique::Pin;
use crate::time::{Duration, Onset, Span};

use super::accents::accents;
use super::measure::{Measure, Opening};
use super::notes::note;
use super::sign::Sign;
use super::skyline::Skyline;
use super::spacing::{force, lengths};
use super::stems::{StemRule, stems};
use super::ties::ties;
use super::tuplets::tuplet;
use super::view::View;

/// The middle line, as it sounds, so that no ledger lines take up room.
const PITCH: Pitch =
    Pitch { name: crate::pitch::PitchName { letter: Letter::B, alter: Alter::NATURAL }, octave: 3 };
/// The rest after the figure.
const FILLER: NoteId = NoteId(u32::MAX);
/// The width of a picture per quarter note of the figure.
const WIDTH_A_QUARTER: Sp = 5.2;
const MARGIN: Sp = 0.4;
/// No staff to keep clear of: from below everything to above everything.
const NO_STAFF: (Sp, Sp) = (Sp::MAX, Sp::MIN);
/// From the heads' center line up to the highest bracket number, and down to the lowest tie.
const ROOM_ABOVE: Sp = 4.6;
const ROOM_BELOW: Sp = 3.9;

/// A picture of every figure in the catalogue in its usual spelling, with its name.
///
/// # Errors
/// Same as [`picture`].
pub fn catalogue() -> Result<Vec<(String, Scene)>> {
    let pictures = Figure::all()
        .iter()
        .map(|figure| Ok((figure.name().to_string(), picture(Some((figure, figure.spellings()[0])))?)));
    pictures.collect()
}

/// The rhythm of a figure in a spelling or, without a figure, the plain eighths of a half-bar.
///
/// # Errors
/// Those of [`notate`](crate::notate::notate), if the figure can't be written.
pub fn picture(figure: Option<(&Arc<Figure>, Spelling)>) -> Result<Scene> {
    const PLAIN: [Stretch; 4] = [Stretch { duration: Duration::EIGHTH, sounds: true }; 4];
    let stretches = figure.map_or(PLAIN.as_slice(), |(figure, spelling)| figure.stretches(spelling));
    let (mut onset, mut events) = (Onset::ZERO, Vec::new());
    for (id, &Stretch { duration, sounds }) in (0..).zip(stretches) {
        let accent = id == 0 && figure.is_some_and(|(figure, _)| figure.is_accented());
        events.push(Event {
            id: NoteId(id),
            onset,
            duration,
            pitch: sounds.then_some(PITCH),
            pin: Pin::default(),
            legato: None,
            grace: None,
            accent,
        });
        onset = onset.checked_add(duration)?;
    }
    let mut windows = Vec::new();
    if let Some((figure, spelling)) = figure {
        let span = Span::starting(Onset::ZERO, figure.span())?;
        let (left_out, repeats) = (Vec::new(), Vec::new());
        windows.push(TimedWindow { span, spelling, tuplet: figure.tuplet(), left_out, repeats });
    }
    // Written as the start of a 4/4 bar. What fills up the bar is removed again once it is spelled.
    let rest = Meter::COMMON.bar().checked_sub(onset.since_start())?;
    if rest > Duration::ZERO {
        events.push(Event {
            id: FILLER,
            onset,
            duration: rest,
            pitch: None,
            pin: Pin::default(),
            legato: None,
            grace: None,
            accent: false,
        });
    }
    let timed = Timed { bars: Bars::new(Meter::COMMON), events, windows };
    let mut bar = notate::notate(&timed)?.bars.swap_remove(0);
    bar.symbols.retain(|symbol| symbol.note != FILLER);

    let measure =
        Measure::of(&bar, Opening::default(), &[], View::Staff, &Attacks::default(), false, |_| 0.0);
    let wide = WIDTH_A_QUARTER * onset.since_start().to_f64();
    let force = force(&measure.springs, wide);
    let mut x = MARGIN;
    let mut signs = Vec::new();
    for (symbol, length) in bar.symbols.iter().zip(lengths(&measure.springs, force)) {
        signs.push(Sign { symbol, bar: 0, x, y: 2.0, up: true, tip: 2.0, centered: false });
        x += length;
    }
    let (stem_items, mut groups) = stems(&mut signs, StemRule::HEADS_UP);
    for (sign, stem) in signs.iter().zip(stem_items) {
        groups.push(note(sign, View::Staff, 2.0, false, stem));
    }
    groups.extend(ties(&signs, 0.0, x));
    let (mut above, mut below) = (Skyline::new(), Skyline::new());
    for placed in groups.iter().flat_map(|group| &group.items) {
        let [left, top, right, bottom] = placed.bounds();
        above.add(left, right, -top);
        below.add(left, right, bottom);
    }
    groups.extend(accents(&signs, NO_STAFF, &mut above, &mut below));
    for one in bar.tuplets.iter().rev() {
        groups.extend(tuplet(&bar, one, &signs[one.symbols.clone()], (0.0, 4.0), &mut above, &mut below));
    }
    // All pictures have the same height, so that their heads line up side by side.
    let (above, below) = (above.farthest().max(ROOM_ABOVE), below.farthest().max(ROOM_BELOW));
    let rights = groups.iter().flat_map(|group| &group.items).map(|placed| placed.bounds()[2]);
    let width = rights.fold(0.0, Sp::max) + MARGIN;
    let system = System { top: above, above, below, bars: 0..1, edges: Vec::new(), groups, pads: Vec::new() };
    let title =
        figure.map_or("plain eighths".into(), |(figure, spelling)| format!("{}, {spelling}", figure.name()));
    let description = figure.map_or("four even notes".into(), |(figure, _)| figure.says().into());
    Ok(Scene {
        width,
        height: above + below,
        title,
        description,
        head: Vec::new(),
        head_height: 0.0,
        systems: vec![Arc::new(system)],
    })
}
