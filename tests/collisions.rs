//! No sign overlaps another one that it doesn't belong to: on difficult lines, random lines and old tunes, plain and recast, at three
//! widths.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use halfbar_core::engrave::{Layout, View, Width};
use halfbar_core::key::{Key, Mode};
use halfbar_core::line::{ChordAt, Degrees, Line, Part};
use halfbar_core::recast::Casting;
use halfbar_core::scene::{Group, Item, Placed, Point, Role, Scene, Segment, Sp};
use halfbar_core::score::Annotations;
use halfbar_core::{Piece, write};
use halfbar_tests::collisions::{Collision, Kind, collisions};
use halfbar_tests::gallery::cases;
use halfbar_tests::tunes::{line_of, tunes};
use halfbar_tests::{laws, lines};

const WIDTHS: [Sp; 3] = [44.0, 100.0, 150.0];

/// What the engraver doesn't avoid yet. Once it does, the entry must be removed.
const KNOWN: [Kind; 2] = [["figure", "tie"], ["signature", "tie"]];

/// The collisions found on many pages.
#[derive(Default)]
struct Tally {
    pages: usize,
    found: BTreeMap<Kind, Found>,
}

/// One kind of collision.
struct Found {
    pages: usize,
    /// The shortest text that shows it, and where it is.
    text: String,
    place: String,
}

impl Tally {
    /// Engraves a line, plain and with every figure wherever it fits.
    fn add(&mut self, line: &Line, first: usize) {
        for casting in [Casting::default(), laws::everywhere(line, first)] {
            let names = lines::crowded_names(line, first);
            let piece = Piece::new(line.clone(), casting).unwrap().with_names(names.into());
            self.add_piece(&piece);
            if first.is_multiple_of(4) {
                self.add_views(&piece);
            }
        }
    }

    /// Each width, with and without names.
    fn add_piece(&mut self, piece: &Piece) {
        for (width, names) in WIDTHS.into_iter().flat_map(|width| [(width, false), (width, true)]) {
            let annotations = Annotations { names, ..Annotations::default() };
            let width = Width::new(width).unwrap();
            self.add_page(piece, &piece.engrave(&Layout { width, annotations, ..Layout::default() }));
        }
    }

    /// Each view with all annotations, at one width.
    fn add_views(&mut self, piece: &Piece) {
        let annotations =
            Annotations { fingers: true, chord_tones: true, names: true, degrees: Degrees::Yes };
        for view in View::ALL {
            let scene =
                piece.engrave(&Layout { view, width: Width::PRINTED, annotations, ..Layout::default() });
            self.add_page(piece, &scene);
        }
    }

    fn add_page(&mut self, piece: &Piece, scene: &Scene) {
        self.pages += 1;
        let collisions = collisions(scene);
        let kinds: BTreeMap<Kind, _> = collisions.iter().map(|one| (one.kind(), one)).collect();
        for (kind, collision) in kinds {
            let text = write::text::line(piece.line(), piece.casting()).unwrap();
            let place = format!("{collision}, {} wide", scene.width);
            let found = self.found.entry(kind).or_insert_with(|| Found {
                pages: 0,
                text: text.clone(),
                place: place.clone(),
            });
            found.pages += 1;
            if text.len() < found.text.len() {
                (found.text, found.place) = (text, place);
            }
        }
    }

    /// Fails if anything but the known kinds was found.
    fn judge(&self) {
        let (known, new): (Vec<_>, Vec<_>) = self.found.iter().partition(|(kind, _)| KNOWN.contains(kind));
        println!("{} pages; known collisions:", self.pages);
        for ([one, other], found) in known {
            println!("  {one} on {other}: on {} pages", found.pages);
        }
        for ([one, other], Found { pages, text, place }) in &new {
            println!("{one} on {other}, on {pages} pages; the shortest text: {place}\n{text}");
        }
        assert!(new.is_empty());
    }
}

/// The random lines are all in C, with one chord. This gives a line another key, and a long chord symbol over every bar.
fn dressed(line: &Line, index: usize) -> Line {
    let tonics = ["C", "Eb", "F#", "Bb", "A", "Cb", "G", "C#"];
    let tonic = tonics[index % tonics.len()].parse().unwrap();
    let bars = line.bars().clone().in_key(Key::new(tonic, Mode::Major).unwrap());
    // Nobody slurs or slides farther than a fifth.
    let events = line.events();
    let near = |index: usize| {
        let keys = [index, index + 1].map(|index| events.get(index)?.pitch?.midi());
        matches!(keys, [Some(from), Some(to)] if from.0.abs_diff(to.0) <= 7)
    };
    let parts = events.iter().enumerate().map(|(index, event)| Part {
        duration: event.duration,
        pitch: event.pitch,
        pin: event.pin,
        legato: event.legato.filter(|_| near(index)),
        grace: event.grace,
    });
    let symbols = ["C#m7b5", "Ebmaj7#11/Bb", "F7", "NC", "Bbm(maj7)"].into_iter().cycle().skip(index);
    let chords = (0..line.bar_count()).zip(symbols).map(|(bar, symbol)| ChordAt {
        onset: line.bar(bar).unwrap().start(),
        symbol: symbol.parse().unwrap(),
    });
    Line::new(line.heading().clone(), bars, parts, chords.collect()).unwrap()
}

