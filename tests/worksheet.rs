//! Worksheets: laws about what goes where, and the files checked with readers that this project didn't build.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use halfbar_core::dialect::Dialect;
use halfbar_core::engrave::{Layout, View};
use halfbar_core::harmony::NameSign;
use halfbar_core::line::Heading;
use halfbar_core::scene::{Group, Item, Role};
use halfbar_core::worksheet::{self, Format, PagePart, Pages, PartKind, SheetNames, Worksheet};
use halfbar_core::{Piece, read, write};
use halfbar_tests::ink::Ink;
use halfbar_tests::{a_thousand, lines, outside, pixels, program, target, top};
use proptest::prelude::*;
use serde::Deserialize;

/// Where failing cases are kept.
const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/worksheet.regressions");

/// A title that would be markup if it weren't escaped.
const HOSTILE: &str =
    "</title></pre></svg><script>alert(1)</script><!-- \" onload='x' &lt; id=\"here\" <use href=\"#";

fn piece(text: &str) -> Piece {
    let reading = read::text(text);
    assert_eq!(reading.diagnostics, [], "{text}");
    Piece::new(reading.line.unwrap(), reading.casting).unwrap()
}

fn asked() -> impl Strategy<Value = Worksheet> {
    let format = prop::sample::select(&Format::ALL[..]);
    let view = prop::sample::select(&View::ALL[..]);
    let title = prop::sample::select(
        &[
            "",
            "Tuesday",
            "Half-bars for the evening class, week after week after week, at the long table by the harbour wall, again",
        ][..],
    );
    let names = prop::sample::select(&SheetNames::ALL[..]);
    (format, view, names, title, any::<[bool; 6]>()).prop_map(
        |(format, view, names, title, [fingers, notes, recast_yourself, answers, workshop, british])| {
            Worksheet {
                title: title.into(),
                workshop: if workshop { "Harbour Lane Guitar Workshop".into() } else { String::new() },
                format,
                view,
                fingers,
                names,
                notes,
                recast_yourself,
                answers,
                words: if british { Dialect::British } else { Dialect::American },
            }
        },
    )
}

fn pieces() -> impl Strategy<Value = Vec<Piece>> {
    let piece = (lines::line(), prop::bool::weighted(0.7)).prop_map(|((line, casting), recast)| {
        let casting = if recast { casting } else { casting.cleared() };
        let names = lines::crowded_names(&line, line.events().len() % 8);
        let piece = Piece::new(line, casting).unwrap();
        if !names.len().is_multiple_of(3) { piece.with_names(names.into()) } else { piece }
    });
    prop::collection::vec(piece, 0..6)
}

/// The parts of one kind that belong to an example, with the index of their page.
fn parts(pages: &Pages, kind: PartKind, example: usize) -> impl Iterator<Item = (usize, &PagePart)> {
    let all = pages
        .pages
        .iter()
        .enumerate()
        .flat_map(|(index, page)| page.parts.iter().map(move |part| (index, part)));
    all.filter(move |(_, part)| part.kind == kind && part.example == Some(example))
}

/// The smallest box around the ink of a part, on its page. Control points of curves can be outside.
fn ink(part: &PagePart) -> [f64; 4] {
    let placed = part.groups.iter().flat_map(|group| &group.items);
    let boxes = placed.map(|placed| match placed.item {
        Item::Shape(_) => Ink::of(placed).bounds(),
        _ => placed.bounds(),
    });
    let around = |[l, t, r, b]: [f64; 4], [left, top, right, bottom]: [f64; 4]| {
        [l.min(left), t.min(top), r.max(right), b.max(bottom)]
    };
    let [left, top, right, bottom] = boxes.reduce(around).unwrap();
    let (x, y, scale) = (part.at.x, part.at.y, part.scale);
    let bounds = [x + left * scale, y + top * scale, x + right * scale, y + bottom * scale];
    let told = part.bounds().unwrap();
    assert!(told[0] <= bounds[0] + 0.02 && told[1] <= bounds[1] + 0.02, "{told:?} {bounds:?}");
    assert!(told[2] >= bounds[2] - 0.02 && told[3] >= bounds[3] - 0.02, "{told:?} {bounds:?}");
    bounds
}

