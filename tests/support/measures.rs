//! What a MusicXML file must have besides what the schema says: times that add up, and an end for each start.
//!
//! Source of the rules: MusicXML 4.0 (W3C), the pages of the elements backup, duration, time-modification, tuplet, tie, tied, slur, slide, hammer-on,
//! pull-off, beam, string, fret, staff-tuning and capo.

use std::collections::{BTreeMap, BTreeSet};

use roxmltree::{Document, Node};

/// What is wrong with a file of one part, as sentences; none if nothing is.
pub fn problems(xml: &str) -> Vec<String> {
    let document = Document::parse(xml).unwrap();
    let mut part = Part::default();
    let measures: Vec<Node> = document.descendants().filter(|node| node.has_tag_name("measure")).collect();
    for (index, &measure) in measures.iter().enumerate() {
        part.measure(measure, index + 1 == measures.len());
    }
    for (voice, state) in &part.voices {
        let open = state.open.iter().map(|(what, number)| format!("{what} {number}"));
        let tied = state.tied.iter().map(|key| format!("tie at {key}"));
        part.problems.extend(open.chain(tied).map(|what| format!("at the end, {voice:?}: {what} is open")));
    }
    part.problems
}

/// A staff and a voice.
type VoiceName = (String, String);

/// What is open in a voice.
#[derive(Default)]
struct Voice {
    /// Slurs, slides, hammer-ons, pull-offs and beams, with their numbers.
    open: BTreeSet<(String, String)>,
    /// The key at which a tie is open.
    tied: Option<i64>,
    /// The tuplets, with their ratios and units.
    tuplets: BTreeMap<String, (i64, i64, String)>,
    /// Where its next note must start.
    at: i64,
}

/// The part so far.
#[derive(Default)]
struct Part {
    divisions: i64,
    /// The length of a full bar.
    full: i64,
    pickup: i64,
    /// The keys of the open strings from string 1, with the capo.
    strings: Vec<i64>,
    voices: BTreeMap<VoiceName, Voice>,
    ids: BTreeSet<String>,
    problems: Vec<String>,
}

impl Part {
    fn measure(&mut self, measure: Node, is_last: bool) {
        let number = measure.attribute("number").unwrap_or_default().to_string();
        let mut cursor = 0;
        let mut furthest = 0;
        for node in measure.children().filter(Node::is_element) {
            match node.tag_name().name() {
                "attributes" => self.attributes(node),
                "backup" => cursor -= integer(node, "duration"),
                "forward" => cursor += integer(node, "duration"),
                "note" => cursor = self.note(node, cursor, &number),
                _ => {}
            }
            if cursor < 0 {
                self.problem(&number, format!("goes back to {cursor}"));
            }
            furthest = furthest.max(cursor);
        }
        let is_full = match measure.attribute("implicit") {
            Some("yes") => {
                self.pickup = furthest;
                furthest < self.full
            }
            _ if is_last => furthest == self.full || furthest == self.full - self.pickup,
            _ => furthest == self.full,
        };
        if !is_full {
            self.problem(&number, format!("lasts {furthest}, and a full one {}", self.full));
        }
        let mut wrong = Vec::new();
        for (name, voice) in &mut self.voices {
            if voice.at != furthest {
                wrong.push(format!("{name:?} ends at {}, and the measure at {furthest}", voice.at));
            }
            wrong.extend(voice.tuplets.keys().map(|tuplet| format!("{name:?}: tuplet {tuplet} is open")));
            wrong.extend(
                voice.open.iter().filter(|(what, _)| what == "beam").map(|_| "a beam is open".into()),
            );
            voice.at = 0;
        }
        wrong.into_iter().for_each(|problem| self.problem(&number, problem));
    }

    fn problem(&mut self, number: &str, problem: impl Into<String>) {
        self.problems.push(format!("measure {number}: {}", problem.into()));
    }

    fn attributes(&mut self, node: Node) {
        if let Some(divisions) = text(node, "divisions") {
            self.divisions = divisions.parse().unwrap();
        }
        if let Some(time) = child(node, "time") {
            let beats: i64 =
                text(time, "beats").unwrap().split('+').map(|beats| beats.parse::<i64>().unwrap()).sum();
            let quarters = 4 * beats * self.divisions;
            let unit = integer(time, "beat-type");
            assert_eq!(quarters % unit, 0);
            self.full = quarters / unit;
        }
        if let Some(details) = child(node, "staff-details") {
            let capo = text(details, "capo").map_or(0, |capo| capo.parse().unwrap());
            let tunings = details.children().filter(|node| node.has_tag_name("staff-tuning"));
            self.strings = tunings
                .map(|tuning| capo + key(tuning, "tuning-step", "tuning-alter", "tuning-octave"))
                .collect();
            // Lines count from the bottom, strings from the top.
            self.strings.reverse();
        }
    }

