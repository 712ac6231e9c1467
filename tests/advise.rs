//! Advice on where to recast: laws over random lines, and lines on which teachers would agree. `PROPTEST_CASES` sets the number of random cases.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::sync::Arc;

use halfbar_core::advise::{AdviseError, Density, Reason, Suggestion, advise, weigh};
use halfbar_core::bars::Bars;
use halfbar_core::harmony::{self, Kind};
use halfbar_core::key::{Key, Mode};
use halfbar_core::line::{ChordAt, Event, Heading, Line, Part};
use halfbar_core::neck::{Neck, Tuning};
use halfbar_core::pitch::{Interval, MidiKey, Pitch};
use halfbar_core::recast::{self, Casting, Figure, Grid, Spelling, Window};
use halfbar_core::technique::Pin;
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_core::{Piece, read};
use halfbar_tests::lines::line;
use halfbar_tests::random;
use proptest::prelude::*;

/// Where failing cases are kept.
const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/advise.regressions");

/// What advice is asked for.
#[derive(Clone, Debug)]
struct Asked {
    line: Line,
    casting: Casting,
    figure: Arc<Figure>,
    spelling: Option<Spelling>,
}

impl Asked {
    fn advise(&self, density: Density) -> Result<Vec<Suggestion>, AdviseError> {
        advise(&self.line, &self.casting, &self.figure, self.spelling, density)
    }

    fn weigh(&self) -> Result<Vec<Suggestion>, AdviseError> {
        weigh(&self.line, &self.casting, &self.figure, self.spelling)
    }

    /// The casting with these suggestions taken.
    fn with(&self, suggestions: &[Suggestion]) -> Casting {
        let mut casting = self.casting.clone();
        for suggestion in suggestions {
            casting.put(suggestion.window.clone());
        }
        casting
    }
}

const CHORDS: [&str; 9] = ["Dm7", "G7", "Cmaj7", "Am7", "Fmaj7", "E7alt", "Bm7b5", "C6", "NC"];

/// Random lines in every meter, with pickups, rests, long notes and tuplets; pitches go by small steps, chords change anywhere on a half-bar, and
/// some windows are recast already.
fn asked() -> impl Strategy<Value = Asked> {
    let steps = prop::collection::vec(-3i32..=3, 80);
    let chords = prop::collection::vec(prop::option::weighted(0.6, 0..CHORDS.len()), 24);
    let figure = prop_oneof![2 => Just(0), 1 => 0..Figure::all().len()];
    let spelling = (
        prop::option::weighted(0.3, any::<usize>()),
        prop_oneof![Just(100u16), Just(150), Just(210), Just(260)],
    );
    (line(), steps, chords, figure, spelling, any::<u32>()).prop_map(
        |((line, mut casting), steps, chords, figure, (spelling, tempo), kept)| {
            let mut key = 62;
            let mut steps = steps.into_iter().cycle();
            let parts = line.events().iter().map(|event| {
                key = (key + steps.next().unwrap()).clamp(46, 76);
                let pitch = event.pitch.and(Key::C.spell(MidiKey(u8::try_from(key).unwrap())));
                Part { pitch, ..Part::rest(event.duration) }
            });
            let parts: Vec<Part> = parts.collect();
            let chords = half_bars(&line).into_iter().zip(chords).enumerate();
            let chords = chords.filter_map(|(index, (onset, chord))| {
                // There is always one at the start.
                let symbol = CHORDS[chord.or((index == 0).then_some(0))?].parse().unwrap();
                Some(ChordAt { onset, symbol })
            });
            let tempo = halfbar_core::line::Tempo::new(tempo).unwrap();
            let heading = Heading { tempo, ..line.heading().clone() };
            let line = Line::new(heading, line.bars().clone(), parts, chords.collect()).unwrap();
            let starts: Vec<_> = casting.windows().iter().map(|window| window.start).collect();
            for (index, start) in starts.into_iter().enumerate() {
                // Most lines have none or one.
                if kept >> (3 * (index % 10)) & 7 != 0 {
                    casting.restore(start);
                }
            }
            let figure = Arc::clone(&Figure::all()[figure]);
            let spelling = spelling.map(|choice| figure.spellings()[choice % figure.spellings().len()]);
            Asked { line, casting, figure, spelling }
        },
    )
}

