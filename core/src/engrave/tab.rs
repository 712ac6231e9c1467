//! The tab: six lines with the highest-sounding string on top, fret numbers on them, and pick strokes above.

use crate::hand::Fretting;
use crate::neck::Neck;
use crate::neck::{Finger, Stroke};
use crate::notate::Symbol;
use crate::scene::{Group, Item, Role, Sp};

use super::sign::Sign;
use super::sizes::head_glyph;
use super::view::{LINE_GAP, tab_height};
use crate::font::{Face, Glyph};

const LINE: Sp = 0.1;
/// The size of fret numbers, in staff spaces per em.
pub(super) const NUMBER: Sp = 2.1;
/// The size of a grace note's number relative to others.
const GRACE_SIZE: f64 = 0.75;
/// The distance from a grace note's number to its note's.
const GRACE_GAP: Sp = 0.35;
/// The room for a grace note's number.
pub(super) const GRACE_ROOM: Sp = 2.6;
/// How far from a number the line is interrupted.
const MARGIN: Sp = 0.18;
/// The size of the three letters at the left, in staff spaces per em.
const LETTERS: Sp = 2.3;

/// The height of the row of pick strokes, and the room below it.
pub(super) const STROKE_HEIGHT: Sp = 1.0;
pub(super) const UNDER_STROKES: Sp = 1.3;

/// A fret number, in parentheses if the note is only held.
fn number(symbol: &Symbol, fretting: Fretting) -> String {
    match symbol.tied_from {
        true => format!("({})", fretting.fret.0),
        false => fretting.fret.0.to_string(),
    }
}

/// The width of the number under a symbol.
pub(super) fn number_width(symbol: &Symbol, fretting: Fretting) -> Sp {
    Face::Semibold.width(&number(symbol, fretting)) * NUMBER
}

/// The fret number of a grace note on its note's string, if it is there: the number's left edge, size and
/// text.
pub(super) fn grace_number(sign: &Sign<'_>, fretting: Fretting, frets: u8) -> Option<(Sp, f64, String)> {
    let fret = fretting.grace_fret(sign.symbol.grace?.pitch, sign.symbol.pitch?, frets)?.0.to_string();
    let size = NUMBER * GRACE_SIZE;
    let half = (number_width(sign.symbol, fretting) - Glyph::HeadBlack.width()) / 2.0;
    let right = sign.x - half - GRACE_GAP;
    Some((right - Face::Semibold.width(&fret) * size, size, fret))
}

