//! What is said about the notes of a system, under all their signs: a row with their degrees and what the line lands on, and brackets over the notes
//! of each name.
//!
//! Brackets of analysis lie flat, each group of notes under one, and meet in the middle of a note that two groups share (common practice, no source).

use std::ops::Range;

use crate::chord::Degree;
use crate::font::{Face, Glyph};
use crate::harmony::NameSign;
use crate::line::NoteId;
use crate::notate::Symbol;
use crate::scene::{Group, Item, Placed, Role, Sp};
use crate::score::Score;

use super::chords::Setter;
use super::layout::Layout;
use super::part::Part;
use super::sign::Sign;
use super::sizes::head_glyph;

/// The size of degrees, in staff spaces per em. They are slanted, so that nobody takes them for fingers.
const DEGREE: Sp = 1.75;
const DEGREE_FACE: Face = Face::BoldItalic;
/// The arrow before the degree that the line lands on, and its distance from that.
const ARROW: Sp = 1.0;
const AFTER_ARROW: Sp = 0.25;
/// The height of an arrow's head, and the thickness of its line and of a bracket (common practice, no source: no thicker than a ledger line).
const ARROW_HEAD: Sp = 0.6;
const THICKNESS: Sp = 0.12;
/// The distance from what is above a row to the row.
const OVER_DEGREES: Sp = 0.55;
const OVER_BRACKETS: Sp = 0.55;
/// The ends of a bracket point toward the notes.
const HOOK: Sp = 0.65;
/// The distance between brackets that share a note, and how far one extends that comes from the system before.
const BETWEEN_BRACKETS: Sp = 0.3;
const COMING: Sp = 1.2;
/// The size of words, in staff spaces per em; their distance from the bracket, from each other, and from row to row.
const WORDS: Sp = 1.6;
const WORDS_FACE: Face = Face::Semibold;
const OVER_WORDS: Sp = 0.45;
const BETWEEN_WORDS: Sp = 0.8;
const NEXT_ROW: Sp = 1.9;
/// The line to write on under a bracket without words: its thickness, and how far it is below (6.5 mm on paper).
const RULE: Sp = 0.09;
const ROOM_TO_WRITE: Sp = 3.6;

/// Whether a note starts at this symbol.
fn is_struck(symbol: &Symbol) -> bool {
    symbol.pitch.is_some() && !symbol.tied_from
}

/// Whether a note of the line starts at this symbol. A note that a figure repeats isn't one of the line's, and its id is out of order.
fn starts_note(score: Score<'_>, symbol: &Symbol) -> bool {
    is_struck(symbol) && (symbol.note.0 as usize) < score.line.events().len()
}

/// The index of the landing on a note, if that is shown.
fn landing(score: Score<'_>, layout: &Layout, note: NoteId) -> Option<usize> {
    let names = score.names;
    let first = names.partition_point(|name| name.first < note);
    let mut here = names[first..].iter().take_while(|name| name.first == note);
    let at = here.position(|name| name.is_landing).filter(|_| layout.annotations.names)?;
    Some(first + at)
}

/// What is in the row of degrees under a symbol: the degree, and the index of the landing if it is one.
fn degree(score: Score<'_>, layout: &Layout, symbol: &Symbol) -> Option<(Degree, Option<usize>)> {
    let asked = layout.annotations.shows_degrees() || layout.annotations.names;
    let struck = Some(symbol).filter(|symbol| asked && is_struck(symbol))?;
    let landing = landing(score, layout, struck.note);
    let shown = layout.annotations.shows_degrees() || landing.is_some();
    Some((score.degree(struck.note).filter(|_| shown)?, landing))
}

/// What is drawn under a symbol in the row of degrees, for telling whether it is the same as before.
pub(super) fn under(score: Score<'_>, layout: &Layout, symbol: &Symbol) -> Option<(Degree, bool)> {
    degree(score, layout, symbol).map(|(degree, landing)| (degree, landing.is_some()))
}