/// Where the half-bars of a line start: where a page offers them.
fn half_bars(line: &Line) -> Vec<Onset> {
    let any = Window::new(Onset::ZERO, Arc::clone(&Figure::all()[0]), Spelling::Plain);
    let offers = recast::offers(line, &Casting::default(), Grid::Groups, &any).unwrap();
    offers.into_iter().map(|offer| offer.span.start()).collect()
}

fn touched(line: &Line, window: &Window) -> Vec<usize> {
    let (starts, span) = (half_bars(line), window.span().unwrap());
    let ends: Vec<Onset> = starts.iter().skip(1).copied().chain([line.end()]).collect();
    let spans = starts.iter().zip(ends).map(|(start, end)| Span::new(*start, end).unwrap());
    (0..).zip(spans).filter(|(_, own)| own.overlaps(span)).map(|(index, _)| index).collect()
}

fn row_of(density: Density) -> usize {
    match density {
        Density::Sparingly => 8,
        Density::Often => 4,
        Density::Alternately => 2,
        Density::Everywhere => 1,
    }
}

/// All windows of a line as the laws see them.
struct Seen {
    new: bool,
    weight: i32,
    span: Span,
    half_bars: Vec<usize>,
    /// Its bar, and where it is in there.
    spot: (usize, Duration),
}

fn seen(asked: &Asked, weighed: &[Suggestion]) -> Vec<Seen> {
    let see = |window: &Window, new: bool, weight: i32| Seen {
        new,
        weight,
        span: window.span().unwrap(),
        half_bars: touched(&asked.line, window),
        spot: asked.line.bars().split(window.start).unwrap(),
    };
    let old = asked.casting.windows().iter().map(|window| see(window, false, 0));
    let mut all: Vec<Seen> =
        weighed.iter().map(|one| see(&one.window, true, one.weight)).chain(old).collect();
    all.sort_by_key(|seen| seen.span.start());
    all
}

/// Whether two windows, the earlier one first, may both be recast.
fn may_be_both(one: &Seen, other: &Seen, density: Density) -> bool {
    if !one.new && !other.new {
        return true;
    }
    if density == Density::Everywhere {
        return !one.span.overlaps(other.span);
    }
    // What comes before the first half-bar touches none.
    let last = one.half_bars.last().map_or(-1, |last| i32::try_from(*last).unwrap());
    let first = other.half_bars.first().map_or(-1, |first| i32::try_from(*first).unwrap());
    first - last >= i32::try_from(row_of(density)).unwrap()
}

/// What a choice is worth; `None` if the density doesn't allow it.
fn worth(chosen: &[&Seen], density: Density) -> Option<(i32, i32)> {
    let is_allowed = chosen.windows(2).all(|pair| may_be_both(pair[0], pair[1], density));
    let new = || chosen.iter().filter(|seen| seen.new);
    let repeated = new()
        .filter(|seen| new().any(|other| other.spot.0 + 1 == seen.spot.0 && other.spot.1 == seen.spot.1));
    let repeated = i32::try_from(repeated.count()).unwrap();
    let sum = new().map(|seen| seen.weight).sum::<i32>() - repeated;
    let count = i32::try_from(new().count()).unwrap();
    is_allowed.then_some(if density == Density::Everywhere { (count, sum) } else { (sum, -count) })
}

/// The most that any of all subsets is worth.
fn most(all: &[Seen], density: Density) -> (i32, i32) {
    let new: Vec<usize> = (0..all.len()).filter(|&index| all[index].new).collect();
    let subsets = (0u32..1 << new.len()).filter_map(|subset| {
        let is_in =
            |index: &usize| new.iter().position(|new| new == index).is_none_or(|bit| subset >> bit & 1 == 1);
        let chosen: Vec<&Seen> = (0..all.len()).filter(is_in).map(|index| &all[index]).collect();
        worth(&chosen, density)
    });
    subsets.max().unwrap()
}

fn density() -> impl Strategy<Value = Density> {
    prop::sample::select(Density::ALL.to_vec())
}

