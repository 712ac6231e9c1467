//! Laws of ladders, whatever figure they lead to, and of the pace of practice. `PROPTEST_CASES` sets the number of random cases.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::sync::Arc;

use halfbar_core::drill::{self, DrillError, LadderStep, Side, StepKind};
use halfbar_core::line::{Event, Line, Tempo};
use halfbar_core::perform::{Jumps, Pace, PaceError, tapped};
use halfbar_core::recast::{self, Casting, Figure, RecastError, Spelling, Window};
use halfbar_core::time::{Duration, Onset};
use halfbar_core::{Piece, read, write};
use halfbar_tests::{laws, lines, random};
use proptest::prelude::*;

/// Where failing cases are kept.
const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/ladder.regressions");

/// A sound's start and end in quarter notes, and whether it is accented.
type Sound = (Duration, Duration, bool);

fn sounds(line: &Line, casting: &Casting) -> Vec<Sound> {
    let timed = recast::apply(line, casting).unwrap();
    let notes = timed.events.iter().filter(|event| event.pitch.is_some());
    notes
        .map(|event| (event.onset.since_start(), event.span().unwrap().end().since_start(), event.accent))
        .collect()
}

/// The notes of a figure, timed from the start of its window.
fn figure_sounds(figure: &Figure) -> Vec<(Duration, Duration)> {
    let (mut at, mut notes) = (Duration::ZERO, Vec::new());
    for stretch in figure.stretches(Spelling::Plain) {
        let end = at.checked_add(stretch.duration).unwrap();
        if stretch.sounds {
            notes.push((at, end));
        }
        at = end;
    }
    notes
}

/// After how long the window repeats, and what is played in it; the same every time.
fn window_of(step: &LadderStep, figure: &Figure) -> (Duration, Vec<(Duration, Duration)>) {
    let meter = step.line.bars().meter(0);
    let bar = meter.bar();
    // Computed another way here: from long to short.
    let beat = if meter.has_quarter_beats() { Duration::QUARTER } else { bar };
    let bars = (1..9).map(|bars| bar.checked_mul(bars).unwrap()).find(|&bars| bars >= figure.span()).unwrap();
    let shorter = (1..=16)
        .filter_map(|parts| bar.checked_div(parts).ok())
        .filter(|p| p.is_multiple_of(beat) && *p >= figure.span());
    let period = shorter.min().unwrap_or(bars);
    let all = sounds(&step.line, &step.casting);
    let in_turn = |turn: i64| -> Vec<(Duration, Duration)> {
        let start = period.checked_mul(turn).unwrap();
        let end = start.checked_add(period).unwrap();
        let inside = all.iter().filter(|note| start <= note.0 && note.0 < end);
        inside.map(|note| (note.0.checked_sub(start).unwrap(), note.1.checked_sub(start).unwrap())).collect()
    };
    let first = in_turn(0);
    let mut turn = 0;
    while period.checked_mul(turn).unwrap() < step.line.end().since_start() {
        assert_eq!(in_turn(turn), first, "{}", step.says);
        turn += 1;
    }
    (period, first)
}

/// The one small change from one rhythm to the next, found by comparing where notes start and end.
fn change(before: &[(Duration, Duration)], after: &[(Duration, Duration)]) -> Option<StepKind> {
    let only =
        |notes: &[(Duration, Duration)], others: &[(Duration, Duration)]| -> Vec<(Duration, Duration)> {
            notes.iter().filter(|note| !others.contains(note)).copied().collect()
        };
    let (gone, new) = (only(before, after), only(after, before));
    match (gone.as_slice(), new.as_slice()) {
        ([_], []) => Some(StepKind::Rest),
        ([one], [first, second]) if one.0 == first.0 && first.1 == second.0 && second.1 == one.1 => {
            Some(StepKind::Split)
        }
        ([first, second], [one]) if one.0 == first.0 && first.1 == second.0 && second.1 == one.1 => {
            Some(StepKind::Tie)
        }
        ([a, b], [c, d]) if a.0 == c.0 && b.1 == d.1 && a.1 == b.0 && c.1 == d.0 => Some(StepKind::Move),
        _ => {
            // A passage that was divided evenly, and still is.
            let even = |notes: &[(Duration, Duration)]| {
                let length = |note: &(Duration, Duration)| note.1.checked_sub(note.0).unwrap();
                notes.windows(2).all(|pair| length(&pair[0]) == length(&pair[1]) && pair[0].1 == pair[1].0)
            };
            let same = (gone.first()?.0, gone.last()?.1) == (new.first()?.0, new.last()?.1);
            (same && even(&gone) && even(&new)).then_some(StepKind::Even)
        }
    }
}

