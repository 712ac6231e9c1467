//! Why a note can't be played as it is settled, and what could be settled instead.

use crate::bars::Place;
use crate::line::{Event, Line};
use crate::neck::{Fret, Neck, Position, StringNo};
use crate::pitch::Pitch;
use crate::technique::Constraint;
use crate::time::Span;

use super::error::{FingeringError, Result};

/// The notes that start in a passage.
pub(super) fn notes(line: &Line, passage: Span) -> impl Iterator<Item = &Event> {
    line.events().iter().filter(move |event| event.pitch.is_some() && passage.contains(event.onset))
}

/// The places of a pitch that a hand in a position reaches: open strings, its four frets, one below and one above.
fn reached(neck: &Neck, pitch: Pitch, position: u8) -> impl Iterator<Item = (StringNo, Fret)> {
    let frets = position.saturating_sub(1)..=position.saturating_add(4);
    places(neck, pitch).filter(move |(_, fret)| fret.0 == 0 || frets.contains(&fret.0))
}

/// Every place of a pitch.
fn places(neck: &Neck, pitch: Pitch) -> impl Iterator<Item = (StringNo, Fret)> {
    pitch.midi().into_iter().flat_map(|key| neck.places(key))
}

/// What can't be asked of a note, with what could be.
pub(super) fn explained(error: FingeringError, line: &Line) -> FingeringError {
    let FingeringError::Pin { place, pitch, wants } = error else { return error };
    let neck = &line.heading().neck;
    match wants.as_slice() {
        [Constraint::Position(position)] => match held_in(line, place, *position) {
            Ok(Some(error)) => error,
            Ok(None) => FingeringError::Pin { place, pitch, wants },
            Err(error) => error,
        },
        _ => {
            let could = places(neck, pitch).collect();
            FingeringError::Conflict { place, pitch, wants, could }
        }
    }
}

/// Why a passage that is set in a position can't be played there, if one around this place is.
fn held_in(line: &Line, place: Place, position: u8) -> Result<Option<FingeringError>> {
    let (bars, neck) = (line.bars(), &line.heading().neck);
    let onset = bars.onset(place)?;
    let hold = line
        .constraints()
        .iter()
        .find(|hold| hold.want == Constraint::Position(position) && hold.span.contains(onset));
    let Some(hold) = hold else { return Ok(None) };
    let pitches = || notes(line, hold.span).filter_map(|event| Some((event, event.pitch?)));
    let is_in = |pitch: Pitch, position: u8| reached(neck, pitch, position).next().is_some();
    let missing = pitches().filter(|(_, pitch)| !is_in(*pitch, position));
    let missing: Result<Vec<_>> =
        missing.map(|(event, pitch)| Ok((bars.place(event.onset)?, pitch))).collect();
    let holds = (1..=neck.frets()).filter(|other| pitches().all(|(_, pitch)| is_in(pitch, *other)));
    let possible = holds.map(Position).collect();
    Ok(Some(FingeringError::Position { position: Position(position), missing: missing?, possible }))
}