proptest! {
    #![proptest_config(random(KEPT))]

    /// The sum is the largest of all subsets that the density allows, and the suggestions are one of these.
    #[test]
    fn nothing_else_is_worth_more(asked in asked(), density in density()) {
        let Ok(weighed) = asked.weigh() else { return Ok(()) };
        if weighed.len() > 12 {
            return Ok(());
        }
        let all = seen(&asked, &weighed);
        let found = asked.advise(density);
        if let Err(AdviseError::Enough { enough, .. }) = &found {
            prop_assert!(asked.advise(*enough).is_ok() && *enough > density);
        }
        let found = match found {
            Err(AdviseError::Enough { .. }) => Vec::new(),
            found => found.unwrap(),
        };
        let is_chosen = |seen: &&Seen| !seen.new || found.iter().any(|one| one.window.start == seen.span.start());
        let chosen: Vec<&Seen> = all.iter().filter(is_chosen).collect();
        let worth = worth(&chosen, density);
        prop_assert!(worth.is_some(), "{density}: {found:?}");
        prop_assert_eq!(worth.unwrap(), most(&all, density), "{}: {:?}", density, found);
        let sum: i32 = found.iter().map(|one| one.weight).sum();
        let own = if density == Density::Everywhere { worth.unwrap().1 } else { worth.unwrap().0 };
        prop_assert_eq!(sum, own);
    }

    /// All suggestions together can be recast, and what was recast stays. Landings keep their onsets, and every note sounds. The weights of the reasons
    /// add up.
    #[test]
    fn suggestions_can_be_taken(asked in asked(), density in density()) {
        let landings: Vec<_> = harmony::names(&asked.line).landings().iter().map(|landing| landing.note).collect();
        let Ok(found) = asked.advise(density) else { return Ok(()) };
        prop_assert!(!found.is_empty());
        prop_assert_eq!(&found, &asked.advise(density).unwrap());
        let casting = asked.with(&found);
        prop_assert_eq!(casting.windows().len(), asked.casting.windows().len() + found.len());
        prop_assert!(asked.casting.windows().iter().all(|window| casting.windows().contains(window)));
        let piece = Piece::new(asked.line.clone(), casting);
        prop_assert!(piece.is_ok(), "{density}: {:?}", piece.err());
        let timed = recast::apply(&asked.line, &asked.with(&found)).unwrap();
        for one in &found {
            prop_assert_eq!(one.weight, one.reasons.iter().map(Reason::weight).sum::<i32>());
            prop_assert_eq!(asked.line.bars().onset(one.place), Ok(one.window.start));
            prop_assert!(asked.spelling.is_none_or(|spelling| spelling == one.window.spelling));
            let span = one.window.span().unwrap();
            for event in asked.line.events().iter().filter(|event| span.contains(event.onset)) {
                let now = timed.events.iter().find(|now| now.id == event.id).unwrap();
                prop_assert!(event.pitch.is_some() && now.pitch == event.pitch);
                prop_assert!(!landings.contains(&event.id) || now.onset == event.onset, "{now:?}");
            }
        }
    }

    /// A row of eight half-bars has at most one that is suggested, a row of four at most one, and no two are neighbors.
    #[test]
    fn densities_are_kept(asked in asked(), density in density()) {
        let rows = half_bars(&asked.line).len();
        let Ok(found) = asked.advise(density) else { return Ok(()) };
        let touched: Vec<_> = found.iter().map(|one| touched(&asked.line, &one.window)).collect();
        let length = row_of(density);
        for start in 0..rows {
            let row = start..start + length;
            let inside = touched.iter().filter(|half_bars| half_bars.iter().any(|index| row.contains(index)));
            // A row of one may be touched by a long figure and the one after it only if these overlap.
            prop_assert!(inside.count() <= 1, "{density}: {found:?}");
        }
    }

    /// Each reason is there if and only if the line says so, by the test's own arithmetic.
    #[test]
    fn reasons_are_what_the_line_says(asked in asked()) {
        for one in asked.weigh().unwrap_or_default().into_iter().take(4) {
            let mut said: Vec<(&str, i32)> = one.reasons.iter().map(|reason| (reason.name(), reason.weight())).collect();
            said.sort_unstable();
            prop_assert_eq!(said, expected(&asked, &one.window), "{:?}", one);
        }
    }

    /// Everything higher, the strings too: the same advice.
    #[test]
    fn transposing_changes_nothing(asked in asked(), density in density(), by in prop::sample::select(vec![(1, 1), (1, 2), (2, 3), (2, 4), (3, 5), (-1, -2), (-2, -3)])) {
        let interval = Interval { letters: by.0, half_steps: by.1 };
        let Some(line) = transposed(&asked.line, interval) else { return Ok(()) };
        let other = Asked { line, ..asked.clone() };
        let [plain, other] = [&asked, &other].map(|asked| {
            let found = asked.advise(density).map_err(|error| error.code());
            found.map(|found| found.iter().map(short).collect::<Vec<_>>())
        });
        prop_assert_eq!(plain, other);
    }
}

