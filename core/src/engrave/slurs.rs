//! Slurs and slides: how notes connect, on the staff and on the tab.
//!
//! Gould 2011, from memory: a slur runs from head to head on the side opposite the stems, or above if stems
//! differ, and clears what is in between; a slide is a line from head to head. On the tab, an arc joins the
//! numbers, and a letter says what the fretting hand does.

use crate::attack::{Attack, Attacks};
use crate::hand::Fretting;
use crate::line::Legato;
use crate::pitch::Pitch;
use crate::scene::{Group, Item, Role, Sp};

use super::measure::{left_of_head, right_of_head};
use super::sign::Sign;
use super::sizes::head_glyph;
use super::skyline::Skyline;
use super::tab;
use super::ties::crescent;
use super::view::{LINE_GAP, View};
use crate::font::Face;

/// The distance from a head's center, or from the tip of a stem, to the end of a slur.
const OFF_HEAD: Sp = 0.95;
const OFF_TIP: Sp = 0.35;
/// This close to its ends, only the end notes matter to a slur.
const OFF_END: Sp = 1.0;
/// The distance from what is under a slur to the slur.
const CLEARANCE: Sp = 0.35;
/// How far a slur rises at least, by its length, and the most it rises before it gives up.
const RISE: (Sp, f64) = (0.6, 0.06);
const HIGHEST: Sp = 12.0;
/// The thickness of a slide, and its distance from the heads or numbers.
const SLIDE: (Sp, Sp) = (0.16, 0.25);
const SHORTEST_SLIDE: Sp = 0.4;
/// The size of the letters over the tab, in staff spaces per em.
const LETTER: Sp = 1.7;
/// The distance from a string to the arc over its number, and the height of the arc.
const ARC: (Sp, Sp) = (0.97, 0.28);

/// How a sign connects to the next one, which a note does at its last sign.
fn leads(sign: &Sign<'_>, attacks: &Attacks) -> Option<Legato> {
    attacks.leads(sign.symbol.note).filter(|_| !sign.symbol.tied_to)
}

/// How a sign begins, if it is the first of its note.
fn begins(sign: &Sign<'_>, attacks: &Attacks) -> Option<Attack> {
    attacks.of(sign.symbol.note).filter(|_| !sign.symbol.tied_from)
}

