//! What a note costs, in words that a player understands.

use std::fmt;

use crate::attack::Attack;
use crate::neck::Stroke;
use crate::time::Duration;

use super::Cost;

/// One thing that costs.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum Term {
    /// The hand moves from a position to another, in this time.
    Shift {
        /// Where it was.
        from: u8,
        /// Where it goes.
        to: u8,
        /// From the start of the note before in the plain line, in beats.
        time: Duration,
    },
    /// The index reaches back or the little finger forward.
    Stretch {
        /// How far the hand is spread.
        mm: u16,
    },
    /// On to a neighbouring string.
    Change,
    /// On to a string beyond it.
    Skip {
        /// How many are skipped.
        strings: u8,
    },
    /// One finger for two frets in a row.
    SameFinger {
        /// Which.
        finger: u8,
    },
    /// One finger laid over two strings.
    Roll {
        /// Which.
        finger: u8,
    },
    /// An open string.
    Open,
    /// Low on the neck, where frets are wide, or high.
    Height {
        /// Whether high.
        high: bool,
    },
    /// Where the body of the guitar is in the way.
    High,
    /// Two fingers cross at one fret.
    Crossed,
    /// A half step from one string to another.
    Split,
    /// High on a low string, where it sounds dull.
    Dull,
    /// Two fingers at one fret.
    Doubled,
    /// A cell of a sequence is fingered otherwise than the one before.
    NewShape,
    /// More or fewer notes on a string than the style likes.
    Miscount {
        /// How many it likes.
        wanted: u8,
    },
    /// A slur or a slide that would have to change the string.
    Apart,
    /// One stroke goes on over another string.
    Swept,
    /// The pick turns between two strings.
    Inside,
    /// The pick goes round two strings.
    Outside,
    /// The first stroke, or the first after a rest or a slur, goes against the beat.
    AgainstBeat {
        /// Which way it goes.
        stroke: Stroke,
    },
    /// Struck in little time, where a hammer would have saved the stroke.
    Haste,
    /// The plan leaves the stroke out.
    Slurred {
        /// How the note begins instead.
        attack: Attack,
    },
    /// A pinned stroke breaks the way of picking.
    Broken {
        /// Which way it goes.
        stroke: Stroke,
    },
}

impl Term {
    /// A short name that stays the same when the words change.
    pub fn name(self) -> &'static str {
        match self {
            Term::Shift { .. } => "shift",
            Term::Stretch { .. } => "stretch",
            Term::Change => "change",
            Term::Skip { .. } => "skip",
            Term::SameFinger { .. } => "same-finger",
            Term::Roll { .. } => "roll",
            Term::Open => "open",
            Term::Height { .. } => "height",
            Term::High => "high",
            Term::Crossed => "crossed",
            Term::Split => "split",
            Term::Dull => "dull",
            Term::Doubled => "doubled",
            Term::NewShape => "new-shape",
            Term::Miscount { .. } => "miscount",
            Term::Apart => "apart",
            Term::Swept => "swept",
            Term::Inside => "inside",
            Term::Outside => "outside",
            Term::AgainstBeat { .. } => "against-beat",
            Term::Haste => "haste",
            Term::Slurred { .. } => "slurred",
            Term::Broken { .. } => "broken",
        }
    }

    /// Whether a player would want to know why: not for what every line is full of.
    pub fn is_odd(self) -> bool {
        !matches!(
            self,
            Term::Change
                | Term::Height { .. }
                | Term::Swept
                | Term::Inside
                | Term::Outside
                | Term::Roll { .. }
        )
    }
}

