//! Small files for every rule of reading MusicXML (the meaning of its elements: W3C, *MusicXML 4.0*), and for every message.

use halfbar_core::Piece;
use halfbar_core::exchange::musicxml::{Staves, document};
use halfbar_core::exchange::{self, Choice, Contents, Imported, Keep, Remark};
use halfbar_core::line::Legato;
use halfbar_core::read;
use halfbar_core::recast::Figure;

/// Eighths are the unit of time.
const FOUR: &str =
    "<attributes><divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>";

/// A file with these bars in one part.
fn file(bars: &[&str]) -> String {
    whole("", bars)
}

/// A file with something before its only part.
fn whole(head: &str, bars: &[&str]) -> String {
    let bars: String = bars.iter().enumerate().map(|(index, bar)| numbered(index + 1, "", bar)).collect();
    format!(
        "<score-partwise>{head}<part-list><score-part id='P'><part-name>Flute</part-name></score-part></part-list>\
         <part id='P'>{bars}</part></score-partwise>"
    )
}

fn numbered(number: usize, attributes: &str, content: &str) -> String {
    format!("<measure number='{number}' {attributes}>{content}</measure>")
}

/// Notes such as `C4:2`, with a length in eighths; `r:2` is a rest. Whatever follows after `;` goes into the element.
fn notes(notes: &str) -> String {
    notes.split_whitespace().map(|note| with(note, "")).collect()
}

/// A note with more in it after its voice.
fn with(note: &str, more: &str) -> String {
    let (name, length) = note.split_once(':').unwrap();
    format!("<note>{}<duration>{length}</duration><voice>1</voice>{more}</note>", sound(name))
}

fn sound(name: &str) -> String {
    if name == "r" {
        return "<rest/>".into();
    }
    let (step, rest) = name.split_at(1);
    let (alter, octave) = match rest.split_at(1) {
        ("b", octave) => (-1, octave),
        ("#", octave) => (1, octave),
        _ => (0, rest),
    };
    format!("<pitch><step>{step}</step><alter>{alter}</alter><octave>{octave}</octave></pitch>")
}

fn opened(file: &str) -> Contents {
    exchange::open(file.as_bytes()).unwrap()
}

fn taken(file: &str) -> Imported {
    let contents = opened(file);
    contents.take(&contents.usual().unwrap()).unwrap()
}

/// The rows of the text that come after the headings, as one.
fn music(file: &str) -> String {
    music_of(&taken(file))
}

