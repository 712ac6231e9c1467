//! A take: everything that is heard when a line, or a passage of it, is played from the count-in to the end.

use super::error::{LONGEST_MINUTES, PerformError, Result};
use crate::chord::ChordSymbol;
use crate::line::Tempo;
use crate::score::Score;
use crate::swing::Performed;
use crate::time::{Duration, Onset, Span, TimeError};

use super::clicks::{Click, Metronome, clicks, count_in};
use super::sounds::{Sound, sounds};
use crate::swing::{long_eighth, swung};

/// What to play.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Practice {
    /// The passage of the line.
    pub stretch: Span,
    /// How often it is played, at least once.
    pub times: u16,
    /// How many bars are counted in.
    pub count_in: u8,
    /// The metronome.
    pub metronome: Metronome,
}

/// A chord and how long it lasts.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Change {
    /// The symbol.
    pub symbol: ChordSymbol,
    /// When it starts and ends.
    pub span: Span,
}

/// What is heard. Each list is in order of time, in quarter notes from the start of the take: the first click
/// of the count-in, or the passage.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Take {
    /// The tempo.
    pub tempo: Tempo,
    /// The notes of the line.
    pub sounds: Vec<Sound>,
    /// The count-in and the metronome.
    pub clicks: Vec<Click>,
    /// The chords.
    pub changes: Vec<Change>,
    /// When it is over. What still sounds then dies away.
    pub end: Onset,
}

/// The chords of a line in order of time. Each lasts to the next one or to the bar line, where it is struck
/// again.
///
/// A chord starts along with the note under it. If there is none, it swings as an eighth would.
///
/// ```
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("feel: swing 2\n@Fm7 F3 Ab C @Bb7 D:5/2 | D:4 |");
/// let piece = Piece::new(reading.line.expect("two bars"), reading.casting)?;
/// let starts: Vec<_> = piece.changes()?.iter().map(|change| change.span.start().to_string()).collect();
/// assert_eq!(starts, ["0", "5/3", "4"]);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for times out of range.
pub fn changes(score: Score<'_>, performed: &Performed) -> Result<Vec<Change>> {
    let (line, bars) = (score.line, score.line.bars());
    let chords = line.chords();
    let mut changes = Vec::new();
    for (index, chord) in chords.iter().enumerate() {
        let until = chords.get(index + 1).map_or(line.end(), |next| next.onset);
        let mut from = chord.onset;
        while from < until {
            let to = until.min(bars.span(bars.split(from)?.0)?.end());
            let span =
                Span::new(played(score, performed, from)?, played(score, performed, to)?).ok_or(TimeError)?;
            changes.push(Change { symbol: chord.symbol.clone(), span });
            from = to;
        }
    }
    Ok(changes)
}

/// When a moment of the line comes as performed.
pub(crate) fn played(score: Score<'_>, performed: &Performed, onset: Onset) -> Result<Onset> {
    let event = score.timed.events.partition_point(|event| event.onset < onset);
    match (score.timed.events.get(event), performed.starts().get(event)) {
        (Some(event), Some(&start)) if event.onset == onset => return Ok(start),
        _ => {}
    }
    let bars = score.line.bars();
    let (bar, offset) = bars.split(onset)?;
    let in_beat = offset.checked_sub(offset.floor_to(Duration::QUARTER)?)?;
    if onset >= score.line.end() || !bars.meter(bar).has_quarter_beats() {
        return Ok(onset);
    }
    let feel = score.line.heading().feel;
    let long = long_eighth(feel, performed.tempo())?;
    Ok(onset.checked_sub(in_beat)?.checked_add(swung(in_beat, long)?)?)
}

