#![allow(clippy::unwrap_used, clippy::panic)]

use std::io::Write as _;

use rawzip::{CompressionMethod, DataDescriptorOutput, ZipArchiveWriter};

use super::*;

const SCORE: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<score-partwise version=\"4.0\"/>";

fn xml(bytes: &[u8]) -> Result<String, ContainerError> {
    match unpack(bytes)? {
        Body::Xml(text) => Ok(text.into_owned()),
        Body::Midi(_) => panic!("this is MIDI"),
    }
}

fn message(bytes: &[u8]) -> String {
    unpack(bytes).unwrap_err().to_string()
}

/// An archive of stored files.
fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    archive_as(files, CompressionMethod::STORE, false)
}

fn archive_as(files: &[(&str, &[u8])], method: CompressionMethod, is_encrypted: bool) -> Vec<u8> {
    let mut archive = ZipArchiveWriter::new(Vec::new());
    for (path, bytes) in files {
        let is_container = path.starts_with("META-INF");
        let (mut entry, _) = archive
            .new_file(*path)
            .compression_method(if is_container { CompressionMethod::STORE } else { method })
            .encrypted(is_encrypted && !is_container)
            .start()
            .unwrap();
        let deflated = miniz_oxide::deflate::compress_to_vec(bytes, 6);
        entry
            .write_all(if method == CompressionMethod::DEFLATE && !is_container { &deflated } else { bytes })
            .unwrap();
        entry.finish(DataDescriptorOutput::new(rawzip::crc32(bytes), bytes.len() as u64)).unwrap();
    }
    archive.finish().unwrap()
}

fn container(roots: &str) -> String {
    format!("<container><rootfiles>{roots}</rootfiles></container>")
}

/// An archive whose container names these roots, with the score at `a/b.xml`.
fn with_roots(roots: &str) -> Vec<u8> {
    archive(&[("META-INF/container.xml", container(roots).as_bytes()), ("a/b.xml", SCORE.as_bytes())])
}

#[test]
fn a_packed_score_is_unpacked() {
    let packed = pack(SCORE).unwrap();
    assert_eq!(xml(&packed).as_deref(), Ok(SCORE));
    assert_eq!(packed, pack(SCORE).unwrap());
    // MusicXML 4.0, "Compressed .MXL Files": the media type is found at byte 38, as in other formats of this kind.
    assert_eq!(packed.get(30..38), Some(&b"mimetype"[..]));
    assert!(packed.get(38..).unwrap().starts_with(b"application/vnd.recordare.musicxml"));
}

#[test]
fn formats_are_found_by_content() {
    assert!(matches!(unpack(b"MThd\0\0\0\x06"), Ok(Body::Midi(_))));
    assert!(matches!(unpack(b"RIFF\0\0\0\0RMIDdata"), Ok(Body::Midi(_))));
    assert!(matches!(unpack(b"  \n<a/>"), Ok(Body::Xml(_))));
    assert_eq!(message(b""), "this file is empty");
    for other in [&b"hello"[..], b"\x89PNG\r\n", b"RIFF\0\0\0\0WAVE", &[0xff, 0xfb, 0x90, 0x64], &[0; 100]] {
        assert_eq!(
            message(other),
            "this is neither MusicXML nor MIDI: open a .musicxml, .xml, .mxl or .mid file",
            "{other:?}"
        );
    }
    assert_eq!(
        message(&vec![b'<'; LONGEST + 1]),
        "this file is longer than 16 MB, which is the most that is read"
    );
}

#[test]
fn encodings_are_found_by_mark_and_declaration() {
    let text = "<a b=\"é€𝄞\"/>";
    let utf_16 =
        |bytes: fn(u16) -> [u8; 2], text: &str| text.encode_utf16().flat_map(bytes).collect::<Vec<u8>>();
    let marked = format!("\u{feff}{text}");
    assert_eq!(xml(text.as_bytes()).as_deref(), Ok(text));
    assert_eq!(xml(marked.as_bytes()).as_deref(), Ok(text));
    for (bytes, text) in [(u16::to_le_bytes as fn(u16) -> [u8; 2], text), (u16::to_be_bytes, text)] {
        assert_eq!(xml(&utf_16(bytes, text)).as_deref(), Ok(text));
        assert_eq!(xml(&utf_16(bytes, &marked)).as_deref(), Ok(text));
    }
    let latin_1 = b"<?xml version='1.0' encoding='ISO-8859-1'?><a b='\xe9\x80'/>";
    assert_eq!(xml(latin_1).as_deref(), Ok("<?xml version='1.0' encoding='ISO-8859-1'?><a b='é€'/>"));
}

