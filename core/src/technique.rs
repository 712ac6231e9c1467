//! How the player wants the line played: a fingering style, a picking style, and what is fixed for single
//! notes and passages.

use std::fmt;
use std::str::FromStr;

use crate::naming::{UnknownName, by_name, named, quoted};
use crate::neck::{Finger, Fret, Position, StringNo, Strings, Stroke};
use crate::time::Span;

/// The error for an instruction to the hands that can't be read.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum TechniqueError {
    /// Text that isn't a picking style.
    #[error(
        "`{text}` is not a picking style: write {}, then `slurs`, `first down` or `first up` if needed, separated by commas",
        crate::naming::one_of(&PickingStyle::ALL.map(PickingStyle::name))
    )]
    Picking {
        /// The text that was read.
        text: String,
    },
    /// Text that isn't a pin.
    #[error(
        "`{text}` does not pin a note: write a string, `.` and a fret, `/` and a finger 1 to 4, and `d` or `u`, or just some of these, such as `4.7/2d` or `4`"
    )]
    Pin {
        /// The text that was read.
        text: String,
    },
    /// Text that isn't a constraint.
    #[error(
        "`{text}` can't be set for a note or a passage: write `string 3`, `strings 4-2`, `fret 5`, `frets 0-14`, `finger 1`, \
         `position V`, `down`, `up`, `slurs`, `alternate`, `beat`, `economy` or `sweep`"
    )]
    Constraint {
        /// The text that was read.
        text: String,
    },
}

/// What the fretting hand prefers. A style is only a set of weights.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, Default)]
#[non_exhaustive]
pub enum FingeringStyle {
    /// Stay in one position for as long as it works.
    #[default]
    Position,
    /// Stay on one string and shift along it.
    Along,
    /// One note per string, as arpeggios are swept.
    OnePerString,
    /// Three notes per string.
    ThreePerString,
}

impl FingeringStyle {
    /// Every fingering style.
    pub const ALL: [FingeringStyle; 4] = [
        FingeringStyle::Position,
        FingeringStyle::Along,
        FingeringStyle::OnePerString,
        FingeringStyle::ThreePerString,
    ];

    /// Its name in the text format.
    pub fn name(self) -> &'static str {
        ["position", "along", "one-per-string", "three-per-string"][self as usize]
    }
}

impl FromStr for FingeringStyle {
    type Err = UnknownName;

    /// Reads a name. The older names `one-a-string` and `three-a-string` are still read.
    fn from_str(text: &str) -> Result<FingeringStyle, UnknownName> {
        let text = match text {
            "one-a-string" => "one-per-string",
            "three-a-string" => "three-per-string",
            name => name,
        };
        named(text, "a fingering style", &FingeringStyle::ALL, FingeringStyle::name)
    }
}

by_name!(FingeringStyle);

/// Which way the pick moves (common practice, no source).
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, Default)]
pub enum PickingStyle {
    /// Alternate down and up, whatever the strings.
    #[default]
    Alternate,
    /// Down on the beat, alternating between beats.
    Beat,
    /// Alternate on one string. If the next string lies in the direction of the last stroke, keep that
    /// direction.
    Economy,
    /// Alternate, but play three or more notes on consecutive strings with one stroke.
    Sweep,
}

impl PickingStyle {
    /// Every picking style.
    pub const ALL: [PickingStyle; 4] =
        [PickingStyle::Alternate, PickingStyle::Beat, PickingStyle::Economy, PickingStyle::Sweep];

    /// Its name in the text format.
    pub fn name(self) -> &'static str {
        ["alternate", "beat", "economy", "sweep"][self as usize]
    }
}

by_name!(PickingStyle, "a picking style");

/// How the line is picked.
///
/// ```
/// use halfbar_core::technique::Picking;
///
/// let picking: Picking = "economy, first up, slurs".parse().unwrap();
/// assert_eq!(picking.to_string(), "economy, slurs, first up");
/// assert!("economy, sideways".parse::<Picking>().is_err());
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, Default)]
pub struct Picking {
    /// Which way the pick moves.
    pub strokes: PickingStyle,
    /// Whether the plan may leave strokes out, with a hammer-on, pull-off or slide instead.
    pub slurs: bool,
    /// The first stroke of the line; if `None`, it is chosen with the fingering.
    pub first: Option<Stroke>,
}

impl FromStr for Picking {
    type Err = TechniqueError;

