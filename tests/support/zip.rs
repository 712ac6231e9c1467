//! Zip files for the tests, right or wrong.

use std::io::Write;

use rawzip::{CompressionMethod, DataDescriptorOutput, ZipArchiveWriter};

/// An archive of files, each compressed or not.
pub fn archive(files: &[(&str, &[u8], bool)]) -> Vec<u8> {
    let mut archive = ZipArchiveWriter::new(Vec::new());
    for (path, bytes, compressed) in files {
        let method = if *compressed { CompressionMethod::DEFLATE } else { CompressionMethod::STORE };
        let (mut entry, _) = archive
            .new_file(rawzip::path::EntryPath::verbatim(path.as_bytes()))
            .compression_method(method)
            .start()
            .unwrap();
        match compressed {
            true => entry.write_all(&miniz_oxide::deflate::compress_to_vec(bytes, 1)).unwrap(),
            false => entry.write_all(bytes).unwrap(),
        }
        entry.finish(DataDescriptorOutput::new(rawzip::crc32(bytes), bytes.len() as u64)).unwrap();
    }
    archive.finish().unwrap()
}

/// A compressed score.
pub fn score(xml: &[u8]) -> Vec<u8> {
    let container = "<container><rootfiles><rootfile full-path=\"a.musicxml\"/></rootfiles></container>";
    archive(&[("META-INF/container.xml", container.as_bytes(), false), ("a.musicxml", xml, true)])
}