/// The width to reserve under a symbol in the row of degrees, centered on its head; an arrow counts on both sides.
pub(super) fn width(score: Score<'_>, layout: &Layout, symbol: &Symbol) -> Sp {
    degree(score, layout, symbol).map_or(0.0, |(degree, landing)| {
        let arrow = if landing.is_some() { ARROW + AFTER_ARROW } else { 0.0 };
        set_degree(degree).x + 2.0 * arrow
    })
}

fn set_degree(degree: Degree) -> Setter {
    let mut setter = Setter::in_face(DEGREE_FACE);
    if degree.alter().half_steps() != 0 {
        setter.sign(Glyph::accidental(degree.alter().half_steps()), DEGREE, 0.0);
    }
    setter.text(&degree.number().to_string(), DEGREE, 0.0);
    setter
}

/// Signs set side by side, in a group with their left end here.
fn put(mut group: Group, items: Vec<Placed>, x: Sp, baseline: Sp) -> Group {
    for placed in items {
        group.put(x + placed.at.x, baseline + placed.at.y, placed.item);
    }
    group
}

/// The lower edge of some groups, or of what is above them.
fn lowest(groups: &[Group], above: Sp) -> Sp {
    groups.iter().filter_map(Group::bounds).map(|[.., bottom]| bottom).fold(above, Sp::max)
}

/// The row of degrees below everything so far, and its lower edge.
pub(super) fn degrees(part: &Part<'_>, signs: &[Sign<'_>], above: Sp) -> (Vec<Group>, Sp) {
    let (cap, _) = DEGREE_FACE.extent("0");
    let baseline = above + OVER_DEGREES - cap * DEGREE;
    let mut groups = Vec::new();
    for sign in signs {
        let Some((degree, landing)) = degree(part.score, part.layout, sign.symbol) else { continue };
        let role = if landing.is_some() { Role::Landing } else { Role::Degree };
        let mut group = Group { name: landing, ..Group::new(role, Some(sign.bar), Some(sign.symbol.note)) };
        let set = set_degree(degree);
        let left = sign.x + (head_glyph(sign.symbol.value.base).width() - set.x) / 2.0;
        if landing.is_some() {
            group.put(left - AFTER_ARROW, baseline + cap * DEGREE / 2.0, arrow());
        }
        groups.push(put(group, set.items, left, baseline));
    }
    let lowest = lowest(&groups, above);
    (groups, lowest)
}

/// An arrow to the right with its point at the origin.
fn arrow() -> Item {
    let (half, head) = (THICKNESS / 2.0, ARROW_HEAD / 2.0);
    let back = -0.9 * ARROW_HEAD;
    Item::polygon([
        (-ARROW, -half),
        (back, -half),
        (back, -head),
        (0.0, 0.0),
        (back, head),
        (back, half),
        (-ARROW, half),
    ])
}

/// The names in a system, and the notes around it as far as its brackets depend on them.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Inside<'a> {
    names: &'a [NameSign],
    /// The index of the first one.
    start: usize,
    /// The last two notes before it, the nearest one first; none if it has no brackets.
    before: [Option<NoteId>; 2],
    /// The first note after it; none if it has no brackets.
    after: Option<NoteId>,
}

impl<'a> Inside<'a> {
    pub(super) fn of(score: Score<'a>, bars: &Range<usize>) -> Inside<'a> {
        let (start, names) = inside(score, bars);
        let inside = Inside { names, start, before: [None; 2], after: None };
        if names.iter().all(|name| name.is_landing) {
            return inside;
        }
        let all = &score.written.bars;
        let before = all[..bars.start].iter().rev().flat_map(|bar| bar.symbols.iter().rev());
        let mut before = before.filter(|symbol| starts_note(score, symbol)).map(|symbol| symbol.note);
        let after =
            all[bars.end..].iter().flat_map(|bar| &bar.symbols).find(|symbol| starts_note(score, symbol));
        Inside { before: [before.next(), before.next()], after: after.map(|symbol| symbol.note), ..inside }
    }
}

/// The names that have notes in some bars, and the index of the first one.
fn inside<'a>(score: Score<'a>, bars: &Range<usize>) -> (usize, &'a [NameSign]) {
    let names = score.names;
    let symbols = score.written.bars[bars.clone()].iter().flat_map(|bar| &bar.symbols);
    let notes =
        symbols.map(|symbol| symbol.note).filter(|note| (note.0 as usize) < score.line.events().len());
    let ends = notes.fold(None, |ends, note| {
        let (first, last) = ends.unwrap_or((note, note));
        Some((note.min(first), note.max(last)))
    });
    let Some((first, last)) = ends else { return (0, &[]) };
    let after = names.partition_point(|name| name.first <= last);
    let mut start = names.partition_point(|name| name.first < first);
    // Brackets end in the order in which they begin; what the line lands on is a single note.
    while let Some(before) =
        start.checked_sub(1).filter(|&index| names[index].is_landing || names[index].last >= first)
    {
        start = before;
    }
    (start, &names[start..after.max(start)])
}

