//! The pace of practice: a plan of tempos from slow to fast, and the tempo of taps.

use crate::line::Tempo;

/// A plan that goes from one tempo to another in small steps, up or down.
///
/// Each step changes the tempo by a percentage, and by at least 1 quarter note per minute; the last step is
/// exactly the target. The numbers are common practice, no source: the hands hardly notice a change of about
/// 4 percent.
///
/// ```
/// use halfbar_core::line::Tempo;
/// use halfbar_core::perform::{Jumps, Pace};
///
/// let tempo = |number| Tempo::new(number).unwrap();
/// let pace = Pace::new(tempo(100), tempo(120)).repeats(2)?.jumps(Jumps::Over);
/// let passes: Vec<_> = pace.passes().map(|pass| pass.tempo.quarters_per_minute()).collect();
/// assert_eq!(passes, [100, 100, 104, 104, 108, 108, 112, 112, 116, 116, 120, 120, 125, 125, 120, 120]);
/// let first = pace.passes().next().unwrap();
/// assert_eq!((first.step, first.steps), (1, 8));
/// assert!(pace.per_cent(0).is_err());
/// # Ok::<(), halfbar_core::perform::PaceError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Pace {
    from: Tempo,
    to: Tempo,
    per_cent: u8,
    repeats: u8,
    jumps: Jumps,
}

/// Tempos played besides the even steps, near the target. Common practice, no source.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum Jumps {
    /// None.
    #[default]
    None,
    /// At the target, once a step beyond it and back, so that the target feels easy.
    Over,
    /// From 90 percent of the target on, each new tempo is followed by 80 percent of the target, where
    /// everything is under control, and then repeated. Only on the way up.
    Back,
}

/// One time through the passage being practiced.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub struct Pass {
    /// Its tempo.
    pub tempo: Tempo,
    /// Which step of the plan this is, from 1.
    pub step: usize,
    /// The number of steps in the plan.
    pub steps: usize,
    /// Which repeat of the step this is, from 1.
    pub repeat: u8,
    /// Whether it is a jump away from the even steps.
    pub is_jump: bool,
}

/// The error for numbers that don't make a plan.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PaceError {
    /// A step that is zero or too large.
    #[error("a step can be {} to {} percent, not {asked}", Pace::PER_CENT.0, Pace::PER_CENT.1)]
    PerCent {
        /// The percentage asked for.
        asked: u8,
    },
    /// A step that is never played, or too often.
    #[error("a step can be played {} to {} times, not {asked}", Pace::REPEATS.0, Pace::REPEATS.1)]
    Repeats {
        /// The number asked for.
        asked: u8,
    },
}

impl Pace {
    /// The smallest and the largest step, in percent.
    pub const PER_CENT: (u8, u8) = (1, 25);
    /// The fewest and the most times a step may be played.
    pub const REPEATS: (u8, u8) = (1, 32);

    /// A plan in steps of 4 percent, each played once.
    pub fn new(from: Tempo, to: Tempo) -> Pace {
        Pace { from, to, per_cent: 4, repeats: 1, jumps: Jumps::None }
    }

    /// This plan with steps of this many percent.
    ///
    /// # Errors
    /// [`PaceError::PerCent`] outside [`Pace::PER_CENT`].
    pub fn per_cent(self, per_cent: u8) -> Result<Pace, PaceError> {
        match (Pace::PER_CENT.0..=Pace::PER_CENT.1).contains(&per_cent) {
            true => Ok(Pace { per_cent, ..self }),
            false => Err(PaceError::PerCent { asked: per_cent }),
        }
    }

    /// This plan with each step played this many times.
    ///
    /// # Errors
    /// [`PaceError::Repeats`] outside [`Pace::REPEATS`].
    pub fn repeats(self, repeats: u8) -> Result<Pace, PaceError> {
        match (Pace::REPEATS.0..=Pace::REPEATS.1).contains(&repeats) {
            true => Ok(Pace { repeats, ..self }),
            false => Err(PaceError::Repeats { asked: repeats }),
        }
    }

    /// This plan with these jumps.
    pub fn jumps(self, jumps: Jumps) -> Pace {
        Pace { jumps, ..self }
    }

