//! The command line: what it prints, where, and its exit codes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use halfbar_tests::{pixels, target};
use serde_json::Value;

const DEMO: &str = "title: A lift\nkey: Eb\ntempo: 132\nrecast: split-last at 1.1 bracket, 2.3 tied\n\
    @Fm7 F3 Ab C Eb  G F Eb C | @Bb7alt D F B Ab  F# E D B | @Ebmaj7 Bb3:2 r:2 |\n";

/// Runs `halfbar` with this text on standard input.
fn halfbar(arguments: &[&str], input: &[u8]) -> Output {
    let program = target().join("debug/halfbar");
    assert!(program.exists(), "build it: cargo build -p halfbar-cli");
    let mut child = Command::new(program)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // If the program stops before it has read everything, its output is what counts.
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn check_is_silent_without_mistakes() {
    let output = halfbar(&["check", "-"], DEMO.as_bytes());
    assert!(output.status.success());
    assert_eq!((text(&output.stdout), text(&output.stderr)), (String::new(), String::new()));
}

#[test]
fn check_says_what_is_wrong_and_where() {
    let output = halfbar(&["check", "-"], b"key: H\nF3 Ab X Eb G F Eb C |");
    assert_eq!(output.status.code(), Some(1));
    assert_eq!(text(&output.stdout), "");
    let message = text(&output.stderr);
    assert!(message.contains("standard input:1:6: `H` is not a key"), "{message}");
    assert!(message.contains("standard input:2:7: `X` is not a note"), "{message}");
    assert!(message.contains("\n  F3 Ab X Eb G F Eb C |\n        ^"), "{message}");
}

/// A remark is not a mistake: it is printed, and the line is drawn.
#[test]
fn remarks_are_not_mistakes() {
    let line = "@C2/E C4 D E F @Am7 G F E D |";
    let output = halfbar(&["check", "-"], line.as_bytes());
    assert!(output.status.success());
    assert_eq!(text(&output.stdout), "");
    let said = text(&output.stderr);
    let wanted = "standard input:1:1: `2` can mean `sus2` or `add9`: write the one you mean; until then";
    assert!(
        said.starts_with(wanted) && said.ends_with("\n  @C2/E C4 D E F @Am7 G F E D |\n  ^^^^^\n"),
        "{said}"
    );
    assert!(halfbar(&["draw", "-"], line.as_bytes()).status.success());

    let dump: Value = serde_json::from_slice(&halfbar(&["dump", "-"], line.as_bytes()).stdout).unwrap();
    let [refused, known] = [&dump["chords"][0], &dump["chords"][1]];
    assert_eq!(
        (&refused["symbol"], &refused["root"], &refused["bass"]),
        (&"C2/E".into(), &"C".into(), &"E".into())
    );
    assert_eq!((&refused["quality"], &refused["degrees"]), (&Value::Null, &Value::Array(vec![])));
    assert_eq!(refused["remark"], "`2` can mean `sus2` or `add9`: write the one you mean");
    assert_eq!((&known["bar"], &known["beat"], &known["onset"]), (&1.into(), &"3".into(), &"2".into()));
    assert_eq!((&known["quality"], &known["remark"]), (&"m7".into(), &Value::Null));
    assert_eq!(known["degrees"], serde_json::json!(["1", "b3", "5", "b7"]));
}

#[test]
fn odd_files() {
    for (input, says) in [
        (&b""[..], "there is no music here yet"),
        (b"\xff\xfe", "not UTF-8"),
        (b"C4:4 | D:4^9 |", "a string 1 to 6"),
        (b"C4:1/63 D:251/63 |", "can't be written"),
    ] {
        let output = halfbar(&["check", "-"], input);
        assert_eq!(output.status.code(), Some(1), "{says}");
        assert!(text(&output.stderr).contains(says), "{}", text(&output.stderr));
    }
    let output = halfbar(&["draw", "no/such/file"], b"");
    assert_eq!(output.status.code(), Some(1));
    assert!(text(&output.stderr).starts_with("no/such/file:"));
}

#[test]
fn draw_writes_svg() {
    let output = halfbar(&["draw", "-", "--width", "60"], DEMO.as_bytes());
    assert!(output.status.success());
    let svg = text(&output.stdout);
    let document = roxmltree::Document::parse(&svg).unwrap();
    let systems = document.descendants().filter(|node| node.attribute("class") == Some("system")).count();
    assert_eq!(systems, 2, "three bars don't fit in 60 spaces");
}

#[test]
fn describe_says_every_bar() {
    let output = halfbar(&["describe", "-", "--fingers"], DEMO.as_bytes());
    let said = text(&output.stdout);
    let rows: Vec<&str> = said.lines().collect();
    assert_eq!(rows[..2], ["A lift", "3 bars in 4/4, E flat major, 132 quarter notes per minute, swing."]);
    assert!(
        rows[2].starts_with("Bar 1, F minor 7: F 3, beat 1, quarter note in a triplet, string "),
        "{said}"
    );
    assert!(rows[4].starts_with("Bar 3, E flat major 7: B flat 3, beat 1, half note, string "), "{said}");
    assert!(
        rows[4].ends_with("; half rest, beat 3.") && rows[4].contains(", finger ") && rows.len() == 5,
        "{said}"
    );
    assert!(!text(&halfbar(&["describe", "-"], DEMO.as_bytes()).stdout).contains("finger"));
}

#[test]
fn lengths_have_british_names_too() {
    let said = |arguments: &[&str], input: &str| {
        let output = halfbar(&[arguments, &["--words", "uk"]].concat(), input.as_bytes());
        text(&output.stdout) + &text(&output.stderr)
    };
    let titled = DEMO.replace("A lift", "Eighth notes");
    let described = said(&["describe", "-"], &titled);
    let starts = "Eighth notes\n3 bars in 4/4, E flat major, 132 crotchets per minute, swing.\nBar 1, ";
    assert!(described.starts_with(starts), "{described}");
    assert!(
        described.contains("F 3, beat 1, crotchet in a triplet, ")
            && described.contains("; minim rest, beat 3.")
    );
    let steps = said(&["ladder", "split-last", "--side", "quavers"], "");
    assert!(steps.contains("# step 1 to split-last, from quavers\ntitle: 1 of "), "{steps}");
    assert!(
        steps.contains(": Play swung quavers, foot on 1 and 3\n") && !steps.contains("eighth"),
        "{steps}"
    );
    // Names stay the same, and so does the text's own wording.
    let figures = said(&["figures"], "");
    assert!(figures.contains("late-sixteenths") && figures.contains("in three quavers"), "{figures}");
    let wrong = said(&["check", "-"], "C4 D eighths Q:quarter E F G A B |");
    assert!(wrong.contains("`eighths`") && wrong.contains("  C4 D eighths Q:quarter E"), "{wrong}");
    let short = said(&["check", "-"], "C4 D | E |");
    assert!(short.contains("bar 1 has one crotchet: three missing"), "{short}");
    let sheet = said(&["worksheet", "-", "--html"], &titled.replace("tempo", "feel: straight\ntempo"));
    assert!(
        sheet.contains("Eighth notes") && sheet.contains("crotchets per minute, straight quavers."),
        "{sheet}"
    );
    let other = text(&halfbar(&["draw", "-", "--words", "fr"], DEMO.as_bytes()).stderr);
    assert!(other.contains("`fr` is not a dialect: write `us` or `uk`"), "{other}");
}

/// Names and degrees, where the command or the text asks for them: drawn, said and in the data.
#[test]
fn names_are_shown() {
    let told = |arguments: &[&str], input: &str| {
        let output = halfbar(arguments, input.as_bytes());
        assert!(output.status.success(), "{arguments:?}: {}", text(&output.stderr));
        text(&output.stdout)
    };
    let line = "key: Eb\n@Fm7 Bb3 G Ab C  Eb G F Eb | @Bb7 D:4 |\n";
    let asking = format!("names: yes\ndegrees: yes\ncall: mine at 1.2 to 1.4\n{line}");
    let is_named = |svg: &str| (svg.contains("class=\"name-bracket\""), svg.contains("class=\"degree\""));
    assert_eq!(is_named(&told(&["draw", "-"], line)), (false, false));
    assert_eq!(is_named(&told(&["draw", "-", "--names"], line)), (true, false));
    assert_eq!(is_named(&told(&["draw", "-", "--degrees"], line)), (false, true));
    assert_eq!(is_named(&told(&["draw", "-", "--degrees=no"], &asking)), (true, false));
    let drawn = told(&["draw", "-"], &asking);
    assert_eq!(is_named(&drawn), (true, true));
    // A name's words, its bracket and the landing carry its index.
    assert!(
        drawn.contains(">mine</text>")
            && drawn.contains("class=\"landing\" data-bar=\"2\" data-note=\"8\" data-name=")
    );
    let both = told(&["draw", "-", "--fingers", "--degrees"], line);
    let instead = told(&["draw", "-", "--fingers", "--degrees=instead of fingers"], line);
    assert!(both.contains("class=\"finger\"") && !instead.contains("class=\"finger\""));
    assert!(
        told(&["describe", "-", "--names"], line)
            .contains(", begins A flat major 7 arpeggio, root position, up")
    );

    let dump: Value = serde_json::from_str(&told(&["dump", "-"], line)).unwrap();
    let arpeggio = serde_json::json!({
        "first": 2, "last": 5, "from": "1.2", "to": "1.3+", "kind": "arpeggio", "root": "Ab", "quality": "maj7", "scale": null,
        "inversion": 0, "direction": "up", "says": "A♭maj7 arpeggio, root position, up",
        "cost": dump["names"][1]["cost"], "others": dump["names"][1]["others"],
    });
    assert_eq!(dump["names"][1], arpeggio);
    let run = &dump["names"][2];
    assert_eq!(
        (run["scale"].as_str(), run["root"].as_str(), run["from"].as_str()),
        (Some("F dorian"), None, Some("1.3+"))
    );
    assert_eq!(dump["names"][3]["says"], "lands ♭7 to 3, a half step");
    let degrees: Vec<&str> =
        dump["notes"].as_array().unwrap().iter().filter_map(|note| note["degree"].as_str()).collect();
    assert_eq!(degrees.join(" "), "11 9 b3 5 b7 9 1 b7 3");
    let called: Value = serde_json::from_str(&told(&["dump", "-"], &asking)).unwrap();
    let calls: Vec<_> =
        called["names"].as_array().unwrap().iter().filter(|name| name["kind"] == "call").collect();
    assert_eq!((calls.len(), calls[0]["says"].as_str()), (1, Some("mine")));
}

#[test]
fn a_bar_is_drawn_on_the_neck() {
    let neck = |arguments: &[&str]| halfbar(&[&["neck", "-", "--bar"], arguments].concat(), DEMO.as_bytes());
    let drawn = |arguments: &[&str]| {
        let output = neck(arguments);
        assert!(output.status.success(), "{}", text(&output.stderr));
        text(&output.stdout)
    };
    let svg = drawn(&["2", "--labels", "degrees"]);
    assert!(svg.starts_with("<svg") && svg.contains("role=\"img\"") && svg.trim_end().ends_with("</svg>"));
    assert!(
        svg.contains(", flat 9,")
            && svg.contains("class=\"place\"")
            && svg.contains("data-note=\"")
            && drawn(&["2"]) != svg
    );
    assert!(svg.contains("data-string=\"6\" height="));
    // Seen from the other side, the same places are mirrored.
    let left = drawn(&["2", "--labels", "degrees", "--left"]);
    assert!(left != svg && left.len().abs_diff(svg.len()) < 100);
    assert!(drawn(&["1", "--white"]).contains("fill=\"#fff\""));
    for (arguments, says) in [
        (&["4"][..], "there is no bar 4: the bars are 1 to 3"),
        (&["0"], "there is no bar 0"),
        (&["1", "--labels", "hues"], "write `names`, `degrees` or `fingers`"),
    ] {
        let output = neck(arguments);
        assert!(!output.status.success() && text(&output.stderr).contains(says), "{}", text(&output.stderr));
    }
}

#[test]
fn a_stretch_is_drawn_on_the_neck() {
    let drawn = |arguments: &[&str]| {
        let output = halfbar(&[&["neck", "-"], arguments].concat(), DEMO.as_bytes());
        (output.status.code(), text(&output.stdout), text(&output.stderr))
    };
    // The picture's description names its notes in order; the first half-bar is recast, and its last note starts at 5/3.
    let notes = |arguments: &[&str]| {
        let (code, svg, told) = drawn(arguments);
        assert_eq!(code, Some(0), "{told}");
        let document = roxmltree::Document::parse(&svg).unwrap();
        let notes = document.descendants().filter_map(|node| node.attribute("data-note"));
        let mut notes: Vec<u32> =
            notes.flat_map(str::split_whitespace).map(|id| id.parse().unwrap()).collect();
        notes.sort_unstable();
        notes
    };
    assert_eq!(drawn(&["--from", "2.1", "--to", "3.1"]), drawn(&["--bar", "2"]));
    assert_eq!(notes(&["--from", "1.1", "--to", "1.3"]), [0, 1, 2, 3]);
    assert_eq!(notes(&["--from", "1.3", "--to", "2.2"]), [4, 5, 6, 7, 8, 9]);
    // The second note, which starts at 2/3 and is two thirds long, is held over into the second beat.
    assert_eq!(notes(&["--from", "1.2", "--to", "1.7/3"]), [1]);
    for (arguments, code, says) in [
        (&["--from", "3.1", "--to", "4.2"][..], 1, "there is nothing at 4.2: the line ends before it"),
        (&["--from", "2.1", "--to", "1.1"], 1, "the passage ends before it starts"),
        (&["--from", "2.1", "--to", "2.1"], 1, "the passage is empty"),
        (&["--from", "2", "--to", "3.1"], 1, "`2` is not a place: write bar and beat, such as `2.3`"),
        (&["--from", "2.1"], 2, "--to"),
        (&["--bar", "1", "--from", "2.1", "--to", "3.1"], 2, "cannot be used with"),
        (&[], 2, "--bar"),
    ] {
        let (exit, svg, told) = drawn(arguments);
        assert_eq!((exit, svg.as_str()), (Some(code), ""), "{arguments:?}");
        assert!(told.contains(says), "{told}");
    }
}

#[test]
fn dump_shows_the_requested_plan() {
    let dump = |arguments: &[&str]| -> Value {
        let output = halfbar(&[&["dump", "-"], arguments].concat(), DEMO.as_bytes());
        serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{}", text(&output.stderr)))
    };
    let (plain, along) = (dump(&[]), dump(&["--style", "along", "--picking", "economy, slurs"]));
    assert_eq!(
        (&along["line"]["style"], &along["line"]["picking"]),
        (&"along".into(), &"economy, slurs".into())
    );
    assert_ne!(plain["notes"], along["notes"]);
    assert!(plain.get("ways").is_none());
    // The costs of the notes add up to the cost of the plan.
    let costs = |dump: &Value| -> u64 {
        let notes = dump["notes"].as_array().unwrap();
        notes
            .iter()
            .flat_map(|note| note["costs"].as_array().unwrap())
            .map(|cost| cost["cost"].as_u64().unwrap())
            .sum()
    };
    assert_eq!(
        (costs(&plain), costs(&along)),
        (plain["plan"]["cost"].as_u64().unwrap(), along["plan"]["cost"].as_u64().unwrap())
    );
    let ways = dump(&["--alternatives", "2"]);
    let ways = ways["ways"].as_array().unwrap();
    assert!(
        ways.len() == 2
            && ways.iter().all(|way| way["plan"]["cost"].as_u64() >= plain["plan"]["cost"].as_u64())
    );
    for (option, wrong, says) in
        [("--style", "sideways", "is not a fingering style"), ("--picking", "hard", "is not a picking style")]
    {
        let output = halfbar(&["dump", "-", option, wrong], DEMO.as_bytes());
        assert!(!output.status.success() && text(&output.stderr).contains(says), "{}", text(&output.stderr));
    }
}

#[test]
fn dump_is_as_documented() {
    let output = halfbar(&["dump", "-"], DEMO.as_bytes());
    assert!(output.status.success());
    let dump: Value = serde_json::from_slice(&output.stdout).unwrap();
    let keys = |value: &Value| {
        let mut keys: Vec<_> = value.as_object().unwrap().keys().cloned().collect();
        keys.sort();
        keys.join(" ")
    };
    assert_eq!(keys(&dump), "chords line names notes plan windows written");
    assert_eq!(keys(&dump["chords"][0]), "bar bass beat degrees onset quality remark root symbol");
    assert_eq!(keys(&dump["line"]), "feel key meter picking style tempo title tuning");
    assert_eq!(
        keys(&dump["notes"][0]),
        "attack bar beat costs degree duration finger fret id midi onset pitch position string stroke"
    );
    assert_eq!(
        keys(&dump["names"][0]),
        "cost direction first from inversion kind last others quality root says scale to"
    );
    assert_eq!(keys(&dump["written"][0]), "bar beams dots note start tie tuplets value");
    assert_eq!(keys(&dump["windows"][0]), "bar beat figure left_out span spelling");

    assert_eq!(dump["notes"][1]["onset"], "2/3");
    assert_eq!(dump["notes"][1]["beat"], "5/3");
    assert_eq!(dump["notes"][2]["duration"], "1/3");
    let rest = &dump["notes"][17];
    assert_eq!((&rest["pitch"], &rest["midi"], &rest["stroke"]), (&Value::Null, &Value::Null, &Value::Null));
    assert_eq!(
        dump["windows"][1],
        serde_json::json!({
            "bar": 2, "beat": "3", "span": "2", "figure": "split-last", "spelling": "tied", "left_out": []
        })
    );
    // The tied figure: an eighth tied to the first of a triplet.
    let tied: Vec<_> = dump["written"].as_array().unwrap().iter().filter(|w| w["tie"] != "none").collect();
    assert_eq!((tied[0]["start"].as_str(), tied[0]["tie"].as_str()), (Some("5/2"), Some("start")));
    assert_eq!((tied[1]["start"].as_str(), tied[1]["tie"].as_str()), (Some("3"), Some("stop")));
    assert_eq!(tied[1]["tuplets"], serde_json::json!([[3, 2]]));
    assert_eq!(tied[1]["beams"], serde_json::json!(["begin"]));
}

#[test]
fn restore_writes_the_plain_line() {
    let output = halfbar(&["restore", "-"], DEMO.as_bytes());
    assert!(output.status.success());
    let plain = text(&output.stdout);
    assert!(!plain.contains("recast"), "{plain}");
    let notes = |dump: &[u8]| -> Vec<String> {
        let dump: Value = serde_json::from_slice(dump).unwrap();
        dump["notes"]
            .as_array()
            .unwrap()
            .iter()
            .map(|note| note["onset"].as_str().unwrap().to_string())
            .collect()
    };
    let onsets = notes(&halfbar(&["dump", "-"], plain.as_bytes()).stdout);
    assert_eq!(onsets[..5], ["0", "1/2", "1", "3/2", "2"]);
}

#[test]
fn figures_are_found() {
    let text =
        "recast: split-first at 2.1 tied\nC4:2/3 D:2/3 E:1/3 F:1/3 G A B:3/4 C:1/4 | C D E F G A B C |";
    let output = halfbar(&["find", "-"], text.as_bytes());
    assert_eq!(String::from_utf8(output.stdout).unwrap(), "1.1 split-last bracket\n2.1 split-first tied\n");
}

#[test]
fn a_stretch_is_shifted() {
    let line = "# mine\nmeter: 4/4\nC4 D E F G A B C |\n";
    let output = halfbar(&["shift", "-", "1.2", "1.3", "later"], line.as_bytes());
    assert!(output.status.success());
    assert!(text(&output.stdout).ends_with("\nC4 D r E  F A B C |\n"), "{}", text(&output.stdout));
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "standard input:bar 1 beat 3: G4 is pushed out\n");
    for (from, to) in [("1.3", "1.2"), ("1", "2.1"), ("1.1", "9.1")] {
        assert_eq!(halfbar(&["shift", "-", from, to, "earlier"], line.as_bytes()).status.code(), Some(1));
    }
}

