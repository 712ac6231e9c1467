//! Accents: a wedge on the opposite side of the notehead from the stem (Gould 2011, from memory), clear of
//! what is there.

use crate::scene::{Group, Item, Role, Sp};

use super::sign::Sign;
use super::sizes::head_glyph;
use super::skyline::Skyline;

const WIDTH: Sp = 1.5;
const HEIGHT: Sp = 0.9;
const STROKE: Sp = 0.16;
/// The distance to what is below it, and to the staff's outer line.
const CLEARANCE: Sp = 0.35;

/// The accents of these signs, added to the skylines. They go outside the staff, which extends from its top
/// line to its bottom line.
pub(super) fn accents(
    signs: &[Sign<'_>],
    (top, bottom): (Sp, Sp),
    above: &mut Skyline,
    below: &mut Skyline,
) -> Vec<Group> {
    let mut groups = Vec::new();
    for sign in signs.iter().filter(|sign| sign.symbol.accent) {
        let center = sign.x + head_glyph(sign.symbol.value.base).width() / 2.0;
        let (left, right) = (center - WIDTH / 2.0, center + WIDTH / 2.0);
        let (skyline, edge) = if sign.up { (&mut *below, bottom) } else { (&mut *above, -top) };
        let inner = skyline.reach(left, right).max(edge) + CLEARANCE;
        skyline.add(left, right, inner + HEIGHT);
        let middle = inner + HEIGHT / 2.0;
        let mut group = Group::new(Role::Accent, Some(sign.bar), Some(sign.symbol.note));
        group.put(left, if sign.up { middle } else { -middle }, wedge());
        groups.push(group);
    }
    groups
}

/// A wedge that opens to the left, with its left end at the origin.
fn wedge() -> Item {
    let (half, thick) = (HEIGHT / 2.0, STROKE);
    Item::polygon([
        (0.0, -half),
        (WIDTH, -thick / 2.0),
        (WIDTH, thick / 2.0),
        (0.0, half),
        (0.0, half - thick),
        (WIDTH - 3.0 * thick, 0.0),
        (0.0, thick - half),
    ])
}
