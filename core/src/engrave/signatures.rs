//! Clefs, key signatures and time signatures.

use crate::pitch::Letter;
use crate::scene::{Group, Item, Role, Sp};

use super::measure::{
    BEFORE_TIME, CLEF_X, KeySign, Opening, SIGNATURE_STEP, SIGNATURE_X, TIME_SIZE, signature, time_width,
};
use super::part::{BarPlace, Part};
use crate::font::{Face, Glyph};

/// Clef and key signature.
pub(super) fn prefix(part: &Part<'_>) -> Vec<Group> {
    if !part.layout.view.has_staff() {
        return Vec::new();
    }
    let mut clef = Group::new(Role::Clef, None, None);
    // The clef curls around the line of written G4, the second from the bottom.
    clef.put(CLEF_X - Glyph::ClefG8Below.bounds()[0], 3.0, Item::Glyph(Glyph::ClefG8Below, 1.0));
    let key = part.bars.first().map(|bar| bar.key);
    let signature =
        key_signs(key.into_iter().flat_map(signature), SIGNATURE_X, Group::new(Role::Signature, None, None));
    if signature.items.is_empty() { vec![clef] } else { vec![clef, signature] }
}

/// Puts the signs of a key signature into a group, starting at `x`.
fn key_signs(signs: impl IntoIterator<Item = KeySign>, x: Sp, mut group: Group) -> Group {
    let mut x = x;
    for KeySign { letter, sharp, half_steps } in signs {
        let glyph = Glyph::accidental(half_steps);
        group.put(x - glyph.bounds()[0], signature_y(letter, sharp), Item::Glyph(glyph, 1.0));
        x += SIGNATURE_STEP;
    }
    group
}

/// New keys and time signatures: in their bars, and at the end of a system before a change.
pub(super) fn openings(part: &Part<'_>, places: &[BarPlace], right: Sp, middle: Sp) -> Vec<Group> {
    let inside = part.measures.iter().zip(places).map(|(measure, place)| (measure, place.left));
    let all = inside.chain(part.next.map(|next| (next, right)));
    let groups = all.zip(part.first_bar..).filter_map(|((measure, x), bar)| {
        let Opening { meter, key, .. } = &measure.opening;
        let mut group = Group::new(Role::Signature, Some(bar), None);
        let mut x = x + BEFORE_TIME;
        // A bar that starts a system has its key beside the clef.
        if bar > part.first_bar {
            group = key_signs(key.iter().copied(), x, group);
            x += measure.opening.key_room();
        }
        for (number, base_line) in
            meter.iter().flat_map(|meter| [(meter.count(), middle), (meter.unit(), middle + 2.0)])
        {
            let text = number.to_string();
            let centered = (meter.map_or(0.0, time_width) - Face::Black.width(&text) * TIME_SIZE) / 2.0;
            let item = Item::Text { face: Face::Black, size: TIME_SIZE, text };
            group.put(x + centered, base_line, item);
        }
        (!group.items.is_empty()).then_some(group)
    });
    groups.collect()
}

/// The height of a sign in the key signature of a treble clef: sharps start at F5 and flats at B4.
fn signature_y(letter: Letter, sharp: bool) -> Sp {
    match (letter, sharp) {
        (Letter::F, true) => 0.0,
        (Letter::G, true) => -0.5,
        (Letter::E, _) => 0.5,
        (Letter::D, _) => 1.0,
        (Letter::C, _) => 1.5,
        (Letter::B, _) => 2.0,
        (Letter::A, _) => 2.5,
        (Letter::G, false) => 3.0,
        (Letter::F, false) => 3.5,
    }
}
