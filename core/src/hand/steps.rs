//! Timed line -> what the hands have to do, note by note: every way to fret it, and what lies between it and the note before.

use super::error::{FingeringError, Result};
use crate::bars::Place;
use crate::line::{Legato, Line};
use crate::meter::Meter;
use crate::neck::{Finger, Fret, Neck, StringNo, Strings, Stroke};
use crate::pitch::Pitch;
use crate::recast::Timed;
use crate::swing::Performed;
use crate::technique::Constraint;
use crate::time::{Duration, Onset, TimeError};

use super::Fretting;
use super::weights::{Cost, FAST_EIGHTH_MS, hurry};

/// One note to be played. Rests have none.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Step {
    /// Every way to fret it that is left by what is settled; at least one.
    pub(super) frettings: Vec<Fretting>,
    /// From the start of the note before: in beats as written, and in milliseconds as played.
    pub(super) time: Duration,
    pub(super) ms: u32,
    /// What a shift to it costs in that time, in percent.
    pub(super) hurry: Cost,
    /// Nothing comes before it, or a rest, or a note so long that both hands start anew.
    pub(super) fresh: bool,
    /// How the note before leads into it.
    pub(super) led: Option<Legato>,
    /// Whether its stroke may be left out.
    pub(super) may_slur: bool,
    /// It comes on the beat, and sooner than in a line with time to strike every note.
    pub(super) hasty: bool,
    /// The stroke that is settled.
    pub(super) stroke: Option<Stroke>,
    /// The stroke of a hand that swings with the beat: down on it, up off it (common practice, no source).
    pub(super) natural: Stroke,
    /// The stroke of picking by the beat: down on it, by turns between beats, up half way where notes before it are missing.
    pub(super) by_beat: Stroke,
}

/// A note this long leaves the pick time to return, and the hand time to settle.
const TIME_TO_RETURN: Duration = Duration::of(2, 1);

/// The steps of a line, each with the index of its event.
///
/// # Errors
/// [`FingeringError::OffNeck`], [`FingeringError::Pin`], [`FingeringError::LedStroke`] and [`FingeringError::Apart`].
pub(super) fn steps(timed: &Timed, performed: &Performed, line: &Line) -> Result<Vec<(usize, Step)>> {
    let neck = &line.heading().neck;
    let mut steps: Vec<(usize, Step)> = Vec::new();
    // The strokes of picking by the beat depend on the notes before.
    let mut by_beat: Option<(Onset, Stroke)> = None;
    for (index, event) in timed.events.iter().enumerate() {
        let Some(pitch) = event.pitch else { continue };
        let before = steps.last().map(|&(before, _)| before);
        let (bar, offset) = timed.bars.split(event.onset)?;
        let (beat, in_beat) = beat(timed.bars.meter(bar), offset)?;
        let (mut time, mut ms, mut fresh, mut hasty) = (Duration::ZERO, 0, true, false);
        if let Some(before) = before {
            let (from, to) = (&timed.events[before], event);
            let apart = to.onset.checked_since(from.onset)?;
            let unswung = performed.seconds(Onset::after(apart)) * 1000.0;
            hasty = in_beat == Duration::ZERO && unswung < FAST_EIGHTH_MS;
            time = in_beats(apart, beat)?;
            ms = milliseconds(performed, before, index);
            fresh = index > before + 1 || from.duration >= TIME_TO_RETURN;
        }
        let led = index.checked_sub(1).and_then(|before| timed.events[before].legato);
        fresh &= led.is_none();
        let hurry = hurry(ms);
        let natural = if is_even(in_beat) { Stroke::Down } else { Stroke::Up };
        let turn = match by_beat {
            _ if in_beat == Duration::ZERO => Stroke::Down,
            Some((last, _))
                if in_beat == Duration::EIGHTH && event.onset.checked_since(last)? > Duration::EIGHTH =>
            {
                natural
            }
            Some((_, stroke)) if !fresh => stroke.other(),
            _ => natural,
        };
        by_beat = Some((event.onset, turn));
        let wants: Vec<Constraint> = line.constraints_on(event).collect();
        let place = timed.bars.place(event.onset)?;
        let frettings = frettings(place, pitch, &wants, neck)?;
        let stroke = settled_stroke(&wants).map_err(|wants| FingeringError::Pin { place, pitch, wants })?;
        if let (Some(_), Some(stroke)) = (led, stroke) {
            return Err(FingeringError::LedStroke { place, pitch, stroke });
        }
        if let (Some(_), Some((before, from))) = (led, steps.last()) {
            let pitches = [timed.events[*before].pitch.unwrap_or(pitch), pitch];
            if let Some(strings) = settled_apart([&from.frettings, &frettings], pitches, neck) {
                return Err(FingeringError::Apart { place, pitch, strings });
            }
        }
        // A grace note is struck for the note that it leads into.
        let may_slur =
            event.grace.is_none() && (line.heading().picking.slurs || wants.contains(&Constraint::Slurs));
        // What is settled for the note goes before what is said of the line.
        let stroke = stroke.or(line.heading().picking.first.filter(|_| steps.is_empty()));
        steps.push((
            index,
            Step { frettings, time, ms, hurry, fresh, led, may_slur, hasty, stroke, natural, by_beat: turn },
        ));
    }
    Ok(steps)
}