fn short(one: &Suggestion) -> (String, i32, Vec<&'static str>) {
    (one.place.to_string(), one.weight, one.reasons.iter().map(Reason::name).collect())
}

/// A line in another key, on a guitar tuned as much higher.
fn transposed(line: &Line, interval: Interval) -> Option<Line> {
    let tuning: Option<Vec<Pitch>> = ["E2", "A2", "D3", "G3", "B3", "E4"]
        .map(|open| open.parse::<Pitch>().unwrap().transposed(interval))
        .into_iter()
        .collect();
    let key = Key::new("C".parse::<halfbar_core::pitch::PitchName>().ok()?.transposed(interval), Mode::Major)
        .ok()?;
    let mut bars = Bars::new(line.bars().meter(0)).in_key(key);
    if line.bars().pickup() > Duration::ZERO {
        bars = bars.with_pickup(line.bars().pickup()).ok()?;
    }
    for (index, meter) in line.bars().changes() {
        bars.change(index, meter).ok()?;
    }
    let mut parts = Vec::new();
    for event in line.events() {
        let pitch = match event.pitch {
            Some(pitch) => Some(pitch.transposed(interval)?),
            None => None,
        };
        parts.push(Part { pitch, ..Part::rest(event.duration) });
    }
    let chord = |chord: &ChordAt| ChordAt { onset: chord.onset, symbol: chord.symbol.transposed(interval) };
    let heading = Heading { neck: Neck::new(Tuning::new(&tuning?).ok()?), ..line.heading().clone() };
    Line::new(heading, bars, parts, line.chords().iter().map(chord).collect()).ok()
}

/// The reasons for and against a window, by name and weight.
fn expected(asked: &Asked, window: &Window) -> Vec<(&'static str, i32)> {
    let (line, span) = (&asked.line, window.span().unwrap());
    let mut expected = Vec::new();
    let chord_before = line.chords().iter().rfind(|chord| chord.onset < span.end());
    let chord_at = line.chords().iter().find(|chord| chord.onset == span.end());
    if let Some(at) = chord_at
        && at.symbol.to_string() != "NC"
        && chord_before.is_none_or(|before| before.symbol != at.symbol)
    {
        expected.push(("into-change", 3));
    }

    // Phrases, each with the ids of its notes.
    let mut phrases: Vec<Vec<&Event>> = vec![Vec::new()];
    let mut silence = Duration::ZERO;
    for event in line.events() {
        if event.pitch.is_none() {
            silence = silence.checked_add(event.duration).unwrap();
            continue;
        }
        let is_long = |note: &&&Event| note.duration >= Duration::of(2, 1);
        if silence >= Duration::QUARTER || phrases.last().unwrap().last().filter(is_long).is_some() {
            phrases.push(Vec::new());
        }
        silence = Duration::ZERO;
        phrases.last_mut().unwrap().push(event);
    }
    let inside = |note: &&Event| span.contains(note.onset);
    for phrase in phrases.iter().filter(|phrase| phrase.iter().any(&inside)) {
        let first = phrase.iter().position(&inside).unwrap();
        let last = phrase.iter().rposition(&inside).unwrap();
        if first <= 1 {
            expected.push(("starts-phrase", -2));
        }
        if last + 2 >= phrase.len() {
            expected.push(("ends-phrase", 2));
        }
    }

    let notes: Vec<_> = line.events().iter().filter(|event| event.pitch.is_some()).collect();
    let covered: Vec<usize> = (0..notes.len()).filter(|&index| span.contains(notes[index].onset)).collect();
    let (mut is_one, mut cuts) = (false, false);
    for name in harmony::names(line).drawn().filter(|name| !matches!(name.kind, Kind::Landing(_))) {
        let of = |id| notes.iter().position(|note| note.id == id).unwrap();
        let all: Vec<usize> = (of(name.notes.0)..=of(name.notes.1)).collect();
        let is_lent = name.charges.iter().any(|charge| charge.term == harmony::Term::Lent);
        let own = if is_lent { &all[1..] } else { &all };
        is_one |= covered == all || covered == own;
        let shared = own.iter().filter(|index| covered.contains(index)).count();
        let goes_on_inside =
            own.windows(2).any(|pair| covered.contains(&pair[0]) != covered.contains(&pair[1]));
        cuts |= shared > 0 && shared < own.len() && goes_on_inside;
    }
    expected.extend(is_one.then_some(("one-name", 2)));
    expected.extend(cuts.then_some(("cuts-name", -2)));

    let mut casting = asked.casting.clone();
    casting.put(window.clone());
    let piece = Piece::new(line.clone(), casting).unwrap();
    let (events, starts) = (&piece.timed().events, piece.performed().starts());
    let is_quick = |event: &Event| {
        span.contains(event.onset) && event.pitch.is_some() && event.duration < Duration::EIGHTH
    };
    let lasts = |index: usize| {
        let end = starts.get(index + 1).map_or(line.end(), |next| *next);
        piece.performed().seconds(end) - piece.performed().seconds(starts[index])
    };
    if (0..events.len()).any(|index| is_quick(&events[index]) && lasts(index) < 0.11 - 1e-9) {
        expected.push(("fast", -3));
    }
    let (mut strings, mut shifts): (Vec<Vec<i32>>, bool) = (Vec::new(), false);
    let mut before: Option<&Event> = None;
    for event in events {
        match before.filter(|before| is_quick(before) && is_quick(event)) {
            Some(before) => {
                let [from, to] = [before, event].map(|note| piece.fingering().of(note.id).unwrap());
                shifts |= from.position != to.position;
                strings.last_mut().unwrap().push(i32::from(to.string.0) - i32::from(from.string.0));
            }
            None => strings.push(Vec::new()),
        }
        before = Some(event);
    }
    strings.retain(|steps| !steps.is_empty());
    let is_all = |steps: &[i32], step: i32| steps.iter().all(|own| *own == step);
    match () {
        () if shifts => expected.push(("shift", -4)),
        () if strings.concat().iter().any(|step| step.abs() > 1) => expected.push(("skip", -4)),
        () if strings.is_empty() => {}
        () if strings.iter().all(|steps| is_all(steps, 0)) => expected.push(("one-string", 3)),
        () if strings.iter().all(|steps| (-1..=1).any(|step| is_all(steps, step))) => {
            expected.push(("swept", 3))
        }
        () => {}
    }

    let (bar, offset) = line.bars().split(window.start).unwrap();
    let spots = asked.casting.windows().iter().map(|other| line.bars().split(other.start).unwrap());
    expected.extend(spots.filter(|other| (other.0 + 1, other.1) == (bar, offset)).map(|_| ("same-spot", -1)));
    expected.sort_unstable();
    expected.dedup();
    expected
}

