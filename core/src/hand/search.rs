//! The search: the cheapest way through all steps, by dynamic programming.
//!
//! A state is a fretting together with a [`Memory`]. Of two states with the same fretting and the same stroke, one is dropped when the
//! other costs less by more than its memory can ever cost it; so what is found is the cheapest plan of all, as the tests show by trying
//! every plan.

use std::sync::Arc;

use crate::neck::Stroke;
use crate::order;

use super::Fretting;
use super::costs::{Attack, Costs, Memory};
use super::steps::Step;
use super::terms::Charge;
use super::weights::Cost;

/// The states after one step, in groups, the cheapest of each group first. Their costs count from the cheapest of all.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Layer {
    states: Vec<State>,
    groups: Vec<Group>,
}

/// The states with the same fretting.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Group {
    fretting: u16,
    position: u8,
    open: bool,
    /// Which states: from the first up to this one.
    start: u16,
    end: u16,
    /// What the cheapest of them costs.
    least: Cost,
}

/// One way to have come as far as a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct State {
    cost: Cost,
    /// Which fretting of the step.
    fretting: u16,
    /// Which state of the layer before.
    from: u16,
    memory: Memory,
    /// The memory's last stroke, as [`last`] counts them.
    last: u8,
    attack: Attack,
}

/// Costs for the strings of each step that come on top of the weights: what makes a second plan differ from the first.
pub(super) type Surcharge = [Cost; 8];

/// The whole search, kept so that the next one can go on from what has not changed.
#[derive(Clone, Debug)]
pub(super) struct Search {
    costs: Arc<Costs>,
    steps: Vec<Arc<Step>>,
    layers: Vec<Arc<Layer>>,
}

/// What the hands do at a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Choice {
    pub(super) fretting: Fretting,
    pub(super) memory: Memory,
    pub(super) attack: Attack,
}

/// States to a step: as many as an index names. There are some hundreds at most.
const MOST_STATES: usize = u16::MAX as usize - 1;

impl Search {
    /// Searches all steps.
    pub(super) fn new(costs: Costs, steps: Vec<Arc<Step>>) -> Search {
        let mut search = Search { costs: Arc::new(costs), steps, layers: Vec::new() };
        search.run(&[]);
        search
    }

    /// Searches all steps anew, with a surcharge on strings, one for each step.
    pub(super) fn surcharged(&self, surcharges: &[Surcharge]) -> Search {
        let mut search =
            Search { costs: Arc::clone(&self.costs), steps: self.steps.clone(), layers: Vec::new() };
        search.run(surcharges);
        search
    }

    /// The search over other steps and perhaps with other costs: up to the first step that differs, and from where nothing differs any
    /// more, layers are taken over.
    pub(super) fn over(&self, costs: Costs, steps: Vec<Arc<Step>>) -> Search {
        match *self.costs == costs {
            true => self.over_steps(steps),
            false => Search::new(costs, steps),
        }
    }

    /// The same search over other steps.
    pub(super) fn over_steps(&self, steps: Vec<Arc<Step>>) -> Search {
        let same = self.steps.iter().zip(&steps).take_while(|(a, b)| a == b).count();
        let tail = self.steps.iter().rev().zip(steps.iter().rev()).take_while(|(a, b)| a == b).count();
        // Where the tail starts in both; it has nothing of the head.
        let tail = tail.min(steps.len() - same).min(self.steps.len() - same);
        let (old_tail, new_tail) = (self.steps.len() - tail, steps.len() - tail);
        let mut layers = self.layers[..same].to_vec();
        while layers.len() < steps.len() {
            let index = layers.len();
            let layer = layer(
                &self.costs,
                &steps[index],
                index.checked_sub(1).map(|before| (&*steps[before], &*layers[before])),
                None,
            );
            let old = (index >= new_tail).then(|| &self.layers[old_tail + (index - new_tail)]);
            let settled = old.is_some_and(|old| old.goes_on_like(&layer));
            layers.push(Arc::new(layer));
            if settled {
                layers.extend_from_slice(&self.layers[old_tail + (index - new_tail) + 1..]);
            }
        }
        Search { costs: Arc::clone(&self.costs), steps, layers }
    }