/// The slurs and slides of a staff, added to the skylines. `left` and `right` are where the system's notes
/// can start and end.
pub(super) fn on_staff(
    signs: &[Sign<'_>],
    attacks: &Attacks,
    (left, right): (Sp, Sp),
    above: &mut Skyline,
    below: &mut Skyline,
) -> Vec<Group> {
    let slides = signs.windows(2).filter(|pair| leads(&pair[0], attacks) == Some(Legato::Slide));
    let mut groups: Vec<Group> = slides.map(|pair| slide(&pair[0], &pair[1])).collect();
    let mut first = 0;
    while first < signs.len() {
        let after = chain(signs, attacks, first);
        let comes_in = first == 0 && comes_in(&signs[0], attacks);
        let goes_out = after == signs.len() && leads(&signs[after - 1], attacks) == Some(Legato::Slur);
        if after - first > 1 || comes_in || goes_out {
            let ends = (if comes_in { Some(left) } else { None }, if goes_out { Some(right) } else { None });
            groups.push(slur(&signs[first..after], ends, above, below));
        }
        first = after;
    }
    groups
}

/// The end of the run of notes from `first` that one slur joins, including the parts of tied notes.
fn chain(signs: &[Sign<'_>], attacks: &Attacks, first: usize) -> usize {
    let slurs = |sign: &Sign<'_>| leads(sign, attacks) == Some(Legato::Slur);
    let goes_on = |sign: &Sign<'_>| slurs(sign) || sign.symbol.tied_to;
    let mut after = first + 1;
    while after < signs.len() && goes_on(&signs[after - 1]) {
        after += 1;
    }
    // A tie alone isn't a slur.
    let slurred = signs[first..after].iter().any(slurs);
    let comes_in = first == 0 && comes_in(&signs[0], attacks);
    if slurred || comes_in { after } else { first + 1 }
}

/// Whether a slur leads into a sign.
fn comes_in(sign: &Sign<'_>, attacks: &Attacks) -> bool {
    begins(sign, attacks).and_then(Attack::legato) == Some(Legato::Slur)
}

fn center(sign: &Sign<'_>) -> Sp {
    sign.x + head_glyph(sign.symbol.value.base).width() / 2.0
}

fn slur(
    signs: &[Sign<'_>],
    ends: (Option<Sp>, Option<Sp>),
    above: &mut Skyline,
    below: &mut Skyline,
) -> Group {
    let up = !signs.iter().all(|sign| sign.up);
    let skyline = if up { above } else { below };
    // Distances away from the staff, so that one calculation works for both sides.
    let away = |y: Sp| if up { -y } else { y };
    let end = |sign: &Sign<'_>| match sign.up == up && sign.tip != sign.y {
        true => (sign.stem_x(), away(sign.tip) + OFF_TIP),
        false => (center(sign), away(sign.y) + OFF_HEAD),
    };
    let (mut from, mut to) = (end(&signs[0]), end(&signs[signs.len() - 1]));
    if let Some(left) = ends.0 {
        from = (left.min(to.0 - 1.5), to.1);
    }
    if let Some(right) = ends.1 {
        to = (right.max(from.0 + 1.5), from.1);
    }
    let length = to.0 - from.0;
    // Points along the curve: each as a fraction of the length, with the fraction of the control points'
    // height it reaches there.
    let samples = (1..20).map(|step| f64::from(step) / 20.0);
    let points: Vec<(f64, f64)> = samples.map(|t| (crossing(t), 3.0 * t * (1.0 - t))).collect();
    let line = |part: f64| from.1 + (to.1 - from.1) * part;
    let mut height = (RISE.0 + RISE.1 * length) / 0.75;
    let clears = |height: Sp| {
        points.iter().all(|&(part, share)| {
            let x = from.0 + length * part;
            // The end notes themselves aren't obstacles.
            let between = x > from.0 + OFF_END && x < to.0 - OFF_END;
            !between || line(part) + share * height >= skyline.reach(x - 0.2, x + 0.2) + CLEARANCE
        })
    };
    while height < HIGHEST && !clears(height) {
        height += 0.25;
    }
    // All along, from end to end: on a long slur, points are far apart.
    let at = |(part, share): (f64, f64)| (from.0 + length * part, line(part) + share * height);
    let mut before = at((0.0, 0.0));
    for here in points.iter().copied().chain([(1.0, 0.0)]).map(at) {
        skyline.add(before.0, here.0, before.1.max(here.1));
        before = here;
    }
    let mut group = Group::new(Role::Slur, Some(signs[0].bar), Some(signs[0].symbol.note));
    let side = if up { -1.0 } else { 1.0 };
    let rise = away(to.1) - away(from.1);
    group.put(from.0, away(from.1), crescent(length, rise, height, side));
    group
}

/// Where a curve is at `t`, as a fraction of its length, if its control points are at one quarter and three
/// quarters of it.
fn crossing(t: f64) -> f64 {
    let u = 1.0 - t;
    3.0 * u * u * t * 0.25 + 3.0 * u * t * t * 0.75 + t * t * t
}

/// A line from head to head.
fn slide(from: &Sign<'_>, to: &Sign<'_>) -> Group {
    let start = from.x + right_of_head(from.symbol, View::Staff) + SLIDE.1;
    let end = (to.x - left_of_head(to.symbol, View::Staff) - SLIDE.1).max(start + 0.5);
    let mut group = Group::new(Role::Slur, Some(from.bar), Some(from.symbol.note));
    let lean = if to.y == from.y { 0.4 } else { 0.25 * (to.y - from.y) };
    group.put(start, from.y + lean, bar((end - start, to.y - from.y - 2.0 * lean)));
    group
}

/// A thin slanting bar from the origin.
fn bar((x, y): (Sp, Sp)) -> Item {
    let half = SLIDE.0 / 2.0;
    Item::polygon([(0.0, -half), (x, y - half), (x, y + half), (0.0, half)])
}

/// The arcs, lines and letters of a tab whose top line is at `top`. The letters are at `foot`, where strokes
/// would go.
pub(super) fn on_tab(
    signs: &[(&Sign<'_>, Fretting)],
    attacks: &Attacks,
    frets: u8,
    top: Sp,
    foot: Sp,
) -> Vec<Group> {
    let mut groups = Vec::new();
    for (index, &(sign, fretting)) in signs.iter().enumerate() {
        let Some(attack) = begins(sign, attacks) else { continue };
        let text = match attack {
            Attack::Struck(_) => continue,
            Attack::Hammered => "H",
            Attack::Pulled => "P",
            Attack::Slid => "sl",
        };
        let mut group = Group::new(Role::Slur, Some(sign.bar), Some(sign.symbol.note));
        if let Some(&(from, before)) = index.checked_sub(1).and_then(|before| signs.get(before)) {
            let y = |fretting: Fretting| top + LINE_GAP * f64::from(fretting.string.0.saturating_sub(1));
            match attack {
                Attack::Slid => {
                    let half = |sign: &Sign<'_>, fretting| tab::number_width(sign.symbol, fretting) / 2.0;
                    let start = center(from) + half(from, before) + SLIDE.1;
                    let number = center(sign) - half(sign, fretting);
                    let grace = tab::grace_number(sign, fretting, frets).map(|(left, ..)| left);
                    let end = grace.unwrap_or(number) - SLIDE.1;
                    let (low, high) = (y(before) + 0.4, y(fretting) - 0.4);
                    let rises =
                        sign.symbol.pitch.and_then(Pitch::midi) > from.symbol.pitch.and_then(Pitch::midi);
                    let (from, to) = if rises { (low, high) } else { (high, low) };
                    // If there isn't enough room, the letters have to do.
                    if end - start > SHORTEST_SLIDE {
                        group.put(start, from, bar((end - start, to - from)));
                    }
                }
                _ => {
                    let (start, end) = (y(before).min(y(fretting)) - ARC.0, center(sign) - center(from));
                    group.put(center(from), start, crescent(end, 0.0, ARC.1 / 0.75, -1.0));
                }
            }
        }
        let width = Face::Semibold.width(text) * LETTER;
        let item = Item::Text { face: Face::Semibold, size: LETTER, text: text.into() };
        group.put(center(sign) - width / 2.0, foot, item);
        groups.push(group);
    }
    groups
}
