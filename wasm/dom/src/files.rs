//! Files that are handed to the browser.

use js_sys::{Array, Uint8Array};
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, Url};

use crate::{Result, create};

/// Bytes of a kind.
///
/// # Errors
/// None in practice.
pub fn blob(content: &[u8], kind: &str) -> Result<Blob> {
    let kind_of = BlobPropertyBag::new();
    kind_of.set_type(kind);
    Blob::new_with_u8_array_sequence_and_options(&Array::of1(&Uint8Array::from(content)), &kind_of)
}

/// Hands a file to the browser to be saved.
///
/// # Errors
/// None in practice.
pub fn save(content: &[u8], kind: &str, name: &str) -> Result<()> {
    save_blob(&blob(content, kind)?, name)
}

/// Hands what a browser has made to it to be saved.
///
/// # Errors
/// None in practice.
pub fn save_blob(blob: &Blob, name: &str) -> Result<()> {
    let address = Url::create_object_url_with_blob(blob)?;
    let link: HtmlAnchorElement = create("a")?;
    link.set_href(&address);
    link.set_download(name);
    link.click();
    Url::revoke_object_url(&address)
}

/// A name for a file, of a title: letters, digits and hyphens.
pub fn name(title: &str, ending: &str) -> String {
    let words = title.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let mut name: String = words.collect::<Vec<_>>().join("-").chars().take(60).collect();
    name.make_ascii_lowercase();
    if name.is_empty() {
        name = "line".into();
    }
    format!("{name}.{ending}")
}