/// The part of a name that is in a system.
struct Bracket<'a> {
    name: &'a NameSign,
    index: usize,
    bar: usize,
    left: Sp,
    right: Sp,
    /// Whether its first and its last note are here.
    begins: bool,
    ends: bool,
    /// Whether its words are here.
    has_words: bool,
}

/// Brackets below everything so far, each with its words or a line to write them on, and their lower edge. `right` is where the last bar ends.
pub(super) fn brackets(part: &Part<'_>, signs: &[Sign<'_>], right: Sp, above: Sp) -> (Vec<Group>, Sp) {
    let brackets = parts(part, signs, right);
    let line = above + OVER_BRACKETS + HOOK;
    let mut groups: Vec<Group> = brackets.iter().map(|bracket| drawn(bracket, line)).collect();
    let (cap, _) = WORDS_FACE.extent("A");
    let baseline = line + THICKNESS + OVER_WORDS - cap * WORDS;
    groups.extend(words(&brackets, part.width).into_iter().map(|placed| {
        let Bracket { name, index, bar, .. } = placed.bracket;
        let words = name.short.get(placed.form).cloned().unwrap_or_default();
        let group = Group { name: Some(*index), words, ..Group::new(Role::Name, Some(*bar), None) };
        put(group, placed.set.items, placed.left, baseline + NEXT_ROW * f64::from(placed.row))
    }));
    // Below all words, if there are any.
    let rule = lowest(&groups, line + ROOM_TO_WRITE - OVER_WORDS) + OVER_WORDS;
    for bracket in brackets.iter().filter(|bracket| bracket.has_words && bracket.name.short.is_empty()) {
        let mut group =
            Group { name: Some(bracket.index), ..Group::new(Role::Name, Some(bracket.bar), None) };
        let width = bracket.right - bracket.left;
        group.put(bracket.left, rule, Item::Rect { width, height: RULE });
        groups.push(group);
    }
    let lowest = lowest(&groups, above);
    (groups, lowest)
}

