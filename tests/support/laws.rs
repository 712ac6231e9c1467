//! Laws that hold for every line and every casting. Each panics with what breaks it.

use halfbar_core::{Error, Piece};
use std::sync::Arc;

use halfbar_core::attack::Attack;
use halfbar_core::hand::Fretting;
use halfbar_core::line::{Event, Line, Part};
use halfbar_core::notate::{Beam, NotateError, Symbol, WrittenBar, read_back};
use halfbar_core::recast::{
    self, Casting, Direction, Figure, Fit, Grid, RecastError, Spelling, TimedWindow, Window,
};
use halfbar_core::score::Annotations;
use halfbar_core::technique::Constraint;
use halfbar_core::time::{Duration, Onset, Span};

/// All of these laws, for one line and casting.
pub fn hold(line: &Line, casting: &Casting) {
    let piece = Piece::new(line.clone(), casting.clone()).unwrap_or_else(|error| panic!("{error}"));
    keeps_the_notes(&piece);
    fills_every_bar(&piece);
    reads_back(&piece);
    ties_are_whole(&piece);
    for bar in &piece.written().bars {
        no_beam_over_the_middle(bar, &piece.timed().windows);
    }
    every_fret_sounds(&piece);
    every_note_is_said(&piece);
    restores(line, casting);
    is_found_again(&piece);
}

/// A casting that recasts as much as it can from the start, cycling through every figure and spelling, starting with number `first`.
pub fn everywhere(line: &Line, first: usize) -> Casting {
    let mut casting = Casting::default();
    let ways = ways();
    let any = Window::new(Onset::ZERO, Arc::clone(&ways[0].0), ways[0].1);
    let offers = recast::offers(line, &casting, Grid::Eighths, &any).unwrap();
    let starts = offers.into_iter().map(|offer| offer.span.start());
    let mut index = first;
    for start in starts {
        // The first of the next few ways that can be notated here.
        let windows = (0..ways.len()).map(|skip| {
            let (figure, spelling) = &ways[(index + skip) % ways.len()];
            let fit = Fit::ALL[(index + skip) % Fit::ALL.len()];
            Window { fit, ..Window::new(start, Arc::clone(figure), *spelling) }
        });
        let mut fits =
            windows.filter(|window| recast::can_recast(line, window).is_ok() && !casting.overlaps(window));
        if let Some(window) = fits.next() {
            casting.put(window);
            index += 1;
        }
    }
    casting
}

/// The casting that recasts every possible half-bar, cycling through the triplet figures and their two spellings, starting with number
/// `first`.
pub fn half_bars(line: &Line, first: usize) -> Casting {
    let mut ways = ways();
    ways.retain(|(figure, spelling)| figure.tuplet().is_some() && *spelling != Spelling::Plain);
    let mut casting = Casting::default();
    let any = Window::new(Onset::ZERO, Arc::clone(&ways[0].0), ways[0].1);
    let offers = recast::offers(line, &casting, Grid::Groups, &any).unwrap();
    for (offer, index) in offers.into_iter().filter(|offer| offer.refusal.is_none()).zip(first..) {
        let (figure, spelling) = &ways[index % ways.len()];
        casting.put(Window::new(offer.span.start(), Arc::clone(figure), *spelling));
    }
    casting
}

/// Every figure in every spelling.
pub fn ways() -> Vec<(Arc<Figure>, Spelling)> {
    let ways = Figure::all()
        .iter()
        .flat_map(|figure| figure.spellings().iter().map(|&spelling| (Arc::clone(figure), spelling)));
    ways.collect()
}

