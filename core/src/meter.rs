//! The meter: how long a bar is, where its beats fall and how its units are grouped.

use std::fmt;
use std::str::FromStr;

use crate::time::Duration;

/// The error for a meter that can't be used.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum MeterError {
    /// A time signature that isn't supported.
    #[error("this meter is not supported: write one of {}", Meter::allowed())]
    Unknown,
    /// Groups that don't add up to the meter.
    #[error("the groups of a {meter} bar must add up to {}, such as `{meter} {}`", meter.count(), grouping(*meter))]
    Groups {
        /// The meter, with its usual groups.
        meter: Meter,
    },
}

type Result<T> = std::result::Result<T, MeterError>;

/// The groups of a meter in the text format.
fn grouping(meter: Meter) -> String {
    let groups: Vec<_> = meter.groups().map(|group| group.to_string()).collect();
    groups.join("+")
}

/// A time signature, such as 4/4, and how its units are grouped.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Meter {
    count: u8,
    unit: u8,
    /// Bit `n` is set if a group starts on unit `n`.
    starts: u16,
}

/// The supported meters, and how their units are grouped. The groups are common practice, no source: 5/4 is
/// most often 3 + 2, and 7/8 most often 2 + 2 + 3.
const METERS: [(u8, u8, &[u8]); 14] = [
    (4, 4, &[2, 2]),
    (2, 2, &[1, 1]),
    (3, 2, &[1, 1, 1]),
    (2, 4, &[2]),
    (3, 4, &[1, 1, 1]),
    (5, 4, &[3, 2]),
    (6, 4, &[3, 3]),
    (3, 8, &[3]),
    (5, 8, &[3, 2]),
    (6, 8, &[3, 3]),
    (7, 8, &[2, 2, 3]),
    (8, 8, &[3, 3, 2]),
    (9, 8, &[3, 3, 3]),
    (12, 8, &[3, 3, 3, 3]),
];

impl Meter {
    /// 4/4, common time.
    pub const COMMON: Meter = Meter { count: 4, unit: 4, starts: starts_of(&[2, 2]) };

    /// The meter `count`/`unit` with its usual groups.
    ///
    /// # Errors
    /// [`MeterError::Unknown`] if the meter isn't supported; its message lists those that are.
    pub fn new(count: u8, unit: u8) -> Result<Meter> {
        let known = METERS.iter().find(|&&(c, u, _)| (c, u) == (count, unit));
        known.map(|(.., groups)| Meter { count, unit, starts: starts_of(groups) }).ok_or(MeterError::Unknown)
    }

    /// This meter with its units in groups of the given lengths.
    ///
    /// ```
    /// use halfbar_core::meter::Meter;
    ///
    /// let seven = Meter::new(7, 8)?.grouped(&[3, 2, 2])?;
    /// assert_eq!(seven.to_string(), "7/8 3+2+2");
    /// assert!(seven.grouped(&[3, 2]).is_err());
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`MeterError::Groups`] if they don't add up to the meter, or if one is empty.
    pub fn grouped(self, groups: &[u8]) -> Result<Meter> {
        let sum: usize = groups.iter().map(|&group| usize::from(group)).sum();
        match sum == usize::from(self.count) && !groups.contains(&0) {
            true => Ok(Meter { starts: starts_of(groups), ..self }),
            false => Err(MeterError::Groups { meter: self.usual() }),
        }
    }

    /// This meter with groups read from text, such as `3+2+2`.
    ///
    /// # Errors
    /// Same as [`Meter::grouped`].
    pub fn with_groups(self, text: &str) -> Result<Meter> {
        let groups: std::result::Result<Vec<u8>, _> = text.split('+').map(str::parse).collect();
        self.grouped(&groups.unwrap_or_default())
    }

    /// This meter with its usual groups.
    pub fn usual(self) -> Meter {
        Meter::new(self.count, self.unit).unwrap_or(self)
    }

    /// The supported meters, listed for messages.
    pub fn allowed() -> String {
        METERS.map(|(count, unit, _)| format!("{count}/{unit}")).join(", ")
    }

    /// The upper number of the time signature.
    pub fn count(self) -> u8 {
        self.count
    }

    /// The lower number of the time signature.
    pub fn unit(self) -> u8 {
        self.unit
    }

    /// The length of one unit: a quarter in 4/4, an eighth in 6/8.
    pub fn unit_length(self) -> Duration {
        Duration::of(4, u16::from(self.unit))
    }

    /// The length of a bar.
    pub fn bar(self) -> Duration {
        Duration::of(4 * i32::from(self.count), u16::from(self.unit))
    }

    /// The lengths of the groups in a bar, in units: 2 and 2 in 4/4.
    pub fn groups(self) -> impl Iterator<Item = u8> {
        let starts = (0..=self.count).filter(move |&unit| unit == self.count || self.starts >> unit & 1 == 1);
        starts.scan(0, |before, start| Some(start - std::mem::replace(before, start))).skip(1)
    }

    /// Where each group starts, measured from the start of the bar.
    pub fn group_starts(self) -> impl Iterator<Item = Duration> {
        (0..self.count)
            .filter(move |unit| self.starts >> unit & 1 == 1)
            .map(move |unit| Duration::of(4 * i32::from(unit), u16::from(self.unit)))
    }

    /// The points inside a bar that notation always shows: the middle of 4/4, or the dotted beats of 6/8. A
    /// bar of 3/4 has none.
    ///
    /// Custom groups that only subdivide the usual ones, such as 1+1+1+1 in 4/4, leave these points
    /// unchanged.
    pub fn middles(self) -> impl Iterator<Item = Duration> {
        let frame = self.frame();
        let lone = frame.unit == 4 && frame.groups().all(|group| group == 1);
        frame.group_starts().skip(1).filter(move |_| !lone)
    }

    /// The meter whose groups are the largest parts of the bar: the usual meter, if this one only subdivides
    /// its groups.
    pub(crate) fn frame(self) -> Meter {
        let usual = self.usual();
        if usual.starts & self.starts == usual.starts { usual } else { self }
    }

    /// Whether beats are quarter notes or multiples of them, so that an eighth-note triplet fills a beat.
    pub fn has_quarter_beats(self) -> bool {
        self.unit <= 4
    }

    /// Where windows start in a bar: with its groups (the half-bars of 4/4, the bar of 3/4), or on every
    /// eighth.
    pub fn window_starts(self, every_eighth: bool) -> Vec<Duration> {
        if !every_eighth {
            return [Duration::ZERO].into_iter().chain(self.middles()).collect();
        }
        let eighths = 8 * i32::from(self.count) / i32::from(self.unit);
        (0..eighths).map(|eighth| Duration::of(eighth, 2)).collect()
    }
}

