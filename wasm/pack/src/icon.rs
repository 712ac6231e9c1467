//! The page's icon: a half-bar with its last third split, as our own engraver draws it, on paper.

use anyhow::{Context, Result};
use halfbar_core::engrave::picture;
use halfbar_core::recast::{Figure, Spelling};
use halfbar_core::write;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

/// The icon is a square of this many units.
const SIDE: f64 = 512.0;

/// How an icon fills its square.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Shape {
    /// A sheet with round corners, as large as can be.
    Sheet,
    /// Paper to the edges, for a system that cuts its own shape out of it: a circle of four fifths is what is sure to be seen (W3C Web App
    /// Manifest, 1.9.1: the safe zone of a maskable icon).
    Bleed,
}

/// The icon as SVG.
pub(crate) fn svg(shape: Shape, paper: &str, ink: &str) -> Result<String> {
    let figure = Figure::named("split-last").context("the catalogue has no split-last")?;
    let scene = picture(Some((&figure, Spelling::Bracket)))?;
    let music = write::svg::document(&scene);
    let tree = Tree::from_str(&music, &Options::default())?;
    // The ink alone: the scene leaves room for other rhythms.
    let ink_box = tree.root().abs_bounding_box();
    let [left, top, width, height] =
        [ink_box.x(), ink_box.y(), ink_box.width(), ink_box.height()].map(f64::from);
    let (corner, zoom) = match shape {
        Shape::Sheet => (72.0, 0.82 * SIDE / width.max(height)),
        Shape::Bleed => (0.0, 0.76 * SIDE / width.hypot(height)),
    };
    let across = SIDE / 2.0 - zoom * (left + width / 2.0);
    let down = SIDE / 2.0 - zoom * (top + height / 2.0);
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {SIDE} {SIDE}\" color=\"{ink}\">\n\
         <rect width=\"{SIDE}\" height=\"{SIDE}\" rx=\"{corner}\" fill=\"{paper}\"/>\n\
         <g transform=\"translate({across:.1} {down:.1}) scale({zoom:.3})\">\n{music}\n</g>\n</svg>\n"
    ))
}

/// An icon as PNG, so many pixels wide and high.
pub(crate) fn png(svg: &str, pixels: u16) -> Result<Vec<u8>> {
    let tree = Tree::from_str(svg, &Options::default())?;
    let mut picture = Pixmap::new(pixels.into(), pixels.into()).context("an icon without size")?;
    let zoom = f32::from(pixels) / tree.size().width();
    resvg::render(&tree, Transform::from_scale(zoom, zoom), &mut picture.as_mut());
    Ok(picture.encode_png()?)
}
