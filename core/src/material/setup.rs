//! Where material is set: its bars, the neck, and the part of it.

use crate::bars::Bars;
use crate::drill::Region;
use crate::harmony::{Tones, class, key_tones};
use crate::key::{Key, Mode};
use crate::line::{Heading, Line};
use crate::meter::Meter;
use crate::scale::Scale;

/// The bars and the neck that material is made for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Setup {
    /// Meter, key and pickup, with their changes.
    pub bars: Bars,
    /// The heading of the line that is made. Its neck counts for what can be played.
    pub heading: Heading,
    /// The strings and the highest fret to use. Only a pentatonic scale that covers all strings goes above that fret, and says so.
    pub region: Region,
}

impl Default for Setup {
    /// 4/4 in C major on a standard neck.
    fn default() -> Setup {
        Setup::new(Meter::COMMON, Key::C)
    }
}

impl Setup {
    /// A meter and a key on a standard neck.
    pub fn new(meter: Meter, key: Key) -> Setup {
        let bars = Bars::new(meter).in_key(key);
        Setup { bars, heading: Heading::default(), region: Region::default() }
    }

    /// The meter and key in which a line starts, its neck and how it is played.
    pub fn of(line: &Line) -> Setup {
        let (bars, heading) = (line.bars(), line.heading());
        let heading = Heading { title: String::new(), systems: Default::default(), ..heading.clone() };
        Setup { heading, ..Setup::new(bars.meter(0), bars.key(0)) }
    }
}

/// The key that a scale suggests: one that has all its tones, on its own tonic if possible. Otherwise the key on its tonic, minor if it has a minor
/// third but no major one; C major if that can't be written.
pub(super) fn key_of(scale: Scale) -> Key {
    let tones: Tones = scale.degrees().collect();
    let tonic = scale.tonic();
    let above = |half_steps: u8| tones.has((class(tonic) + half_steps) % 12);
    let mode = if above(3) && !above(4) { Mode::Minor } else { Mode::Major };
    let own = Key::new(tonic, mode).ok();
    let relatives = scale.degrees().filter_map(|tone| Key::new(tone, Mode::Major).ok());
    let mut keys = own.into_iter().chain(relatives);
    keys.find(|key| key_tones(*key).has_all(tones)).or(own).unwrap_or_default()
}
