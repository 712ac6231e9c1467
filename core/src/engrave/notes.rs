//! One note or rest: its head, and what belongs to the head.

use crate::line::NoteId;
use crate::notate::Accidental;
use crate::scene::{Group, Item, Placed, Point, Role, Segment, Sp};
use crate::value::Base;

use super::sign::{STAFF_BOTTOM, Sign};
use super::sizes::{
    AFTER_ACCIDENTAL, BEFORE_DOT, DOT, FLAG, LEDGER_OVERHANG, PARENTHESIS, REST_BLOCK, RING_OVERHANG,
    RING_REACH, head_glyph, rest_glyph, rest_width,
};
use super::view::View;
use crate::font::{Face, Glyph};

/// SMuFL engraving default.
const LEDGER_LINE: Sp = 0.16;

/// The thickness of the ring around a chord tone.
const RING: Sp = 0.1;

/// The rings around the heads of chord tones, as a teacher draws them with a pencil (common practice, no source). They stay inside the
/// distance from a head to its accidental and dots. Of tied heads only the first has one: a note is heard as what it was struck as.
pub(super) fn rings(
    signs: &[Sign<'_>],
    is_chord_tone: impl Fn(NoteId) -> bool,
) -> impl Iterator<Item = Group> {
    let heads = signs.iter().filter(|sign| sign.symbol.pitch.is_some() && !sign.symbol.tied_from);
    heads.filter(move |sign| is_chord_tone(sign.symbol.note)).map(|sign| {
        let half = head_glyph(sign.symbol.value.base).width() / 2.0;
        let mut group = Group::new(Role::ChordTone, Some(sign.bar), Some(sign.symbol.note));
        group.put(sign.x + half, sign.y, Item::ring(half + RING_OVERHANG, RING_REACH, RING));
        group
    })
}

/// A note or rest: head, ledger lines, dots, accidental, and the given stem. `middle` is the height of rests,
/// and `full` says whether it lasts a whole bar.
pub(super) fn note(sign: &Sign<'_>, view: View, middle: Sp, full: bool, stem: Vec<Placed>) -> Group {
    let symbol = sign.symbol;
    let role = if symbol.pitch.is_some() { Role::Note } else { Role::Rest };
    let mut group = Group::new(role, Some(sign.bar), Some(symbol.note));
    let (mut width, mut height) = (head_glyph(symbol.value.base).width(), sign.y);
    match (symbol.pitch, view) {
        (None, _) => {
            // A rest for a whole bar looks the same in every meter.
            let base = if full { Base::Whole } else { symbol.value.base };
            rest(&mut group, sign.x, middle, base);
            (width, height) = (rest_width(base), middle);
        }
        (Some(_), View::Both | View::Staff) => {
            ledger_lines(&mut group, sign);
            let head = head_glyph(symbol.value.base);
            group.put(sign.x - head.bounds()[0], sign.y, Item::Glyph(head, 1.0));
        }
        (Some(_), View::Rhythm) => group.put(sign.x, sign.y, slash(width, symbol.value.base)),
        // The fret number is the head. Dots go next to the stem, above its beams.
        (Some(_), View::Tab) if sign.tip != sign.y => {
            height = sign.tip - 0.55 - 0.75 * symbol.beams.len().max(1) as f64
        }
        (Some(_), View::Tab) => {}
    }
    // Dots go past a flag that hangs beside the head.
    if sign.up && symbol.pitch.is_some() && symbol.beams.is_empty() && symbol.value.base.beams() > 0 {
        width += Glyph::Flag8Up.width() * FLAG;
    }
    for dot in 0..symbol.value.dots {
        let x = sign.x + width + BEFORE_DOT + f64::from(dot) * (BEFORE_DOT + DOT);
        // A dot goes in a space: for a note on a line, in the one above it.
        let y = if height.fract() == 0.0 { height - 0.5 } else { height };
        group.put(x, y, disc(DOT / 2.0));
    }
    if let Some(accidental) = symbol.accidental.filter(|_| view.has_staff()) {
        put_accidental(&mut group, sign, accidental);
    }
    group.items.extend(stem);
    group
}

/// A slash two spaces tall, hollow for a half or whole note.
fn slash(width: Sp, base: Base) -> Item {
    let hollow = base <= Base::Half;
    let thick = if hollow { 0.62 * width } else { 0.42 * width };
    let outline = |inset: Sp| {
        let (top, bottom) = (inset - 1.0, 1.0 - inset);
        // The sides keep their slope, so that the rim has the same thickness all around.
        let side = |y: Sp| (width - thick) * (1.0 - y) / 2.0;
        [
            (side(bottom) + inset, bottom),
            (side(top) + inset, top),
            (side(top) + thick - inset, top),
            (side(bottom) + thick - inset, bottom),
        ]
    };
    let rim = outline(0.0);
    if !hollow {
        return Item::polygon(rim);
    }
    // Around the outside, then back around the inside: an outline with a hole.
    let [a, b, c, d] = outline(0.22);
    Item::polygon(rim.into_iter().chain([rim[0], a, d, c, b, a]))
}

fn ledger_lines(group: &mut Group, sign: &Sign<'_>) {
    let width = head_glyph(sign.symbol.value.base).width() + 2.0 * LEDGER_OVERHANG;
    let mut line = |y: Sp| {
        let rect = Item::Rect { width, height: LEDGER_LINE };
        group.put(sign.x - LEDGER_OVERHANG, y - LEDGER_LINE / 2.0, rect);
    };
    let mut y = STAFF_BOTTOM + 1.0;
    while y <= sign.y {
        line(y);
        y += 1.0;
    }
    let mut y = -1.0;
    while y >= sign.y {
        line(y);
        y -= 1.0;
    }
}

fn rest(group: &mut Group, x: Sp, middle: Sp, base: Base) {
    let (width, height) = REST_BLOCK;
    match rest_glyph(base) {
        Some(glyph) => group.put(x - glyph.bounds()[0], middle, Item::Glyph(glyph, 1.0)),
        // A whole rest hangs from the second line, and a half rest sits on the middle one.
        None if base == Base::Whole => group.put(x, middle - 1.0, Item::Rect { width, height }),
        None => group.put(x, middle - height, Item::Rect { width, height }),
    }
}

fn put_accidental(group: &mut Group, sign: &Sign<'_>, accidental: Accidental) {
    let glyph = Glyph::accidental(accidental.alter.half_steps());
    let parenthesis = |text: &str| Item::Text { face: Face::Regular, size: PARENTHESIS, text: text.into() };
    let wide = Face::Regular.width("(") * PARENTHESIS;
    let mut right = sign.x - AFTER_ACCIDENTAL;
    // A parenthesis is centered on the sign: its middle is about a quarter of an em above the baseline.
    let base_line = sign.y + 0.27 * PARENTHESIS;
    if accidental.courtesy {
        group.put(right - wide, base_line, parenthesis(")"));
        right -= wide;
    }
    let left = right - glyph.width();
    group.put(left - glyph.bounds()[0], sign.y, Item::Glyph(glyph, 1.0));
    if accidental.courtesy {
        group.put(left - wide, base_line, parenthesis("("));
    }
}

/// A filled circle with its left edge at the origin, made of four cubic curves.
fn disc(radius: Sp) -> Item {
    // The usual constant: a quarter circle to within 0.03 % of its radius.
    let k = 0.5523 * radius;
    let p = |x: Sp, y: Sp| Point::new(x + radius, y);
    Item::Shape(vec![
        Segment::Move(p(radius, 0.0)),
        Segment::Curve(p(radius, k), p(k, radius), p(0.0, radius)),
        Segment::Curve(p(-k, radius), p(-radius, k), p(-radius, 0.0)),
        Segment::Curve(p(-radius, -k), p(-k, -radius), p(0.0, -radius)),
        Segment::Curve(p(k, -radius), p(radius, -k), p(radius, 0.0)),
    ])
}
