//! The metronome: which beats it clicks on, and the bars it counts in.

use std::fmt;
use std::str::FromStr;

use super::error::Result;
use crate::bars::Bars;
use crate::dialect::Dialect;
use crate::line::Heading;
use crate::meter::Meter;
use crate::naming::{one_of, quoted};
use crate::time::{Duration, Onset, Span};

use crate::swing::{long_eighth, swung};

/// What a metronome plays.
///
/// Written as the beats, optionally followed by a subdivision and `other bars`: `2+4`, `every, triplets`,
/// `1, other bars`.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub struct Metronome {
    /// The beats it clicks on.
    pub beats: Beats,
    /// What it plays between the beats; nothing if it is off.
    pub divide: Option<Subdivision>,
    /// Whether it is silent in every other bar, so that the player keeps time alone.
    pub rests: bool,
}

/// The error for text that isn't a metronome pattern.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("`{text}` is not a metronome pattern: write {}", Metronome::allowed())]
pub struct MetronomeError {
    /// The text that was read.
    pub text: String,
}

/// The beats that a metronome clicks on.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
#[non_exhaustive]
pub enum Beats {
    /// Every beat, with an accent on the first of each bar.
    #[default]
    Every,
    /// The second and fourth, like a drummer's hi-hat. In bars with fewer than four beats, only the second
    /// (common practice, no source).
    TwoAndFour,
    /// The first of each bar.
    One,
    /// None.
    Off,
}

/// How a metronome subdivides the beats.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum Subdivision {
    /// Eighths, swung like the line's.
    Eighths,
    /// Eighth-note triplets. In beats of three eighths, those eighths.
    Triplets,
}

/// A click of the metronome.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Click {
    /// When it sounds.
    pub at: Onset,
    /// What kind it is.
    pub kind: ClickKind,
}

/// The kinds of clicks, which sound different.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Hash)]
pub enum ClickKind {
    /// The first beat of a bar.
    Accent,
    /// Another beat.
    Beat,
    /// A subdivision between two beats.
    Subdivision,
}

impl Beats {
    /// All choices, in the order they are offered.
    pub const ALL: [Beats; 4] = [Beats::Every, Beats::TwoAndFour, Beats::One, Beats::Off];

    /// `every`, `2+4`, `1` or `off`.
    pub fn name(self) -> &'static str {
        match self {
            Beats::Every => "every",
            Beats::TwoAndFour => "2+4",
            Beats::One => "1",
            Beats::Off => "off",
        }
    }

    /// Whether it clicks on the beat with this index, counted from 0.
    fn has(self, beat: usize) -> bool {
        match self {
            Beats::Every => true,
            Beats::TwoAndFour => beat == 1 || beat == 3,
            Beats::One => beat == 0,
            Beats::Off => false,
        }
    }
}

impl Subdivision {
    /// All choices, in the order they are offered.
    pub const ALL: [Subdivision; 2] = [Subdivision::Eighths, Subdivision::Triplets];

    /// `eighths` or `triplets`.
    pub fn name(self) -> &'static str {
        match self {
            Subdivision::Eighths => "eighths",
            Subdivision::Triplets => "triplets",
        }
    }
}

impl Metronome {
    /// How its silent bars are written.
    const RESTS: &'static str = "other bars";

    /// What can be written, as one phrase for messages.
    pub fn allowed() -> String {
        let beats = one_of(&Beats::ALL.map(Beats::name));
        let divisions = Subdivision::ALL.map(Subdivision::name).join("` or `, ");
        format!(
            "{beats}, then `, {divisions}` to subdivide, and `, {}` to mute every other bar",
            Metronome::RESTS
        )
    }
}

impl FromStr for Metronome {
    type Err = MetronomeError;

    /// Reads the beats first, then the rest in any order. American and British length names are understood.
    fn from_str(text: &str) -> std::result::Result<Metronome, MetronomeError> {
        let wrong = || MetronomeError { text: quoted(text) };
        let mut words = text.split(',').map(str::trim);
        let beats = words.next().and_then(|word| Beats::ALL.into_iter().find(|beats| beats.name() == word));
        let mut metronome = Metronome { beats: beats.ok_or_else(wrong)?, ..Metronome::default() };
        for word in words {
            match Subdivision::ALL.into_iter().find(|division| division.name() == Dialect::understood(word)) {
                Some(division) if metronome.divide.is_none() => metronome.divide = Some(division),
                None if word == Metronome::RESTS && !metronome.rests => metronome.rests = true,
                _ => return Err(wrong()),
            }
        }
        Ok(metronome)
    }
}

impl fmt::Display for Metronome {
    /// Writes the form that is read.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.beats.name())?;
        let more = [self.divide.map(Subdivision::name), self.rests.then_some(Metronome::RESTS)];
        more.into_iter().flatten().try_for_each(|word| write!(f, ", {word}"))
    }
}

