//! The page of music: nothing collides, nothing leaves the page, and the SVG is self-contained.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::collections::HashSet;

use halfbar_core::engrave::{Before, Layout, PadRow, View, Width, picture};
use halfbar_core::font::Glyph;
use halfbar_core::line::NoteId;
use halfbar_core::recast::{self, Figure, Grid, Spelling, Window};
use halfbar_core::scene::{Group, Item, Placed, Role, Scene, Sp, System};
use halfbar_core::score::Annotations;
use halfbar_core::time::Onset;
use halfbar_core::{Piece, read, write};
use halfbar_tests::collisions::{TOLERANCE, collisions};
use halfbar_tests::gallery::cases;
use halfbar_tests::icon;
use halfbar_tests::ink::outline;
use halfbar_tests::lines;
use halfbar_tests::pixels::{apart, decode, render};
use halfbar_tests::top;
use kurbo::{Affine, Shape};

const WIDTHS: [Sp; 4] = [44.0, 60.0, 100.0, 150.0];

/// Difficult lines: ledger lines, accidentals, ties into triplets, long chord symbols, two-digit frets.
const HARD: [&str; 7] = [
    "title: A lift\nkey: Eb\nrecast: split-last at 1.1 bracket, 2.3 tied\n\
     @Fm7 F3 Ab C Eb  G F Eb C | @Bb7alt D F B Ab  F# E D B | @Ebmaj7 Bb3:2 r:2 |",
    "key: A\nrecast: split-last at 1.3 tied, 3.1 tied, 4.1\nrecast: split-middle at 1.1, 2.1 tied\n\
     recast: split-first at 2.3, 3.3 tied\n\
     @F#m7b5 A3 B C# D E F# G# A | @B7#9#11/D# B4 A G# F# E D C# B | @E6/9 E2 F# G# A B C# D E | @Am(maj7) C4 E A C E A C D |",
    "@Dm7 D4:3/4 E:1/4 F:1/4 G A:1/4 Bb:1 r C5 | r A4:1 A:1 A:1 A | @G7 G3:3 F:1 | @C C4:3/2 D E:2~ | E4:3/2 F:1/2 r:2 | r:4 |",
    "key: C# minor\nE2 F## G# A## B## C## D## E | D6 C## Bb A## Gb F## Ebb D | @C#maj7#11/G# C4:1 @F#13b9 D:1 @B7 E:1 @E7 F:1 |",
    "C4:1/4 C#:1/4 C:1/4 C#:1/4 Db:1/4 D:1/4 Db:1/4 D:1/4 E:1/3 E#:1/3 E:1/3 F:1/6 F#:1/6 F:1/6 F#:1/2 |",
    "recast: accent-3 at 1.1, 1.5/2, 1.4, 2.3/2\nrecast: accent-5 at 3.1\nrecast: late-sixteenths at 3.4\n\
     C4 D E F G A B C | C D E F G A B C | C5 B A G F E D C | E2 F G A B C D E |",
    "key: Gb\ntempo: 300\nfeel: straight\nGb2:4~ | G:4~ | Gb:4 | D6:4 | r:1 D:1 r:1 E2:1 |",
];

fn scenes() -> Vec<(String, Scene)> {
    let mut scenes = Vec::new();
    for text in HARD {
        // With a mistake in these lines, less would be tested than it seems.
        let text = text.replace("| G:4~ |", "| Gb:4~ |");
        let reading = read::text(&text);
        assert!(reading.diagnostics.is_empty(), "{}", reading.diagnostics[0].render(&text));
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        for width in WIDTHS {
            for grid in [None, Some(Grid::Groups), Some(Grid::Eighths)] {
                let figure = Figure::named("split-last").unwrap();
                let like = Window::new(Onset::ZERO, figure, Spelling::Bracket);
                let offers = |grid| recast::offers(piece.line(), piece.casting(), grid, &like).unwrap();
                let pads = grid.map(|grid| PadRow {
                    height: 6.0,
                    least_width: 3.0,
                    spans: offers(grid).iter().map(|offer| offer.span).collect(),
                });
                let scene =
                    piece.engrave(&Layout { width: Width::new(width).unwrap(), pads, ..Layout::default() });
                scenes.push((format!("at {width}: {text}"), scene));
            }
        }
    }
    scenes
}