/// Where the brackets of a system begin and end.
fn parts<'a>(part: &Part<'a>, signs: &[Sign<'_>], right: Sp) -> Vec<Bracket<'a>> {
    let bars = part.first_bar..part.first_bar + part.bars.len();
    let inside = Inside::of(part.score, &bars);
    let struck: Vec<&Sign<'_>> = signs.iter().filter(|sign| starts_note(part.score, sign.symbol)).collect();
    let width = |sign: &Sign<'_>| head_glyph(sign.symbol.value.base).width();
    let mut brackets: Vec<Bracket<'a>> = Vec::new();
    let mut last_before: Option<NoteId> = None;
    for (name, index) in inside.names.iter().zip(inside.start..).filter(|(name, _)| !name.is_landing) {
        let covers = |note: NoteId| (name.first..=name.last).contains(&note);
        let from = struck.partition_point(|sign| sign.symbol.note < name.first);
        let here: Vec<&&Sign<'_>> =
            struck[from..].iter().take_while(|sign| covers(sign.symbol.note)).collect();
        let (Some(first), Some(last)) = (here.first(), here.last()) else { continue };
        let begins = !inside.before[0].is_some_and(covers);
        let ends = !inside.after.is_some_and(covers);
        // Where two names share a note, they meet in the middle of it.
        let is_shared = last_before == Some(first.symbol.note);
        let middle = first.x + width(first) / 2.0;
        let left = match brackets.last_mut() {
            Some(before) if is_shared => {
                before.right = before.right.min(middle - BETWEEN_BRACKETS / 2.0);
                middle + BETWEEN_BRACKETS / 2.0
            }
            _ if !begins => (first.x - COMING).max(part.after_signatures().min(first.x)),
            _ => first.x,
        };
        last_before = Some(last.symbol.note);
        // A single note at the end of a system leaves no room for words; then they are where the name continues.
        let is_rest = inside.before[1].is_none_or(|note| !covers(note)) && (here.len() > 1 || ends);
        brackets.push(Bracket {
            name,
            index,
            bar: first.bar,
            left,
            right: if ends { last.x + width(last) } else { right },
            begins,
            ends,
            has_words: if begins { here.len() > 1 || ends } else { is_rest },
        });
    }
    brackets
}

/// A bracket on its line, open where the name goes on in another system.
fn drawn(bracket: &Bracket<'_>, line: Sp) -> Group {
    let Bracket { index, bar, left, right, begins, ends, .. } = *bracket;
    let (top, thick) = (-HOOK, THICKNESS);
    let mut shape = vec![(left, thick)];
    match begins {
        true => shape.extend([(left, top), (left + thick, top), (left + thick, 0.0)]),
        false => shape.push((left, 0.0)),
    }
    match ends {
        true => shape.extend([(right - thick, 0.0), (right - thick, top), (right, top)]),
        false => shape.push((right, 0.0)),
    }
    shape.push((right, thick));
    let mut group = Group { name: Some(index), ..Group::new(Role::NameBracket, Some(bar), None) };
    group.put(0.0, line, Item::polygon(shape));
    group
}

/// The words of a bracket in their place.
struct PlacedWords<'b, 'a> {
    bracket: &'b Bracket<'a>,
    form: usize,
    set: Setter,
    left: Sp,
    row: u8,
}

/// The words of each bracket in the fullest form that has room between its neighbors, as near as possible to the bracket's middle. Where no form has,
/// the shortest one goes a row lower; where that has no room either, the bracket has no words.
fn words<'b, 'a>(brackets: &'b [Bracket<'a>], width: Sp) -> Vec<PlacedWords<'b, 'a>> {
    // Where each row is free.
    let mut free: [Sp; 2] = [0.0; 2];
    let mut placed: Vec<PlacedWords<'_, '_>> = Vec::new();
    for (at, bracket) in brackets.iter().enumerate().filter(|(_, bracket)| bracket.has_words) {
        let before = at.checked_sub(1).map_or(0.0, |before| brackets[before].right);
        let after = brackets.get(at + 1).map_or(width, |after| after.left - BETWEEN_WORDS);
        let middle = f64::midpoint(bracket.left, bracket.right);
        let forms = || bracket.name.short.iter().enumerate().map(|(form, words)| (form, set_words(words)));
        let fits = |set: &Setter, from: Sp, to: Sp| {
            let left = (middle - set.x / 2.0).min(to - set.x).max(from);
            let is_under = left < middle && middle < left + set.x;
            (left + set.x <= to && is_under).then_some(left)
        };
        let beside = forms().find_map(|(form, set)| {
            let left = fits(&set, before.max(free[0]), after)?;
            Some(PlacedWords { bracket, form, set, left, row: 0 })
        });
        let below = || {
            let (form, set) = forms().next_back()?;
            let left = fits(&set, free[1], width)?;
            Some(PlacedWords { bracket, form, set, left, row: 1 })
        };
        if let Some(words) = beside.or_else(below) {
            free[usize::from(words.row)] = words.left + words.set.x + BETWEEN_WORDS;
            placed.push(words);
        }
    }
    placed
}

fn set_words(words: &str) -> Setter {
    let mut setter = Setter::in_face(WORDS_FACE);
    setter.printed(words, WORDS);
    setter
}
