//! Sizes that several parts of a system share: of heads, rests, and what is around a head.

use crate::font::{Face, Glyph};
use crate::notate::Symbol;
use crate::pitch::Pitch;
use crate::scene::Sp;
use crate::value::Base;

/// The thickness of a stem (SMuFL engraving defaults).
pub(super) const STEM_WIDTH: Sp = 0.12;
/// The font's flags are as tall as a stem. At this size they stay clear of their heads.
pub(super) const FLAG: f64 = 0.88;
/// The block of a whole or half rest: its width and height.
pub(super) const REST_BLOCK: (Sp, Sp) = (1.13, 0.5);
/// How far the ring around a chord tone extends past the head on each side, and from the middle of the head up and down.
pub(super) const RING_OVERHANG: Sp = 0.23;
pub(super) const RING_REACH: Sp = 0.82;
/// The distance between an accidental and its head.
pub(super) const AFTER_ACCIDENTAL: Sp = 0.25;
/// The distance from a head to its dot, and the width of a dot (SMuFL's augmentation dot is 0.4 wide).
pub(super) const BEFORE_DOT: Sp = 0.4;
pub(super) const DOT: Sp = 0.4;
/// How far a ledger line extends past the head on each side (SMuFL engraving defaults: 0.4).
pub(super) const LEDGER_OVERHANG: Sp = 0.4;
/// The size of a courtesy accidental's parentheses, in staff spaces per em.
pub(super) const PARENTHESIS: Sp = 2.6;

/// From the left edge of the head to the left edge of its accidental or ledger line.
pub(super) fn accidental_room(symbol: &Symbol) -> Sp {
    let Some(pitch) = symbol.pitch else { return 0.0 };
    let accidental = symbol.accidental.map_or(0.0, |accidental| {
        let parentheses =
            if accidental.courtesy { 2.0 * Face::Regular.width("(") * PARENTHESIS } else { 0.0 };
        Glyph::accidental(accidental.alter.half_steps()).width() + AFTER_ACCIDENTAL + parentheses
    });
    accidental.max(if has_ledger(pitch) { LEDGER_OVERHANG } else { 0.0 })
}

pub(super) fn rest_width(base: Base) -> Sp {
    match rest_glyph(base) {
        Some(glyph) => glyph.width(),
        None => REST_BLOCK.0,
    }
}

/// How far below the staff's top line a sounding pitch is written. Guitar music is written an octave higher
/// than it sounds: the bottom line of the treble clef, E4, sounds E3.
pub(super) fn staff_y(pitch: Pitch) -> Sp {
    const BOTTOM_LINE: i16 = 3 * 7 + 2;
    4.0 - f64::from(pitch.diatonic() - BOTTOM_LINE) / 2.0
}

pub(super) fn has_ledger(pitch: Pitch) -> bool {
    !(-0.6..=4.6).contains(&staff_y(pitch))
}

pub(super) fn head_glyph(base: Base) -> Glyph {
    match base {
        Base::Whole => Glyph::HeadWhole,
        Base::Half => Glyph::HeadHalf,
        _ => Glyph::HeadBlack,
    }
}

/// The sign for a rest. Whole and half rests are plain blocks.
pub(super) fn rest_glyph(base: Base) -> Option<Glyph> {
    match base {
        Base::Whole | Base::Half => None,
        Base::Quarter => Some(Glyph::RestQuarter),
        Base::Eighth => Some(Glyph::Rest8),
        Base::Sixteenth => Some(Glyph::Rest16),
        Base::ThirtySecond | Base::SixtyFourth => Some(Glyph::Rest32),
    }
}