/// The box around a group: left, top, right, bottom.
fn bounds(group: &Group) -> [Sp; 4] {
    let all = group.items.iter().map(halfbar_core::scene::Placed::bounds);
    all.reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])]).unwrap()
}

fn of(system: &System, roles: &[Role]) -> Vec<(Role, [Sp; 4])> {
    let groups = system.groups.iter().filter(|group| roles.contains(&group.role) && !group.items.is_empty());
    groups.map(|group| (group.role, bounds(group))).collect()
}

/// The box of every single sign: a note's accidental and its head count separately.
fn signs(system: &System, roles: &[Role]) -> Vec<(Role, [Sp; 4])> {
    let groups = system.groups.iter().filter(|group| roles.contains(&group.role));
    groups.flat_map(|group| group.items.iter().map(|placed| (group.role, placed.bounds()))).collect()
}

#[test]
fn nothing_collides() {
    let (mut numbers, mut heads) = (0, 0);
    for (name, scene) in scenes() {
        let collisions = collisions(&scene);
        assert!(collisions.is_empty(), "{} {name}", collisions[0]);
        for system in &scene.systems {
            numbers += numbers_are_on_lines(&name, system);
            heads += heads_are_apart(&name, system);
        }
    }
    println!("{numbers} fret numbers, {heads} columns of heads");
    assert!(numbers > 1_700 && heads > 1_700);
}

/// Every fret number is centered on a line of the tab, and the line is interrupted for it. Returns how many there are.
fn numbers_are_on_lines(name: &str, system: &System) -> usize {
    let (lines, numbers) = (signs(system, &[Role::Staff]), of(system, &[Role::Fret]));
    for &(_, [left, top, right, bottom]) in &numbers {
        let middle = f64::midpoint(top, bottom);
        let near = lines.iter().filter(|(_, line)| (f64::midpoint(line[1], line[3]) - middle).abs() < 0.2);
        let near: Vec<_> = near.collect();
        assert!(!near.is_empty(), "a number at {middle} on no line {name}");
        let crossed = near.iter().any(|(_, line)| line[0] < right && left < line[2]);
        assert!(!crossed, "a line through the number at {left} {name}");
    }
    numbers.len()
}

/// Columns of heads, with everything before them, never run into each other or into a bar line. Returns how many there are.
fn heads_are_apart(name: &str, system: &System) -> usize {
    let mut columns: Vec<(Sp, Sp)> = Vec::new();
    for group in system.groups.iter().filter(|group| group.role == Role::Note) {
        // Everything of a note except its stem and flag, which may reach over or under the next head.
        let glyphs =
            group.items.iter().filter(|placed| matches!(placed.item, halfbar_core::scene::Item::Glyph(..)));
        let boxes: Vec<_> =
            glyphs.map(halfbar_core::scene::Placed::bounds).filter(|b| b[3] - b[1] < 3.1).collect();
        assert!(!boxes.is_empty(), "a note without a head {name}");
        let left = boxes.iter().map(|b| b[0]).fold(Sp::MAX, Sp::min);
        let right = boxes.iter().map(|b| b[2]).fold(Sp::MIN, Sp::max);
        columns.push((left, right));
    }
    for pair in columns.windows(2) {
        assert!(pair[0].1 <= pair[1].0 + TOLERANCE, "{pair:?} {name}");
    }
    for (_, line) in of(system, &[Role::BarLine]) {
        for &(left, right) in &columns {
            assert!(
                right <= line[0] + TOLERANCE || left >= line[2] - TOLERANCE,
                "{left}..{right} on a bar line {line:?} {name}"
            );
        }
    }
    columns.len()
}