/// Every law of one ladder.
fn is_a_ladder(figure: &Arc<Figure>, side: Side, steps: &[LadderStep], beats_alike: bool) {
    let context = |step: &LadderStep| format!("{figure}, from {side}: {}", step.says);
    for (index, step) in steps.iter().enumerate() {
        let heading = step.line.heading();
        assert_eq!(heading.title, format!("{} of {}: {}", index + 1, steps.len(), step.says));
        assert!(heading.title.chars().count() <= 120 && !step.says.ends_with('.'), "{}", context(step));
        let text = write::text::line(&step.line, &step.casting).unwrap();
        let reading = read::text(&text);
        assert!(reading.diagnostics.is_empty(), "{}: {:?}\n{text}", context(step), reading.diagnostics);
        let again = (reading.line.unwrap(), reading.casting);
        assert_eq!(sounds(&again.0, &again.1), sounds(&step.line, &step.casting), "{}", context(step));
        assert_eq!(step.line.end(), step.line.bar(step.line.bar_count() - 1).unwrap().end());
        Piece::new(again.0, again.1).unwrap_or_else(|error| panic!("{}: {error}", context(step)));
        if index > 0 {
            let before = &steps[index - 1];
            assert!((&before.line, &before.casting) != (&step.line, &step.casting), "{}", context(step));
            assert!(step.kind != StepKind::Start || before.kind == StepKind::Start, "{}", context(step));
            assert!(before.kind.is_rhythm() || !step.kind.is_rhythm(), "{}", context(step));
        }
    }
    let rhythm: Vec<&LadderStep> = steps.iter().filter(|step| step.kind.is_rhythm()).collect();
    if figure.is_accented() {
        for pair in rhythm.windows(2).filter(|pair| pair[1].kind == StepKind::Accent) {
            let accents =
                |step: &LadderStep| sounds(&step.line, &step.casting).iter().filter(|note| note.2).count();
            assert_eq!(accents(pair[1]), accents(pair[0]) + 1);
            assert_eq!(pair[0].line.events(), pair[1].line.events());
        }
        return;
    }
    // A pulse goes through the whole bar; everything after it is in the window.
    let in_window = &rhythm[usize::from(side == Side::Triplets && rhythm.len() > 1)..];
    for pair in in_window.windows(2) {
        let (before, after) = (window_of(pair[0], figure).1, window_of(pair[1], figure).1);
        let found = change(&before, &after);
        assert!(found == Some(pair[1].kind), "{}: {found:?} from {before:?} to {after:?}", context(pair[1]));
    }
    let last = rhythm.last().unwrap();
    let brackets =
        last.casting.windows().iter().filter(|window| window.spelling == Spelling::Bracket).count();
    let common = last.line.bars().meter(0).to_string() == "4/4";
    let one = side == Side::Triplets
        && common
        && figure.spellings()[0] == Spelling::Bracket
        && figure.span() <= Duration::of(2, 1);
    assert!(!one || brackets == 2, "{figure}: {brackets} brackets");
    let (_, last) = window_of(last, figure);
    assert_eq!(last, figure_sounds(figure), "{figure} from {side}");

    // On every beat where it fits, and nowhere else.
    for step in steps.iter().filter(|step| step.kind == StepKind::Place) {
        let [window] = step.casting.windows() else { panic!("{}", context(step)) };
        let start = window.start.since_start();
        let moved: Vec<_> = figure_sounds(figure)
            .into_iter()
            .map(|(from, to)| (start.checked_add(from).unwrap(), start.checked_add(to).unwrap()))
            .collect();
        let all = sounds(&step.line, &step.casting);
        let inside = |note: &&Sound| note.0 >= start && note.0 < start.checked_add(figure.span()).unwrap();
        let found: Vec<_> = all.iter().filter(inside).map(|note| (note.0, note.1)).collect();
        // In the tied spelling, notes at two thirds of a beat are written as swung eighths.
        assert!(window.spelling == Spelling::Tied || found == moved, "{}", context(step));
        let others = all.iter().filter(|note| !inside(note));
        assert!(
            others.clone().all(|note| (note.1.checked_sub(note.0)) == Ok(Duration::EIGHTH)),
            "{}",
            context(step)
        );
    }
    let places = steps.iter().filter(|step| step.kind == StepKind::Place).count();
    assert!(places > 0 && (!beats_alike || places == 4), "{figure} from {side}: {places} places");
}

