//! The page with its first line drawn, and the rhythms that it offers: they are there before any module, and without script.

use anyhow::{Context, Result, ensure};
use halfbar_core::recast::{Figure, Spelling};
use halfbar_core::{Piece, read};
use halfbar_markup::{Room, capital, escaped, figures, first_look, label, music, spellings};
use std::path::Path;

use crate::single_file::replace_once;

const PAGE: &str = "index.html";
// What is looked for, to the letter.
const LINE_NAME: &str = r#" title="Your lines">Your lines</button>"#;
const SHEET: &str = r#"<div id="sheet" class="music" role="group"></div>"#;
const FIGURES: &str = r#"<div id="figures" class="choices figures"></div>"#;
const FIGURE_NAME: &str = r#"<span id="figure-name"></span>"#;
const SPELLINGS: &str = r#"<div id="spellings" class="choices"></div>"#;
const TEXT: (&str, &str) = ("<textarea id=\"text\"", "</textarea>");
/// For whom the music is laid out, as `style.css` knows them, and how wide the column is there, in CSS pixels: on windows of 1,280 pixels and
/// more, and on phones of 390. On others it is scaled until the module lays it out anew.
const ROOMS: [(&str, f64); 2] = [("wide", 896.0), ("narrow", 374.0)];

/// The page of the folder `www`, drawn.
pub(crate) fn page(www: &Path) -> Result<String> {
    drawn(&fs_err::read_to_string(www.join(PAGE))?)
}

fn drawn(page: &str) -> Result<String> {
    let piece = piece(text(page)?)?;
    let look = first_look(&piece)?;
    let (mut said, mut sheet) = (String::new(), String::new());
    for (name, width) in ROOMS {
        let (_, scene) = Room::of(width).lay_out(&piece, &look, None);
        said = escaped(&label(&piece, &scene));
        sheet += &format!(
            "<div class=\"{name}\" data-room=\"{width}\">{}</div>",
            music(&piece, look.annotations, &scene)?
        );
    }
    let inside = |tag: &str, inside: &str| tag.replacen("></", &format!(">{inside}</"), 1);
    let sheet = inside(SHEET, &sheet).replacen('>', &format!(" aria-label=\"{said}\">"), 1);
    let title = escaped(&piece.line().heading().title);
    let parts = [
        (LINE_NAME, LINE_NAME.replace(">Your lines<", &format!(">{title}<"))),
        (SHEET, sheet),
        (FIGURES, inside(FIGURES, &figures(Spelling::ALL[0])?)),
        (FIGURE_NAME, inside(FIGURE_NAME, &capital(Figure::all()[0].label()))),
        (SPELLINGS, inside(SPELLINGS, &spellings())),
    ];
    parts.iter().try_fold(page.to_owned(), |page, (old, new)| replace_once(PAGE, &page, old, new))
}

/// The line that the page comes with.
fn text(page: &str) -> Result<&str> {
    let (_, rest) = page.split_once(TEXT.0).context("index.html lacks the text of its line")?;
    let (_, rest) = rest.split_once(">\n").context("the text of index.html starts on a row of its own")?;
    let (text, _) = rest.split_once(TEXT.1).context("the text of index.html has no end")?;
    ensure!(!text.contains(['&', '<']), "the text of index.html has signs of markup");
    Ok(text)
}

fn piece(text: &str) -> Result<Piece> {
    let reading = read::text(text);
    if let Some(wrong) = reading.diagnostics.first() {
        anyhow::bail!("the line of index.html: {}", wrong.render(text));
    }
    let line = reading.line.context("index.html has no line")?;
    Ok(Piece::new(line, reading.casting)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn index(text: &str) -> String {
        format!(
            "{LINE_NAME}{SHEET}{FIGURES}{FIGURE_NAME}{SPELLINGS}<textarea id=\"text\" rows=\"3\">\n{text}</textarea>"
        )
    }

    #[test]
    fn the_line_is_drawn_for_each_room() -> Result<()> {
        let page = drawn(&index("title: A \"short\" one\nC4 D E F  G A B C |\n"))?;
        for (name, width) in ROOMS {
            assert!(
                page.contains(&format!("<div class=\"{name}\" data-room=\"{width}\"><div><svg")),
                "{page}"
            );
        }
        assert_eq!(page.matches("class=\"row\"").count(), 2, "{page}");
        assert_eq!(page.matches("<li>Bar 1: C 4").count(), 2, "{page}");
        assert!(page.contains("value=\"split-last\" checked") && page.contains("value=\"tied\""), "{page}");
        Ok(())
    }

    #[test]
    fn what_is_missing_or_wrong_is_named() {
        let message = |page: &str| drawn(page).map_or_else(|error| format!("{error:#}"), |_| String::new());
        let page = index("C4 D E F  G A B C |\n");
        for part in [LINE_NAME, SHEET, FIGURES, FIGURE_NAME, SPELLINGS] {
            assert!(message(&page.replace(part, "")).contains(part), "{part}");
        }
        assert!(message(&page.replace("textarea", "text")).contains("lacks the text"));
        assert!(message(&index("C4 H |\n")).contains("H"), "{}", message(&index("C4 H |\n")));
    }
}
