//! Everything that is heard of a take, as one row of samples.

use crate::perform::{ClickKind, Take};
use crate::time::Onset;

use super::note::Note;
use super::samples::add;
use super::{click, comp, pluck};

/// How loud each part is, from 0 (silent) to 1.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Levels {
    /// The line.
    pub line: f32,
    /// The metronome and the count-in.
    pub click: f32,
    /// The thirds and sevenths of the chords.
    pub chords: f32,
    /// The roots of the chords.
    pub bass: f32,
}

impl Default for Levels {
    /// The line with its clicks, without chords.
    fn default() -> Levels {
        Levels { line: 1.0, click: 0.7, chords: 0.0, bass: 0.0 }
    }
}

/// The highest sample: 1 dB below full scale, so that no later step clips (common practice, no source).
const CEILING: f32 = 0.891;

/// The samples of a take at this sample rate, until everything has died away.
///
/// Each part is put at the sample nearest to its exact time. If parts add up to more than 1 dB below full
/// scale, the whole take is made softer by as much: nothing clips, and nothing is compressed.
///
/// ```
/// use halfbar_core::perform::Practice;
/// use halfbar_core::sound::{Levels, mix};
/// use halfbar_core::time::{Onset, Span};
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("tempo: 240\n@C6 C4 D E G C5:2 |");
/// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
/// let stretch = Span::new(Onset::ZERO, piece.line().end()).expect("forwards");
/// let take = piece.take(&Practice { stretch, times: 1, count_in: 0, metronome: "2+4".parse().expect("a name") })?;
/// let samples = mix(&take, &Levels { chords: 0.5, bass: 0.5, ..Levels::default() }, 48_000);
/// assert!(samples.len() > 48_000 && samples.iter().all(|sample| sample.abs() < 0.9));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn mix(take: &Take, levels: &Levels, rate: u32) -> Vec<f32> {
    let mut row = vec![0.0; take.sample(take.end, rate)];
    let lasts = |from: Onset, to: Onset| take.seconds(to) - take.seconds(from);
    if levels.line > 0.0 {
        for sound in &take.sounds {
            let note = pluck(&Note::from(sound), rate, lasts(sound.start, sound.end));
            add(&mut row, take.sample(sound.start, rate), &note, levels.line);
        }
    }
    if levels.click > 0.0 {
        let kinds =
            [ClickKind::Accent, ClickKind::Beat, ClickKind::Subdivision].map(|kind| click(kind, rate));
        for click in &take.clicks {
            add(&mut row, take.sample(click.at, rate), &kinds[click.kind as usize], levels.click);
        }
    }
    for change in &take.changes {
        let Some(voicing) = comp::Voicing::of(&change.symbol) else { continue };
        let (start, end) = (change.span.start(), change.span.end());
        let shell = voicing.shell.into_iter().flatten().map(|key| (key, levels.chords));
        for (key, level) in [(voicing.bass, levels.bass)].into_iter().chain(shell) {
            if level > 0.0 {
                let pad = comp::pad(key, rate, lasts(start, end));
                add(&mut row, take.sample(start, rate), &pad, level);
            }
        }
    }
    let peak = row.iter().fold(0.0f32, |peak, sample| peak.max(sample.abs()));
    if peak > CEILING {
        row.iter_mut().for_each(|sample| *sample *= CEILING / peak);
    }
    row
}