    fn run(&mut self, surcharges: &[Surcharge]) {
        for (index, step) in self.steps.iter().enumerate() {
            let before = index.checked_sub(1).map(|before| (&*self.steps[before], &*self.layers[before]));
            let layer = layer(&self.costs, step, before, surcharges.get(index));
            self.layers.push(Arc::new(layer));
        }
    }

    /// The cheapest plan, step by step.
    pub(super) fn best(&self) -> Vec<Choice> {
        let Some(last) = self.layers.last() else { return Vec::new() };
        let ends = (0..last.states.len()).filter(|&index| self.costs.may_end(last.states[index].memory));
        let mut at = ends.min_by_key(|&index| last.states[index].cost).unwrap_or(0);
        let mut choices = Vec::with_capacity(self.steps.len());
        for (layer, step) in self.layers.iter().zip(&self.steps).rev() {
            let Some(state) = layer.states.get(at) else { return Vec::new() };
            let fretting = step.frettings[usize::from(state.fretting)];
            choices.push(Choice { fretting, memory: state.memory, attack: state.attack });
            at = usize::from(state.from);
        }
        choices.reverse();
        choices
    }

    pub(super) fn steps(&self) -> &[Arc<Step>] {
        &self.steps
    }

    /// What each step of a plan is charged for.
    pub(super) fn charges(&self, plan: &[Choice], index: usize) -> Vec<Charge> {
        charges(&self.costs, &self.steps, plan, index)
    }

    /// What a whole plan costs.
    pub(super) fn cost(&self, plan: &[Choice]) -> Cost {
        let charges = (0..plan.len()).flat_map(|index| self.charges(plan, index));
        charges.map(|charge| charge.cost).sum()
    }
}

#[cfg(test)]
impl Search {
    /// Whether it has found the same at every step.
    pub(super) fn is_like(&self, other: &Search) -> bool {
        self.layers == other.layers
    }

    /// How many layers are the very same as another search's.
    pub(super) fn shared_with(&self, other: &Search) -> usize {
        self.layers.iter().filter(|layer| other.layers.iter().any(|old| Arc::ptr_eq(layer, old))).count()
    }
}

impl Layer {
    /// Whether the layers that follow are the same, whatever came before.
    fn goes_on_like(&self, other: &Layer) -> bool {
        let onward = |state: &State| (state.cost, state.fretting, state.memory);
        self.states.len() == other.states.len()
            && self.states.iter().zip(&other.states).all(|(a, b)| onward(a) == onward(b))
    }
}

/// The index of a state as states hold it.
fn index_of(state: usize) -> u16 {
    u16::try_from(state).unwrap_or(u16::MAX)
}

