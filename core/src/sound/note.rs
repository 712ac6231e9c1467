//! A note as a string plays it.

use crate::attack::Attack;
use crate::neck::StringNo;
use crate::perform::Sound;
use crate::pitch::MidiKey;

/// A note to be plucked.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Note {
    /// The key that sounds.
    pub key: MidiKey,
    /// The string. From the third on, strings are wound and sound darker.
    pub string: Option<StringNo>,
    /// Whether it is accented.
    pub accent: bool,
    /// How it begins.
    pub attack: Attack,
}

impl From<&Sound> for Note {
    fn from(sound: &Sound) -> Note {
        let Sound { key, string, accent, attack, .. } = *sound;
        Note { key, string, accent, attack }
    }
}
