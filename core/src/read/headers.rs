//! The headers before or after the music, except `figure`, `recast`, `hand` and `call`.

use crate::bars::Bars;
use crate::error::Error;
use crate::key::Key;
use crate::line::Heading;
use crate::meter::Meter;
use crate::naming::{named, quoted};
use crate::neck::{Neck, Tuning};
use crate::time::Duration;

use super::diagnostic::Problem;
use super::words::{Findings, Spot};

/// The most characters in a title.
const LONGEST_TITLE: usize = 200;

const NAMES: [&str; 13] = [
    "title", "key", "meter", "pickup", "tempo", "feel", "tuning", "neck", "style", "picking", "systems",
    "names", "degrees",
];

#[derive(Default)]
pub(super) struct Headers {
    heading: Heading,
    key: Key,
    meter: Option<Meter>,
    /// Checked once the meter is known.
    pickup: Option<(Duration, Spot)>,
    tuning: Tuning,
    /// Checked once the tuning is known.
    neck: Option<(String, Spot)>,
    seen: Vec<&'static str>,
}

impl Headers {
    /// Reads one header. Case doesn't matter in its name, but it does in its value.
    pub(super) fn read(&mut self, name: &str, value: &str, at: Spot, found: &mut Findings) {
        let Some(&known) = NAMES.iter().find(|known| known.eq_ignore_ascii_case(name)) else {
            let at = Spot { column: 1, length: name.chars().count(), ..at };
            return found.add(at, Problem::UnknownHeader { name: quoted(name) });
        };
        if self.seen.contains(&known) {
            return found.add(at, Problem::RepeatedHeader { name: known });
        }
        self.seen.push(known);
        if let Err(problem) = self.set(known, value, at) {
            found.add(at, problem);
        }
    }

    fn set(&mut self, name: &str, value: &str, at: Spot) -> Result<(), Problem> {
        let heading = &mut self.heading;
        match name {
            "title" if value.chars().count() > LONGEST_TITLE => {
                return Err(Problem::Title { allowed: LONGEST_TITLE });
            }
            "title" => heading.title = value.into(),
            "key" => self.key = value.parse().map_err(header)?,
            "meter" => self.meter = Some(value.parse().map_err(header)?),
            "pickup" => {
                self.pickup = Some((value.parse().unwrap_or(Duration::ZERO), at));
            }
            "tuning" => self.tuning = value.parse().map_err(header)?,
            "neck" => self.neck = Some((value.into(), at)),
            "style" => heading.style = value.parse().map_err(Problem::Style)?,
            "picking" => heading.picking = value.parse().map_err(header)?,
            "systems" => heading.systems = value.parse().map_err(header)?,
            "names" => {
                let name = |shown| if shown { "yes" } else { "no" };
                heading.names =
                    named(value, "a choice for `names`", &[true, false], name).map_err(Problem::Names)?;
            }
            "degrees" => heading.degrees = value.parse().map_err(Problem::Degrees)?,
            "tempo" => heading.tempo = value.parse().map_err(header)?,
            _ => heading.feel = value.parse().map_err(header)?,
        }
        Ok(())
    }

    pub(super) fn finish(mut self, found: &mut Findings) -> (Heading, Bars) {
        let usual = Neck::new(std::mem::take(&mut self.tuning));
        let sized = |(text, at): (String, Spot)| match usual.sized(&text) {
            Ok(neck) => neck,
            Err(error) => {
                found.add(at, header(error));
                usual.clone()
            }
        };
        self.heading.neck = self.neck.take().map_or_else(|| usual.clone(), sized);
        let bars = Bars::new(self.meter.unwrap_or(Meter::COMMON)).in_key(self.key);
        let with_pickup = |(length, at)| match bars.clone().with_pickup(length) {
            Ok(bars) => bars,
            Err(error) => {
                found.add(at, header(error));
                bars.clone()
            }
        };
        (self.heading, self.pickup.map_or_else(|| bars.clone(), with_pickup))
    }
}

fn header(error: impl Into<Error>) -> Problem {
    Problem::Header(error.into())
}

#[cfg(test)]
mod tests {
    use crate::line::{Feel, SwingRatio};

    #[test]
    fn ratios_are_exact() {
        for (text, expected) in [
            ("1.6", Some(160)),
            ("2", Some(200)),
            ("1.05", Some(105)),
            ("1.234", None),
            ("0.99", None),
            ("700", None),
            ("-1", None),
            ("1.", None),
        ] {
            let ratio: Result<SwingRatio, _> = text.parse();
            assert_eq!(ratio.ok().map(SwingRatio::hundredths), expected, "{text}");
        }
        assert!("swing 3.6".parse::<Feel>().is_err());
        assert!("swing auto please".parse::<Feel>().is_err());
    }
}