/// How many signs of a role there are.
fn count<'a>(groups: impl IntoIterator<Item = &'a Group>, role: Role) -> usize {
    groups.into_iter().filter(|group| group.role == role).count()
}

fn drawn<'a>(parts: impl Iterator<Item = (usize, &'a PagePart)>, role: Role) -> usize {
    parts.map(|(_, part)| count(&part.groups, role)).sum()
}

/// Whether these systems hold every bar of a piece once, in order.
fn all_bars<'a>(parts: impl Iterator<Item = (usize, &'a PagePart)>, piece: &Piece) -> bool {
    let bars: Vec<usize> = parts.flat_map(|(_, part)| part.bars.clone().unwrap()).collect();
    bars == (0..piece.line().bar_count()).collect::<Vec<_>>()
}

#[test]
fn every_bar_is_there_once_and_tasks_have_answers() {
    a_thousand(KEPT, (pieces(), asked()), |(pieces, asked)| {
        let pages = worksheet::pages(&pieces, &asked).unwrap();
        for (piece, number) in pieces.iter().zip(1..) {
            let windows = piece.casting().windows();
            let tasked = asked.recast_yourself && !windows.is_empty();
            prop_assert!(all_bars(parts(&pages, PartKind::Music, number), piece));
            // Notes and rests as they are, or plain.
            let plain = Piece::new(piece.line().clone(), piece.casting().cleared()).unwrap();
            let signs =
                |piece: &Piece| piece.written().bars.iter().map(|bar| bar.symbols.len()).sum::<usize>();
            let drawn_signs = |kind| {
                drawn(parts(&pages, kind, number), Role::Note)
                    + drawn(parts(&pages, kind, number), Role::Rest)
            };
            prop_assert_eq!(drawn_signs(PartKind::Music), signs(if tasked { &plain } else { piece }));
            let blank =
                asked.names == SheetNames::Blank && piece.names().is_some_and(|names| !names.is_empty());
            let tasks = usize::from(tasked) + usize::from(blank);
            prop_assert_eq!(parts(&pages, PartKind::Task, number).count(), tasks);
            // What somebody is to name is not given away, and is in the answers.
            let named = |kind| {
                let groups = parts(&pages, kind, number).flat_map(|(_, part)| &part.groups);
                groups
                    .filter(|group| {
                        matches!(group.role, Role::Name | Role::Landing) && !group.words.is_empty()
                    })
                    .count()
            };
            let brackets = |kind| drawn(parts(&pages, kind, number), Role::NameBracket);
            if blank {
                let told = [Role::Landing, Role::Degree]
                    .map(|role| drawn(parts(&pages, PartKind::Music, number), role));
                prop_assert_eq!((named(PartKind::Music), told), (0, [0, 0]));
                prop_assert!(brackets(PartKind::Music) > 0);
                let has_words = |name: &NameSign| !name.short.is_empty() && !name.is_landing;
                let is_told = piece.names().is_some_and(|names| names.iter().any(has_words));
                prop_assert_eq!(named(PartKind::Answer) > 0, is_told && asked.answers);
            } else if asked.names == SheetNames::AsWritten && !piece.line().heading().names {
                prop_assert_eq!(brackets(PartKind::Music) + brackets(PartKind::Answer), 0);
            }
            prop_assert_eq!(parts(&pages, PartKind::Notes, number).count(), usize::from(asked.notes));
            if (tasked || blank) && asked.answers {
                prop_assert!(all_bars(parts(&pages, PartKind::Answer, number), piece));
                prop_assert_eq!(drawn_signs(PartKind::Answer), signs(piece));
            } else {
                prop_assert_eq!(parts(&pages, PartKind::Answer, number).count(), 0);
            }
            // An empty staff right under every system with something to recast, and nowhere else.
            let staves: Vec<_> = parts(&pages, PartKind::Staves, number).collect();
            prop_assert_eq!(drawn_signs(PartKind::Staves), 0);
            prop_assert_eq!(
                drawn(staves.iter().copied(), Role::Fret) + drawn(staves.iter().copied(), Role::Beam),
                0
            );
            for (page, given) in parts(&pages, PartKind::Music, number) {
                let bars = given.bars.clone().unwrap();
                let holds = windows.iter().any(|window| {
                    let end = window.start.checked_add(window.figure.span()).unwrap();
                    bars.clone().any(|bar| {
                        let span = piece.line().bar(bar).unwrap();
                        window.start < span.end() && end > span.start()
                    })
                });
                let under = staves.iter().find(|(_, staff)| staff.bars == given.bars);
                prop_assert_eq!(under.is_some(), tasked && holds);
                if let Some((on, staff)) = under {
                    prop_assert_eq!(*on, page);
                    prop_assert_eq!(count(&staff.groups, Role::Chord), count(&given.groups, Role::Chord));
                    prop_assert!(staff.at.y > given.at.y);
                    // A bar line for each bar, and whatever comes before the notes.
                    let numbered = staff
                        .groups
                        .iter()
                        .filter(|group| group.role == Role::BarLine && group.bar.is_some());
                    prop_assert_eq!(numbered.count(), bars.len());
                    if matches!(asked.view, View::Both | View::Staff) {
                        prop_assert!(
                            count(&staff.groups, Role::Clef) == 1 && count(&staff.groups, Role::Staff) == 1
                        );
                    }
                }
            }
        }
        Ok(())
    });
}

