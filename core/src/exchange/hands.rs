//! What a file says about the hands -> pins, where the plan would be another one.
//!
//! A line is planned without pins first. Where its plan differs from the file, the first note of each passage that differs is pinned, and the line
//! is planned again, until the plan is the file's. Every pass pins something, so it ends. Pins that turn out to be needless are removed.

use std::sync::Arc;

use crate::error::{Error, Result};
use crate::hand::{self, Fingering, FrettingPlan};
use crate::line::{Line, NoteId, Part};
use crate::piece::Piece;
use crate::recast::{self, Casting};
use crate::technique::Pin;

use super::remark::Remark;

/// How many passes pin only the first note of each passage. Later ones pin every note.
const SPARING: usize = 12;
/// Up to how many pins are tried without one of them.
const FEW: usize = 24;

/// The line with the pins that it needs. Its own pins are what the file says.
pub(super) fn settle(line: &Line, casting: &Casting, remarks: &mut Vec<Remark>) -> Result<Line> {
    let (file, wrong) = playable(line);
    let bare = vec![Pin::default(); file.len()];
    // Rhythms that can't be written are found here, and hands that have no way to play the notes at all.
    let (plain, is_joined) = match Piece::new(pinned(line, &bare)?, casting.clone()) {
        Ok(piece) => (piece.into_parts().0, true),
        Err(error @ Error::Fingering(_)) => {
            let apart =
                Piece::new(without_joins(&pinned(line, &bare)?)?, casting.clone()).map_err(|_| error)?;
            (apart.into_parts().0, false)
        }
        Err(error) => return Err(error),
    };
    let places = |pin: &Pin| Pin { string: pin.string, fret: pin.fret, ..Pin::default() };
    let only_places: Vec<Pin> = file.iter().map(places).collect();
    let settled =
        [&file, &only_places].into_iter().find_map(|wanted| pins(&plain, casting, wanted).ok().flatten());
    let refused = match &settled {
        Some(_) if is_joined => 0,
        Some(_) => 1,
        None => file.iter().filter(|pin| !pin.is_empty()).count(),
    };
    if wrong + refused > 0 {
        remarks.push(Remark::Unplayable { notes: wrong + refused });
    }
    match settled {
        Some(pins) => pinned(&plain, &pins),
        None => Ok(plain),
    }
}

/// What the file says about each note, as far as the neck allows it, and for how many notes it doesn't.
fn playable(line: &Line) -> (Vec<Pin>, usize) {
    let (neck, mut wrong) = (&line.heading().neck, 0);
    let before = std::iter::once(None).chain(line.events().iter().map(Some));
    let pin = line.events().iter().zip(before).map(|(event, before)| {
        let Pin { string, fret, .. } = event.pin;
        // Notes that are joined lie on one string.
        let led_from = before.filter(|before| before.legato.is_some()).and_then(|before| before.pin.string);
        if led_from.is_some_and(|from| string.is_some_and(|string| string != from)) {
            wrong += 1;
            return Pin { stroke: None, ..Pin::default() };
        }
        let key = event.pitch.and_then(|pitch| pitch.midi());
        let is_there =
            |(on, at)| string.is_none_or(|string| string == on) && fret.is_none_or(|fret| fret == at);
        if key.is_some_and(|key| neck.places(key).any(is_there)) {
            return event.pin;
        }
        wrong += usize::from(string.is_some() || fret.is_some());
        Pin { string: None, fret: None, ..event.pin }
    });
    (pin.collect(), wrong)
}

