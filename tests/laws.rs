//! Laws over random lines, castings and texts. `PROPTEST_CASES` sets the number of random cases.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::fmt::{Debug, Display};
use std::str::FromStr;
use std::sync::Arc;

use halfbar_core::bars::Place;
use halfbar_core::chord::{ChordSymbol, Degree};
use halfbar_core::dialect::Dialect;
use halfbar_core::drill::{Cycle, Side};
use halfbar_core::engrave::{Before, Layout, View, Width};
use halfbar_core::fretboard::Labels;
use halfbar_core::harmony::{NameSign, names};
use halfbar_core::line::{Degrees, Line, Part, SwingRatio};
use halfbar_core::perform::{Metronome, Subdivision};
use halfbar_core::pitch::Interval;
use halfbar_core::recast::{Cast, Casting, Direction, Fit, Spelling, Window, fill};
use halfbar_core::scale::{Scale, ScaleKind};
use halfbar_core::score::Annotations;
use halfbar_core::technique::{FingeringStyle, PickingStyle};
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_core::worksheet::Format;
use halfbar_core::{Piece, read, write};
use halfbar_tests::laws;
use halfbar_tests::lines::{crowded_names, line};
use halfbar_tests::random;
use proptest::prelude::*;
use serde::Serialize;
use serde::de::DeserializeOwned;

/// Where failing cases are kept.
const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/laws.regressions");

/// A value with a text form survives a round trip through JSON.
fn survives<T>(value: T) -> Result<(), TestCaseError>
where
    T: Serialize + DeserializeOwned + FromStr<Err: Display> + Display + PartialEq + Debug,
{
    let json = serde_json::to_string(&value).unwrap();
    prop_assert_eq!(&json, &serde_json::to_string(&value.to_string()).unwrap());
    prop_assert_eq!(&serde_json::from_str::<T>(&json).unwrap(), &value);
    // Other text fails with the type's own error.
    let wrong = serde_json::from_str::<T>("\"?\"").unwrap_err().to_string();
    let own = "?".parse::<T>().err().unwrap().to_string();
    prop_assert!(wrong.starts_with(&own), "{} {}", wrong, own);
    Ok(())
}

#[test]
fn names_survive_json() -> Result<(), TestCaseError> {
    Cycle::ALL.into_iter().try_for_each(survives)?;
    Degree::ALL.into_iter().try_for_each(survives)?;
    Degrees::ALL.into_iter().try_for_each(survives)?;
    Dialect::ALL.into_iter().try_for_each(survives)?;
    FingeringStyle::ALL.into_iter().try_for_each(survives)?;
    Fit::ALL.into_iter().try_for_each(survives)?;
    Format::ALL.into_iter().try_for_each(survives)?;
    Labels::ALL.into_iter().try_for_each(survives)?;
    PickingStyle::ALL.into_iter().try_for_each(survives)?;
    Side::ALL.into_iter().try_for_each(survives)?;
    Spelling::ALL.into_iter().try_for_each(survives)?;
    View::ALL.into_iter().try_for_each(survives)?;
    for kind in ScaleKind::all() {
        survives(Scale::new("Bb".parse().unwrap(), kind).unwrap())?;
    }
    survives(Metronome::default())?;
    survives(Metronome { rests: true, divide: Some(Subdivision::Triplets), ..Metronome::default() })?;
    Ok(())
}

