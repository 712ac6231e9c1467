//! The text format of `core/TEXT.md`: what is read, and which mistakes are found where.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use halfbar_core::chord::Quality;
use halfbar_core::line::{Degrees, Legato, NoteId};
use halfbar_core::read::{self, Reading};
use halfbar_core::{Piece, write};

/// Every diagnostic as `line:column code`.
fn wrong(text: &str) -> Vec<String> {
    places(&read::text(text))
}

fn places(reading: &Reading) -> Vec<String> {
    reading.diagnostics.iter().map(|d| format!("{}:{} {}", d.line, d.column, d.problem.code())).collect()
}

/// How many notes were read in spite of mistakes.
fn notes(text: &str) -> usize {
    let line = read::text(text).line;
    line.map_or(0, |line| line.events().iter().filter(|event| event.pitch.is_some()).count())
}

const PLAIN: &str = "C4 D E F G A B C |";

#[test]
fn the_documentation_of_the_format_is_correct() {
    let page = include_str!("../core/TEXT.md");
    let example: String = page
        .lines()
        .skip_while(|row| !row.starts_with("    title"))
        .take(8)
        .map(|row| row.trim_start().to_string() + "\n")
        .collect();
    let reading = read::text(&example);
    assert_eq!(places(&reading), [""; 0], "{example}");
    assert_eq!(reading.casting.windows().len(), 2);
    Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    for figure in halfbar_core::recast::Figure::all() {
        let start = format!("| `{}`", figure.name());
        let row = page.lines().find(|row| row.starts_with(&start)).unwrap();
        let bracket: Vec<_> = row.split('|').nth(2).unwrap().split_whitespace().map(String::from).collect();
        assert_eq!(bracket.join(" "), figure.to_string());
    }
    // The qualities can be read; alterations come after a number.
    let chords =
        page.lines().skip_while(|row| *row != "## Chords").take_while(|row| !row.starts_with("A quality"));
    let rows: Vec<_> = chords.filter(|row| row.starts_with("| ") && row.contains('`')).collect();
    assert_eq!(rows.len(), 8);
    for way in rows.iter().flat_map(|row| row.split('`').skip(1).step_by(2)) {
        let quality = if way.starts_with(['b', '#']) { format!("7{way}") } else { way.into() };
        assert!(quality.parse::<Quality>().is_ok(), "{quality}");
    }
    // The error at the end of TEXT.md is the real one.
    let shown: Vec<_> = page.lines().rev().take(3).map(|row| row.strip_prefix("    ").unwrap()).collect();
    let source = format!("\n\n{}", shown[1].trim_start());
    let messages = read::text(&source).diagnostics;
    let message = messages.iter().find(|d| d.problem.code() == "note").unwrap().render(&source);
    assert_eq!(message.lines().rev().collect::<Vec<_>>(), shown);
}

#[test]
fn everything_is_read() {
    let text = "title: Harbour Lane, week 3\nkey: C minor\nmeter: 2/2\ntempo: 96\nfeel: swing 1.6\ntuning: D2 A2 D3 G3 B3 E4\n\
                # a comment\n\n@Cm7 C4:1/3 Eb:1/3 G:1/3 r:2 F##:1~^2.8 | F##:1/2^2 @F7/A Bb:7/2 |\n@NC r:4";
    let reading = read::text(text);
    assert_eq!(places(&reading), [""; 0]);
    let line = reading.line.unwrap();
    let heading = line.heading();
    assert_eq!(heading.title, "Harbour Lane, week 3");
    assert_eq!(
        (
            line.bars().key(0).to_string(),
            line.bars().meter(0).to_string(),
            heading.tempo.to_string(),
            heading.feel.to_string()
        ),
        ("C minor".into(), "2/2".into(), "96".into(), "swing 1.6".into())
    );
    assert_eq!(heading.neck.tuning().to_string(), "drop-d");
    assert_eq!(line.chords().len(), 3);
    assert_eq!(line.bar_count(), 3);
}

/// Settings for the hands, as the text has them, and again in the text that is written.
#[test]
fn hands_are_read_and_written() {
    let text = "key: C\nmeter: 4/4\ntempo: 120\nfeel: swing auto\ntuning: fourths\nneck: 24 frets, 628 mm, capo 2\n\
                style: three-per-string\npicking: economy, slurs, first up\nhand: position 5 at 1.1 to 2.1\n\
                hand: strings 4-2 at 2.1 to 3.1\nhand: up at 2.3\nhand: slurs at 1.5/2\n\n\
                C4^4 D^/2 E^3.7/1d F^u  G A B C | D^4.22/4:1 E:1  F:2 |\n";
    let reading = read::text(text);
    assert_eq!(places(&reading), [""; 0]);
    let line = reading.line.unwrap();
    let wants = |index: usize| -> Vec<String> {
        line.constraints_on(&line.events()[index]).map(|want| want.to_string()).collect()
    };
    assert_eq!(wants(0), ["string 4", "position 5"]);
    assert_eq!(wants(2), ["string 3", "fret 7", "finger 1", "down", "position 5"]);
    assert_eq!(wants(3), ["up", "position 5", "slurs"]);
    assert_eq!(wants(10), ["strings 4-2", "up"]);
    let written = write::text::line(&line, &reading.casting).unwrap();
    assert_eq!(written, text.replace("^4.22/4:1", ":1^4.22/4"));
}

