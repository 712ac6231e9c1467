//! What the fields say, as a sound file.

use halfbar_core::line::Heading;
use halfbar_core::perform::{self, Practice};
use halfbar_core::sound::{self, Levels};
use halfbar_core::write;
use halfbar_dom::{Result, create};
use js_sys::{Array, Uint8Array};
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, Url};

use super::controls;
use super::player::Plan;
use crate::form::Told;

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
        let Heading { feel, .. } = *piece.line.heading();
        let piece = piece.paced(plan.tempo, plan.feel.unwrap_or(feel))?;
        let Plan { stretch, count_in, metronome, .. } = *plan;
        let take = perform::take(&piece, &Practice { stretch, times, count_in, metronome })?;
        write::wav::document(&sound::mix(&take, &levels, RATE), RATE)
    })()
    .map_err(|error: halfbar_core::Error| error.to_string()))
}

/// Hands a file to the browser to be saved.
pub(super) fn save(file: &[u8], kind: &str, name: &str) -> Result<()> {
    let kind_of = BlobPropertyBag::new();
    kind_of.set_type(kind);
    let parts = Array::of1(&Uint8Array::from(file));
    let blob = Blob::new_with_u8_array_sequence_and_options(&parts, &kind_of)?;
    let address = Url::create_object_url_with_blob(&blob)?;
    let link: HtmlAnchorElement = create("a")?;
    link.set_href(&address);
    link.set_download(name);
    link.click();
    Url::revoke_object_url(&address)
}