/// The gallery and random lines: the same 1,000 in every run, or fewer if `PROPTEST_CASES` says so.
#[test]
fn hard_and_random_lines() {
    const LINES: usize = 1000;
    let mut tally = Tally::default();
    for case in cases() {
        let names = lines::crowded_names(case.piece.line(), 0);
        let piece = case.piece.clone().with_names(names.into());
        tally.add_piece(&piece);
        tally.add_views(&piece);
        tally.add_page(&case.piece, &case.scene());
    }
    let asked = std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok());
    let count = asked.map_or(LINES, |asked: usize| asked.min(LINES));
    println!("random cases: {count}");
    for (index, (line, _)) in lines::sample(count).enumerate() {
        tally.add(&dressed(&line, index), index);
    }
    tally.judge();
    for kind in KNOWN.into_iter().filter(|_| count == LINES) {
        assert!(tally.found.contains_key(&kind), "{kind:?} is avoided now: remove it from the list");
    }
}

/// Source: four collections bundled with music21 (melodies printed 1778 to 1903), up to 45 of each meter.
#[test]
fn old_tunes() {
    let mut tally = Tally::default();
    for (index, tune) in tunes("spelled.py", &["--limit", "45"]).iter().enumerate() {
        tally.add(&line_of(&tune.text), index);
    }
    assert!(tally.pages >= 2_300, "only {} pages", tally.pages);
    tally.judge();
}

/// A page with nearly every kind of sign.
fn page() -> Scene {
    let text = "title: Low tide\nkey: Eb\nrecast: split-last at 1.1\nrecast: accent-3 at 2.2\n\
        @Fm7 F3 Ab C Eb r Bb3:3/2~ | Bb3:1 C4 D E r D6:3/4 Eb5:1/4 | B3 Bb B C r D:1 r | r Bb3 r:3 |";
    let reading = halfbar_core::read::text(text);
    assert!(reading.diagnostics.is_empty(), "{}", reading.diagnostics[0].render(text));
    let names = lines::crowded_names(reading.line.as_ref().unwrap(), 0);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap().with_names(names.into());
    let annotations = Annotations { names: true, degrees: Degrees::Yes, ..Annotations::default() };
    piece.engrave(&Layout { width: Width::PRINTED, annotations, ..Layout::default() })
}

/// Any sign that is drawn twice in the same place is found.
#[test]
fn a_sign_drawn_twice_is_found() {
    let page = page();
    assert_eq!(collisions(&page), []);
    let mut seen = BTreeSet::new();
    for group in &page.systems[0].groups {
        for placed in &group.items {
            let mut doubled = page.clone();
            let copy = Group { items: vec![placed.clone()], ..group.clone() };
            Arc::make_mut(&mut doubled.systems[0]).groups.push(copy);
            let found = collisions(&doubled);
            let [name, _] =
                found.iter().map(Collision::kind).find(|[one, other]| one == other).unwrap_or_else(|| {
                    panic!("{:?} drawn twice is not found", group.role);
                });
            seen.insert(name);
        }
    }
    println!("{} kinds of signs", seen.len());
    assert!(seen.len() >= 24, "{seen:?}");
}

/// The boxes of two slopes that pass close to each other overlap, but their ink doesn't.
#[test]
fn slopes_may_pass() {
    let beam = |y: Sp| {
        let corners = [(0.0, 0.0), (8.0, 2.0), (8.0, 2.5), (0.0, 0.5)].map(|(x, y)| Point::new(x, y));
        let [first, rest @ ..] = corners;
        let shape = [Segment::Move(first)].into_iter().chain(rest.map(Segment::Line)).collect();
        let items = vec![Placed { at: Point::new(0.0, y), item: Item::Shape(shape) }];
        Group { items, ..Group::new(Role::Beam, None, None) }
    };
    for (distance, collide) in [(0.4, true), (0.52, false), (0.46, true), (-0.46, true), (-0.52, false)] {
        let mut page = page();
        Arc::make_mut(&mut page.systems[0]).groups = vec![beam(20.0), beam(20.0 + distance)];
        assert_eq!(!collisions(&page).is_empty(), collide, "{distance} apart");
    }
}
