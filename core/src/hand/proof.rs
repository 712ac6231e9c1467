//! The search against every plan there is.

use std::sync::Arc;

use crate::line::Line;
use crate::technique::{FingeringStyle, PickingStyle};
use crate::{notate, perform, read, recast};

use super::costs::{Attack, Costs, Memory};
use super::search::Search;
use super::steps::{self, Step};
use super::weights::Cost;

/// Small numbers that look random and are the same in every run: the multiplier and the addend of Knuth's MMIX (The Art of Computer
/// Programming 2, 3.3.4, table 1, line 26; from memory).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }
}

/// A random line of this many notes, and a rest that fills the bar.
fn line(dice: &mut Dice, notes: usize, style: FingeringStyle, strokes: PickingStyle) -> Line {
    let slurs = ["", ", slurs"][dice.roll(2)];
    let mut text = format!("tempo: {}\n", [60, 120, 240][dice.roll(3)]);
    text += &format!("style: {}\npicking: {}{slurs}\nmeter: 6/4\n", style.name(), strokes.name());
    let mut left = 12;
    for index in 0..notes {
        let length = match dice.roll(8) {
            0 if left > 2 * (notes - index) => 2,
            _ => 1,
        };
        let rest = left > 2 * (notes - index) + 2 && dice.roll(8) == 0;
        left -= length + usize::from(rest);
        // The letters of the neck but its very top.
        let (letter, octave) = (dice.roll(7), 3 + dice.roll(2));
        let (name, alter) = (["C", "D", "E", "F", "G", "A", "B"][letter], ["", "#", "b"][dice.roll(3)]);
        let join = if dice.roll(10) == 0 && !rest && index + 1 < notes { "_" } else { "" };
        let pin = if dice.roll(12) == 0 && join.is_empty() {
            ["^d", "^u", "^/2", "^/3d"][dice.roll(4)]
        } else {
            ""
        };
        let rest = if rest { "r" } else { "" };
        text += &format!("{name}{alter}{octave}:{length}/2{join}{pin} {rest} ");
    }
    text += &format!("r:{left}/2 |");
    read::text(&text).line.unwrap_or_else(|| panic!("{text}"))
}

/// The steps of a line; `None` where what is settled can't hold.
fn steps(line: &Line) -> Option<Vec<Arc<Step>>> {
    let timed = recast::apply(line, &recast::Casting::default()).unwrap();
    let performed = perform::perform(&notate::notate(&timed).unwrap(), line.heading()).unwrap();
    let steps = steps::steps(&timed, &performed, line).ok()?;
    Some(steps.into_iter().map(|(_, step)| Arc::new(step)).collect())
}

/// Every plan for some steps, one by one.
struct Plans<'a> {
    costs: &'a Costs,
    steps: &'a [Arc<Step>],
    /// For each step, fretting of the step before and fretting of its own: what depends on these two alone.
    pairs: Vec<Vec<Vec<Cost>>>,
}

impl Plans<'_> {
    fn new<'a>(costs: &'a Costs, steps: &'a [Arc<Step>]) -> Plans<'a> {
        let pair = |from, to, step: &Step| {
            let mut sum = 0;
            costs.alone(to, |_, cost| sum += cost);
            costs.moving(from, to, step, |_, cost| sum += cost);
            sum
        };
        let pairs = steps.windows(2).map(|both| {
            let row = |&from| both[1].frettings.iter().map(|&to| pair(from, to, &both[1])).collect();
            both[0].frettings.iter().map(row).collect()
        });
        let pairs = pairs.collect();
        Plans { costs, steps, pairs }
    }

    /// The lowest cost of all.
    fn cheapest(&self) -> Cost {
        let (costs, first, mut lowest) = (self.costs, &self.steps[0], Cost::MAX);
        for (index, &fretting) in first.frettings.iter().enumerate() {
            let mut own = 0;
            costs.alone(fretting, |_, cost| own += cost);
            costs.starting(first, |stroke, charge| {
                let run = u8::from(costs.weights.notes_per_string.is_some());
                let memory = Memory { stroke: Some(stroke), swept: 1, home: 0, run };
                let cost = own + charge.map_or(0, |(_, cost)| cost);
                lowest = lowest.min(self.onward(0, index, memory, cost));
            });
        }
        lowest
    }

    /// The lowest cost of all that go on from a fretting of a step.
    fn onward(&self, at: usize, fretting: usize, memory: Memory, so_far: Cost) -> Cost {
        let costs = self.costs;
        let Some(next) = self.steps.get(at + 1) else {
            return if costs.may_end(memory) { so_far } else { Cost::MAX };
        };
        let (from, mut lowest) = (self.steps[at].frettings[fretting], Cost::MAX);
        for (index, &to) in next.frettings.iter().enumerate() {
            let mut sum = so_far + self.pairs[at][fretting][index];
            let (home, run) = costs.remembering(memory, from, to, next, |_, cost| sum += cost);
            costs.sounding(memory, from, to, next, |_, stroke, swept, charge| {
                let cost = sum + charge.map_or(0, |(_, cost)| cost);
                lowest = lowest.min(self.onward(at + 1, index, Memory { stroke, swept, home, run }, cost));
            });
        }
        lowest
    }
}