/// What is shown under the music, and what the writer calls some notes, as the text has it, and again in the text that is written.
#[test]
fn names_are_read_and_written() {
    let text = "key: Eb\nmeter: 4/4\ntempo: 120\nfeel: swing auto\nnames: yes\ndegrees: instead of fingers\n\
                call: my lick, look at it at 1.1 to 1.3\ncall: A♭maj7 at 1.3\n\n@Fm7 Bb3 G Ab C  Eb:2 |\n";
    let reading = read::text(text);
    assert_eq!(places(&reading), [""; 0]);
    let line = reading.line.unwrap();
    let heading = line.heading();
    assert_eq!((heading.names, heading.degrees), (true, Degrees::InsteadOfFingers));
    let calls: Vec<_> = line.calls().iter().map(|call| call.words()).collect();
    assert_eq!(calls, ["my lick, look at it", "A♭maj7"]);
    assert_eq!(write::text::line(&line, &reading.casting).unwrap(), text);
    assert_eq!(write::text::with_calls(PLAIN, &line).unwrap().lines().count(), 3);

    let wrong = |headers: &str| wrong(&format!("{headers}\n{PLAIN}"));
    assert_eq!(wrong("names: maybe\ndegrees: fingers"), ["1:8 names", "2:10 degrees"]);
    assert_eq!(wrong("call: C at 1.1 to 1.3\ncall: D at 1.2\ncall: D at 1.3"), ["2:12 call-twice"]);
    assert_eq!(
        wrong("call: C6\ncall: at 1.1\ncall:\ncall: C6 at"),
        ["1:7 call-form", "2:7 call-form", "3:6 call-form", "4:7 call-form"]
    );
    assert_eq!(
        wrong("call: C6 at 1.3 to 1.1\ncall: C6 at 5/4"),
        ["1:13 hand-backwards", "2:13 recast-place"]
    );
    assert_eq!(wrong("call: C6 at 2.1\ncall: C6 at 1.5/4"), ["1:13 hand-note", "2:13 hand-note"]);
    assert_eq!(wrong(&format!("call: {} at 1.1", "x".repeat(101))), ["1:7 call-words"]);
    assert_eq!(places(&read::text("call: rest at 1.1 to 1.3\nr:2 C4:2 |")), ["1:15 call-notes"]);
}

/// A passage is cut off at the end of the line. One that is a single note is written as a place, but one that is a single rest isn't.
#[test]
fn passages_for_the_hands_are_written_as_they_apply() {
    for (said, again) in [("1.1 to 9.1", "1.1 to 3.1"), ("1.1 to 1.3", "1.1 to 1.3"), ("1.3 to 2.1", "1.3")] {
        let reading = read::text(&format!("hand: position 5 at {said}\nr:2 C4:2 | D:4 |"));
        assert_eq!(places(&reading), [""; 0]);
        let written = write::text::line(&reading.line.unwrap(), &reading.casting).unwrap();
        assert!(written.contains(&format!("\nhand: position 5 at {again}\n")), "{written}");
        assert_eq!(wrong(&written), [""; 0]);
    }
}

#[test]
fn what_cannot_be_set_for_the_hands() {
    for (header, said) in [
        ("neck: 11 frets", "1:7 neck"),
        ("neck: wide", "1:7 neck"),
        ("style: sideways", "1:8 style"),
        ("picking: economy, hard", "1:10 picking"),
        ("hand: position 5", "1:7 hand-form"),
        ("hand: string 7 at 1.1", "1:7 hand-want"),
        ("hand: strings 7-2 at 1.1", "1:7 hand-want"),
        ("hand: fret 23 at 1.1", "1:7 hand-want"),
        ("hand: position 0 at 1.1", "1:7 hand-want"),
        ("hand: thumb at 1.1", "1:7 hand-want"),
        ("hand: up at 1.x", "1:13 recast-place"),
        ("hand: up at 9.1", "1:13 hand-note"),
        ("hand: up at 1.1, 1.5/4", "1:18 hand-note"),
        ("hand: up at 1.3 to 1.1", "1:13 hand-backwards"),
        ("hand: up at 1.3 to 1.3", "1:13 hand-backwards"),
        ("hand: up at 1.1 until 1.3", "1:17 hand-form"),
        ("hand: up at 1.1 to", "1:19 hand-form"),
        ("hand: up at 1.1 to 1.3 soon", "1:24 hand-form"),
        ("hand: up at 1.1,", "1:17 hand-form"),
    ] {
        assert_eq!(wrong(&format!("{header}\n{PLAIN}")), [said], "{header}");
    }
    assert_eq!(wrong("hand: up at 1.1\nr:2 C4:2 |"), ["1:13 hand-note"], "a rest is not played");
    for (word, said) in [
        ("C4^", "1:3 pin-form"),
        ("C4^/5", "1:3 pin-form"),
        ("C4^x", "1:3 pin-form"),
        ("C4^.3", "1:3 pin-form"),
    ] {
        assert_eq!(wrong(&format!("{word} D E F G A B C |")), [said], "{word}");
    }
}

