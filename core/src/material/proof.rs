//! Proof that choices are the cheapest ones, by trying all of them.

use super::weights::Cost;

/// The least cost of all ways through layers, from a choice before them on.
pub(super) fn least<S>(
    layers: &[Vec<S>],
    alone: &impl Fn(&S) -> Cost,
    joint: &impl Fn(&S, &S) -> Option<Cost>,
    from: Option<&S>,
) -> Option<Cost> {
    let Some((first, rest)) = layers.split_first() else { return Some(Cost::default()) };
    let each = first.iter().filter_map(|choice| {
        let join = from.map_or(Some(Cost::default()), |from| joint(from, choice))?;
        Some(join + alone(choice) + least(rest, alone, joint, Some(choice))?)
    });
    each.min()
}

/// What a way through layers costs.
pub(super) fn of<S>(
    layers: &[Vec<S>],
    path: &[usize],
    alone: &impl Fn(&S) -> Cost,
    joint: &impl Fn(&S, &S) -> Option<Cost>,
) -> Cost {
    let choices: Vec<&S> = layers.iter().zip(path).map(|(layer, at)| &layer[*at]).collect();
    let joints = choices.windows(2).map(|pair| joint(pair[0], pair[1]).unwrap());
    joints.chain(choices.iter().map(|choice| alone(choice))).fold(Cost::default(), |sum, cost| sum + cost)
}