/// The states of one step.
fn layer(
    costs: &Costs,
    step: &Step,
    before: Option<(&Step, &Layer)>,
    surcharge: Option<&Surcharge>,
) -> Layer {
    let mut states: Vec<State> = Vec::with_capacity(before.map_or(0, |(_, layer)| layer.states.len()));
    let mut found = Found::new(costs, step, before.map(|(_, layer)| layer));
    let shifts = [false, true].map(|open| costs.shifts(open, step));
    let mut bounds: Vec<Cost> = Vec::with_capacity(before.map_or(0, |(_, layer)| layer.groups.len()));
    for (fretting, &to) in (0u16..).zip(&step.frettings) {
        let mut own = surcharge.map_or(0, |surcharge| surcharge[usize::from(to.string.0 - 1)]);
        costs.alone(to, |_, cost| own += cost);
        found.clear();
        match before {
            None => {
                let run = u8::from(costs.weights.notes_per_string.is_some());
                costs.starting(step, |stroke, charge| {
                    let cost = own + charge.map_or(0, |(_, cost)| cost);
                    let memory = Memory { stroke: Some(stroke), swept: 1, home: 0, run };
                    let (last, attack) = (last(memory), Attack::Struck);
                    found.keep(costs, State { cost, fretting, from: 0, memory, last, attack });
                });
            }
            Some((earlier, layer)) => {
                // What it costs at least to come from each group. Where it is least comes first: most others need not be looked at then.
                let is_open = to.finger.0 == 0;
                bounds.clear();
                bounds.extend(layer.groups.iter().map(|group| {
                    let shifts = &shifts[usize::from(group.open || is_open)];
                    group.least + own + shifts[usize::from(group.position.abs_diff(to.position))]
                }));
                let likely = (0..bounds.len()).min_by_key(|&index| bounds[index]).unwrap_or(0);
                let way = Way { costs, step, earlier, layer, to, fretting, own };
                if let Some(group) = layer.groups.get(likely) {
                    way.follow(group, bounds[likely], &mut found);
                }
                for (index, (group, &bound)) in layer.groups.iter().zip(&bounds).enumerate() {
                    if bound < found.enough_for_all && index != likely {
                        way.follow(group, bound, &mut found);
                    }
                }
            }
        }
        states.append(&mut found.states);
    }
    let least = states.iter().map(|state| state.cost).min().unwrap_or(0);
    states.iter_mut().for_each(|state| state.cost -= least);
    states.truncate(MOST_STATES);
    let groups = groups(&states, step);
    Layer { groups, states }
}

/// The groups of a step's states, the cheapest first.
fn groups(states: &[State], step: &Step) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::with_capacity(step.frettings.len());
    let mut start = 0;
    for states in states.chunk_by(|a, b| a.fretting == b.fretting) {
        let fretting = states[0].fretting;
        let Fretting { position, finger, .. } = step.frettings[usize::from(fretting)];
        let least = states[0].cost;
        let end = start + index_of(states.len());
        let group = Group { fretting, position, open: finger.0 == 0, start, end, least };
        order::insert(&mut groups, group, |group| group.least);
        start = end;
    }
    groups
}

/// On from one step to a fretting of the next.
struct Way<'a> {
    costs: &'a Costs,
    /// The step that it leads to, the fretting, its index, and what that costs by itself.
    step: &'a Step,
    to: Fretting,
    fretting: u16,
    own: Cost,
    /// The step that it comes from.
    earlier: &'a Step,
    layer: &'a Layer,
}

impl Way<'_> {
    /// Adds what comes of the states of a group, but for those that are too dear: no charge is negative.
    fn follow(&self, group: &Group, bound: Cost, found: &mut Found) {
        let Way { costs, step, to, fretting, .. } = *self;
        let at = self.earlier.frettings[usize::from(group.fretting)];
        let at_least = bound - group.least;
        let mut moving = None;
        for from in group.start..group.end {
            let state = &self.layer.states[usize::from(from)];
            let enough = found.enough[usize::from(state.last)];
            if state.cost + at_least >= found.enough_for_all {
                break;
            }
            if state.cost + at_least >= enough {
                continue;
            }
            let mut sum = state.cost
                + *moving.get_or_insert_with(|| {
                    let mut moving = self.own;
                    costs.moving(at, to, step, |_, cost| moving += cost);
                    moving
                });
            if sum >= enough {
                continue;
            }
            let (home, run) = costs.remembering(state.memory, at, to, step, |_, cost| sum += cost);
            costs.sounding(state.memory, at, to, step, |attack, stroke, swept, charge| {
                let cost = sum + charge.map_or(0, |(_, cost)| cost);
                let memory = Memory { stroke, swept, home, run };
                let last = last(memory);
                found.keep(costs, State { cost, fretting, from, memory, last, attack });
            });
        }
    }
}

/// The states of one fretting that may still be part of the cheapest plan.
struct Found {
    /// The cheapest first.
    states: Vec<State>,
    /// The lowest cost with each last stroke.
    best: [Cost; LASTS],
    /// For each last stroke that there is before the step, which ones it can lead to, as bits.
    leads: [u8; LASTS],
    /// For each last stroke before the step, the cost from which a state that has it has no chance.
    enough: [Cost; LASTS],
    /// The same for all of them.
    enough_for_all: Cost,
    /// The most that a state's memory can cost it over another's.
    slack: Cost,
}