#[test]
fn nothing_leaves_its_page_or_overlaps() {
    a_thousand(KEPT, (pieces(), asked()), |(pieces, asked)| {
        let pages = worksheet::pages(&pieces, &asked).unwrap();
        let (width, height) = pages.format.size();
        // 15 mm at the sides and on top, 10 mm at the bottom; a bar number or a clef may stick out by half a space.
        let (side, top, foot) =
            (15.0 / worksheet::SPACE - 0.5, 15.0 / worksheet::SPACE - 0.5, 10.0 / worksheet::SPACE - 0.5);
        let count = pages.pages.len();
        for (page, number) in pages.pages.iter().zip(1..) {
            let boxes: Vec<_> = page.parts.iter().map(ink).collect();
            for [left, upper, right, lower] in &boxes {
                let inside = *left > side && *right < width - side && *upper > top && *lower < height - foot;
                prop_assert!(inside, "{left} {upper} {right} {lower} of {width} by {height}");
            }
            for (index, one) in boxes.iter().enumerate() {
                for other in &boxes[index + 1..] {
                    let apart = |axis: usize| {
                        one[axis] >= other[axis + 2] - 0.01 || other[axis] >= one[axis + 2] - 0.01
                    };
                    prop_assert!(
                        apart(0) || apart(1),
                        "{one:?} over {other:?}: {:?}",
                        page.parts.iter().map(|part| part.kind).collect::<Vec<_>>()
                    );
                }
            }
            let last = page.parts.last().unwrap();
            prop_assert_eq!(last.kind, PartKind::Foot);
            let said: Vec<&str> = last.groups.iter().map(|group| group.words.as_str()).collect();
            let expected = format!("Page {number} of {count}");
            prop_assert_eq!(said.last().copied(), Some(expected.as_str()));
            // A heading is followed by what it is for.
            for head in page.parts.iter().filter(|part| part.kind == PartKind::Head) {
                let mut follows =
                    page.parts.iter().filter(|part| part.example == head.example && part.bars.is_some());
                prop_assert_eq!(follows.next().unwrap().bars.as_ref().unwrap().start, 0);
            }
            // No page is empty, and only the last page of the examples or of the answers has room for what comes next.
            prop_assert!(page.parts.len() > 1);
        }
        Ok(())
    });
}