#[test]
fn ladders_are_lines() {
    let ladder = |arguments: &[&str]| {
        let output = halfbar(&[&["ladder"], arguments].concat(), DEMO.as_bytes());
        (output.status.code(), text(&output.stdout), text(&output.stderr))
    };
    let (code, both, told) = ladder(&["split-last", "--line", "-"]);
    assert_eq!((code, told.as_str()), (Some(0), ""));
    let (_, one, _) = ladder(&["split-last", "--line", "-", "--side", "eighths"]);
    assert!(both.len() > one.len() && both.ends_with(&one));
    // What is between the rows that start a step is a line.
    let steps: Vec<_> = one.split("# step ").skip(1).collect();
    for step in &steps {
        let (first, line) = step.split_once('\n').unwrap();
        assert!(first.ends_with("to split-last, from eighths"), "{first}");
        assert_eq!(text(&halfbar(&["check", "-"], line.as_bytes()).stderr), "", "{line}");
    }
    assert!(
        steps[0].contains("title: 1 of 11: Play swung eighth notes, foot on 1 and 3\nkey: Eb\n"),
        "{one}"
    );
    assert!(steps[0].contains("tempo: 132") && steps[0].ends_with("\n\nF3 F F F  F F F F |\n\n"), "{one}");
    assert!(steps[10].contains("recast: split-last at 1.1 bracket, 2.3 tied\n"), "{one}");

    let (_, own, _) = ladder(&["2/5 2/5 2/5 2/5 2/5", "--side", "triplets"]);
    assert!(
        own.contains("figure: own = 2/5 2/5 2/5 2/5 2/5\nrecast: own at 1.3 bracket repeat-last\n"),
        "{own}"
    );
    for (arguments, says) in [
        (&["split-up"][..], "`split-up` is not a figure: the figures are split-last, "),
        (&["2/5 1/3"], "these lengths add up to 11/15"),
        (&["split-last", "--side", "left"], "write `triplets` or `eighths`"),
        (&["r1 3", "--line", "-"], "bar 1 beat 1: overlaps another figure"),
    ] {
        let (code, _, told) = ladder(arguments);
        assert!(code != Some(0) && told.contains(says), "{told}");
    }
}