/// Two thin lines before a new key, a thin and a thick one at the end (common practice, no source), in both staff and tab.
#[test]
fn bar_lines_show_what_follows() {
    let reading = read::text("C4:4 | C:4 | =G G:4 | G:4 |");
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    // A new key may start a system: its double bar line then ends the system above.
    for width in [100.0, 26.0] {
        let scene = piece.engrave(&Layout { width: Width::new(width).unwrap(), ..Layout::default() });
        let lines = scene.groups().filter(|group| group.role == Role::BarLine && group.bar.is_some());
        let strokes: Vec<_> = lines.map(|group| group.items.len()).collect();
        assert_eq!(strokes, [2, 4, 2, 4], "at {width}, in {} systems", scene.systems.len());
    }
}

/// A group is one path. It looks the same as its signs drawn one by one, by another library from the outlines that the engraver measures.
#[test]
fn a_path_looks_like_its_signs() {
    /// Units per staff space, and pixels.
    const UNITS: Sp = 1000.0;
    const PIXELS: Sp = 8.0;
    for case in cases() {
        let scene = case.scene();
        let (width, height) = (scene.width + 2.0, scene.height + 2.0);
        let mut apart_drawn = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{} {} {} {}\" width=\"{}\" height=\"{}\">",
            -UNITS,
            -UNITS,
            width * UNITS,
            height * UNITS,
            width * PIXELS,
            height * PIXELS
        );
        let systems = scene.systems.iter().map(|system| (system.top, &system.groups));
        for (top, groups) in [(0.0, &scene.head)].into_iter().chain(systems) {
            for Placed { at, item } in groups.iter().flat_map(|group| &group.items) {
                let place = Affine::scale(UNITS) * Affine::translate((at.x, at.y + top));
                let outline = place * outline(item);
                // Overlapping signs leave no hole only if both outlines run in the same direction.
                assert!(outline.area() > 0.0, "{}: {item:?} runs in the wrong direction", case.name);
                apart_drawn += &format!("<path d=\"{}\"/>", outline.to_svg());
            }
        }
        apart_drawn += "</svg>";
        let apart = apart(&render(&case.svg(), 1.0), &render(&apart_drawn, 1.0));
        // Where signs meet within a pixel, two grays don't add up to one: in at most 12 pixels. The 1s of the first tab are 39.
        let pixels = apart.far * width * height * PIXELS * PIXELS;
        assert!(apart.mean < 0.001 && pixels < 16.0, "{}: {apart:?}, {pixels:.0} pixels", case.name);
    }
}

#[test]
fn nothing_leaves_the_page() {
    let mut pads = 0;
    for (name, scene) in scenes() {
        let mut lower_edge = scene.head_height;
        for system in &scene.systems {
            assert!(system.top - system.above >= lower_edge - TOLERANCE, "systems overlap {name}");
            lower_edge = system.top + system.below;
            for group in &system.groups {
                let [left, top, right, bottom] = bounds(group);
                assert!(
                    left >= -TOLERANCE && right <= scene.width + TOLERANCE,
                    "{:?} {left}..{right} {name}",
                    group.role
                );
                assert!(
                    top >= -system.above && bottom <= system.below,
                    "{:?} {top}..{bottom} {name}",
                    group.role
                );
            }
            for pad in &system.pads {
                pads += 1;
                assert!(
                    pad.width >= 3.0 - TOLERANCE && pad.at.y + pad.height <= system.below + TOLERANCE,
                    "{pad:?} {name}"
                );
                let under =
                    of(system, &[Role::Fret, Role::BarLine]).iter().map(|(_, b)| b[3]).fold(0.0, Sp::max);
                assert!(pad.at.y > under, "a pad on the tab {name}");
            }
            let mut rights = system.pads.iter().map(|pad| (pad.at.x, pad.at.x + pad.width));
            let mut before = rights.next();
            for pad in rights {
                assert!(before.is_none_or(|before| before.1 <= pad.0), "pads overlap {name}");
                before = Some(pad);
            }
        }
        assert!(lower_edge <= scene.height, "{name}");
    }
    assert!(pads > 500, "only {pads} pads");
}

