//! One system: staff and tab with all their signs, built outward from the notes.

use std::ops::Range;

use crate::hand::Fretting;
use crate::notate::WrittenBar;
use crate::scene::{Group, Item, PadPlace, Placed, Point, Role, Sp, System};
use crate::time::{Duration, Onset};

use super::accents::accents;
use super::breaking::justifies;
use super::grace;
use super::layout::PadRow;
use super::measure::{BarLine, CLEF_X, Measure};
use super::names;
use super::notes::{note, rings};
use super::part::{BarPlace, Part};
use super::sign::Sign;
use super::signatures::{openings, prefix};
use super::sizes::{head_glyph, rest_width, staff_y};
use super::skyline::Skyline;
use super::slurs;
use super::spacing::{force, lengths};
use super::stems::{StemRule, stems};
use super::tab::{self, STROKE_HEIGHT, UNDER_STROKES};
use super::ties::ties;
use super::tuplets::tuplet;
use super::view::{View, tab_height};
use crate::font::Face;

/// The thickness of a line (SMuFL engraving defaults).
const STAFF_LINE: Sp = 0.13;
/// The least distance from the staff's top line to the pick strokes between staff and tab, so that the tab
/// never comes too close.
const STAFF_TO_STROKES: Sp = 6.1;
/// The distance from a note to a pick stroke below it.
const OVER_STROKES: Sp = 0.6;
/// The least distance from the baseline of the chord symbols to the staff, and to what is under them.
const CHORDS_TO_STAFF: Sp = 1.5;
const UNDER_CHORDS: Sp = 0.8;
/// How far to the side of a chord symbol a tall sign still makes it rise.
const BESIDE_CHORDS: Sp = 0.6;
/// The size of a bar number, in staff spaces per em.
const BAR_NUMBER: Sp = 1.7;
/// The margin above and below everything.
const MARGIN: Sp = 0.6;
/// The distance from the lowest sign to the fingers under it.
const OVER_FINGERS: Sp = 0.5;
/// The distance from the lowest number to the pads, and between two pads.
const OVER_PADS: Sp = 0.6;
pub(super) const BETWEEN_PADS: Sp = 0.7;

