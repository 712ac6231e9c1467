//! A line made of copies, and what is different in it than asked.

use std::collections::BTreeMap;

use crate::bars::Place;
use crate::line::Line;
use crate::naming::all_of;
use crate::recast::Casting;

use super::naming::Renamed;

/// A line made of copies.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Exercise {
    /// The line.
    pub line: Line,
    /// Its casting: the windows of each copy, wherever they can be recast.
    pub casting: Casting,
    /// The copies that were moved by octaves to stay where they were asked for.
    pub folded: Vec<Folded>,
    /// Where copies start that no octave keeps at or below the highest fret asked for.
    pub above: Vec<Place>,
    /// Where copies start that can't be fretted as the player has fixed it, since the neck doesn't have that there or
    /// the copy would go above the highest fret asked for. They are fingered afresh.
    pub unfixed: Vec<Place>,
    /// What copies name differently than their key alone would, to be read more easily.
    pub renamed: Vec<Renamed>,
    /// How many passages of the original the writer calls something. Those of the copies aren't: in another key, it wouldn't be true.
    pub uncalled: usize,
    /// Where windows start that couldn't keep their spelling.
    pub respelled: Vec<Place>,
    /// Where windows would start that can't be recast in any spelling, and were left plain.
    pub plain: Vec<Place>,
}

/// A copy that was moved by octaves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Folded {
    /// Where the copy starts.
    pub place: Place,
    /// How many octaves up; negative for down.
    pub octaves: i32,
}

impl Exercise {
    /// What came out differently than asked, one sentence each, without a period.
    pub fn remarks(&self) -> Vec<String> {
        let copies = |places: &[Place], [one, many]: [&str; 2]| {
            let starts = all_of(places.iter().map(|place| place.spoken()));
            match places {
                [_] => format!("{starts}: the copy that starts here {one}"),
                _ => format!("{starts}: the copies that start here {many}"),
            }
        };
        let mut by_octaves: BTreeMap<i32, Vec<Place>> = BTreeMap::new();
        for copy in &self.folded {
            by_octaves.entry(copy.octaves).or_default().push(copy.place);
        }
        let folded = by_octaves.into_iter().rev().map(|(octaves, places)| {
            let (count, way) = (octaves.abs(), if octaves > 0 { "up" } else { "down" });
            let unit = if count == 1 { "octave" } else { "octaves" };
            format!(
                "{} {count} {unit} {way}, to stay on the part of the neck you chose",
                copies(&places, ["is", "are"])
            )
        });
        let above = Some(&self.above).filter(|places| !places.is_empty());
        let above = above
            .map(|places| format!("{} above the highest fret you chose", copies(places, ["goes", "go"])));
        let unfixed = Some(&self.unfixed).filter(|places| !places.is_empty());
        let unfixed = unfixed.map(|places| {
            let one = "has a new fingering, since the one that is set can't be moved here";
            let many = "have new fingerings, since the one that is set can't be moved there";
            copies(places, [one, many])
        });
        let respelled = self
            .respelled
            .iter()
            .map(|place| format!("{}: the figure is notated another way here", place.spoken()));
        let plain = self
            .plain
            .iter()
            .map(|place| format!("{}: the figure doesn't fit here, so the notes stay plain", place.spoken()));
        let renamed = self.renamed.iter().map(Renamed::remark);
        let uncalled = (self.uncalled > 0).then(|| {
            "what the text calls some of its notes is left out, since it wouldn't be true in another key"
                .into()
        });
        folded
            .chain(above)
            .chain(unfixed)
            .chain(renamed)
            .chain(respelled)
            .chain(plain)
            .chain(uncalled)
            .collect()
    }
}