/// All systems except the last end at the right edge.
#[test]
fn systems_are_justified() {
    let mut justified = 0;
    for (name, scene) in scenes() {
        let Some((_, full)) = scene.systems.split_last() else { panic!("no system {name}") };
        justified += full.len();
        for system in full {
            let right = of(system, &[Role::BarLine]).iter().map(|(_, b)| b[2]).fold(0.0, Sp::max);
            assert!((right - scene.width).abs() < TOLERANCE, "{right} in {} {name}", scene.width);
        }
    }
    assert!(justified > 50, "only {justified} systems have one after them");
}

/// The file is well-formed XML (read by another library), has no ids that could clash in a page, and has every event.
#[test]
fn the_svg_is_self_contained() {
    for (name, scene) in scenes() {
        let svg = write::svg::document(&scene);
        let document = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{error} {name}"));
        let mut notes = HashSet::new();
        for node in document.descendants() {
            assert!(
                ["id", "href", "style"].iter().all(|attribute| !node.has_attribute(*attribute)),
                "{name}"
            );
            if node.attribute("class") == Some("note") {
                notes.insert((node.attribute("data-note").unwrap(), node.attribute("data-bar").unwrap()));
            }
            assert!(
                !matches!(node.tag_name().name(), "image" | "script" | "style" | "foreignObject"),
                "{name}"
            );
        }
        let ids: HashSet<_> = notes.iter().map(|(note, _)| *note).collect();
        let groups = scene.systems.iter().flat_map(|system| &system.groups);
        let events: HashSet<_> =
            groups.filter(|group| group.role == Role::Note).filter_map(|group| group.note).collect();
        assert_eq!(ids.len(), events.len(), "not every note has an id of its own {name}");
        let drawn: usize =
            scene.systems.iter().flat_map(|s| &s.groups).filter(|g| g.role == Role::Note).count();
        assert!(!notes.is_empty() && notes.len() <= drawn, "{name}");
        let described =
            document.descendants().find(|node| node.has_tag_name("desc")).and_then(|node| node.text());
        assert!(described.is_some_and(|text| text.contains(" Bar 1")), "{name}");
    }
}

/// Text that looks like markup stays text.
#[test]
fn hostile_titles_stay_text() {
    let text = "title: </title><script>alert(1)</script> & \"quotes\" 港\nC4 D E F G A B C |";
    let reading = read::text(text);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let svg = write::svg::document(&piece.engrave(&Layout::default()));
    let document = roxmltree::Document::parse(&svg).unwrap();
    assert!(document.descendants().all(|node| !node.has_tag_name("script")));
    let title = document.descendants().find(|node| node.has_tag_name("title")).and_then(|node| node.text());
    assert_eq!(title, Some("</title><script>alert(1)</script> & \"quotes\" 港"));
}

/// The pictures of every figure in both spellings, and the plain one, all have the same height.
#[test]
fn pictures_have_the_same_height() {
    let plain = picture(None).unwrap();
    for figure in Figure::all() {
        for &spelling in figure.spellings() {
            let scene = picture(Some((figure, spelling))).unwrap();
            assert_eq!(scene.height, plain.height, "{} {spelling}", figure.name());
            for group in &scene.systems[0].groups {
                let [left, top, right, bottom] = bounds(group);
                let system = &scene.systems[0];
                assert!(
                    left >= 0.0 && right <= scene.width,
                    "{:?} in {} {spelling}",
                    group.role,
                    figure.name()
                );
                assert!(
                    top >= -system.above && bottom <= system.below,
                    "{:?} in {} {spelling}",
                    group.role,
                    figure.name()
                );
            }
        }
    }
}

