//! Pages and lines -> HTML: a worksheet to read and print, and an example for someone's web page.
//!
//! Nothing in the output is executed or fetched. Whatever a line or a title says is text, never markup.

use crate::scene::Scene;
use crate::worksheet::Pages;

use super::escape::{escaped, put};
use super::svg;

/// A worksheet as a self-contained document: each page is a picture with a text alternative, printed on its
/// own sheet.
///
/// ```
/// use halfbar_core::worksheet::{self, Worksheet};
/// use halfbar_core::write::html;
///
/// let asked = Worksheet { title: "Less <b> than".into(), ..Worksheet::default() };
/// let page = html::worksheet(&worksheet::pages(&[], &asked)?);
/// assert!(page.starts_with("<!DOCTYPE html>") && page.contains("<title>Less &lt;b&gt; than</title>"));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn worksheet(pages: &Pages) -> String {
    let (width, height) = pages.format.millimeters();
    let title = if pages.title.is_empty() { "Worksheet" } else { &pages.title };
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    put(&mut out, format_args!("<title>{}</title>\n", escaped(title)));
    if !pages.author.is_empty() {
        put(&mut out, format_args!("<meta name=\"author\" content=\"{}\">\n", escaped(&pages.author)));
    }
    out += "<meta name=\"generator\" content=\"Halfbar\">\n\
        <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<style>\n";
    put(&mut out, format_args!("@page {{ size: {width}mm {height}mm; margin: 0; }}\n"));
    out += "body { margin: 0; background: #ddd; }\n\
        .page { display: block; width: 100%; max-width: 60rem; height: auto; margin: 0 auto 1rem; }\n\
        @media print {\n\
        body { background: none; }\n";
    // Slightly shorter than the sheet: rounded up, it would need a second one.
    put(
        &mut out,
        format_args!(
            ".page {{ width: {width}mm; max-width: none; height: {}mm; margin: 0; }}\n",
            height - 0.1
        ),
    );
    out += ".page + .page { break-before: page; }\n}\n</style>\n</head>\n<body>\n";
    out += "<main>\n";
    for index in 0..pages.pages.len() {
        out += &svg::page_within(pages, index).unwrap_or_default();
        out.push('\n');
    }
    out += "</main>\n</body>\n</html>\n";
    out
}

/// A line for someone's web page. It shows the music before any script has run, and without one, and its text
/// can be read and copied.
///
/// It is one line, so that a Markdown tool leaves it alone wherever it is, even in a list or a quote: CommonMark 0.31.2, section 4.6, ends a
/// block of HTML at a blank line, and Python-Markdown takes only elements that it knows for blocks, such as `div`. In the text, every
/// punctuation character is written as a numeric entity, since typographers and extensions change some of them: `(C)`
/// becomes a copyright sign, and `C4_ D E_` may become emphasized.
///
/// ```
/// use halfbar_core::engrave::Layout;
/// use halfbar_core::{Piece, read, write};
///
/// let text = "title: Do <i>\n\nC4 D E F G A B C |";
/// let piece = Piece::new(read::text(text).line.expect("a bar"), Default::default())?;
/// let markup = write::html::half_bar(text, &piece.engrave(&Layout::default()));
/// assert!(markup.starts_with("<div class=\"half-bar\"><half-bar><pre>title&#58; Do &#60;i&#62;&#10;&#10;C4 D"));
/// assert!(markup.contains("</pre><figure><svg") && markup.lines().count() == 1);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn half_bar(text: &str, scene: &Scene) -> String {
    let (text, figure) = (as_entities(text), svg::inline(scene));
    format!("<div class=\"half-bar\"><half-bar><pre>{text}</pre><figure>{figure}</figure></half-bar></div>\n")
}

/// Text as the content of an element, of which no Markdown tool changes anything. Characters that HTML can't contain are removed.
fn as_entities(text: &str) -> String {
    // HTML drops a line feed right after `<pre>` (HTML, section 13.2.6.4.7), even one that is written as an entity.
    let mut out = String::from(if text.starts_with('\n') { "&#10;" } else { "" });
    for letter in text.chars() {
        match letter {
            '\n' | '\t' => put(&mut out, format_args!("&#{};", u32::from(letter))),
            letter if letter.is_control() => {}
            letter if letter.is_ascii_punctuation() => {
                put(&mut out, format_args!("&#{};", u32::from(letter)))
            }
            letter => out.push(letter),
        }
    }
    out
}
