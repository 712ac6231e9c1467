//! SVG as pixels, by resvg (a crate), which knows nothing of this project or of any browser; and how far pictures are apart.

use resvg::tiny_skia::{Color, Pixmap, PixmapPaint, Transform};
use resvg::usvg::{Options, Tree};

/// A file on white, `zoom` times as large as it says; parts of a pixel count as whole ones.
pub fn render(svg: &str, zoom: f32) -> Pixmap {
    let tree = Tree::from_str(svg, &Options::default()).unwrap();
    let size = [tree.size().width(), tree.size().height()].map(|length| {
        // Pictures are a few thousand pixels wide; `as` cuts what is out of all bounds.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let pixels = (length * zoom).ceil() as u32;
        pixels
    });
    let mut pixels = Pixmap::new(size[0], size[1]).unwrap();
    pixels.fill(Color::WHITE);
    resvg::render(&tree, Transform::from_scale(zoom, zoom), &mut pixels.as_mut());
    pixels
}

/// A picture from the bytes of a PNG.
pub fn decode(png: &[u8]) -> Pixmap {
    Pixmap::decode_png(png).unwrap()
}

/// The left upper part of a picture.
pub fn cropped(picture: &Pixmap, width: u32, height: u32) -> Pixmap {
    let mut part = Pixmap::new(width, height).unwrap();
    part.draw_pixmap(0, 0, picture.as_ref(), &PixmapPaint::default(), Transform::identity(), None);
    part
}

/// How far two pictures of one size are apart, as parts of one: 0 are the same, 1 are black and white.
#[derive(Clone, Copy, Debug)]
pub struct Apart {
    /// The mean over all pixels.
    pub mean: f64,
    /// The share of the pixels that are more than a quarter apart.
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
