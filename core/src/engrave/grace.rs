//! Grace notes: small, stems up, with a slash through the stem (Gould 2011, from memory).

use crate::notate::Grace;
use crate::scene::{Group, Item, Role, Sp};

use super::sign::Sign;
use super::sizes::{AFTER_ACCIDENTAL, LEDGER_OVERHANG, STEM_WIDTH, accidental_room, has_ledger, staff_y};
use crate::font::Glyph;

/// The size of a grace note relative to other notes.
const SIZE: f64 = 0.62;
/// The distance from a grace note to what comes before its note's head.
const GAP: Sp = 0.45;
pub(super) const STEM: Sp = 1.95;
const LEDGER: Sp = 0.13;

/// The room that a grace note takes to the left of what comes before its note's head.
pub(super) fn room(grace: &Grace) -> Sp {
    let head = Glyph::HeadBlack.width() * SIZE;
    let flag = Glyph::Flag8Up.width() * SIZE - STEM_WIDTH;
    before_head(grace) + head + flag.max(ledger(grace)) + GAP
}

/// From the left edge of its accidental or ledger line to that of its head.
fn before_head(grace: &Grace) -> Sp {
    let sign = grace.accidental.map(|sign| Glyph::accidental(sign.alter.half_steps()));
    sign.map_or(0.0, |glyph| (glyph.width() + AFTER_ACCIDENTAL) * SIZE).max(ledger(grace))
}

/// How far its ledger line extends past its head.
fn ledger(grace: &Grace) -> Sp {
    if has_ledger(grace.pitch) { LEDGER_OVERHANG * SIZE } else { 0.0 }
}

/// The grace note before a sign, on the staff.
pub(super) fn on_staff(sign: &Sign<'_>) -> Option<Group> {
    let grace = sign.symbol.grace?;
    let mut group = Group::new(Role::Grace, Some(sign.bar), Some(sign.symbol.note));
    let (x, y) = (left(sign, &grace), staff_y(grace.pitch));
    let head = Glyph::HeadBlack;
    let width = head.width() * SIZE;
    let (step, mut line) = if y > 4.0 { (1.0, 5.0) } else { (-1.0, -1.0) };
    while (y > 4.6 && line <= y) || (y < -0.6 && line >= y) {
        let overhang = LEDGER_OVERHANG * SIZE;
        let rect = Item::Rect { width: width + 2.0 * overhang, height: LEDGER };
        group.put(x - overhang, line - LEDGER / 2.0, rect);
        line += step;
    }
    if let Some(sign) = grace.accidental {
        let glyph = Glyph::accidental(sign.alter.half_steps());
        let left = x - (AFTER_ACCIDENTAL + glyph.width() + glyph.bounds()[0]) * SIZE;
        group.put(left, y, Item::Glyph(glyph, SIZE));
    }
    group.put(x - head.bounds()[0] * SIZE, y, Item::Glyph(head, SIZE));
    let stem = x + width - STEM_WIDTH;
    group.put(stem, y - STEM, Item::Rect { width: STEM_WIDTH, height: STEM - 0.1 });
    group.put(stem, y - STEM, Item::Glyph(Glyph::Flag8Up, SIZE));
    let stroke = [(-0.4, 0.65), (0.8, -0.2), (0.8, -0.08), (-0.4, 0.77)];
    group.put(stem, y - STEM + 0.5, Item::polygon(stroke));
    Some(group)
}

/// The left edge of its head.
fn left(sign: &Sign<'_>, grace: &Grace) -> Sp {
    sign.x - accidental_room(sign.symbol) - room(grace) + before_head(grace)
}
