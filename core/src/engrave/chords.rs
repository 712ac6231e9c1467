//! Chord symbols: which bar they belong to, and how they are set.

use crate::chord::{ChordSymbol, Sign, signs};
use crate::line::Line;
use crate::notate::Written;
use crate::pitch::PitchName;
use crate::scene::{Item, Placed, Point, Sp};
use crate::time::Duration;

use crate::font::{Face, Glyph};

/// The size of the root, the bass, and the sign for minor, diminished or augmented, in staff spaces per em.
const ROOT: Sp = 2.6;
/// The size of extensions, and how far they are raised; stacks of two or three alterations are smaller still.
const RAISED: (Sp, Sp) = (1.95, 0.62);
const STACKED: Sp = 1.5;
/// The distance from one stacked alteration to the next.
const STACK_STEP: Sp = 1.5;

/// A chord symbol in its bar.
pub(super) struct ChordInBar {
    /// From the start of the bar, as symbols count it.
    pub(super) offset: Duration,
    /// The index of the symbol that sounds then.
    pub(super) symbol: usize,
    /// The text of the chord symbol.
    pub(super) words: String,
    /// What is drawn, from its left end on the baseline.
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
            let words = chord.symbol.to_string();
            here.push(ChordInBar { offset, symbol: bar.symbol_at(offset), words, items, width });
        }
        here
    });
    bar_chords.collect()
}

/// Sets a chord symbol.
fn set(symbol: &ChordSymbol) -> (Vec<Placed>, Sp) {
    let mut setter = Setter::default();
    match symbol {
        ChordSymbol::NoChord => setter.text("N.C.", ROOT, 0.0),
        ChordSymbol::Chord(chord) => {
            setter.name(chord.root());
            setter.suffix(&Suffix::of(chord.suffix()));
            if let Some(bass) = chord.bass() {
                setter.text("/", ROOT, 0.0);
                setter.name(bass);
            }
        }
    }
    (setter.items, setter.x)
}

/// Sets text and signs side by side, starting at a left end on a baseline.
pub(crate) struct Setter {
    pub(crate) items: Vec<Placed>,
    /// Where the next item goes, which is the width so far.
    pub(crate) x: Sp,
    face: Face,
}

impl Default for Setter {
    fn default() -> Setter {
        Setter::in_face(Face::Semibold)
    }
}

impl Setter {
    pub(crate) fn in_face(face: Face) -> Setter {
        Setter { items: Vec::new(), x: 0.0, face }
    }

    fn put(&mut self, raised: Sp, item: Item) {
        self.items.push(Placed { at: Point::new(self.x, -raised), item });
    }

    /// Adds text at this many staff spaces per em, with its baseline raised by this much.
    pub(crate) fn text(&mut self, text: &str, size: Sp, raised: Sp) {
        if !text.is_empty() {
            let face = self.face;
            self.put(raised, Item::Text { face, size, text: text.into() });
            self.x += face.width(text) * size;
        }
    }

    /// Adds a real sharp or flat sign, for text at this many staff spaces per em.
    pub(crate) fn sign(&mut self, glyph: Glyph, size: Sp, raised: Sp) {
        let scale = size / 3.2;
        let [left, _, right, _] = glyph.bounds().map(|edge| edge * scale);
        self.x += 0.08 - left;
        self.put(raised + 0.33 * size, Item::Glyph(glyph, scale));
        self.x += right + 0.08;
    }

    /// Adds text in which sharps and flats are set as signs.
    pub(crate) fn printed(&mut self, text: &str, size: Sp) {
        for part in text.split_inclusive(['\u{266D}', '\u{266F}']) {
            let mut letters = part.chars();
            let (before, sign) = match letters.next_back() {
                Some('\u{266D}') => (letters.as_str(), Some(Glyph::Flat)),
                Some('\u{266F}') => (letters.as_str(), Some(Glyph::Sharp)),
                _ => (part, None),
            };
            self.text(before, size, 0.0);
            if let Some(sign) = sign {
                self.sign(sign, size, 0.0);
            }
        }
    }

    fn name(&mut self, name: PitchName) {
        self.text(&name.letter.as_char().to_string(), ROOT, 0.0);
        if name.alter.half_steps() != 0 {
            self.sign(Glyph::accidental(name.alter.half_steps()), ROOT, 0.0);
        }
    }

    fn suffix(&mut self, suffix: &Suffix<'_>) {
        self.text(suffix.triad, ROOT, 0.0);
        self.raised(suffix.extension, RAISED.0, RAISED.1);
        if let [one] = suffix.alterations.as_slice() {
            return self.raised(one, RAISED.0, RAISED.1);
        }
        let (left, mut right) = (self.x + 0.1, self.x);
        for (row, alteration) in suffix.alterations.iter().enumerate() {
            self.x = left;
            self.raised(alteration, STACKED, STACK_STEP * row as f64);
            right = right.max(self.x);
        }
        self.x = right;
    }

