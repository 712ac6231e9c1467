//! Files that want to do harm: each is refused in a sentence, soon, and in little memory.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    reason = "a test that can't continue has to stop"
)]

use std::io::Write as _;
use std::path::PathBuf;
use std::process::Command;
use std::time::Instant;

use halfbar_core::exchange::midi::{MidiOptions, document};
use halfbar_core::exchange::musicxml::{self, Staves};
use halfbar_core::exchange::{Keep, open};
use halfbar_core::{Piece, read};
use halfbar_tests::midi::{file, key, meter, note};
use halfbar_tests::{target, zip};
use midly::num::u24;
use midly::{MetaMessage, TrackEventKind};

/// The most memory that reading may take, in KB, and with it the program: 256 MB.
const MEMORY: usize = 256 << 10;

/// Reads a file in every way that it offers. The first error, if there is one.
fn read_all(bytes: &[u8]) -> Result<(), String> {
    let contents = open(bytes).map_err(|error| error.to_string())?;
    let mut choice = contents.usual().ok_or("there are no notes in it")?;
    choice.key = Some("C".parse().unwrap());
    for keep in [Keep::Single, Keep::Top, Keep::Bottom] {
        choice.keep = keep;
        contents.take(&choice).map_err(|error| error.to_string())?;
    }
    Ok(())
}

fn refused(bytes: &[u8]) -> String {
    let message = read_all(bytes).unwrap_err();
    assert!(message.len() > 10 && message.len() < 400 && !message.contains('\n'), "{message}");
    message
}

const TEXT: &str =
    "title: Two bars\nkey: F\nfeel: swing auto\n@Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D4:1 (E)F:1 r:2 |\n";

fn piece() -> Piece {
    let reading = read::text(TEXT);
    Piece::new(reading.line.unwrap(), reading.casting).unwrap()
}

/// A score with this in its only measure.
fn measure(inside: &str) -> String {
    format!(
        "<score-partwise><part-list><score-part id=\"P\"><part-name/></score-part></part-list><part id=\"P\"><measure number=\"1\">\
         <attributes><divisions>1</divisions></attributes>{inside}</measure></part></score-partwise>"
    )
}

const NOTE: &str = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration></note>";

