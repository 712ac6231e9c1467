//! The headers before or after the music, but `recast`.

use crate::bars::Bars;
use crate::key::Key;
use crate::line::{Feel, Heading, Tempo};
use crate::meter::Meter;
use crate::neck::{Neck, Tuning};
use crate::quote::quoted;
use crate::time::Duration;

use super::diagnostic::Problem;
use super::text::{Findings, Spot};

/// The longest title.
const LONGEST_TITLE: usize = 200;

const NAMES: [&str; 11] =
    ["title", "key", "meter", "pickup", "tempo", "feel", "tuning", "neck", "style", "picking", "systems"];

#[derive(Default)]
pub(super) struct Headers {
    heading: Heading,
    key: Key,
    meter: Option<Meter>,
    /// Judged when the meter is known.
    pickup: Option<(Duration, Spot)>,
    tuning: Tuning,
    /// Judged when the tuning is known.
    neck: Option<(String, Spot)>,
    seen: Vec<&'static str>,
}

impl Headers {
    /// Takes one header. Case is forgiven in its name, not in its value.
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
            "key" => self.key = value.parse().map_err(Problem::Header)?,
            "meter" => self.meter = Some(value.parse().map_err(Problem::Header)?),
            "pickup" => {
                self.pickup = Some((value.parse().unwrap_or(Duration::ZERO), at));
            }
            "tuning" => self.tuning = value.parse().map_err(Problem::Header)?,
            "neck" => self.neck = Some((value.into(), at)),
            "style" => {
                heading.style =
                    value.parse().map_err(|()| Problem::FingeringStyle { text: quoted(value) })?;
            }
            "picking" => {
                heading.picking = value.parse().map_err(|()| Problem::Picking { text: quoted(value) })?;
            }
            "systems" => {
                heading.systems = value.parse().map_err(|()| Problem::Systems { text: quoted(value) })?;
            }
            "tempo" => {
                let tempo = value.parse().ok().and_then(Tempo::new);
                heading.tempo = tempo.ok_or_else(|| Problem::Tempo { text: quoted(value) })?;
            }
            _ => heading.feel = feel(value).ok_or_else(|| Problem::Feel { text: quoted(value) })?,
        }
        Ok(())
    }

    pub(super) fn finish(mut self, found: &mut Findings) -> (Heading, Bars) {
        let usual = Neck::with(std::mem::take(&mut self.tuning));
        let sized = |(text, at): (String, Spot)| match usual.sized(&text) {
            Ok(neck) => neck,
            Err(error) => {
                found.add(at, Problem::Header(error));
                usual.clone()
            }
        };
        self.heading.neck = self.neck.take().map_or_else(|| usual.clone(), sized);
        let bars = Bars::of(self.meter.unwrap_or(Meter::COMMON)).in_key(self.key);
        let with_pickup = |(length, at)| match bars.clone().with_pickup(length) {
            Ok(bars) => bars,
            Err(error) => {
                found.add(at, Problem::Header(error));
                bars.clone()
            }
        };
        (self.heading, self.pickup.map_or_else(|| bars.clone(), with_pickup))
    }
}

fn feel(value: &str) -> Option<Feel> {
    let mut words = value.split_whitespace();
    let feel = match (words.next()?, words.next()) {
        ("straight", None) => Feel::Straight,
        ("swing", Some("auto")) => Feel::SwingAuto,
        ("swing", Some(ratio)) => Feel::Swing(ratio.parse().ok()?),
        _ => return None,
    };
    words.next().is_none().then_some(feel)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::SwingRatio;

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
            let ratio: Result<SwingRatio, ()> = text.parse();
            assert_eq!(ratio.ok().map(SwingRatio::hundredths), expected, "{text}");
        }
        assert_eq!(feel("swing 3.6"), None);
        assert_eq!(feel("swing auto please"), None);
    }
}