/// The plan found costs no more than any other, and its charges add up to that.
fn prove(costs: &Costs, steps: Vec<Arc<Step>>, about: &dyn std::fmt::Debug) {
    let lowest = Plans::new(costs, &steps).cheapest();
    let search = Search::new(costs.clone(), steps);
    let plan = search.best();
    assert_eq!(search.cost(&plan), lowest, "{about:?}");
    let led = plan.iter().filter(|choice| matches!(choice.attack, Attack::Led(_))).count();
    assert!(led < plan.len(), "a note is struck");
}

/// A thousand lines of four notes in every way of picking, with every state of the hand.
fn prove_style(style: FingeringStyle) {
    for strokes in PickingStyle::ALL {
        let mut dice = Dice(1 + strokes as u64 * 10 + style as u64);
        let mut lines = 0;
        while lines < 1_000 {
            let line = line(&mut dice, 4, style, strokes);
            let Some(steps) = steps(&line) else { continue };
            prove(&Costs::new(line.heading()), steps, &(strokes, line.events()));
            lines += 1;
        }
    }
}

#[test]
fn four_notes_in_position() {
    prove_style(FingeringStyle::Position);
}

#[test]
fn four_notes_along_the_string() {
    prove_style(FingeringStyle::Along);
}

#[test]
fn four_notes_one_a_string() {
    prove_style(FingeringStyle::OnePerString);
}

#[test]
fn four_notes_three_a_string() {
    prove_style(FingeringStyle::ThreePerString);
}

/// Up to seven notes, each with up to four ways to fret it: where memory counts for longer.
#[test]
fn seven_notes_on_a_small_neck() {
    for style in FingeringStyle::ALL {
        for strokes in PickingStyle::ALL {
            let mut dice = Dice(7 + strokes as u64 * 10 + style as u64);
            let mut lines = 0;
            while lines < 250 {
                let notes = 5 + dice.roll(3);
                let line = line(&mut dice, notes, style, strokes);
                let Some(steps) = steps(&line) else { continue };
                let few = steps.iter().map(|step| {
                    let mut step = Step::clone(step);
                    // Ways close to each other on the neck and far apart.
                    while step.frettings.len() > 4 {
                        step.frettings.remove(dice.roll(step.frettings.len()));
                    }
                    Arc::new(step)
                });
                prove(&Costs::new(line.heading()), few.collect(), &(style, strokes, line.events()));
                lines += 1;
            }
        }
    }
}

/// A search that goes on from an earlier one finds what a new one finds.
#[test]
fn what_has_not_changed_is_taken_over() {
    let mut dice = Dice(3);
    let mut taken = 0;
    for round in 0..400 {
        let style = FingeringStyle::ALL[round % 4];
        let line = line(&mut dice, 6, style, PickingStyle::ALL[round / 4 % 4]);
        let Some(steps) = steps(&line) else { continue };
        let costs = Costs::new(line.heading());
        let long: Vec<Arc<Step>> = steps.iter().cycle().take(60).cloned().collect();
        let mut changed = long.clone();
        let at = 20 + dice.roll(20);
        match round % 3 {
            0 => drop(changed.remove(at)),
            1 => changed.insert(at, Arc::clone(&long[0])),
            _ => changed[at] = Arc::clone(&long[at + 1]),
        }
        let before = Search::new(costs.clone(), long);
        let (over, anew) = (before.over(costs.clone(), changed.clone()), Search::new(costs.clone(), changed));
        assert!(over.is_like(&anew) && over.best() == anew.best());
        // With other costs nothing is as it was.
        let mut other = costs;
        other.strokes = PickingStyle::ALL[(round / 4 + 1) % 4];
        let (over_other, anew_other) = (before.over(other.clone(), steps.clone()), Search::new(other, steps));
        assert!(over_other.is_like(&anew_other));
        taken += over.shared_with(&before);
    }
    assert!(taken > 400 * 30, "only {taken} layers were taken over");
}