#[test]
fn wrong_encodings_are_told() {
    assert_eq!(
        message(b"<a b='\xe9'/>"),
        "byte 7 of this file is not UTF-8, as the file's beginning says; save it again in UTF-8"
    );
    assert_eq!(
        message(b"<?xml version='1.0' encoding='UTF-16'?><a/>"),
        "byte 1 of this file is not UTF-16, as the file's beginning says; save it again in UTF-8"
    );
    // An odd byte at the end, and half of a surrogate pair.
    assert!(message(b"\xff\xfe<\0a\0/\0>\0x").starts_with("byte 11 of this file is not UTF-16"));
    assert!(message(b"\xff\xfe<\0\x34\xd8>\0").starts_with("byte 5 of this file is not UTF-16"));
    assert_eq!(
        message(b"<?xml version='1.0' encoding='Shift_JIS'?><a/>"),
        "this file is encoded in Shift_JIS; save it again in UTF-8 (UTF-16 and Latin-1 are read, too)"
    );
    assert!(message(b"<\0\0\0?\0\0\0").contains("UTF-32"));
}

#[test]
fn the_first_musicxml_root_counts() {
    assert_eq!(xml(&with_roots("<rootfile full-path='a/b.xml'/>")).as_deref(), Ok(SCORE));
    let several = "<rootfile full-path='a.pdf' media-type='application/pdf'/>\
        <rootfile full-path='a/b.xml' media-type='application/vnd.recordare.musicxml+xml'/>\
        <rootfile full-path='c.xml'/>";
    assert_eq!(xml(&with_roots(several)).as_deref(), Ok(SCORE));
}

#[test]
fn damaged_containers_are_told() {
    let named = |path: &str| message(&with_roots(&format!("<rootfile full-path='{path}'/>")));
    assert_eq!(named("x.xml"), "META-INF/container.xml in this file names \"x.xml\", which is not in it");
    for path in ["../a/b.xml", "/a/b.xml", "a/../a/b.xml", "a\\b.xml", "C:/a/b.xml"] {
        assert_eq!(
            named(path),
            format!("META-INF/container.xml in this file names \"{path}\", which is not a path inside it")
        );
    }
    assert_eq!(message(&with_roots("")), "META-INF/container.xml in this file names no MusicXML file");
    assert!(
        message(&archive(&[("a.xml", SCORE.as_bytes())]))
            .starts_with("this is a zip file, but not compressed MusicXML")
    );
    assert!(message(&archive(&[("META-INF/container.xml", b"<a>")])).contains("is not XML"));
    assert_eq!(
        message(&archive(&[
            ("META-INF/container.xml", container("<rootfile full-path='a'/>").as_bytes()),
            ("a", b"PK\x03\x04"),
        ])),
        "the score in this compressed file is not MusicXML"
    );
    let files: [(&str, &[u8]); 2] =
        [("META-INF/container.xml", b"<rootfile full-path='a'/>"), ("a", SCORE.as_bytes())];
    assert_eq!(
        message(&archive_as(&files, CompressionMethod::STORE, true)),
        "\"a\" in this compressed file is encrypted; save it without a password"
    );
    assert_eq!(
        message(&archive_as(&files, CompressionMethod::LZMA, false)),
        "\"a\" in this file is compressed by method 14; only deflate (8) and none (0) are read"
    );
    // Any byte of the score changed: its checksum says so.
    let mut changed = archive(&files);
    let at = changed.windows(6).position(|bytes| bytes == b"<score").unwrap();
    *changed.get_mut(at).unwrap() = b'[';
    assert_eq!(message(&changed), "this compressed file is damaged: a file in it doesn't match its checksum");
}

#[test]
fn too_many_zeros_are_not_inflated() {
    let zeros = vec![0; 40 << 20];
    let files: [(&str, &[u8]); 2] = [("META-INF/container.xml", b"<rootfile full-path='a'/>"), ("a", &zeros)];
    let bomb = archive_as(&files, CompressionMethod::DEFLATE, false);
    assert!(bomb.len() < 1 << 20);
    assert_eq!(
        message(&bomb),
        "\"a\" in this compressed file is longer than 32768 KB, which is the most that is read"
    );
}

#[test]
fn a_truncated_archive_is_told_at_every_byte() {
    let packed = pack(SCORE).unwrap();
    for end in 0..packed.len() {
        let error = unpack(packed.get(..end).unwrap());
        assert!(error.is_err(), "cut at byte {end}");
    }
}
