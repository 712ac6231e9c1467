//! What a bar needs: where its notes can go relative to each other.

use std::ops::Range;

use crate::attack::Attacks;
use crate::key::Key;
use crate::line::Legato;
use crate::meter::Meter;
use crate::notate::{Symbol, WrittenBar};
use crate::pitch::Letter;
use crate::scene::Sp;

use super::breaking::{BarWidth, Start};
use super::chords::ChordInBar;
use super::grace;
use super::sizes::{
    BEFORE_DOT, DOT, FLAG, LEDGER_OVERHANG, RING_OVERHANG, accidental_room, has_ledger, head_glyph,
    rest_width, staff_y,
};
use super::spacing::{Spring, lengths};
use super::tab;
use super::view::View;
use crate::font::{Face, Glyph};

/// From a bar line to the first sign in the bar.
const AFTER_BAR_LINE: Sp = 1.3;
/// From the last note's signs to the bar line.
const BEFORE_BAR_LINE: Sp = 0.7;
/// The least distance between the signs of two notes.
const BETWEEN_SIGNS: Sp = 0.35;
/// The extra distance between two fret numbers, so that 10 and 11 never read as one number.
const NUMBER_MARGIN: Sp = 0.4;
/// The extra room for a tie or slide, so that it is long enough to be seen.
const TIE_ROOM: Sp = 1.0;
/// The distance between two chord symbols.
const BETWEEN_CHORDS: Sp = 0.9;
/// The room that a bar takes.
pub(super) struct Measure {
    /// From the bar line to the left edge of the first head.
    pub(super) lead: Sp,
    /// What is new at the start of the bar.
    pub(super) opening: Opening,
    /// From each head to the next, and from the last one to the bar line.
    pub(super) springs: Vec<Spring>,
    /// The bar line at its end.
    pub(super) bar_line: BarLine,
}

/// What ends a bar.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum BarLine {
    Single,
    /// Before a new key (common practice, no source).
    Double,
    /// At the end of the piece.
    End,
}

impl BarLine {
    /// Its strokes, each with the distance of its right edge from the end of the bar, and its width (SMuFL
    /// engraving defaults).
    pub(super) fn strokes(self) -> &'static [(Sp, Sp)] {
        const THIN: Sp = 0.16;
        const THICK: Sp = 0.5;
        const GAP: Sp = 0.4;
        match self {
            BarLine::Single => &[(0.0, THIN)],
            BarLine::Double => &[(0.0, THIN), (THIN + GAP, THIN)],
            BarLine::End => &[(0.0, THICK), (THICK + GAP, THIN)],
        }
    }

    fn width(self) -> Sp {
        self.strokes().iter().map(|(from_end, width)| from_end + width).fold(0.0, Sp::max)
    }
}

/// What goes between a bar line and the notes.
#[derive(Clone, PartialEq, Debug, Default)]
pub(super) struct Opening {
    /// The time signature, if it is new.
    pub(super) meter: Option<Meter>,
    /// The signs of a new key: naturals for those that no longer apply, then the signature.
    pub(super) key: Vec<KeySign>,
    /// The width of clef and key signature if the bar starts a system.
    pub(super) prefix: Sp,
}

/// A sign of a key signature.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct KeySign {
    pub(super) letter: Letter,
    /// Whether it takes the place of a sharp in a signature rather than of a flat.
    pub(super) sharp: bool,
    pub(super) half_steps: i8,
}

/// The signs of a key signature.
pub(super) fn signature(key: Key) -> impl Iterator<Item = KeySign> {
    key.signature().map(|(letter, alter)| KeySign {
        letter,
        sharp: alter.half_steps() > 0,
        half_steps: alter.half_steps(),
    })
}

/// What is written at a change of key.
pub(super) fn key_change(before: Key, key: Key) -> Vec<KeySign> {
    if before == key {
        return Vec::new();
    }
    let holds = |sign: &KeySign| signature(key).any(|other| other.letter == sign.letter);
    let canceled =
        signature(before).filter(|sign| !holds(sign)).map(|sign| KeySign { half_steps: 0, ..sign });
    canceled.chain(signature(key)).collect()
}

impl Measure {
    /// Measures a bar. `attacks` says where slides are, `rings` whether heads may have one, and `number` gives the
    /// width of the tab number under a symbol.
    pub(super) fn of(
        bar: &WrittenBar,
        opening: Opening,
        chords: &[ChordInBar],
        view: View,
        attacks: &Attacks,
        rings: bool,
        number: impl Fn(&Symbol) -> Sp,
    ) -> Measure {
        let symbols = &bar.symbols;
        let number_overhang =
            |symbol: &Symbol| (number(symbol) + NUMBER_MARGIN - head_glyph(symbol.value.base).width()) / 2.0;
        let left_of_head = |symbol: &Symbol| {
            let grace = if symbol.grace.is_some() && view.has_tab() { tab::GRACE_ROOM } else { 0.0 };
            left_of_head(symbol, view).max(number_overhang(symbol) + grace)
        };
        let right_of_head = |symbol: &Symbol| {
            right_of_head(symbol, view).max(head_glyph(symbol.value.base).width() + number_overhang(symbol))
        };
        let between_signs = if rings { BETWEEN_SIGNS + RING_OVERHANG } else { BETWEEN_SIGNS };
        let mut springs: Vec<Spring> = Vec::with_capacity(symbols.len());
        for (index, symbol) in symbols.iter().enumerate() {
            let after =
                symbols.get(index + 1).map_or(BEFORE_BAR_LINE, |next| between_signs + left_of_head(next));
            let tie = if symbol.tied_to || attacks.leads(symbol.note) == Some(Legato::Slide) {
                TIE_ROOM
            } else {
                0.0
            };
            springs.push(Spring::after(symbol.length, right_of_head(symbol) + tie + after));
        }
        let lead = opening.key_room()
            + opening.time_room()
            + AFTER_BAR_LINE
            + symbols.first().map_or(0.0, &left_of_head);
        for (index, chord) in chords.iter().enumerate() {
            // A chord symbol is a rod across the notes up to the next chord, or to the bar line and the next
            // bar's first note.
            let (end, over) =
                chords.get(index + 1).map_or((springs.len(), AFTER_BAR_LINE), |next| (next.symbol, 0.0));
            hold_apart(
                &mut springs[chord.symbol..end.max(chord.symbol)],
                chord.width + BETWEEN_CHORDS - over,
            );
        }
        Measure { lead, opening, springs, bar_line: BarLine::Single }
    }