/// The clicks in a passage of a line, in order of time, from the start of the line. The heading says how
/// eighths swing.
///
/// A beat is the meter's unit down to quarter notes, and a group of eighths in meters of eighths: a dotted
/// quarter in 6/8; two, two and three eighths in 7/8. If bars are silent, every second one is, counted from
/// the first bar that starts in the passage.
///
/// ```
/// use halfbar_core::line::Heading;
/// use halfbar_core::bars::Bars;
/// use halfbar_core::meter::Meter;
/// use halfbar_core::perform::clicks;
/// use halfbar_core::time::{Onset, Span};
///
/// let two_bars = Span::new(Onset::ZERO, Onset::at(8, 1)).expect("forwards");
/// let metronome = "2+4".parse().expect("a name");
/// let clicks = clicks(&Bars::new(Meter::COMMON), two_bars, metronome, &Heading::default())?;
/// let at: Vec<_> = clicks.iter().map(|click| click.at.to_string()).collect();
/// assert_eq!(at, ["1", "3", "5", "7"]);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for a passage before the start of the line, or times out of range.
pub fn clicks(bars: &Bars, stretch: Span, metronome: Metronome, heading: &Heading) -> Result<Vec<Click>> {
    let mut clicks = Vec::new();
    let (first, offset) = bars.split(stretch.start())?;
    if metronome.beats == Beats::Off {
        return Ok(clicks);
    }
    let long = long_eighth(heading.feel, heading.tempo)?;
    let first_whole = first + usize::from(offset > Duration::ZERO);
    for index in first.. {
        let downbeat = bars.downbeat(index)?;
        if downbeat >= stretch.end() {
            break;
        }
        if metronome.rests && index > first_whole && (index - first_whole) % 2 == 1 {
            continue;
        }
        for (offset, kind) in bar(bars.meter(index), metronome, long)? {
            let at = downbeat.checked_add(offset)?;
            if stretch.contains(at) {
                clicks.push(Click { at, kind });
            }
        }
    }
    Ok(clicks)
}

/// The clicks that count in to a place, timed from the first of them, and how long they take: every beat of
/// `count` bars in the meter of the place and then, if it lies inside a bar or after the missing part of a
/// pickup bar, that bar's beats up to it.
///
/// ```
/// use halfbar_core::bars::Bars;
/// use halfbar_core::meter::Meter;
/// use halfbar_core::perform::count_in;
/// use halfbar_core::time::{Duration, Onset};
///
/// let bars = Bars::new(Meter::COMMON).with_pickup(Duration::QUARTER)?;
/// let (clicks, length) = count_in(&bars, Onset::ZERO, 1)?;
/// assert_eq!((clicks.len(), length), (7, Duration::of(7, 1)));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for a place before the start of the line, or times out of range.
pub fn count_in(bars: &Bars, to: Onset, count: u8) -> Result<(Vec<Click>, Duration)> {
    let (index, offset) = bars.split(to)?;
    if count == 0 {
        return Ok((Vec::new(), Duration::ZERO));
    }
    let meter = bars.meter(index);
    let length = meter.bar().checked_mul(i64::from(count))?.checked_add(offset)?;
    let span = Span::starting(Onset::ZERO, length)?;
    let clicks = clicks(&Bars::new(meter), span, Metronome::default(), &Heading::default())?;
    Ok((clicks, length))
}

