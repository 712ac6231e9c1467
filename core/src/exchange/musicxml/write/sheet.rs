//! What every measure is written from: the piece, its unit of time, and its symbols with their neighbors.

use crate::error::Result;
use crate::naming::by_name;
use crate::notate::{Symbol, Written, WrittenBar};
use crate::piece::Piece;
use crate::time::{Duration, TimeError};

/// The staves that are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum Staves {
    /// Notation above tab. Fingers and strokes are at the notation, strings and frets at the tab.
    #[default]
    Both,
    /// Notation alone, with strings and frets at its notes: for programs that take a tab for a second instrument.
    Staff,
}

impl Staves {
    /// Both, in the order they are offered.
    pub const ALL: [Staves; 2] = [Staves::Both, Staves::Staff];

    /// `both` or `staff`.
    pub fn name(self) -> &'static str {
        match self {
            Staves::Both => "both",
            Staves::Staff => "staff",
        }
    }
}

by_name!(Staves, "a view");

/// One of the staves.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Staff {
    /// The only one.
    Alone,
    /// Notation above tab.
    Upper,
    /// Tab below notation.
    Tab,
}

impl Staff {
    pub(super) fn voice(self) -> &'static str {
        if self == Staff::Tab { "5" } else { "1" }
    }

    /// Its number, if it isn't the only one.
    pub(super) fn number(self) -> Option<&'static str> {
        match self {
            Staff::Alone => None,
            Staff::Upper => Some("1"),
            Staff::Tab => Some("2"),
        }
    }

    pub(super) fn is_tab(self) -> bool {
        self == Staff::Tab
    }

    /// Whether its notes have strings and frets.
    pub(super) fn is_fretted(self) -> bool {
        self != Staff::Upper
    }
}

/// A piece that is being written.
pub(super) struct Sheet<'a> {
    pub(super) piece: &'a Piece,
    pub(super) staves: Staves,
    /// Units of time per quarter note.
    divisions: i64,
}

impl Sheet<'_> {
    pub(super) fn new(piece: &Piece, staves: Staves) -> Result<Sheet<'_>> {
        Ok(Sheet { piece, staves, divisions: divisions(piece)? })
    }

    pub(super) fn divisions(&self) -> i64 {
        self.divisions
    }

    /// A length in units of time.
    pub(super) fn units(&self, length: Duration) -> Result<i64> {
        Ok((length.checked_mul(self.divisions)?).numer())
    }

    pub(super) fn has_tab(&self) -> bool {
        self.staves == Staves::Both
    }

    /// The staff with the notation.
    pub(super) fn upper(&self) -> Staff {
        if self.has_tab() { Staff::Upper } else { Staff::Alone }
    }
}

/// Units of time per quarter note, as few as the lengths of all symbols and bars and the places of all chords allow.
pub(super) fn divisions(piece: &Piece) -> Result<i64> {
    let symbols = piece.written().bars.iter().flat_map(|bar| bar.symbols.iter().map(|symbol| symbol.length));
    // A full bar has to be a whole number, too, even if there is only the pickup of one.
    let bars = piece.written().bars.iter().flat_map(|bar| [bar.span.length(), Ok(bar.meter.bar())]);
    let chords = piece.line().chords().iter().map(|chord| Ok(chord.onset.since_start()));
    let lengths = symbols.map(Ok).chain(bars).chain(chords);
    let mut divisions = 1;
    for length in lengths {
        divisions = common(divisions, length?.denom())?;
    }
    Ok(divisions)
}

/// The least common multiple.
fn common(a: i64, b: i64) -> Result<i64, TimeError> {
    let (mut divisor, mut rest) = (a, b);
    while rest != 0 {
        (divisor, rest) = (rest, divisor % rest);
    }
    a.checked_mul(b / divisor).ok_or(TimeError)
}

/// A symbol with what is around it.
#[derive(Clone, Copy)]
pub(super) struct Place<'a> {
    pub(super) bar: &'a WrittenBar,
    /// Its index in the bar.
    pub(super) index: usize,
    pub(super) symbol: &'a Symbol,
    pub(super) before: Option<&'a Symbol>,
    pub(super) after: Option<&'a Symbol>,
    /// Which of its note's symbols it is, from 1.
    nth: usize,
}

impl Place<'_> {
    /// An identifier that no other element has: the note's, and which of its symbols this is.
    pub(super) fn id(&self, staff: Staff) -> String {
        let nth = if self.nth > 1 { format!("-{}", self.nth) } else { String::new() };
        let tab = if staff.is_tab() { "-t" } else { "" };
        format!("n{}{nth}{tab}", self.symbol.note.0)
    }

    pub(super) fn grace_id(&self, staff: Staff) -> String {
        format!("{}-g", self.id(staff))
    }
}

/// All symbols with their neighbors, bar by bar.
pub(super) fn places(written: &Written) -> Vec<Vec<Place<'_>>> {
    let symbols: Vec<&Symbol> = written.bars.iter().flat_map(|bar| &bar.symbols).collect();
    let (mut at, mut nth) = (0_usize, 0);
    let mut places = Vec::with_capacity(written.bars.len());
    for bar in &written.bars {
        let mut here = Vec::with_capacity(bar.symbols.len());
        for (index, symbol) in bar.symbols.iter().enumerate() {
            let before = at.checked_sub(1).map(|before| symbols[before]);
            nth = if before.is_some_and(|before| before.note == symbol.note) { nth + 1 } else { 1 };
            here.push(Place { bar, index, symbol, before, after: symbols.get(at + 1).copied(), nth });
            at += 1;
        }
        places.push(here);
    }
    places
}
