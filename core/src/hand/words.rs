//! Why a note is played as it is, in the words of the trade (common practice, no source).

use std::cmp::Reverse;
use std::fmt;

use crate::attack::Attack;
use crate::bars::Place;
use crate::line::NoteId;
use crate::naming::number;
use crate::neck::{Position, Stroke};
use crate::order;

use super::fingering::Fingering;
use super::reach::Fretting;
use super::terms::{Charge, Term};
use super::weights::Cost;

/// Why a note costs something, in words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reason {
    /// What costs.
    pub term: Term,
    /// How much; never zero.
    pub cost: Cost,
    /// A short phrase: `shift to position VIII on the and of 2`.
    pub words: String,
}

impl Fingering {
    /// Why a note that starts at a place is played as it is: what it costs, the most important first.
    ///
    /// ```
    /// use halfbar_core::{Piece, read};
    ///
    /// let line = read::text("E4^2.5 F^2.6 C5^1.8 Eb^1.11 r:2 |").line.expect("a full bar");
    /// let piece = Piece::new(line, Default::default())?;
    /// let last = piece.line().events()[3];
    /// let reasons = piece.fingering().reasons(last.id, piece.line().bars().place(last.onset)?);
    /// assert!(reasons.is_sorted_by_key(|reason| std::cmp::Reverse(reason.cost)));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn reasons(&self, note: NoteId, place: Place) -> Vec<Reason> {
        let notes = self.fretting.notes();
        let index = notes.binary_search(&note).ok();
        let before = index.and_then(|index| self.of(*notes.get(index.checked_sub(1)?)?));
        let moment = Moment { place, before, at: self.of(note) };
        let mut charges: Vec<Charge> = self.charges(note);
        charges.retain(|charge| charge.cost > 0);
        order::sort(&mut charges, |charge| Reverse(charge.cost));
        let reason = |Charge { term, cost }: Charge| Reason { term, cost, words: moment.say(term) };
        charges.into_iter().map(reason).collect()
    }
}

/// What surrounds a term.
struct Moment {
    place: Place,
    before: Option<Fretting>,
    at: Option<Fretting>,
}

impl Moment {
    fn say(&self, term: Term) -> String {
        // The frets, where a finger stays on its string.
        let along = self.before.zip(self.at).filter(|(from, to)| from.string == to.string);
        match term {
            Term::Shift { .. } => format!("{term} {}", self.place.beat_spoken()),
            Term::SameFinger { finger } => match along {
                Some((from, to)) => {
                    format!("{} finger slides {} to {}", ordinal(finger), from.fret.0, to.fret.0)
                }
                None => term.to_string(),
            },
            Term::Haste => {
                let falls = along.is_some_and(|(from, to)| to.fret < from.fret);
                format!("fast stroke: a {} would help", if falls { "pull-off" } else { "hammer-on" })
            }
            _ => term.to_string(),
        }
    }
}

impl fmt::Display for Term {
    /// A short phrase, without knowing where the note is.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Term::Shift { to, .. } => write!(f, "shift to position {}", Position(to)),
            Term::Stretch { mm } => write!(f, "{mm} mm stretch"),
            Term::Change => f.write_str("next string"),
            Term::Skip { strings: 1 } => f.write_str("string skip"),
            Term::Skip { strings } => write!(f, "skip over {} strings", number(strings.into())),
            Term::SameFinger { .. } => f.write_str("same finger, two frets"),
            Term::Roll { finger } => write!(f, "{} finger rolls to the next string", ordinal(finger)),
            Term::Open => f.write_str("open string, which rings on"),
            Term::Height { high: false } => f.write_str("wide frets near the nut"),
            Term::Height { high: true } => f.write_str("high on the neck"),
            Term::High => f.write_str("so high that the body is in the way"),
            Term::Crossed => f.write_str("crossed fingers"),
            Term::Split => f.write_str("half step over two strings"),
            Term::Dull => f.write_str("high on a low string, which sounds dull"),
            Term::Doubled => f.write_str("two fingers at one fret"),
            Term::NewShape => f.write_str("another shape than the cell before"),
            Term::Miscount { wanted: 1 } => f.write_str("more than one note on the string"),
            Term::Miscount { wanted } => {
                write!(f, "more or fewer than {} notes on the string", number(wanted.into()))
            }
            Term::Apart => f.write_str("slurred from another string, which can't be played"),
            Term::Swept => f.write_str("sweep to the next string"),
            Term::Inside => f.write_str("inside crossing"),
            Term::Outside => f.write_str("outside crossing"),
            Term::AgainstBeat { stroke: Stroke::Down } => {
                f.write_str("starts with a downstroke off the beat")
            }
            Term::AgainstBeat { stroke: Stroke::Up } => f.write_str("starts with an upstroke on the beat"),
            Term::Haste => f.write_str("fast stroke: a hammer-on would help"),
            Term::Slurred { attack: Attack::Slid } => f.write_str("slide, no stroke"),
            Term::Slurred { attack: Attack::Pulled } => f.write_str("pull-off, no stroke"),
            Term::Slurred { .. } => f.write_str("hammer-on, no stroke"),
            Term::Broken { stroke } => write!(f, "pinned {}stroke breaks the picking", stroke.name()),
        }
    }
}

