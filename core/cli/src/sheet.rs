//! The commands that write files: worksheets, and lines as pictures and markup.

use std::fs;
use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use clap::{ArgGroup, Args, ValueEnum};
use halfbar_core::engrave::{Layout, View, Width};
use halfbar_core::worksheet::{self, Format, SheetNames, Worksheet};
use halfbar_core::{Piece, write};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

use super::{Added, bytes, named, paper, piece_of, with_names, words};

#[derive(Args)]
#[command(group = ArgGroup::new("task").multiple(true))]
pub(super) struct Sheet {
    /// The text files in order; `-` reads standard input. A file may hold several texts, each starting at a
    /// row `# step`, as `ladder` writes them.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// The title at the top.
    #[arg(long, default_value = "Worksheet")]
    title: String,
    /// The teacher or studio: printed above the title, and set as the author of the file.
    #[arg(long, default_value = "")]
    workshop: String,
    /// The paper size: a4 or letter.
    #[arg(long, default_value = "a4")]
    paper: Format,
    /// What each system shows: both, staff, tab or rhythm.
    #[arg(long, default_value = "both")]
    view: View,
    /// Write fretting-hand fingering under each system.
    #[arg(long)]
    fingers: bool,
    /// Name what is in the lines, with brackets under the notes. By default, only the lines whose text asks for it.
    #[arg(long)]
    names: bool,
    /// Draw the brackets, with a line under each to write its name on.
    #[arg(long, group = "task", conflicts_with = "names")]
    blank_names: bool,
    /// Leave ruled lines for notes after each example.
    #[arg(long)]
    notes: bool,
    /// Give recast lines in their original rhythm, with blank staves to recast them on.
    #[arg(long, group = "task")]
    recast_yourself: bool,
    /// Add an answer key.
    #[arg(long, requires = "task")]
    answers: bool,
    /// Write HTML, for a browser to show and print.
    #[arg(long)]
    html: bool,
}

#[derive(Args)]
pub(super) struct Render {
    /// A text file, or a folder whose `.txt` files are all rendered.
    from: PathBuf,
    /// What to write: svg, png, html (a worksheet) or half-bar (markup for a page).
    #[arg(long)]
    to: To,
    /// The folder to write into; it is created if it doesn't exist.
    #[arg(long)]
    out: PathBuf,
    /// The width of a system, in staff spaces: usually 100, but 60 for `--to half-bar`, since people read web pages on phones too.
    #[arg(long)]
    width: Option<Width>,
    /// The width of a PNG, in pixels.
    #[arg(long, value_name = "PX", default_value_t = 1600, value_parser = clap::value_parser!(u32).range(16..=16_384))]
    scale: u32,
    /// What each system shows: both, staff, tab or rhythm.
    #[arg(long, default_value = "both")]
    view: View,
    #[command(flatten)]
    added: Added,
    /// Draw on white instead of a transparent background.
    #[arg(long)]
    white: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum To {
    Svg,
    Png,
    Html,
    HalfBar,
}

impl To {
    fn ending(self) -> &'static str {
        match self {
            To::Svg => "svg",
            To::Png => "png",
            To::Html => "html",
            To::HalfBar => "half-bar.html",
        }
    }
}

/// The most pixels in a picture: they take 400 MB of memory.
const MOST_PIXELS: f32 = 1e8;

/// The worksheet as a file.
pub(super) fn sheet(asked: Sheet) -> Result<Vec<u8>, String> {
    if !asked.html && io::stdout().is_terminal() {
        return Err("a PDF file can't be shown in a terminal: write it to a file with `> sheet.pdf`".into());
    }
    let mut pieces = Vec::new();
    for file in &asked.files {
        let source = bytes(file).map_err(|error| named(file, &error.to_string()))?;
        for text in texts(&source) {
            pieces.push(with_names(without_step(piece_of(file, &text)?)));
        }
    }
    let wanted = Worksheet {
        title: asked.title,
        workshop: asked.workshop,
        format: asked.paper,
        view: asked.view,
        fingers: asked.fingers,
        names: match (asked.names, asked.blank_names) {
            (_, true) => SheetNames::Blank,
            (true, _) => SheetNames::Printed,
            _ => SheetNames::AsWritten,
        },
        notes: asked.notes,
        recast_yourself: asked.recast_yourself,
        answers: asked.answers,
        words: words(),
    };
    let pages = worksheet::pages(&pieces, &wanted).map_err(|error| error.to_string())?;
    if asked.html {
        return Ok(write::html::worksheet(&pages).into_bytes());
    }
    let missing = pages.missing_letters();
    if !missing.is_empty() {
        eprintln!(
            "the PDF has a box in place of each letter that it can't draw: {missing}; use --html to show them"
        );
    }
    Ok(write::pdf::document(&pages))
}

/// The texts of a file, each preceded by as many empty rows as come before it, so that mistakes are reported
/// with the right line.
fn texts(source: &[u8]) -> Vec<Vec<u8>> {
    let mut texts: Vec<Vec<u8>> = vec![Vec::new()];
    for (row, before) in source.split_inclusive(|byte| *byte == b'\n').zip(0..) {
        if row.starts_with(b"# step") {
            texts.push(vec![b'\n'; before]);
        }
        if let Some(text) = texts.last_mut() {
            text.extend(row);
        }
    }
    if texts.len() > 1 && texts[0].trim_ascii().is_empty() {
        texts.remove(0);
    }
    texts
}