/// A pin is put into its note's word, whatever is around it.
#[test]
fn pins_are_put_into_texts() {
    let pins = |text: &str, pins: &[(u32, &str)]| {
        let pins: Vec<_> =
            pins.iter().map(|&(note, pin)| (NoteId(note), pin.parse().unwrap_or_default())).collect();
        write::text::with_pins(text, &pins)
    };
    let text = "\u{FEFF}key: C\r\n@Cm7 (B3)C4_ D^3.7~:7/2 | D:2  r:2 |\r\n# C4\r\nE4:4 |";
    let put = pins(text, &[(0, "5.3/1"), (1, "4"), (3, "u")]);
    assert_eq!(put, "\u{FEFF}key: C\r\n@Cm7 (B3)C4_^5.3/1 D~:7/2^4 | D:2  r:2 |\r\n# C4\r\nE4:4^u |");
    assert_eq!(pins(&put, &[(0, ""), (1, ""), (3, "")]), text.replace("^3.7", ""));
    // In any order.
    assert_eq!(pins(text, &[(3, "u"), (1, "4"), (0, "5.3/1")]), put);
    // What follows an old pin stays, and a byte order mark is not part of the first word.
    assert_eq!(pins("\u{FEFF}C4^2_ D^3~ D:3 |", &[(0, "4"), (1, "")]), "\u{FEFF}C4_^4 D~ D:3 |");
    // For a note that isn't there, nothing changes.
    assert_eq!(pins(text, &[(99, "1")]), text);
    let with = write::text::with_header(text, "style", Some("along"));
    assert_eq!(with, text.replace("key: C\r\n", "key: C\r\nstyle: along\r\n"));
    assert_eq!(write::text::with_header(&with, "Style", None), text);
}

#[test]
fn octaves_are_the_nearest() {
    let reading = read::text("C4 G F B | ");
    let pitches: Vec<_> =
        reading.line.unwrap().events().iter().filter_map(|e| e.pitch).map(|p| p.to_string()).collect();
    assert_eq!(pitches, ["C4", "G3", "F3", "B3"]);
}

#[test]
fn bars_say_by_how_much() {
    assert_eq!(wrong("C4 D E F G A B |"), ["1:1 short-bar"]);
    assert!(
        read::text("C4 D E F G A B |").diagnostics[0]
            .to_string()
            .contains("bar 1 has seven eighths: one missing")
    );
    assert_eq!(wrong("C4 D E F G A B C D | C4:4 |"), ["1:1 long-bar"]);
    assert!(
        read::text("C4 D E F G A B C D |").diagnostics[0]
            .to_string()
            .contains("bar 1 has nine eighths: one too many")
    );
    assert_eq!(wrong("C4:4 | | D:4 |"), ["1:8 empty-bar"]);
    // What could be read is kept, and the bars after the wrong one stay in place.
    let line = read::text("C4 D E F G A B C D | E:4 |").line.unwrap();
    assert_eq!((line.bar_count(), line.events().last().unwrap().onset.to_string()), (2, "4".into()));
    assert_eq!(notes("C4 D E | F4:4 |"), 4);
    let line = read::text("C4:3 D:2 | E:4 |").line.unwrap();
    let lengths: Vec<_> = line.events().iter().map(|event| event.duration.to_string()).collect();
    assert_eq!(lengths, ["3", "1", "4"], "a note that is too long is cut at the bar line");
}