/// Recasting keeps all notes, their pitches and their order, and moves nothing outside the windows.
fn keeps_the_notes(piece: &Piece) {
    let left_out: Vec<_> = piece.timed().windows.iter().flat_map(|window| &window.left_out).collect();
    let plain: Vec<_> = piece.line().events().iter().filter(|event| !left_out.contains(&&event.id)).collect();
    // Notes that windows add are extra; their ids come after the line's.
    let of_the_line = |event: &&Event| (event.id.0 as usize) < piece.line().events().len();
    let cast: Vec<Event> = piece.timed().events.iter().filter(of_the_line).copied().collect();
    assert_eq!(plain.len(), cast.len(), "a note was lost or added");
    for (before, after) in plain.into_iter().zip(&cast) {
        assert_eq!((before.id, before.pitch, before.pin), (after.id, after.pitch, after.pin));
        let inside = piece.timed().windows.iter().any(|window| window.span.contains(before.onset));
        // A note doesn't lead anywhere if the one after it is left out.
        let after = &Event { legato: before.legato, ..*after };
        assert!(inside || before == after, "{before:?} is outside all windows and became {after:?}");
    }
    let mut end = Onset::ZERO;
    for event in &piece.timed().events {
        assert_eq!(event.onset, end, "a gap or an overlap before {event:?}");
        end = event.span().unwrap().end();
    }
    assert_eq!(piece.timed().windows.len(), piece.casting().windows().len());
    for (window, asked) in piece.timed().windows.iter().zip(piece.casting().windows()) {
        let inside: Vec<_> =
            piece.timed().events.iter().filter(|event| window.span.contains(event.onset)).collect();
        let stretches = asked.figure.stretches(window.spelling);
        assert_eq!(inside.len(), stretches.len());
        let mut silent = false;
        for (event, stretch) in inside.iter().zip(stretches) {
            assert_eq!(event.duration, stretch.duration);
            // Once the notes run out, the figure's remaining places are rests, but only if that option is set.
            silent |= stretch.sounds && event.pitch.is_none();
            assert_eq!(event.pitch.is_some(), stretch.sounds && !silent);
        }
        assert!(!silent || asked.fit == Fit::RestLast);
        assert!(window.left_out.is_empty() || matches!(asked.fit, Fit::KeepFirst | Fit::KeepLast));
        let accents: Vec<_> = inside.iter().map(|event| event.accent).collect();
        assert!(!accents[1..].contains(&true) && accents[0] == asked.figure.is_accented());
    }
}

/// Symbols fill the bar without gaps; tuplets hold complete runs of them.
fn fills_every_bar(piece: &Piece) {
    assert_eq!(piece.written().bars.len(), piece.line().bar_count());
    for (index, bar) in piece.written().bars.iter().enumerate() {
        assert_eq!(Ok(bar.span), piece.line().bar(index));
        let mut at = bar.begins;
        for symbol in &bar.symbols {
            assert_eq!(symbol.start, at, "a gap or an overlap in {bar:?}");
            at = at.checked_add(symbol.length).unwrap();
        }
        assert_eq!(Ok(at), bar.offset(bar.span.end()), "{bar:?} is not full");
        for tuplet in &bar.tuplets {
            let sum = Duration::sum(bar.symbols[tuplet.symbols.clone()].iter().map(|symbol| symbol.length))
                .unwrap();
            let outer = bar.tuplets.iter().filter(|other| *other != tuplet && covers(other, tuplet));
            let length = outer
                .fold(tuplet.unit.length().checked_mul(tuplet.normal.into()), |length, outer| {
                    length?.checked_mul(outer.normal.into())?.checked_div(outer.actual.into())
                });
            assert_eq!(Ok(sum), length, "an incomplete tuplet in {bar:?}");
        }
    }
}

fn covers(outer: &halfbar_core::notate::Tuplet, inner: &halfbar_core::notate::Tuplet) -> bool {
    outer.symbols.start <= inner.symbols.start
        && inner.symbols.end <= outer.symbols.end
        && outer.symbols != inner.symbols
}

/// What is drawn says exactly what sounds.
fn reads_back(piece: &Piece) {
    let read = read_back(piece.written()).unwrap();
    let sounding: Vec<_> =
        piece.timed().events.iter().map(|event| (event.id, event.span().unwrap())).collect();
    assert_eq!(read, sounding);
}