/// Sets a system.
pub(super) fn system(part: &Part<'_>) -> System {
    let (view, neck) = (part.layout.view, &part.score.line.heading().neck);
    let strings = neck.strings();
    let row = view.row(strings);
    let (mut signs, places) = place(part);
    let right = places.last().map_or(part.width, |bar| bar.right);
    let edge = right + part.next.map_or(0.0, Measure::courtesy);

    let mut groups = Vec::new();
    let has_rings = part.layout.has_rings();
    let (stem_items, beams) = stems(&mut signs, StemRule::of(view).with_rings(has_rings));
    for (sign, stem) in signs.iter().zip(stem_items) {
        let full = sign.symbol.length == part.bars[sign.bar - part.first_bar].meter.bar();
        groups.push(note(sign, view, f64::midpoint(row.0, row.1), full, stem));
    }
    groups.extend(beams);
    if view.has_staff() {
        groups.extend(signs.iter().filter_map(grace::on_staff));
    }
    if view != View::Tab {
        groups.extend(ties(&signs, part.after_signatures(), right));
    }
    if has_rings {
        groups.extend(rings(&signs, |note| part.score.is_chord_tone(note)));
    }
    groups.extend(prefix(part));
    groups.extend(openings(part, &places, right, f64::midpoint(row.0, row.1)));
    let attacks = part.score.fingering.attacks();
    let played: Vec<(&Sign<'_>, Fretting)> =
        signs.iter().filter_map(|sign| Some((sign, part.score.fingering.of(sign.symbol.note)?))).collect();
    let strokes = |foot: Sp| {
        let struck = played.iter().filter(|(sign, _)| !sign.symbol.tied_from);
        struck.filter_map(move |(sign, _)| {
            Some(tab::stroke(sign, attacks.of(sign.symbol.note)?.stroke()?, foot))
        })
    };
    if view == View::Tab {
        groups.extend(tab::tab(&played, neck, row.0, 0.0, edge));
        groups.extend(strokes(row.0 - UNDER_STROKES));
        groups.extend(slurs::on_tab(&played, attacks, neck.frets(), row.0, row.0 - UNDER_STROKES));
    }
    let (mut above, mut below) = (Skyline::new(), Skyline::new());
    for placed in groups.iter().flat_map(|group| &group.items) {
        add(placed, &mut above, &mut below);
    }
    if view.has_staff() {
        let ends = (part.after_signatures(), right);
        groups.extend(slurs::on_staff(&signs, attacks, ends, &mut above, &mut below));
    }
    groups.extend(accents(&signs, row, &mut above, &mut below));
    for (bar, place) in part.bars.iter().zip(&places) {
        let inside = &signs[place.first..place.after];
        // Inner tuplets first, since they are closer to the notes.
        for one in bar.tuplets.iter().rev() {
            groups.extend(tuplet(bar, one, &inside[one.symbols.clone()], row, &mut above, &mut below));
        }
    }
    let chords = chords(part, &signs, &places, &mut above);
    groups.extend(chords);
    if part.first_bar > 0 {
        groups.push(bar_number(part, &mut above));
    }

    // Below the staff or the line: pick strokes and the tab.
    let mut rows = vec![row];
    if view != View::Tab {
        let least = if view.has_tab() { STAFF_TO_STROKES } else { row.1 };
        let tab_top = tab_top(&played, least, &below).ceil();
        groups.extend(strokes(tab_top - UNDER_STROKES));
        if view.has_tab() {
            rows.push((tab_top, tab_top + tab_height(strings)));
            groups.extend(tab::tab(&played, neck, tab_top, 0.0, edge));
            groups.extend(slurs::on_tab(&played, attacks, neck.frets(), tab_top, tab_top - UNDER_STROKES));
        }
    }
    if let Some(&(top, _)) = rows.last().filter(|_| view.has_tab()) {
        groups.push(tab::letters(strings, top, CLEF_X + 0.9));
    }
    match view {
        View::Both | View::Staff => groups.push(staff(0..5, edge)),
        View::Rhythm => groups.push(staff(2..3, edge)),
        View::Tab => {}
    }
    groups.extend(bar_lines(part, &places, &rows));

    // Numbers on the lowest string extend past its line.
    let bottoms = groups.iter().flat_map(|group| &group.items).map(|placed| placed.bounds()[3]);
    let mut lowest = bottoms.fold(row.1, Sp::max);
    let (degrees, under) = names::degrees(part, &signs, lowest);
    groups.extend(degrees);
    lowest = under;
    if part.layout.annotations.shows_fingers() {
        lowest += OVER_FINGERS + tab::FINGER;
        let fingered = played.iter().filter(|(sign, _)| !sign.symbol.tied_from);
        groups.extend(fingered.map(|(sign, fretting)| tab::finger(sign, fretting.finger, lowest)));
    }
    if part.layout.annotations.names {
        let (brackets, under) = names::brackets(part, &signs, right, lowest);
        groups.extend(brackets);
        lowest = under;
    }
    let (pads, below) = match &part.layout.pads {
        None => (Vec::new(), lowest + MARGIN),
        Some(row) => (pads(part, row, &signs, &places, lowest + OVER_PADS), lowest + OVER_PADS + row.height),
    };
    System {
        top: 0.0,
        // Rounded up to whole spaces, so that a page whose spaces are whole pixels has its lines on whole
        // pixels too.
        above: (above.farthest().max(0.0) + MARGIN).ceil(),
        below: below.ceil(),
        bars: part.first_bar..part.first_bar + part.bars.len(),
        edges: places.iter().map(|place| place.left).chain(places.last().map(|last| last.right)).collect(),
        groups,
        pads,
    }
}

/// Finds the place of every sign along the system.
fn place<'a>(part: &Part<'a>) -> (Vec<Sign<'a>>, Vec<BarPlace>) {
    let room = part.width - part.prefix() - part.next.map_or(0.0, Measure::courtesy);
    let natural: Sp = part.measures.iter().map(|measure| measure.width().natural).sum();
    let natural = natural - part.measures.first().map_or(0.0, |first| first.opening.key_room());
    let leads: Sp = (0..part.measures.len()).map(|index| part.lead(index)).sum();
    let springs: Vec<_> = part.measures.iter().flat_map(|measure| measure.springs.iter().copied()).collect();
    let ragged = part.last && natural < room && !justifies(natural, room);
    let force = if ragged { 1.0 } else { force(&springs, room - leads) };

    let height = part.layout.view.height(part.score.line.heading().neck.strings());
    let (mut signs, mut places) = (Vec::new(), Vec::new());
    let mut x = part.prefix();
    for ((bar, measure), index) in part.bars.iter().zip(part.measures).zip(part.first_bar..) {
        let (left, first) = (x, signs.len());
        let lead = part.lead(index - part.first_bar);
        x += lead;
        for (symbol, length) in bar.symbols.iter().zip(lengths(&measure.springs, force)) {
            let y = height.unwrap_or_else(|| symbol.pitch.map_or(2.0, staff_y));
            signs.push(Sign { symbol, bar: index, x, y, up: false, tip: y, centered: false });
            x += length;
        }
        if let [rest] = &mut signs[first..]
            && rest.symbol.pitch.is_none()
            && rest.symbol.length == bar.meter.bar()
        {
            // A whole-bar rest goes in the middle.
            let signatures = measure.opening.time_room()
                + if index > part.first_bar { measure.opening.key_room() } else { 0.0 };
            rest.x = (left + signatures + x) / 2.0 - rest_width(rest.symbol.value.base) / 2.0;
        }
        places.push(BarPlace { left, head: left + lead, right: x, first, after: signs.len() });
    }
    (signs, places)
}