proptest! {
    #![proptest_config(random(KEPT))]

    #[test]
    fn all_laws((line, casting) in line()) {
        laws::hold(&line, &casting);
    }

    #[test]
    fn shifts((line, casting) in line(), edges in any::<[prop::sample::Index; 2]>(), later: bool) {
        let edges = edges.map(|edge| edge.index(line.events().len() + 1)).map(|index| {
            line.events().get(index).map_or(line.end(), |event| event.onset)
        });
        let direction = if later { Direction::Later } else { Direction::Earlier };
        let stretch = Span::new(edges[0].min(edges[1]), edges[0].max(edges[1])).unwrap();
        laws::shifts(&line, &casting, stretch, direction);
        laws::shifts(&line, &Casting::default(), stretch, direction);
    }

    /// Filling a passage puts the figure wherever it fits, and everything outside stays the same.
    #[test]
    fn a_passage_is_filled(
        (line, before) in line(),
        edges in any::<[prop::sample::Index; 2]>(),
        which in any::<prop::sample::Index>(),
    ) {
        let ways = laws::ways();
        let (figure, spelling) = ways[which.index(ways.len())].clone();
        let span = figure.span();
        let [start, end] = edges.map(|edge| edge.index(line.events().len() + 1)).map(|index| {
            line.events().get(index).map_or(line.end(), |event| event.onset)
        });
        let passage = Span::new(start.min(end), start.max(end)).unwrap();
        let like = Window::new(Onset::ZERO, figure, spelling);
        let mut casting = before.clone();
        let filled = fill(&line, &mut casting, &like, passage).unwrap();
        let places = |number: usize| {
            passage.start().checked_add(span.checked_mul(number.try_into().unwrap()).unwrap()).unwrap()
        };
        let places: Vec<Onset> =
            (0..).map(places).take_while(|place| place.checked_add(span).unwrap() <= passage.end()).collect();
        prop_assert_eq!(filled.windows + filled.plain, places.len());
        let inside = |casting: &Casting| -> (Vec<Window>, Vec<Window>) {
            casting.windows().iter().cloned().partition(|window| passage.contains(window.start))
        };
        let (new, outside) = inside(&casting);
        prop_assert_eq!(outside, inside(&before).1);
        prop_assert_eq!(new.len(), filled.windows);
        for window in &new {
            prop_assert!(places.contains(&window.start));
            prop_assert_eq!((&window.figure, window.spelling), (&like.figure, like.spelling));
        }
        for place in places.into_iter().filter(|place| casting.at(*place).is_none()) {
            prop_assert!(casting.clone().put_fitting(&line, like.at(place)).is_err(), "{}", place);
        }
        laws::hold(&line, &casting);
    }

    #[test]
    fn a_line_survives_its_text((line, casting) in line()) {
        let text = write::text::line(&line, &casting).unwrap();
        let reading = read::text(&text);
        prop_assert_eq!(&reading.diagnostics, &[], "{}", text);
        prop_assert_eq!(reading.line.as_ref(), Some(&line), "{}", text);
        prop_assert_eq!(&reading.casting, &casting, "{}", text);
        prop_assert_eq!(write::text::line(&line, &reading.casting).unwrap(), text);
    }

    #[test]
    fn a_casting_is_put_into_a_text((line, casting) in line()) {
        let plain = write::text::line(&line, &Casting::default()).unwrap();
        let bars = line.bars();
        let cast = write::text::with_casting(&plain, &casting, bars).unwrap();
        let reading = read::text(&cast);
        prop_assert_eq!(&reading.diagnostics, &[], "{}", cast);
        prop_assert_eq!(reading.casting, casting);
        prop_assert_eq!(write::text::with_casting(&cast, &Casting::default(), bars).unwrap(), plain);
    }

    #[test]
    fn the_same_line_gives_the_same_bytes((line, casting) in line(), width in 30.0..160.0f64) {
        let layout = Layout { width: Width::new(width).unwrap(), ..Layout::default() };
        let draw = || {
            let piece = Piece::new(line.clone(), casting.clone()).unwrap();
            write::svg::document(&piece.engrave(&layout))
        };
        prop_assert_eq!(draw(), draw());
    }

    #[test]
    fn any_text_is_read_to_its_end(text in r"([A-Gr@|:~^/.,0-9a-z#\n\t ]|recast: |key: |bracket|split-last at |\PC){0,200}") {
        let reading = read::text(&text);
        for diagnostic in &reading.diagnostics {
            prop_assert!(diagnostic.line >= 1 && diagnostic.line <= text.lines().count().max(1));
            prop_assert!(diagnostic.column >= 1 && diagnostic.length >= 1);
            prop_assert!(diagnostic.render(&text).contains('^'));
        }
        if let Some(line) = reading.line {
            // What was kept fills its bars, and every stage accepts it or says why not.
            if let Err(error) = Piece::new(line, reading.casting) {
                let hands = matches!(error.code(), "off-neck" | "pin" | "led-stroke" | "apart");
                prop_assert!(hands || error.code() == "unwritable", "{}", error);
            }
        }
    }

    /// A page made from an earlier one equals one made from scratch, and systems that look the same are shared.
    #[test]
    fn a_page_is_made_from_the_one_before((line, casting) in line(), which in any::<prop::sample::Index>(), width in 30.0..100.0f64) {
        let annotations = Annotations { fingers: true, ..Annotations::of(line.heading()) };
        let layout = Layout { width: Width::new(width).unwrap(), annotations, ..Layout::default() };
        let names = crowded_names(&line, which.index(8));
        let before = Piece::new(line.clone(), casting.clone()).unwrap().with_names(names.into());
        let scene = before.engrave(&layout);
        let mut casting = casting;
        if !casting.windows().is_empty() {
            let start = casting.windows()[which.index(casting.windows().len())].start;
            casting.restore(start);
        }
        let after = Piece::after(&before, line, casting).unwrap();
        prop_assert_eq!(after.names(), before.names());
        let again = after.engrave_after(&layout, Before { score: before.score(), layout: &layout, scene: &scene });
        prop_assert_eq!(&again, &after.engrave(&layout));
        let renamed = after.clone().with_names(crowded_names(after.line(), which.index(8) + 1).into());
        let reused = Before { score: before.score(), layout: &layout, scene: &scene };
        prop_assert_eq!(renamed.engrave_after(&layout, reused), renamed.engrave(&layout));
        for (old, new) in scene.systems.iter().zip(&again.systems) {
            let same_bars = scene.width == again.width
                && old.bars == new.bars
                && before.written().bars[old.bars.clone()] == after.written().bars[old.bars.clone()];
            // A name that goes on elsewhere may look the same wherever it goes.
            let is_alike = !layout.annotations.names && same_bars;
            prop_assert!(!is_alike || old.top != new.top || Arc::ptr_eq(old, new) || !old.looks_like(new), "{:?} {:?}", old.bars, again.systems.len());
        }
    }

    /// In a new version of a text, what a reader has recast or restored stays where the author has changed neither notes nor recasts.
    #[test]
    fn changes_are_carried_over((line, casting) in line(), picks in prop::collection::vec(0u8..64, 0..24), changed in any::<prop::sample::Index>()) {
        // Whether a window is recast for the author before, the reader and the author now; the author may also have written it in another way.
        let state = |index: usize, whose: u8| {
            let pick = picks.get(index).copied().unwrap_or_default();
            let window = &casting.windows()[index];
            let spelling = match window.figure.spellings().last() {
                Some(&other) if whose != 1 && pick >> (3 + whose) & 1 > 0 => other,
                _ => window.spelling,
            };
            (pick >> whose & 1 > 0).then(|| Window { spelling, ..window.clone() })
        };
        let [from, now, to] = [0, 1, 2].map(|whose| {
            let mut some = casting.cleared();
            (0..casting.windows().len()).filter_map(|index| state(index, whose)).for_each(|window| some.put(window));
            some
        });
        let changed = changed.index(line.events().len());
        let parts = line.events().iter().enumerate().map(|(index, event)| {
            let raised = event.pitch.filter(|_| index == changed).and_then(|pitch| pitch.transposed(Interval::octaves(1)));
            Part { pitch: raised.or(event.pitch), legato: event.legato, grace: event.grace, pin: event.pin, ..Part::rest(event.duration) }
        });
        let other = Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec()).unwrap();
        let carried = from.carried(&line, &now, Cast { line: &other, casting: &to });
        let is_changed = line.events()[changed].pitch != other.events()[changed].pitch;
        for (index, window) in casting.windows().iter().enumerate() {
            let has_changed = is_changed && window.span().unwrap().contains(line.events()[changed].onset);
            let readers = state(index, 0) == state(index, 2) && !has_changed;
            let found = carried.at(window.start).map(|window| window.spelling);
            prop_assert_eq!(found, state(index, if readers { 1 } else { 2 }).map(|window| window.spelling), "{:?}", window);
        }
    }

    /// A value with a text form is written as that text in JSON, and reads back the same.
    #[test]
    fn values_survive_json(
        (line, casting) in line(),
        numer: i32,
        denom in 1..i32::MAX,
        width in 20.0..1000.0f64,
        swing in 100..=350u16,
    ) {
        survives(Width::new(width).unwrap())?;
        survives(SwingRatio::from_hundredths(swing).unwrap())?;
        let length = Duration::new(numer.into(), denom.into()).unwrap();
        survives(length)?;
        survives(Onset::after(length))?;
        survives(Place { bar: denom.unsigned_abs(), beat: length })?;
        let heading = line.heading();
        survives(heading.tempo)?;
        survives(heading.feel)?;
        survives(heading.neck.clone())?;
        survives(heading.neck.tuning().clone())?;
        survives(heading.style)?;
        survives(heading.picking)?;
        for bar in 0..line.bar_count() {
            survives(line.bars().meter(bar))?;
            survives(line.bars().key(bar))?;
        }
        for event in line.events() {
            event.pitch.map_or(Ok(()), survives)?;
            event.pitch.map_or(Ok(()), |pitch| survives(pitch.name))?;
        }
        for part in line.chords() {
            survives(part.symbol.clone())?;
            if let ChordSymbol::Chord(chord) = &part.symbol {
                chord.quality().map_or(Ok(()), survives)?;
            }
        }
        for part in line.constraints() {
            survives(part.want)?;
        }
        let signs = names(&line).signs(&line);
        let json = serde_json::to_string(&signs).unwrap();
        prop_assert_eq!(serde_json::from_str::<Vec<NameSign>>(&json).unwrap(), signs);
        for window in casting.windows() {
            survives(window.spelling)?;
            survives(window.fit)?;
        }
    }

    #[test]
    fn any_bytes_are_read(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
        let reading = read::bytes(&bytes);
        let valid = std::str::from_utf8(&bytes).is_ok();
        prop_assert_eq!(reading.diagnostics.iter().any(|d| d.problem.code() == "utf8"), !valid);
    }

    /// The fractions agree with arithmetic in wider integers.
    #[test]
    fn time_is_exact(a in -10_000i64..10_000, b in 1i64..500, c in -10_000i64..10_000, d in 1i64..500, n in 1i64..50) {
        let (x, y) = (Duration::new(a, b).unwrap(), Duration::new(c, d).unwrap());
        let wide = |duration: Duration| (i128::from(duration.numer()), i128::from(duration.denom()));
        let same = |duration: Duration, numer: i64, denom: i64| {
            let (p, q) = wide(duration);
            p * i128::from(denom) == q * i128::from(numer)
        };
        prop_assert!(same(x.checked_add(y).unwrap(), a * d + c * b, b * d));
        prop_assert!(same(x.checked_sub(y).unwrap(), a * d - c * b, b * d));
        prop_assert!(same(x.checked_mul(n).unwrap(), a * n, b));
        prop_assert!(same(x.checked_div(n).unwrap(), a, b * n));
        prop_assert_eq!(x.cmp(&y), (i128::from(a) * i128::from(d)).cmp(&(i128::from(c) * i128::from(b))));
        prop_assert_eq!(Onset::after(x).checked_add(y).unwrap().checked_sub(y).unwrap(), Onset::after(x));
        prop_assert_eq!(Onset::after(x).checked_since(Onset::after(y)).unwrap(), x.checked_sub(y).unwrap());
    }
}
