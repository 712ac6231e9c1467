//! What the fields say, as a sound file.

use halfbar_core::line::Heading;
use halfbar_core::perform::Practice;
use halfbar_core::sound::{self, Levels};
use halfbar_core::write;
use halfbar_dom::Result;
use halfbar_dom::form::Told;

use super::controls;
use halfbar_player::Plan;

/// Samples a second: enough for all that a guitar sounds, and usual in files.
const RATE: u32 = 44_100;

/// The file of a plan that is played so many times.
pub(super) fn wav(plan: &Plan, times: u16) -> Result<Told<Vec<u8>>> {
    let levels = Levels {
        line: controls::level("line")?,
        click: controls::level("click")?,
        chords: controls::level("chords")?,
        bass: controls::level("chords")?,
    };
    Ok((|| {
        let piece = &plan.versions[0];
        let Heading { feel, .. } = *piece.line().heading();
        let piece = piece.paced(plan.tempo, plan.feel.unwrap_or(feel))?;
        let Plan { stretch, count_in, metronome, .. } = *plan;
        let take = piece.take(&Practice { stretch, times, count_in, metronome })?;
        write::wav::document(&sound::mix(&take, &levels, RATE), RATE)
    })()
    .map_err(|error: halfbar_core::Error| error.to_string()))
}
