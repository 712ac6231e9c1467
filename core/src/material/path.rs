//! The cheapest way through layers of choices, by dynamic programming.

use super::weights::Cost;

/// Why no way leads through: the layer that can't be reached, and the choice of the layer before that is reached the cheapest.
#[derive(Debug)]
pub(super) struct Stuck {
    pub(super) layer: usize,
    pub(super) before: Option<usize>,
}

/// The cheapest choice in each layer. `alone` is what a choice costs by itself, and `joint` what it costs to go from one choice to the next; `None`
/// where that can't be. Of equally cheap ways, it is the one with the first choices.
pub(super) fn cheapest<S>(
    layers: &[Vec<S>],
    alone: impl Fn(&S) -> Cost,
    joint: impl Fn(&S, &S) -> Option<Cost>,
) -> Result<Vec<usize>, Stuck> {
    // For each choice of each layer, its cost and where it comes from.
    let mut reached: Vec<Vec<Option<(Cost, usize)>>> = Vec::with_capacity(layers.len());
    for (layer, choices) in layers.iter().enumerate() {
        let best = |choice: &S| {
            let own = alone(choice);
            let Some(before) = layer.checked_sub(1) else { return Some((own, 0)) };
            let ways = reached[before].iter().zip(&layers[before]).enumerate();
            let ways = ways.filter_map(|(at, (reached, from))| {
                let (cost, _) = (*reached)?;
                Some((cost + joint(from, choice)? + own, at))
            });
            ways.min()
        };
        let here: Vec<_> = choices.iter().map(best).collect();
        if here.iter().all(Option::is_none) {
            let before = layer.checked_sub(1).and_then(|before| cheapest_of(&reached[before]));
            return Err(Stuck { layer, before });
        }
        reached.push(here);
    }
    let mut at = reached.last().and_then(|last| cheapest_of(last)).unwrap_or(0);
    let mut path = Vec::with_capacity(layers.len());
    for layer in reached.iter().rev() {
        path.push(at);
        at = layer[at].map_or(0, |(_, from)| from);
    }
    path.reverse();
    Ok(path)
}

fn cheapest_of(layer: &[Option<(Cost, usize)>]) -> Option<usize> {
    let reached = layer.iter().enumerate().filter_map(|(at, way)| Some((way.as_ref()?.0, at)));
    reached.min().map(|(_, at)| at)
}

#[cfg(test)]
mod tests {
    use super::super::proof::{least, of};
    use super::*;

    #[test]
    fn no_way_is_cheaper() {
        // A simple generator, so that failures can be reproduced.
        let mut state = 3u32;
        let mut next = move |below: u32| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 16) % below
        };
        let (mut stuck, mut through) = (0, 0);
        for _ in 0..2_000 {
            let layers: Vec<Vec<u32>> =
                (0..1 + next(5)).map(|_| (0..next(5)).map(|_| next(1_000)).collect()).collect();
            let alone = |choice: &u32| Cost([choice % 3, choice % 5, 0]);
            let joint = |a: &u32, b: &u32| {
                let mixed = a.wrapping_mul(31) ^ b.wrapping_mul(17);
                (!mixed.is_multiple_of(4)).then_some(Cost([mixed % 7, 0, mixed % 11]))
            };
            let wanted = least(&layers, &alone, &joint, None);
            match cheapest(&layers, alone, joint) {
                Ok(path) => {
                    through += 1;
                    assert_eq!(Some(of(&layers, &path, &alone, &joint)), wanted, "{layers:?}");
                }
                Err(_) => {
                    stuck += 1;
                    assert_eq!(wanted, None, "{layers:?}");
                }
            }
        }
        assert!(stuck > 100 && through > 100, "{stuck} {through}");
    }
}