#[test]
fn headers() {
    assert_eq!(wrong(&format!("titel: x\n{PLAIN}")), ["1:1 unknown-header"]);
    assert_eq!(
        wrong(&format!("key: H\nmeter: 4/5\ntempo: 12\nfeel: bouncy\ntuning: E2\n{PLAIN}")),
        ["1:6 key", "2:8 meter", "3:8 tempo", "4:7 feel", "5:9 tuning"]
    );
    assert_eq!(wrong(&format!("key: G#\n{PLAIN}")), ["1:6 key"], "eight sharps");
    assert_eq!(wrong(&format!("key: C\nkey: D\n{PLAIN}")), ["2:6 repeated-header"]);
    assert_eq!(
        wrong(&format!("{PLAIN}\nKEY: Eb\n  tempo :  90")),
        [""; 0],
        "after the music, in capitals, spaced"
    );
    assert_eq!(wrong("Bb3:2 r:2 |\nAbb:4 |"), [""; 0], "notes are not headers");
    assert_eq!(wrong(&format!("title: {}\n{PLAIN}", "x".repeat(201))), ["1:8 title"]);
}

#[test]
fn pickups_and_changes_of_meter() {
    let text = "meter: 4/4\npickup: 1\nC4 D | E:4 | 3/4 E:3 | 7/8 3+2+2 E:7/2 | 7/8 E:7/2 | 3/4 3 E:2 |";
    let reading = read::text(text);
    assert_eq!(places(&reading), [] as [&str; 0]);
    let line = reading.line.unwrap();
    let meters: Vec<_> = (0..line.bar_count()).map(|bar| line.bars().meter(bar).to_string()).collect();
    assert_eq!(meters, ["4/4", "4/4", "3/4", "7/8 3+2+2", "7/8", "3/4 3"]);
    let starts: Vec<_> = (0..6).map(|bar| line.bar(bar).unwrap().start().to_string()).collect();
    assert_eq!(starts, ["0", "1", "5", "8", "23/2", "15"]);
    assert_eq!(line.end().to_string(), "17", "the last bar is short by the pickup");
    let again = write::text::line(&line, &reading.casting).unwrap();
    assert_eq!(read::text(&again).line.unwrap(), line, "{again}");

    assert_eq!(wrong("pickup: 4\nC4:4 |"), ["1:9 pickup"]);
    assert_eq!(wrong("pickup: 1/3\nC4:4 |"), ["1:9 pickup"]);
    assert_eq!(wrong("pickup: long\nC4:4 |"), ["1:9 pickup"]);
    assert_eq!(wrong("pickup: 1\nC4 | E:4 |"), ["2:1 short-bar"]);
    // Only the last bar may be short, and only by the pickup's length.
    assert_eq!(wrong("pickup: 1\nC4:1 | E:3 | E:4 |"), ["2:8 short-bar"]);
    assert_eq!(wrong("pickup: 1\nC4:1 | E:4 | E:2 |"), ["2:14 short-bar"]);
    assert_eq!(wrong("3/4 C4:3 |"), ["1:1 meter-place", "1:5 short-bar"]);
    assert_eq!(wrong("C4:4 | C:1 3/4 C:3 |"), ["1:12 meter-place"]);
    assert_eq!(wrong("C4:4 | 11/8 C:4 | 7/8 3+3 C:7/2 |"), ["1:8 meter", "1:23 groups"]);
    assert_eq!(wrong("C4:4 | 3+3 C:4 | 3/4"), ["1:8 groups-alone"]);
    assert_eq!(
        wrong("pickup: 1\nrecast: split-last at 0.1, 0.4\nC4 D | E F G A E F G A |"),
        ["2:23 place", "2:28 window"]
    );
}

/// Unfinished text gets a remark about what is missing at the end, and is read so far.
#[test]
fn unfinished_text_is_read_so_far() {
    for (end, remarks) in [
        ("D", vec!["1:20 open-bar"]),
        ("D E F G", vec!["1:20 open-bar"]),
        ("D E F G:1/3", vec!["1:20 open-bar"]),
        ("D~", vec!["1:20 open-bar", "1:21 tie"]),
        ("D_", vec!["1:20 open-bar", "1:21 join"]),
        ("@G7", vec!["1:20 chord-at-end"]),
        ("3/4", vec!["1:20 change-at-end"]),
        ("=G", vec!["1:20 change-at-end"]),
        ("D:4", vec![]),
    ] {
        let reading = read::text(&format!("{PLAIN} {end}"));
        assert_eq!(places(&reading), [] as [&str; 0], "{end}");
        let found: Vec<_> = reading
            .remarks
            .iter()
            .map(|one| format!("{}:{} {}", one.line, one.column, one.problem.code()))
            .collect();
        let mut found: Vec<&str> = found.iter().map(String::as_str).collect();
        found.sort_unstable();
        assert_eq!(found, remarks, "{end}");
        let line = reading.line.unwrap();
        assert_eq!(line.bar_count(), if end.starts_with('D') { 2 } else { 1 }, "{end}");
        // A bar line says that the bar is finished: now it is a mistake.
        let closed = wrong(&format!("{PLAIN} {end} |"));
        assert_eq!(closed.is_empty(), end == "D:4", "{end}: {closed:?}");
    }
    let reading = read::text("C4 D E F G A B C | D E F");
    assert_eq!(reading.remarks[0].problem.to_string(), "bar 2 so far has three eighths: five to come");
}