/// Bit `n` is set if a group starts on unit `n`.
const fn starts_of(groups: &[u8]) -> u16 {
    let (mut starts, mut unit, mut index) = (0, 0, 0);
    while index < groups.len() {
        starts |= 1 << unit;
        unit += groups[index];
        index += 1;
    }
    starts
}

impl fmt::Display for Meter {
    /// Writes `4/4`, or `7/8 3+2+2` if the groups aren't the usual ones.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.count, self.unit)?;
        if *self == self.usual() {
            return Ok(());
        }
        self.groups()
            .enumerate()
            .try_for_each(|(index, group)| write!(f, "{}{group}", if index == 0 { " " } else { "+" }))
    }
}

impl fmt::Debug for Meter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Meter({self})")
    }
}

impl FromStr for Meter {
    type Err = MeterError;

    /// Reads `7/8`, or a meter with its groups: `7/8 3+2+2`.
    fn from_str(text: &str) -> Result<Meter> {
        let mut words = text.split_whitespace();
        let (count, unit) = words.next().and_then(|word| word.split_once('/')).ok_or(MeterError::Unknown)?;
        let number = |text: &str| text.parse().map_err(|_| MeterError::Unknown);
        let meter = Meter::new(number(count)?, number(unit)?)?;
        match (words.next(), words.next()) {
            (None, _) => Ok(meter),
            (Some(groups), None) => meter.with_groups(groups),
            _ => Err(MeterError::Groups { meter }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_fill_the_bar() {
        for (count, unit, groups) in METERS {
            assert_eq!(groups.iter().sum::<u8>(), count, "{count}/{unit}");
            assert_eq!(Meter::new(count, unit).unwrap().groups().collect::<Vec<_>>(), groups);
        }
    }

    #[test]
    fn groups_of_ones_own() {
        let middles = |text: &str| {
            let meter: Meter = text.parse().unwrap();
            assert_eq!(meter.to_string().parse(), Ok(meter));
            meter.middles().map(|middle| middle.to_string()).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(
            (middles("4/4"), middles("4/4 1+1+1+1"), middles("4/4 1+3")),
            ("2".into(), "2".into(), "1".into())
        );
        assert_eq!(
            (middles("3/4"), middles("3/4 3"), middles("3/4 2+1")),
            ("".into(), "".into(), "2".into())
        );
        assert_eq!((middles("7/8"), middles("7/8 3+2+2")), ("1 2".into(), "3/2 5/2".into()));
        assert_eq!("7/8 2+2+3".parse::<Meter>().unwrap().to_string(), "7/8");
        for wrong in ["7/8 2+2", "7/8 0+7", "7/8 a", "7/8 2+2+3 x", "7/8 255+8"] {
            assert_eq!(
                wrong.parse::<Meter>(),
                Err(MeterError::Groups { meter: Meter::new(7, 8).unwrap() }),
                "{wrong}"
            );
        }
        assert_eq!("11/8".parse::<Meter>(), Err(MeterError::Unknown));
    }
}
