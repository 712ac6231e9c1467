//! Tuplet numbers and brackets.
//!
//! Gould 2011, from memory: no bracket if one beam joins exactly the tuplet's notes; otherwise a bracket with
//! a gap for the number, on the side of the stems, clear of the staff.

use crate::notate::{Tuplet, WrittenBar};
use crate::scene::{Group, Item, Role, Sp};

use super::sign::Sign;
use super::sizes::head_glyph;
use super::skyline::Skyline;
use crate::font::Face;

/// The size of the number, in staff spaces per em.
const NUMBER: Sp = 2.0;
/// SMuFL engraving default.
const THICKNESS: Sp = 0.16;
/// The ends of a bracket point toward the notes.
const HOOK: Sp = 0.75;
/// The distance from what the bracket spans to the bracket.
const CLEARANCE: Sp = 0.5;
/// The distance from a beam to its number.
const NUMBER_CLEARANCE: Sp = 0.35;
/// The gap that the bracket leaves on each side of the number.
const NUMBER_MARGIN: Sp = 0.4;
/// The width of the steps in which the bracket is kept clear of what is under it.
const STEP: Sp = 0.5;
/// The most a bracket rises for each space it runs.
const STEEPEST: f64 = 0.1;

/// Draws a tuplet of a bar over its signs, above or below, clear of the staff from its top line to its bottom line,
/// and adds it to the skyline on its side.
pub(super) fn tuplet(
    bar: &WrittenBar,
    tuplet: &Tuplet,
    signs: &[Sign<'_>],
    staff: (Sp, Sp),
    above: &mut Skyline,
    below: &mut Skyline,
) -> Option<Group> {
    let (first, last) = (signs.first()?, signs.last()?);
    let stems_up = signs.iter().filter(|sign| sign.symbol.pitch.is_some() && sign.up).count();
    let up = 2 * stems_up >= signs.len();
    let (left, right) = (first.x - 0.1, last.x + head_glyph(last.symbol.value.base).width() + 0.1);
    let skyline = if up { above } else { below };

    let mut group = Group::new(Role::Tuplet, Some(first.bar), None);
    let text = tuplet.actual.to_string();
    let (top, _) = Face::BoldItalic.extent(&text);
    let (width, height) = (Face::BoldItalic.width(&text) * NUMBER, -top * NUMBER);
    let number = Item::Text { face: Face::BoldItalic, size: NUMBER, text };

    // Distances away from the staff, so that one calculation works for both sides.
    let away = |y: Sp| if up { -y } else { y };
    let staff_edge = if up { -staff.0 } else { staff.1 };
    if bar.is_beamed(tuplet) {
        let center = (first.stem_x() + last.stem_x()) / 2.0;
        // On a sloping beam, it is the near corner of the number that has to stay clear.
        let sloping = (last.tip - first.tip).abs() / (last.x - first.x).max(1.0) * width / 2.0;
        let beam = away((first.tip + last.tip) / 2.0) + sloping;
        let (from, to) = (center - width / 2.0, center + width / 2.0);
        let reach = skyline.reach(from - 0.1, to + 0.1);
        let center_y = beam.max(staff_edge).max(reach) + NUMBER_CLEARANCE + height / 2.0;
        group.put(center - width / 2.0, away(center_y) + height / 2.0, number);
        skyline.add(center - width / 2.0, center + width / 2.0, center_y + height / 2.0);
        return Some(group);
    }

    let reach = |from: Sp, to: Sp| skyline.reach(from, to).max(staff_edge);
    // The bracket slopes the way the notes go. If the stems would slope it the other way, it is level.
    let leaning = slope(away(outer_end(first, up)), away(outer_end(last, up)), right - left);
    let slope = if leaning * (away(last.y) - away(first.y)) > 0.0 { leaning } else { 0.0 };
    let mut y = Sp::MIN;
    // All along, so that accidentals and the numbers of inner tuplets are cleared too.
    let mut from = left;
    while from < right {
        y = y.max(reach(from, from + STEP) - slope * (from + STEP / 2.0 - left));
        from += STEP;
    }
    y += CLEARANCE + HOOK;
    y = y.max(staff_edge + 0.8).max(staff_edge + 0.8 - slope * (right - left));

    let middle = (left + right) / 2.0;
    let at = |x: Sp| y + slope * (x - left);
    let gap = width / 2.0 + NUMBER_MARGIN;
    for (from, to, hook_at) in [(left, middle - gap, left), (middle + gap, right, right)] {
        let shape = [(from, at(from)), (to, at(to)), (to, at(to) - THICKNESS), (from, at(from) - THICKNESS)];
        group.put(0.0, 0.0, Item::polygon(shape.map(|(x, y)| (x, away(y)))));
        let (inner, outer) =
            if hook_at == left { (left, left + THICKNESS) } else { (right - THICKNESS, right) };
        let hook =
            [(inner, at(inner)), (outer, at(outer)), (outer, at(outer) - HOOK), (inner, at(inner) - HOOK)];
        group.put(0.0, 0.0, Item::polygon(hook.map(|(x, y)| (x, away(y)))));
    }
    let center_y = away(at(middle) - THICKNESS / 2.0);
    group.put(middle - width / 2.0, center_y + height / 2.0, number);
    skyline.add(left, right, at(left).max(at(right)));
    skyline.add(middle - gap, middle + gap, at(middle) + height / 2.0);
    Some(group)
}

/// Where a sign ends on the bracket's side: the tip of its stem or the edge of its head.
fn outer_end(sign: &Sign<'_>, up: bool) -> Sp {
    match (up, sign.up) {
        (true, true) | (false, false) => sign.tip,
        (true, false) => sign.y - 0.5,
        (false, true) => sign.y + 0.5,
    }
}

fn slope(start: Sp, end: Sp, run: Sp) -> f64 {
    ((end - start) / run.max(1.0)).clamp(-STEEPEST, STEEPEST)
}
