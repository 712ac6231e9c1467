//! The search that each hand's plan comes from: the cheapest way through all notes, by dynamic programming.
//!
//! What a note costs depends on the state that the hand is in and on the one before, and a state holds all that later notes ask about. So
//! what is found is the cheapest plan of all, as the tests show by trying every plan.

use std::sync::Arc;

use crate::order;

use super::terms::{Charge, Term};
use super::weights::Cost;

/// What a hand has to do, what states it can be in, and what these cost. No cost is negative.
///
/// Every cost goes through a sink, so that the search, which only adds up, and the reasons, which want each term, can't disagree.
pub(super) trait Hand {
    /// What is to be done for a note.
    type Note: PartialEq;
    /// What the hand does for a note, and all that later notes ask about.
    type State: Copy;

    /// How many states there are at a note; they go by number.
    fn states(&self, note: &Self::Note) -> usize;

    /// The state with a number.
    fn state(&self, note: &Self::Note, number: usize) -> Self::State;

    /// What a state costs by itself.
    fn alone(&self, state: Self::State, add: impl FnMut(Term, Cost));

    /// What it costs to start with a state; false where that can't be.
    fn first(&self, note: &Self::Note, state: Self::State, add: impl FnMut(Term, Cost)) -> bool;

    /// What it costs to go on from a state of the note before; false where that can't be.
    fn next(
        &self,
        from: Self::State,
        note: &Self::Note,
        to: Self::State,
        add: impl FnMut(Term, Cost),
    ) -> bool;

    /// What [`Hand::next`] costs at least, told quickly.
    fn at_least(&self, _from: Self::State, _note: &Self::Note, _to: Self::State) -> Cost {
        0
    }

    /// The class of a state, below 32.
    fn class(&self, _state: Self::State) -> u32 {
        0
    }

    /// The classes of which some states may come before a state, one bit for each.
    fn after(&self, _note: &Self::Note, _to: Self::State) -> u32 {
        u32::MAX
    }

    /// Whether a line may end with a state.
    fn may_end(&self, _state: Self::State) -> bool {
        true
    }
}

/// The states that can be reached at a note, the cheapest first. Costs count from the cheapest.
#[derive(Clone, PartialEq, Eq, Debug)]
struct Layer(Vec<Reached>);

/// A state, and the cheapest way to it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Reached {
    cost: Cost,
    state: u16,
    /// Which state of the layer before it comes from, by its place there.
    from: u16,
}

/// The whole search, kept so that the next one can go on from what has not changed.
#[derive(Debug)]
pub(super) struct Search<H: Hand> {
    hand: Arc<H>,
    notes: Vec<Arc<H::Note>>,
    layers: Vec<Arc<Layer>>,
}

impl<H: Hand> Clone for Search<H> {
    fn clone(&self) -> Search<H> {
        Search { hand: Arc::clone(&self.hand), notes: self.notes.clone(), layers: self.layers.clone() }
    }
}

impl<H: Hand> Search<H> {
    /// Searches all notes.
    pub(super) fn new(hand: H, notes: Vec<Arc<H::Note>>) -> Search<H> {
        Search { hand: Arc::new(hand), notes: Vec::new(), layers: Vec::new() }.over_notes(notes)
    }

    /// Searches all notes anew, with costs on top: for the state of the note with an index.
    pub(super) fn surcharged(&self, extra: impl Fn(usize, usize) -> Cost) -> Search<H> {
        let mut layers: Vec<Arc<Layer>> = Vec::with_capacity(self.notes.len());
        for (index, note) in self.notes.iter().enumerate() {
            let before = index.checked_sub(1).map(|before| (&*self.notes[before], &*layers[before]));
            layers.push(Arc::new(layer(&*self.hand, before, note, |state| extra(index, state))));
        }
        Search { hand: Arc::clone(&self.hand), notes: self.notes.clone(), layers }
    }

    /// The search for other notes, and perhaps for another hand: up to the first note that differs, and from where nothing differs any
    /// more, layers are taken over.
    pub(super) fn over(&self, hand: H, notes: Vec<Arc<H::Note>>) -> Search<H>
    where
        H: PartialEq,
    {
        if *self.hand == hand { self.over_notes(notes) } else { Search::new(hand, notes) }
    }

    /// The search for other notes of the same hand.
    pub(super) fn over_notes(&self, notes: Vec<Arc<H::Note>>) -> Search<H> {
        let same = self.notes.iter().zip(&notes).take_while(|(a, b)| a == b).count();
        let tail = self.notes.iter().rev().zip(notes.iter().rev()).take_while(|(a, b)| a == b).count();
        // Where the tail starts in both; it has nothing of the head.
        let tail = tail.min(notes.len() - same).min(self.notes.len() - same);
        let (old_tail, new_tail) = (self.notes.len() - tail, notes.len() - tail);
        let mut layers = self.layers[..same].to_vec();
        while layers.len() < notes.len() {
            let index = layers.len();
            let before = index.checked_sub(1).map(|before| (&*notes[before], &*layers[before]));
            let layer = layer(&*self.hand, before, &notes[index], |_| 0);
            let old = (index >= new_tail).then(|| old_tail + (index - new_tail));
            let settled = old.filter(|&old| self.layers[old].goes_on_like(&layer));
            layers.push(Arc::new(layer));
            if let Some(old) = settled {
                layers.extend_from_slice(&self.layers[old + 1..]);
            }
        }
        Search { hand: Arc::clone(&self.hand), notes, layers }
    }

