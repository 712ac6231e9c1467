//! The notes of a voice -> notes one after another.

use super::events::Note;
use crate::exchange::choice::Keep;

/// How many notes sound together with another one.
pub(super) fn together(notes: &[Note]) -> usize {
    let mut is_together = vec![false; notes.len()];
    pairs(notes, |first, second| {
        for index in [first, second] {
            if let Some(is_together) = is_together.get_mut(index) {
                *is_together = true;
            }
        }
        true
    });
    is_together.into_iter().filter(|is_together| *is_together).count()
}

/// The notes to keep. The error is the tick where a second one starts, if none is to be left out.
pub(super) fn single(notes: &[Note], keep: Keep) -> Result<Vec<Note>, u64> {
    let mut is_kept = vec![true; notes.len()];
    let mut at = None;
    pairs(notes, |first, second| {
        let (Some(one), Some(other)) = (notes.get(first), notes.get(second)) else { return true };
        let lower = if one.key < other.key { first } else { second };
        let higher = if lower == first { second } else { first };
        let dropped = match keep {
            Keep::Single => {
                at = Some(other.start);
                return false;
            }
            Keep::Top => lower,
            Keep::Bottom => higher,
        };
        if let Some(is_kept) = is_kept.get_mut(dropped) {
            *is_kept = false;
        }
        true
    });
    match at {
        Some(tick) => Err(tick),
        None => {
            Ok(notes.iter().zip(is_kept).filter(|(_, is_kept)| *is_kept).map(|(note, _)| *note).collect())
        }
    }
}

/// Calls `see` with the indices of every two notes that sound together, until it returns false.
///
/// Notes played legato overlap a little, so two sound together if they do so for more than half of the shorter one. At most one note of
/// each key sounds at a time, so there are never more than 128 to compare.
fn pairs(notes: &[Note], mut see: impl FnMut(usize, usize) -> bool) {
    let mut sounding: Vec<(usize, Note)> = Vec::new();
    for (index, &note) in notes.iter().enumerate() {
        sounding.retain(|(_, other)| other.end > note.start || other.start == note.start);
        for (other_index, other) in &sounding {
            let overlap = other.end.min(note.end).saturating_sub(note.start);
            let shorter = (other.end - other.start).min(note.end - note.start);
            if (2 * overlap > shorter || other.start == note.start) && !see(*other_index, index) {
                return;
            }
        }
        sounding.push((index, note));
    }
}
