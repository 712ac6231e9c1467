//! Each search against every plan there is. With the environment variable `HALFBAR_THOROUGH`, over many more lines.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::line::{Line, NoteId};
use crate::technique::{FingeringStyle, PickingStyle};
use crate::{read, recast};

use super::fretting::{FrettingHand, ToFret, shaped, to_fret};
use super::picking::{PickingHand, ToPick, to_pick};
use super::reach::Fretting;
use super::search::{Hand, Search};
use super::weights::Cost;

/// How many lines a proof tries.
fn lines(usual: usize, thorough: usize) -> usize {
    let lines = if std::env::var_os("HALFBAR_THOROUGH").is_some() { thorough } else { usual };
    println!("{lines} lines");
    lines
}

/// Small numbers that look random and are the same in every run: the multiplier and the addend of Knuth's MMIX (The Art of Computer
/// Programming 2, 3.3.4, table 1, line 26; from memory).
struct Dice(u64);

impl Dice {
    fn roll(&mut self, sides: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % sides
    }
}

/// A random line of this many notes, and a rest that fills the bar.
fn line(dice: &mut Dice, notes: usize, style: FingeringStyle, strokes: PickingStyle) -> Line {
    let slurs = ["", ", slurs"][dice.roll(2)];
    let mut text = format!("tempo: {}\n", [60, 120, 240][dice.roll(3)]);
    text += &format!("style: {}\npicking: {}{slurs}\nmeter: 6/4\n", style.name(), strokes.name());
    if dice.roll(4) == 0 {
        text +=
            &format!("hand: {} at 1.{} to 2.1\n", PickingStyle::ALL[dice.roll(4)].name(), 1 + dice.roll(3));
    }
    let mut left = 12;
    for index in 0..notes {
        let length = match dice.roll(8) {
            0 if left > 2 * (notes - index) => 2,
            _ => 1,
        };
        let rest = left > 2 * (notes - index) + 2 && dice.roll(8) == 0;
        left -= length + usize::from(rest);
        // The letters of the neck but its very top.
        let (letter, octave) = (dice.roll(7), 3 + dice.roll(2));
        let (name, alter) = (["C", "D", "E", "F", "G", "A", "B"][letter], ["", "#", "b"][dice.roll(3)]);
        let join = if dice.roll(10) == 0 && !rest && index + 1 < notes { "_" } else { "" };
        let pin = if dice.roll(12) == 0 && join.is_empty() {
            ["^d", "^u", "^/2", "^/3d"][dice.roll(4)]
        } else {
            ""
        };
        let rest = if rest { "r" } else { "" };
        text += &format!("{name}{alter}{octave}:{length}/2{join}{pin} {rest} ");
    }
    text += &format!("r:{left}/2 |");
    read::text(&text).line.unwrap_or_else(|| panic!("{text}"))
}

/// What there is to fret in a line; `None` where what is settled can't hold.
fn fretted(line: &Line) -> Option<(Vec<NoteId>, Vec<Arc<ToFret>>)> {
    to_fret(line).ok().map(|plan| (plan.notes, plan.settled))
}

/// What there is to pick in a line where each note lies somewhere.
fn picked(line: &Line, dice: &mut Dice) -> Option<Vec<Arc<ToPick>>> {
    let (notes, to_fret) = fretted(line)?;
    // Mostly near each other, so that there is something to slur and to sweep.
    let mut last: Option<Fretting> = None;
    let mut places = BTreeMap::new();
    for (note, to_fret) in notes.into_iter().zip(to_fret) {
        let all = &to_fret.ways.plain;
        let near = |fretting: &&Fretting| last.is_some_and(|last| last.position == fretting.position);
        let near: Vec<_> = all.iter().filter(near).collect();
        let place = match near.as_slice() {
            [] => all[dice.roll(all.len())],
            near if dice.roll(4) > 0 => *near[dice.roll(near.len())],
            _ => all[dice.roll(all.len())],
        };
        places.insert(note, place);
        last = Some(place);
    }
    let timed = recast::apply(line, &recast::Casting::default()).unwrap();
    let to_pick = to_pick(&timed, line, |note| places.get(&note).copied()).ok()?;
    Some(to_pick.into_iter().map(|(_, to_pick)| to_pick).collect())
}

/// Every plan for some notes, one by one.
struct Plans<'a, H: Hand> {
    hand: &'a H,
    last: &'a H::Note,
    /// What each state costs at the first note.
    starts: Vec<Option<Cost>>,
    /// For each later note, state of the note before and state of its own.
    pairs: Vec<Vec<Vec<Option<Cost>>>>,
}