    /// Checks a note and returns where it ends.
    fn note(&mut self, node: Node, cursor: i64, number: &str) -> i64 {
        let staff = text(node, "staff").unwrap_or("1").to_string();
        let name = (staff, text(node, "voice").unwrap().to_string());
        let mut voice = self.voices.remove(&name).unwrap_or_default();
        let mut problems = Vec::new();
        if !self.ids.insert(node.attribute("id").unwrap().into()) {
            problems.push("an id that another one has".to_string());
        }
        let pitch = child(node, "pitch").map(|pitch| key(pitch, "step", "alter", "octave"));
        let is_grace = child(node, "grace").is_some();
        let duration = if is_grace { 0 } else { integer(node, "duration") };
        if voice.at != cursor {
            problems.push(format!("starts at {cursor}, and the one before ends at {}", voice.at));
        }
        voice.at = cursor + duration;
        problems.extend(voice.joins(node));
        problems.extend(voice.ties(node, pitch, is_grace));
        problems.extend(voice.tuplets(node, duration, self.divisions, is_grace));
        problems.extend(voice.beams(node));
        problems.extend(self.fret(node, pitch));
        problems.extend(sign(node));
        for problem in problems {
            self.problem(number, format!("{name:?} at {cursor}: {problem}"));
        }
        self.voices.insert(name, voice);
        cursor + duration
    }

    fn fret(&self, node: Node, pitch: Option<i64>) -> Option<String> {
        let of = |name| notations(node).find(|mark| mark.has_tag_name(name)).map(value);
        match (of("string"), of("fret")) {
            (None, None) => None,
            (Some(string), Some(fret)) => {
                let string = usize::try_from(string - 1).ok().and_then(|index| self.strings.get(index));
                let sounds = string.map(|open| open + fret);
                (sounds != pitch).then(|| format!("sounds {sounds:?}, and the pitch is {pitch:?}"))
            }
            (string, fret) => Some(format!("string {string:?} and fret {fret:?}")),
        }
    }
}

impl Voice {
    fn joins(&mut self, node: Node) -> Vec<String> {
        let mut problems = Vec::new();
        for mark in notations(node) {
            let what = mark.tag_name().name();
            if !matches!(what, "slur" | "slide" | "hammer-on" | "pull-off") {
                continue;
            }
            let join = (what.to_string(), mark.attribute("number").unwrap_or("1").to_string());
            let fits = match mark.attribute("type") {
                Some("start") => self.open.insert(join),
                _ => self.open.remove(&join),
            };
            if !fits {
                problems.push(format!("{what}: a start is open already, or a stop has none"));
            }
        }
        problems
    }

    fn ties(&mut self, node: Node, pitch: Option<i64>, is_grace: bool) -> Vec<String> {
        let kinds = |nodes: Vec<Node>| -> Vec<String> {
            nodes.iter().map(|tie| tie.attribute("type").unwrap().to_string()).collect()
        };
        let sounding = kinds(node.children().filter(|tie| tie.has_tag_name("tie")).collect());
        let drawn = kinds(notations(node).filter(|tie| tie.has_tag_name("tied")).collect());
        let mut problems = Vec::new();
        if sounding != drawn {
            problems.push(format!("ties {sounding:?} are drawn as {drawn:?}"));
        }
        let has = |kind: &str| sounding.iter().any(|tie| tie == kind);
        if has("stop") != (self.tied.is_some() && !is_grace) || (has("stop") && self.tied != pitch) {
            problems.push(format!("a tie from {:?} to {pitch:?}", self.tied));
        }
        if !is_grace {
            self.tied = pitch.filter(|_| has("start"));
        }
        problems
    }