/// The pins that make the plan what is wanted; `None` if that takes impossible ones.
fn pins(line: &Line, casting: &Casting, wanted: &[Pin]) -> Result<Option<Vec<Pin>>> {
    let mut pins = vec![Pin::default(); wanted.len()];
    let mut plan: Option<Plan> = None;
    for pass in 0.. {
        let Ok(next) = Plan::new(&pinned(line, &pins)?, casting, plan.as_ref()) else { return Ok(None) };
        let mut is_done = true;
        let mut differs_before = false;
        for ((event, wanted), pin) in line.events().iter().zip(wanted).zip(&mut pins) {
            let lacking = next.lacks(event.id, *wanted);
            if event.pitch.is_none() {
                continue;
            }
            if !lacking.is_empty() && (!differs_before || pass >= SPARING) {
                let both = Pin {
                    string: pin.string.or(lacking.string),
                    fret: pin.fret.or(lacking.fret),
                    finger: pin.finger.or(lacking.finger),
                    stroke: pin.stroke.or(lacking.stroke),
                };
                // A pin that the plan doesn't follow won't be followed in the next pass either.
                if both == *pin {
                    return Ok(None);
                }
                (*pin, is_done) = (both, false);
            }
            differs_before = !lacking.is_empty();
        }
        plan = Some(next);
        if is_done {
            break;
        }
    }
    if pins.iter().filter(|pin| !pin.is_empty()).count() <= FEW {
        thin_out(line, casting, wanted, &mut pins, plan.as_ref())?;
    }
    Ok(Some(pins))
}

/// Removes pins without which the plan is the same.
fn thin_out(
    line: &Line,
    casting: &Casting,
    wanted: &[Pin],
    pins: &mut [Pin],
    plan: Option<&Plan>,
) -> Result<()> {
    for index in 0..pins.len() {
        let pin = std::mem::take(&mut pins[index]);
        if pin.is_empty() {
            continue;
        }
        let without = Plan::new(&pinned(line, pins)?, casting, plan);
        let is_same = |plan: Plan| {
            line.events().iter().zip(wanted).all(|(event, wanted)| plan.lacks(event.id, *wanted).is_empty())
        };
        if !without.is_ok_and(is_same) {
            pins[index] = pin;
        }
    }
    Ok(())
}

/// What both hands do.
struct Plan {
    fretting: Arc<FrettingPlan>,
    fingering: Fingering,
}

impl Plan {
    fn new(line: &Line, casting: &Casting, before: Option<&Plan>) -> Result<Plan> {
        let timed = recast::apply(line, casting)?;
        let fretting = Arc::new(hand::fret(line, before.map(|before| before.fretting.as_ref()))?);
        let fingering =
            hand::pick(&timed, line, Arc::clone(&fretting), before.map(|before| &before.fingering))?;
        Ok(Plan { fretting, fingering })
    }

    /// What is wanted of a note and not so.
    fn lacks(&self, note: NoteId, wanted: Pin) -> Pin {
        let Some(planned) = self.fingering.of(note) else { return Pin::default() };
        let is_elsewhere = wanted.string.is_some_and(|string| string != planned.string)
            || wanted.fret.is_some_and(|fret| fret != planned.fret);
        let stroke = self.fingering.attacks().of(note).and_then(|attack| attack.stroke());
        Pin {
            string: wanted.string.filter(|_| is_elsewhere),
            fret: wanted.fret.filter(|_| is_elsewhere),
            finger: wanted.finger.filter(|finger| *finger != planned.finger && !is_elsewhere),
            stroke: wanted.stroke.filter(|wanted| stroke.is_some_and(|stroke| stroke != *wanted)),
        }
    }
}

fn pinned(line: &Line, pins: &[Pin]) -> Result<Line> {
    rebuilt(line, |part, index| Part { pin: pins.get(index).copied().unwrap_or_default(), ..part })
}

fn without_joins(line: &Line) -> Result<Line> {
    rebuilt(line, |part, _| Part { legato: None, ..part })
}

fn rebuilt(line: &Line, change: impl Fn(Part, usize) -> Part) -> Result<Line> {
    let parts =
        line.events().iter().enumerate().map(|(index, event)| change(event.lasting(event.duration), index));
    Ok(Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec())?)
}
