//! The chords that a group of notes is named after.

use std::sync::LazyLock;

use crate::chord::{Degree, Quality};
use crate::pitch::{Letter, PitchName};

use super::tones::fifths;
use super::weights::{self, Cost};

/// A chord that names are made with.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    pub(super) quality: Quality,
    /// How many half steps each of its tones is above the root, as they are stacked.
    pub(super) members: Vec<u8>,
    pub(super) degrees: Vec<Degree>,
    /// The same in the circle of fifths.
    pub(super) fifths: Vec<i32>,
    /// The member at each of the twelve half steps above the root.
    pub(super) at: [Option<u8>; 12],
    /// How rare it is.
    pub(super) cost: Cost,
}

/// All of them, the most usual first.
pub(super) fn all() -> &'static [Shape] {
    static ALL: LazyLock<Vec<Shape>> = LazyLock::new(|| {
        let rows =
            weights::SHAPES.iter().flat_map(|&(cost, names)| names.iter().map(move |name| (cost, *name)));
        let shape = |(cost, name): (Cost, &str)| {
            // All of them are chords, as a test says. An empty suffix is a major triad.
            let quality: Quality = name.parse().ok()?;
            let degrees: Vec<Degree> = quality.degrees().collect();
            let members: Vec<u8> = degrees.iter().map(|degree| degree.half_steps()).collect();
            let mut at = [None; 12];
            for (&above, member) in members.iter().zip(0..) {
                at[usize::from(above)] = at[usize::from(above)].or(Some(member));
            }
            let above_c = |degree: &Degree| fifths(PitchName::from(Letter::C).transposed(degree.interval()));
            let fifths = degrees.iter().map(above_c).collect();
            Some(Shape { quality, members, degrees, fifths, at, cost })
        };
        rows.filter_map(shape).collect()
    });
    &ALL
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_are_chords() {
        let names: usize = weights::SHAPES.iter().map(|(_, names)| names.len()).sum();
        assert_eq!(all().len(), names);
    }
}