/// Numbers and lines. `top` is the y of the top line, and `left` and `right` are the ends of the lines.
pub(super) fn tab(signs: &[(&Sign<'_>, Fretting)], neck: &Neck, top: Sp, left: Sp, right: Sp) -> Vec<Group> {
    let (strings, frets) = (neck.strings(), neck.frets());
    let mut groups = Vec::new();
    // Where each line is interrupted, from the left.
    let mut breaks: Vec<Vec<(Sp, Sp)>> = vec![Vec::new(); usize::from(strings)];
    for (sign, fretting) in signs {
        let text = number(sign.symbol, *fretting);
        let width = Face::Semibold.width(&text) * NUMBER;
        let (cap, _) = Face::Semibold.extent("0");
        let center = sign.x + head_glyph(sign.symbol.value.base).width() / 2.0;
        let line = fretting.string.0.saturating_sub(1);
        let y = top + LINE_GAP * f64::from(line);
        let mut group = Group::new(Role::Fret, Some(sign.bar), Some(sign.symbol.note));
        group.put(
            center - width / 2.0,
            y - cap * NUMBER / 2.0,
            Item::Text { face: Face::Semibold, size: NUMBER, text },
        );
        groups.push(group);
        let mut cut = vec![(center - width / 2.0 - MARGIN, center + width / 2.0 + MARGIN)];
        if let Some((left, size, text)) = grace_number(sign, *fretting, frets) {
            let mut group = Group::new(Role::Grace, Some(sign.bar), Some(sign.symbol.note));
            cut.insert(0, (left - MARGIN, left + Face::Semibold.width(&text) * size + MARGIN));
            group.put(left, y - cap * size / 2.0, Item::Text { face: Face::Semibold, size, text });
            groups.push(group);
        }
        if let Some(breaks) = breaks.get_mut(usize::from(line)) {
            breaks.extend(cut);
        }
    }
    let mut lines = Group::new(Role::Staff, None, None);
    for (line, breaks) in breaks.iter().enumerate() {
        let y = top + LINE_GAP * f64::from(u8::try_from(line).unwrap_or(u8::MAX)) - LINE / 2.0;
        let starts = [left].into_iter().chain(breaks.iter().map(|(_, end)| *end));
        let ends = breaks.iter().map(|(start, _)| *start).chain([right]);
        for (start, end) in starts.zip(ends).filter(|(start, end)| end > start) {
            lines.put(start, y, Item::Rect { width: end - start, height: LINE });
        }
    }
    groups.insert(0, lines);
    groups
}

/// The letters at the left of a tab.
pub(super) fn letters(strings: u8, top: Sp, x: Sp) -> Group {
    let mut group = Group::new(Role::Clef, None, None);
    let (cap, _) = Face::Semibold.extent("T");
    let step = tab_height(strings) / 3.0;
    let center = top + tab_height(strings) / 2.0;
    for (row, letter) in [(-1.0, "T"), (0.0, "A"), (1.0, "B")] {
        let width = Face::Semibold.width(letter) * LETTERS;
        let y = center + row * step.min(2.0) - cap * LETTERS / 2.0;
        group.put(
            x - width / 2.0,
            y,
            Item::Text { face: Face::Semibold, size: LETTERS, text: letter.into() },
        );
    }
    group
}

/// The height of a finger number.
pub(super) const FINGER: Sp = 1.15;

/// The finger number for a sign, standing on `foot` and centered on the head; 0 is an open string.
pub(super) fn finger(sign: &Sign<'_>, finger: Finger, foot: Sp) -> Group {
    let text = finger.0.to_string();
    let (cap, _) = Face::Regular.extent(&text);
    let size = -FINGER / cap;
    let center = sign.x + head_glyph(sign.symbol.value.base).width() / 2.0;
    let mut group = Group::new(Role::Finger, Some(sign.bar), Some(sign.symbol.note));
    let left = center - Face::Regular.width(&text) * size / 2.0;
    group.put(left, foot, Item::Text { face: Face::Regular, size, text });
    group
}

/// A pick stroke standing on `foot`, centered on the head of the sign.
pub(super) fn stroke(sign: &Sign<'_>, stroke: Stroke, foot: Sp) -> Group {
    let center = sign.x + head_glyph(sign.symbol.value.base).width() / 2.0;
    let mut group = Group::new(Role::Stroke, Some(sign.bar), Some(sign.symbol.note));
    let shape: &[(Sp, Sp)] = match stroke {
        // A bracket open at the bottom, with a thick top.
        Stroke::Down => &[
            (-0.5, 0.0),
            (-0.5, -STROKE_HEIGHT),
            (0.5, -STROKE_HEIGHT),
            (0.5, 0.0),
            (0.37, 0.0),
            (0.37, -0.62 * STROKE_HEIGHT),
            (-0.37, -0.62 * STROKE_HEIGHT),
            (-0.37, 0.0),
        ],
        // A V with a thick left side.
        Stroke::Up => &[
            (-0.45, -STROKE_HEIGHT),
            (-0.2, -STROKE_HEIGHT),
            (0.06, -0.28 * STROKE_HEIGHT),
            (0.33, -STROKE_HEIGHT),
            (0.45, -STROKE_HEIGHT),
            (0.07, 0.0),
            (-0.07, 0.0),
        ],
    };
    group.put(center, foot, Item::polygon(shape.iter().copied()));
    group
}
