//! A line in an address: its text, compressed, after the `#`, so that it is sent to nobody.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use halfbar_words::keep as says;
use miniz_oxide::deflate::compress_to_vec;
use miniz_oxide::inflate::decompress_to_vec_with_limit;

use super::library::LONGEST;
use halfbar_dom::form::Told;

/// What such a fragment begins with.
const SIGN: &str = "#line=";
/// The longest fragment that is made, in letters: what mail and chat programs still take as a link (common practice, no source).
const LONGEST_LINK: usize = 8_000;
/// How hard to compress: as hard as is any use for so little.
const LEVEL: u8 = 9;

/// The fragment of a text.
pub(super) fn fragment(text: &str) -> Told<String> {
    let fragment = format!("{SIGN}{}", URL_SAFE_NO_PAD.encode(compress_to_vec(text.as_bytes(), LEVEL)));
    match fragment.len() <= LONGEST_LINK {
        true => Ok(fragment),
        false => Err(says::long_for_a_link(fragment.len(), LONGEST_LINK)),
    }
}

/// The text of a fragment; `None` when it is about something else.
pub(super) fn text(fragment: &str) -> Option<Told<String>> {
    let packed = fragment.strip_prefix(SIGN)?;
    let text = URL_SAFE_NO_PAD
        .decode(packed)
        .ok()
        .and_then(|bytes| decompress_to_vec_with_limit(&bytes, LONGEST).ok())
        .and_then(|bytes| String::from_utf8(bytes).ok());
    Some(text.ok_or(says::LINK_UNREADABLE.into()))
}