/// All of them, by name.
fn hostile() -> Vec<(&'static str, Vec<u8>)> {
    let mut files: Vec<(&'static str, Vec<u8>)> = Vec::new();
    let mut add = |name: &'static str, bytes: Vec<u8>| files.push((name, bytes));

    // Entities that expand to 10^9 letters; one that loads a file; and one that refers to itself.
    let mut entities = String::from("<!ENTITY e0 \"lol\">");
    for level in 1..10 {
        let inner = format!("&e{};", level - 1).repeat(10);
        entities += &format!("<!ENTITY e{level} \"{inner}\">");
    }
    let with_entities = |entities: &str, used: &str| {
        format!(
            "<?xml version=\"1.0\"?><!DOCTYPE score-partwise [{entities}]>{}",
            measure(&format!(
                "<direction><direction-type><words>{used}</words></direction-type></direction>{NOTE}"
            ))
        )
    };
    add("entities that expand", with_entities(&entities, "&e9;").into());
    add("entities from a file", with_entities("<!ENTITY e SYSTEM \"file:///etc/hostname\">", "&e;").into());
    add("an entity of itself", with_entities("<!ENTITY e \"&e;\">", "&e;").into());
    add(
        "an entity of parameters",
        with_entities("<!ENTITY % e SYSTEM \"http://127.0.0.1:9/\"> %e;", "").into(),
    );

    // Sizes and depths.
    add("2 million nodes", measure(&"<a/>".repeat(2_100_000)).into());
    add("2 million notes", measure(&"<note/>".repeat(2_000_000)).into());
    add("a depth of 10,000", measure(&("<a>".repeat(10_000) + &"</a>".repeat(10_000))).into());
    add("a depth of 10,000, unclosed", measure(&"<a>".repeat(10_000)).into());
    add(
        "a million attributes",
        measure(&format!("<a {}/>", (0..1_000_000).map(|n| format!("a{n}=\"\" ")).collect::<String>()))
            .into(),
    );
    add("17 MB", vec![b' '; 17 << 20]);
    add("one tag of 16 MB", [b"<".as_slice(), &vec![b'a'; (16 << 20) - 1]].concat());
    add("endless durations", measure(&NOTE.replace(">4<", ">99999999999999999999<")).into());
    add("a negative duration", measure(&NOTE.replace(">4</d", ">-4</d")).into());
    add("no divisions", measure(NOTE).replace(">1<", ">0<").into());
    add(
        "a backup before the start",
        measure(&format!("{NOTE}<backup><duration>2147483647</duration></backup>{NOTE}")).into(),
    );
    add(
        "200,000 notes at once",
        measure(&(NOTE.to_string() + &NOTE.replace("<pitch>", "<chord/><pitch>").repeat(150_000))).into(),
    );

    // Containers.
    let zeros = vec![0; 200 << 20];
    let container = b"<container><rootfiles><rootfile full-path=\"a.musicxml\"/></rootfiles></container>";
    add("200 MB of zeros", zip::score(&zeros));
    add("a container of zeros", zip::archive(&[("META-INF/container.xml", &zeros[..40 << 20], true)]));
    drop(zeros);
    for (name, path) in [
        ("a path upwards", "../../etc/passwd"),
        ("an absolute path", "/etc/passwd"),
        ("a path with a drive", "C:\\a.xml"),
    ] {
        let named = format!("<container><rootfiles><rootfile full-path=\"{path}\"/></rootfiles></container>");
        add(
            name,
            zip::archive(&[
                ("META-INF/container.xml", named.as_bytes(), false),
                (path, measure(NOTE).as_bytes(), false),
            ]),
        );
    }
    add("a container in itself", zip::score(&zip::score(measure(NOTE).as_bytes())));
    add("an empty container", zip::archive(&[("META-INF/container.xml", b"", false)]));
    let many: Vec<String> = (0..100_000).map(|number| number.to_string()).collect();
    let mut many: Vec<(&str, &[u8], bool)> =
        many.iter().map(|name| (name.as_str(), b"".as_slice(), false)).collect();
    many.push(("META-INF/container.xml", container, false));
    add("100,000 files in a container", zip::archive(&many));

    // Encodings.
    add("bytes that are no UTF-8", [b"<score-partwise>".as_slice(), &[0xc3, 0x28, 0xff]].concat());
    add("UTF-16 that isn't", b"<?xml version=\"1.0\" encoding=\"UTF-16\"?><score-partwise/>".to_vec());
    add("half of UTF-16", vec![0xff, 0xfe, b'<', 0, 0x34, 0xd8]);
    add("UTF-32", vec![0xff, 0xfe, 0, 0, b'<', 0, 0, 0]);
    add("an unknown encoding", b"<?xml version=\"1.0\" encoding=\"EBCDIC\"?><score-partwise/>".to_vec());
    add("nothing", Vec::new());
    add("noise", (0..100_000u32).map(|n| (n.wrapping_mul(2_654_435_761) >> 13) as u8).collect());

    // MIDI.
    let midi = |division: [u8; 2], tracks: &[&[u8]]| {
        let mut bytes = b"MThd\0\0\0\x06\0\x01".to_vec();
        bytes.extend(u16::try_from(tracks.len()).unwrap().to_be_bytes());
        bytes.extend(division);
        for track in tracks {
            bytes.extend(b"MTrk");
            bytes.extend(u32::try_from(track.len()).unwrap().to_be_bytes());
            bytes.extend(*track);
        }
        bytes
    };
    let end: &[u8] = &[0, 0xff, 0x2f, 0];
    let endless: Vec<u8> =
        [0xff, 0xff, 0xff, 0x7f, 0x90, 60, 80, 0xff, 0xff, 0xff, 0x7f, 0x80, 60, 0].repeat(10_000);
    add("MIDI times without end", midi([1, 0xe0], &[&[&endless, end].concat()]));
    add(
        "a MIDI time of five bytes",
        midi([1, 0xe0], &[&[&[0xff, 0xff, 0xff, 0xff, 0x7f, 0x90, 60, 80], end].concat()]),
    );
    add("MIDI without a status", midi([1, 0xe0], &[&[&[0, 60, 80], end].concat()]));
    add(
        "a running status after a text",
        midi([1, 0xe0], &[&[&[0, 0x90, 60, 80, 0, 0xff, 1, 1, b'a', 10, 60, 0], end].concat()]),
    );
    add("a text longer than its track", midi([1, 0xe0], &[&[0, 0xff, 1, 0xff, 0xff, 0xff, 0x7f, b'a']]));
    add("no ticks in a quarter note", midi([0, 0], &[&[&[0, 0x90, 60, 80, 10, 0x80, 60, 0], end].concat()]));
    add("MIDI in film frames", midi([0xe7, 40], &[&[&[0, 0x90, 60, 80, 10, 0x80, 60, 0], end].concat()]));
    add(
        "film frames without a negative",
        midi([0x80, 0xe0], &[&[&[0, 0x90, 60, 80, 10, 0x80, 60, 0], end].concat()]),
    );
    add("1,000 tracks", midi([1, 0xe0], &vec![end; 1_000]));
    add("too few tracks", midi([1, 0xe0], &[end, end]).replace_tracks(5));
    add(
        "a million events",
        midi([1, 0xe0], &[&[[0, 0x90, 60, 80].repeat(1_000_000).as_slice(), end].concat()]),
    );
    let at_once: Vec<_> = (0..2_000)
        .flat_map(|round| (0..100).flat_map(move |pitch| note(0, pitch + 20, round, 100_000)))
        .collect();
    add("200,000 overlapping notes", file(480, &at_once));
    let crowd: Vec<_> = (0..20_000).flat_map(|tick| note(0, 60 + (tick % 2) as u8, tick, tick + 1)).collect();
    add("20,000 notes in a beat", file(20_000, &crowd));
    let long: Vec<_> = (0..20_000).flat_map(|beat| note(0, 60, 480 * beat, 480 * beat + 240)).collect();
    add("5,000 bars", file(480, &long));
    let changes: Vec<_> =
        (0..100_000).map(|tick| meter(tick, 3 + (tick % 2) as u8, 2)).chain(note(0, 60, 0, 480)).collect();
    add("100,000 changes of meter", file(480, &changes));
    let keys: Vec<_> =
        (0..100_000).map(|tick| key(tick, (tick % 7) as i8, false)).chain(note(0, 60, 0, 480)).collect();
    add("100,000 changes of key", file(480, &keys));
    let markers: Vec<_> = (0..100_000)
        .map(|tick| (tick, TrackEventKind::Meta(MetaMessage::Marker(b"Cmaj7"))))
        .chain(note(0, 60, 0, 480))
        .collect();
    add("100,000 chords", file(480, &markers));
    let tempo = (0, TrackEventKind::Meta(MetaMessage::Tempo(u24::from(0))));
    add("a tempo without end", file(480, &[&[tempo], note(0, 60, 0, 480).as_slice()].concat()));
    add("an impossible meter", file(480, &[&[meter(0, 0, 255)], note(0, 60, 0, 480).as_slice()].concat()));
    add("a low note", file(480, &[&[key(0, 0, false)], note(0, 0, 0, 480).as_slice()].concat()));
    add("RIFF without an end", [b"RIFF\xff\xff\xff\xffRMIDdata\xff\xff\xff\xffMThd".as_slice()].concat());
    files
}

trait Tracks {
    fn replace_tracks(self, told: u8) -> Self;
}

impl Tracks for Vec<u8> {
    /// The number of tracks that a MIDI header gives.
    fn replace_tracks(mut self, told: u8) -> Vec<u8> {
        self[11] = told;
        self
    }
}

/// These are odd, but have something that can be read.
const READABLE: [&str; 5] = [
    "100,000 changes of key",
    "100,000 chords",
    "a tempo without end",
    "200,000 notes at once",
    "no divisions",
];

/// Reads each of them in a process of its own that has little memory. It prints what it reads, how long that takes, and its peak of memory.
#[test]
fn hostile_files_are_refused_in_little_memory() {
    let folder = target().join("hostile");
    std::fs::create_dir_all(&folder).unwrap();
    let program = std::env::current_exe().unwrap();
    let mut wrong = Vec::new();
    for (name, bytes) in hostile() {
        let path = folder.join(name.replace([' ', ','], "-"));
        std::fs::write(&path, &bytes).unwrap();
        let limited = format!(
            "ulimit -v {MEMORY}; exec \"$0\" --exact reads_one_file --ignored --nocapture --test-threads 1"
        );
        let mut child = Command::new("sh");
        let child = child
            .arg("-c")
            .arg(limited)
            .arg(&program)
            .env("HALFBAR_HOSTILE", &path)
            .env("RUST_BACKTRACE", "0");
        let output = child.output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        let report =
            said.lines().find_map(|row| row.split_once("READ ").map(|(_, report)| report.to_string()));
        println!("{name} ({} bytes): {}", bytes.len(), report.as_deref().unwrap_or("no report"));
        let is_readable =
            READABLE.contains(&name) && report.as_ref().is_some_and(|report| report.contains("Ok"));
        let is_refused = report.as_ref().is_some_and(|report| report.contains("Err"));
        if !output.status.success() || !(is_refused || is_readable) {
            wrong.push(format!("{name}: {}\n{}", output.status, String::from_utf8_lossy(&output.stderr)));
        }
        std::fs::remove_file(path).unwrap();
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What the test above runs.
#[test]
#[ignore = "the test above runs it with little memory"]
fn reads_one_file() {
    let path = PathBuf::from(std::env::var_os("HALFBAR_HOSTILE").expect("a file"));
    let bytes = std::fs::read(path).unwrap();
    let start = Instant::now();
    let read = read_all(&bytes);
    let took = start.elapsed();
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|row| row.strip_prefix("VmHWM:")).unwrap_or("?").trim().to_string();
    println!("READ {read:?} in {} ms, {peak}", took.as_millis());
    std::io::stdout().flush().unwrap();
    if let Err(message) = read {
        assert!(message.len() > 10 && message.len() < 500 && !message.contains('\n'), "{message}");
    }
}

#[test]
fn truncated_files_are_refused_at_every_byte() {
    let piece = piece();
    for (kind, bytes) in [
        ("MusicXML", musicxml::document(&piece, TEXT, Staves::Both).unwrap().into_bytes()),
        ("compressed MusicXML", musicxml::compressed(&piece, TEXT, Staves::Both).unwrap()),
        ("MIDI", document(&piece, TEXT, &MidiOptions::default()).unwrap()),
    ] {
        assert_eq!(read_all(&bytes), Ok(()), "{kind}");
        // White space may follow the last tag.
        let whole = bytes.trim_ascii_end().len();
        for end in 0..whole {
            assert!(read_all(&bytes[..end]).is_err(), "{kind}: cut at byte {end}");
            refused(&bytes[..end]);
        }
        println!("{kind}: refused at each of {whole} bytes");
    }
}

#[test]
fn document_types_are_harmless() {
    let doctype = "<?xml version=\"1.0\"?><!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \
        \"http://www.musicxml.org/dtds/partwise.dtd\">";
    assert_eq!(read_all(format!("{doctype}{}", measure(NOTE)).as_bytes()), Ok(()));
    // Nothing of a file that an entity names gets into the line.
    let secret = target().join("secret");
    std::fs::write(&secret, "secret words").unwrap();
    let entity = format!(
        "<?xml version=\"1.0\"?><!DOCTYPE score-partwise [<!ENTITY e SYSTEM \"file://{}\">]>{}",
        secret.display(),
        measure(&format!("{NOTE}<direction><direction-type><words>&e;</words></direction-type></direction>"))
    );
    assert!(!refused(entity.as_bytes()).contains("secret words"));
}
