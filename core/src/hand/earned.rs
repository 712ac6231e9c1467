//! Each cost of the fretting hand earns its place: without it, a passage that a teacher has fingered comes out wrong.

use serde_json::Value;

use crate::read;

use super::fretting::FrettingHand;
use super::plan;
use super::reach::Fretting;
use super::weights::{Cost, FrettingWeights};

/// The passages, with every answer that is right; `tests/hand.rs` reads them too.
const PASSAGES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/hand/passages.json");

/// Other weights.
type Change<'a> = &'a dyn Fn(&mut FrettingWeights);

/// How a hand with other weights plays a passage.
fn played(passage: &Value, change: Change<'_>) -> Vec<Fretting> {
    let line = read::text(passage["text"].as_str().unwrap()).line.unwrap();
    let mut hand = FrettingHand::of(line.heading());
    change(&mut hand.weights);
    let plan = plan::by(hand, &line, None).unwrap();
    (0..plan.notes().len()).map(|note| plan.at(note)).collect()
}

fn is_right(passage: &Value, played: &[Fretting]) -> bool {
    let place = |way: &Fretting| format!("{}.{}", way.string.0, way.fret.0);
    let all = |right: &Value, shown: &dyn Fn(&Fretting) -> String| {
        let notes = played.iter().zip(right.as_array().unwrap());
        notes.into_iter().all(|(way, right)| right.as_array().unwrap().contains(&shown(way).into()))
    };
    let mut lines = [&passage["frets"]].into_iter().chain(passage["or"].as_array().unwrap());
    let fingers = || passage.get("fingers").is_none_or(|right| all(right, &|way| way.finger.0.to_string()));
    let same_shape = || {
        passage.get("cells").is_none_or(|cells| {
            let of = |name: &str| usize::try_from(cells[name].as_u64().unwrap()).unwrap();
            let (from, length) = (of("from"), of("length"));
            let notes = &played[from..from + length * of("count")];
            let shape = |way: &Fretting| (way.string, way.finger);
            notes.iter().zip(notes.iter().skip(length)).all(|(a, b)| shape(a) == shape(b))
        })
    };
    lines.any(|line| all(line, &place)) && fingers() && same_shape()
}

#[test]
fn each_cost_earns_its_place() {
    let panel: Value = serde_json::from_str(&std::fs::read_to_string(PASSAGES).unwrap()).unwrap();
    let passages = panel["passages"].as_array().unwrap();
    let wrong = |change: Change<'_>| -> Vec<&str> {
        let wrong = passages.iter().filter(|passage| !is_right(passage, &played(passage, change)));
        wrong.map(|passage| passage["id"].as_str().unwrap()).collect()
    };
    assert_eq!(wrong(&|_| {}), [""; 0]);
    // What each is without: what it was before, or nothing.
    let never: Cost = 1_000;
    let without: [(&str, Change<'_>); 17] = [
        ("shift", &|weights| weights.shift = 0),
        ("stretch", &|weights| weights.stretch = 0),
        ("change", &|weights| weights.change = 0),
        ("skip", &|weights| weights.skip = 0),
        ("half step", &|weights| weights.half_step = weights.same_finger),
        ("split", &|weights| weights.split = 0),
        ("roll", &|weights| weights.roll = [0; 4]),
        ("doubled", &|weights| weights.doubled = never),
        ("crossed", &|weights| weights.crossed = 0),
        ("open", &|weights| weights.open = 20),
        ("low", &|weights| weights.low = 0),
        ("height", &|weights| weights.height = 0),
        ("dull", &|weights| weights.dull = 0),
        ("late", &|weights| weights.late = 0),
        ("high", &|weights| weights.high = 0),
        ("new shape", &|weights| weights.new_shape = 0),
        ("shape shift", &|weights| weights.shape_shift = never),
    ];
    for (name, change) in without {
        let wrong = wrong(change);
        println!("without {name}: {}", wrong.join(" "));
        assert!(!wrong.is_empty(), "no passage needs `{name}`");
    }
}
