//! The page's icons: a half-bar with its last third split, drawn by our own engraver, on paper. The page has them as files, so building it
//! takes no drawing; a test compares the files with these.

use halfbar_core::engrave::picture;
use halfbar_core::recast::{Figure, Spelling};
use halfbar_core::write;
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

/// An icon is a square of this many units.
const SIDE: f64 = 512.0;

/// How an icon fills its square.
#[derive(Clone, Copy, Debug)]
enum Shape {
    /// A sheet with rounded corners, as large as possible.
    Sheet,
    /// Paper to the edges, for a system that cuts its own shape out of it. Only a circle of four fifths is sure to be visible (W3C Web App
    /// Manifest, 1.9.1: the safe zone of a maskable icon).
    Edge,
}

/// The files by name, in the light colors of a style sheet.
pub fn files(style: &str) -> Vec<(String, Vec<u8>)> {
    let color = |name: &str| {
        let start = format!("--{name}: ");
        style.split(&start).nth(1).and_then(|rest| rest.split(';').next()).unwrap()
    };
    let mut files = Vec::new();
    for (name, shape) in [("icon", Shape::Sheet), ("icon-edge", Shape::Edge)] {
        let svg = svg(shape, color("paper"), color("ink"));
        for pixels in [192, 512] {
            files.push((format!("{name}-{pixels}.png"), png(&svg, pixels)));
        }
        if matches!(shape, Shape::Sheet) {
            files.push((format!("{name}.svg"), svg.into_bytes()));
        }
    }
    files
}

fn svg(shape: Shape, paper: &str, ink: &str) -> String {
    let figure = Figure::named("split-last").unwrap();
    let music = write::svg::document(&picture(Some((&figure, Spelling::Bracket))).unwrap());
    let tree = Tree::from_str(&music, &Options::default()).unwrap();
    // Just the ink: the scene leaves room for other rhythms.
    let ink_box = tree.root().abs_bounding_box();
    let [left, top, width, height] =
        [ink_box.x(), ink_box.y(), ink_box.width(), ink_box.height()].map(f64::from);
    let (corner, zoom) = match shape {
        Shape::Sheet => (72.0, 0.82 * SIDE / width.max(height)),
        Shape::Edge => (0.0, 0.76 * SIDE / width.hypot(height)),
    };
    let across = SIDE / 2.0 - zoom * (left + width / 2.0);
    let down = SIDE / 2.0 - zoom * (top + height / 2.0);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {SIDE} {SIDE}\" color=\"{ink}\">\n\
         <rect width=\"{SIDE}\" height=\"{SIDE}\" rx=\"{corner}\" fill=\"{paper}\"/>\n\
         <g transform=\"translate({across:.1} {down:.1}) scale({zoom:.3})\">\n{music}\n</g>\n</svg>\n"
    )
}

fn png(svg: &str, pixels: u16) -> Vec<u8> {
    let tree = Tree::from_str(svg, &Options::default()).unwrap();
    let mut picture = Pixmap::new(pixels.into(), pixels.into()).unwrap();
    let zoom = f32::from(pixels) / tree.size().width();
    resvg::render(&tree, Transform::from_scale(zoom, zoom), &mut picture.as_mut());
    picture.encode_png().unwrap()
}
