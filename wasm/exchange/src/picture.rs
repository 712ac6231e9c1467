//! Pictures as PNG, which browsers draw.

use halfbar_dom::files::{blob, save_blob};
use halfbar_dom::{Result, create, thrown};
use halfbar_words::keep as says;
use js_sys::{Array, Function, Promise};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, CanvasRenderingContext2d, HtmlCanvasElement, HtmlImageElement, Url};

use crate::part::answer;

/// How much larger than its SVG says a PNG is: 1,720 pixels wide.
const TIMES: f64 = 2.5;

/// Saves an SVG document as a PNG on white. Gives the same as [`crate::open_file`], without a text.
///
/// # Errors
/// An `Error` that says that the browser can't do this.
#[wasm_bindgen(js_name = savePng)]
pub async fn save_png(svg: String, file: String) -> Result<Array> {
    drawn(&svg, &file).await.map_err(|_| thrown(says::NO_PICTURE))?;
    Ok(answer(None, &says::saved(file), false))
}

async fn drawn(svg: &str, file: &str) -> Result<()> {
    let address = Url::create_object_url_with_blob(&blob(svg.as_bytes(), "image/svg+xml")?)?;
    let image = HtmlImageElement::new()?;
    image.set_src(&address);
    let drawn = JsFuture::from(image.decode()).await;
    Url::revoke_object_url(&address)?;
    drawn?;
    let canvas: HtmlCanvasElement = create("canvas")?;
    let size = |pixels: u32| f64::from(pixels) * TIMES;
    let (width, height) = (size(image.natural_width()), size(image.natural_height()));
    // A picture is some thousands of pixels wide.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (columns, rows) = (width as u32, height as u32);
    canvas.set_width(columns);
    canvas.set_height(rows);
    let context = canvas.get_context("2d")?.ok_or(says::DRAWS_NO_PICTURES)?;
    let context: CanvasRenderingContext2d = context.unchecked_into();
    context.set_fill_style_str("#fff");
    context.fill_rect(0.0, 0.0, width, height);
    context.draw_image_with_html_image_element_and_dw_and_dh(&image, 0.0, 0.0, width, height)?;
    let mut ask = |resolve: Function, _| {
        // A canvas that gives nothing gives `null`.
        let _ = canvas.to_blob(&resolve);
    };
    let blob = JsFuture::from(Promise::new(&mut ask)).await?;
    save_blob(blob.dyn_ref::<Blob>().ok_or(says::PICTURE_TOO_LARGE)?, file)
}
