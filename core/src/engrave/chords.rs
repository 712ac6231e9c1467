//! Chord symbols: which bar they stand in, and how they are set.

use crate::chord::ChordSymbol;
use crate::line::Line;
use crate::notate::Written;
use crate::pitch::PitchName;
use crate::scene::{Item, Placed, Point, Sp};
use crate::time::Duration;

use super::glyphs::{Face, Glyph};
use super::measure::{accidental_glyph, symbol_at};

/// Root and bass, to the em.
const ROOT: Sp = 2.6;
/// The quality is a little smaller.
const QUALITY: Sp = 2.2;
const FACE: Face = Face::Semibold;

/// A chord symbol in its bar.
pub(super) struct ChordInBar {
    /// From the start of the bar, as symbols count it.
    pub(super) offset: Duration,
    /// The symbol that sounds then, by index.
    pub(super) symbol: usize,
    /// What is drawn, from its left end on the base line.
    pub(super) items: Vec<Placed>,
    pub(super) width: Sp,
}

/// The chords of each bar.
pub(super) fn in_bars(line: &Line, written: &Written) -> Vec<Vec<ChordInBar>> {
    let mut chords = line.chords().iter().peekable();
    let bar_chords = written.bars.iter().map(|bar| {
        let mut here = Vec::new();
        while let Some(chord) = chords.next_if(|chord| chord.onset < bar.span.end()) {
            let Ok(offset) = bar.offset(chord.onset) else { continue };
            let (items, width) = set(&chord.symbol);
            here.push(ChordInBar { offset, symbol: symbol_at(bar, offset), items, width });
        }
        here
    });
    bar_chords.collect()
}

/// Sets a chord symbol: the items and their width.
fn set(symbol: &ChordSymbol) -> (Vec<Placed>, Sp) {
    let mut setter = Setter { items: Vec::new(), x: 0.0 };
    match symbol {
        ChordSymbol::NoChord => setter.text("N.C.", ROOT),
        ChordSymbol::Chord { root, quality, bass } => {
            setter.name(*root);
            setter.quality(quality);
            if let Some(bass) = bass {
                setter.text("/", ROOT);
                setter.name(*bass);
            }
        }
    }
    (setter.items, setter.x)
}

struct Setter {
    items: Vec<Placed>,
    x: Sp,
}

impl Setter {
    fn text(&mut self, text: &str, size: Sp) {
        if text.is_empty() {
            return;
        }
        let item = Item::Text { face: FACE, size, text: text.into() };
        self.items.push(Placed { at: Point::new(self.x, 0.0), item });
        self.x += FACE.width(text) * size;
    }

    /// A real sharp or flat sign, for letters `size` to the em.
    fn sign(&mut self, glyph: Glyph, size: Sp) {
        let scale = size / 3.2;
        let [left, _, right, _] = glyph.bounds().map(|edge| edge * scale);
        let raised = -0.33 * size;
        self.items
            .push(Placed { at: Point::new(self.x - left + 0.08, raised), item: Item::Glyph(glyph, scale) });
        self.x += right - left + 0.16;
    }

    fn name(&mut self, name: PitchName) {
        self.text(&name.step.letter().to_string(), ROOT);
        if name.alter.half_steps() != 0 {
            self.sign(accidental_glyph(name.alter.half_steps()), ROOT);
        }
    }

    /// The quality as written, but `b` and `#` before a figure are set as signs.
    fn quality(&mut self, quality: &str) {
        let letters: Vec<char> = quality.chars().collect();
        let mut run = String::new();
        for (index, &letter) in letters.iter().enumerate() {
            let figure_next = letters.get(index + 1).is_some_and(char::is_ascii_digit);
            match letter {
                'b' | '#' if figure_next => {
                    self.text(&std::mem::take(&mut run), QUALITY);
                    self.sign(if letter == 'b' { Glyph::Flat } else { Glyph::Sharp }, QUALITY);
                }
                _ => run.push(letter),
            }
        }
        self.text(&run, QUALITY);
    }
}
