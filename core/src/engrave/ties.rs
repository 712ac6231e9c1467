//! Ties: a curve from head to head, on the side opposite the stems.

use crate::scene::{Group, Item, Placed, Point, Role, Segment, Sp};

use super::sign::Sign;
use super::sizes::{BEFORE_DOT, DOT, head_glyph};

/// The thickness at the ends and in the middle (SMuFL engraving defaults).
const END: Sp = 0.1;
const MIDDLE: Sp = 0.22;
/// The distance from a head to the end of the tie.
const GAP: Sp = 0.12;
/// The vertical distance from the head's center to the end of the tie.
const OFF_CENTER: Sp = 0.55;
const OFF_LEDGER: Sp = 0.72;
/// The shortest visible tie, for one across the edge of a system.
const SHORTEST: Sp = 1.05;

/// The ties of a system. `right` is where its staff ends, and `left` is where its first bar's notes can
/// start.
pub(super) fn ties(signs: &[Sign<'_>], left: Sp, right: Sp) -> Vec<Group> {
    let mut groups = Vec::new();
    for (index, sign) in signs.iter().enumerate() {
        let start = head_right(sign) + GAP;
        if index == 0 && sign.symbol.tied_from {
            // The second half of a tie across the edge of a system.
            let end = sign.x - GAP;
            groups.push(tie(sign, left.min(end - SHORTEST), end, below_by_pitch(sign)));
        }
        if sign.symbol.tied_to {
            let next = signs.get(index + 1);
            let end = next.map_or(right.max(start + SHORTEST), |next| next.x - GAP);
            groups.push(tie(
                sign,
                start,
                end,
                next.map_or_else(|| below_by_pitch(sign), |next| below(sign, next)),
            ));
        }
    }
    groups
}

fn head_right(sign: &Sign<'_>) -> Sp {
    let dots = f64::from(sign.symbol.value.dots) * (BEFORE_DOT + DOT);
    sign.x + head_glyph(sign.symbol.value.base).width() + dots
}

/// Whether the tie hangs below the heads. It goes on the side opposite the stems, or above if the two stems
/// differ (Gould 2011, from memory), unless a flag is in the way.
fn below(from: &Sign<'_>, to: &Sign<'_>) -> bool {
    let flag = from.symbol.beams.is_empty() && from.symbol.value.base.beams() > 0;
    from.up && (flag || to.up)
}

fn tie(sign: &Sign<'_>, start: Sp, end: Sp, below: bool) -> Group {
    let side = if below { 1.0 } else { -1.0 };
    let mut group = Group::new(Role::Tie, Some(sign.bar), Some(sign.symbol.note));
    group.items.push(Placed {
        at: Point::new(start, sign.y + side * off(sign.y, side)),
        item: curve(end - start, side),
    });
    group
}

/// The same for one half of a tie across the end of a system, decided by what both halves share so that they
/// match.
fn below_by_pitch(sign: &Sign<'_>) -> bool {
    sign.y > 2.0 || (sign.y == 2.0 && sign.up)
}

/// The vertical distance from the head's center to the ends of the tie: past a ledger line that is beside the
/// head there.
fn off(y: Sp, side: f64) -> Sp {
    let towards_staff = if y < 0.0 { side > 0.0 } else { side < 0.0 };
    let ledger = y.fract() != 0.0 && !(-0.6..=4.6).contains(&y) && towards_staff;
    if ledger { OFF_LEDGER } else { OFF_CENTER }
}

/// A crescent from the origin to the right.
fn curve(length: Sp, side: f64) -> Item {
    let height = (0.25 + 0.1 * length).min(1.1);
    // A cubic curve reaches three quarters of the height of its control points.
    bow(Point::new(length, 0.0), (length * 0.3).min(1.8), height / 0.75, side)
}

/// A crescent from the origin to a point `rise` further down, with control points at `height` on one side; 1
/// is below.
pub(super) fn crescent(length: Sp, rise: Sp, height: Sp, side: f64) -> Item {
    bow(Point::new(length, rise), length / 4.0, height, side)
}

/// A crescent with control points `shoulder` in from its ends.
fn bow(end: Point, shoulder: Sp, height: Sp, side: f64) -> Item {
    let (outer, inner) = (height + MIDDLE / 1.5, height - MIDDLE / 1.5);
    let slope = end.y / end.x.max(0.1);
    let point = |x: Sp, away: Sp| Point::new(x, slope * x + side * away);
    // To the right along the upper edge, then back along the lower one.
    let edges = [(outer, 0.0), (inner, -END / 2.0)];
    let [(upper, start), (lower, back)] = if side < 0.0 { edges } else { [edges[1], edges[0]] };
    Item::Shape(vec![
        Segment::Move(point(0.0, start)),
        Segment::Curve(point(shoulder, upper), point(end.x - shoulder, upper), point(end.x, start)),
        Segment::Line(point(end.x, back)),
        Segment::Curve(point(end.x - shoulder, lower), point(shoulder, lower), point(0.0, back)),
    ])
}
