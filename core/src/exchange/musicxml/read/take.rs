//! One voice of a score -> a draft of a line.

use crate::exchange::choice::Choice;
use crate::exchange::draft::Draft;
use crate::exchange::error::{ExchangeError, Result};
use crate::exchange::remark::Remark;
use crate::line::{ChordAt, Feel, Heading, Part, SystemBreaks, Tempo};
use crate::neck::{Neck, Tuning};
use crate::pitch::Pitch;
use crate::technique::Pin;
use crate::time::{Duration, Onset};

use super::bars::{Timeline, timeline};
use super::chosen::{Chosen, Reading};
use super::direction::count;
use super::model::{LeftOut, Score, Staff};

/// The most letters of a title.
const LONGEST_TITLE: usize = 200;
/// Frets of a neck that a file says nothing about, and the most that one can have.
const FRETS: (u8, u8) = (22, 36);

/// The chosen voice.
pub(super) fn take(score: &Score, choice: &Choice) -> Result<Draft> {
    let staff = score.staves.get(choice.part).and_then(|staves| staves.get(choice.staff));
    let staff = staff.filter(|staff| choice.voice < staff.voices.len()).ok_or(ExchangeError::NoVoice)?;
    let timeline = timeline(score, choice.part, staff.number)?;
    let reading = Reading { score, part: choice.part, staff, voice: choice.voice, timeline: &timeline };
    let mut left_out = LeftOut::new();
    let mut notes = reading.chosen(choice.keep, &mut left_out)?;
    if !staff.is_fretted {
        without_hands(&mut notes, &mut left_out);
    }
    let (parts, hands) = parts(&notes, &timeline)?;
    let chords = chords(score, choice.part, &timeline, &mut left_out)?;
    let heading = heading(score, choice.part, staff, &notes, &timeline, &mut left_out);
    others(score, choice, &mut left_out);
    let of_part = score.parts.get(choice.part).into_iter().flat_map(|part| &part.bars);
    for (what, many) in of_part.flat_map(|bar| &bar.left_out) {
        *left_out.entry(what).or_default() += many;
    }
    let mut remarks: Vec<Remark> = Vec::new();
    if timeline.joined > 0 {
        remarks.push(Remark::Joined { bars: timeline.joined });
    }
    if timeline.filled > 0 {
        remarks.push(Remark::Filled { bars: timeline.filled });
    }
    remarks.extend(left_out.into_iter().map(|(what, count)| Remark::LeftOut { what, count }));
    let tuplets = reading.tuplets()?;
    Ok(Draft {
        heading,
        bars: timeline.bars.clone(),
        parts,
        chords,
        tuplets,
        hands,
        text: score.text.clone(),
        remarks,
    })
}

/// Where nothing says which string is meant, a number is a finger of another instrument, and a bow is a bow.
fn without_hands(notes: &mut [Chosen], left_out: &mut LeftOut) {
    for note in notes {
        let Pin { finger, stroke, .. } = std::mem::take(&mut note.hand);
        finger.iter().for_each(|_| count(left_out, "finger of another instrument"));
        stroke.iter().for_each(|_| count(left_out, "bow stroke"));
    }
}

/// The notes with rests between them, and what the file says about the hands for each.
fn parts(notes: &[Chosen], timeline: &Timeline) -> Result<(Vec<Part>, Vec<Pin>)> {
    let (mut parts, mut hands, mut at) = (Vec::new(), Vec::new(), Onset::ZERO);
    let rest_until = |at: Onset, end: Onset, parts: &mut Vec<Part>, hands: &mut Vec<Pin>| -> Result<()> {
        let mut at = at;
        while at < end {
            let (index, _) = timeline.bars.split(at)?;
            let until = timeline.bars.span(index)?.end().min(end);
            parts.push(Part::rest(until.checked_since(at)?));
            hands.push(Pin::default());
            at = until;
        }
        Ok(())
    };
    for note in notes {
        rest_until(at, note.onset, &mut parts, &mut hands)?;
        let Chosen { duration, pitch, grace, hand, legato, .. } = *note;
        parts.push(Part { duration, pitch: Some(pitch), pin: Pin::default(), legato, grace });
        hands.push(hand);
        at = note.end()?;
    }
    rest_until(at, timeline.end, &mut parts, &mut hands)?;
    Ok((parts, hands))
}