#[test]
fn key_changes_and_system_breaks() {
    let text = "key: Eb\nsystems: 2 at 4, 9\nEb4:4 | =G 3/4 G:3 | 4/4 =Cm C:4 | =Cm C:4 |";
    let reading = read::text(text);
    assert_eq!(places(&reading), [] as [&str; 0]);
    let line = reading.line.unwrap();
    let keys: Vec<_> = (0..4).map(|bar| line.bars().key(bar).to_string()).collect();
    assert_eq!(keys, ["Eb", "G", "C minor", "C minor"]);
    assert_eq!(line.heading().systems.to_string(), "2 at 4, 9");
    let again = write::text::line(&line, &reading.casting).unwrap();
    assert_eq!(read::text(&again).line.unwrap(), line, "{again}");
    assert_eq!(wrong("=Eb C4:4 |"), ["1:1 key-place"]);
    assert_eq!(wrong("C4:4 | C:2 =G C:2 | =Hm C:4 | =G#m"), ["1:12 key-place", "1:21 key"]);
    assert_eq!(wrong("systems: at 9, 5\nC4:4 |"), ["1:10 systems"]);
    assert_eq!(wrong("systems: 0\nC4:4 |"), ["1:10 systems"]);
    assert_eq!(wrong("systems: many\nC4:4 |"), ["1:10 systems"]);
}

#[test]
fn notes_and_rests() {
    assert_eq!(wrong("C D E F G A B C |"), ["1:1 no-octave"]);
    assert_eq!(notes("C D E F G A B C |"), 8);
    assert_eq!(wrong("C4 X x D E F G A B"), ["1:4 note", "1:6 note"]);
    assert_eq!(wrong("C4 D E F G A B E7 |"), ["1:16 off-neck"]);
    assert_eq!(wrong("D2 E F G A B C E2 |"), ["1:1 off-neck"]);
    assert_eq!(wrong("C0 D0 E0 F0 G0 A0 B0 C0 |").len(), 8);
    assert_eq!(wrong("C0:4 | B:4 |"), ["1:1 off-neck", "1:8 too-low", "1:12 empty-bar"]);
    assert_eq!(
        wrong("C4:0 D:x E:1/0 F:99 G:1/11 A:-1 |"),
        [
            "1:1 short-bar",
            "1:3 length",
            "1:7 length",
            "1:11 length",
            "1:17 length",
            "1:22 length",
            "1:29 length"
        ]
    );
    assert_eq!(wrong("C4:1:2 D:3 |"), ["1:1 short-bar", "1:5 suffix"]);
    assert_eq!(wrong("C4!2 D:7/2 |"), ["1:3 suffix"]);
    assert_eq!(wrong("r:2~ C4:4 |"), ["1:1 rest-suffix"]);
    assert_eq!(wrong("q:4 C4:4 |"), ["1:1 note"]);
}

/// German and Dutch names, lowercase letters, signs: common practice, no source.
#[test]
fn foreign_names() {
    // They are read as they were meant, so the bar is full.
    let text = "C4 H c fis Bes (es)As4 H#:1/2^2 ces~ | ces:4 |";
    let reading = read::text(text);
    let said: Vec<_> = reading.diagnostics.iter().map(ToString::to_string).collect();
    let advice = [
        ("4", "H", "B"),
        ("6", "c", "C"),
        ("8", "fis", "F#"),
        ("12", "Bes", "Bb"),
        ("17", "es", "Eb"),
        ("20", "As4", "Ab4"),
        ("24", "H#:1/2^2", "B#:1/2^2"),
        ("33", "ces~", "Cb~"),
        ("40", "ces:4", "Cb:4"),
    ];
    let wanted = advice
        .map(|(column, text, instead)| format!("1:{column}: `{text}` is not a note here: write `{instead}`"));
    assert_eq!(said, wanted);
    let line = reading.line.unwrap();
    let pitches: Vec<_> =
        line.events().iter().filter_map(|event| event.pitch).map(|p| p.to_string()).collect();
    assert_eq!(pitches, ["C4", "B3", "C4", "F#4", "Bb4", "Ab4", "B#4", "Cb5"]);
    assert_eq!(wrong("key: Es\nC4:4 | =fism C:4 |"), ["1:6 key", "2:8 key"]);

    let signs =
        "key: B♭ minor\ntuning: E♭2 A♭2 D♭3 G♭3 B♭3 E♭4\n@F♯m7♭5/A♭ C4 (D♭)E♭ F♯:1~^5 F♯:1 G𝄪 E𝄫 | =A♭ C:4 |";
    let reading = read::text(signs);
    assert_eq!(places(&reading), [] as [&str; 0]);
    let typed = write::text::line(&reading.line.unwrap(), &reading.casting).unwrap();
    assert!(
        typed.starts_with("key: Bb minor\n") && typed.contains("\ntuning: Eb2 Ab2 Db3 Gb3 Bb3 Eb4\n"),
        "{typed}"
    );
    assert!(typed.ends_with("\n@F#m7b5/Ab C4 (Db)Eb F#:2^5 G## Ebb | =Ab  C:4 |\n"), "{typed}");
}