fn of_text(text: &str) -> Asked {
    let reading = read::text(text);
    assert!(reading.diagnostics.is_empty(), "{text}: {:?}", reading.diagnostics);
    let figure = Figure::named("split-last").unwrap();
    Asked { line: reading.line.unwrap(), casting: reading.casting, figure, spelling: None }
}

fn places(asked: &Asked, density: Density) -> String {
    let found = asked.advise(density).unwrap_or_default();
    found.iter().map(|one| one.place.to_string()).collect::<Vec<_>>().join(" ")
}

/// Where teachers recast: into a change or the end of a phrase, not where a phrase starts (common practice, no source).
#[test]
fn teachers_would_agree() {
    let two_five = "key: Eb\n@Fm7 F3 Ab C Eb  G F Eb C | @Bb7 D F Ab F  D C Bb Ab | @Ebmaj7 G3:2 r:2 |";
    let asked = of_text(two_five);
    assert_eq!(places(&asked, Density::Sparingly), "1.3");
    assert_eq!(places(&asked, Density::Alternately), "1.3 2.3");
    assert_eq!(places(&asked, Density::Everywhere), "1.1 1.3 2.1 2.3");
    // What is recast stays, and keeps its distance.
    let some = of_text(&format!("recast: split-last at 1.3\n{two_five}"));
    assert_eq!(places(&some, Density::Alternately), "2.3");
    assert!(matches!(
        some.advise(Density::Often),
        Err(AdviseError::Enough { enough: Density::Alternately, .. })
    ));

    // A phrase ends before a rest; a pickup starts one.
    let phrase = of_text("key: C\npickup: 1/2\n@Dm7 A3 | D4 F A C5  B A G F | @G7 E4 D B3 G  r:2 |");
    let reasons = |asked: &Asked, index: usize| short(&asked.weigh().unwrap()[index]).2;
    assert!(reasons(&phrase, 0).contains(&"starts-phrase") && !reasons(&phrase, 0).contains(&"ends-phrase"));
    assert!(!reasons(&phrase, 1).contains(&"starts-phrase") && !reasons(&phrase, 1).contains(&"ends-phrase"));
    assert!(reasons(&phrase, 2).contains(&"ends-phrase"));
    // One that leads to a long note.
    assert!(reasons(&of_text("@Dm7 D4 F A C5  B A G F | @G7 E4:4 |"), 1).contains(&"ends-phrase"));
    // The same chord again is no change.
    assert!(!reasons(&of_text("@Dm7 D4 F A C5  B A G F | @Dm7 E4:4 |"), 1).contains(&"into-change"));

    // A landing on beat 2 may not move; with ties, the second note stays.
    let landing = of_text("key: C\n@G7 D4 F @Cmaj7 E G  A B C5 D | E5:4 |");
    assert_eq!(places(&landing, Density::Everywhere), "1.3");
    let landing = of_text("key: C\n@G7 F4 @Cmaj7 E G B  A G F D | E4:4 |");
    assert_eq!(landing.weigh().unwrap()[0].window.spelling, Spelling::Tied);
}

