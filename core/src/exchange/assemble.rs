//! One voice of a file -> a line: its figures are found, and the hand is told what the file says about it.

use crate::bars::Bars;
use crate::error::Error;
use crate::line::{Line, Part};
use crate::recast::{self, Casting, Spelling, Window};
use crate::time::{Duration, Onset, Span};
use crate::write;

use super::choice::Format;
use super::draft::{Draft, Sounding, sounding};
use super::error::{ExchangeError, Result};
use super::remark::Remark;
use super::{hands, own};

/// A line that was in a file.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Imported {
    /// The plain line.
    pub line: Line,
    /// The figures that were found in it.
    pub casting: Casting,
    /// Its text.
    pub text: String,
    /// What was left out and changed.
    pub remarks: Vec<Remark>,
}

/// Makes a line of a draft from a file of this format. The line's own text counts if its music is that of the file.
pub(super) fn assemble(mut draft: Draft, format: Format) -> Result<Imported> {
    if let Some(text) = draft.text.take() {
        if let Some(piece) = own::piece(&text) {
            if let Some(remarks) = own::beside(&piece, &draft, format) {
                let (line, casting) = piece.into_parts();
                return Ok(Imported { line, casting, text, remarks });
            }
            draft.heading = own::heading(piece.line().heading(), &draft);
        }
        draft.remarks.insert(0, Remark::Edited);
    }
    on_the_neck(&draft)?;
    let Draft { heading, bars, parts, chords, tuplets, hands, mut remarks, .. } = draft;
    // What the hands are to do travels with the notes while figures are found.
    let parts = parts.into_iter().zip(hands).map(|(part, pin)| Part { pin, ..part });
    let line = Line::new(heading, bars.clone(), on_beats(&bars, parts)?, chords).map_err(Error::from)?;
    let spelled = |windows: &[Window]| spelled(windows, &tuplets);
    let (plain, casting) = recast::reduce_as(&line, &spelled).map_err(Error::from)?;
    let line = hands::settle(&with_long_rests(&plain)?, &casting, &mut remarks)?;
    let text = write::text::line(&line, &casting)?;
    Ok(Imported { line, casting, text, remarks })
}

/// Checks that the neck has all notes.
fn on_the_neck(draft: &Draft) -> Result<()> {
    let (lowest, highest) = draft.heading.neck.range();
    let (low, high) = (i16::from(lowest.0), i16::from(highest.0));
    let sounding = sounding(&draft.parts)?;
    let both = |(at, _, pitch, grace): &Sounding| {
        [Some(*pitch), *grace].map(|pitch| Some((*at, pitch?, i16::from(pitch?.midi()?.0))))
    };
    let notes = || sounding.iter().flat_map(both).flatten();
    let keys = || notes().map(|(_, _, key)| key);
    let Some((at, pitch, key)) = notes().find(|(_, _, key)| !(low..=high).contains(key)) else {
        return Ok(());
    };
    // As many whole octaves as the farthest note needs.
    let octaves = match key < low {
        true => keys().min().map_or(0, |lowest| (low - lowest + 11) / 12),
        false => -keys().max().map_or(0, |highest| (highest - high + 11) / 12),
    };
    let fits = keys().all(|key| (low..=high).contains(&(key + 12 * octaves)));
    let named = |key| draft.bars.key(0).spell(key).unwrap_or(pitch);
    Err(ExchangeError::OffNeck {
        place: draft.bars.place(at)?,
        pitch,
        lowest: named(lowest),
        highest: named(highest),
        octaves: i8::try_from(octaves).unwrap_or(0),
        fits,
    })
}

/// The parts with rests cut at each quarter note of their bars, as figures with rests have them.
fn on_beats(bars: &Bars, parts: impl Iterator<Item = Part>) -> Result<Vec<Part>> {
    let (mut cut, mut at) = (Vec::new(), Onset::ZERO);
    for part in parts {
        let end = at.checked_add(part.duration)?;
        while part.pitch.is_none() && at < end {
            let (bar, offset) = bars.split(at)?;
            let next = offset.floor_to(Duration::QUARTER)?.checked_add(Duration::QUARTER)?;
            let until = at.checked_add(next.checked_sub(offset)?)?.min(end).min(bars.span(bar)?.end());
            cut.push(Part::rest(until.checked_since(at)?));
            at = until;
        }
        if part.pitch.is_some() {
            cut.push(part);
        }
        at = end;
    }
    Ok(cut)
}

/// The line with one rest where there are several in a bar.
fn with_long_rests(line: &Line) -> Result<Line> {
    let mut parts: Vec<Part> = Vec::new();
    for event in line.events() {
        let starts_a_bar = line.bars().split(event.onset)?.1 == Duration::ZERO;
        match parts.last_mut() {
            Some(rest) if !starts_a_bar && rest.pitch.is_none() && event.pitch.is_none() => {
                rest.duration = rest.duration.checked_add(event.duration)?;
            }
            _ => parts.push(event.lasting(event.duration)),
        }
    }
    let (heading, bars, chords) = (line.heading().clone(), line.bars().clone(), line.chords().to_vec());
    Ok(Line::new(heading, bars, parts, chords).map_err(Error::from)?)
}

/// Of the spellings that sound the same, the one that has the file's tuplets: one around all of a window is a bracket. If the file has
/// none there, the usual one.
fn spelled(windows: &[Window], tuplets: &[Span]) -> Option<usize> {
    let span = windows.first()?.span()?;
    let mut inside = tuplets.iter().filter(|tuplet| tuplet.overlaps(span)).peekable();
    inside.peek()?;
    let has_bracket = inside.any(|tuplet| *tuplet == span);
    windows.iter().position(|window| (window.spelling == Spelling::Bracket) == has_bracket)
}