/// Measurements in staff spaces. Source: the engraving defaults of SMuFL's reference font for thicknesses, and Gould,
/// *Behind Bars* (2011), from memory, for stem lengths and beam slopes.
#[test]
fn measurements_agree_with_textbooks() {
    use halfbar_core::scene::{Item, Segment};
    let (mut stems, mut ledger_lines, mut beams) = (0, 0, 0);
    for (name, scene) in scenes() {
        for system in &scene.systems {
            for group in &system.groups {
                for placed in &group.items {
                    match (&placed.item, group.role) {
                        (Item::Rect { width, height }, Role::Note) if *width < 0.5 => {
                            stems += 1;
                            assert_eq!(*width, 0.12, "stem");
                            assert!(*height >= 2.5 - 0.168 - 0.26, "a stem of {height} {name}");
                        }
                        (Item::Rect { height, .. }, Role::Note) => {
                            ledger_lines += 1;
                            assert_eq!(*height, 0.16, "ledger line");
                        }
                        (Item::Shape(points), Role::Beam) => {
                            beams += 1;
                            let y = |segment: &Segment| match *segment {
                                Segment::Move(p) | Segment::Line(p) | Segment::Curve(_, _, p) => (p.x, p.y),
                            };
                            let corners: Vec<_> = points.iter().map(y).collect();
                            let thickness = (corners[3].1 - corners[0].1).abs();
                            assert!((thickness - 0.5).abs() < 1e-9, "a beam {thickness} thick {name}");
                            let rise = (corners[1].1 - corners[0].1).abs();
                            assert!(rise <= 2.0 + 0.25 + 1e-9, "a beam that rises {rise} {name}");
                        }
                        _ => {}
                    }
                }
            }
        }
    }
    println!("{stems} stems, {ledger_lines} ledger lines, {beams} beams");
    assert!(stems > 1_600 && ledger_lines > 1_900 && beams > 450);
}

/// A slur, a slide out of its last note, and a slur over a system's end, whose second half still says what the left hand does.
/// Every head that was struck as a chord tone is in the middle of a ring, and no other is.
#[test]
fn chord_tones_are_ringed() {
    let text = "recast: split-last at 1.1\n@Bb7alt F4 Gb F Gb Ab:1 Gb:1~ | Gb:1 @Ebmaj7 G4:1 Bb:2 | @NC Bb4:1 r:1 @Fm7 E4:2 |";
    let reading = read::text(text);
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let annotations = Annotations { chord_tones: true, ..Annotations::default() };
    for (view, wanted) in [
        (View::Both, [1, 3, 4, 5, 6, 7].as_slice()),
        (View::Staff, &[1, 3, 4, 5, 6, 7]),
        (View::Tab, &[]),
        (View::Rhythm, &[]),
    ] {
        let scene = piece.engrave(&Layout { view, annotations, ..Layout::default() });
        let ringed = scene.groups().filter(|group| group.role == Role::ChordTone);
        let ringed: Vec<u32> = ringed
            .map(|ring| {
                let is_head = |placed: &&Placed| {
                    matches!(placed.item, Item::Glyph(Glyph::HeadBlack | Glyph::HeadHalf, _))
                };
                let note = scene.groups().find(|group| group.role == Role::Note && group.note == ring.note);
                let head = note.unwrap().items.iter().find(is_head).unwrap().bounds();
                let around = bounds(ring);
                for side in [0, 1] {
                    let room = [head[side] - around[side], around[side + 2] - head[side + 2]];
                    assert!(
                        room[0] > 0.2 && (room[0] - room[1]).abs() < 0.05,
                        "{view:?}: {around:?}, {head:?}"
                    );
                }
                // Only the line has ink, not the inside.
                let [left, top, right, bottom] = around;
                let ink: f64 = ring.items.iter().map(|placed| outline(&placed.item).area().abs()).sum();
                assert!(ink < 0.3 * (right - left) * (bottom - top), "{view:?}: {ink}");
                ring.note.unwrap().0
            })
            .collect();
        assert_eq!(ringed, wanted, "{view:?}");
    }
    let plain = piece.engrave(&Layout::default());
    assert!(plain.groups().all(|group| group.role != Role::ChordTone));
}

