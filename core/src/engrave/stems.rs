//! Stems, flags and beams.
//!
//! Gould 2011, from memory: stems are 3.5 spaces long, never shorter than 2.5, and reach the middle line from
//! more than one ledger line away; a note on the middle line has its stem down; a beamed group follows its
//! note farthest from the middle line; beams rise by at most half a space for a step and two spaces in all,
//! in the direction of the outer notes.

use crate::notate::Beam;
use crate::scene::{Group, Item, Placed, Point, Role, Sp};
use crate::value::Base;

use super::grace;
use super::measure::left_of_head;
use super::sign::Sign;
use super::sizes::{FLAG, RING_REACH, STEM_WIDTH, rest_glyph, staff_y};
use super::view::View;
use crate::font::Glyph;

/// SMuFL engraving defaults.
const BEAM_THICKNESS: Sp = 0.5;
const BEAM_GAP: Sp = 0.25;
const STEM: Sp = 3.5;
/// The shortest stem under a single beam that still looks good, and what each further beam adds.
const SHORTEST: Sp = 2.75;
const MIDDLE: Sp = 2.0;
/// The distance from an accidental to the beam over it.
const OVER_ACCIDENTAL: Sp = 0.25;
/// The most a beam rises for each space it runs.
const STEEPEST: f64 = 0.24;
/// The distance from a flag to the ring around its head.
const OVER_RING: Sp = 0.04;
/// The length of a hook.
const HOOK: Sp = 1.1;

/// What stems are attached to.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct StemRule {
    /// Whether all of them go up or all down; by pitch if `None`.
    forced: Option<bool>,
    /// Where a stem leaves the head, above and below its center.
    anchor: Sp,
    /// Whether stems are centered under what they belong to, with a short one for a half note.
    numbers: bool,
    /// Whether heads may have a ring, which flags stay clear of.
    rings: bool,
}

impl StemRule {
    const STAFF: StemRule = StemRule { forced: None, anchor: 0.168, numbers: false, rings: false };
    pub(super) const HEADS_UP: StemRule = StemRule { forced: Some(true), ..StemRule::STAFF };
    /// From the upper right corner of a slash.
    const SLASH: StemRule = StemRule { anchor: 0.95, ..StemRule::HEADS_UP };
    /// Under a tab, attached to nothing.
    const TAB: StemRule = StemRule { forced: Some(false), anchor: 0.0, numbers: true, rings: false };

    /// The stems of a view.
    pub(super) fn of(view: View) -> StemRule {
        match view {
            View::Both | View::Staff => StemRule::STAFF,
            View::Tab => StemRule::TAB,
            View::Rhythm => StemRule::SLASH,
        }
    }

    /// The same where heads may have a ring.
    pub(super) fn with_rings(self, rings: bool) -> StemRule {
        StemRule { rings, ..self }
    }

    fn goes_up(self, by_pitch: bool) -> bool {
        self.forced.unwrap_or(by_pitch)
    }
}

