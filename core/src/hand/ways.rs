//! Other ways to play a line, and the pins that keep one.
//!
//! The ways differ on purpose: each is the cheapest plan when a string that an earlier way used for a note costs more there. That is the
//! diverse M-best search of Batra, Yadollahpour, Guzman-Rivera and Shakhnarovich, "Diverse M-Best Solutions in Markov Random Fields"
//! (2012), with the number of notes on the same string as the likeness. The surcharge grows until the ways differ enough to be noticed.

use std::sync::Arc;

use crate::line::NoteId;
use crate::order;
use crate::technique::Pin;

use super::Fingering;
use super::search::{Choice, Search, Surcharge};
use super::steps::Step;
use super::weights::Cost;

/// The surcharges tried, from about a string change to far more than any shift.
const SURCHARGES: [Cost; 6] = [4, 8, 16, 32, 64, 128];

impl Fingering {
    /// This plan and up to `count - 1` other ways to play the notes of a stretch, the cheapest first; the rest of the line stays as it
    /// is. Any two differ in the strings of at least a quarter of the stretch, and of two notes.
    ///
    /// ```
    /// use halfbar_core::{Piece, read};
    ///
    /// let reading = read::text("Eb4 D C Bb3 G Ab Bb C |");
    /// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
    /// let ways = piece.fingering().ways(|_| true, 3);
    /// assert_eq!(ways.len(), 3);
    /// assert!(ways[0].cost() <= ways[1].cost() && ways[1].cost() <= ways[2].cost());
    /// # Ok::<(), halfbar_core::Error>(())
    /// ```
    pub fn ways(&self, within: impl Fn(NoteId) -> bool, count: usize) -> Vec<Fingering> {
        let inside: Vec<bool> = self.notes.iter().map(|&note| within(note)).collect();
        let search = Arc::new(self.search.with_steps(|index, step| match inside[index] {
            true => Arc::clone(step),
            false => Arc::new(fixed(step, &self.choices[index])),
        }));
        let notes = inside.iter().filter(|inside| **inside).count();
        let enough = notes.div_ceil(4).max(notes.min(2));
        let differ = |a: &[Choice], b: &[Choice]| {
            let strings = a.iter().zip(b).map(|(a, b)| a.fretting.string != b.fretting.string);
            strings.filter(|differs| *differs).count() >= enough
        };
        let torn = |choices: &[Choice]| {
            let pairs = choices.windows(2).zip(search.steps().iter().skip(1));
            pairs
                .filter(|(pair, step)| {
                    step.led.is_some() && pair[0].fretting.string != pair[1].fretting.string
                })
                .count()
        };
        let mut ways = vec![self.choices.clone()];
        while ways.len() < count && notes > 0 {
            let next = SURCHARGES.iter().find_map(|&surcharge| {
                let way = search.surcharged(&surcharges(&ways, surcharge)).best();
                // A slur over two strings is no way to play it, unless there is none.
                let playable = torn(&way) <= torn(&self.choices);
                (playable && ways.iter().all(|earlier| differ(&way, earlier))).then_some(way)
            });
            match next {
                Some(way) => ways.push(way),
                None => break,
            }
        }
        let plan = |choices| Fingering::of_choices(self.notes.clone(), choices, Arc::clone(&self.search));
        let mut plans: Vec<Fingering> = ways.into_iter().map(plan).collect();
        let mut others = plans.split_off(1);
        order::sort(&mut others, Fingering::cost);
        plans.append(&mut others);
        plans
    }

    /// The strings to pin so that this plan becomes the cheapest of a line whose plan is now `other`: one note after the other, only where
    /// the plan would leave it.
    pub fn pins_over(&self, other: &Fingering) -> Vec<(NoteId, Pin)> {
        let mut pinned: Vec<usize> = Vec::new();
        let mut search = (*other.search).clone();
        loop {
            let found = search.best();
            let string = |choices: &[Choice], index: usize| choices[index].fretting.string;
            let leaves = (0..self.choices.len().min(found.len()))
                .find(|&index| string(&found, index) != string(&self.choices, index));
            match leaves {
                Some(index) if !pinned.contains(&index) => pinned.push(index),
                _ => break,
            }
            search = search.with_steps(|index, step| match pinned.contains(&index) {
                true => Arc::new(on_string(step, &self.choices[index])),
                false => Arc::clone(step),
            });
        }
        let pin = |index: usize| {
            let string = Some(self.choices[index].fretting.string);
            (self.notes[index], Pin { string, ..Pin::default() })
        };
        pinned.into_iter().map(pin).collect()
    }
}

/// What each string of each step costs more: once for every earlier way that uses it. Where there is one place only, that decides nothing.
fn surcharges(ways: &[Vec<Choice>], surcharge: Cost) -> Vec<Surcharge> {
    let mut surcharges = vec![Surcharge::default(); ways.first().map_or(0, Vec::len)];
    for way in ways {
        for (choice, strings) in way.iter().zip(&mut surcharges) {
            strings[usize::from(choice.fretting.string.0 - 1)] += surcharge;
        }
    }
    surcharges
}

/// The step with only the place that a plan has for it, whatever the finger.
fn fixed(step: &Step, choice: &Choice) -> Step {
    let Choice { fretting, .. } = choice;
    narrowed(step, |other| (other.string, other.fret) == (fretting.string, fretting.fret))
}

/// The step with only the string that a plan has for it.
fn on_string(step: &Step, choice: &Choice) -> Step {
    narrowed(step, |other| other.string == choice.fretting.string)
}

fn narrowed(step: &Step, keep: impl Fn(&super::Fretting) -> bool) -> Step {
    Step { frettings: step.frettings.iter().copied().filter(keep).collect(), ..step.clone() }
}

impl Search {
    /// The search with some steps narrowed.
    fn with_steps(&self, step: impl Fn(usize, &Arc<Step>) -> Arc<Step>) -> Search {
        let steps = self.steps().iter().enumerate().map(|(index, old)| step(index, old)).collect();
        self.over_steps(steps)
    }
}