/// Half-bars are what the meter groups.
#[test]
fn other_meters() {
    let waltz = of_text(
        "key: G\nmeter: 3/4\n@Am7 C4 E G B  A G | @D7 F#4 A C5 A  F# D | @Gmaj7 B3 D F# A G B | @Em7 G4:3 |",
    );
    assert_eq!(places(&waltz, Density::Everywhere), "1.1 2.1 3.1");
    assert_eq!(places(&waltz, Density::Alternately).split(' ').count(), 2);
    // A pickup that is recast is next to the first bar.
    let pickup = of_text(
        "key: G\nmeter: 3/4\npickup: 2\nrecast: split-last at 0.2\n@D7 A3 C4 E F# | @G B G F# E  D C | @C E4 G E C  G3 E | @G D4:3 |",
    );
    assert_eq!(places(&pickup, Density::Everywhere), "1.1 2.1");
    assert_eq!(places(&pickup, Density::Alternately), "2.1");
    let three = Asked {
        figure: Figure::named("long-first-of-3").unwrap(),
        ..of_text("key: D\nmeter: 6/8\n@Em7 G4 B D5  C# A G | @A7 E4 G C#  B3 A G | @D F#3:3 |")
    };
    assert_eq!(places(&three, Density::Everywhere), "1.1 1.4 2.1 2.4");
    assert_eq!(places(&three, Density::Sparingly).split(' ').count(), 1);
}

/// What is asked for and can't be: each error says what would help.
#[test]
fn errors_help() {
    let says = |asked: &Asked, density: Density| {
        let error = asked.advise(density).unwrap_err();
        (error.code(), error.to_string())
    };
    let plain = "C4 E G B  A G F E |";
    let (code, told) = says(&of_text(plain), Density::Often);
    assert!(code == "no-chords" && told.contains("`@Fm7`"), "{told}");
    assert_eq!(says(&of_text(&format!("@NC {plain}")), Density::Often).0, "no-chords");
    let (code, told) = says(&of_text("@C C4 D E  F:1 G A r |"), Density::Often);
    assert!(code == "no-window" && told.contains("choose `long-first-of-3`, "), "{told}");
    let (code, told) = says(&of_text("@C C4:2 E:2 |"), Density::Often);
    assert!(code == "no-window" && told.contains("write a half-bar of eighths first"), "{told}");
    let all = format!("recast: split-last at 1.1, 1.3\n@C {plain}");
    let (code, told) = says(&of_text(&all), Density::Everywhere);
    assert!(code == "taken" && told.contains("remove a figure first"), "{told}");
    let one = format!("recast: split-last at 1.3\n@C {plain}");
    let (code, told) = says(&of_text(&one), Density::Sparingly);
    assert!(code == "enough" && told.contains("try `everywhere`"), "{told}");
}

/// Pins are the player's own: what they do to the hand counts.
#[test]
fn a_pinned_string_changes_the_advice() {
    let text = |pin: &str| format!("key: C\n@Dm7 D4 F A C5  B A G^3 F{pin} | @G7 E4:4 |");
    let (near, far) = (of_text(&text("^3")), of_text(&text("^5")));
    let reasons = |asked: &Asked| short(&asked.weigh().unwrap()[1]).2;
    assert!(reasons(&near).contains(&"one-string"), "{:?}", reasons(&near));
    assert!(reasons(&far).contains(&"shift") || reasons(&far).contains(&"skip"), "{:?}", reasons(&far));
    assert_eq!(near.line.events()[0].pin, Pin::default());
}
