//! Serde for the types that have a text form: each is a string, written by its `Display` and read by its
//! `FromStr`.

use std::fmt;
use std::marker::PhantomData;
use std::str::FromStr;

use serde::de::{Deserialize, Deserializer, Error, Visitor};
use serde::ser::{Serialize, Serializer};

use crate::advise::Density;
use crate::bars::Place;
use crate::chord::{ChordSymbol, Degree, Quality};
use crate::dialect::Dialect;
use crate::drill::{Cycle, Side};
use crate::engrave::{View, Width};
use crate::fretboard::Labels;
use crate::key::Key;
use crate::line::{Degrees, Feel, SwingRatio, Tempo};
use crate::meter::Meter;
use crate::neck::{Neck, Tuning};
use crate::perform::Metronome;
use crate::pitch::{Pitch, PitchName};
use crate::recast::{Fit, Spelling};
use crate::scale::Scale;
use crate::technique::{Constraint, FingeringStyle, Picking, PickingStyle};
use crate::time::{Duration, Onset};
use crate::worksheet::{Format, SheetNames};

/// Reads a string by `FromStr`.
struct Text<T>(PhantomData<T>);

impl<T: FromStr<Err: fmt::Display>> Visitor<'_> for Text<T> {
    type Value = T;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a string")
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<T, E> {
        text.parse().map_err(E::custom)
    }
}

macro_rules! as_text {
    ($($type:ty),+ $(,)?) => {$(
        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $type {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<$type, D::Error> {
                deserializer.deserialize_str(Text(PhantomData))
            }
        }
    )+};
}

// Not `Pin`, `Strings` and `SystemBreaks`: an empty one has no text.
as_text!(
    ChordSymbol,
    Constraint,
    Cycle,
    Degree,
    Degrees,
    Density,
    Dialect,
    Duration,
    Feel,
    FingeringStyle,
    Fit,
    Format,
    Key,
    Labels,
    Meter,
    Metronome,
    Neck,
    Onset,
    Picking,
    PickingStyle,
    Pitch,
    PitchName,
    Place,
    Quality,
    Scale,
    SheetNames,
    Side,
    Spelling,
    SwingRatio,
    Tempo,
    Tuning,
    View,
    Width,
);