/// An example stays on one page if a page can hold it.
#[test]
fn examples_are_cut_only_where_they_are_longer_than_a_page() {
    let line = piece("title: Low tide\nsystems: 1\nD4 F A C B G E D | C4 E G B A F D C | D4 F A C B G E D |");
    let pages = worksheet::pages(&vec![line; 9], &Worksheet::default()).unwrap();
    for number in 1..=9 {
        let on: Vec<usize> = parts(&pages, PartKind::Music, number).map(|(page, _)| page).collect();
        assert!(on.len() == 3 && on[0] == on[2], "example {number} is on pages {on:?}");
    }
    let long = piece(&format!("systems: 1\n{}", "D4 F A C B G E D | ".repeat(30)));
    let pages = worksheet::pages(&[long], &Worksheet::default()).unwrap();
    assert!(pages.pages.len() > 3);
    // Full from top to bottom: a title and headings, then systems of about 22 spaces in 148.
    let full = pages.pages[1].parts.iter().filter(|part| part.bars.is_some()).count();
    assert!((5..=7).contains(&full), "{full} systems on a page");
}

/// Four bars that don't fit in one system.
#[test]
fn no_bar_is_alone_in_the_last_system() {
    let four = piece(
        "key: Eb\n@Fm7 F3 Ab C4 Eb G F Eb C | @Bb7alt D4 F Ab Cb  D5 Cb4 Ab F# | \
         @Ebmaj7 G4 Bb D5 Eb D Bb4 G F | Eb4 F G Bb D5 C Bb4 G |",
    );
    for format in Format::ALL {
        let pages =
            worksheet::pages(std::slice::from_ref(&four), &Worksheet { format, ..Worksheet::default() })
                .unwrap();
        let systems: Vec<usize> =
            parts(&pages, PartKind::Music, 1).map(|(_, part)| part.bars.clone().unwrap().len()).collect();
        assert_eq!(systems, [2, 2], "{format}");
    }
}

/// A lesson: two lines to recast, and one as it is.
fn lesson(format: Format) -> Pages {
    let example = fs::read_to_string(top().join("core/example.txt")).unwrap();
    let second = "title: Ça va, “Sea” – 2\nkey: C minor\nrecast: split-first at 2.1 tied\n\
        @Dm7b5 D4 F Ab C  B Ab F D | @G7alt G4 B Db Eb  F Eb Db B | @Cm6 C4 Eb G A  G Eb D C | @Cm6 C4:4 |";
    let third = "title: As it stands\n@Gmaj7 G4 B D F#  E D B A |";
    let asked = Worksheet {
        title: "Half-bars, week 12".into(),
        workshop: "Harbour Lane Guitar Workshop".into(),
        format,
        notes: true,
        recast_yourself: true,
        answers: true,
        ..Worksheet::default()
    };
    worksheet::pages(&[piece(&example), piece(second), piece(third)], &asked).unwrap()
}

fn kept(name: &str, file: &[u8]) -> PathBuf {
    let folder = target().join("worksheets");
    fs::create_dir_all(&folder).unwrap();
    let path = folder.join(name);
    fs::write(&path, file).unwrap();
    path
}

fn said(name: &str, arguments: &[&str], file: &Path, after: &[&str]) -> String {
    let output = program(name, &[arguments, &[file.to_str().unwrap()], after].concat());
    String::from_utf8(output).unwrap()
}

