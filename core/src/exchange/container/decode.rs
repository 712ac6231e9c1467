//! Bytes -> text, by the byte order mark, then the XML declaration.
//!
//! This is appendix F of *Extensible Markup Language (XML) 1.0*, fifth edition, for the encodings that scores have.

use std::borrow::Cow;

use super::error::ContainerError;

/// The text of an XML file.
pub(super) fn decode(bytes: &[u8]) -> Result<Cow<'_, str>, ContainerError> {
    match bytes {
        [0xff, 0xfe, 0, 0, ..] | [0, 0, 0xfe, 0xff, ..] | [b'<', 0, 0, 0, ..] | [0, 0, 0, b'<', ..] => {
            Err(ContainerError::UnknownEncoding("UTF-32".to_string()))
        }
        [0xef, 0xbb, 0xbf, text @ ..] => utf_8(text, 3),
        [0xff, 0xfe, text @ ..] => utf_16(text, u16::from_le_bytes, 2).map(Cow::Owned),
        [0xfe, 0xff, text @ ..] => utf_16(text, u16::from_be_bytes, 2).map(Cow::Owned),
        [b'<', 0, ..] => utf_16(bytes, u16::from_le_bytes, 0).map(Cow::Owned),
        [0, b'<', ..] => utf_16(bytes, u16::from_be_bytes, 0).map(Cow::Owned),
        _ => match declared(bytes) {
            None => utf_8(bytes, 0),
            Some(name) => match name.to_ascii_lowercase().as_str() {
                "utf-8" | "utf8" | "us-ascii" | "ascii" => utf_8(bytes, 0),
                "iso-8859-1" | "iso8859-1" | "iso_8859-1" | "latin1" | "latin-1" | "windows-1252"
                | "cp1252" => Ok(bytes.iter().map(|&byte| windows_1252(byte)).collect::<String>().into()),
                // It couldn't be read as bytes if it were.
                "utf-16" | "utf-16le" | "utf-16be" => {
                    Err(ContainerError::Encoding { at: 1, encoding: "UTF-16" })
                }
                _ => Err(ContainerError::UnknownEncoding(name.chars().take(40).collect())),
            },
        },
    }
}

/// Whether the first letter is the one that XML begins with.
pub(super) fn begins_as_xml(bytes: &[u8]) -> bool {
    let marks: [&[u8]; 3] = [&[0xef, 0xbb, 0xbf], &[0xff, 0xfe], &[0xfe, 0xff]];
    let text = marks.iter().find_map(|mark| bytes.strip_prefix(*mark)).unwrap_or(bytes);
    text.iter().find(|byte| !byte.is_ascii_whitespace() && **byte != 0) == Some(&b'<')
}

/// The encoding that the XML declaration gives.
fn declared(bytes: &[u8]) -> Option<&str> {
    let declaration = bytes.strip_prefix(b"<?xml")?;
    // A declaration has a version, an encoding and `standalone`, so it is short.
    let end = declaration.windows(2).take(400).position(|two| two == b"?>")?;
    let text = str::from_utf8(declaration.get(..end)?).ok()?;
    let value = text.split_once("encoding")?.1.trim_start().strip_prefix('=')?.trim_start();
    let quote = value.chars().next().filter(|quote| matches!(quote, '"' | '\''))?;
    value.get(1..)?.split(quote).next()
}

/// UTF-8 that begins `before` bytes into the file.
fn utf_8(bytes: &[u8], before: usize) -> Result<Cow<'_, str>, ContainerError> {
    str::from_utf8(bytes)
        .map(Cow::Borrowed)
        .map_err(|error| ContainerError::Encoding { at: before + error.valid_up_to() + 1, encoding: "UTF-8" })
}

/// UTF-16 that begins `before` bytes into the file.
fn utf_16(bytes: &[u8], unit: fn([u8; 2]) -> u16, before: usize) -> Result<String, ContainerError> {
    let wrong = |at: usize| ContainerError::Encoding { at: before + at + 1, encoding: "UTF-16" };
    let (pairs, remainder) = bytes.as_chunks::<2>();
    let mut text = String::with_capacity(bytes.len() / 2);
    let mut at = 0;
    for letter in char::decode_utf16(pairs.iter().map(|&pair| unit(pair))) {
        let letter = letter.map_err(|_| wrong(at))?;
        at += 2 * letter.len_utf16();
        text.push(letter);
    }
    if remainder.is_empty() { Ok(text) } else { Err(wrong(at)) }
}

/// Latin-1 as browsers read it: with the letters of Windows-1252 (WHATWG, *Encoding Standard*), which contains ISO 8859-1.
fn windows_1252(byte: u8) -> char {
    /// The letters of bytes 0x80 to 0x9f.
    const UPPER: [char; 32] = [
        '€', '\u{81}', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\u{8d}', 'Ž', '\u{8f}',
        '\u{90}', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\u{9d}', 'ž', 'Ÿ',
    ];
    let upper = byte.checked_sub(0x80).and_then(|index| UPPER.get(usize::from(index)));
    upper.copied().unwrap_or(char::from(byte))
}