#[test]
fn ladders_of_the_catalogue() {
    for figure in Figure::all() {
        for side in Side::ALL {
            let steps = drill::ladder(figure, side, None).unwrap();
            is_a_ladder(figure, side, &steps, !figure.is_accented());
            let cell = figure.span() > Duration::of(2, 1) || figure.span() == Duration::of(3, 2);
            assert_eq!(steps.iter().any(|step| step.kind == StepKind::Again), cell, "{}", figure.name());
        }
    }
}

/// How lessons on the subject do it (common practice, no source).
#[test]
fn the_steps_to_a_split_triplet() {
    let rhythms = |name: &str, side: Side| -> Vec<(StepKind, String)> {
        let steps = drill::ladder(&Figure::named(name).unwrap(), side, None).unwrap();
        let half = |step: &LadderStep| {
            let timed = recast::apply(&step.line, &step.casting).unwrap();
            let events = timed.events.iter().filter(|event| event.onset < Onset::at(2, 1));
            events.map(|event| event.duration.to_string()).collect::<Vec<_>>().join(" ")
        };
        steps.iter().filter(|step| step.kind.is_rhythm()).map(|step| (step.kind, half(step))).collect()
    };
    let are = |steps: &[(StepKind, &str)]| -> Vec<(StepKind, String)> {
        steps.iter().map(|&(kind, lengths)| (kind, lengths.to_string())).collect()
    };
    assert_eq!(
        rhythms("split-last", Side::Triplets),
        are(&[
            (StepKind::Start, "1 1"),
            (StepKind::Even, "2/3 2/3 2/3"),
            (StepKind::Split, "2/3 2/3 1/3 1/3")
        ])
    );
    assert_eq!(
        rhythms("split-last", Side::Eighths),
        are(&[
            (StepKind::Start, "1/2 1/2 1/2 1/2"),
            (StepKind::Even, "1/2 1/2 1/3 1/3 1/3"),
            (StepKind::Tie, "1/2 5/6 1/3 1/3"),
            (StepKind::Move, "2/3 2/3 1/3 1/3"),
        ])
    );
    assert_eq!(
        rhythms("dotted-pairs", Side::Eighths),
        are(&[
            (StepKind::Start, "1/2 1/2 1/2 1/2"),
            (StepKind::Move, "3/4 1/4 1/2 1/2"),
            (StepKind::Move, "3/4 1/4 3/4 1/4"),
        ])
    );
    assert_eq!(
        rhythms("late-sixteenths", Side::Eighths),
        are(&[
            (StepKind::Start, "1/2 1/2 1/2 1/2"),
            (StepKind::Even, "1/2 1/2 1/4 1/4 1/4 1/4"),
            (StepKind::Tie, "1 1/4 1/4 1/4 1/4"),
            (StepKind::Rest, "1 1/4 1/4 1/4 1/4"),
        ])
    );
}

/// Lengths of a figure, beat by beat, as a player might type them; sometimes with half a beat at the end.
fn lengths() -> impl Strategy<Value = String> {
    let cell = prop::sample::select(
        &[
            "1/2 1/2",
            "1/3 1/3 1/3",
            "2/3 1/3",
            "1/3 2/3",
            "1/4 1/4 1/4 1/4",
            "3/4 1/4",
            "1/4 3/4",
            "1/2 1/4 1/4",
            "1/5 2/5 2/5",
            "1",
            "1/8 3/8 1/2",
        ][..],
    );
    let two = prop::sample::select(
        &["2/3 2/3 2/3", "2/5 2/5 2/5 2/5 2/5", "2/5 4/5 2/5 2/5", "4/7 2/7 6/7 2/7", "4/3 2/3"][..],
    );
    let end = prop::sample::select(&["", "", "1/2", "1/4 1/4"][..]);
    let beats = prop_oneof![
        prop::collection::vec(cell, 1..=3).prop_map(|cells| cells.join(" ")),
        two.prop_map(String::from)
    ];
    // Some notes are held, some are rests.
    (beats, end, any::<u16>(), any::<u16>()).prop_map(|(beats, end, held, rests)| {
        let all: Vec<Duration> =
            format!("{beats} {end}").split_whitespace().map(|word| word.parse().unwrap()).collect();
        let mut figure: Vec<Duration> = Vec::new();
        for (index, length) in all.into_iter().enumerate() {
            match figure.last_mut() {
                Some(last) if held >> index & 3 == 3 => *last = last.checked_add(length).unwrap(),
                _ => figure.push(length),
            }
        }
        // One note always sounds: the first or the last one.
        let kept = if rests >> 15 == 0 { 0 } else { figure.len() - 1 };
        let rest = |index: usize| rests >> index & 3 == 3 && index != kept;
        let words = figure
            .iter()
            .enumerate()
            .map(|(index, length)| format!("{}{length}", if rest(index) { "r" } else { "" }));
        words.collect::<Vec<_>>().join(" ")
    })
}