/// Last strokes: none, and down and up with one, two and more notes.
const LASTS: usize = 7;

fn last(memory: Memory) -> u8 {
    let swept = memory.swept.clamp(1, 3);
    match memory.stroke {
        None => 0,
        Some(Stroke::Down) => swept,
        Some(Stroke::Up) => 3 + swept,
    }
}

impl Found {
    fn new(costs: &Costs, step: &Step, before: Option<&Layer>) -> Found {
        let mut leads = [0; LASTS];
        for state in before.map_or(&[][..], |layer| &layer.states) {
            let leads = &mut leads[usize::from(state.last)];
            if *leads == 0 {
                costs.strokes_after(state.memory, step, |after| *leads |= 1 << last(after));
            }
        }
        let (best, enough, slack) = ([Cost::MAX; LASTS], [Cost::MAX; LASTS], costs.widest_gap());
        Found { states: Vec::new(), best, leads, enough, enough_for_all: Cost::MAX, slack }
    }

    fn clear(&mut self) {
        self.states.clear();
        (self.best, self.enough) = ([Cost::MAX; LASTS], [Cost::MAX; LASTS]);
        self.enough_for_all = Cost::MAX;
    }

    /// Takes a state, unless one that is there does as well whatever follows.
    fn keep(&mut self, costs: &Costs, state: State) {
        let key = usize::from(state.last);
        if state.cost >= self.best[key].saturating_add(self.slack) {
            return;
        }
        let beats =
            |a: &State, b: &State| a.last == b.last && a.cost + costs.gap(a.memory, b.memory) <= b.cost;
        let at = self.states.partition_point(|other| other.cost <= state.cost);
        if self.states[..at].iter().any(|other| beats(other, &state)) {
            return;
        }
        let mut index = at;
        while let Some(other) = self.states.get(index) {
            if beats(&state, other) {
                self.states.remove(index);
            } else {
                index += 1;
            }
        }
        self.states.insert(at, state);
        if state.cost < self.best[key] {
            self.best[key] = state.cost;
            for (enough, &leads) in self.enough.iter_mut().zip(&self.leads) {
                if leads >> key & 1 == 1 {
                    let led_to = (0..LASTS).filter(|key| leads >> *key & 1 == 1);
                    let worst = led_to.map(|key| self.best[key]).max();
                    *enough = worst.unwrap_or(Cost::MAX).saturating_add(self.slack);
                }
            }
            let there = self.enough.iter().zip(&self.leads).filter(|(_, leads)| **leads > 0);
            self.enough_for_all = there.map(|(enough, _)| *enough).max().unwrap_or(Cost::MAX);
        }
    }
}

/// What a step of a plan is charged for.
fn charges(costs: &Costs, steps: &[Arc<Step>], plan: &[Choice], index: usize) -> Vec<Charge> {
    let mut charges = Vec::new();
    let (Some(step), Some(choice)) = (steps.get(index), plan.get(index)) else { return charges };
    let mut add = |term, cost| {
        if cost > 0 {
            charges.push(Charge { term, cost });
        }
    };
    let mut sounded = None;
    costs.alone(choice.fretting, &mut add);
    match index.checked_sub(1).map(|before| plan[before]) {
        None => costs.starting(step, |stroke, charge| {
            if choice.memory.stroke == Some(stroke) {
                sounded = charge;
            }
        }),
        Some(before) => {
            let (from, to) = (before.fretting, choice.fretting);
            costs.moving(from, to, step, &mut add);
            costs.remembering(before.memory, from, to, step, &mut add);
            costs.sounding(before.memory, from, to, step, |attack, stroke, swept, charge| {
                if (attack, stroke, swept) == (choice.attack, choice.memory.stroke, choice.memory.swept) {
                    sounded = charge;
                }
            });
        }
    }
    if let Some((term, cost)) = sounded {
        add(term, cost);
    }
    charges
}
