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

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: &str = "title: Üben, ♭5\nkey: Eb\n\n@Fm7 F3 Ab C Eb  G F Eb C |\n";

    /// Digits that nothing shortens much.
    fn digits(count: u64) -> String {
        (1..=count).map(|word| format!("{:x} ", word.wrapping_mul(0x9e37_79b9_7f4a_7c15))).collect()
    }

    #[test]
    fn a_line_comes_back_from_its_link() {
        for line in ["", "C4:4 |\n", LINE, &digits(300)] {
            let fragment = fragment(line).unwrap_or_else(|why| panic!("{line}: {why}"));
            assert!(fragment.starts_with(SIGN) && fragment.len() <= LONGEST_LINK, "{fragment}");
            // What an address may have in its fragment as it is (RFC 3986, 3.5).
            let plain = |letter: char| letter.is_ascii_alphanumeric() || "-_".contains(letter);
            assert!(fragment[SIGN.len()..].chars().all(plain), "{fragment}");
            assert_eq!(text(&fragment), Some(Ok(line.to_string())));
        }
        assert!(fragment(&LINE.repeat(50)).is_ok_and(|fragment| fragment.len() < 400), "it is compressed");
    }

    #[test]
    fn a_line_too_long_for_a_link_says_so() {
        let refused = fragment(&digits(2_000)).unwrap_err();
        assert!(refused.contains(&LONGEST_LINK.to_string()), "{refused}");
    }

    #[test]
    fn other_fragments_are_no_lines() {
        for fragment in ["", "#", "#text", "#line", "line=7Zx9"] {
            assert_eq!(text(fragment), None, "{fragment}");
        }
    }

    #[test]
    fn a_link_that_was_cut_or_changed_is_refused() {
        let whole = fragment(LINE).unwrap();
        let not_utf8 = format!("{SIGN}{}", URL_SAFE_NO_PAD.encode(compress_to_vec(&[0xff, 0xfe], LEVEL)));
        let too_large = compress_to_vec(&vec![b'A'; LONGEST + 1], LEVEL);
        let too_large = format!("{SIGN}{}", URL_SAFE_NO_PAD.encode(too_large));
        for broken in
            [SIGN, "#line=AAAA", "#line=%3Cimg%3E", &whole[..whole.len() - 9], &not_utf8, &too_large]
        {
            assert_eq!(text(broken), Some(Err(says::LINK_UNREADABLE.into())), "{broken}");
        }
        // A text as long as can be is taken.
        let largest = "A".repeat(LONGEST);
        assert_eq!(text(&fragment(&largest).unwrap()), Some(Ok(largest)));
    }
}