    /// The cheapest plan: a state for each note.
    pub(super) fn best(&self) -> Vec<usize> {
        let (Some(Layer(last)), Some(note)) = (self.layers.last().map(|last| &**last), self.notes.last())
        else {
            return Vec::new();
        };
        let may_end = |end: &Reached| self.hand.may_end(self.hand.state(note, usize::from(end.state)));
        let mut at = last.iter().position(may_end).unwrap_or(0);
        let mut plan = Vec::with_capacity(self.notes.len());
        for Layer(reached) in self.layers.iter().rev().map(|layer| &**layer) {
            let Some(here) = reached.get(at) else { return Vec::new() };
            plan.push(usize::from(here.state));
            at = usize::from(here.from);
        }
        plan.reverse();
        plan
    }

    pub(super) fn hand(&self) -> &H {
        &self.hand
    }

    pub(super) fn notes(&self) -> &[Arc<H::Note>] {
        &self.notes
    }

    /// What the hand does in a plan at the note with an index.
    pub(super) fn state(&self, plan: &[usize], index: usize) -> H::State {
        self.hand.state(&self.notes[index], plan[index])
    }

    /// What a plan is charged for at the note with an index.
    pub(super) fn charges(&self, plan: &[usize], index: usize) -> Vec<Charge> {
        let mut charges = Vec::new();
        if index >= plan.len().min(self.notes.len()) {
            return charges;
        }
        let mut add = |term, cost| {
            if cost > 0 {
                charges.push(Charge { term, cost });
            }
        };
        let (note, state) = (&self.notes[index], self.state(plan, index));
        self.hand.alone(state, &mut add);
        match index.checked_sub(1) {
            None => self.hand.first(note, state, &mut add),
            Some(before) => self.hand.next(self.state(plan, before), note, state, &mut add),
        };
        charges
    }

    /// What a whole plan costs.
    pub(super) fn cost(&self, plan: &[usize]) -> Cost {
        let charges = (0..plan.len()).flat_map(|index| self.charges(plan, index));
        charges.map(|charge| charge.cost).sum()
    }
}

#[cfg(test)]
impl<H: Hand> Search<H> {
    /// Whether it has found the same at every note.
    pub(super) fn is_like(&self, other: &Search<H>) -> bool {
        self.layers == other.layers
    }

    /// How many layers are the very same as another search's.
    pub(super) fn shared_with(&self, other: &Search<H>) -> usize {
        self.layers.iter().filter(|layer| other.layers.iter().any(|old| Arc::ptr_eq(layer, old))).count()
    }
}

impl Layer {
    /// Whether the layers that follow are the same, whatever came before.
    fn goes_on_like(&self, other: &Layer) -> bool {
        let onward = |reached: &Reached| (reached.cost, reached.state);
        self.0.len() == other.0.len() && self.0.iter().zip(&other.0).all(|(a, b)| onward(a) == onward(b))
    }
}

/// A number as states hold it. There are some hundreds of them at a note at most.
fn short(number: usize) -> u16 {
    u16::try_from(number).unwrap_or(u16::MAX)
}

/// The states that can be reached at a note, with costs on top of each.
fn layer<H: Hand>(
    hand: &H,
    before: Option<(&H::Note, &Layer)>,
    note: &H::Note,
    extra: impl Fn(usize) -> Cost,
) -> Layer {
    let states = hand.states(note);
    let mut layer: Vec<Reached> = Vec::with_capacity(states);
    let before: Option<Vec<(Cost, u32, H::State)>> = before.map(|(earlier, Layer(reached))| {
        let with_class = |from: &Reached| {
            let state = hand.state(earlier, usize::from(from.state));
            (from.cost, hand.class(state), state)
        };
        reached.iter().map(with_class).collect()
    });
    for number in 0..states {
        let to = hand.state(note, number);
        let mut own = extra(number);
        hand.alone(to, |_, cost| own += cost);
        let (mut best, mut from) = (Cost::MAX, 0);
        match &before {
            None => {
                if hand.first(note, to, |_, cost| own += cost) {
                    best = own;
                }
            }
            Some(before) => {
                let after = hand.after(note, to);
                for (at, &(cost, class, state)) in before.iter().enumerate() {
                    let mut sum = cost + own;
                    // The others cost as much before they have gone anywhere.
                    if sum >= best {
                        break;
                    }
                    let hopeless = after >> class & 1 == 0 || sum + hand.at_least(state, note, to) >= best;
                    if !hopeless && hand.next(state, note, to, |_, cost| sum += cost) && sum < best {
                        (best, from) = (sum, at);
                    }
                }
            }
        }
        if best < Cost::MAX {
            let reached = Reached { cost: best, state: short(number), from: short(from) };
            order::insert(&mut layer, reached, |reached| reached.cost);
        }
    }
    let least = layer.first().map_or(0, |reached| reached.cost);
    layer.iter_mut().for_each(|reached| reached.cost -= least);
    Layer(layer)
}