#[test]
fn a_shape_is_moved_through_a_scale() {
    let pinned = |arguments: &[&str], input: &str| {
        let output = halfbar(&[&["shape", "-", "--scale"], arguments].concat(), input.as_bytes());
        (output.status.code(), text(&output.stdout), text(&output.stderr))
    };
    // Every note is pinned to its string. This strips the pins.
    let shape = |arguments: &[&str], input: &str| {
        let (code, made, told) = pinned(arguments, input);
        let unpinned = |word: &str| word.split('^').next().unwrap_or_default().to_string();
        let rows =
            made.split_inclusive('\n').map(|row| row.split(' ').map(unpinned).collect::<Vec<_>>().join(" "));
        (code, rows.collect::<String>(), told)
    };
    let (_, made, _) = pinned(&["Eb major", "--steps", "2", "--strings", "4-2"], DEMO);
    // Copies that are played with the same fingers may have them pinned.
    let made: Vec<_> = made.split(' ').map(|word| word.split('/').next().unwrap()).collect();
    let made = made.join(" ");
    assert!(
        made.ends_with(
            "\n\n@Fm7 F3^4 Ab^4 C^3 Eb^2  @Gm7 G3^4 Bb^4 D^3 F^2 | @Abmaj7 Ab3^4 C^4 Eb^3 G^2  r:2 |\n"
        ),
        "{made}"
    );
    let (code, made, told) = pinned(&["Eb major", "--strings", "1"], DEMO);
    assert_eq!((code, made.as_str()), (Some(1), ""));
    assert!(
        told.contains(
            "F3 can't be played on string 1; F3 is at string 4 fret 3, string 5 fret 8 and string 6 fret 13"
        ),
        "{told}"
    );
    let (code, made, told) = shape(&["Eb Major", "--steps", "2"], DEMO);
    assert_eq!((code, told.as_str()), (Some(0), ""));
    assert!(
        made.ends_with(
            "recast: split-last at 1.1 to 2.3 bracket\n\n@Fm7 F3 Ab C Eb  @Gm7 G3 Bb D F | @Abmaj7 Ab3 C Eb G  r:2 |\n"
        ),
        "{made}"
    );
    // The output is a valid line.
    assert!(halfbar(&["check", "-"], made.as_bytes()).status.success());

    // The second window, two steps down: a note outside the scale moves like the scale tone on its letter.
    let (_, made, _) =
        shape(&["Eb major", "--steps", "-2", "--from", "2.3", "--to", "3.1", "--strings", "4-2"], DEMO);
    assert!(
        made.ends_with(
            "recast: split-last at 1.1 to 2.3 tied\n\nF#4 E D B  E Eb C A | Eb4 C# Bb Ab  r:2 |\n"
        ),
        "{made}"
    );

    // Without a number of steps, it goes through one octave; copies that leave the neck are reported.
    let (code, made, told) = shape(&["C whole tone"], "C6 D E5 C r:2 |");
    assert_eq!(code, Some(0));
    assert!(made.ends_with("G#4 Bb C4 G#  Bb4 C D4 Bb | C5 D E4 C  r:2 |\n"), "{made}");
    let down =
        "standard input:bar 1 beat 3 and bar 2 beat 1: the copies that start here are 1 octave down, to stay";
    assert!(told.starts_with(down), "{told}");
    assert!(
        told.ends_with("bar 1 beat 1: the copy that starts here goes above the highest fret you chose\n"),
        "{told}"
    );
    // Higher, if requested.
    let (_, _, told) = shape(&["C whole tone", "--steps", "1", "--up-to-fret", "22"], "C5 D E5 C r:2 |");
    assert_eq!(told, "");
    let (_, made, _) = shape(&["C major", "--steps", "1", "--up-to-fret", "4"], "C4 E D C r:2 |");
    assert!(made.ends_with("C4 E D C  D F E D |\n"), "{made}");
    let (code, _, told) = shape(&["C major", "--up-to-fret", "40"], DEMO);
    assert!(code == Some(2) && told.contains("40 is not in 0..=36"), "{told}");

    let (code, _, told) = shape(&["C doric"], DEMO);
    assert_eq!(code, Some(2));
    assert!(told.contains("`C doric` is not a scale: write a tonic"), "{told}");
    for wrong in [
        &["--from", "1.1"][..],
        &["--from", "1.3", "--to", "1.1"],
        &["--from", "x", "--to", "1.1"],
        &["--steps", "200"],
    ] {
        assert_ne!(shape(&[&["C major"], wrong].concat(), DEMO).0, Some(0), "{wrong:?}");
    }
}

