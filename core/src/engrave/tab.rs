//! The tab: six lines, the highest-sounding string on top, fret numbers on them, pick strokes above.

use crate::hand::Fretting;
use crate::neck::Neck;
use crate::neck::{Finger, Stroke};
use crate::notate::Symbol;
use crate::scene::{Group, Item, Role, Sp};

use super::grace;
use super::measure::head_glyph;
use super::system::Sign;
use crate::font::Face;

/// From one line to the next.
pub(super) const LINE_GAP: Sp = 1.5;
const LINE: Sp = 0.1;
/// Fret numbers, to the em.
pub(super) const NUMBER: Sp = 2.1;
/// The line is broken this far from a number.
const MARGIN: Sp = 0.18;
/// The three letters at the left, to the em.
const LETTERS: Sp = 2.3;

/// How tall the row of pick strokes is, and what lies under it.
pub(super) const STROKE_HEIGHT: Sp = 1.0;
pub(super) const UNDER_STROKES: Sp = 1.3;

/// How tall the tab is from its top line to its bottom line.
pub(super) fn height(strings: u8) -> Sp {
    LINE_GAP * f64::from(strings.saturating_sub(1))
}

/// A fret number; in parentheses where the note is only held.
fn number(symbol: &Symbol, fretting: Fretting) -> String {
    match symbol.tied_from {
        true => format!("({})", fretting.fret.0),
        false => fretting.fret.0.to_string(),
    }
}

/// How wide the number under a symbol is.
pub(super) fn number_width(symbol: &Symbol, fretting: Fretting) -> Sp {
    Face::Semibold.width(&number(symbol, fretting)) * NUMBER
}

/// Numbers and lines; `top` is the y of the top line, `left` and `right` the ends of the lines.
pub(super) fn tab(signs: &[(&Sign<'_>, Fretting)], neck: &Neck, top: Sp, left: Sp, right: Sp) -> Vec<Group> {
    let (strings, frets) = (neck.strings(), neck.frets());
    let mut groups = Vec::new();
    // Where each line is broken, from the left.
    let mut breaks: Vec<Vec<(Sp, Sp)>> = vec![Vec::new(); usize::from(strings)];
    for (sign, fretting) in signs {
        let text = number(sign.symbol, *fretting);
        let width = Face::Semibold.width(&text) * NUMBER;
        let (cap, _) = Face::Semibold.extent("0");
        let centre = sign.x + head_glyph(sign.symbol.value.base).width() / 2.0;
        let line = fretting.string.0.saturating_sub(1);
        let y = top + LINE_GAP * f64::from(line);
        let mut group = Group::new(Role::Fret, Some(sign.bar), Some(sign.symbol.note));
        group.put(
            centre - width / 2.0,
            y - cap * NUMBER / 2.0,
            Item::Text { face: Face::Semibold, size: NUMBER, text },
        );
        groups.push(group);
        let mut cut = vec![(centre - width / 2.0 - MARGIN, centre + width / 2.0 + MARGIN)];
        if let Some((left, size, text)) = grace::number(sign, *fretting, frets) {
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
    let step = height(strings) / 3.0;
    let centre = top + height(strings) / 2.0;
    for (row, letter) in [(-1.0, "T"), (0.0, "A"), (1.0, "B")] {
        let width = Face::Semibold.width(letter) * LETTERS;
        let y = centre + row * step.min(2.0) - cap * LETTERS / 2.0;
        group.put(
            x - width / 2.0,
            y,
            Item::Text { face: Face::Semibold, size: LETTERS, text: letter.into() },
        );
    }
    group
}

/// How tall the figure of a finger is.
pub(super) const FINGER: Sp = 1.15;

/// The finger for a sign, standing on `foot`, centred on its head; 0 is an open string.
pub(super) fn finger(sign: &Sign<'_>, finger: Finger, foot: Sp) -> Group {
    let text = finger.0.to_string();
    let (cap, _) = Face::Regular.extent(&text);
    let size = -FINGER / cap;
    let centre = sign.x + head_glyph(sign.symbol.value.base).width() / 2.0;
    let mut group = Group::new(Role::Finger, Some(sign.bar), Some(sign.symbol.note));
    let left = centre - Face::Regular.width(&text) * size / 2.0;
    group.put(left, foot, Item::Text { face: Face::Regular, size, text });
    group
}

/// A pick stroke standing on `foot`, centred on the sign's head.
pub(super) fn stroke(sign: &Sign<'_>, stroke: Stroke, foot: Sp) -> Group {
    let centre = sign.x + head_glyph(sign.symbol.value.base).width() / 2.0;
    let mut group = Group::new(Role::Stroke, Some(sign.bar), Some(sign.symbol.note));
    let shape: &[(Sp, Sp)] = match stroke {
        // A bracket open below, its top thick.
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
        // A V, its left side thick.
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
    group.put(centre, foot, Item::polygon(shape.iter().copied()));
    group
}