    /// Tuplets, and the length that the note's value has inside them.
    fn tuplets(&mut self, node: Node, duration: i64, divisions: i64, is_grace: bool) -> Vec<String> {
        let mut problems = Vec::new();
        let marks: Vec<Node> = notations(node).filter(|mark| mark.has_tag_name("tuplet")).collect();
        let name = |mark: &Node| mark.attribute("number").unwrap().to_string();
        for mark in marks.iter().filter(|mark| mark.attribute("type") == Some("start")) {
            let of = |part| integer(child(*mark, part).unwrap(), "tuplet-number");
            let unit = child(*mark, "tuplet-normal").and_then(|normal| text(normal, "tuplet-type")).unwrap();
            let tuplet = (of("tuplet-actual"), of("tuplet-normal"), unit.to_string());
            if self.tuplets.insert(name(mark), tuplet).is_some() {
                problems.push("a tuplet starts inside itself".into());
            }
        }
        let around = self.tuplets.values().fold((1, 1), |all, one| (all.0 * one.0, all.1 * one.1));
        let modified = child(node, "time-modification")
            .map_or((1, 1), |change| (integer(change, "actual-notes"), integer(change, "normal-notes")));
        if !is_grace && around != modified {
            problems.push(format!("{modified:?} in tuplets of {around:?}"));
        }
        // The innermost tuplet has the highest number.
        let unit = self.tuplets.values().next_back().map(|tuplet| tuplet.2.as_str()).filter(|_| !is_grace);
        let modification = child(node, "time-modification");
        let said = modification.and_then(|change| text(change, "normal-type").or(text(node, "type")));
        if unit != said {
            problems.push(format!("the unit {said:?} in a tuplet of {unit:?}"));
        }
        if let (Some(kind), false) = (text(node, "type"), is_grace) {
            let shapes = ["64th", "32nd", "16th", "eighth", "quarter", "half", "whole"];
            let shape = shapes.iter().position(|shape| *shape == kind).unwrap();
            let dots = node.children().filter(|node| node.has_tag_name("dot")).count();
            // In 64ths of a whole note, times 2 for each dot.
            let length = (1_i64 << shape) * ((2 << dots) - 1);
            if 16 * duration * (modified.0 << dots) != divisions * length * modified.1 {
                problems.push(format!("a {kind} with {dots} dots in {modified:?} lasts {duration}"));
            }
        }
        for mark in marks.iter().filter(|mark| mark.attribute("type") == Some("stop")) {
            if self.tuplets.remove(&name(mark)).is_none() {
                problems.push("a tuplet stops that never started".into());
            }
        }
        problems
    }

    fn beams(&mut self, node: Node) -> Vec<String> {
        let mut problems = Vec::new();
        let beams = node.children().filter(|beam| beam.has_tag_name("beam"));
        for (level, beam) in (1..).zip(beams) {
            let level: i64 = level;
            let join = ("beam".to_string(), level.to_string());
            let fits = beam.attribute("number") == Some(level.to_string().as_str())
                && match beam.text() {
                    Some("begin") => self.open.insert(join),
                    Some("continue") => self.open.contains(&join),
                    Some("end") => self.open.remove(&join),
                    _ => !self.open.contains(&join),
                };
            if !fits {
                problems.push(format!("beam {level}: {:?}", beam.text()));
            }
        }
        problems
    }
}

/// An accidental says what the pitch has.
fn sign(node: Node) -> Option<String> {
    let signs = ["flat-flat", "flat", "natural", "sharp", "double-sharp"];
    let shown = signs.iter().position(|sign| text(node, "accidental") == Some(sign))?;
    let alter = child(node, "pitch").and_then(|pitch| text(pitch, "alter")).unwrap_or("0");
    (alter != (i64::try_from(shown).unwrap() - 2).to_string())
        .then(|| format!("{} for {alter}", signs[shown]))
}

/// What is inside the notations of a note, and one level deeper.
fn notations<'a, 'i>(node: Node<'a, 'i>) -> impl Iterator<Item = Node<'a, 'i>> {
    let inside = child(node, "notations").into_iter().flat_map(|inside| inside.children());
    inside.flat_map(|mark| match mark.has_tag_name("technical") {
        true => mark.children().collect::<Vec<_>>(),
        false => vec![mark],
    })
}

fn child<'a, 'i>(node: Node<'a, 'i>, name: &str) -> Option<Node<'a, 'i>> {
    node.children().find(|child| child.has_tag_name(name))
}

fn text<'a>(node: Node<'a, '_>, name: &str) -> Option<&'a str> {
    child(node, name)?.text()
}

fn value(node: Node) -> i64 {
    node.text().unwrap().parse().unwrap()
}

fn integer(node: Node, name: &str) -> i64 {
    value(child(node, name).unwrap())
}

/// The MIDI key of a pitch.
fn key(node: Node, step: &str, alter: &str, octave: &str) -> i64 {
    let step = "C D EF G A B".find(text(node, step).unwrap()).unwrap();
    let alter = text(node, alter).map_or(0, |alter| alter.parse().unwrap());
    12 * (integer(node, octave) + 1) + i64::try_from(step).unwrap() + alter
}