#[test]
fn positions_are_set_and_listed() {
    let line = b"Bb4 Ab G F Eb D C Bb3 |";
    let dump = |arguments: &[&str]| -> Value {
        let output = halfbar(&[&["dump", "-"], arguments].concat(), line);
        assert!(output.status.success(), "{}", text(&output.stderr));
        serde_json::from_slice(&output.stdout).unwrap()
    };
    for position in ["VI", "6"] {
        let notes = dump(&["--position", position])["notes"].clone();
        assert!(notes.as_array().unwrap().iter().all(|note| note["position"] == 6), "{notes}");
    }
    let some = dump(&["--position", "VIII", "--from", "1.1", "--to", "1.3"])["notes"].clone();
    assert!(some.as_array().unwrap()[..4].iter().all(|note| note["position"] == 8), "{some}");
    // Positions first, each with its cost; nothing above twice the best unless requested.
    let kinds = |dump: &Value| -> Vec<(bool, u64)> {
        let ways = dump["ways"].as_array().unwrap().iter();
        ways.map(|way| (way["position"].is_string(), way["cost"].as_u64().unwrap())).collect()
    };
    let all = kinds(&dump(&["--alternatives", "40", "--costly"]));
    assert!(all.is_sorted_by_key(|(in_position, cost)| (!in_position, *cost)), "{all:?}");
    let few = kinds(&dump(&["--alternatives", "40"]));
    let best = all.iter().map(|(_, cost)| *cost).min().unwrap();
    assert!(few.len() < all.len() && few.iter().all(|(_, cost)| *cost <= 2 * best), "{few:?} {all:?}");
    let output = halfbar(&["dump", "-", "--position", "I"], line);
    let said = "standard input:position I can't hold Bb4 (bar 1 beat 1); positions ";
    assert!(
        output.status.code() == Some(1) && text(&output.stderr).starts_with(said),
        "{}",
        text(&output.stderr)
    );
    let output = halfbar(&["dump", "-", "--position", "IIX"], line);
    assert!(
        text(&output.stderr)
            .contains("`IIX` is not a position: write a fret for the index finger, such as `V` or `5`")
    );
    let neck =
        |arguments: &[&str]| text(&halfbar(&[&["neck", "-", "--bar", "1"], arguments].concat(), line).stdout);
    assert!(neck(&["--position", "X"]).starts_with("<svg") && neck(&["--position", "X"]) != neck(&[]));
}

#[test]
fn a_line_goes_through_twelve_keys() {
    for (by, second) in [("fourths", "Ab"), ("semitones", "E"), ("whole-tones", "F")] {
        let output = halfbar(&["keys", "-", "--by", by], DEMO.as_bytes());
        assert!(output.status.success());
        let made = text(&output.stdout);
        let mut keys: Vec<_> = made.split_whitespace().filter(|word| word.starts_with('=')).collect();
        assert_eq!((keys[0], keys.len()), (format!("={second}").as_str(), 11), "{made}");
        keys.sort();
        keys.dedup();
        assert_eq!(keys.len(), 11);
        assert!(
            made.contains("recast: split-last at 1.1 bracket, 2.3 tied, 4.1 bracket, 5.3 tied"),
            "{made}"
        );
        assert!(halfbar(&["check", "-"], made.as_bytes()).status.success());
    }
    // Ab7alt in Db: its b13 keeps its name, its b9 would need a double accidental.
    let output = halfbar(&["keys", "-"], b"key: Eb\n@Bb7alt Cb4:2 Gb:2 |");
    assert!(text(&output.stdout).contains("=Db  @Ab7alt A:2  Fb:2 |"), "{}", text(&output.stdout));
    let told = "bar 3 beat 1: in Db, A instead of Bbb, which is easier to read\n";
    assert!(text(&output.stderr).contains(told), "{}", text(&output.stderr));
    let output = halfbar(&["keys", "-", "--strings", "3-1", "--up-to-fret", "9"], b"C4 D E F r:2 |");
    let dump = halfbar(&["dump", "-"], &output.stdout);
    let dump: Value = serde_json::from_slice(&dump.stdout).unwrap();
    for note in dump["notes"].as_array().unwrap().iter().filter(|note| !note["string"].is_null()) {
        assert!(note["string"].as_u64() <= Some(3) && note["fret"].as_u64() <= Some(9), "{note}");
    }
    let output = halfbar(&["keys", "-", "--by", "fifths"], DEMO.as_bytes());
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("write `fourths`, `semitones` or `whole-tones`"));
    let output = halfbar(&["keys", "-"], b"E2 D6 r:3 |");
    assert_eq!(output.status.code(), Some(1));
    assert!(
        text(&output.stderr)
            .starts_with("standard input:bar 2 beat 1: the copy that starts here doesn't fit")
    );
}