/// A symbol is tied to the next one exactly if both belong to the same sounding note; rests never are.
fn ties_are_whole(piece: &Piece) {
    let symbols: Vec<_> = piece.written().bars.iter().flat_map(|bar| &bar.symbols).collect();
    for pair in symbols.windows(2) {
        let same = pair[0].note == pair[1].note && pair[0].pitch.is_some();
        assert_eq!((pair[0].tied_to, pair[1].tied_from), (same, same), "{pair:?}");
    }
    assert!(!symbols.first().is_some_and(|symbol| symbol.tied_from));
    assert!(!symbols.last().is_some_and(|symbol| symbol.tied_to));
}

/// Beams begin, continue and end, level by level, and stay in their half of the bar.
/// The exception is windows with beams of their own: there, one beam joins all notes of a bar.
fn no_beam_over_the_middle(bar: &WrittenBar, windows: &[TimedWindow]) {
    let group = |symbol: &Symbol| {
        let onset = bar.onset(symbol).unwrap();
        let grouped = windows.iter().filter(|window| window.spelling == Spelling::Grouped);
        grouped.map(|window| window.span).find(|span| span.contains(onset))
    };
    let mut open: Vec<&Symbol> = Vec::new();
    for symbol in &bar.symbols {
        assert!(symbol.beams.len() <= symbol.value.base.beams(), "{bar:?}");
        match symbol.beams.first() {
            None if symbol.pitch.is_none() => {}
            None => assert!(open.is_empty(), "a beam that doesn't end in {bar:?}"),
            Some(Beam::Begin) => {
                assert!(open.is_empty(), "a beam inside a beam in {bar:?}");
                open.push(symbol);
            }
            Some(Beam::Continue) => assert!(!open.is_empty(), "{bar:?}"),
            Some(Beam::End) => {
                let start = open.pop().unwrap_or_else(|| panic!("a beam that doesn't begin in {bar:?}"));
                let middles = bar.meter.middles();
                let crosses =
                    middles.filter(|&middle| start.start < middle && symbol.start >= middle).count() > 0;
                assert!(!crosses || group(start).is_some(), "a beam across the middle of {bar:?}");
                assert_eq!(group(start), group(symbol), "a beam across the edge of its group in {bar:?}");
            }
            Some(Beam::ForwardHook | Beam::BackwardHook) => panic!("a hook instead of a flag in {bar:?}"),
        }
    }
    assert!(open.is_empty(), "a beam across the bar line in {bar:?}");
}

/// Every note's string and fret give its pitch, pins are obeyed, and fingers reach their frets.
fn every_fret_sounds(piece: &Piece) {
    let tuning = &piece.line().heading().neck;
    for event in &piece.timed().events {
        let Some(pitch) = event.pitch else {
            assert_eq!(piece.fingering().of(event.id), None, "a rest that is played");
            continue;
        };
        let fretting = piece.fingering().of(event.id).unwrap_or_else(|| panic!("{event:?} is not fretted"));
        let attack = piece.fingering().attacks().of(event.id);
        let attack = attack.unwrap_or_else(|| panic!("{event:?} is not played"));
        assert_eq!(tuning.sounding(fretting.string, fretting.fret), pitch.midi(), "{event:?} {fretting:?}");
        assert_eq!(fretting.finger.0 == 0, fretting.fret.0 == 0, "{event:?} {fretting:?}");
        for want in piece.line().constraints_on(event) {
            assert!(obeyed(want, fretting, attack), "{want} for {event:?}: {fretting:?}");
        }
    }
}

