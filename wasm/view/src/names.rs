//! Names on their way from the module that finds them to the one that draws them: a row of text each.

use halfbar_core::harmony::NameSign;
use halfbar_core::line::NoteId;

/// A name as a row: its first and last note, whether it is a landing, its words in full, its words read aloud, and the forms that are drawn, with tabs
/// between them.
pub fn to_row(name: &NameSign) -> String {
    let NameSign { first, last, short, says, spoken, is_landing, .. } = name;
    format!("{}\t{}\t{}\t{says}\t{spoken}\t{}", first.0, last.0, u8::from(*is_landing), short.join("\t"))
}

/// The name in a row. Which of the names it was is no longer known.
pub fn from_row(row: &str) -> Option<NameSign> {
    let mut cells = row.split('\t');
    let [first, last, is_landing] =
        [cells.next()?, cells.next()?, cells.next()?].map(|cell| cell.parse().ok());
    Some(NameSign {
        first: NoteId(first?),
        last: NoteId(last?),
        is_landing: is_landing? == 1,
        says: cells.next()?.into(),
        spoken: cells.next()?.into(),
        short: cells.filter(|form| !form.is_empty()).map(String::from).collect(),
        index: None,
    })
}
