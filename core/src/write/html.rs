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
/// ```
/// use halfbar_core::engrave::Layout;
/// use halfbar_core::{Piece, read, write};
///
/// let text = "title: Do <i>\nC4 D E F G A B C |";
/// let piece = Piece::new(read::text(text).line.expect("a bar"), Default::default())?;
/// let markup = write::html::half_bar(text, &piece.engrave(&Layout::default()));
/// assert!(markup.starts_with("<half-bar><pre>title: Do &lt;i&gt;\n"));
/// assert!(markup.contains("</pre><figure><svg"));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn half_bar(text: &str, scene: &Scene) -> String {
    let figure = svg::document(scene);
    // A line feed right after the tag would be taken as part of it.
    let feed = if text.starts_with('\n') { "\n" } else { "" };
    format!("<half-bar><pre>{feed}{}</pre><figure>{figure}</figure></half-bar>\n", escaped(text))
}