fn music_of(imported: &Imported) -> String {
    let (_, music) = imported.text.split_once("\n\n").unwrap();
    music.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The message, if a file can't be opened or its usual voice can't be taken.
fn refusal(file: &str) -> String {
    let message = exchange::open(file.as_bytes()).and_then(|contents| {
        let choice = contents.usual().unwrap();
        contents.take(&choice)
    });
    message.unwrap_err().to_string()
}

fn bar(content: &str) -> String {
    format!("{FOUR}{content}")
}

#[test]
fn time_comes_from_durations() {
    let first = bar(&notes("C4:1 D4:1 E4:2 r:4"));
    assert_eq!(music(&file(&[&first, &notes("F4:3 G4:1 A4:4")])), "C4 D E:1 r:2 | F:3/2 G A:2 |");
}

#[test]
fn titles_tempos_and_feels() {
    let heading =
        |head: &str, more: &str| taken(&whole(head, &[&bar(&format!("{more}{}", notes("C4:8")))])).text;
    let text = heading(
        "<work><work-title> A\n walk </work-title></work><movement-title>I</movement-title>",
        "<direction><direction-type><words>Medium Swing</words></direction-type><sound tempo='151.6'/></direction>",
    );
    assert!(text.starts_with("title: A walk\nkey: C\nmeter: 4/4\ntempo: 152\nfeel: swing auto\n"), "{text}");
    let text = heading(
        "<movement-title>I</movement-title>",
        "<direction><direction-type><metronome><beat-unit>half</beat-unit><per-minute>70</per-minute></metronome></direction-type></direction>\
         <sound><swing><first>5</first><second>3</second></swing></sound>",
    );
    assert!(text.starts_with("title: I\n") && text.contains("tempo: 140\nfeel: swing 1.67\n"), "{text}");
    assert!(heading("", "").contains("feel: straight\n"));
}

#[test]
fn written_pitches_are_transposed() {
    // A part for a clarinet in B flat: written D major sounds as C major.
    let first = "<attributes><divisions>2</divisions><key><fifths>2</fifths></key><transpose><diatonic>-1</diatonic>\
                 <chromatic>-2</chromatic></transpose></attributes><harmony><root><root-step>D</root-step></root><kind>minor-seventh</kind></harmony>";
    let text = taken(&file(&[&format!("{first}{}", notes("D4:4 F#4:4"))])).text;
    assert!(text.contains("key: C\n") && text.ends_with("@Cm7 C4:2  E:2 |\n"), "{text}");
}

#[test]
fn pickups_and_bars_in_parts() {
    let pickup = taken(&file(&[&bar(&notes("G4:2")), &notes("C5:8"), &notes("D5:6")]));
    assert!(pickup.text.contains("pickup: 1\n"));
    assert_eq!(music_of(&pickup), "G4:1 | C:4 | D:3 |");

    let joined = taken(&file(&[&bar(&notes("C4:8")), &notes("D4:6"), &notes("E4:2"), &notes("F4:8")]));
    assert_eq!(music_of(&joined), "C4:4 | D:3 E:1 | F:4 |");
    assert_eq!(joined.remarks, [Remark::Joined { bars: 1 }]);

    let filled = taken(&file(&[&bar(&notes("C4:8")), &notes("D4:6"), &notes("F4:8")]));
    assert_eq!(music_of(&filled), "C4:4 | D:3 r:1 | F:4 |");
    assert_eq!(filled.remarks, [Remark::Filled { bars: 1 }]);

    // A tie stays one.
    let tied = with("D4:6", "<notations><tied type='start'/></notations>");
    let filled = music(&file(&[&bar(&notes("C4:8")), &tied, &notes("D4:8")]));
    assert_eq!(filled, "C4:4 | r:1 D:3~ | D:4 |");

    let long = refusal(&file(&[&bar(&notes("C4:8")), &notes("D4:8 E4:1")]));
    assert_eq!(
        long,
        "Flute, bar 2 beat 1: this bar is 9/2 quarter notes long, but a bar of 4/4 has 4; correct its meter or split it"
    );
}

#[test]
fn meters_and_keys_change() {
    let time = |beats: &str, unit: &str| {
        format!(
            "<attributes><divisions>2</divisions><time><beats>{beats}</beats><beat-type>{unit}</beat-type></time></attributes>"
        )
    };
    let seven = format!("{}{}", time("3+2+2", "8"), notes("C4:3 D4:4"));
    let four = format!("{}{}", bar(""), notes("E4:8"));
    let key = format!(
        "<attributes><key><fifths>-3</fifths><mode>minor</mode></key></attributes>{}",
        notes("Eb4:8")
    );
    let text = taken(&file(&[&seven, &four, &key])).text;
    assert!(text.contains("meter: 7/8 3+2+2\n"), "{text}");
    assert!(
        text.ends_with("C4:3/2 D:2 | [4/4] E:4 | [Cm] Eb:4 |\n")
            || text.contains("4/4") && text.contains("Cm"),
        "{text}"
    );
    let unknown = refusal(&file(&[&format!("{}{}", time("11", "8"), notes("C4:8"))]));
    assert!(
        unknown.starts_with("Flute, bar 1 beat 1: the meter 11/8 is not supported; those that are: 4/4, 2/2"),
        "{unknown}"
    );
}

#[test]
fn a_score_by_bars_is_the_same() {
    let (first, second) = (bar(&notes("C4:8")), notes("D4:8"));
    let head = "<part-list><score-part id='P'><part-name>Flute</part-name></score-part></part-list>";
    let timewise = format!(
        "<score-timewise>{head}<measure number='1'><part id='P'>{first}</part></measure>\
         <measure number='2'><part id='P'>{second}</part></measure></score-timewise>"
    );
    assert_eq!(taken(&timewise), taken(&file(&[&first, &second])));
}

#[test]
fn notes_that_sound_together() {
    let chord = format!(
        "{}<note><chord/>{}<duration>4</duration></note>{}",
        with("C4:4", ""),
        sound("E4"),
        with("D4:4", "")
    );
    let together = file(&[&bar(&notes("C4:8")), &chord]);
    assert_eq!(
        refusal(&together),
        "bar 2 beat 1: two notes sound together; take the top one, the bottom one, or another voice"
    );
    let contents = opened(&together);
    let voice = &contents.parts[0].staves[0].voices[0];
    assert_eq!((voice.notes, voice.together), (4, 2));
    let kept = |keep| contents.take(&Choice { keep, ..Choice::default() }).unwrap();
    assert_eq!(music_of(&kept(Keep::Top)), "C4:4 | E:2 D:2 |");
    assert_eq!(music_of(&kept(Keep::Bottom)), "C4:4 | C:2 D:2 |");
    let left_out = Remark::LeftOut { what: "note sounding together with another", count: 1 };
    assert_eq!(kept(Keep::Top).remarks, [left_out]);
}

#[test]
fn voices_and_staves_are_listed() {
    let second = |note: &str, voice: u8, staff: u8| {
        let (name, length) = note.split_once(':').unwrap();
        format!(
            "<note>{}<duration>{length}</duration><voice>{voice}</voice><staff>{staff}</staff></note>",
            sound(name)
        )
    };
    let back = "<backup><duration>8</duration></backup>";
    let two = bar(&[
        second("C5:8", 1, 1),
        back.into(),
        second("C4:4", 2, 1),
        second("D4:4", 2, 1),
        back.into(),
        second("C3:8", 5, 2),
    ]
    .concat());
    let contents = opened(&file(&[&two]));
    let voices = |staff: usize| -> Vec<(String, usize)> {
        contents.parts[0].staves[staff].voices.iter().map(|voice| (voice.name.clone(), voice.notes)).collect()
    };
    assert_eq!(voices(0), [("1".into(), 1), ("2".into(), 2)]);
    assert_eq!(voices(1), [("5".into(), 1)]);
    let other = contents.take(&Choice { voice: 1, ..Choice::default() }).unwrap();
    assert_eq!(music_of(&other), "C4:2 D:2 |");
    assert!(contents.take(&Choice { part: 3, ..Choice::default() }).is_err());
    // Voices that never sound together are one.
    let turns = bar(&[second("C5:4", 1, 1), second("D5:4", 2, 1)].concat());
    let contents = opened(&file(&[&turns]));
    assert_eq!(contents.parts[0].staves[0].voices[0].name, "1+2");
}

#[test]
fn a_tab_staff_that_repeats_another_is_merged() {
    let reading = read::text("feel: straight\nC4^2 E G A  G E C A |");
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let contents = opened(&document(&piece, "", Staves::Both).unwrap());
    assert_eq!(contents.parts[0].staves.len(), 1);
    let staff = &contents.parts[0].staves[0];
    assert_eq!((staff.number, staff.is_fretted, staff.voices[0].notes), (1, true, 8));
    // The pin is needed, and the only one.
    let text = contents.take(&Choice::default()).unwrap().text;
    assert_eq!(text.matches('^').count(), 1, "{text}");
}

#[test]
fn ties_graces_and_joins() {
    let tie = |edge: &str| format!("<notations><tied type='{edge}'/></notations>");
    let tied = [bar(&with("C4:8", &tie("start"))), [with("C4:2", &tie("stop")), notes("D4:6")].concat()];
    assert_eq!(music(&file(&[&tied[0], &tied[1]])), "C4:4~ | C:1 D:3 |");
    // Not every program says where a tie stops.
    let open = [with("C4:2", ""), notes("D4:6")].concat();
    assert_eq!(music(&file(&[&tied[0], &open])), "C4:4~ | C:1 D:3 |");

    let grace = |name: &str| format!("<note><grace slash='yes'/>{}<voice>1</voice></note>", sound(name));
    let graces = [grace("B3"), grace("D4"), notes("C4:8")].concat();
    let imported = taken(&file(&[&bar(&graces)]));
    assert_eq!(imported.line.events()[0].grace, Some("D4".parse().unwrap()));
    assert_eq!(imported.remarks, [Remark::LeftOut { what: "grace note", count: 1 }]);

    let join = |what: &str| with("C4:2", &format!("<notations>{what}</notations>"));
    let hammer = join("<technical><hammer-on type='start'>H</hammer-on></technical><slur type='start'/>");
    assert_eq!(music(&file(&[&bar(&[hammer, notes("D4:6")].concat())])), "C4:1_ D:3 |");
    let slide = join("<slide type='start'/>");
    let slid = taken(&file(&[&bar(&[slide, notes("D4:6")].concat())]));
    assert_eq!(slid.line.events()[0].legato, Some(Legato::Slide));
}

#[test]
fn chords_are_read_where_they_are() {
    let harmony = |root: &str, kind: &str, more: &str| {
        format!("<harmony><root><root-step>{root}</root-step></root>{kind}{more}</harmony>")
    };
    let first = harmony("D", "<kind text='m7'>minor-seventh</kind>", "");
    let second = harmony(
        "G",
        "<kind>dominant</kind>",
        "<degree><degree-value>9</degree-value><degree-alter>-1</degree-alter><degree-type>add</degree-type></degree><offset>4</offset>",
    );
    let chords = taken(&file(&[&bar(&[first, second, notes("C4:8")].concat())])).line.chords().to_vec();
    let said: Vec<_> = chords.iter().map(|chord| format!("{} {}", chord.onset, chord.symbol)).collect();
    assert_eq!(said, ["0 Dm7", "2 G7b9"]);
}

#[test]
fn necks_pins_and_breaks() {
    let line = "title: A walk\nkey: Eb major\ntempo: 90\nfeel: straight\ntuning: drop-d\nneck: 24 frets, capo 2\nsystems: at 2\n\nEb4^4.11 G:1/2 Bb | C5:4 |";
    let reading = read::text(&line.replace("Eb4^4.11 G:1/2 Bb", "Eb4^4.11 F G Ab  Bb G F Eb"));
    assert_eq!(reading.diagnostics, []);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let text = taken(&document(&piece, "", Staves::Both).unwrap()).text;
    assert!(text.contains("tuning: drop-d\nneck: capo 2\nsystems: at 2\n"), "{text}");
    let places = "<notations><technical><string>1</string><fret>3</fret></technical></notations>";
    let wrong = taken(&file(&[&bar(&with("C4:8", places))]));
    assert_eq!(wrong.remarks, [Remark::Unplayable { notes: 1 }]);
}

#[test]
fn octaves_are_offered_where_notes_are_off_the_neck() {
    let low = file(&[&bar(&notes("C4:4 C2:4"))]);
    assert_eq!(
        refusal(&low),
        "bar 1 beat 3: C2 is below this neck, from E2 to D6; take all notes an octave higher (`--octave 1`)"
    );
    let higher = opened(&low).take(&Choice { octaves: 1, ..Choice::default() }).unwrap();
    assert_eq!(music_of(&higher), "C5:2 C3:2 |");
    let high = refusal(&file(&[&bar(&notes("C5:4 C8:4"))]));
    assert!(
        high.ends_with(
            "C8 is above this neck, from E2 to D6; take all notes 2 octaves lower (`--octave -2`)"
        ),
        "{high}"
    );
    let both = refusal(&file(&[&bar(&notes("C1:4 C8:4"))]));
    assert!(both.ends_with("the notes span more than the neck has, whatever the octave"), "{both}");
}

#[test]
fn what_a_line_cannot_have_is_refused_with_its_place() {
    let second = |note: &str| refusal(&file(&[&bar(&notes("C4:8")), &[notes("r:2"), note.into()].concat()]));
    let quarter = "<note><pitch><step>C</step><alter>0.5</alter><octave>4</octave></pitch><duration>2</duration></note>";
    assert_eq!(
        second(quarter),
        "Flute, bar 2 beat 2: this note lies between two frets, which can't be written here; change it to a half step"
    );
    let drum = "<note><unpitched/><duration>2</duration></note>";
    assert_eq!(second(drum), "Flute, bar 2 beat 2: this note has no pitch; choose a part with pitches");
    let odd = "<note><pitch><step>H</step><octave>4</octave></pitch><duration>2</duration></note>";
    assert_eq!(second(odd), "Flute, bar 2 beat 2: the pitch of this note can't be read or is out of range");
    let endless = "<note><pitch><step>C</step><octave>4</octave></pitch><duration>x</duration></note>";
    assert_eq!(
        second(endless),
        "Flute, bar 2 beat 2: the length of this note can't be read; export the file again"
    );
    let odd = "<attributes><divisions>11</divisions></attributes>";
    let rhythm = refusal(&file(&[&bar(&[odd, &notes("C4:1 D4:43")].concat())]));
    assert!(rhythm.contains("this rhythm can't be written"), "{rhythm}");
}

#[test]
fn files_that_are_refused() {
    assert!(
        refusal("<score-partwise><part-list></score-partwise>")
            .starts_with("this file is damaged in row 1, column ")
    );
    assert_eq!(
        refusal("<opus/>"),
        "this is XML but not MusicXML: it starts with `opus` instead of `score-partwise` or `score-timewise`"
    );
    assert_eq!(refusal(&file(&[&bar(&notes("r:8"))])), "there are no notes in this file");
    let one = file(&[&bar(&notes("C4:8"))]);
    assert_eq!(
        music(&format!("<!DOCTYPE score-partwise PUBLIC '-//A//B' 'http://c.example/d.dtd'>{one}")),
        "C4:4 |"
    );
    assert_eq!(
        refusal(&format!("<!DOCTYPE score-partwise [<!ENTITY a 'b'>]>{one}")),
        "this file declares entities of its own, which are not read; export it again without them"
    );
    let deep = format!("{}{}", "<a>".repeat(70), "</a>".repeat(70));
    assert_eq!(
        refusal(&whole(&deep, &[])),
        "this file has elements more than 64 levels deep, which MusicXML never needs; export it again"
    );
    let many = vec![notes("C4:8"); 1001];
    let many: Vec<&str> = many.iter().map(String::as_str).collect();
    assert_eq!(
        refusal(&file(&many)),
        "this file has 1001 bars, and a line can have 1000; export fewer of them"
    );
}

#[test]
fn what_is_left_out_is_counted() {
    let marks = "<notations><slur type='start'/><articulations><staccato/><accent/></articulations><fermata/></notations><lyric><text>la</text></lyric>";
    let dynamics = "<direction><direction-type><dynamics><f/></dynamics></direction-type></direction>";
    let repeat = "<barline><repeat direction='backward'/></barline>";
    let first = bar(&[dynamics, &with("C4:8", marks), repeat].concat());
    let later = ["<sound tempo='90'/>", &notes("C4:4"), "<sound tempo='100'/>", &notes("C4:4")].concat();
    let imported = taken(&file(&[&first, &later]));
    let said: Vec<_> = imported.remarks.iter().map(ToString::to_string).collect();
    assert_eq!(
        said,
        [
            "left out: 2 articulations",
            "left out: 1 dynamic mark",
            "left out: 1 fermata",
            "left out: 1 later tempo",
            "left out: 1 lyric",
            "left out: 1 repeat",
            "left out: 1 slur",
        ]
    );
}

#[test]
fn figures_are_found_in_the_notation_of_the_file() {
    for figure in Figure::all().iter().filter(|figure| !figure.is_accented()) {
        for (spelling, place) in
            figure.spellings().iter().flat_map(|spelling| [(spelling, "1.1"), (spelling, "1.2")])
        {
            let text = format!(
                "feel: straight\nrecast: {} at {place} {spelling}\nC4 E G A  G E C A | G4 E C E  G A G E |",
                figure.name()
            );
            let reading = read::text(&text);
            let Some(line) = reading.line.filter(|_| reading.diagnostics.is_empty()) else { continue };
            let piece = Piece::new(line, reading.casting).unwrap();
            let back = taken(&document(&piece, "", Staves::Both).unwrap());
            assert!(!back.casting.windows().is_empty(), "{text}{}", back.text);
            let again = Piece::new(back.line, back.casting).unwrap();
            assert_eq!(again.written(), piece.written(), "{text}{}", back.text);
        }
    }
}

#[test]
fn an_edited_file_keeps_the_headings_of_its_text() {
    let text = "title: A walk\npicking: economy\nC4 E G A  G E C A |\n";
    let reading = read::text(text);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let written = document(&piece, text, Staves::Both).unwrap();
    let edited = written.replacen("<step>C</step>", "<step>D</step>", usize::MAX);
    let back = taken(&edited);
    assert_eq!(back.remarks[0], Remark::Edited);
    assert!(
        back.text.contains("title: A walk\n") && back.text.contains("picking: economy\n"),
        "{}",
        back.text
    );
    assert!(back.text.contains("D4"), "{}", back.text);
}