    /// The tempo one step further up or down, regardless of the target.
    fn beyond(self, tempo: Tempo, up: bool) -> Tempo {
        let (now, part) = (u32::from(tempo.quarters_per_minute()), u32::from(self.per_cent));
        // Rounded to the nearest whole number, and at least 1.
        let by = ((now * part + 50) / 100).max(1);
        let then = if up { now + by } else { now - by };
        let (slowest, fastest) = Tempo::RANGE;
        let then = u16::try_from(then).unwrap_or(fastest).clamp(slowest, fastest);
        Tempo::new(then).unwrap_or(tempo)
    }

    /// The tempos in order, each with whether it is a jump.
    fn tempos(self) -> Vec<(Tempo, bool)> {
        let up = self.from <= self.to;
        let mut tempos = vec![(self.from, false)];
        let mut tempo = self.from;
        let target = u32::from(self.to.quarters_per_minute());
        let back =
            u16::try_from(target * 4 / 5).ok().and_then(Tempo::new).filter(|&back| up && back >= self.from);
        while tempo != self.to {
            let next = self.beyond(tempo, up);
            tempo = if up { next.min(self.to) } else { next.max(self.to) };
            tempos.push((tempo, false));
            let near = u32::from(tempo.quarters_per_minute()) * 10 >= target * 9;
            if let Some(back) = back.filter(|_| near && self.jumps == Jumps::Back) {
                tempos.extend([(back, true), (tempo, false)]);
            }
        }
        let over = self.beyond(self.to, up);
        if self.jumps == Jumps::Over && over != self.to {
            tempos.extend([(over, true), (self.to, false)]);
        }
        tempos
    }

    /// Every pass in order. The first is at the starting tempo, and the last at the target.
    pub fn passes(self) -> impl Iterator<Item = Pass> {
        let tempos = self.tempos();
        let steps = tempos.len();
        tempos.into_iter().zip(1..).flat_map(move |((tempo, is_jump), step)| {
            (1..=self.repeats).map(move |repeat| Pass { tempo, step, steps, repeat, is_jump })
        })
    }
}

/// The longest pause between two taps of one count, in seconds.
const PAUSE: f64 = 2.0;

/// How many taps are considered.
const TAPS: usize = 8;

/// How far a gap may be from the usual one, as a fraction of it, to belong to the count.
const ASTRAY: f64 = 0.2;

/// The tempo of someone tapping quarter notes, from the times of the taps in seconds, in order. `None` until
/// two taps are in one count, and for a tempo outside [`Tempo::RANGE`].
///
/// Only the last eight taps count, and only those after the last pause longer than two seconds. With four or
/// more, a missed or extra tap doesn't matter: the usual gap is the median, and gaps far from it are ignored.
///
/// ```
/// use halfbar_core::perform::tapped;
///
/// let tempo = |taps: &[f64]| tapped(taps).map(|tempo| tempo.quarters_per_minute());
/// assert_eq!(tempo(&[0.0, 0.5, 1.0, 2.0, 2.5]), Some(120));
/// assert_eq!(tempo(&[0.0, 0.5, 9.0, 9.4]), Some(150));
/// assert_eq!(tempo(&[0.0]), None);
/// ```
pub fn tapped(taps: &[f64]) -> Option<Tempo> {
    let gap = |pair: &[f64]| pair[1] - pair[0];
    // A clock that goes backward also starts a new count.
    let broken = |pair: &[f64]| !(gap(pair) > 0.0 && gap(pair) <= PAUSE);
    let start = taps.windows(2).rposition(broken).map_or(0, |before| before + 1);
    let taps = &taps[start.max(taps.len().saturating_sub(TAPS))..];
    let mut gaps: Vec<f64> = Vec::new();
    for pair in taps.windows(2) {
        let at = gaps.partition_point(|&other| other <= gap(pair));
        gaps.insert(at, gap(pair));
    }
    let usual = *gaps.get(gaps.len() / 2)?;
    let near = |&&gap: &&f64| (gap - usual).abs() <= ASTRAY * usual;
    let (sum, count) =
        gaps.iter().filter(near).fold((0.0, 0.0), |(sum, count), gap| (sum + gap, count + 1.0));
    let quarters = (60.0 * count / sum).round();
    let (slowest, fastest) = Tempo::RANGE;
    (slowest..=fastest).find(|&tempo| f64::from(tempo) == quarters).and_then(Tempo::new)
}