#[test]
fn ties() {
    assert_eq!(wrong("C4:2~ D:2 |"), ["1:5 tie"]);
    assert_eq!(wrong("C4:2~ r:2 |"), ["1:5 tie"]);
    assert_eq!(wrong("C4:4~ |"), ["1:5 tie"]);
    assert_eq!(notes("C4:4~ | C:4~ | C:4 |"), 1);
}

#[test]
fn slurs_and_slides() {
    let reading = read::text("C4_ D:1_s^2 E:1/2~ E_ G A:1 | G:4~ | G_ A B:3 |");
    assert_eq!(places(&reading), [] as [&str; 0]);
    let line = reading.line.unwrap();
    let joins: Vec<_> = line.events().iter().map(|event| event.legato).collect();
    let (slur, slide) = (Some(Legato::Slur), Some(Legato::Slide));
    assert_eq!(joins, [slur, slide, slur, None, None, slur, None, None]);
    let again = write::text::line(&line, &reading.casting).unwrap();
    assert_eq!(read::text(&again).line.unwrap(), line, "{again}");
    assert_eq!(
        wrong("C4_ C_ r D__ D_x E F G_ |"),
        ["1:3 join", "1:6 join", "1:12 suffix", "1:15 suffix", "1:23 join"]
    );
}

#[test]
fn grace_notes() {
    let reading = read::text("(B3)C4 (Ab)A:1~ A:1/2_ (F#5)G:2~ | (F)G:4 |");
    assert_eq!(places(&reading), [] as [&str; 0]);
    let line = reading.line.unwrap();
    let graces: Vec<_> =
        line.events().iter().map(|event| event.grace.map_or("-".into(), |grace| grace.to_string())).collect();
    assert_eq!(graces, ["B3", "Ab3", "F#5"], "a tied note has no grace note of its own");
    let again = write::text::line(&line, &reading.casting).unwrap();
    assert_eq!(read::text(&again).line.unwrap(), line, "{again}");
    assert_eq!(
        wrong("(C4) D E (F G (X)A (A2 B |"),
        ["1:1 grace", "1:6 no-octave", "1:10 grace", "1:16 note", "1:20 grace"]
    );
    assert_eq!(wrong("(C9)C4:4 |"), ["1:2 off-neck"]);
}

#[test]
fn pins() {
    assert_eq!(wrong("C4:4^2.1 |"), [""; 0]);
    assert_eq!(wrong("C4:4^9 |"), ["1:5 pin-form"]);
    assert_eq!(wrong("C4:4^2.30 |"), ["1:5 pin-form"]);
    assert_eq!(wrong("C4:4^x |"), ["1:5 pin-form"]);
    assert_eq!(wrong("C4:4^2.3 |"), ["1:5 pin-pitch"]);
    assert!(read::text("C4:4^2.3 |").diagnostics[0].to_string().contains("D4 sounds there"));
    assert_eq!(wrong("C4:4^1 |"), ["1:5 pin-string"]);
}

#[test]
fn chords() {
    assert_eq!(wrong(&format!("@hm7 {PLAIN}")), ["1:1 chord"]);
    assert_eq!(wrong(&format!("@C7 @F7 {PLAIN}")), ["1:5 chord-twice"]);
    let said = |chord: &str| read::text(&format!("@{chord} {PLAIN}")).diagnostics[0].to_string();
    assert_eq!(said("Hm7"), "1:1: `Hm7` is not a chord: write `Bm7`");

    // A quality that can't be read is only a remark: the text is correct.
    let reading = read::text(&format!("@C7 {PLAIN} @C2 {PLAIN} @Gblah7/B C4:2 @Es7 D:2 |"));
    assert_eq!(places(&reading), [] as [&str; 0]);
    let remarks: Vec<_> = reading.remarks.iter().map(ToString::to_string).collect();
    let until = "until then, the chord is drawn as written and only its bass sounds";
    let wanted = [
        "1:24: `2` can mean `sus2` or `add9`: write the one you mean",
        "1:47: `lah` has no meaning in a chord symbol; write qualities such as `m7b5`, `maj7#11`, `7(b9,b13)`, `9sus`, `6/9`, `(add9)`",
        "1:62: `Es7` is not a chord: write `Eb7`",
    ];
    assert_eq!(remarks, wanted.map(|why| format!("{why}; {until}")));
    assert_eq!(reading.remarks[0].problem.code(), "chord-quality");
}

