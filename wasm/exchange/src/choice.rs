//! What there is to choose from in a file: its voices, and of notes that sound together the top and the bottom ones.

use halfbar_core::engrave::{Layout, View, Width};
use halfbar_core::exchange::midi::MidiError;
use halfbar_core::exchange::{Choice, Contents, ExchangeError, Imported, Keep};
use halfbar_core::{Piece, write};
use halfbar_words::exchange as says;

/// How many bars a picture shows, and how wide it is, in staff spaces.
const BARS: usize = 2;
const WIDTH: f64 = 60.0;

/// One thing that can be chosen.
pub(crate) struct Voice {
    pub(crate) choice: Choice,
    /// Part, staff and voice as far as the file has several, which notes, and how many.
    pub(crate) label: String,
    pub(crate) notes: usize,
    pub(crate) together: usize,
}

/// All that can be chosen, in the order of the file.
pub(crate) fn voices(contents: &Contents) -> Vec<Voice> {
    let mut voices = Vec::new();
    for (part, of_part) in contents.parts.iter().enumerate() {
        for (staff, of_staff) in of_part.staves.iter().enumerate() {
            for (voice, of_voice) in of_staff.voices.iter().enumerate().filter(|(_, voice)| voice.notes > 0) {
                let mut place = match of_part.name.trim() {
                    "" => says::part(part + 1),
                    name => name.to_string(),
                };
                if of_part.staves.len() > 1 {
                    place += &says::staff(of_staff.number);
                }
                if of_staff.voices.len() > 1 {
                    place += &says::voice(&of_voice.name);
                }
                let (notes, together) = (of_voice.notes, of_voice.together);
                let kept: &[_] = match together {
                    0 => &[(Keep::Single, "")],
                    _ => &[(Keep::Top, says::TOP_NOTES), (Keep::Bottom, says::BOTTOM_NOTES)],
                };
                voices.extend(kept.iter().map(|&(keep, which)| Voice {
                    choice: Choice { part, staff, voice, keep, ..Choice::default() },
                    label: says::label(&place, which, notes),
                    notes,
                    together,
                }));
            }
        }
    }
    voices
}

/// The first bars of a voice as they are written, as SVG: in another octave where only that is on the neck, and in the likely key where the file says none.
pub(crate) fn picture(contents: &Contents, choice: &Choice) -> Result<String, ExchangeError> {
    let mut choice = choice.clone();
    let mut begun = contents.beginning(&choice, BARS);
    if let Err(ExchangeError::Midi(MidiError::Key { likely })) = begun {
        choice.key = Some(likely);
        begun = contents.beginning(&choice, BARS);
    }
    if let Err(ExchangeError::OffNeck { octaves, .. }) = begun {
        choice.octaves = choice.octaves.saturating_add(octaves);
        begun = contents.beginning(&choice, BARS);
    }
    let Imported { line, casting, .. } = begun?;
    let layout = Layout { view: View::Staff, width: Width::nearest(WIDTH), head: false, ..Layout::default() };
    let scene = Piece::new(line, casting)?.engrave(&layout);
    Ok(scene.systems.first().map(|system| write::svg::system(&scene, system)).unwrap_or_default())
}