#[test]
fn figures_are_listed() {
    let output = halfbar(&["figures"], b"");
    let list = text(&output.stdout);
    assert_eq!(list.lines().count(), 17);
    assert!(
        list.lines()
            .next()
            .unwrap()
            .starts_with("split-last        2/3 2/3 1/3 1/3       bracket tied plain"),
        "{list}"
    );
}

#[test]
fn help_names_the_commands() {
    let output = halfbar(&["--help"], b"");
    assert!(output.status.success());
    let help = text(&output.stdout);
    assert!(
        ["check", "draw", "dump", "shape", "keys", "ladder", "neck", "musicxml", "midi"]
            .iter()
            .all(|command| help.contains(command)),
        "{help}"
    );
    assert_eq!(halfbar(&["conjure"], b"").status.code(), Some(2));
}

/// The pictures in the README are up to date.
#[test]
fn pictures_are_fresh() {
    let top = halfbar_tests::top();
    let fresh = |arguments: &[&str], input: &str, file: &str| {
        let output = halfbar(arguments, input.as_bytes());
        let kept = std::fs::read_to_string(top.join(file)).unwrap();
        assert!(text(&output.stdout) == kept, "{file} is out of date: DEVELOPERS.md says how to redraw it");
    };
    fresh(&["figures", "--picture", "--white"], "", "core/figures.svg");
    let example = std::fs::read_to_string(top.join("core/example.txt")).unwrap();
    fresh(&["draw", "-", "--width", "84", "--white"], &example, "core/example.svg");
}

/// The number of samples in a WAV file, after its header of 44 bytes (RIFF/WAVE, one channel, 16 bits, 48,000 samples per second).
fn samples(wav: &[u8]) -> usize {
    assert_eq!((&wav[..4], &wav[8..16]), (&b"RIFF"[..], &b"WAVEfmt "[..]));
    assert_eq!(wav[20..36], [1, 0, 1, 0, 0x80, 0xBB, 0, 0, 0, 0x77, 1, 0, 2, 0, 16, 0]);
    assert_eq!(&wav[36..40], b"data");
    (wav.len() - 44) / 2
}

#[test]
fn wav_has_the_right_length() {
    // At 120, twelve quarter notes of half a second each; the last sound dies away in less than half a second.
    for (arguments, seconds) in [
        (&["--bpm", "120"][..], 6.0),
        (&["--bpm", "240"], 3.0),
        (&["--bpm", "120", "--count-in", "2", "--click", "2+4, eighths"], 10.0),
        (&["--bpm", "120", "--from", "1.3", "--to", "2.1", "--repeat", "3"], 3.0),
        (&["--bpm", "120", "--from", "1.3", "--to", "2.1", "--count-in", "1"], 4.0),
        (&["--bpm", "120", "--comp", "--no-line"], 6.0),
    ] {
        let output = halfbar(&[&["wav", "-"], arguments].concat(), DEMO.as_bytes());
        assert!(output.status.success() && output.stderr.is_empty(), "{}", text(&output.stderr));
        let lasts = samples(&output.stdout) as f64 / 48_000.0;
        assert!((seconds..seconds + 0.5).contains(&lasts), "{arguments:?}: {lasts}");
    }
}

#[test]
fn wav_follows_each_option() {
    let wav = |arguments: &[&str]| halfbar(&[&["wav", "-"], arguments].concat(), DEMO.as_bytes()).stdout;
    let plain = wav(&[]);
    for arguments in [&["--swing", "3"][..], &["--click", "every"], &["--comp"], &["--no-line"]] {
        assert_ne!(wav(arguments), plain, "{arguments:?}");
    }
    let silent = wav(&["--no-line"]);
    assert!(silent[44..].iter().all(|byte| *byte == 0));
}

#[test]
fn wav_says_what_is_allowed() {
    for (arguments, says) in [
        (&["--bpm", "29"][..], "30 to 320"),
        (&["--bpm", "321"], "30 to 320"),
        (&["--bpm", "fast"], "30 to 320"),
        (&["--swing", "0.9"], "from 1 (straight) to 3.5"),
        (&["--swing", "3.51"], "from 1 (straight) to 3.5"),
        (&["--click", "3"], "`every`, `2+4`, `1` or `off`"),
        (&["--repeat", "0"], "1..=999"),
        (&["--count-in", "5"], "0..=4"),
        (&["--from", "1.3", "--to", "1.1"], "the passage ends before it starts"),
        (&["--to", "5.1"], "the line ends with bar 3"),
        (&["--from", "x"], "`x` is not a place"),
        (&["--repeat", "999"], "more than 20 minutes"),
        (&["--from", "4.1"], "can't be empty"),
    ] {
        let output = halfbar(&[&["wav", "-"], arguments].concat(), DEMO.as_bytes());
        assert!(!output.status.success() && output.stdout.is_empty(), "{arguments:?}");
        assert!(text(&output.stderr).contains(says), "{arguments:?}: {}", text(&output.stderr));
    }
}

#[test]
fn lines_become_scores_and_midi() {
    // Line ends of Windows come through, too.
    let source = DEMO.replace('\n', "\r\n");
    let score = |arguments: &[&str]| {
        let output = halfbar(&[&["musicxml", "-"], arguments].concat(), source.as_bytes());
        assert!(
            output.status.success() && output.stderr.is_empty(),
            "{arguments:?}: {}",
            text(&output.stderr)
        );
        output.stdout
    };
    let (both, staff) = (text(&score(&[])), text(&score(&["--view", "staff"])));
    for (file, clefs) in [(both, 2), (staff, 1)] {
        let document = roxmltree::Document::parse(&file).unwrap();
        let field = document.descendants().find(|node| node.attribute("name") == Some("halfbar-text"));
        assert_eq!(field.unwrap().text(), Some(source.as_str()));
        assert_eq!(document.descendants().filter(|node| node.has_tag_name("clef")).count(), clefs);
    }
    let midi = |arguments: &[&str]| {
        let output = halfbar(&[&["midi", "-"], arguments].concat(), source.as_bytes());
        assert!(output.status.success() && output.stdout.starts_with(b"MThd"), "{arguments:?}");
        output.stdout
    };
    let plain = midi(&[]);
    for arguments in [&["--straight"][..], &["--click", "2+4"], &["--count-in", "1"], &["--comp"]] {
        assert_ne!(midi(arguments), plain, "{arguments:?}");
    }
}

#[test]
fn scores_and_midi_say_what_is_allowed() {
    for (arguments, says) in [
        (&["musicxml", "-", "--view", "tab"][..], "write `both` or `staff`"),
        (&["midi", "-", "--click", "3"], "`every`, `2+4`, `1` or `off`"),
        (&["midi", "-", "--count-in", "5"], "0..=4"),
        (&["midi", "nowhere.txt"], "nowhere.txt"),
    ] {
        let output = halfbar(arguments, DEMO.as_bytes());
        assert!(!output.status.success() && output.stdout.is_empty(), "{arguments:?}");
        assert!(text(&output.stderr).contains(says), "{arguments:?}: {}", text(&output.stderr));
    }
    for command in ["musicxml", "midi"] {
        let output = halfbar(&[command, "-"], b"F3 Ab X |");
        assert_eq!((output.status.code(), output.stdout.len()), (Some(1), 0));
        assert!(text(&output.stderr).contains("standard input:1:7"), "{}", text(&output.stderr));
    }
}

