//! The clipboard, and the page's address.

use halfbar_dom::{Result, document, window};
use wasm_bindgen_futures::JsFuture;

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