fn add(placed: &Placed, above: &mut Skyline, below: &mut Skyline) {
    let [left, top, right, bottom] = placed.bounds();
    above.add(left, right, -top);
    below.add(left, right, bottom);
}

/// Chord symbols on one baseline, clear of what is under them.
fn chords(part: &Part<'_>, signs: &[Sign<'_>], places: &[BarPlace], above: &mut Skyline) -> Vec<Group> {
    let chords = || {
        part.chords.iter().zip(places).zip(part.bars).zip(part.first_bar..).flat_map(
            |(((chords, place), bar), index)| {
                chords.iter().map(move |chord| (index, chord, x_at(chord.offset, signs, place, bar)))
            },
        )
    };
    let reach = chords()
        .map(|(_, chord, x)| above.reach(x - BESIDE_CHORDS, x + chord.width + BESIDE_CHORDS))
        .fold(Sp::MIN, Sp::max);
    let base_line = -(CHORDS_TO_STAFF.max(reach + UNDER_CHORDS));
    let mut groups = Vec::new();
    for (bar, chord, x) in chords() {
        let mut group = Group { words: chord.words.clone(), ..Group::new(Role::Chord, Some(bar), None) };
        for placed in &chord.items {
            group.put(x + placed.at.x, base_line + placed.at.y, placed.item.clone());
        }
        groups.push(group);
    }
    for placed in groups.iter().flat_map(|group| &group.items) {
        let [left, top, right, _] = placed.bounds();
        above.add(left, right, -top);
    }
    groups
}