/// However close notes are, their rings don't touch, and no flag reaches down to one.
#[test]
fn rings_touch_nothing() {
    let close = format!("@C {}|", "C4:1/4 E:1/4 E:1/4 G:1/4 ".repeat(4));
    let flags = "@C r:1/2 C4 r:3/4 C:1/4 r:7/8 G3:1/8 r:15/16 G:1/16 | r:1/2 E5 r:3/4 C:1/4 r:7/8 C:1/8 r:15/16 E:1/16 |";
    let annotations = Annotations { chord_tones: true, ..Annotations::default() };
    let layout =
        Layout { view: View::Staff, width: Width::new(20.0).unwrap(), annotations, ..Layout::default() };
    for (text, rings) in [(close.as_str(), 16), (flags, 8)] {
        let reading = read::text(text);
        assert!(reading.diagnostics.is_empty(), "{}", reading.diagnostics[0].render(text));
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        let scene = piece.engrave(&layout);
        assert_eq!(scene.groups().filter(|group| group.role == Role::ChordTone).count(), rings);
        assert_eq!(collisions(&scene), []);
    }
}

/// A system is not reused from a page where its rings were different.
#[test]
fn rings_are_drawn_anew() {
    let annotations = Annotations { chord_tones: true, ..Annotations::default() };
    // If a chord changes in an earlier system, so do the rings of the systems after it.
    let piece = |text: &str| {
        let reading = read::text(text);
        Piece::new(reading.line.unwrap(), reading.casting).unwrap()
    };
    let [before, after] = ["Fm7", "Gm7"].map(|chord| piece(&format!("systems: 1\n@{chord} F3:4 | C4:4 |")));
    let layout = Layout { annotations, ..Layout::default() };
    let scene = before.engrave(&layout);
    let reused = Before { score: before.score(), layout: &layout, scene: &scene };
    assert_eq!(after.engrave_after(&layout, reused), after.engrave(&layout));
    assert_ne!(scene.systems[1].groups, after.engrave(&layout).systems[1].groups);
    // The same when rings are switched on or off.
    let plain = Layout::default();
    for (one, other) in [(&layout, &plain), (&plain, &layout)] {
        let reused = Before { score: before.score(), layout: one, scene: &before.engrave(one) };
        assert_eq!(before.engrave_after(other, reused), before.engrave(other));
    }
}