/// A finger in words; 1 is the index finger.
fn ordinal(finger: u8) -> &'static str {
    match finger {
        1 => "first",
        2 => "second",
        3 => "third",
        _ => "fourth",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Duration;
    use crate::{Piece, read};

    /// The reasons for the note with an index, by the name of the term.
    fn words(text: &str, index: usize, name: &str) -> Vec<String> {
        let reading = read::text(text);
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        let event = piece.line().events()[index];
        let reasons = piece.fingering().reasons(event.id, piece.line().bars().place(event.onset).unwrap());
        assert!(reasons.iter().all(|reason| reason.cost > 0));
        assert!(reasons.is_sorted_by_key(|reason| std::cmp::Reverse(reason.cost)), "{reasons:?}");
        reasons.into_iter().filter(|reason| reason.term.name() == name).map(|reason| reason.words).collect()
    }

    #[test]
    fn reasons_are_in_the_terms_of_the_trade() {
        let shift = "hand: position 3 at 1.1 to 1.5/2\nhand: position 8 at 1.5/2\nD4 Eb F Bb r:2 |";
        assert_eq!(words(shift, 3, "shift"), ["shift to position VIII on the and of 2"]);
        let slide = "hand: position 6 at 1.1 to 1.2\nE4^2.5/1 F^2.6/1 r:3 |";
        assert_eq!(words(slide, 1, "same-finger"), ["first finger slides 5 to 6"]);
        assert_eq!(words("hand: position 5 at 1.1\nF#3^4.4/1 r:7/2 |", 0, "stretch"), ["106 mm stretch"]);
        let fretting = |fret| {
            let (string, finger) = (crate::neck::StringNo(1), crate::neck::Finger(1));
            Some(Fretting { string, fret: crate::neck::Fret(fret), finger, position: fret })
        };
        let place = "1.2".parse().unwrap();
        let fast = |from, to| Moment { place, before: fretting(from), at: fretting(to) }.say(Term::Haste);
        assert_eq!(fast(5, 8), "fast stroke: a hammer-on would help");
        assert_eq!(fast(8, 5), "fast stroke: a pull-off would help");
    }

    #[test]
    fn terms_are_short() {
        let time = Duration::QUARTER;
        let all = [
            (Term::Shift { from: 3, to: 7, time }, "shift to position VII"),
            (Term::SameFinger { finger: 2 }, "same finger, two frets"),
            (Term::Roll { finger: 1 }, "first finger rolls to the next string"),
            (Term::Skip { strings: 2 }, "skip over two strings"),
            (Term::Slurred { attack: Attack::Hammered }, "hammer-on, no stroke"),
            (Term::Slurred { attack: Attack::Pulled }, "pull-off, no stroke"),
            (Term::Slurred { attack: Attack::Slid }, "slide, no stroke"),
            (Term::AgainstBeat { stroke: Stroke::Up }, "starts with an upstroke on the beat"),
            (Term::Broken { stroke: Stroke::Down }, "pinned downstroke breaks the picking"),
        ];
        for (term, words) in all {
            assert_eq!(term.to_string(), words);
        }
    }
}