/// Tuplets of three in three, five and seven and a chord right after a note need more units of time than the standard advises (MusicXML 4.0, element divisions).
#[test]
fn too_many_divisions_are_a_remark() {
    let line = "C4:1/64~ @G7 C:63/64 D:1 E:2/3 F:2/9 E:2/9 D:2/9 C:2/3 | \
                C4:2/5 D:2/5 E:2/5 F:2/5 G:2/5 C4:2/7 D:2/7 E:2/7 F:2/7 G:2/7 A:2/7 B:2/7 |";
    let output = halfbar(&["musicxml", "-"], line.as_bytes());
    assert!(output.status.success(), "{}", text(&output.stderr));
    assert!(text(&output.stderr).contains("20160 units of time"), "{}", text(&output.stderr));
}

/// A folder of this name with just these files.
fn folder(name: &str, files: &[(&str, &str)]) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    for (name, text) in files {
        fs::write(folder.join(name), text).unwrap();
    }
    folder
}

#[test]
fn worksheets_are_pdf_or_html() {
    let sheet = |arguments: &[&str], input: &str| {
        let output = halfbar(&[&["worksheet", "-"], arguments].concat(), input.as_bytes());
        assert!(output.status.success() && output.stderr.is_empty(), "{}", text(&output.stderr));
        output.stdout
    };
    let plain = sheet(&[], DEMO);
    assert!(plain.starts_with(b"%PDF-") && plain.trim_ascii_end().ends_with(b"%%EOF"));
    for arguments in [
        &["--paper", "letter"][..],
        &["--notes"],
        &["--recast-yourself"],
        &["--recast-yourself", "--answers"],
        &["--title", "Tuesday"],
        &["--workshop", "Harbour Lane Guitar Workshop"],
        &["--view", "rhythm"],
        &["--fingers"],
        &["--names"],
        &["--blank-names", "--recast-yourself", "--answers"],
    ] {
        assert_ne!(sheet(arguments, DEMO), plain, "{arguments:?}");
    }
    let html = text(&sheet(&["--html", "--title", "<script>&\"'"], DEMO));
    assert!(html.starts_with("<!DOCTYPE html>") && !html.contains("<script"));
    assert!(html.contains("<title>&lt;script&gt;&amp;&quot;&#39;</title>"), "{}", &html[..400]);
    assert!(html.contains("size: 210mm 297mm") && html.contains("1. A lift"));

    // The output of a ladder can be a worksheet's examples, which are numbered separately.
    let ladder = text(&halfbar(&["ladder", "split-last", "--side", "eighths"], b"").stdout);
    let steps = ladder.matches("# step").count();
    let html = text(&sheet(&["--html"], &ladder));
    assert!(
        steps > 5 && html.contains(&format!(">{steps}. ")) && !html.contains(&format!(">{}. ", steps + 1))
    );
    assert!(html.contains("1. Play swung eighth notes") && !html.contains(&format!("1 of {steps}")));
}

#[test]
fn worksheets_say_what_is_allowed() {
    for (arguments, input, says) in [
        (&["--paper", "a5"][..], DEMO, "write `a4` or `letter`"),
        (&["--answers"], DEMO, "--recast-yourself"),
        (&["--view", "tabs"], DEMO, "is not a view"),
        (&[], "C4 D |", "standard input:1:"),
        // Line numbers are those of the whole file.
        (&[], "# step 1\nC4 D E F G A B C |\n\n# step 2\nC4 D X F G A B C |\n", "standard input:5:6: `X`"),
    ] {
        let output = halfbar(&[&["worksheet", "-"], arguments].concat(), input.as_bytes());
        assert!(!output.status.success() && output.stdout.is_empty(), "{arguments:?}");
        assert!(text(&output.stderr).contains(says), "{arguments:?}: {}", text(&output.stderr));
    }
    let output = halfbar(&["worksheet", "-", "--title", "港"], DEMO.as_bytes());
    assert!(output.status.success() && text(&output.stderr).contains("can't draw: 港"));
}

/// `script`, of util-linux, runs a program in a terminal.
#[test]
fn a_terminal_gets_no_pdf() {
    let folder = folder("terminal", &[("line.txt", DEMO)]);
    let line = folder.join("line.txt");
    let run = |options: &str| {
        let command = format!(
            "'{}' worksheet '{}' {options}",
            target().join("debug/halfbar").display(),
            line.display()
        );
        Command::new("script").args(["-qec", &command, "/dev/null"]).stdin(Stdio::null()).output().unwrap()
    };
    let refused = run("");
    assert!(
        !refused.status.success() && text(&refused.stdout).contains("> sheet.pdf"),
        "{}",
        text(&refused.stdout)
    );
    assert!(run("--html").status.success());
}

#[test]
fn a_terminal_gets_no_midi() {
    let folder = folder("terminal-midi", &[("line.txt", DEMO)]);
    let run = |options: &str| {
        let program = target().join("debug/halfbar");
        let command = format!("'{}' {options} '{}'", program.display(), folder.join("line.txt").display());
        Command::new("script").args(["-qec", &command, "/dev/null"]).stdin(Stdio::null()).output().unwrap()
    };
    for (options, name) in [("midi", "> line.mid"), ("musicxml --mxl", "> line.mxl")] {
        let refused = run(options);
        assert!(
            !refused.status.success() && text(&refused.stdout).contains(name),
            "{}",
            text(&refused.stdout)
        );
    }
    assert!(run("musicxml").status.success());
}

#[test]
fn lines_become_files() {
    let hostile = format!("title: <b>\"x\"</b>&</pre><script>\n{}", DEMO.split_once('\n').unwrap().1);
    let from = folder(
        "lines",
        &[("b.txt", DEMO), ("a b.txt", &hostile), ("c.txt", "C4 D X |"), ("notes.md", "no line")],
    );
    let render = |to: &str, more: &[&str]| {
        let out = folder(&format!("rendered-{to}"), &[]).join("into/here");
        let [from, into] = [&from, &out].map(|path| path.to_str().unwrap());
        let output = halfbar(&[&["render", from, "--to", to, "--out", into], more].concat(), b"");
        // A mistake in one text is reported, and the others are drawn.
        assert_eq!(output.status.code(), Some(1));
        let told = text(&output.stderr);
        assert!(
            told.contains("c.txt:1:6: `X`") && !told.contains("b.txt") && !told.contains("notes.md"),
            "{told}"
        );
        let mut names: Vec<_> = fs::read_dir(&out)
            .unwrap()
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        let files: Vec<Vec<u8>> = names.iter().map(|name| fs::read(out.join(name)).unwrap()).collect();
        assert_eq!(names, [format!("a b.{}", ending(to)), format!("b.{}", ending(to))]);
        files
    };
    fn ending(to: &str) -> &str {
        if to == "half-bar" { "half-bar.html" } else { to }
    }
    let svg = render("svg", &["--width", "60", "--white"]);
    let drawn = halfbar(&["draw", "-", "--width", "60", "--white"], DEMO.as_bytes()).stdout;
    assert_eq!(text(&svg[1]).trim_end(), text(&drawn).trim_end());

    for (more, corner) in [(&["--scale", "640"][..], 0), (&["--scale", "1280", "--white"], 255)] {
        let picture = pixels::decode(&render("png", more)[1]);
        assert_eq!(picture.width().to_string(), more[1]);
        assert_eq!(picture.pixel(0, 0).unwrap().alpha(), corner);
        assert!(picture.pixels().iter().any(|pixel| pixel.alpha() == 255 && pixel.red() == 0));
    }

    let markup = render("half-bar", &[]).into_iter().map(|file| text(&file)).collect::<String>();
    assert!(
        markup.starts_with("<div class=\"half-bar\"><half-bar><pre>title&#58; &#60;b&#62;&#34;x&#34;"),
        "{markup}"
    );
    // Nothing that Markdown or a typographer changes, and nothing that is left when the picture is dropped.
    assert_eq!(
        (markup.lines().count(), markup.matches("<text").count(), markup.matches("<desc").count()),
        (2, 0, 0)
    );
    assert_eq!(markup.matches("</pre><figure><svg").count(), 2);
    assert_eq!((markup.matches("<pre").count(), markup.matches("<script").count()), (2, 0));

    let html = render("html", &[]).into_iter().map(|file| text(&file)).collect::<String>();
    assert_eq!((html.matches("<!DOCTYPE html>").count(), html.matches("<script").count()), (2, 0));
    for unshown in ["--degrees", "--chord-tones"] {
        let folder = folder("unshown", &[("b.txt", DEMO)]);
        let folder = folder.to_str().unwrap();
        let output = halfbar(&["render", folder, "--to", "html", "--out", folder, unshown], b"");
        assert!(!output.status.success());
        assert!(text(&output.stderr).contains("use them with --to svg, png or half-bar"), "{unshown}");
    }
}