/// The description, bar by bar, has every note once, in order, with its pitch, string and fret; in later bars, it is said to be held.
fn every_note_is_said(piece: &Piece) {
    let fingered = Annotations { fingers: true, ..Annotations::default() };
    let bars = (0..piece.written().bars.len()).map(|index| piece.describe(index, fingered).unwrap());
    let said: Vec<_> = bars.flat_map(|bar| bar.events).collect();
    let mut events = piece.timed().events.iter();
    let mut now = None;
    for said in said {
        if said.is_held {
            assert_eq!(now, Some(said.note), "{said:?}");
            assert!(said.says.contains(" held over, ") && !said.says.contains("string"), "{said:?}");
            continue;
        }
        // A rest is written again in every bar.
        if now == Some(said.note) && said.says.contains("rest") {
            continue;
        }
        let event = events.next().unwrap_or_else(|| panic!("more than there is: {said:?}"));
        assert_eq!(said.note, event.id);
        now = Some(event.id);
        let Some(pitch) = event.pitch else {
            assert!(said.says.contains("rest"), "{said:?}");
            continue;
        };
        let Fretting { string, fret, finger, .. } = piece.fingering().of(event.id).unwrap();
        let place = match fret.0 {
            0 => format!(", string {} open", string.0),
            fret => format!(", string {} fret {fret}, finger {}", string.0, finger.0),
        };
        let sign = match pitch.name.alter.to_string().as_str() {
            "bb" => " double flat",
            "b" => " flat",
            "#" => " sharp",
            "##" => " double sharp",
            _ => "",
        };
        let pitch = format!("{}{sign} {}, ", pitch.name.letter.as_char(), pitch.octave);
        let begins = match piece.fingering().attacks().of(event.id).unwrap() {
            Attack::Struck(stroke) => stroke.name(),
            Attack::Hammered => "hammered on",
            Attack::Pulled => "pulled off",
            Attack::Slid => "slid into",
        };
        assert!(said.says.starts_with(&pitch), "{said:?}");
        assert!(said.says.ends_with(&format!("{place}, {begins}")), "{said:?}");
    }
    assert_eq!(events.next(), None, "not described");
}

/// Whether a note is played as required.
pub fn obeyed(want: Constraint, fretting: Fretting, attack: Attack) -> bool {
    match want {
        Constraint::String(string) => fretting.string == string,
        Constraint::Strings(strings) => strings.contains(fretting.string),
        Constraint::Fret(fret) => fretting.fret == fret,
        Constraint::Frets(low, high) => (low..=high).contains(&fretting.fret),
        Constraint::Finger(finger) => fretting.finger == finger,
        Constraint::Position(position) => fretting.position == position,
        Constraint::Stroke(stroke) => attack == Attack::Struck(stroke),
        Constraint::Picking(_) | Constraint::Slurs => true,
    }
}

/// A line that is written out as it sounds is reduced to a plain line with a casting that sounds the same.
fn is_found_again(piece: &Piece) {
    let parts = piece.timed().events.iter().map(|&Event { duration, pitch, pin, legato, grace, .. }| Part {
        duration,
        pitch,
        pin,
        legato,
        grace,
    });
    let (heading, bars) = (piece.line().heading().clone(), piece.line().bars().clone());
    let literal = Line::new(heading, bars, parts, vec![]).unwrap();
    let (plain, casting) = recast::reduce(&literal).unwrap();
    let again = recast::apply(&plain, &casting).unwrap_or_else(|error| panic!("{error}"));
    let sound = |events: &[Event]| -> Vec<_> {
        events.iter().map(|e| (e.onset, e.duration, e.pitch, e.pin)).collect()
    };
    for (again, literal) in sound(&again.events).iter().zip(sound(literal.events())) {
        assert_eq!(*again, literal, "after {:?}", casting.windows());
    }
    assert_eq!(again.events.len(), literal.events().len());
    // Everything that changed the timing of a note was found as a figure.
    let windows = piece.timed().windows.iter().zip(piece.casting().windows());
    let full = windows.filter(|(_, asked)| !asked.figure.is_accented() && asked.fit != Fit::RestLast);
    for (window, asked) in full {
        let found = casting.windows().iter().filter_map(Window::span).any(|span| span.overlaps(window.span));
        assert!(found, "{} at {:?} was not found", asked.figure.name(), window.span);
    }
}