impl<H: Hand> Plans<'_, H> {
    fn new<'a>(hand: &'a H, notes: &'a [Arc<H::Note>]) -> Plans<'a, H> {
        let alone = |state| {
            let mut sum = 0;
            hand.alone(state, |_, cost| sum += cost);
            sum
        };
        let start = |number| {
            let state = hand.state(&notes[0], number);
            let mut sum = alone(state);
            hand.first(&notes[0], state, |_, cost| sum += cost).then_some(sum)
        };
        let pair = |both: &[Arc<H::Note>], from, to| {
            let (from, to) = (hand.state(&both[0], from), hand.state(&both[1], to));
            let mut sum = alone(to);
            let goes = hand.next(from, &both[1], to, |_, cost| sum += cost);
            // The quick bound is none that shuts out a plan.
            assert!(!goes || alone(to) + hand.at_least(from, &both[1], to) <= sum);
            assert!(!goes || hand.after(&both[1], to) >> hand.class(from) & 1 == 1);
            goes.then_some(sum)
        };
        let pairs = notes.windows(2).map(|both| {
            let row = |from| (0..hand.states(&both[1])).map(|to| pair(both, from, to)).collect();
            (0..hand.states(&both[0])).map(row).collect()
        });
        Plans {
            hand,
            last: &notes[notes.len() - 1],
            starts: (0..hand.states(&notes[0])).map(start).collect(),
            pairs: pairs.collect(),
        }
    }

    /// The lowest cost of all.
    fn cheapest(&self) -> Cost {
        let starts = self.starts.iter().enumerate();
        let plans = starts.filter_map(|(state, cost)| Some(self.onward(0, state, (*cost)?)));
        plans.min().unwrap_or(Cost::MAX)
    }

    /// The lowest cost of all that go on from a state of a note.
    fn onward(&self, at: usize, state: usize, so_far: Cost) -> Cost {
        let Some(pairs) = self.pairs.get(at) else {
            let ends = self.hand.may_end(self.hand.state(self.last, state));
            return if ends { so_far } else { Cost::MAX };
        };
        let mut lowest = Cost::MAX;
        for (to, cost) in pairs[state].iter().enumerate() {
            if let Some(cost) = cost {
                lowest = lowest.min(self.onward(at + 1, to, so_far + cost));
            }
        }
        lowest
    }
}

/// The plan found costs no more than any other, and its charges add up to that.
fn prove<H: Hand>(hand: H, notes: Vec<Arc<H::Note>>, about: &dyn std::fmt::Debug) {
    let lowest = Plans::new(&hand, &notes).cheapest();
    let search = Search::new(hand, notes);
    let plan = search.best();
    assert_eq!(plan.len(), search.notes().len());
    assert_eq!(search.cost(&plan), lowest, "{about:?}");
}

/// The notes with up to four ways to fret each: close to each other on the neck and far apart.
fn on_a_small_neck(notes: Vec<Arc<ToFret>>, dice: &mut Dice) -> Vec<Arc<ToFret>> {
    let few = notes.into_iter().map(|note| {
        let mut kept: Vec<Fretting> = note.ways.plain.to_vec();
        while kept.len() > 4 {
            kept.remove(dice.roll(kept.len()));
        }
        Arc::new(note.narrowed(|fretting| kept.contains(fretting)))
    });
    few.collect()
}

/// The notes on strings and frets that lie near each other, with all fingers.
fn on_settled_frets(notes: &[Arc<ToFret>], dice: &mut Dice) -> Vec<Arc<ToFret>> {
    let mut places: Vec<Fretting> = Vec::new();
    for note in notes {
        let near = |way: &&Fretting| places.last().is_none_or(|last| last.fret.0.abs_diff(way.fret.0) < 4);
        let near: Vec<&Fretting> = note.ways.plain.iter().filter(near).collect();
        let all: Vec<&Fretting> = note.ways.plain.iter().collect();
        let some = if near.is_empty() { all } else { near };
        places.push(*some[dice.roll(some.len())]);
    }
    let on = |(index, note): (usize, &Arc<ToFret>)| {
        let beside = [index.checked_sub(1), Some(index + 1)].map(|other| places.get(other?).copied());
        Arc::new(note.on(places[index], beside))
    };
    notes.iter().enumerate().map(on).collect()
}

/// Lines of four notes, with every state of the hand; and on settled frets, with every finger.
fn prove_style(style: FingeringStyle) {
    let mut dice = Dice(1 + style as u64);
    for _ in 0..lines(1_000, 10_000) {
        let line = line(&mut dice, 4, style, PickingStyle::Alternate);
        let Some((_, notes)) = fretted(&line) else { continue };
        let hand = FrettingHand::of(line.heading());
        let fingers = on_settled_frets(&notes, &mut dice);
        prove(hand.clone(), shaped(&hand, notes), &line.events());
        prove(hand.clone(), shaped(&hand, fingers), &line.events());
    }
}

#[test]
fn four_notes_in_position() {
    prove_style(FingeringStyle::Position);
}

#[test]
fn four_notes_along_the_string() {
    prove_style(FingeringStyle::Along);
}

#[test]
fn four_notes_one_per_string() {
    prove_style(FingeringStyle::OnePerString);
}

#[test]
fn four_notes_three_per_string() {
    prove_style(FingeringStyle::ThreePerString);
}