#[test]
fn recasts() {
    let wrong = |recast: &str| wrong(&format!("recast: {recast}\n{PLAIN} C4:1 D E F G A B | r:4 |"));
    assert_eq!(wrong("split-last at 1.1 bracket, 1.3 tied"), [""; 0]);
    assert_eq!(wrong("split-last at 1.1"), [""; 0]);
    assert_eq!(wrong("wobble at 1.1"), ["1:9 figure"]);
    assert_eq!(wrong(""), ["1:1 recast-form"]);
    assert_eq!(wrong("split-last"), ["1:19 recast-form"]);
    assert_eq!(wrong("split-last at"), ["1:22 recast-form"]);
    assert_eq!(wrong("split-last at 1.1,"), ["1:27 recast-form"]);
    assert_eq!(wrong("split-last at here"), ["1:23 recast-place"]);
    assert_eq!(wrong("split-last at 1.1 sideways"), ["1:27 spelling"]);
    assert_eq!(wrong("split-last at 1.1, 1.1 tied"), ["1:28 recast-twice"]);
    assert_eq!(wrong("split-last at 1.5"), ["1:23 place"]);
    assert_eq!(wrong("split-last at 9.1"), ["1:23 window"]);
    assert_eq!(wrong("split-last at 1.2"), ["1:23 window"]);
    assert_eq!(wrong("split-last at 3.1"), ["1:23 window"]);
    let says = |recast: &str, words: &str| {
        let text = format!("recast: {recast}\n{PLAIN} C4:1 D E F G A B | C:3/2 D:1 E:3/2 |");
        let message = read::text(&text).diagnostics[0].to_string();
        assert!(message.ends_with(words), "{message}");
    };
    says(
        "split-last at 2.1",
        "bar 2 beat 1: there are 3 notes here and this figure takes 4; repeat the last one (`repeat-last`) or end with a rest (`rest-last`)",
    );
    says("split-last at 3.3", "bar 3 beat 3: a note is held over into beat 3");
    says("split-last at 3.1", "bar 3 beat 1: a note is held over into beat 3");
}

#[test]
fn options_of_windows() {
    let bar = "C4 D E F G F E D |";
    let text = format!("recast: accent-3 at 1.1 to 4.1 grouped, 4.1\n{}", bar.repeat(4));
    let reading = read::text(&text);
    assert_eq!(places(&reading), [] as [&str; 0]);
    assert_eq!(reading.casting.windows().len(), 9);
    assert!(text.starts_with(
        &write::text::with_casting("", &reading.casting, reading.line.unwrap().bars()).unwrap()[..43]
    ));

    let remarks = |text: &str| -> Vec<String> {
        let reading = read::text(text);
        assert_eq!(places(&reading), [] as [&str; 0]);
        reading.remarks.iter().map(|remark| remark.to_string()).collect()
    };
    assert_eq!(
        remarks(&format!("recast: accent-3 at 1.1 to 2.1\n{bar}{bar}")),
        ["1:28: the remainder, a quarter note from bar 1 beat 4 on, stays plain"]
    );
    assert_eq!(wrong(&format!("recast: split-last at 1.1 to 1.2\n{bar}")), ["1:30 nothing-repeated"]);
    assert_eq!(wrong(&format!("recast: split-last at 1.1 to 3.1\n{bar} C4:4 |")), ["1:23 window"]);
    assert_eq!(wrong(&format!("recast: split-last at 1.1 to\n{bar}")), ["1:27 recast-form"]);
    assert_eq!(wrong(&format!("recast: split-last at 1.1 to 9\n{bar}")), ["1:30 recast-place"]);

    let sounding = |fit: &str| {
        let reading =
            read::text(&format!("recast: split-last at 1.1 {fit}, 1.3 {fit}\nC4 D E:1/4 F:1/4 G F:1 E C |"));
        let piece = halfbar_core::Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        let names = piece
            .timed()
            .events
            .iter()
            .map(|event| event.pitch.map_or("r".into(), |pitch| pitch.name.to_string()));
        (
            names.collect::<Vec<_>>().join(" "),
            piece.timed().windows.iter().map(|window| window.left_out.len()).sum::<usize>(),
        )
    };
    // Five notes, and three, for a figure of four: an option that doesn't apply leaves the window plain.
    assert_eq!(sounding("keep-first"), ("C D E F F E C".into(), 1));
    assert_eq!(sounding("keep-last"), ("D E F G F E C".into(), 1));
    assert_eq!(sounding("repeat-last"), ("C D E F G F E C C".into(), 0));
    assert_eq!(sounding("rest-last"), ("C D E F G F E C r".into(), 0));
    assert_eq!(wrong("recast: split-last at 1.1 rest-last\nC4 D E:1/4 F:1/4 G F:2 |"), ["1:23 window"]);
}