/// Sizes are those of ISO 216 and of ANSI/ASME Y14.1, in points of 1/72 inch.
#[test]
fn pdf_is_read_back_by_poppler() {
    for (format, size) in [(Format::A4, [595.276, 841.89]), (Format::Letter, [612.0, 792.0])] {
        let pages = lesson(format);
        let file = kept(&format!("{}.pdf", format.name()), &write::pdf::document(&pages));
        let info = said("pdfinfo", &[], &file, &[]);
        let field = |name: &str| {
            let row = info
                .lines()
                .find_map(|row| row.strip_prefix(name))
                .unwrap_or_else(|| panic!("{name}: {info}"));
            row.trim_start_matches(':').trim().to_string()
        };
        assert_eq!(field("Title"), "Half-bars, week 12");
        assert_eq!(field("Author"), "Harbour Lane Guitar Workshop");
        assert!(field("Creator").starts_with("Halfbar"));
        assert_eq!(field("Pages"), pages.pages.len().to_string());
        let found: Vec<f64> = field("Page size").split(' ').filter_map(|word| word.parse().ok()).collect();
        assert!(found.iter().zip(size).all(|(found, size)| (found - size).abs() < 0.01), "{found:?}");
        // No font is embedded: letters are outlines, and the words over them are in a font that every viewer has.
        let fonts = said("pdffonts", &[], &file, &[]);
        assert_eq!(fonts.lines().count(), 3, "{fonts}");
        assert!(
            fonts.lines().skip(2).all(|row| row.starts_with("Courier") && row.contains(" no  no ")),
            "{fonts}"
        );

        for (page, number) in pages.pages.iter().zip(1..) {
            let page_number = number.to_string();
            let text = said("pdftotext", &["-raw", "-f", &page_number, "-l", &page_number], &file, &["-"]);
            let text: Vec<&str> = text.split_whitespace().collect();
            let text = text.join(" ");
            for group in page.groups().filter(|group| !group.words.is_empty()) {
                assert!(text.contains(group.words.as_str()), "page {number} lacks `{}`: {text}", group.words);
            }
            for part in page.parts.iter().filter(|part| part.kind == PartKind::Head) {
                assert!(text.contains(&format!("{}. ", part.example.unwrap())));
            }
            assert!(text.contains(&format!("Page {number} of {}", pages.pages.len())));
        }
        let first = said("pdftotext", &["-raw", "-l", "1"], &file, &["-"]);
        for word in [
            "Fm7",
            "Bb7alt",
            "Ebmaj7",
            "quarter-note triplet, last note split (tied)",
            "Name",
            "Notes",
            "132",
        ] {
            assert!(first.contains(word), "{word}: {first}");
        }
        // The fret numbers of the first bar, from the tab in `core/example.svg`.
        let numbers: Vec<&str> = first.split_whitespace().collect();
        assert!(
            numbers.windows(8).any(|eight| eight == ["8", "6", "10", "8", "8", "10", "8", "10"]),
            "{numbers:?}"
        );
    }
}

/// Poppler's picture of each page of the PDF is the same as resvg's of the SVG.
#[test]
fn pdf_looks_like_svg() {
    for format in Format::ALL {
        let pages = lesson(format);
        let file = kept(&format!("{}-looks.pdf", format.name()), &write::pdf::document(&pages));
        for index in 0..pages.pages.len() {
            let svg = write::svg::page(&pages, index).unwrap();
            roxmltree::Document::parse(&svg).unwrap();
            // 96 pixels per inch, as in SVG.
            let number = (index + 1).to_string();
            let pdf = file.to_str().unwrap();
            let png = program(
                "pdftocairo",
                &["-r", "192", "-f", &number, "-l", &number, "-png", "-singlefile", pdf, "-"],
            );
            let (from_pdf, from_svg) = (pixels::decode(&png), pixels::render(&svg, 2.0));
            let (width, height) = (from_pdf.width(), from_pdf.height());
            assert!(width.abs_diff(from_svg.width()) <= 1 && height.abs_diff(from_svg.height()) <= 1);
            let same = pixels::cropped(&from_svg, width.min(from_svg.width()), height.min(from_svg.height()));
            let other = pixels::cropped(&from_pdf, same.width(), same.height());
            let apart = pixels::apart(&same, &other);
            println!("{}, page {number}: {apart:?}", format.name());
            assert!(
                apart.mean < 0.0025 && apart.far < 0.00002,
                "{}, page {number}: {apart:?}",
                format.name()
            );
        }
    }
}

/// What html5lib finds.
#[derive(Deserialize)]
struct Html {
    errors: Vec<String>,
    elements: BTreeMap<String, usize>,
    texts: Vec<String>,
    twice: Vec<String>,
}

fn html(source: &str, arguments: &[&str]) -> Html {
    serde_json::from_str(&outside("html.py", arguments, source)[0]).unwrap()
}

/// The elements of a file are only those that we mean to use.
fn harmless(html: &Html, known: &[&str]) {
    assert_eq!(html.errors, Vec::<String>::new());
    assert_eq!(html.twice, Vec::<String>::new());
    for name in html.elements.keys() {
        assert!(known.contains(&name.as_str()), "{name}: {:?}", html.elements);
    }
}

