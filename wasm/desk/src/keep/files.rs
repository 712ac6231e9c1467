//! Files out of the page and into it.

use halfbar_dom::{Result, create, document, window};
use js_sys::{Array, Function, Promise, Uint8Array};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    Blob, BlobPropertyBag, CanvasRenderingContext2d, HtmlAnchorElement, HtmlCanvasElement, HtmlImageElement,
    Url,
};

fn blob(content: &[u8], kind: &str) -> Result<Blob> {
    let kind_of = BlobPropertyBag::new();
    kind_of.set_type(kind);
    Blob::new_with_u8_array_sequence_and_options(&Array::of1(&Uint8Array::from(content)), &kind_of)
}

/// Hands a file to the browser to be saved.
pub(crate) fn save(content: &[u8], kind: &str, name: &str) -> Result<()> {
    save_blob(&blob(content, kind)?, name)
}

fn save_blob(blob: &Blob, name: &str) -> Result<()> {
    let address = Url::create_object_url_with_blob(blob)?;
    let link: HtmlAnchorElement = create("a")?;
    link.set_href(&address);
    link.set_download(name);
    link.click();
    Url::revoke_object_url(&address)
}

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
    let context = canvas.get_context("2d")?.ok_or("this browser draws no pictures")?;
    let context: CanvasRenderingContext2d = context.unchecked_into();
    context.set_fill_style_str("#fff");
    context.fill_rect(0.0, 0.0, width, height);
    context.draw_image_with_html_image_element_and_dw_and_dh(&image, 0.0, 0.0, width, height)?;
    let mut ask = |resolve: Function, _| {
        // A canvas that gives nothing gives `null`.
        let _ = canvas.to_blob(&resolve);
    };
    let blob = JsFuture::from(Promise::new(&mut ask)).await?;
    save_blob(blob.dyn_ref::<Blob>().ok_or("the picture is too large")?, &name)
}

/// A name for a file, of a title: letters, digits and hyphens.
pub(super) fn name(title: &str, ending: &str) -> String {
    let words = title.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let mut name: String = words.collect::<Vec<_>>().join("-").chars().take(60).collect();
    name.make_ascii_lowercase();
    if name.is_empty() {
        name = "line".into();
    }
    format!("{name}.{ending}")
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
