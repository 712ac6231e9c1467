//! The choice with the largest sum of weights: weighted interval scheduling by dynamic programming (J. Kleinberg & É. Tardos, *Algorithm Design*, 2006,
//! chapter 6, from memory). What a window counts also depends on what is chosen in the bar before, so a state holds all that was chosen just now.

use super::density::Density;
use super::weights::SAME_SPOT;

/// A window that may be chosen. At most one starts in each half-bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Choice {
    /// The half-bar that it starts in, by its index.
    pub(super) start: usize,
    /// How many half-bars it reaches into.
    pub(super) covers: usize,
    /// What speaks for it without the others.
    pub(super) weight: i32,
    /// The half-bar at the same spot in the bar before.
    pub(super) same_spot: Option<usize>,
}

/// What a choice of windows is worth: compared from the first number on.
type Worth = (i32, i32);

/// The half-bars just before one, by how far back they are: bit 0 is the one right before. A bit is set where a chosen window starts.
type Recent = u32;

struct Chooser<'a> {
    density: Density,
    choices: &'a [Choice],
    /// Which half-bars matter to later ones.
    memory: Recent,
}

impl Chooser<'_> {
    /// The choice that starts in a half-bar.
    fn at(&self, start: usize) -> Option<(usize, &Choice)> {
        let index = self.choices.binary_search_by_key(&start, |choice| choice.start).ok()?;
        Some((index, &self.choices[index]))
    }

    /// The choice in a half-bar, if there is one that those just before it allow.
    fn allowed(&self, start: usize, recent: Recent) -> Option<(usize, &Choice)> {
        let found = self.at(start)?;
        let last = if recent == 0 { None } else { start.checked_sub(1 + recent.trailing_zeros() as usize) };
        let is_free = last
            .and_then(|last| self.at(last))
            .is_none_or(|(_, last)| last.start + last.covers + self.density.plain_between() <= start);
        is_free.then_some(found)
    }

    /// The half-bars just before the next one.
    fn next(&self, recent: Recent, is_chosen: bool) -> Recent {
        (recent << 1 | Recent::from(is_chosen)) & self.memory
    }

    /// What a choice adds.
    fn adds(&self, choice: &Choice, recent: Recent) -> Worth {
        let back = choice.same_spot.map(|same| choice.start - same - 1);
        let is_repeated = back.is_some_and(|back| recent >> back & 1 == 1);
        let weight = choice.weight + if is_repeated { SAME_SPOT } else { 0 };
        // Everywhere means as many as possible, and otherwise fewer are better.
        if self.density == Density::Everywhere { (1, weight) } else { (weight, -1) }
    }
}

/// The choices with the largest sum of weights of all that the density allows, by their indices; ties go to fewer windows, then to earlier ones. At
/// [`Density::Everywhere`], as many windows as possible are chosen, and of all such choices the one with the largest sum.
///
/// The choices are in order of time.
pub(super) fn choose(choices: &[Choice], density: Density) -> Vec<usize> {
    let Some(last) = choices.last() else { return Vec::new() };
    let reach = choices.iter().map(|choice| {
        let same_spot = choice.same_spot.map_or(0, |same| choice.start - same);
        same_spot.max(choice.covers + density.plain_between() - 1)
    });
    let reach = u32::try_from(reach.max().unwrap_or(0)).unwrap_or(u32::MAX);
    let memory = Recent::MAX.checked_shr(Recent::BITS.saturating_sub(reach)).unwrap_or(0);
    let chooser = Chooser { density, choices, memory };

    // Forward: what may have been chosen just before each half-bar.
    let mut layers: Vec<Vec<Recent>> = vec![vec![0]];
    for start in 0..=last.start {
        let mut next: Vec<Recent> = Vec::new();
        for &recent in &layers[start] {
            let with = chooser.allowed(start, recent).map(|_| chooser.next(recent, true));
            for state in [Some(chooser.next(recent, false)), with].into_iter().flatten() {
                if let Err(at) = next.binary_search(&state) {
                    next.insert(at, state);
                }
            }
        }
        layers.push(next);
    }
    // Backward: what can still be added from there on.
    let mut worth: Vec<Vec<Worth>> = vec![Vec::new(); layers.len()];
    worth[last.start + 1] = vec![(0, 0); layers[last.start + 1].len()];
    let of = |worth: &[Vec<Worth>], start: usize, recent: Recent| {
        layers[start].binary_search(&recent).ok().and_then(|state| worth[start].get(state)).copied()
    };
    let taking = |worth: &[Vec<Worth>], start: usize, recent: Recent| {
        let (index, choice) = chooser.allowed(start, recent)?;
        let (adds, then) = (chooser.adds(choice, recent), of(worth, start + 1, chooser.next(recent, true))?);
        Some((index, (adds.0 + then.0, adds.1 + then.1)))
    };
    for start in (0..=last.start).rev() {
        let best = |recent: &Recent| {
            let leaving = of(&worth, start + 1, chooser.next(*recent, false));
            let taking = taking(&worth, start, *recent).map(|(_, worth)| worth);
            leaving.max(taking).unwrap_or_default()
        };
        worth[start] = layers[start].iter().map(best).collect();
    }
    // Forward again, along what is worth most.
    let (mut chosen, mut recent) = (Vec::new(), 0);
    for start in 0..=last.start {
        let best = of(&worth, start, recent);
        let taken = taking(&worth, start, recent).filter(|(_, worth)| Some(*worth) == best);
        chosen.extend(taken.map(|(index, _)| index));
        recent = chooser.next(recent, taken.is_some());
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    fn choice(start: usize, weight: i32, same_spot: Option<usize>) -> Choice {
        Choice { start, covers: 1, weight, same_spot }
    }

    #[test]
    fn ties_go_to_fewer_windows_and_then_to_earlier_ones() {
        let choices = [choice(0, 2, None), choice(1, 0, None), choice(2, 2, None), choice(3, 2, None)];
        assert_eq!(choose(&choices, Density::Sparingly), [0]);
        assert_eq!(choose(&choices, Density::Alternately), [0, 2]);
        assert_eq!(choose(&choices, Density::Everywhere), [0, 1, 2, 3]);
        assert!(choose(&choices[1..2], Density::Alternately).is_empty());
        assert!(choose(&[], Density::Everywhere).is_empty());
    }

    /// The one at the same spot in the bar before isn't always the one chosen last.
    #[test]
    fn same_spots_are_seen_past_other_windows() {
        let choices = [choice(0, 3, None), choice(2, 3, None), choice(4, 1, Some(0)), choice(5, 1, None)];
        assert_eq!(choose(&choices, Density::Alternately), [0, 1, 3]);
    }

    #[test]
    fn a_long_window_needs_room() {
        let long = Choice { covers: 2, ..choice(0, 3, None) };
        let choices = [long, choice(1, 2, None), choice(2, 2, None), choice(3, 2, None)];
        assert_eq!(choose(&choices, Density::Alternately), [0, 3]);
        assert_eq!(choose(&choices, Density::Everywhere), [0, 2, 3]);
    }
}