/// A shift moves the notes of its passage by an eighth, leaves the others alone, and says what is lost. It is refused only where it has to
/// be.
pub fn shifts(line: &Line, casting: &Casting, stretch: Span, direction: Direction) {
    let shifted = match recast::shift(line, casting, stretch, direction) {
        Ok(shifted) => shifted,
        Err(RecastError::Window { why, .. }) => {
            assert!(cannot_shift(line, casting, stretch, direction), "refused: {why}");
            return;
        }
        Err(error) => panic!("{error}"),
    };
    assert!(!cannot_shift(line, casting, stretch, direction), "not refused");
    assert_eq!((shifted.line.end(), shifted.line.bars()), (line.end(), line.bars()));
    match Piece::new(shifted.line.clone(), shifted.casting.clone()) {
        // Half a tuplet, moved by an eighth, may be impossible to notate.
        Err(Error::Notate(NotateError::Unwritable { .. })) => {
            let is_plain = |event: &Event| event.duration.is_multiple_of(Duration::of(1, 4));
            assert!(!line.events().iter().all(is_plain), "unwritable");
        }
        piece => assert!(piece.is_ok(), "{piece:?}"),
    }
    let eighth = eighth_of(direction);
    let notes = |line: &Line| -> Vec<_> {
        let notes = line.events().iter().filter(|event| event.pitch.is_some());
        notes.map(|event| (event.onset, event.duration, event.pitch, event.pin)).collect()
    };
    let mut after = notes(&shifted.line).into_iter();
    let mut pushed_out = shifted.pushed_out.iter().peekable();
    for (onset, duration, pitch, pin) in notes(line) {
        let expected = if stretch.contains(onset) { onset.checked_add(eighth).unwrap() } else { onset };
        let place = line.bars().place(onset).unwrap();
        match pushed_out.next_if(|pushed| pushed.place == place) {
            None => assert_eq!(after.next(), Some((expected, duration, pitch, pin))),
            Some(pushed) => {
                assert!(Some(pushed.pitch) == pitch && pushed.left < duration);
                if pushed.left > Duration::ZERO {
                    let (_, left, kept, _) = after.next().unwrap();
                    assert_eq!((left, kept), (pushed.left, pitch));
                }
            }
        }
    }
    assert_eq!((after.next(), pushed_out.next()), (None, None));
    assert_eq!(shifted.casting.windows().len(), casting.windows().len());
}

fn eighth_of(direction: Direction) -> Duration {
    if direction == Direction::Later { Duration::of(1, 2) } else { Duration::of(-1, 2) }
}

/// Whether a passage has to stay where it is: a note is held across one of its edges, a window would be cut or leave the line, or a figure
/// doesn't fit where its window would go.
fn cannot_shift(line: &Line, casting: &Casting, stretch: Span, direction: Direction) -> bool {
    if stretch.start() == stretch.end() {
        return false;
    }
    let held_over = |edge: Onset| {
        let span = |event: &Event| event.span().unwrap();
        let mut notes = line.events().iter().filter(|event| event.pitch.is_some());
        notes.any(|event| event.onset < edge && edge < span(event).end())
    };
    if held_over(stretch.start()) || held_over(stretch.end()) {
        return true;
    }
    let eighth = eighth_of(direction);
    let moved = |onset: Onset| onset.checked_add(eighth).unwrap();
    let (first, last) = match direction {
        Direction::Earlier => (moved(stretch.start()), stretch.end()),
        Direction::Later => (stretch.start(), moved(stretch.end())),
    };
    // Without windows, nothing else is in the way.
    let plain = recast::shift(line, &Casting::default(), stretch, direction).unwrap().line;
    casting.windows().iter().any(|window| {
        let (start, end) = (window.start, window.span().unwrap().end());
        let is_touched = start < last && first < end;
        let is_inside = stretch.start() <= start && end <= stretch.end();
        let start = moved(start);
        let can_stand = || {
            let spellings = window.figure.spellings().iter().chain([&window.spelling]);
            let mut windows = spellings.map(|&spelling| Window { spelling, ..window.at(start) });
            windows.any(|window| recast::can_recast(&plain, &window).is_ok())
        };
        is_touched && !(is_inside && start >= Onset::ZERO && can_stand())
    })
}

/// Restoring every window gives the original line.
fn restores(line: &Line, casting: &Casting) {
    let mut casting = casting.clone();
    let starts: Vec<_> = casting.windows().iter().map(|window| window.start).collect();
    for start in starts {
        assert!(casting.restore(start).is_some());
    }
    assert_eq!(casting, Casting::default());
    assert_eq!(recast::apply(line, &casting).unwrap().events, line.events());
}
