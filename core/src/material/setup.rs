//! Where material is set: its bars, the neck, and the part of it.

use crate::bars::Bars;
use crate::drill::Region;
use crate::key::Key;
use crate::line::{Heading, Line};
use crate::meter::Meter;
use crate::pitch::Pitch;

/// The bars and the neck that material is made for.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Setup {
    /// Meter, key and pickup, with their changes.
    pub bars: Bars,
    /// The heading of the line that is made. Its neck counts for what can be played.
    pub heading: Heading,
    /// The strings and the highest fret to use.
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

    /// Whether the region has a pitch.
    pub(super) fn has(&self, pitch: Pitch) -> bool {
        self.region.has(&self.heading.neck, pitch, None, true, true)
    }

    /// The keys that the region has.
    pub(super) fn keys(&self) -> impl Iterator<Item = i32> {
        let neck = &self.heading.neck;
        let strings = super::placing::strings(self);
        let keys = strings.into_iter().flat_map(move |string| {
            let frets = (0..=self.region.up_to.0).map(crate::neck::Fret);
            frets.filter_map(move |fret| neck.sounding(string, fret))
        });
        keys.map(|key| i32::from(key.0))
    }

    /// Twice the key in the middle of the region.
    pub(super) fn middle(&self) -> i32 {
        self.keys().min().unwrap_or(0) + self.keys().max().unwrap_or(0)
    }
}