    fn from_str(text: &str) -> Result<Picking, TechniqueError> {
        let wrong = || TechniqueError::Picking { text: quoted(text) };
        let mut picking = Picking::default();
        let mut known = None;
        for part in text.split(',').map(str::trim) {
            match part {
                "slurs" if !picking.slurs => picking.slurs = true,
                "first down" if picking.first.is_none() => picking.first = Some(Stroke::Down),
                "first up" if picking.first.is_none() => picking.first = Some(Stroke::Up),
                name if known.is_none() => {
                    known = Some(name.parse().map_err(|_| wrong())?);
                }
                _ => return Err(wrong()),
            }
        }
        picking.strokes = known.unwrap_or_default();
        Ok(picking)
    }
}

impl fmt::Display for Picking {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.strokes.name())?;
        if self.slurs {
            f.write_str(", slurs")?;
        }
        self.first.map_or(Ok(()), |first| write!(f, ", first {}", first.name()))
    }
}

/// What the player has fixed for one note.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, Default)]
pub struct Pin {
    /// The string.
    pub string: Option<StringNo>,
    /// The fret.
    pub fret: Option<Fret>,
    /// The finger.
    pub finger: Option<Finger>,
    /// The pick stroke.
    pub stroke: Option<Stroke>,
}

impl Pin {
    /// A pin to a place on the neck.
    pub fn at(string: StringNo, fret: Fret) -> Pin {
        Pin { string: Some(string), fret: Some(fret), ..Pin::default() }
    }

    /// Whether nothing is fixed.
    pub fn is_empty(self) -> bool {
        self == Pin::default()
    }

    /// Everything that is fixed.
    pub fn wants(self) -> impl Iterator<Item = Constraint> {
        [
            self.string.map(Constraint::String),
            self.fret.map(Constraint::Fret),
            self.finger.map(Constraint::Finger),
            self.stroke.map(Constraint::Stroke),
        ]
        .into_iter()
        .flatten()
    }
}

impl FromStr for Pin {
    type Err = TechniqueError;

    /// Reads a string, `.` and a fret, `/` and a finger, `d` or `u`, each optional: `4`, `4.7`, `4.7/2d`,
    /// `/3`, `u`.
    fn from_str(text: &str) -> Result<Pin, TechniqueError> {
        let wrong = || TechniqueError::Pin { text: quoted(text) };
        let number = |text: &str| text.parse::<u8>().map_err(|_| wrong());
        let (rest, stroke) = match text.strip_suffix('d') {
            Some(rest) => (rest, Some(Stroke::Down)),
            None => text.strip_suffix('u').map_or((text, None), |rest| (rest, Some(Stroke::Up))),
        };
        let (place, finger) = match rest.split_once('/') {
            Some((place, finger)) => (place, Some(Finger(number(finger)?))),
            None => (rest, None),
        };
        let (string, fret) = match place.split_once('.') {
            Some((string, fret)) => (Some(StringNo(number(string)?)), Some(Fret(number(fret)?))),
            None if place.is_empty() => (None, None),
            None => (Some(StringNo(number(place)?)), None),
        };
        let pin = Pin { string, fret, finger, stroke };
        let hand = finger.is_none_or(|finger| (1..=4).contains(&finger.0));
        if pin.is_empty() || !hand { Err(wrong()) } else { Ok(pin) }
    }
}

impl fmt::Display for Pin {
    /// Writes the form that is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(string) = self.string {
            write!(f, "{}", string.0)?;
        }
        if let Some(fret) = self.fret {
            write!(f, ".{}", fret.0)?;
        }
        if let Some(finger) = self.finger {
            write!(f, "/{}", finger.0)?;
        }
        match self.stroke {
            Some(Stroke::Down) => f.write_str("d"),
            Some(Stroke::Up) => f.write_str("u"),
            None => Ok(()),
        }
    }
}

/// One thing that can be fixed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Constraint {
    /// This string.
    String(StringNo),
    /// One of these strings.
    Strings(Strings),
    /// This fret.
    Fret(Fret),
    /// One of these frets, from the first to the last.
    Frets(Fret, Fret),
    /// This finger.
    Finger(Finger),
    /// The index finger at this fret; open strings are exempt.
    Position(u8),
    /// This stroke of the pick.
    Stroke(Stroke),
    /// This way of picking. A passage that asks for sweeps has them over two strings as well.
    Picking(PickingStyle),
    /// The plan may leave the stroke out. This only permits it.
    Slurs,
}

impl FromStr for Constraint {
    type Err = TechniqueError;

