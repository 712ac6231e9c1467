//! Bytes -> what kind of file it is, decompressed and decoded; and MusicXML -> a compressed file.

mod decode;
mod error;
mod zip;

use std::borrow::Cow;

pub use error::ContainerError;
pub(super) use zip::pack;

/// The longest file that is read, in bytes.
const LONGEST: usize = 16 << 20;

/// What is in a file.
#[derive(Debug)]
pub(super) enum Body<'a> {
    /// The text of a MusicXML file.
    Xml(Cow<'a, str>),
    /// A MIDI file.
    Midi(&'a [u8]),
}

/// Takes a file apart, by its content.
pub(super) fn unpack(bytes: &[u8]) -> Result<Body<'_>, ContainerError> {
    if bytes.is_empty() {
        return Err(ContainerError::Empty);
    }
    if bytes.len() > LONGEST {
        return Err(ContainerError::Long { allowed: LONGEST >> 20 });
    }
    // A Standard MIDI File may be inside a RIFF file (RP-029 of the MIDI Association).
    let is_midi =
        bytes.starts_with(b"MThd") || bytes.starts_with(b"RIFF") && bytes.get(8..12) == Some(b"RMID");
    if is_midi {
        return Ok(Body::Midi(bytes));
    }
    if bytes.starts_with(b"PK") {
        let root = zip::root(bytes)?;
        let text = decode::decode(&root)?.into_owned();
        return if is_xml(&text) { Ok(Body::Xml(text.into())) } else { Err(ContainerError::RootNotXml) };
    }
    match decode::decode(bytes) {
        Ok(text) if is_xml(&text) => Ok(Body::Xml(text)),
        // What doesn't even begin like XML isn't badly encoded: it is something else.
        Err(error) if decode::begins_as_xml(bytes) => Err(error),
        _ => Err(ContainerError::Unknown),
    }
}

fn is_xml(text: &str) -> bool {
    text.trim_start().starts_with('<')
}

#[cfg(test)]
mod tests;
