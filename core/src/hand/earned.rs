//! Each cost earns its place.

use serde_json::Value;

use crate::read;

use super::Fretting;
use super::fretting::FrettingHand;
use super::plan;
use super::weights::FrettingWeights;

pub(super) fn passages(file: &str) -> Vec<Value> {
    let text = std::fs::read_to_string(file).unwrap();
    let panel: Value = serde_json::from_str(&text).unwrap();
    panel["passages"].as_array().unwrap().clone()
}

fn frettings(text: &str, change: &dyn Fn(&mut FrettingWeights)) -> Vec<Fretting> {
    let line = read::text(text).line.unwrap();
    let mut hand = FrettingHand::of(line.heading());
    change(&mut hand.weights);
    let plan = plan::by(hand, &line, None).unwrap();
    (0..plan.notes.len()).map(|note| plan.at(note)).collect()
}

/// misplaced, misfingered
pub(super) fn judge(passage: &Value, ours: &[Fretting]) -> (usize, usize) {
    let has = |list: &Value, item: &str| list.as_array().unwrap().iter().any(|other| other == item);
    let lines = [&passage["frets"]].into_iter().chain(passage["or"].as_array().into_iter().flatten());
    let wrong = |line: &Value| {
        let line = line.as_array().unwrap();
        assert_eq!(line.len(), ours.len(), "{}", passage["id"]);
        ours.iter()
            .zip(line)
            .filter(|(f, right)| !has(right, &format!("{}.{}", f.string.0, f.fret.0)))
            .count()
    };
    let mut places = lines.map(wrong).min().unwrap();
    let mut fingers = 0;
    if passage["fingers_judged"] == true {
        let all = ours.iter().zip(passage["fingers"].as_array().unwrap());
        fingers += all.filter(|(f, right)| !has(right, &f.finger.0.to_string())).count();
    }
    for never in passage["never"].as_array().into_iter().flatten() {
        let f = ours[never["note"].as_u64().unwrap() as usize];
        places += usize::from(never["at"] == format!("{}.{}", f.string.0, f.fret.0));
    }
    if let Some(cells) = passage["cells"].as_object() {
        let [from, length, count] =
            ["from", "length", "count"].map(|key| cells[key].as_u64().unwrap() as usize);
        for note in from..from + length * count {
            let first = ours[from + (note - from) % length];
            places += usize::from(ours[note].string != first.string);
            fingers += usize::from(ours[note].finger != first.finger);
        }
    }
    (places, fingers)
}

#[test]
fn explore() {
    let all: Vec<Value> =
        std::env::var("PANELS").unwrap().split(',').flat_map(|file| passages(file)).collect();
    let show = |name: &str, change: &dyn Fn(&mut FrettingWeights)| {
        let (mut right, mut full, mut wrong) = (0, 0, vec![]);
        for passage in &all {
            let ours = frettings(passage["text"].as_str().unwrap(), change);
            let (places, fingers) = judge(passage, &ours);
            right += usize::from(places == 0);
            full += usize::from(places + fingers == 0);
            if places + fingers > 0 {
                wrong.push(format!("{}:{places}/{fingers}", passage["id"].as_str().unwrap()));
            }
        }
        println!("{name}: {right} {full} of {}  {}", all.len(), wrong.join(" "));
    };
    show("now", &|_| {});
    let names: Vec<String> = std::env::var("TRY").unwrap_or_default().split(';').map(Into::into).collect();
    for name in names.iter().filter(|name| !name.is_empty()) {
        show(name, &|w| {
            set(w, name);
        });
    }
}

fn set(w: &mut FrettingWeights, name: &str) {
    for set in name.split(',') {
        let (key, value) = set.split_once('=').unwrap();
        let value: u32 = value.parse().unwrap();
        match key {
            "shift" => w.shift = value,
            "by" => w.shift_by_fret = value,
            "stretch" => w.stretch = value,
            "mm" => w.stretch_per_10_mm = value,
            "change" => w.change = value,
            "skip" => w.skip = value,
            "same" => w.same_finger = value,
            "half" => w.half_step = value,
            "roll1" => w.roll[0] = value,
            "roll4" => w.roll = [w.roll[0], value, value, value],
            "r1" => w.roll[0] = value,
            "r2" => w.roll[1] = value,
            "r3" => w.roll[2] = value,
            "r4" => w.roll[3] = value,
            "doubled" => w.doubled = value,
            "open" => w.open = value,
            "low" => w.low = value,
            "height" => w.height = value,
            "high" => w.high = value,
            "split" => w.split = value,
            "crossed" => w.crossed = value,
            "dull" => w.dull = value,
            "late" => w.late = value,
            "on" => w.shape_shift = value,
            "new" => w.new_shape = value,
            _ => panic!("{key}"),
        }
    }
}

#[test]
fn diff() {
    let change = std::env::var("TRY").unwrap();
    let text = std::fs::read_to_string(std::env::var("LINES").unwrap()).unwrap();
    for line in text.split("\n\n").filter(|line| !line.trim().is_empty()) {
        let (a, b) = (frettings(line, &|_| {}), frettings(line, &|w| set(w, &change)));
        if a != b {
            let shown = |list: &[Fretting], other: &[Fretting]| -> String {
                let one = |(f, o): (&Fretting, &Fretting)| {
                    let place = (f.string, f.fret) != (o.string, o.fret);
                    format!("{}{}.{}/{} ", if place { "*" } else { "" }, f.string.0, f.fret.0, f.finger.0)
                };
                list.iter().zip(other).map(one).collect()
            };
            println!("{}\n   now {}\n   not {}", line.lines().last().unwrap(), shown(&a, &b), shown(&b, &a));
        }
    }
}

#[test]
fn show() {
    for passage in std::env::var("PANELS").unwrap().split(',').flat_map(|file| passages(file)) {
        let ours = frettings(passage["text"].as_str().unwrap(), &|_| {});
        let shown: Vec<String> =
            ours.iter().map(|f| format!("{}.{}/{}", f.string.0, f.fret.0, f.finger.0)).collect();
        println!("{} {:?} {}", passage["id"], judge(&passage, &ours), shown.join(" "));
    }
}
