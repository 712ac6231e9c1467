//! Groups of signs as markup, and numbers in it.

use svg::Node;
use svg::node::Blob;

use crate::scene::{Group, Item, Placed, Point, Sp};

use super::path::{Pen, UNITS};
use crate::write::escape::{escaped, put};

/// Draws groups at the end of an element.
pub(super) fn draw(parent: &mut impl Node, pen: &mut Pen, groups: &[Group]) {
    // The crate prints each node on a line of its own, even an empty one.
    if !groups.is_empty() {
        parent.append(Blob::new(signs(pen, groups)));
    }
}

/// Groups as markup.
pub(super) fn signs(pen: &mut Pen, groups: &[Group]) -> String {
    let mut out = String::new();
    for group in groups {
        if !out.is_empty() {
            out.push('\n');
        }
        put_group(&mut out, pen, group);
    }
    out
}

/// A group as markup.
fn put_group(out: &mut String, pen: &mut Pen, group: &Group) {
    for part in ["<g class=\"", group.role.name(), "\""] {
        *out += part;
    }
    if let Some(bar) = group.bar {
        put(out, format_args!(" data-bar=\"{}\"", bar + 1));
    }
    if let Some(note) = group.note {
        put(out, format_args!(" data-note=\"{}\"", note.0));
    }
    if let Some(name) = group.name {
        put(out, format_args!(" data-name=\"{name}\""));
    }
    *out += ">\n";
    items(out, pen, group);
    if let Some([left, top, right, bottom]) = group.bounds().filter(|_| !group.words.is_empty()) {
        // Invisible, but it can be searched, selected and copied. It is as wide as the outlines.
        let (size, length) = (units(bottom - top), units(right - left));
        put(
            out,
            format_args!(
                "<text fill-opacity=\"0\" font-size=\"{size}\" lengthAdjust=\"spacingAndGlyphs\" textLength=\"{length}\" x=\"{}\" y=\"{}\">{}</text>",
                units(left),
                units(bottom),
                escaped(&group.words)
            ),
        );
    }
    *out += "\n</g>";
}

/// The signs of a group as one path.
pub(super) fn items(out: &mut String, pen: &mut Pen, group: &Group) {
    const OPEN: &str = "<path d=\"";
    *out += OPEN;
    let empty = out.len();
    group.items.iter().for_each(|placed| pen.draw(out, placed));
    match out.len() > empty {
        true => *out += "\"/>",
        false => out.truncate(empty - OPEN.len()),
    }
    for Placed { at, item } in &group.items {
        // For letters without an outline, the reader's own font is used.
        if let Item::Text { face, size, text } = item
            && !face.has(text)
        {
            let (x, y, size, words) = (units(at.x), units(at.y), units(*size), escaped(text));
            put(
                out,
                format_args!(
                    "<text font-family=\"serif\" font-size=\"{size}\" x=\"{x}\" y=\"{y}\">{words}</text>"
                ),
            );
        }
    }
}

pub(super) fn view_box(x: Sp, y: Sp, width: Sp, height: Sp) -> String {
    let [x, y, width, height] = [x, y, width, height].map(units);
    format!("{x} {y} {width} {height}")
}

/// A length in units.
pub(super) fn units(length: Sp) -> i64 {
    // `as` saturates.
    #[allow(clippy::cast_possible_truncation)]
    let units = (length * UNITS).round() as i64;
    units
}

/// The transform that moves and scales a part.
pub(super) fn transform(to: Point, scale: f64) -> String {
    format!("translate({} {}) scale({})", units(to.x), units(to.y), decimal(scale))
}

/// A positive number with at most four digits after the point. Formatting floats would take 15 KB of code.
pub(super) fn decimal(value: f64) -> String {
    // `as` saturates.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let parts = (value * 1e4).round() as u64;
    let text = format!("{}.{:04}", parts / 10_000, parts % 10_000);
    text.trim_end_matches('0').trim_end_matches('.').into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short() {
        for (value, text) in [
            (0.0, "0"),
            (0.00004, "0"),
            (1.5, "1.5"),
            (12.34567, "12.3457"),
            (0.05, "0.05"),
            (100.0, "100"),
            (9_000_000.5, "9000000.5"),
        ] {
            assert_eq!(decimal(value), text);
        }
    }
}