fn tempo(number: u16) -> Tempo {
    Tempo::new(number).unwrap()
}

fn any_tempo() -> impl Strategy<Value = Tempo> {
    (Tempo::RANGE.0..=Tempo::RANGE.1).prop_map(tempo)
}

proptest! {
    #![proptest_config(random(KEPT))]

    #[test]
    fn ladders_of_typed_figures(lengths in lengths(), side in prop::sample::select(&Side::ALL[..])) {
        let figure = Arc::new(Figure::new("mine", &lengths).unwrap());
        let steps = drill::ladder(&figure, side, None).unwrap_or_else(|error| panic!("{lengths}: {error}"));
        is_a_ladder(&figure, side, &steps, false);
    }

    #[test]
    fn ladders_into_lines((line, casting) in lines::line(), which in any::<prop::sample::Index>(), side in prop::sample::select(&Side::ALL[..])) {
        let figure = which.get(Figure::all());
        let carry = casting.windows().iter().filter(|window| window.figure == *figure).count();
        // Unless the casting already has the figure, it has to fit somewhere in the line.
        let moments = (0..).map(|sixteenth| Onset::at(sixteenth, 4)).take_while(|&start| start < line.end());
        let mut windows = moments.map(|start| Window::new(start, Arc::clone(figure), Spelling::Plain));
        let takes =
            |window: Window| recast::can_recast(&line, &window).is_ok() && !casting.overlaps(&window) && casting.at(window.start).is_none();
        let possible = carry > 0 || windows.any(takes);
        let steps = match drill::ladder(figure, side, Some((&line, &casting))) {
            Ok(steps) => steps,
            Err(DrillError::Recast(RecastError::Window { why, .. })) => {
                prop_assert!(!possible, "{}", why);
                return Ok(());
            }
            Err(error) => return Err(TestCaseError::fail(error.to_string())),
        };
        prop_assert!(possible);
        let (own, made): (Vec<_>, Vec<_>) = steps.iter().partition(|step| step.kind == StepKind::Line);
        // The line itself is never changed, and the last step is all of it.
        prop_assert_eq!(own.len(), 2 + usize::from(carry > 1));
        for step in &own {
            prop_assert_eq!(step.line.events(), line.events());
            laws::hold(&step.line, &step.casting);
        }
        let last = &own.last().unwrap().casting;
        if carry > 0 {
            prop_assert_eq!(last, &casting);
        } else {
            prop_assert_eq!(last.windows().len(), casting.windows().len() + 1);
        }
        let first = last.windows().iter().find(|window| window.figure == *figure).unwrap();
        let (index, _) = line.bars().split(first.start).unwrap();
        let note: &Event = line.events().iter().find(|event| event.onset >= first.start && event.pitch.is_some()).unwrap();
        for step in &made {
            prop_assert_eq!(step.line.bars().meter(0), line.bars().meter(index));
            prop_assert!(step.line.events().iter().all(|event| event.pitch.is_none_or(|pitch| Some(pitch) == note.pitch)));
        }
        is_a_ladder(figure, side, &steps, false);
    }

    #[test]
    fn paces(from in any_tempo(), to in any_tempo(), per_cent in 1u8..=25, repeats in 1u8..=32, jumps in prop::sample::select(&[Jumps::None, Jumps::Over, Jumps::Back][..])) {
        let pace = Pace::new(from, to).per_cent(per_cent).unwrap().repeats(repeats).unwrap().jumps(jumps);
        let passes: Vec<_> = pace.passes().collect();
        prop_assert_eq!((passes[0].tempo, passes.last().unwrap().tempo), (from, to));
        // Steps are numbered in order, each with all of its repeats at one tempo.
        let steps = passes.last().unwrap().step;
        prop_assert_eq!(passes.len(), steps * usize::from(repeats));
        for (index, pass) in passes.iter().enumerate() {
            let (step, repeat) = (index / usize::from(repeats), index % usize::from(repeats));
            prop_assert_eq!((pass.step, usize::from(pass.repeat), pass.steps), (step + 1, repeat + 1, steps));
            prop_assert_eq!(pass.tempo, passes[index - repeat].tempo);
        }
        // Apart from the jumps, every step gets closer to the goal, by that percentage and by at least 1.
        let mut rise: Vec<f64> = passes.iter().filter(|pass| !pass.is_jump && pass.repeat == 1).map(|pass| pass.tempo.quarters_per_minute().into()).collect();
        rise.dedup();
        let goal = f64::from(to.quarters_per_minute());
        for pair in rise.windows(2) {
            let (by, asked) = ((pair[1] - pair[0]).abs(), pair[0] * f64::from(per_cent) / 100.0);
            prop_assert!(by >= 1.0 && (pair[1] - goal).abs() < (pair[0] - goal).abs());
            prop_assert!(by <= (asked + 0.5).max(1.0) && (pair[1] == goal || by >= asked - 0.5), "{:?}", pair);
        }
        for pass in passes.iter().filter(|pass| pass.is_jump) {
            let number = f64::from(pass.tempo.quarters_per_minute());
            match jumps {
                Jumps::None => prop_assert!(false, "a jump"),
                Jumps::Over => prop_assert!(number != goal && (number > goal) == (from <= to)),
                Jumps::Back => prop_assert!(from < to && number == (goal * 0.8).floor()),
            }
        }
    }

    #[test]
    fn taps(quarters in any_tempo(), count in 4usize..9, late in prop::collection::vec(-0.02f64..0.02, 9), odd in prop::option::of((any::<bool>(), 1usize..8, 0.1f64..0.9)), before in 0usize..4) {
        let gap = 60.0 / f64::from(quarters.quarters_per_minute());
        // Taps at another tempo, then a pause.
        let mut times: Vec<f64> = (0..before).map(|tap| tap as f64 * 0.31).collect();
        let start = times.last().map_or(0.0, |last| last + 2.1);
        let mut taps: Vec<f64> = (0..count).map(|tap| start + gap * (tap as f64 + late[tap])).collect();
        match odd {
            // One tap is missed; a long pause would start again.
            Some((true, at, _)) if count > 4 && at < count - 1 && 2.1 * gap < 2.0 => {
                taps.remove(at);
            }
            Some((false, at, part)) if at < count => {
                taps.insert(at, taps[at - 1] + part * (taps[at] - taps[at - 1]));
            }
            _ => {}
        }
        // At a tempo this slow, a late tap counts as a pause.
        prop_assume!(gap * 1.04 < 2.0);
        times.extend(taps);
        let found = tapped(&times).map(|tempo| f64::from(tempo.quarters_per_minute()));
        let tempo = f64::from(quarters.quarters_per_minute());
        // The taps are off by up to 4 percent of a gap.
        let Some(found) = found else {
            prop_assert!(tempo > 300.0, "nothing for {}", tempo);
            return Ok(());
        };
        prop_assert!((found - tempo).abs() <= 0.1 * tempo + 1.0, "{} for {}", found, tempo);
    }
}