/// Plays a passage of a piece.
///
/// Every moment is computed from the start of the take, so nothing drifts however often the passage repeats.
/// What sounds at the end of the passage ends there, a chord that sounds into it starts with it, and a grace
/// note before it is left out.
///
/// ```
/// use halfbar_core::perform::Practice;
/// use halfbar_core::time::{Onset, Span};
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("feel: straight\nC4 D E F G A B C | C:4 |");
/// let piece = Piece::new(reading.line.expect("two bars"), reading.casting)?;
/// let stretch = Span::new(Onset::at(2, 1), Onset::at(4, 1)).expect("forwards");
/// let practice = Practice { stretch, times: 2, count_in: 1, metronome: "2+4".parse().expect("a name") };
/// let take = piece.take(&practice)?;
/// // The count-in is a bar and two beats.
/// assert_eq!(take.sounds[0].start, Onset::at(6, 1));
/// assert_eq!((take.sounds.len(), take.clicks.len(), take.end), (8, 6 + 2, Onset::at(10, 1)));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`PerformError::Take`] if it would be empty or too long; also for times out of range.
pub fn take(score: Score<'_>, performed: &Performed, practice: &Practice) -> Result<Take> {
    let Practice { stretch, times, count_in: counted, metronome } = *practice;
    let tempo = performed.tempo();
    let (bars, heading) = (score.line.bars(), score.line.heading());
    let (mut clicked, lead) = count_in(bars, stretch.start(), counted)?;
    let length = stretch.length()?;
    let end = Onset::after(lead.checked_add(length.checked_mul(i64::from(times))?)?);
    let longest = Duration::new(LONGEST_MINUTES * i64::from(tempo.quarters_per_minute()), 1)?;
    if length == Duration::ZERO || times == 0 || end.since_start() > longest {
        return Err(PerformError::Take);
    }
    let heard = sounds(score, performed)?;
    // A grace note goes with its note, which is the next one. At the start of the passage, there is no time
    // for it.
    let inside = |index: usize, sound: &Sound| {
        stretch.contains(sound.start)
            && (!sound.grace || heard.get(index + 1).is_some_and(|note| stretch.contains(note.start)))
    };
    let heard_inside = heard.iter().enumerate().filter(|(index, sound)| inside(*index, sound));
    let line: Vec<&Sound> = heard_inside.map(|(_, sound)| sound).collect();
    let clicks = clicks(bars, stretch, metronome, heading)?;
    let chords = changes(score, performed)?;
    let (mut sounds, mut changes) = (Vec::new(), Vec::new());
    for time in 0..times {
        let start = lead.checked_add(length.checked_mul(i64::from(time))?)?;
        let shift = start.checked_sub(stretch.start().since_start())?;
        for sound in &line {
            let end = sound.end.min(stretch.end()).checked_add(shift)?;
            sounds.push(Sound { start: sound.start.checked_add(shift)?, end, ..**sound });
        }
        for click in &clicks {
            clicked.push(Click { at: click.at.checked_add(shift)?, ..*click });
        }
        for chord in chords.iter().filter(|chord| chord.span.overlaps(stretch)) {
            let from = chord.span.start().max(stretch.start());
            let to = chord.span.end().min(stretch.end());
            let span = Span::new(from.checked_add(shift)?, to.checked_add(shift)?).ok_or(TimeError)?;
            changes.push(Change { symbol: chord.symbol.clone(), span });
        }
    }
    Ok(Take { tempo, sounds, clicks: clicked, changes, end })
}

impl Take {
    /// The sample nearest to a moment, at this sample rate; 0 before the start. Computed in integers, so that
    /// errors don't accumulate.
    pub fn sample(&self, onset: Onset, rate: u32) -> usize {
        let quarters = onset.since_start();
        let samples = i128::from(quarters.numer()) * 60 * i128::from(rate);
        let per = i128::from(quarters.denom()) * i128::from(self.tempo.quarters_per_minute());
        usize::try_from((2 * samples + per).div_euclid(2 * per)).unwrap_or(0)
    }

    /// A moment in seconds from the start of the take.
    pub fn seconds(&self, onset: Onset) -> f64 {
        onset.since_start().to_f64() * 60.0 / f64::from(self.tempo.quarters_per_minute())
    }
}