    /// Reads `string 3`, `strings 4-2`, `fret 5`, `frets 0-14`, `finger 1`, `position 5` or `position V`, `down`,
    /// `up`, `slurs`, or a way of picking, such as `sweep`.
    fn from_str(text: &str) -> Result<Constraint, TechniqueError> {
        let wrong = || TechniqueError::Constraint { text: quoted(text) };
        let mut words = text.split_whitespace();
        let (name, value) = (words.next().ok_or_else(wrong)?, words.next());
        let number = || value.and_then(|value| value.parse().ok()).ok_or_else(wrong);
        let want = match (name, value) {
            ("string", _) => Constraint::String(StringNo(number()?)),
            ("strings", Some(value)) => Constraint::Strings(value.parse().map_err(|_| wrong())?),
            ("fret", _) => Constraint::Fret(Fret(number()?)),
            ("finger", _) => {
                Constraint::Finger(Finger(Some(number()?).filter(|n| (1..=4).contains(n)).ok_or_else(wrong)?))
            }
            ("frets", Some(value)) => {
                let (low, high) = value.split_once('-').ok_or_else(wrong)?;
                let fret = |text: &str| text.parse().map(Fret).map_err(|_| wrong());
                let (low, high) = (fret(low)?, fret(high)?);
                if low > high {
                    return Err(wrong());
                }
                Constraint::Frets(low, high)
            }
            ("position", Some(value)) => {
                let position: Position = value.parse().map_err(|_| wrong())?;
                Constraint::Position(position.0)
            }
            ("down", None) => Constraint::Stroke(Stroke::Down),
            ("up", None) => Constraint::Stroke(Stroke::Up),
            ("slurs", None) => Constraint::Slurs,
            (name, None) => Constraint::Picking(name.parse().map_err(|_| wrong())?),
            _ => return Err(wrong()),
        };
        words.next().map_or(Ok(want), |_| Err(wrong()))
    }
}

impl fmt::Display for Constraint {
    /// Writes the form that is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Constraint::String(string) => write!(f, "string {}", string.0),
            Constraint::Strings(strings) => write!(f, "strings {strings}"),
            Constraint::Fret(fret) => write!(f, "fret {}", fret.0),
            Constraint::Frets(low, high) => write!(f, "frets {}-{}", low.0, high.0),
            Constraint::Finger(finger) => write!(f, "finger {}", finger.0),
            Constraint::Position(position) => write!(f, "position {position}"),
            Constraint::Stroke(stroke) => f.write_str(stroke.name()),
            Constraint::Picking(style) => f.write_str(style.name()),
            Constraint::Slurs => f.write_str("slurs"),
        }
    }
}

/// A constraint on every note that starts in a passage of the plain line.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct ConstraintSpan {
    /// The passage.
    pub span: Span,
    /// The constraint.
    pub want: Constraint,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pins_are_read_and_written() {
        for text in ["4", "4.7", "4.7/2", "4.7/2d", "4/1u", "/3", "/3d", "d", "u"] {
            let pin: Pin = text.parse().unwrap();
            assert_eq!(pin.to_string(), text);
            assert!(!pin.is_empty());
        }
        for wrong in ["", ".7", "4.", "4/", "4/5", "4/0", "x", "du", "4 .7", "4.7.2", "-4"] {
            assert!(wrong.parse::<Pin>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn wants_are_read_and_written() {
        for text in [
            "string 3",
            "strings 4-2",
            "fret 0",
            "frets 0-14",
            "finger 4",
            "position 5",
            "down",
            "up",
            "slurs",
            "sweep",
            "beat",
        ] {
            assert_eq!(text.parse::<Constraint>().unwrap().to_string(), text);
        }
        assert_eq!("position VIII".parse(), Ok(Constraint::Position(8)));
        for wrong in [
            "",
            "string",
            "string x",
            "strings 9",
            "finger 5",
            "down 2",
            "slurs all",
            "position 5 6",
            "position IIX",
            "position 0",
            "frets 5",
            "frets 5-4",
        ] {
            assert!(wrong.parse::<Constraint>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn pickings_are_read_and_written() {
        for text in ["alternate", "beat, slurs", "economy, first down", "sweep, slurs, first up"] {
            assert_eq!(text.parse::<Picking>().unwrap().to_string(), text);
        }
        assert_eq!("slurs".parse::<Picking>().unwrap().to_string(), "alternate, slurs");
        for wrong in ["", "economy, sweep", "slurs, slurs", "first down, first up", "economy slurs"] {
            assert!(wrong.parse::<Picking>().is_err(), "{wrong}");
        }
        for style in FingeringStyle::ALL {
            assert_eq!(style.name().parse(), Ok(style));
        }
        assert_eq!("three-a-string".parse(), Ok(FingeringStyle::ThreePerString));
    }
}