#[test]
fn a_pace_says_what_is_allowed() {
    let pace = Pace::new(tempo(100), tempo(104));
    assert_eq!(pace.per_cent(0), Err(PaceError::PerCent { asked: 0 }));
    assert_eq!(pace.per_cent(26).unwrap_err().to_string(), "a step can be 1 to 25 percent, not 26");
    assert_eq!(pace.repeats(0).unwrap_err().to_string(), "a step can be played 1 to 32 times, not 0");
}

/// Worked out by hand.
#[test]
fn paces_worked_by_hand() {
    let numbers =
        |pace: Pace| -> Vec<u16> { pace.passes().map(|pass| pass.tempo.quarters_per_minute()).collect() };
    assert_eq!(numbers(Pace::new(tempo(60), tempo(60))), [60]);
    assert_eq!(numbers(Pace::new(tempo(30), tempo(33)).per_cent(1).unwrap()), [30, 31, 32, 33]);
    assert_eq!(numbers(Pace::new(tempo(120), tempo(100)).per_cent(10).unwrap()), [120, 108, 100]);
    let back = Pace::new(tempo(80), tempo(100)).per_cent(10).unwrap().jumps(Jumps::Back);
    assert_eq!(numbers(back), [80, 88, 97, 80, 97, 100, 80, 100]);
    // Nothing goes beyond the fastest tempo.
    assert_eq!(numbers(Pace::new(tempo(310), tempo(320)).jumps(Jumps::Over)), [310, 320]);
}

#[test]
fn taps_without_a_tempo() {
    for taps in [&[][..], &[1.0], &[0.0, 3.0], &[0.0, 0.1], &[f64::NAN, 1.0], &[1.0, 0.5], &[0.0, 0.0, 0.0]] {
        assert_eq!(tapped(taps), None, "{taps:?}");
    }
}