/// The x of the moment `offset` into a bar: at a head, or between two.
fn x_at(offset: Duration, signs: &[Sign<'_>], place: &BarPlace, bar: &WrittenBar) -> Sp {
    let inside = &signs[place.first..place.after];
    let index = bar.symbol_at(offset);
    let Some(sign) = inside.get(index) else { return place.left };
    let next = inside.get(index + 1).map_or(place.right, |next| next.x);
    let (into, length) = (offset.to_f64() - sign.symbol.start.to_f64(), sign.symbol.length.to_f64());
    // A single rest is in the middle of its bar, but the start of the bar isn't.
    let from = if inside.len() == 1 && sign.symbol.pitch.is_none() { place.head } else { sign.x };
    from + (next - from) * (into / length).clamp(0.0, 1.0)
}

fn bar_number(part: &Part<'_>, above: &mut Skyline) -> Group {
    let text = part.score.line.bars().number(part.first_bar).to_string();
    let width = Face::Regular.width(&text) * BAR_NUMBER;
    let y = above.reach(0.0, width).max(0.0) + 0.5;
    above.add(0.0, width, y + 0.7 * BAR_NUMBER);
    let mut group = Group::new(Role::BarNumber, Some(part.first_bar), None);
    group.put(0.0, -y, Item::Text { face: Face::Regular, size: BAR_NUMBER, text });
    group
}

/// The tab's top line: as close to the staff as the notes and strokes between them allow.
fn tab_top(played: &[(&Sign<'_>, Fretting)], least: Sp, below: &Skyline) -> Sp {
    let strokes = played.iter().map(|(sign, _)| {
        let (left, right) = (sign.x - 0.2, sign.x + head_glyph(sign.symbol.value.base).width() + 0.2);
        below.reach(left, right) + OVER_STROKES + STROKE_HEIGHT + UNDER_STROKES
    });
    // What is between the strokes, such as a bracket, only needs room over the tab's numbers.
    let between = below.farthest() + UNDER_STROKES;
    strokes.fold(between.max(least + OVER_STROKES + STROKE_HEIGHT + UNDER_STROKES), Sp::max)
}

fn staff(lines: Range<u8>, right: Sp) -> Group {
    let mut group = Group::new(Role::Staff, None, None);
    for line in lines {
        group.put(0.0, f64::from(line) - STAFF_LINE / 2.0, Item::Rect { width: right, height: STAFF_LINE });
    }
    group
}

fn bar_lines(part: &Part<'_>, places: &[BarPlace], rows: &[(Sp, Sp)]) -> Vec<Group> {
    let mut groups = Vec::new();
    let stroke = |group: &mut Group, right: Sp, width: Sp, (top, bottom): (Sp, Sp)| {
        let height = bottom - top + STAFF_LINE;
        group.put(right - width, top - STAFF_LINE / 2.0, Item::Rect { width, height });
    };
    if let (&[(top, _), ..], &[.., (_, bottom)], true) = (rows, rows, part.layout.view.has_tab()) {
        let mut start = Group::new(Role::BarLine, None, None);
        for &(_, width) in BarLine::Single.strokes() {
            stroke(&mut start, width, width, (top, bottom));
        }
        groups.push(start);
    }
    for ((place, measure), index) in places.iter().zip(part.measures).zip(part.first_bar..) {
        let mut group = Group::new(Role::BarLine, Some(index), None);
        for &row in rows {
            for &(from_end, width) in measure.bar_line.strokes() {
                stroke(&mut group, place.right - from_end, width, row);
            }
        }
        groups.push(group);
    }
    groups
}

/// The area under each passage that has a pad.
fn pads(part: &Part<'_>, row: &PadRow, signs: &[Sign<'_>], places: &[BarPlace], y: Sp) -> Vec<PadPlace> {
    let mut pads = Vec::new();
    for (bar, place) in part.bars.iter().zip(places) {
        let x = |onset: Onset| match bar.offset(onset) {
            Ok(offset) if onset < bar.span.end() => x_at(offset, signs, place, bar) - BETWEEN_PADS / 2.0,
            _ => place.right,
        };
        let first = row.spans.partition_point(|span| span.start() < bar.span.start());
        let inside = row.spans[first..].iter().take_while(|span| span.start() < bar.span.end());
        pads.extend(inside.map(|span| {
            let (left, right) = (x(span.start()), x(span.end()));
            let width = (right - left - BETWEEN_PADS).max(0.0);
            PadPlace { start: span.start(), at: Point::new(left, y), width, height: row.height }
        }));
    }
    pads
}