#[test]
fn names_have_places_costs_and_other_readings() {
    let line = b"key: C\n@C6 E3 G A C  r:2 | @G7 D4 F A D  B G F D |";
    let said = text(&halfbar(&["name", "-", "--others"], line).stdout);
    let rows: Vec<&str> = said.lines().collect();
    assert_eq!(rows[0], "1.1 to 1.5/2  C6 arpeggio, 1st inversion, up  10");
    assert!(rows[1].starts_with("    or Am7 arpeggio, 2nd inversion, up  +"), "{said}");
    assert!(rows.iter().any(|row| row.contains("G7 arpeggio, 2nd inversion, down")), "{said}");
    let plain = text(&halfbar(&["name", "-"], line).stdout);
    assert!(!plain.contains("    or "), "{plain}");
}

#[test]
fn advice_has_places_weights_and_reasons() {
    let line = "# Tuesday\nkey: Eb\nrecast: split-last at 1.1\n\
        @Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D F Ab F  D C Bb Ab | @Ebmaj7 G3:2 r:2 |\n";
    let advise = |arguments: &[&str], line: &str| {
        let output = halfbar(&[&["advise", "-"], arguments].concat(), line.as_bytes());
        (output.status.code(), text(&output.stdout), text(&output.stderr))
    };
    let plain = line.replace("recast: split-last at 1.1\n", "");
    let (code, said, told) = advise(&[], &plain);
    assert_eq!((code, told.as_str(), said.lines().count()), (Some(0), "", 1));
    assert_eq!(
        said,
        "1.3  +8  leads into the change to B♭7 (+3), quick notes that can be swept (+3), is one group: C minor pentatonic, down (+2)\n"
    );
    let (_, all, _) = advise(&["--density", "everywhere"], &plain);
    let places: Vec<_> = all.lines().map(|row| row.split("  ").next().unwrap()).collect();
    assert_eq!(places, ["1.1", "1.3", "2.1", "2.3"]);

    // All else stays as it was written.
    let (_, taken, _) = advise(&["--density", "alternately", "--take", "--spelling", "tied"], line);
    assert_eq!(taken, line.replace("at 1.1", "at 1.1 bracket, 2.3 tied"));

    for (arguments, input, code, says) in [
        (&["--density", "twice"][..], line, 2, "write `sparingly`, `often`, `alternately` or `everywhere`"),
        (&["--figure", "split"], line, 1, "`split` is not a figure: the figures are split-last, "),
        (&["--spelling", "long"], line, 2, "write `bracket`, `tied`, `plain` or `grouped`"),
        (&[], "C4 D E F G A B C |", 1, "standard input:there are no chords"),
        (&[], "@C C4:2 E:2 |", 1, "write a half-bar of eighths first"),
        (&["--density", "often"], line, 1, "try `alternately`"),
    ] {
        let (exit, said, told) = advise(arguments, input);
        assert_eq!((exit, said.as_str()), (Some(code), ""), "{arguments:?}");
        assert!(told.contains(says), "{told}");
    }
}

#[test]
fn render_says_what_is_allowed() {
    let from = folder("one", &[("line.txt", DEMO), ("long.txt", &"C4 D E F G A B C |\n".repeat(60))]);
    let (none, line, long) = (folder("none", &[]), from.join("line.txt"), from.join("long.txt"));
    for (what, arguments, says) in [
        (&none, &["--to", "svg"][..], "there are no .txt files here"),
        (&line, &["--to", "gif"], "svg, png, html, half-bar"),
        (&line, &["--to", "png", "--scale", "15"], "16..=16384"),
        (&long, &["--to", "png", "--scale", "16000"], "make it narrower"),
        (&from.join("no.txt"), &["--to", "svg"], "no.txt:"),
    ] {
        let out = none.join("out");
        let edges = ["render", what.to_str().unwrap(), "--out", out.to_str().unwrap()];
        let output = halfbar(&[&edges, arguments].concat(), b"");
        assert!(!output.status.success(), "{arguments:?}");
        assert!(text(&output.stderr).contains(says), "{arguments:?}: {}", text(&output.stderr));
    }
}

/// A title with letters that we have no outlines for uses one of the machine's fonts, and a note says so.
#[test]
fn no_title_is_lost_in_a_picture() {
    let from = folder("letters", &[("line.txt", "title: \u{0531}\u{0532}\u{0533}\n\nC4 D E F G A B C |")]);
    let out = folder("letters-rendered", &[]);
    let [file, into] = [from.join("line.txt"), out.clone()];
    let arguments =
        ["render", file.to_str().unwrap(), "--to", "png", "--white", "--out", into.to_str().unwrap()];
    let output = halfbar(&arguments, b"");
    let told = text(&output.stderr);
    assert!(told.contains("\u{0531}\u{0532}\u{0533}"), "{told}");
    if output.status.success() {
        let picture = pixels::decode(&fs::read(out.join("line.png")).unwrap());
        // The title is at the left, above everything else.
        let above = |x, y| picture.pixel(x, y).is_some_and(|pixel| pixel.red() < 128);
        assert!((0..60).any(|y| (0..200).any(|x| above(x, y))), "no title");
    } else {
        assert!(told.contains("no font on this machine"), "{told}");
    }
}

#[test]
fn examples_of_files_run() {
    let program = target().join("debug");
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap());
    let folder = folder("exported", &[]);
    for (command, made) in [("musicxml", "line.musicxml"), ("midi", "line.mid")] {
        let help = text(&halfbar(&[command, "--help"], b"").stdout);
        let example = help.split_once("Example: `").and_then(|(_, rest)| rest.split_once('`')).unwrap().0;
        let example = example.split_whitespace().collect::<Vec<_>>().join(" ");
        let shell =
            Command::new("sh").args(["-c", &example]).env("PATH", &path).current_dir(&folder).status();
        assert!(shell.unwrap().success(), "{example}");
        assert!(!fs::read(folder.join(made)).unwrap().is_empty(), "{example}");
    }
}

