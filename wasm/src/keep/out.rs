//! Pictures as PNG, the clipboard, and the page's address.

use halfbar_dom::files::{blob, save_blob};
use halfbar_dom::{Result, create, document, window};
use halfbar_words::keep as says;
use js_sys::{Function, Promise};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{Blob, CanvasRenderingContext2d, HtmlCanvasElement, HtmlImageElement, Url};

/// Saves an SVG document as a PNG on white, this many times as large as it says.
pub(super) async fn save_png(svg: String, times: f64, name: String) -> Result<()> {
    let address = Url::create_object_url_with_blob(&blob(svg.as_bytes(), "image/svg+xml")?)?;
    let image = HtmlImageElement::new()?;
    image.set_src(&address);
    let drawn = JsFuture::from(image.decode()).await;
    Url::revoke_object_url(&address)?;
    drawn?;
    let canvas: HtmlCanvasElement = create("canvas")?;
    let size = |pixels: u32| f64::from(pixels) * times;
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
    save_blob(blob.dyn_ref::<Blob>().ok_or(says::PICTURE_TOO_LARGE)?, &name)
}

/// Puts a text on the clipboard.
pub(super) async fn copy(text: String) -> Result<()> {
    let clipboard = window()?.navigator().clipboard();
    JsFuture::from(clipboard.write_text(&text)).await?;
    Ok(())
}

/// The address of the page, without a fragment.
pub(super) fn address() -> Result<String> {
    let address = document()?.url()?;
    Ok(address.split('#').next().unwrap_or_default().to_string())
}