/// Chooses the directions and tips of all stems and draws them: the stem and flag of each sign, then the
/// beams.
pub(super) fn stems(signs: &mut [Sign<'_>], rule: StemRule) -> (Vec<Vec<Placed>>, Vec<Group>) {
    let (mut stems, mut beams) = (Vec::with_capacity(signs.len()), Vec::new());
    let mut first = 0;
    for sign in signs.iter_mut() {
        sign.centered = rule.numbers;
    }
    while first < signs.len() {
        let count = beamed_together(&signs[first..]);
        let members = &mut signs[first..first + count];
        if count > 1 {
            beams.push(beam(members, rule));
            // Stems end inside the beam, so that no corner sticks out where it slopes.
            stems.extend(members.iter().map(|sign| match sign.symbol.pitch {
                Some(_) => vec![stem(sign, rule, BEAM_THICKNESS / 2.0)],
                None => Vec::new(),
            }));
        } else {
            stems.push(lone(&mut members[0], rule));
        }
        first += count;
    }
    (stems, beams)
}

/// How many signs, starting with the first, share a beam.
fn beamed_together(signs: &[Sign<'_>]) -> usize {
    if signs[0].symbol.beams.first() != Some(&Beam::Begin) {
        return 1;
    }
    // There may be rests in between.
    let last = signs.iter().position(|sign| sign.symbol.beams.first() == Some(&Beam::End));
    last.map_or(1, |last| last + 1)
}

/// A note with a stem of its own.
fn lone(sign: &mut Sign<'_>, rule: StemRule) -> Vec<Placed> {
    let base = sign.symbol.value.base;
    if sign.symbol.pitch.is_none() || base == Base::Whole {
        // Ties and brackets still need to know which way a whole note's stem would go.
        sign.up = rule.goes_up(sign.y > MIDDLE);
        return Vec::new();
    }
    sign.up = rule.goes_up(sign.y > MIDDLE);
    let flag = match (base.beams(), sign.up) {
        (0, _) => None,
        (1, true) => Some(Glyph::Flag8Up),
        (1, false) => Some(Glyph::Flag8Down),
        (2, true) => Some(Glyph::Flag16Up),
        (2, false) => Some(Glyph::Flag16Down),
        (_, true) => Some(Glyph::Flag32Up),
        (_, false) => Some(Glyph::Flag32Down),
    };
    // Flags with many parts hang lower, so their stems are longer.
    let mut length = STEM + 0.6 * f64::from(u8::try_from(base.beams().saturating_sub(2)).unwrap_or(0));
    if let Some(flag) = flag.filter(|_| rule.rings) {
        let [_, top, _, bottom] = flag.bounds();
        length = length.max((bottom - top) * FLAG + RING_REACH + OVER_RING);
    }
    sign.tip = reach_middle(if sign.up { sign.y - length } else { sign.y + length }, sign.up, rule);
    let mut items = vec![stem(sign, rule, 0.0)];
    if let (true, Base::Half, Some(Placed { at, item: Item::Rect { height, .. } })) =
        (rule.numbers, base, items.first_mut())
    {
        *height /= 2.0;
        at.y += *height;
    }
    items.extend(
        flag.map(|flag| Placed { at: Point::new(sign.stem_x(), sign.tip), item: Item::Glyph(flag, FLAG) }),
    );
    items
}

fn reach_middle(tip: Sp, up: bool, rule: StemRule) -> Sp {
    match (rule.forced, up) {
        (Some(_), _) => tip,
        (None, true) => tip.min(MIDDLE),
        (None, false) => tip.max(MIDDLE),
    }
}

/// A stem that ends `short` of its tip.
fn stem(sign: &Sign<'_>, rule: StemRule, short: Sp) -> Placed {
    let (from, to) = if sign.up {
        (sign.y - rule.anchor, sign.tip + short)
    } else {
        (sign.y + rule.anchor, sign.tip - short)
    };
    let item = Item::Rect { width: STEM_WIDTH, height: (to - from).abs() };
    Placed { at: Point::new(sign.stem_x(), to.min(from)), item }
}

/// A beamed group: chooses its stems and draws its beams.
fn beam(signs: &mut [Sign<'_>], rule: StemRule) -> Group {
    let farthest = notes(signs).map(|sign| sign.y - MIDDLE).fold(0.0, |far: Sp, d| {
        // If two notes are equally far, the stem goes down, as is usual.
        if d.abs() > far.abs() || (d.abs() == far.abs() && d < 0.0) { d } else { far }
    });
    let up = rule.goes_up(farthest > 0.0);
    for sign in signs.iter_mut() {
        sign.up = up;
    }
    let deepest = signs.iter().map(|sign| sign.symbol.beams.len()).max().unwrap_or(1);
    let line = BeamLine::over(signs, up, deepest, rule);
    let mut group = Group::new(Role::Beam, Some(signs[0].bar), None);
    for sign in signs.iter_mut() {
        sign.tip = line.at(sign.stem_x() + STEM_WIDTH / 2.0);
    }
    for level in 0..deepest {
        for (left, right) in beam_runs(signs, level) {
            group.items.push(line.stretch(left, right, level, up));
        }
    }
    group
}

/// The notes among the signs under a beam.
fn notes<'a, 's>(signs: &'a [Sign<'s>]) -> impl Iterator<Item = &'a Sign<'s>> {
    signs.iter().filter(|sign| sign.symbol.pitch.is_some())
}

/// The start and end of each beam on a level.
fn beam_runs(signs: &[Sign<'_>], level: usize) -> Vec<(Sp, Sp)> {
    let mut runs = Vec::new();
    let mut start = None;
    for (index, sign) in signs.iter().enumerate() {
        let (left, right) = (sign.stem_x(), sign.stem_x() + STEM_WIDTH);
        let neighbor = |other: Option<&Sign<'_>>| {
            other.map_or(HOOK, |other| (other.stem_x() - left).abs() / 2.0).min(HOOK)
        };
        match sign.symbol.beams.get(level) {
            Some(Beam::Begin) => start = Some(left),
            Some(Beam::End) => runs.extend(start.take().map(|start| (start, right))),
            Some(Beam::ForwardHook) => runs.push((left, left + neighbor(signs.get(index + 1)))),
            Some(Beam::BackwardHook) => {
                runs.push((
                    right - neighbor(index.checked_sub(1).and_then(|before| signs.get(before))),
                    right,
                ));
            }
            Some(Beam::Continue) | None => {}
        }
    }
    runs
}

/// The outer edge of a group's outermost beam.
struct BeamLine {
    x: Sp,
    y: Sp,
    slope: f64,
}

impl BeamLine {
    fn at(&self, x: Sp) -> Sp {
        self.y + self.slope * (x - self.x)
    }

    fn over(signs: &[Sign<'_>], up: bool, deepest: usize, rule: StemRule) -> BeamLine {
        let (first, last) = (&signs[0], &signs[signs.len() - 1]);
        let run = last.stem_x() - first.stem_x();
        let rise = rise(signs, up, run);
        let slope = rise / run.max(1.0);
        // Work as if stems went up; for stems down, everything is mirrored at the middle line.
        let mirror = |y: Sp| if up { y } else { 2.0 * MIDDLE - y };
        let slope_up = if up { slope } else { -slope };
        let heights: Vec<Sp> =
            notes(signs).map(|sign| mirror(sign.y) - slope_up * (sign.stem_x() - first.stem_x())).collect();
        let highest = heights.iter().copied().fold(Sp::MAX, Sp::min);
        let mean = heights.iter().sum::<Sp>() / f64::from(u16::try_from(heights.len()).unwrap_or(u16::MAX));
        let inner = BEAM_THICKNESS + BEAM_GAP;
        let extra = inner * f64::from(u8::try_from(deepest.saturating_sub(1)).unwrap_or(0));
        let mut y = (mean - STEM - extra * 0.5).min(highest - SHORTEST - extra);
        // Accidentals and grace notes extend farther than their heads. Those of the first note are outside
        // the beam.
        for sign in &signs[1..] {
            let accidental = sign.symbol.accidental.map(|accidental| {
                let [_, top, _, bottom] = Glyph::accidental(accidental.alter.half_steps()).bounds();
                if up { sign.y + top } else { sign.y + bottom }
            });
            let grace = sign.symbol.grace.map(|grace| {
                let y = staff_y(grace.pitch);
                if up { y - grace::STEM } else { y + 0.8 }
            });
            let x = sign.x - left_of_head(sign.symbol, View::Staff);
            // A rest stays in the middle of the staff, and the beam goes around it.
            let rest =
                rest_glyph(sign.symbol.value.base).filter(|_| sign.symbol.pitch.is_none()).map(|glyph| {
                    let [_, top, _, bottom] = glyph.bounds();
                    MIDDLE + if up { top } else { bottom }
                });
            for edge in accidental.into_iter().chain(grace).chain(rest) {
                let clear = [x, sign.x].map(|x| mirror(edge) - slope_up * (x - first.stem_x()));
                y = y.min(clear[0].min(clear[1]) - BEAM_THICKNESS - OVER_ACCIDENTAL - extra);
            }
        }
        if rule.forced.is_none() {
            // Every stem reaches the middle line.
            y = y.min(MIDDLE).min(MIDDLE - rise_of(slope_up, run));
        }
        let (start, end) = (settle(y), settle(y + slope_up * run));
        // Adjusting both ends to the staff must not shorten a stem.
        let start = start.min(y);
        let slope_up = if rise == 0.0 { 0.0 } else { (end.min(y + slope_up * run) - start) / run.max(1.0) };
        let middle_of_stem = first.stem_x() + STEM_WIDTH / 2.0;
        match up {
            true => BeamLine { x: middle_of_stem, y: start, slope: slope_up },
            false => BeamLine { x: middle_of_stem, y: mirror(start), slope: -slope_up },
        }
    }

    /// A beam on this level from one x to another.
    fn stretch(&self, left: Sp, right: Sp, level: usize, up: bool) -> Placed {
        let inwards = if up { 1.0 } else { -1.0 };
        let offset =
            inwards * (BEAM_THICKNESS + BEAM_GAP) * f64::from(u8::try_from(level).unwrap_or(u8::MAX));
        let (y0, y1) = (self.at(left) + offset, self.at(right) + offset);
        let thick = inwards * BEAM_THICKNESS;
        let corners = [(left, y0), (right, y1), (right, y1 + thick), (left, y0 + thick)];
        let item = Item::polygon(corners.map(|(x, y)| (x - left, y - y0)));
        Placed { at: Point::new(left, y0), item }
    }
}

/// How far the highest end of a beam is above its start.
fn rise_of(slope: f64, run: Sp) -> Sp {
    (slope * run).max(0.0)
}

/// How far a beam falls (positive) or rises (negative) from the first note to the last.
fn rise(signs: &[Sign<'_>], up: bool, run: Sp) -> Sp {
    let (first, last) = (signs[0].y, signs[signs.len() - 1].y);
    let inner = &signs[1..signs.len() - 1];
    // An inner note nearer to the beam than both outer ones makes it level.
    let nearer = |sign: &Sign<'_>| if up { sign.y < first.min(last) } else { sign.y > first.max(last) };
    if notes(inner).any(nearer) {
        return 0.0;
    }
    let steps = (last - first).abs() * 2.0;
    let wanted = match steps {
        s if s < 0.5 => 0.0,
        s if s < 1.5 => 0.5,
        s => (0.25 + 0.25 * s).min(2.0),
    };
    wanted.min(run * STEEPEST) * (last - first).signum()
}

/// The nearest place outward where the edge of a beam, for stems up, sits on, straddles or hangs from a staff
/// line. It is never in the middle of a space, where it would leave slivers of white.
fn settle(y: Sp) -> Sp {
    let quarters = (y * 4.0).floor();
    let outside = !(0.0..=4.0).contains(&y);
    let sliver = (quarters / 4.0).rem_euclid(1.0) == 0.25;
    if sliver && !outside { (quarters - 1.0) / 4.0 } else { quarters / 4.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beams_avoid_the_middle_of_a_space() {
        for (y, expected) in [(1.0, 1.0), (1.3, 1.0), (1.6, 1.5), (1.8, 1.75), (-1.7, -1.75)] {
            assert_eq!(settle(y), expected, "{y}");
        }
    }
}