    /// Keeps at least this much room between two symbols, or between a symbol and the bar line.
    pub(super) fn hold_apart(&mut self, symbols: Range<usize>, least: Sp) {
        if let Some(springs) = self.springs.get_mut(symbols) {
            hold_apart(springs, least);
        }
    }

    /// Ends the bar with this bar line, and makes room for it.
    pub(super) fn end_with(&mut self, bar_line: BarLine) {
        self.bar_line = bar_line;
        if let Some(last) = self.springs.last_mut() {
            last.rod += bar_line.width() - BarLine::Single.width();
        }
    }

    /// The courtesy signatures for this bar at the end of the previous system: a new key signature and a new
    /// time signature.
    pub(super) fn courtesy(&self) -> Sp {
        match self.opening.key_room() + self.opening.time_room() {
            0.0 => 0.0,
            room => room + BEFORE_TIME,
        }
    }

    pub(super) fn width(&self) -> BarWidth {
        BarWidth {
            natural: self.lead + lengths(&self.springs, 1.0).sum::<Sp>(),
            least: self.lead + lengths(&self.springs, 0.0).sum::<Sp>(),
            courtesy: self.courtesy(),
            key_change: self.opening.key_room(),
            prefix: self.opening.prefix,
            start: Start::Free,
        }
    }
}

/// Lengthens the springs' rods in proportion, so that together they are never shorter than `least`.
fn hold_apart(springs: &mut [Spring], least: Sp) {
    let at_rest: Sp = springs.iter().map(|spring| spring.at_rest()).sum();
    let rods: Sp = springs.iter().map(|spring| spring.rod).sum();
    if rods < least {
        for spring in springs {
            spring.rod = spring.rod.max(spring.at_rest() * least / at_rest);
        }
    }
}

/// From the left edge of the head to the left edge of what comes before it.
pub(super) fn left_of_head(symbol: &Symbol, view: View) -> Sp {
    let grace = symbol.grace.filter(|_| view != View::Rhythm).map_or(0.0, |grace| grace::room(&grace));
    if view.has_staff() { accidental_room(symbol) + grace } else { grace }
}

/// From the left edge of the head to the right edge of what belongs to it.
pub(super) fn right_of_head(symbol: &Symbol, view: View) -> Sp {
    let dots = f64::from(symbol.value.dots) * (BEFORE_DOT + DOT);
    let Some(pitch) = symbol.pitch else { return rest_width(symbol.value.base) + dots };
    let head = head_glyph(symbol.value.base).width();
    // A flag on an upward stem is to the right of the head.
    let up = if view.has_staff() { staff_y(pitch) > 2.0 } else { view == View::Rhythm };
    let flagged = up && symbol.beams.is_empty() && symbol.value.base.beams() > 0;
    let flag = if flagged { Glyph::Flag8Up.width() * FLAG } else { 0.0 };
    let ledger = if view.has_staff() && has_ledger(pitch) { LEDGER_OVERHANG } else { 0.0 };
    head + (dots + flag).max(ledger)
}

/// Positions in a prefix.
pub(super) const CLEF_X: Sp = 0.7;
pub(super) const SIGNATURE_X: Sp = 4.1;
/// The distance from one sign of a key signature to the next.
pub(super) const SIGNATURE_STEP: Sp = 0.95;
/// The size of a time signature's digits, in staff spaces per em; they are two spaces tall.
pub(super) const TIME_SIZE: Sp = 3.1;
/// The distance from a bar line or the key signature to the time signature.
pub(super) const BEFORE_TIME: Sp = 0.7;

/// The width of clef and key signature at the left end of a system.
pub(super) fn prefix_width(key: Key, view: View) -> Sp {
    match view {
        View::Both | View::Staff => {}
        View::Tab => return SIGNATURE_X - BEFORE_TIME,
        View::Rhythm => return 0.0,
    }
    match f64::from(key.fifths().unsigned_abs()) {
        0.0 => SIGNATURE_X - BEFORE_TIME,
        signs => SIGNATURE_X + signs * SIGNATURE_STEP,
    }
}

impl Opening {
    /// The room for a change of key. A bar that starts a system doesn't need it, since the clef there has the
    /// signature beside it.
    pub(super) fn key_room(&self) -> Sp {
        match self.key.len() {
            0 => 0.0,
            signs => BEFORE_TIME + signs as f64 * SIGNATURE_STEP,
        }
    }

    pub(super) fn time_room(&self) -> Sp {
        self.meter.map_or(0.0, |meter| BEFORE_TIME + time_width(meter))
    }
}

/// The width of the wider number of a time signature.
pub(super) fn time_width(meter: Meter) -> Sp {
    let width = |number: u8| Face::Black.width(&number.to_string()) * TIME_SIZE;
    width(meter.count()).max(width(meter.unit()))
}