/// The chord symbols of the part; of the first part that has any if it has none.
fn chords(score: &Score, part: usize, timeline: &Timeline, left_out: &mut LeftOut) -> Result<Vec<ChordAt>> {
    let has_chords = |part: &&super::model::Part| part.bars.iter().any(|bar| !bar.chords.is_empty());
    let own = score.parts.get(part).filter(has_chords);
    let Some(part) = own.or_else(|| score.parts.iter().find(has_chords)) else { return Ok(Vec::new()) };
    let mut chords: Vec<ChordAt> = Vec::new();
    for (bar, place) in part.bars.iter().zip(&timeline.places) {
        for (at, symbol) in &bar.chords {
            let onset = place.start.checked_add(*at)?;
            if *at >= place.room
                || onset >= timeline.end
                || chords.iter().rev().take(8).any(|chord| chord.onset == onset)
            {
                count(left_out, "chord symbol");
            } else {
                chords.push(ChordAt { onset, symbol: symbol.clone() });
            }
        }
    }
    Ok(chords)
}

fn heading(
    score: &Score,
    part: usize,
    staff: &Staff,
    notes: &[Chosen],
    timeline: &Timeline,
    left_out: &mut LeftOut,
) -> Heading {
    let directions = &score.directions;
    let mut tempos = directions.tempos.iter().map(|(_, _, tempo)| *tempo);
    let first = tempos.next();
    let tempo = first.and_then(whole).and_then(Tempo::new);
    if first.is_some() && tempo.is_none() {
        count(left_out, "tempo out of range");
    }
    let mut before = first;
    for later in tempos {
        if before.replace(later) != Some(later) {
            count(left_out, "later tempo");
        }
    }
    let feel = directions.feels.first().map(|(_, _, feel)| *feel).or(directions.said);
    directions
        .feels
        .iter()
        .skip(1)
        .filter(|(_, _, later)| Some(*later) != feel)
        .for_each(|_| count(left_out, "later change of feel"));
    Heading {
        title: score.title.chars().take(LONGEST_TITLE).collect(),
        tempo: tempo.unwrap_or(Heading::default().tempo),
        feel: feel.unwrap_or(Feel::Straight),
        neck: neck(score, part, staff, notes, left_out),
        systems: systems(score, part, timeline),
        ..Heading::default()
    }
}

/// The nearest whole number.
fn whole(number: Duration) -> Option<u16> {
    let rounded =
        number.checked_add(Duration::of(1, 2)).and_then(|more| more.floor_to(Duration::QUARTER)).ok()?;
    u16::try_from(rounded.numer()).ok()
}

/// The neck: its strings, its capo, and as many frets as are played.
fn neck(score: &Score, part: usize, staff: &Staff, notes: &[Chosen], left_out: &mut LeftOut) -> Neck {
    let necks = score.parts.get(part).map(|part| &part.necks);
    let said = |number: u16| {
        necks.and_then(|necks| necks.get(&number)).filter(|neck| !neck.open.is_empty() || neck.capo.is_some())
    };
    let Some(said) = staff.tab.and_then(said).or_else(|| said(staff.number)) else {
        return sized(Tuning::standard(), 0, notes).unwrap_or_default();
    };
    let open: Vec<Pitch> = said.open.values().copied().collect();
    let tuning = if open.is_empty() { Ok(Tuning::standard()) } else { Tuning::new(&open) };
    let neck = tuning.ok().and_then(|tuning| sized(tuning, said.capo.unwrap_or(0), notes));
    neck.unwrap_or_else(|| {
        count(left_out, "tuning that a neck can't have");
        Neck::default()
    })
}

fn sized(tuning: Tuning, capo: u8, notes: &[Chosen]) -> Option<Neck> {
    let (usual, most) = FRETS;
    let played = notes.iter().filter_map(|note| note.hand.fret).map(|fret| fret.0).max().unwrap_or(0);
    let frets = played.saturating_add(capo).clamp(usual, most);
    Neck::new(tuning).sized(&format!("{frets} frets, capo {capo}")).ok()
}

/// Where systems break.
fn systems(score: &Score, part: usize, timeline: &Timeline) -> SystemBreaks {
    let bars = score.parts.get(part).into_iter().flat_map(|part| &part.bars);
    let starts = bars.zip(&timeline.places).filter(|(bar, place)| bar.starts_system && place.index > 0);
    let mut at: Vec<u16> =
        starts.filter_map(|(_, place)| u16::try_from(timeline.bars.number(place.index)).ok()).collect();
    at.dedup();
    SystemBreaks { every: None, at }
}

/// Counts what else the file has.
fn others(score: &Score, choice: &Choice, left_out: &mut LeftOut) {
    for (part, staves) in score.staves.iter().enumerate() {
        if part == choice.part {
            staves
                .iter()
                .flat_map(|staff| &staff.voices)
                .skip(1)
                .for_each(|_| count(left_out, "other voice"));
        } else if staves.iter().any(|staff| !staff.voices.is_empty()) {
            count(left_out, "other part");
        }
    }
}