/// The clicks of one bar, from its first beat.
fn bar(meter: Meter, metronome: Metronome, long: Duration) -> Result<Vec<(Duration, ClickKind)>> {
    let starts: Vec<Duration> = match meter.has_quarter_beats() {
        true => (0..meter.count())
            .map(|unit| meter.unit_length().checked_mul(i64::from(unit)))
            .collect::<std::result::Result<_, _>>()?,
        false => meter.group_starts().collect(),
    };
    let ends = starts.iter().skip(1).copied().chain([meter.bar()]);
    let mut clicks = Vec::new();
    for (beat, (&start, end)) in starts.iter().zip(ends).enumerate() {
        if metronome.beats.has(beat) {
            clicks.push((start, if beat == 0 { ClickKind::Accent } else { ClickKind::Beat }));
        }
        let Some(division) = metronome.divide else { continue };
        let length = end.checked_sub(start)?;
        let (part, swings) = match division {
            Subdivision::Triplets if length.is_multiple_of(Duration::QUARTER) => (Duration::of(1, 3), false),
            Subdivision::Triplets => (Duration::EIGHTH, false),
            Subdivision::Eighths => (Duration::EIGHTH, meter.has_quarter_beats()),
        };
        let mut at = part;
        while at < length {
            let in_quarter = at.checked_sub(at.floor_to(Duration::QUARTER)?)?;
            let played =
                if swings { at.checked_sub(in_quarter)?.checked_add(swung(in_quarter, long)?)? } else { at };
            clicks.push((start.checked_add(played)?, ClickKind::Subdivision));
            at = at.checked_add(part)?;
        }
    }
    Ok(clicks)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::{Feel, SwingRatio};

    fn played(meter: &str, metronome: &str, bars: i32) -> String {
        let meter: Meter = meter.parse().unwrap();
        let span = Span::starting(Onset::ZERO, meter.bar().checked_mul(i64::from(bars)).unwrap()).unwrap();
        let feel = Feel::Swing(SwingRatio::from_hundredths(150).unwrap());
        let heading = Heading { feel, ..Heading::default() };
        let clicks = clicks(&Bars::new(meter), span, metronome.parse().unwrap(), &heading).unwrap();
        said(&clicks)
    }

    /// `!` marks an accent, `.` a subdivision.
    fn said(clicks: &[Click]) -> String {
        let sign = |kind| match kind {
            ClickKind::Accent => "!",
            ClickKind::Beat => "",
            ClickKind::Subdivision => ".",
        };
        let words: Vec<_> = clicks.iter().map(|click| format!("{}{}", click.at, sign(click.kind))).collect();
        words.join(" ")
    }

    #[test]
    fn beats_by_the_meter() {
        for (meter, metronome, expected) in [
            ("4/4", "every", "0! 1 2 3"),
            ("4/4", "2+4", "1 3"),
            ("4/4", "1", "0!"),
            ("4/4", "off, eighths", ""),
            ("2/2", "every", "0! 2"),
            ("3/4", "2+4", "1"),
            ("5/4", "every", "0! 1 2 3 4"),
            ("5/4", "2+4", "1 3"),
            ("6/8", "every", "0! 3/2"),
            ("12/8", "2+4", "3/2 9/2"),
            ("7/8", "every", "0! 1 2"),
            ("7/8 3+2+2", "every", "0! 3/2 5/2"),
        ] {
            assert_eq!(played(meter, metronome, 1), expected, "{metronome} in {meter}");
        }
    }

    #[test]
    fn divisions_swing_where_the_line_does() {
        for (meter, metronome, expected) in [
            ("2/4", "every, eighths", "0! 3/5. 1 8/5."),
            ("2/4", "2+4, triplets", "1/3. 2/3. 1 4/3. 5/3."),
            ("2/2", "1, eighths", "0! 3/5. 1. 8/5. 13/5. 3. 18/5."),
            ("6/8", "every, eighths", "0! 1/2. 1. 3/2 2. 5/2."),
            ("6/8", "every, triplets", "0! 1/2. 1. 3/2 2. 5/2."),
            ("5/8", "every, triplets", "0! 1/2. 1. 3/2 11/6. 13/6."),
        ] {
            assert_eq!(played(meter, metronome, 1), expected, "{metronome} in {meter}");
        }
    }

    #[test]
    fn every_other_bar_rests() {
        assert_eq!(played("2/4", "every, other bars", 4), "0! 1 4! 5");
        // What comes before the first whole bar belongs to it.
        let bars = Bars::new("2/4".parse().unwrap()).with_pickup(Duration::QUARTER).unwrap();
        let span = Span::new(Onset::ZERO, Onset::at(7, 1)).unwrap();
        let metronome = "every, other bars".parse().unwrap();
        assert_eq!(said(&clicks(&bars, span, metronome, &Heading::default()).unwrap()), "0 1! 2 5! 6");
    }

    #[test]
    fn counted_in_up_to_the_place() {
        let bars = Bars::new("3/4".parse().unwrap());
        let counted = |to, count| {
            let (clicks, length) = count_in(&bars, to, count).unwrap();
            format!("{} to {length}", said(&clicks))
        };
        assert_eq!(counted(Onset::ZERO, 1), "0! 1 2 to 3");
        assert_eq!(counted(Onset::at(4, 1), 2), "0! 1 2 3! 4 5 6! to 7");
        assert_eq!(counted(Onset::at(4, 1), 0), " to 0");
    }

    #[test]
    fn names_are_read_and_written() {
        for text in ["every", "2+4, triplets", "1, eighths, other bars", "off"] {
            assert_eq!(text.parse::<Metronome>().unwrap().to_string(), text);
        }
        assert_eq!("1, quavers".parse::<Metronome>(), "1, eighths".parse());
        for wrong in ["", "3", "every, 2+4", "1, eighths, triplets", "1, other bars, other bars"] {
            assert!(wrong.parse::<Metronome>().is_err(), "{wrong}");
        }
    }
}