/// The width of a picture in a lesson page, in staff spaces: legible on a phone, where it shrinks, and not much larger than the text elsewhere.
const FOR_PHONES: f64 = 60.0;

/// A worksheet numbers the steps of a ladder itself, so `3 of 12: Split the last note in two` loses its own
/// number.
fn without_step(piece: Piece) -> Piece {
    let number = |text: &str| text.parse::<usize>().is_ok();
    let is_step = |step: &str| step.split_once(" of ").is_some_and(|(one, all)| number(one) && number(all));
    match piece.line().heading().title.split_once(": ") {
        Some((step, says)) if is_step(step) => piece.titled(says),
        _ => piece,
    }
}

/// Writes a file for each text. A mistake in one doesn't keep the others from being written.
pub(super) fn render(asked: &Render) -> Result<(), String> {
    if asked.to == To::Html && (asked.added.chord_tones || asked.added.degrees.is_some()) {
        return Err(
            "a worksheet has no --chord-tones or --degrees: use them with --to svg, png or half-bar".into()
        );
    }
    let mut files = vec![asked.from.clone()];
    if asked.from.is_dir() {
        let said = |error: io::Error| named(&asked.from, &error.to_string());
        let inside = fs::read_dir(&asked.from).map_err(said)?.map(|entry| entry.map(|entry| entry.path()));
        files = inside.collect::<io::Result<Vec<_>>>().map_err(said)?;
        files.retain(|file| file.extension().is_some_and(|ending| ending == "txt") && file.is_file());
        files.sort();
        if files.is_empty() {
            return Err(named(&asked.from, "there are no .txt files here"));
        }
    }
    fs::create_dir_all(&asked.out).map_err(|error| named(&asked.out, &error.to_string()))?;
    let wrong: Vec<String> = files.iter().filter_map(|file| one(file, asked).err()).collect();
    if wrong.is_empty() { Ok(()) } else { Err(wrong.join("\n")) }
}

fn one(file: &Path, asked: &Render) -> Result<(), String> {
    let source = bytes(file).map_err(|error| named(file, &error.to_string()))?;
    let (piece, annotations) = asked.added.to(piece_of(file, &source)?);
    let text = String::from_utf8_lossy(&source);
    let stem = match file.file_stem() {
        Some(stem) if file.as_os_str() != "-" => stem.to_os_string(),
        _ => "line".into(),
    };
    let usual = if asked.to == To::HalfBar { Width::new(FOR_PHONES).ok() } else { None };
    let width = asked.width.or(usual).unwrap_or(Layout::default().width);
    let layout = Layout { view: asked.view, width, annotations, words: words(), ..Layout::default() };
    let scene = || piece.engrave(&layout);
    let output = match asked.to {
        To::Svg => write::svg::document_on(&scene(), paper(asked.white)).into_bytes(),
        To::Png => {
            let scene = scene();
            let svg = write::svg::document_on(&scene, paper(asked.white));
            png(&svg, &scene.missing_letters(), asked.scale).map_err(|error| named(file, &error))?
        }
        To::Html => {
            let names = if annotations.names { SheetNames::Printed } else { SheetNames::AsWritten };
            let fingers = annotations.fingers;
            let wanted =
                Worksheet { view: asked.view, words: words(), names, fingers, ..Worksheet::default() };
            let pages =
                worksheet::pages(&[piece], &wanted).map_err(|error| named(file, &error.to_string()))?;
            write::html::worksheet(&pages).into_bytes()
        }
        To::HalfBar => write::html::half_bar(&text, &scene()).into_bytes(),
    };
    let mut name = stem;
    name.push(".");
    name.push(asked.to.ending());
    let out = asked.out.join(name);
    fs::write(&out, output).map_err(|error| named(&out, &error.to_string()))
}

/// A picture this many pixels wide. Text with letters that have no outline of ours is drawn in a font from
/// this machine.
fn png(svg: &str, missing: &str, width: u32) -> Result<Vec<u8>, String> {
    let mut options = Options::default();
    if !missing.is_empty() {
        let fonts = options.fontdb_mut();
        fonts.load_system_fonts();
        let families = || fonts.faces().flat_map(|face| &face.families).map(|(name, _)| name);
        let Some(serif) = families().find(|name| name.contains("Serif")).or(families().next()).cloned()
        else {
            return Err(format!(
                "there is no font on this machine for {missing}: install one, or use --to svg"
            ));
        };
        fonts.set_serif_family(serif);
        eprintln!(
            "{missing}: drawn in a font from this machine, if one has these letters; check the picture"
        );
    }
    let tree = Tree::from_str(svg, &options).map_err(|error| error.to_string())?;
    let size = tree.size();
    #[allow(clippy::cast_precision_loss, reason = "at most 16,384")]
    let zoom = width as f32 / size.width();
    let height = (size.height() * zoom).ceil();
    #[allow(clippy::cast_precision_loss, reason = "at most 16,384")]
    let pixels = width as f32 * height;
    if pixels > MOST_PIXELS {
        return Err(format!(
            "the PNG would be {width} by {height} pixels, and at most {} million pixels are drawn: make it narrower",
            MOST_PIXELS / 1e6
        ));
    }
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "it was just checked against the limit"
    )]
    let height = height as u32;
    let mut picture = Pixmap::new(width, height.max(1)).ok_or("the picture has no size")?;
    resvg::render(&tree, Transform::from_scale(zoom, zoom), &mut picture.as_mut());
    picture.encode_png().map_err(|error| error.to_string())
}
