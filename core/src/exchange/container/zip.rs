//! Compressed MusicXML, by *MusicXML 4.0*, "Compressed .MXL Files" of the tutorial.

use std::borrow::Cow;
use std::io::Write as _;

use miniz_oxide::inflate::{TINFLStatus, decompress_to_vec_with_limit};
use quick_xml::events::{BytesDecl, BytesText, Event};
use rawzip::path::ZipFilePath;
use rawzip::{
    CompressionMethod, DataDescriptorOutput, ZipArchive, ZipArchiveWriter, ZipSliceArchive, ZipVerification,
};

use super::decode;
use super::error::ContainerError;

type Result<T> = std::result::Result<T, ContainerError>;

/// The longest file inside that is read, in bytes.
const LONGEST: usize = 32 << 20;
/// The same for the container, which has a line for each form of the score.
const LONGEST_CONTAINER: usize = 64 << 10;

const CONTAINER: &str = "META-INF/container.xml";
const ROOT: &str = "score.musicxml";
/// The registered media types (IANA): of MusicXML, and of what is compressed.
const MUSICXML: &str = "application/vnd.recordare.musicxml+xml";
const COMPRESSED: &str = "application/vnd.recordare.musicxml";

/// The bytes of the score in a compressed file.
pub(super) fn root(bytes: &[u8]) -> Result<Cow<'_, [u8]>> {
    let archive =
        ZipArchive::from_slice(bytes).map_err(|_| ContainerError::Damaged("its directory is missing"))?;
    let container = entry(&archive, CONTAINER, LONGEST_CONTAINER)?.ok_or(ContainerError::NoContainer)?;
    let path = root_path(&decode::decode(&container)?)?;
    entry(&archive, &path, LONGEST)?.ok_or(ContainerError::MissingRoot(path))
}

/// The first MusicXML file that the container names. Others are the same score in other forms, such as a picture.
fn root_path(container: &str) -> Result<String> {
    let damaged = |_| ContainerError::Damaged("its META-INF/container.xml is not XML");
    let options = roxmltree::ParsingOptions { nodes_limit: 10_000, ..Default::default() };
    let document = roxmltree::Document::parse_with_options(container, options).map_err(damaged)?;
    let path = document
        .descendants()
        .filter(|node| node.tag_name().name() == "rootfile")
        // Without a media type, it is MusicXML.
        .filter(|node| {
            node.attribute("media-type")
                .is_none_or(|kind| matches!(kind, MUSICXML | COMPRESSED | "application/xml" | "text/xml"))
        })
        .find_map(|node| node.attribute("full-path"))
        .ok_or(ContainerError::NoRoot)?;
    if path.is_empty() {
        return Err(ContainerError::NoRoot);
    }
    if ZipFilePath::from_str(path).as_str() != path {
        return Err(ContainerError::Outside(path.chars().take(80).collect()));
    }
    Ok(path.to_string())
}

/// One file of an archive, decompressed; `None` if it isn't there.
fn entry<'a>(
    archive: &ZipSliceArchive<&'a [u8]>,
    path: &str,
    longest: usize,
) -> Result<Option<Cow<'a, [u8]>>> {
    let mut entries = archive.entries();
    loop {
        let found =
            entries.next_entry().map_err(|_| ContainerError::Damaged("its directory is incomplete"))?;
        let Some(found) = found else { return Ok(None) };
        if found.file_path().as_bytes() != path.as_bytes() {
            continue;
        }
        if found.flags().is_encrypted() {
            return Err(ContainerError::Encrypted(path.to_string()));
        }
        let entry = archive
            .get_entry(found.wayfinder())
            .map_err(|_| ContainerError::Damaged("a file in it is incomplete"))?;
        let (start, end) = entry.compressed_data_range();
        let data = usize::try_from(start)
            .ok()
            .zip(usize::try_from(end).ok())
            .and_then(|(start, end)| archive.get_ref().get(start..end))
            .ok_or(ContainerError::Damaged("a file in it is incomplete"))?;
        let long = ContainerError::LongInside { name: path.to_string(), allowed: longest >> 10 };
        let bytes: Cow<[u8]> = match found.compression_method() {
            CompressionMethod::STORE if data.len() > longest => return Err(long),
            CompressionMethod::STORE => data.into(),
            // What the archive says about the length may be wrong, so the limit is on what comes out.
            CompressionMethod::DEFLATE => match decompress_to_vec_with_limit(data, longest) {
                Ok(bytes) => bytes.into(),
                Err(error) if error.status == TINFLStatus::HasMoreOutput => return Err(long),
                Err(_) => return Err(ContainerError::Damaged("a file in it can't be decompressed")),
            },
            other => return Err(ContainerError::Method { name: path.to_string(), method: other.as_u16() }),
        };
        let actual = ZipVerification { crc: rawzip::crc32(&bytes), uncompressed_size: bytes.len() as u64 };
        entry
            .claim_verifier()
            .valid(actual)
            .map_err(|_| ContainerError::Damaged("a file in it doesn't match its checksum"))?;
        return Ok(Some(bytes));
    }
}

/// A compressed MusicXML file (`.mxl`). There are no dates in it, so the same score makes the same bytes.
pub(crate) fn pack(xml: &str) -> Result<Vec<u8>> {
    let mut archive = ZipArchiveWriter::new(Vec::new());
    // The media type comes first and plain, so that it is found without decompressing.
    for (path, bytes, method) in [
        ("mimetype", COMPRESSED.as_bytes(), CompressionMethod::STORE),
        (CONTAINER, container_xml().map_err(unwritten)?.as_slice(), CompressionMethod::DEFLATE),
        (ROOT, xml.as_bytes(), CompressionMethod::DEFLATE),
    ] {
        let (mut entry, _) = archive.new_file(path).compression_method(method).start().map_err(unwritten)?;
        if method == CompressionMethod::STORE {
            entry.write_all(bytes).map_err(unwritten)?;
        } else {
            entry.write_all(&miniz_oxide::deflate::compress_to_vec(bytes, 6)).map_err(unwritten)?;
        }
        let descriptor = DataDescriptorOutput::new(rawzip::crc32(bytes), bytes.len() as u64);
        entry.finish(descriptor).map_err(unwritten)?;
    }
    archive.finish().map_err(unwritten)
}

fn unwritten(error: impl std::fmt::Display) -> ContainerError {
    ContainerError::Unwritten(error.to_string())
}

/// What says which file is the score.
fn container_xml() -> std::io::Result<Vec<u8>> {
    let mut writer = quick_xml::Writer::new(Vec::new());
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    writer.write_event(Event::Text(BytesText::new("\n")))?;
    writer.create_element("container").write_inner_content(|writer| {
        writer.create_element("rootfiles").write_inner_content(|writer| {
            writer
                .create_element("rootfile")
                .with_attributes([("full-path", ROOT), ("media-type", MUSICXML)])
                .write_empty()?;
            Ok(())
        })?;
        Ok(())
    })?;
    Ok(writer.into_inner())
}
