//! SVG as pixels, by resvg (a crate), which has nothing to do with this project or with any browser; and how different pictures are.

use resvg::tiny_skia::{Color, Pixmap, PixmapPaint, Transform};
use resvg::usvg::{Options, Tree};

/// Renders a file on white, `zoom` times its size, rounded up to whole pixels.
pub fn render(svg: &str, zoom: f32) -> Pixmap {
    let tree = Tree::from_str(svg, &Options::default()).unwrap();
    let size = [tree.size().width(), tree.size().height()].map(|length| {
        // Pictures are a few thousand pixels wide; `as` saturates for anything absurd.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let pixels = (length * zoom).ceil() as u32;
        pixels
    });
    let mut pixels = Pixmap::new(size[0], size[1]).unwrap();
    pixels.fill(Color::WHITE);
    resvg::render(&tree, Transform::from_scale(zoom, zoom), &mut pixels.as_mut());
    pixels
}

/// Decodes a PNG.
pub fn decode(png: &[u8]) -> Pixmap {
    Pixmap::decode_png(png).unwrap()
}

/// The upper left part of a picture.
pub fn cropped(picture: &Pixmap, width: u32, height: u32) -> Pixmap {
    let mut part = Pixmap::new(width, height).unwrap();
    part.draw_pixmap(0, 0, picture.as_ref(), &PixmapPaint::default(), Transform::identity(), None);
    part
}

/// How different two pictures of the same size are: 0 is identical, 1 is black against white.
#[derive(Clone, Copy, Debug)]
pub struct Apart {
    /// The mean over all pixels.
    pub mean: f64,
    /// The fraction of pixels that differ by more than a quarter.
    pub far: f64,
}

/// Compares two black and white pictures.
pub fn apart(one: &Pixmap, other: &Pixmap) -> Apart {
    assert_eq!((one.width(), one.height()), (other.width(), other.height()));
    let pairs = one.pixels().iter().zip(other.pixels());
    let (mut sum, mut far) = (0.0, 0u32);
    for (one, other) in pairs {
        let difference = one.green().abs_diff(other.green());
        sum += f64::from(difference) / 255.0;
        far += u32::from(difference > 64);
    }
    let count = f64::from(one.width()) * f64::from(one.height());
    Apart { mean: sum / count, far: f64::from(far) / count }
}