const DRAWN: [&str; 7] = ["svg", "title", "desc", "path", "g", "rect", "text"];

#[test]
fn html_is_read_back_by_html5lib_and_hostile_text_stays_text() {
    let line = piece("recast: split-last at 1.1\n@Fm7 F3 Ab C Eb  G F Eb C |");
    let heading = Heading { title: HOSTILE.into(), ..line.line().heading().clone() };
    let hostile = Piece::new(line.line().clone().with_heading(heading), line.casting().clone()).unwrap();
    let asked = Worksheet {
        title: format!("\u{7}{HOSTILE}"),
        workshop: HOSTILE.into(),
        recast_yourself: true,
        answers: true,
        ..Worksheet::default()
    };
    let pages = worksheet::pages(&[line, hostile.clone()], &asked).unwrap();
    let document = html(&write::html::worksheet(&pages), &[]);
    let known = ["html", "head", "meta", "style", "body", "main"];
    harmless(&document, &[&known[..], &DRAWN].concat());
    assert_eq!(document.texts[0], HOSTILE);
    assert_eq!(document.elements["svg"], pages.pages.len());
    for index in 0..pages.pages.len() {
        let svg = write::svg::page(&pages, index).unwrap();
        let read = roxmltree::Document::parse(&svg).unwrap();
        assert!(
            read.descendants()
                .filter(roxmltree::Node::is_element)
                .all(|node| DRAWN.contains(&node.tag_name().name()))
        );
    }

    // With some of them on a page.
    let scene = hostile.engrave(&Layout::default());
    let text = format!("\ntitle: {HOSTILE}\n\nC4 D E F G A B C |\n");
    let markup = write::html::half_bar(&text, &scene).repeat(3);
    let fragment = html(&markup, &["fragment"]);
    harmless(&fragment, &[&["DOCUMENT_FRAGMENT", "div", "half-bar", "pre", "figure"], &DRAWN[..]].concat());
    assert_eq!(fragment.elements["half-bar"], 3);
    assert_eq!(fragment.texts.iter().filter(|found| **found == text).count(), 3, "{:?}", fragment.texts);
}

/// A title with letters that the faces lack is drawn as frames, can be searched, and is reported.
#[test]
fn letters_without_an_outline() {
    let title = "港の夜";
    let asked = Worksheet { title: title.into(), ..Worksheet::default() };
    let pages = worksheet::pages(&[piece("C4 D E F G A B C |")], &asked).unwrap();
    assert_eq!(pages.missing_letters(), title);
    let file = kept("letters.pdf", &write::pdf::document(&pages));
    assert!(said("pdftotext", &[], &file, &["-"]).contains(title));
    assert!(said("pdfinfo", &[], &file, &[]).contains(title));
    assert_eq!(lesson(Format::A4).missing_letters(), "");
}

/// Chromium prints each page on one sheet.
#[test]
fn html_prints_one_page_per_sheet() {
    for (format, size) in [(Format::A4, "A4"), (Format::Letter, "letter")] {
        let pages = lesson(format);
        let page = kept(&format!("{}.html", format.name()), write::html::worksheet(&pages).as_bytes());
        let pdf = page.with_extension("printed.pdf");
        let to = format!("--print-to-pdf={}", pdf.display());
        let from = format!("file://{}", page.display());
        program(
            "chromium",
            &["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", &to, &from],
        );
        let info = said("pdfinfo", &[], &pdf, &[]);
        let row = |name: &str| info.lines().find(|row| row.starts_with(name)).unwrap_or_default().to_string();
        assert!(row("Pages:").ends_with(&format!(" {}", pages.pages.len())), "{info}");
        assert!(row("Page size:").contains(size), "{info}");
        for number in 1..=pages.pages.len() {
            let at = number.to_string();
            let text = said("pdftotext", &["-f", &at, "-l", &at], &pdf, &["-"]);
            assert!(
                text.contains(&format!("Page {number} of {}", pages.pages.len())),
                "sheet {number}: {text}"
            );
        }
    }
}
