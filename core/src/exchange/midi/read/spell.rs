//! Which key the notes of a voice belong to.

use super::events::Note;
use crate::key::Key;
use crate::pitch::MidiKey;

/// The major key with the fewest notes outside; of several, the one with the fewest sharps or flats. A guess to offer, not to use unasked.
pub(super) fn likely(notes: &[Note]) -> Key {
    let keys = (0..12).map(|half_steps| Key::C.moved(half_steps));
    let outside = |key: &Key| {
        let strange = notes.iter().filter(|note| {
            key.spell(MidiKey(note.key)).is_none_or(|pitch| key.alter(pitch.name.letter) != pitch.name.alter)
        });
        (strange.count(), key.fifths().abs())
    };
    keys.min_by_key(outside).unwrap_or_default()
}