/// Up to seven notes, each with up to four ways to fret it: where what went before counts for longer.
#[test]
fn seven_notes_on_a_small_neck() {
    let count = lines(1_000, 10_000);
    for style in FingeringStyle::ALL {
        let mut dice = Dice(7 + style as u64);
        for _ in 0..count {
            let notes = 5 + dice.roll(3);
            let line = line(&mut dice, notes, style, PickingStyle::Alternate);
            let Some((_, notes)) = fretted(&line) else { continue };
            let few = on_a_small_neck(notes, &mut dice);
            let hand = FrettingHand::of(line.heading());
            prove(hand.clone(), shaped(&hand, few), &(style, line.events()));
        }
    }
}

/// Sequences of eight notes, each with two ways to fret it that go with those of the other cells, so that there are shapes to keep.
#[test]
fn eight_notes_in_a_sequence() {
    let (mut dice, mut shapes) = (Dice(5), 0);
    for round in 0..lines(200, 2_000) {
        let (length, step) = [(2, 1), (4, 1), (2, -1), (4, -1)][round % 4];
        let cell: Vec<i32> = (0..length).map(|_| i32::try_from(53 + dice.roll(16)).unwrap()).collect();
        let names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];
        let notes = (0..8).map(|note| cell[note % length] + step * i32::try_from(note / length).unwrap());
        let names = notes.map(|key| format!("{}{}", names[usize::try_from(key % 12).unwrap()], key / 12 - 1));
        let line = read::text(&format!("{} |", names.collect::<Vec<_>>().join(" "))).line.unwrap();
        let Some((_, notes)) = fretted(&line) else { continue };
        let kept: Vec<Vec<Fretting>> = notes[..length]
            .iter()
            .map(|note| (0..2).map(|_| note.ways.plain[dice.roll(note.ways.plain.len())]).collect())
            .collect();
        let few = notes.into_iter().enumerate().map(|(index, note)| {
            let like = |way: &Fretting| {
                let mut kept = kept[index % length].iter();
                kept.any(|kept| (kept.string, kept.finger) == (way.string, way.finger))
            };
            let ways = note.narrowed(like);
            let some = !ways.ways.plain.is_empty();
            Arc::new(if some { ways } else { note.narrowed(|way| way == &note.ways.plain[0]) })
        });
        let hand = FrettingHand::of(line.heading());
        let few = shaped(&hand, few.collect());
        shapes += few.iter().filter(|note| hand.states(note) > note.ways.plain.len()).count();
        prove(hand, few, &line.events());
    }
    println!("{shapes} notes had shapes");
    assert!(shapes > 100);
}

/// Up to seven notes in every way of picking.
#[test]
fn seven_strokes() {
    let count = lines(1_000, 10_000);
    for style in PickingStyle::ALL {
        let mut dice = Dice(11 + style as u64);
        for _ in 0..count {
            let notes = 3 + dice.roll(5);
            let line = line(&mut dice, notes, FingeringStyle::Position, style);
            let Some(notes) = picked(&line, &mut dice) else { continue };
            prove(PickingHand, notes, &(style, line.events()));
        }
    }
}

/// Goes on from a search over a long line to one over a line that has changed in one place.
fn goes_on<H: Hand + Clone + PartialEq>(
    hand: &H,
    notes: &[Arc<H::Note>],
    round: usize,
    dice: &mut Dice,
) -> usize {
    let long: Vec<Arc<H::Note>> = notes.iter().cycle().take(60).cloned().collect();
    let mut changed = long.clone();
    let at = 20 + dice.roll(20);
    match round % 3 {
        0 => drop(changed.remove(at)),
        1 => changed.insert(at, Arc::clone(&long[0])),
        _ => changed[at] = Arc::clone(&long[at + 1]),
    }
    let before = Search::new(hand.clone(), long);
    let (over, anew) = (before.over(hand.clone(), changed.clone()), Search::new(hand.clone(), changed));
    assert!(over.is_like(&anew) && over.best() == anew.best());
    over.shared_with(&before)
}

/// A search that goes on from an earlier one finds what a new one finds.
#[test]
fn what_has_not_changed_is_taken_over() {
    let mut dice = Dice(3);
    let (mut frets, mut strokes, rounds) = (0, 0, lines(400, 4_000));
    for round in 0..rounds {
        let (style, strokes_style) = (FingeringStyle::ALL[round % 4], PickingStyle::ALL[round / 4 % 4]);
        let line = line(&mut dice, 6, style, strokes_style);
        let Some((_, to_fret)) = fretted(&line) else { continue };
        let hand = FrettingHand::of(line.heading());
        let to_fret = shaped(&hand, to_fret);
        frets += goes_on(&hand, &to_fret, round, &mut dice);
        if let Some(to_pick) = picked(&line, &mut dice) {
            strokes += goes_on(&PickingHand, &to_pick, round, &mut dice);
        }
        // For another hand nothing is as it was.
        let heading =
            crate::line::Heading { style: FingeringStyle::ALL[(round + 1) % 4], ..line.heading().clone() };
        let before = Search::new(hand, to_fret.clone());
        let other = FrettingHand::of(&heading);
        let (over, anew) = (before.over(other.clone(), to_fret.clone()), Search::new(other, to_fret));
        assert!(over.is_like(&anew));
    }
    println!("{frets} and {strokes} layers were taken over");
    assert!(frets > rounds * 30 && strokes > rounds * 25);
}