impl fmt::Display for Term {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Term::Shift { from, to, time } => {
                let (way, frets) = (if to > from { "up" } else { "down" }, to.abs_diff(from));
                let plural = if frets == 1 { "" } else { "s" };
                write!(f, "shift {way} {frets} fret{plural} in {}", beats(time))
            }
            Term::Stretch { mm } => write!(f, "stretch over {mm} mm"),
            Term::Change => f.write_str("on to the next string"),
            Term::Skip { strings: 1 } => f.write_str("a string is skipped"),
            Term::Skip { strings } => write!(f, "{strings} strings are skipped"),
            Term::SameFinger { finger } => write!(f, "finger {finger} twice in a row, at two frets"),
            Term::Roll { finger } => write!(f, "finger {finger} rolls on to another string"),
            Term::Open => f.write_str("an open string, which rings on"),
            Term::Height { high: false } => f.write_str("low on the neck, where frets are wide"),
            Term::Height { high: true } => f.write_str("high on the neck"),
            Term::High => f.write_str("high, where the body is in the way"),
            Term::Crossed => f.write_str("fingers cross"),
            Term::Split => f.write_str("a half step over two strings"),
            Term::Dull => f.write_str("high on a low string, which sounds dull"),
            Term::Doubled => f.write_str("two fingers at one fret"),
            Term::NewShape => f.write_str("this cell has another shape than the one before"),
            Term::Miscount { wanted: 1 } => f.write_str("more than one note on the string"),
            Term::Miscount { wanted } => write!(f, "more or fewer than {wanted} notes on the string"),
            Term::Apart => f.write_str("led into from another string, which can't be played as written"),
            Term::Swept => f.write_str("the stroke goes on over the next string"),
            Term::Inside => f.write_str("an inside crossing: the pick turns between two strings"),
            Term::Outside => f.write_str("an outside crossing: the pick goes round two strings"),
            Term::AgainstBeat { stroke } => write!(f, "starts with {} stroke, against the beat", a(stroke)),
            Term::Haste => f.write_str("struck in a hurry, where a slur would save the stroke"),
            Term::Slurred { attack: Attack::Slid } => f.write_str("slid into, without a stroke"),
            Term::Slurred { attack: Attack::Pulled } => f.write_str("pulled off, without a stroke"),
            Term::Slurred { .. } => f.write_str("hammered on, without a stroke"),
            Term::Broken { stroke } => write!(f, "{} stroke out of turn, as pinned", a(stroke)),
        }
    }
}

fn a(stroke: Stroke) -> &'static str {
    match stroke {
        Stroke::Down => "a down",
        Stroke::Up => "an up",
    }
}

/// A time in beats of a quarter note, as players say it.
fn beats(time: Duration) -> String {
    let parts = |whole: i64, part: &str| match whole {
        0 => part.to_string(),
        whole => format!("{whole} and {part}"),
    };
    let (whole, rest) = (time.numer() / time.denom(), time.numer() % time.denom());
    match (rest, time.denom()) {
        (0, _) if whole == 1 => "a beat".into(),
        (0, _) => format!("{whole} beats"),
        (1, 2) if whole == 0 => "half a beat".into(),
        (1, 2) => format!("{whole} and a half beats"),
        (1, 3) => parts(whole, "a third of a beat"),
        (2, 3) => parts(whole, "two thirds of a beat"),
        (1, 4) => parts(whole, "a quarter of a beat"),
        (3, 4) => parts(whole, "three quarters of a beat"),
        _ => format!("{time} of a beat"),
    }
}

/// A term and what it costs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Charge {
    /// What costs.
    pub term: Term,
    /// How much.
    pub cost: Cost,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_said_in_beats() {
        let said = [(1, 3), (1, 2), (2, 3), (1, 1), (3, 2), (2, 1), (4, 3), (1, 5)]
            .map(|(n, d)| beats(Duration::of(n, d)));
        assert_eq!(
            said,
            [
                "a third of a beat",
                "half a beat",
                "two thirds of a beat",
                "a beat",
                "1 and a half beats",
                "2 beats",
                "1 and a third of a beat",
                "1/5 of a beat"
            ]
        );
        let shift = Term::Shift { from: 3, to: 7, time: Duration::of(1, 3) };
        assert_eq!(shift.to_string(), "shift up 4 frets in a third of a beat");
    }

    #[test]
    fn slurs_are_said_as_players_say_them() {
        let slurred = |attack| Term::Slurred { attack }.to_string();
        assert!(slurred(Attack::Hammered).starts_with("hammered on"));
        assert!(slurred(Attack::Pulled).starts_with("pulled off"));
        assert!(slurred(Attack::Slid).starts_with("slid into"));
    }

    #[test]
    fn what_every_line_is_full_of_is_not_odd() {
        let usual = [
            Term::Change,
            Term::Height { high: false },
            Term::Inside,
            Term::Outside,
            Term::Roll { finger: 1 },
        ];
        let odd = [Term::Open, Term::High, Term::Skip { strings: 1 }, Term::Stretch { mm: 100 }, Term::Haste];
        assert!(usual.iter().all(|term| !term.is_odd()) && odd.iter().all(|term| term.is_odd()));
    }
}