/// Commands that know about harmony show an example in their help, which runs; if it makes a line, the line is valid.
#[test]
fn examples_in_the_help_run() {
    let program = target().join("debug");
    let path = format!("{}:{}", program.display(), std::env::var("PATH").unwrap());
    for command in [
        "chain",
        "arpeggios",
        "pentatonic",
        "pentatonics",
        "altered",
        "land",
        "voicing",
        "name",
        "advise",
        "open",
    ] {
        let help = text(&halfbar(&[command, "--help"], b"").stdout);
        let example = help.split_once("Example: `").and_then(|(_, rest)| rest.split_once('`'));
        let (example, _) = example.unwrap_or_else(|| panic!("no example for {command}: {help}"));
        // Help is wrapped to the width of the terminal.
        let example = example.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(example.contains(&format!("halfbar {command}")), "{example}");
        let output = Command::new("sh").args(["-c", &example]).env("PATH", &path).output().unwrap();
        let (made, told) = (text(&output.stdout), text(&output.stderr));
        assert!(output.status.success() && !made.trim().is_empty(), "{example}: {told}");
        if made.starts_with("key:") {
            let check = halfbar(&["check", "-"], made.as_bytes());
            assert!(check.status.success(), "{example}: {}", text(&check.stderr));
        }
    }
}

#[test]
fn lines_are_made_from_chords_and_scales() {
    let run = |arguments: &[&str]| {
        let output = halfbar(arguments, b"");
        (output.status.success(), text(&output.stdout), text(&output.stderr))
    };
    let (_, made, told) = run(&["chain", "Fm7:2 Bb7alt:2 Ebmaj7:4"]);
    assert!(made.contains("@Fm7 F3 Ab C Eb  @Bb7alt D Bb Ab Gb | @Ebmaj7 G"), "{made}");
    assert_eq!(told, "chain: bar 1 beat 3: the shape for Bb7alt leaves out the b5, b9 and #9\n");
    let (_, made, _) =
        run(&["chain", "Ebmaj7:4", "--through", "Eb major", "--by", "2", "--times", "2", "--leap", "octave"]);
    assert!(made.contains("@Gm7") && made.contains("@Bb7"), "{made}");
    let (_, made, _) = run(&[
        "chain",
        "Fm7 Bb7 Ebmaj7",
        "--meter",
        "3/4",
        "--key",
        "Eb",
        "--direction",
        "up",
        "--leap",
        "fifth",
    ]);
    assert!(made.contains("meter: 3/4") && made.matches('|').count() == 3, "{made}");
    let (_, made, _) = run(&["arpeggios", "Eb major", "--sevenths", "--inversion", "1", "--strings", "4-2"]);
    assert!(made.contains("@Ebmaj7 G3^4 Bb^3 D^2 Eb^2"), "{made}");
    let (_, made, _) = run(&["voicing", "Cm7", "--drop", "2"]);
    assert!(made.contains("@Cm7 "), "{made}");
    let (_, made, _) = run(&["voicing", "Dm7:2 G7:2", "--shell"]);
    assert!(made.contains("@Dm7 D") && made.contains(" r "), "{made}");
    let (_, made, told) = run(&["pentatonic", "G minor", "--groups", "4", "--per-string", "3"]);
    assert!(made.contains("\nG2^6 Bb^6 C^6 D^5") && told.contains("above the highest fret"), "{made}{told}");
    let (_, fits, _) = run(&["pentatonics", "Ebmaj7"]);
    assert_eq!(fits.lines().next(), Some("G minor pentatonic: 3 5 13 7 9; in Eb major, with the 3 and 7"));
    let (_, shapes, _) = run(&["altered", "Bb7alt"]);
    assert!(shapes.lines().any(|row| row.ends_with("Bm(maj7): b9 3 b13 1; Bb altered")), "{shapes}");
    let (_, made, _) = run(&["altered", "Bb7alt", "--shape", "2"]);
    assert!(made.contains("@Bb7alt "), "{made}");
    let land =
        halfbar(&["land", "-", "--at", "2.1", "--from", "above"], b"@G7 G3 A B D4  F E D F | @Cmaj7 C:4 |");
    assert_eq!(
        text(&land.stderr),
        "standard input:bar 2 beat 1: lands \u{266d}7 to 3, a half step, with E4 instead of C4 at bar 2 beat 1\n"
    );
    assert!(text(&land.stdout).ends_with("| @Cmaj7 E:4 |\n"));

    for (arguments, says) in [
        (&["chain", "Fm7:2 H7:2"][..], "chord 2: `H7` is not a chord: write `B7`"),
        (
            &["chain", "Fm7:2 Bb7:1"],
            "chain: the chords don't fill bars of 4 quarter notes: make the last one longer, as in `Bb7:2`",
        ),
        (&["chain", "Ebmaj7:4", "--pickup", "5"], "pickup"),
        (&["arpeggios", "C major", "--inversion", "4"], "arpeggios: there is no inversion 4 of a triad"),
        (&["arpeggios", "C major", "--inversion", "x"], "write 0, 1, 2, 3 or each"),
        (
            &["pentatonic", "G minor", "--groups", "7"],
            "pentatonic: there are no groups of 7 notes: write 2 to 6",
        ),
        (&["pentatonic", "G dorian"], "is not a pentatonic scale"),
        (&["pentatonics", "NC"], "pentatonics: `NC` is not a chord to play over"),
        (
            &["altered", "Ebmaj7"],
            "altered: `Ebmaj7` doesn't have both a major third and a minor seventh: write one that does, such as `Eb7alt`",
        ),
        (&["altered", "G7", "--shape", "99"], "altered: there is no shape 99"),
        (&["voicing", "C", "--drop", "2"], "voicing: `C` has three notes"),
        (&["voicing", "C7", "--drop", "5"], "write 2, 3 or 2+4"),
    ] {
        let (success, made, told) = run(arguments);
        assert!(!success && made.is_empty() && told.contains(says), "{arguments:?}: {told}");
    }
}

/// Two notes at once, and what helps.
#[test]
fn files_of_other_programs_are_opened() {
    let note = |step: &str, more: &str| {
        format!(
            "<note>{more}<pitch><step>{step}</step><octave>4</octave></pitch><duration>2</duration></note>"
        )
    };
    let notes = [note("C", ""), note("E", "<chord/>"), note("D", "")].concat();
    let file = format!(
        "<score-partwise><work><work-title>A walk</work-title></work>\
         <part-list><score-part id='P1'><part-name>Flute</part-name></score-part></part-list><part id='P1'>\
         <measure number='1'>{notes}<barline><repeat direction='backward'/></barline></measure></part></score-partwise>"
    );
    let open = |arguments: &[&str]| halfbar(&[&["open", "-"], arguments].concat(), file.as_bytes());

    let listed = open(&["--list"]);
    let rows = "A walk\n--part 1 --staff 1 --voice 1  Flute: 3 notes, 2 of them together with others\n";
    assert_eq!((listed.status.code(), text(&listed.stdout)), (Some(0), rows.into()));

    let refused = open(&[]);
    assert_eq!((refused.status.code(), text(&refused.stdout)), (Some(1), String::new()));
    assert_eq!(
        text(&refused.stderr),
        "standard input: bar 1 beat 1: two notes sound together; take the top one, the bottom one, or another voice \
         (`--take top`, `--take bottom`, `--list`)\n"
    );

    let top = open(&["--take", "top"]);
    assert!(top.status.success() && text(&top.stdout).ends_with("\nE4:2  D:2 |\n"), "{}", text(&top.stdout));
    let said = "standard input: left out: 1 note sounding together with another\nstandard input: left out: 1 repeat\n";
    assert_eq!(text(&top.stderr), said);
    let low = text(&open(&["--take", "bottom", "--octave", "-1"]).stdout);
    assert!(low.ends_with("\nC3:2  D:2 |\n"), "{low}");

    assert_eq!(open(&["--part", "2"]).status.code(), Some(1));
    let other = halfbar(&["open", "-"], b"hello");
    assert_eq!(other.status.code(), Some(1));
    assert!(text(&other.stderr).starts_with("standard input: "), "{}", text(&other.stderr));
}
