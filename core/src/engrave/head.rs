//! What goes above the music: title, tempo and feel.

use crate::dialect::Dialect;
use crate::line::{Feel, Heading};
use crate::scene::{Group, Item, Role, Sp};

use super::sizes::STEM_WIDTH;
use crate::font::{Face, Glyph};

const TITLE: Sp = 3.4;
const TEMPO: Sp = 2.1;
/// The distance from one baseline to the next.
const LEADING: Sp = 1.25;
/// The size of the note in the tempo mark, relative to the staff.
const SMALL_NOTE: f64 = 0.72;

/// The head in page coordinates, and its height.
pub(super) fn head(heading: &Heading, width: Sp, words: Dialect) -> (Vec<Group>, Sp) {
    let mut groups = Vec::new();
    let mut y = 0.0;
    if !heading.title.is_empty() {
        let mut title = Group { words: heading.title.clone(), ..Group::new(Role::Title, None, None) };
        for row in rows(&heading.title, width / TITLE) {
            y += TITLE * LEADING;
            title.put(0.0, y - 0.3 * TITLE, Item::Text { face: Face::Semibold, size: TITLE, text: row });
        }
        groups.push(title);
    }
    y += TEMPO * LEADING + 0.6;
    groups.push(tempo(heading, words, y));
    (groups, (y + 0.9).ceil())
}

fn tempo(heading: &Heading, words: Dialect, y: Sp) -> Group {
    let mut group = Group::new(Role::Tempo, None, None);
    let half = 0.5 * SMALL_NOTE;
    let [left, ..] = Glyph::HeadBlack.bounds();
    group.put(-left * SMALL_NOTE, y - half, Item::Glyph(Glyph::HeadBlack, SMALL_NOTE));
    let head_width = Glyph::HeadBlack.width() * SMALL_NOTE;
    let stem = 2.7 * SMALL_NOTE;
    group.put(head_width - STEM_WIDTH, y - half - stem, Item::Rect { width: STEM_WIDTH, height: stem - 0.1 });
    let text = format!("= {}   {}", heading.tempo, words.say(&feel(heading.feel)));
    group.put(head_width + 0.5, y, Item::Text { face: Face::Regular, size: TEMPO, text });
    group
}

fn feel(feel: Feel) -> String {
    match feel {
        Feel::Straight => "Straight eighths".into(),
        Feel::SwingAuto => "Swing".into(),
        Feel::Swing(ratio) => format!("Swing {ratio} : 1"),
    }
}

/// Splits a title into rows of at most `width` ems, between words where possible.
pub(crate) fn rows(title: &str, width: f64) -> Vec<String> {
    let mut rows = vec![String::new()];
    for word in title.split_whitespace().flat_map(|word| pieces(word, width)) {
        let row = rows.last_mut().filter(|row| !row.is_empty());
        match row {
            Some(row) if Face::Semibold.width(&format!("{row} {word}")) <= width => {
                row.push(' ');
                row.push_str(&word);
            }
            Some(_) => rows.push(word),
            None => rows = vec![word],
        }
    }
    rows
}

/// Splits a word into pieces if it is longer than `width` ems.
fn pieces(word: &str, width: f64) -> Vec<String> {
    let (mut pieces, mut used) = (vec![String::new()], 0.0);
    for letter in word.chars() {
        let advance = Face::Semibold.advance(letter);
        if used + advance > width && used > 0.0 {
            pieces.push(String::new());
            used = 0.0;
        }
        used += advance;
        if let Some(piece) = pieces.last_mut() {
            piece.push(letter);
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_titles_wrap() {
        assert_eq!(rows("A lift in the middle", 100.0), ["A lift in the middle"]);
        assert_eq!(rows("A lift in the middle", 5.5), ["A lift in the", "middle"]);
        assert_eq!(rows("  ", 5.0), [""]);
        assert_eq!(rows("a liiiiiiiiiiiiiiift", 2.0).concat(), "aliiiiiiiiiiiiiiift");
        assert!(rows("a liiiiiiiiiiiiiiift", 2.0).iter().all(|row| Face::Semibold.width(row) <= 2.0));
    }
}