#[test]
fn odd_files() {
    assert_eq!(wrong(""), ["1:1 no-music"]);
    assert_eq!(wrong("# nothing\n\n"), ["1:1 no-music"]);
    assert_eq!(wrong("key: Eb\n"), ["1:1 no-music"]);
    assert_eq!(wrong("key: Eb\r\nC4 D E F\tG A B C |\r\n"), [""; 0], "CRLF and tabs");
    assert_eq!(wrong(&format!("\u{feff}{PLAIN}")), [""; 0], "a byte order mark");
    let broken = read::bytes(b"key: Eb\nC4 D \xff E F G A B C |");
    assert_eq!(places(&broken), ["2:6 utf8", "2:6 note"]);
    assert_eq!(broken.line.unwrap().events().len(), 8, "and everything else is read");
}

#[test]
fn a_large_file_is_read() {
    let bars = 1_000_000 / PLAIN.len() + 1;
    let text = format!("{PLAIN}\n").repeat(bars);
    assert!(text.len() > 1_000_000);
    let reading = read::text(&text);
    assert_eq!(reading.diagnostics.len(), 0);
    assert_eq!(reading.line.unwrap().bar_count(), bars);
    // Garbage of the same size is read to its end too, with a limited list of mistakes.
    let reading = read::text(&"x y z ".repeat(170_000));
    assert_eq!(reading.diagnostics.len(), 101);
    assert_eq!(reading.diagnostics[100].problem.code(), "more");
    assert_eq!(wrong(&"C".repeat(2_000_001)), ["1:1 too-long"]);
}

#[test]
fn the_caret_is_under_the_mistake() {
    let source = format!("{}H{} |", "C4 ".repeat(40), " D".repeat(60));
    let diagnostic =
        read::text(&source).diagnostics.into_iter().find(|d| d.problem.code() == "note").unwrap();
    let rendered = diagnostic.render(&source);
    let rows: Vec<_> = rendered.lines().collect();
    assert_eq!(rows[1].chars().nth(rows[2].find('^').unwrap()), Some('H'));
    assert!(rows[1].starts_with("  ...") && rows[1].ends_with("..."));
    let tabs = "\tC4\tH";
    let diagnostic = read::text(tabs).diagnostics.into_iter().find(|d| d.problem.code() == "note").unwrap();
    assert_eq!(diagnostic.render(tabs).lines().nth(2), Some("  \t  \t^"));
}

#[test]
fn rewriting_the_casting_keeps_what_was_written() {
    let source = "# mine\r\nkey: Eb\r\nrecast: split-last at 1.1\r\n\r\n  F3 Ab C Eb G F Eb C |  # not a comment here\r\n";
    let bars = halfbar_core::bars::Bars::new(halfbar_core::meter::Meter::COMMON);
    let reading = read::text(source);
    let mut casting = reading.casting;
    casting.restore(halfbar_core::time::Onset::ZERO);
    let text = write::text::with_casting(source, &casting, &bars).unwrap();
    assert_eq!(text, source.replace("recast: split-last at 1.1\r\n", ""));
    // Headers in capitals are still headers.
    let capitals = write::text::with_casting(&source.replace("recast:", "ReCast:"), &casting, &bars).unwrap();
    assert_eq!(capitals, text);
}

#[test]
fn user_defined_figures() {
    let wrong = |headers: &str| wrong(&format!("{headers}\n{PLAIN} {PLAIN}"));
    assert_eq!(wrong("figure: lilt = 2/3 1/3 1/3 2/3\nrecast: lilt at 1.1, 1.3 tied, 2.2 plain"), [""; 0]);
    assert_eq!(wrong("recast: lilt at 1.1\nfigure: lilt = 1 1/2 1/4 1/4"), [""; 0], "in any order");
    assert_eq!(wrong("figure: lilt"), ["1:9 figure-form"]);
    assert_eq!(wrong("figure: Lilt = 1 1"), ["1:9 figure-name"]);
    assert_eq!(wrong("figure: split-last = 1 1"), ["1:9 figure-name"], "the catalogue has it");
    assert_eq!(wrong("figure: a = 1 1\nfigure: a = 2"), ["2:9 figure-name"], "twice");
    assert_eq!(wrong("figure: a = 2/3 2/3 1/3 1/4"), ["1:9 figure-lengths"]);
    // Windows that overlap, or that hide what has to be visible.
    assert_eq!(wrong("recast: accent-3 at 1.1, 1.2"), ["1:26 window"]);
    assert_eq!(wrong("recast: split-last at 1.2 bracket"), ["1:23 window"]);
    assert_eq!(wrong("recast: dotted-pairs at 1.1 tied"), ["1:25 window"]);
}
