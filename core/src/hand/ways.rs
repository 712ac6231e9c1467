//! Other ways to play a line, and the pins that keep one.
//!
//! The ways differ on purpose: each is the cheapest plan when a string that an earlier way used for a note costs more there. That is the
//! diverse M-best search of Batra, Yadollahpour, Guzman-Rivera and Shakhnarovich, "Diverse M-Best Solutions in Markov Random Fields"
//! (2012), with the number of notes on the same string as the likeness. The surcharge grows until the ways differ enough to be noticed.

use std::sync::Arc;

use crate::line::NoteId;
use crate::order;
use crate::technique::Pin;

use super::fingering::Fingering;
use super::plan::FrettingPlan;
use super::reach::Fretting;
use super::search::Hand;
use super::weights::Cost;

/// The surcharges tried, from about a string change to far more than any shift.
const SURCHARGES: [Cost; 6] = [4, 8, 16, 32, 64, 128];

impl Fingering {
    /// This fingering and up to `count - 1` other ways to play the notes of a stretch, the easiest for the fretting hand first; the rest of the
    /// line stays as it is. Any two differ in the strings of at least a quarter of the stretch, and of two notes.
    ///
    /// ```
    /// use halfbar_core::{Piece, read};
    ///
    /// let reading = read::text("Eb4 D C Bb3 G Ab Bb C |");
    /// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
    /// let ways = piece.fingering().ways(|_| true, 3);
    /// assert_eq!(ways.len(), 3);
    /// assert!(ways.is_sorted_by_key(|way| way.fretting().cost()));
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn ways(&self, within: impl Fn(NoteId) -> bool, count: usize) -> Vec<Fingering> {
        let mut ways = vec![self.clone()];
        let others = self.fretting.others(within, count.saturating_sub(1)).into_iter();
        let mut others: Vec<Fingering> = others.map(|fretting| self.on(fretting)).collect();
        order::sort(&mut others, |way| way.fretting.cost());
        ways.append(&mut others);
        ways
    }

    /// The strings to pin so that this fingering becomes the cheapest of a line whose fingering is now `other`: one note after the other,
    /// only where the plan would leave it.
    pub fn pins_over(&self, other: &Fingering) -> Vec<(NoteId, Pin)> {
        self.fretting.pins_over(&other.fretting)
    }
}

impl FrettingPlan {
    /// Up to so many other ways to play the notes of a stretch.
    fn others(&self, within: impl Fn(NoteId) -> bool, count: usize) -> Vec<FrettingPlan> {
        let inside: Vec<bool> = self.notes.iter().map(|&note| within(note)).collect();
        let notes = inside.iter().filter(|inside| **inside).count();
        let enough = notes.div_ceil(4).max(notes.min(2));
        let differ = |a: &[Fretting], b: &[Fretting]| {
            a.iter().zip(b).filter(|(a, b)| a.string != b.string).count() >= enough
        };
        let torn = |plan: &[Fretting]| {
            let pairs = plan.windows(2).zip(self.choices.iter().skip(1));
            pairs.filter(|(pair, note)| note.is_led() && pair[0].string != pair[1].string).count()
        };
        // Outside the stretch, every note stays in its place, whatever the finger.
        let search = self.narrowed(|index, other| {
            let own = self.at(index);
            inside[index] || (other.string, other.fret) == (own.string, own.fret)
        });
        let own: Vec<Fretting> = (0..self.notes.len()).map(|index| self.at(index)).collect();
        let mut found = vec![own];
        let mut others = Vec::new();
        while others.len() < count && notes > 0 {
            let next = SURCHARGES.iter().find_map(|&surcharge| {
                let surcharged = search.surcharged(|index, state| {
                    let string = search.hand().state(&search.notes()[index], state).fretting.string;
                    let used = found.iter().filter(|way| way[index].string == string).count();
                    surcharge * Cost::try_from(used).unwrap_or(0)
                });
                let way = self.with(surcharged);
                let frettings: Vec<Fretting> = (0..self.notes.len()).map(|index| way.at(index)).collect();
                // A slur over two strings is no way to play it, unless there is none.
                let playable = torn(&frettings) <= torn(&found[0]);
                let new = playable && found.iter().all(|earlier| differ(&frettings, earlier));
                new.then_some((way, frettings))
            });
            let Some((way, frettings)) = next else { break };
            others.push(way);
            found.push(frettings);
        }
        others
    }

    fn pins_over(&self, other: &FrettingPlan) -> Vec<(NoteId, Pin)> {
        let mut pinned: Vec<usize> = Vec::new();
        let mut found = other.clone();
        while let Some(index) =
            (0..self.notes.len()).find(|&note| self.at(note).string != found.at(note).string)
        {
            pinned.push(index);
            let mut choices = found.choices.clone();
            choices[index] = Arc::new(choices[index].narrowed(|way| way.string == self.at(index).string));
            found = found.settle(choices);
        }
        let pin = |index: usize| {
            let string = Some(self.at(index).string);
            (self.notes[index], Pin { string, ..Pin::default() })
        };
        pinned.into_iter().map(pin).collect()
    }
}