    /// Raised text in which `b` and `#` before a digit are set as signs.
    fn raised(&mut self, words: &str, size: Sp, raised: Sp) {
        let mut run = String::new();
        let mut letters = words.chars().peekable();
        while let Some(letter) = letters.next() {
            match letter {
                'b' | '#' if letters.peek().is_some_and(char::is_ascii_digit) => {
                    self.text(&std::mem::take(&mut run), size, raised);
                    self.sign(if letter == 'b' { Glyph::Flat } else { Glyph::Sharp }, size, raised);
                }
                // However the triangle and the minus are typed, they are the letters that the face has.
                '^' | '\u{25B3}' | '\u{2206}' => run.push('\u{394}'),
                '\u{2212}' => run.push('-'),
                _ => run.push(letter),
            }
        }
        self.text(&run, size, raised);
    }
}

/// What follows a root, set as musicians read it: the sign of the triad is on the baseline and the rest is raised,
/// with consecutive alterations in a stack, the highest degree on top (common practice, no source).
#[derive(PartialEq, Eq, Debug)]
struct Suffix<'a> {
    triad: &'a str,
    extension: &'a str,
    /// The lowest degree first.
    alterations: Vec<&'a str>,
}

impl<'a> Suffix<'a> {
    fn of(text: &'a str) -> Suffix<'a> {
        let makes_triad = |sign: &Sign| {
            matches!(sign, Sign::Minor | Sign::Diminished | Sign::HalfDiminished | Sign::Augmented)
        };
        let (triad, rest) = match signs(text).next().filter(|(sign, _)| makes_triad(sign)) {
            Some((_, triad)) => (triad, text.strip_prefix(triad).unwrap_or_default()),
            None => ("", text),
        };
        // Only those at the end that are written with signs: `-9` and anything in parentheses stay as they are.
        let (mut alterations, mut length) = (Vec::<(u8, &str)>::new(), 0);
        for (sign, text) in signs(rest) {
            match sign {
                Sign::Altered(_, number) if text.starts_with(['b', '#']) => {
                    let place = alterations.partition_point(|(before, _)| *before <= number);
                    alterations.insert(place, (number, text));
                    length += text.len();
                }
                _ => {
                    alterations.clear();
                    length = 0;
                }
            }
        }
        Suffix {
            // The letter that is typed for a diminished chord stands for a ring.
            triad: match triad {
                "o" | "\u{ba}" => "\u{b0}",
                "\u{2212}" => "-",
                _ => triad,
            },
            extension: rest.get(..rest.len() - length).unwrap_or(rest),
            alterations: alterations.into_iter().map(|(_, text)| text).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_has_an_outline() {
        for symbol in ["C△7", "C∆", "CΔ9", "C^7", "C-△7", "C°7", "Cº7", "Bø7", "BØ", "C−7", "F♯m7♭5/C♭"]
        {
            let (items, _) = set(&symbol.parse().unwrap());
            for placed in items {
                let Item::Text { face, text, .. } = placed.item else { continue };
                assert!(face.has(&text), "{symbol}: {text}");
            }
        }
    }

    #[test]
    fn qualities_fall_into_parts() {
        for (text, triad, extension, alterations) in [
            ("", "", "", vec![]),
            ("m7b5", "m", "7", vec!["b5"]),
            ("7#9b5", "", "7", vec!["b5", "#9"]),
            ("maj7#11", "", "maj7", vec!["#11"]),
            ("-7", "-", "7", vec![]),
            ("m(maj7)", "m", "(maj7)", vec![]),
            ("7(b9)", "", "7(b9)", vec![]),
            ("7-9", "", "7-9", vec![]),
            ("7alt", "", "7alt", vec![]),
            ("7b9b13sus", "", "7b9b13sus", vec![]),
            ("13b9#11", "", "13", vec!["b9", "#11"]),
            ("mi7", "mi", "7", vec![]),
            ("Min7", "Min", "7", vec![]),
            ("ma13", "", "ma13", vec![]),
            ("madd9", "m", "add9", vec![]),
            ("o7", "\u{b0}", "7", vec![]),
            ("\u{d8}7", "\u{d8}", "7", vec![]),
            ("omit5", "", "omit5", vec![]),
            ("lah7", "", "lah7", vec![]),
        ] {
            assert_eq!(Suffix::of(text), Suffix { triad, extension, alterations }, "{text}");
        }
    }
}