/// The length of the beat that `offset` lies in, in quarter notes, and how far into the beat it lies. Where beats are unequal, a beat is
/// a group.
fn beat(meter: Meter, offset: Duration) -> Result<(Duration, Duration)> {
    if meter.has_quarter_beats() {
        return Ok((Duration::QUARTER, offset.checked_sub(offset.floor_to(Duration::QUARTER)?)?));
    }
    let start = meter.group_starts().take_while(|start| *start <= offset).last().unwrap_or(Duration::ZERO);
    let dotted = meter.count().is_multiple_of(3);
    Ok((if dotted { Duration::of(3, 2) } else { Duration::QUARTER }, offset.checked_sub(start)?))
}

/// Whether a moment of the beat is one of a hand's down strokes, which come with every second eighth.
fn is_even(in_beat: Duration) -> bool {
    in_beat.is_multiple_of(Duration::QUARTER)
}

fn in_beats(time: Duration, beat: Duration) -> std::result::Result<Duration, TimeError> {
    time.checked_mul(beat.denom())?.checked_div(beat.numer())
}

fn milliseconds(performed: &Performed, from: usize, to: usize) -> u32 {
    let at = |event: usize| performed.starts().get(event).map_or(0.0, |&start| performed.seconds(start));
    // Whole lines last hours at most.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let ms = ((at(to) - at(from)) * 1000.0).round() as u32;
    ms
}

/// Every way to fret a note that what is settled leaves.
fn frettings(place: Place, pitch: Pitch, wants: &[Constraint], neck: &Neck) -> Result<Vec<Fretting>> {
    let mut frettings = everywhere(pitch, neck);
    if frettings.is_empty() {
        let (lowest, highest) = neck.range();
        return Err(FingeringError::OffNeck { place, pitch, lowest, highest });
    }
    frettings.retain(|fretting| wants.iter().all(|want| allows(*want, fretting)));
    match frettings.is_empty() {
        true => Err(FingeringError::Pin { place, pitch, wants: conflict(&everywhere(pitch, neck), wants) }),
        false => Ok(frettings),
    }
}

/// Every way to fret a pitch: string, fret, finger and position.
fn everywhere(pitch: Pitch, neck: &Neck) -> Vec<Fretting> {
    let mut frettings = Vec::with_capacity(64);
    for (string, fret) in pitch.midi().into_iter().flat_map(|key| neck.places(key)) {
        frettings.extend(at(string, fret, neck.frets()));
    }
    frettings
}

/// The fingers and positions for one place on the neck.
///
/// A hand in position `p` has its index finger at fret `p` and covers four frets, one a finger; the index reaches one fret back and
/// the little finger one fret on.
fn at(string: StringNo, fret: Fret, highest: u8) -> impl Iterator<Item = Fretting> {
    // From the natural reach outwards: fingers 1 to 4 at their frets, then the two stretches.
    let reaches: [(i16, u8); 6] = [(0, 1), (1, 2), (2, 3), (3, 4), (-1, 1), (4, 4)];
    let open = fret.0 == 0;
    let fretted = reaches.into_iter().filter_map(move |(reach, finger)| {
        let position = u8::try_from(i16::from(fret.0) - reach).ok()?;
        let playable = !open && (1..=highest).contains(&position);
        playable.then_some(Fretting { string, fret, finger: Finger(finger), position })
    });
    // An open string leaves the hand where it is.
    let opened = (1..=highest).map(move |position| Fretting { string, fret, finger: Finger(0), position });
    fretted.chain(opened.filter(move |_| open))
}

fn allows(want: Constraint, fretting: &Fretting) -> bool {
    match want {
        Constraint::String(string) => fretting.string == string,
        Constraint::Strings(strings) => strings.contains(fretting.string),
        Constraint::Fret(fret) => fretting.fret == fret,
        Constraint::Finger(finger) => fretting.finger == finger,
        Constraint::Position(position) => fretting.position == position,
        Constraint::Stroke(_) | Constraint::Slurs => true,
    }
}

/// As few wants as can't hold together.
fn conflict(all: &[Fretting], wants: &[Constraint]) -> Vec<Constraint> {
    let fails =
        |some: &[Constraint]| !all.iter().any(|fretting| some.iter().all(|want| allows(*want, fretting)));
    let mut few = wants.to_vec();
    // What can be left out without mending it is no part of the conflict.
    let mut index = 0;
    while index < few.len() {
        let mut without = few.clone();
        without.remove(index);
        if fails(&without) {
            few = without;
        } else {
            index += 1;
        }
    }
    few
}

/// The stroke that is settled, or the two that can't both hold.
fn settled_stroke(wants: &[Constraint]) -> std::result::Result<Option<Stroke>, Vec<Constraint>> {
    let mut strokes: Vec<Stroke> = Vec::new();
    for want in wants {
        if let Constraint::Stroke(stroke) = want
            && !strokes.contains(stroke)
        {
            strokes.push(*stroke);
        }
    }
    match strokes.as_slice() {
        [] => Ok(None),
        [stroke] => Ok(Some(*stroke)),
        _ => Err(strokes.into_iter().map(Constraint::Stroke).collect()),
    }
}

/// The strings of two joined notes, when what is settled keeps them apart.
fn settled_apart(settled: [&[Fretting]; 2], pitches: [Pitch; 2], neck: &Neck) -> Option<[Strings; 2]> {
    let strings =
        |frettings: &[Fretting]| frettings.iter().map(|fretting| fretting.string).collect::<Strings>();
    let settled = settled.map(strings);
    let free = pitches.map(|pitch| strings(&everywhere(pitch, neck)));
    (!settled[0].meets(settled[1]) && free[0].meets(free[1])).then_some(settled)
}