/// Under every note of a name is its bracket, in as many parts as systems, closed at both ends of the name only; its words stand once at most.
#[test]
fn brackets_follow_their_notes() {
    let (mut brackets, mut broken, mut words) = (0, 0, 0);
    for (index, (line, casting)) in lines::sample(60).enumerate() {
        let names = lines::crowded_names(&line, index);
        let piece = Piece::new(line, casting).unwrap().with_names(names.clone().into());
        let annotations = Annotations { names: true, ..Annotations::default() };
        let layout = Layout { width: Width::new(50.0).unwrap(), annotations, ..Layout::default() };
        let scene = piece.engrave(&layout);
        let of_role = |role: Role, name: usize| {
            let systems = scene.systems.iter().enumerate();
            systems.flat_map(move |(at, system)| {
                let groups =
                    system.groups.iter().filter(move |group| (group.role, group.name) == (role, Some(name)));
                groups.map(move |group| (at, group))
            })
        };
        for (index, name) in names.iter().enumerate() {
            let mut wanted = Vec::new();
            for (at, system) in scene.systems.iter().enumerate() {
                let struck = |note: NoteId| {
                    let bars = &piece.written().bars[system.bars.clone()];
                    bars.iter()
                        .flat_map(|bar| &bar.symbols)
                        .any(|symbol| symbol.note == note && !symbol.tied_from)
                };
                let heads = system.groups.iter().filter(|group| group.role == Role::Note);
                let inside = heads.filter(|group| {
                    group.note.is_some_and(|note| (name.first..=name.last).contains(&note) && struck(note))
                });
                let mut inside: Vec<_> = inside.collect();
                // What it is tied to is not struck again.
                inside.dedup_by_key(|group| group.note);
                let xs: Vec<Sp> = inside.into_iter().filter_map(head_center).collect();
                if !xs.is_empty() {
                    wanted.push((at, xs));
                }
            }
            if name.is_landing {
                assert!(
                    of_role(Role::Landing, index).count() <= 1
                        && of_role(Role::NameBracket, index).count() == 0
                );
                continue;
            }
            let drawn: Vec<_> = of_role(Role::NameBracket, index).collect();
            assert_eq!(
                drawn.iter().map(|(at, _)| *at).collect::<Vec<_>>(),
                wanted.iter().map(|(at, _)| *at).collect::<Vec<_>>()
            );
            for ((_, group), (_, xs)) in drawn.iter().zip(&wanted) {
                let [left, _, right, _] = group.bounds().unwrap();
                // Where two names share a note, each has half of it.
                assert!(
                    xs.iter().all(|x| left - 0.2 <= *x && *x <= right + 0.2),
                    "{left} to {right}: {xs:?}"
                );
            }
            // Each part has four corners, and two more where it is closed.
            let corners = drawn.iter().map(|(_, group)| match &group.items[0].item {
                Item::Shape(segments) => segments.len(),
                other => panic!("{other:?}"),
            });
            let corners: usize = corners.sum();
            assert!(
                drawn.is_empty() || corners == 4 * drawn.len() + 4,
                "{corners} corners in {} parts",
                drawn.len()
            );
            brackets += 1;
            broken += usize::from(drawn.len() > 1);
            let said = of_role(Role::Name, index).count();
            assert!(said <= 1);
            words += said;
        }
    }
    println!("{brackets} brackets, {broken} of them broken, {words} with words");
    assert!(brackets > 500 && broken > 20 && 3 * words > 2 * brackets);
}

/// The middle of a note's head.
fn head_center(group: &Group) -> Option<Sp> {
    let heads = group.items.iter().filter(|placed| {
        matches!(placed.item, Item::Glyph(Glyph::HeadBlack | Glyph::HeadHalf | Glyph::HeadWhole, _))
    });
    heads.map(|head| f64::midpoint(head.bounds()[0], head.bounds()[2])).next()
}

#[test]
fn joins_are_drawn() {
    let reading = read::text("systems: 1\nC4_ D_s E F G A B C_ | B:4 |");
    assert!(reading.diagnostics.is_empty());
    let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
    let scene = piece.engrave(&Layout::default());
    let joins = |system: usize| -> (usize, Vec<String>) {
        let groups = scene.systems[system].groups.iter().filter(|group| group.role == Role::Slur);
        let items: Vec<_> = groups.flat_map(|group| &group.items).collect();
        let letters = items.iter().filter_map(|placed| match &placed.item {
            Item::Text { text, .. } => Some(text.clone()),
            _ => None,
        });
        let letters: Vec<String> = letters.collect();
        (items.len() - letters.len(), letters)
    };
    // On the staff, a slur, a slide and half a slur; on the tab, an arc and a line.
    assert_eq!(joins(0), (5, vec!["H".into(), "sl".into()]));
    assert_eq!(joins(1), (1, vec!["P".into()]));
}

/// `UPDATE_ICONS=1 cargo test -p halfbar-tests --test scene icons` redraws them.
#[test]
fn the_icons_are_up_to_date() {
    let www = top().join("www");
    let style = std::fs::read_to_string(www.join("style.css")).unwrap();
    for (name, content) in icon::files(&style) {
        if std::env::var_os("UPDATE_ICONS").is_some() {
            std::fs::write(www.join(&name), &content).unwrap();
        }
        let found = std::fs::read(www.join(&name)).unwrap_or_default();
        // Another processor may round the edge of a pixel differently.
        let same = match name.ends_with(".png") && !found.is_empty() {
            true => apart(&decode(&found), &decode(&content)).mean < 0.001,
            false => found == content,
        };
        assert!(same, "www/{name} is out of date; set UPDATE_ICONS=1 to redraw it");
    }
}
