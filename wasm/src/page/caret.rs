//! Places in the text box: JavaScript counts in UTF-16 units from the start, the reader in lines and columns.

use halfbar_core::read::{self, Reading, Spot};
use web_sys::HtmlTextAreaElement;

use super::overlay;
use halfbar_dom::Result;

/// Selects a place, with the focus where that is wanted, and brings its row to the middle of the box.
pub(super) fn select(text: &HtmlTextAreaElement, spot: Spot, focus: bool) -> Result<()> {
    let source = text.value();
    let before: usize = source.split_inclusive('\n').take(spot.line - 1).map(utf16).sum();
    let row = source.lines().nth(spot.line - 1).unwrap_or("");
    let within: usize = row.chars().take(spot.column - 1).map(char::len_utf16).sum();
    let meant: usize = row.chars().skip(spot.column - 1).take(spot.length).map(char::len_utf16).sum();
    let offset = u32::try_from(before + within).unwrap_or(0);
    if focus {
        text.focus()?;
    }
    text.set_selection_range(offset, offset + u32::try_from(meant).unwrap_or(1))?;
    // Browsers scroll to a selection only when it is typed.
    let (overlay, mark) = overlay::over(text, spot)?;
    text.set_scroll_top(mark.offset_top() - text.client_height() / 2);
    overlay.remove();
    Ok(())
}

/// The bar that the cursor is in, counted from 0.
pub(super) fn bar(text: &HtmlTextAreaElement) -> Result<Option<usize>> {
    Ok(bar_of(&read::text(&text.value()), place(text)?))
}

/// The bar that a place of the text is in, as far as that could be read: that of the note before it, or of the first one. None among the
/// headers.
pub(super) fn bar_of(reading: &Reading, place: (usize, usize)) -> Option<usize> {
    let (line, spots) = (reading.line.as_ref()?, &reading.spots);
    let after = spots.iter().position(|spot| (spot.line, spot.column) > place).unwrap_or(spots.len());
    if after == 0 && spots.first().is_some_and(|first| first.line > place.0) {
        return None;
    }
    let event = line.events().get(after.saturating_sub(1))?;
    Some(line.bars().split(event.onset).ok()?.0)
}

/// The line and the column of the cursor, both from 1.
pub(super) fn place(text: &HtmlTextAreaElement) -> Result<(usize, usize)> {
    Ok(place_of(&text.value(), offset(text)?))
}

/// The line and the column of a byte of a text, both from 1.
pub(super) fn place_of(source: &str, offset: usize) -> (usize, usize) {
    let before = &source[..offset];
    let row = before.rsplit('\n').next().unwrap_or("");
    (before.matches('\n').count() + 1, row.chars().count() + 1)
}

/// Where the cursor is, in bytes of the text.
pub(super) fn offset(text: &HtmlTextAreaElement) -> Result<usize> {
    let source = text.value();
    let wanted = text.selection_start()?.unwrap_or(0) as usize;
    let mut units = 0;
    for (offset, letter) in source.char_indices() {
        if units >= wanted {
            return Ok(offset);
        }
        units += letter.len_utf16();
    }
    Ok(source.len())
}

/// Where a note can be written, in bytes of the text: at the cursor, or after the word that it is in. A cursor in a header or a comment is
/// `None`.
pub(super) fn between_words(text: &HtmlTextAreaElement, spots: &[Spot]) -> Result<Option<usize>> {
    let (source, at) = (text.value(), offset(text)?);
    let (before, after) = source.split_at(at);
    let (row, _) = place_of(&source, at);
    let is_blank = source.lines().nth(row - 1).is_none_or(|row| row.trim().is_empty());
    let is_music = spots.iter().any(|spot| spot.line == row || is_blank && spot.line < row);
    let end_of_word = match before.ends_with(char::is_whitespace) {
        true => 0,
        false => after.find(char::is_whitespace).unwrap_or(after.len()),
    };
    Ok(is_music.then_some(at + end_of_word))
}

/// Puts the cursor at a byte of the text.
pub(super) fn go_to(text: &HtmlTextAreaElement, offset: usize) -> Result<()> {
    let units = text.value().get(..offset).map_or(0, utf16);
    let units = u32::try_from(units).unwrap_or(u32::MAX);
    text.set_selection_range(units, units)
}

/// A length as JavaScript counts.
fn utf16(text: &str) -> usize {
    text.chars().map(char::len_utf16).sum()
}
