//! Pieces -> [`Pages`]: a printed worksheet with numbered examples, room to write, and an answer key.
//!
//! Lengths are in staff spaces of [`SPACE`] millimeters, the size of printed pages of music: x from a page's
//! left edge, y down from its top.

mod asked;
mod blocks;
mod fill;
mod page;
mod staves;
mod words;

use crate::Piece;
use crate::error::Result;

pub use asked::{SheetNames, Worksheet};
use fill::Fill;
pub use page::{Format, Page, PagePart, Pages, PartKind, SPACE};

/// Lays out a worksheet of these examples, numbered in order.
///
/// No system is split, a heading stays with the first system under it, and an example stays on one page if a
/// page can hold it. Two short ones go side by side. With [`Worksheet::recast_yourself`], an example with
/// recast windows is given in its original rhythm, with the windows marked and a blank staff under each system that has
/// any. The figures are drawn above it; if there are several, a letter under each window says which. Other examples are
/// given as they are, or with blank brackets if their notes are to be named: see [`SheetNames`].
///
/// ```
/// use halfbar_core::worksheet::{self, PartKind, Worksheet};
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("title: Tuesday\nrecast: split-last at 1.1\n@Dm7 D4 F A C  B G E D |");
/// let piece = Piece::new(reading.line.expect("a bar"), reading.casting)?;
/// let asked = Worksheet { recast_yourself: true, answers: true, ..Worksheet::default() };
/// let laid_out = worksheet::pages(&[piece], &asked)?;
/// let kinds: Vec<_> = laid_out.pages.iter().map(|page| page.parts.iter().map(|part| part.kind).collect::<Vec<_>>()).collect();
/// assert_eq!(kinds[0], [PartKind::Title, PartKind::Head, PartKind::Task, PartKind::Music, PartKind::Staves, PartKind::Foot]);
/// assert_eq!(kinds[1], [PartKind::Title, PartKind::Head, PartKind::Answer, PartKind::Foot]);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// Whatever a stage can't do with a plain line. Without anything to recast, there are none.
pub fn pages(examples: &[Piece], asked: &Worksheet) -> Result<Pages> {
    let title = blocks::printable(&asked.title);
    let author = blocks::printable(&asked.workshop);
    let mut fill = Fill::new(asked.format);
    fill.head(blocks::title(&title, &author));
    let (mut given, mut answers) = (Vec::new(), Vec::new());
    for (piece, number) in examples.iter().zip(1..) {
        let tasked = asked.recast_yourself && !piece.casting().windows().is_empty();
        let mut example = match tasked {
            true => blocks::task(piece, number, asked)?,
            false => blocks::example(piece, number, PartKind::Music, asked),
        };
        if asked.notes {
            example.add_notes(number);
        }
        given.push(example);
        if (tasked || blocks::is_blank(piece, asked)) && asked.answers {
            answers.push(blocks::example(piece, number, PartKind::Answer, asked));
        }
    }
    blocks::paired(given).into_iter().for_each(|example| fill.example(example));
    if !answers.is_empty() {
        fill.turn();
        fill.head(blocks::answers());
        blocks::paired(answers).into_iter().for_each(|answer| fill.example(answer));
    }
    let mut pages = fill.pages();
    let count = pages.len();
    for (page, number) in pages.iter_mut().zip(1..) {
        page.parts.push(blocks::foot(&title, number, count, asked.format));
    }
    Ok(Pages { format: asked.format, title, author, pages })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paper_follows_the_region() {
        for (language, format) in [
            ("en-US", Format::Letter),
            ("EN-ca", Format::Letter),
            ("es-CO", Format::Letter),
            ("es-Latn-CL", Format::Letter),
            ("fil-PH", Format::Letter),
            ("en-GB", Format::A4),
            ("es-ES", Format::A4),
            ("es-419", Format::A4),
            ("en", Format::A4),
            ("us", Format::A4),
            // Spoken in Germany, with an American keyboard.
            ("de-u-kb-us", Format::A4),
            ("", Format::A4),
        ] {
            assert_eq!(Format::usual_for(language), format, "{language}");
        }
    }
}
