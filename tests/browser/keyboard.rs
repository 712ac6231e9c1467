//! The whole page by keyboard only.

use serde::Deserialize;
use thirtyfour::Key;

use crate::expected::{FIGURES, LINE, NOTES, count};
use crate::page::Page;
use halfbar_core::recast::Figure;

scenarios! {
    served (Served):
        arrows_move_between_pads, every_figure_in_every_spelling, the_focus_is_never_hidden;
}

/// A pad and where it is.
#[derive(Deserialize, Debug)]
struct Pad {
    name: String,
    row: usize,
    center: f64,
}

async fn pads(page: &Page) -> Vec<Pad> {
    page.js("const rows = all('#sheet .row');
        return pads().map((pad) => {
            const { left, right } = box(pad);
            return { name: label(pad), row: rows.indexOf(pad.closest('.row')), center: (left + right) / 2 };
        })")
        .await
}

async fn arrows_move_between_pads(page: Page) {
    page.open_with(1280, LINE).await;
    let pads = pads(&page).await;
    let last = pads.len() - 1;
    let rows = pads[last].row + 1;
    assert!(pads.len() == 16 && rows > 2, "{pads:?}");
    let reachable: Vec<usize> =
        page.js("return pads().flatMap((pad, index) => pad.tabIndex === 0 ? [index] : [])").await;
    assert_eq!(reachable, [0]);
    // The cursor is in the text, just before the music.
    page.tab_to(false, "the first pad", |focus| focus == pads[0].name).await;

    // Where each key goes: to the next or last pad, or to the nearest one in the next row; at an edge, nowhere.
    let nearest = |from: usize, row: Option<usize>| {
        let distance = |pad: &Pad| (pad.center - pads[from].center).abs();
        let in_row = (0..pads.len()).filter(|&index| Some(pads[index].row) == row);
        in_row.min_by(|&a, &b| distance(&pads[a]).total_cmp(&distance(&pads[b]))).unwrap_or(from)
    };
    let leads = |key: &Key, from: usize| match key {
        Key::Right => (from + 1).min(last),
        Key::Left => from.saturating_sub(1),
        Key::Home => 0,
        Key::End => last,
        Key::Down => nearest(from, Some(pads[from].row + 1)),
        Key::Up => nearest(from, pads[from].row.checked_sub(1)),
        other => panic!("{other:?} doesn't move the focus"),
    };
    let walk = [
        Key::Left,
        Key::Up,
        Key::Right,
        Key::Right,
        Key::Right,
        Key::Left,
        Key::Down,
        Key::Right,
        Key::Down,
        Key::Down,
        Key::Up,
        Key::Up,
        Key::Up,
        Key::End,
        Key::Right,
        Key::Down,
        Key::Up,
        Key::Left,
        Key::Home,
        Key::Down,
        Key::Left,
        Key::Left,
    ];
    let mut here = 0;
    for (step, key) in walk.into_iter().enumerate() {
        let there = leads(&key, here);
        page.keys(key.clone()).await;
        assert_eq!(page.focus().await, pads[there].name, "step {step}, {key:?} from {:?}", pads[here]);
        here = there;
    }

    // The tab stop follows: Tab away and back leads to the same pad.
    page.keys(Key::Tab).await;
    assert!(!page.focus().await.starts_with("bar "), "another pad: {}", page.focus().await);
    page.chord(Key::Shift, Key::Tab).await;
    assert_eq!(page.focus().await, pads[here].name);
    let reachable: usize = page.js("return pads().filter((pad) => pad.tabIndex === 0).length").await;
    assert_eq!(reachable, 1);
}

async fn every_figure_in_every_spelling(page: Page) {
    page.open_with(1280, LINE).await;
    let (plain, text) = (page.music().await, page.text().await);
    page.tab_to(false, "a pad", |focus| focus.starts_with("bar 1 beat 1:")).await;
    // Bar 3 is the third bar, with two pads per bar.
    for _ in 0..4 {
        page.keys(Key::Right).await;
    }
    for (step, (figure, spelling, notes, tuplets, ties)) in FIGURES.into_iter().enumerate() {
        let spoken = if spelling == "bracket" { "one bracket" } else { "tied" };
        // To the shelf and back.
        page.tab_to(false, "the figures", |focus| FIGURES.iter().any(|one| one.0 == focus)).await;
        choose(&page, figure).await;
        page.tab_to(false, "the spellings", |focus| FIGURES.iter().any(|one| one.1 == focus)).await;
        choose(&page, spelling).await;
        page.tab_to(true, "the pad", |focus| focus.starts_with("bar 3 beat 1:")).await;

        // The first one is put there with a key. From then on, the half-bar changes with the choice. Space plays.
        if step == 0 {
            page.keys(Key::Enter).await;
        }
        let name = format!("bar 3 beat 1: {} ({spoken})", Figure::named(figure).unwrap().label());
        assert_eq!(page.focus().await, name);
        assert!(page.is_pressed(3, 1).await, "{name}");
        let (mut expected, drawn) = (plain.counts, page.music().await);
        expected.notes += notes - NOTES;
        expected.tuplets += tuplets;
        expected.ties += ties;
        assert_eq!(drawn.counts, expected, "{name}");
        assert_eq!(count(&page.text().await), expected, "{name}");
        assert_eq!(drawn.frets, expected.notes, "{name}");

        page.keys(Key::Enter).await;
        assert_eq!(page.focus().await, "bar 3 beat 1: plain eighths");
        assert_eq!(page.music().await, plain, "{name}");
        assert_eq!(page.text().await, text, "{name}");
        page.keys(Key::Enter).await;
        assert_eq!(page.focus().await, name);
    }
}

/// Chooses with the arrow keys among the choices that have the focus.
async fn choose(page: &Page, wanted: &str) {
    let mut passed = vec![page.focus().await];
    while passed.last().is_none_or(|focus| focus != wanted) {
        assert!(passed.len() < 30, "the arrow keys do not reach {wanted}: {passed:?}");
        page.keys(Key::Right).await;
        passed.push(page.focus().await);
    }
    let chosen: Vec<String> = page.js("return all('input:checked').map((input) => input.value)").await;
    assert!(chosen.iter().any(|value| value == wanted), "{wanted} has the focus, but {chosen:?} is chosen");
}

async fn the_focus_is_never_hidden(page: Page) {
    for width in [1280, 390] {
        page.open_with(width, LINE).await;
        page.js::<serde_json::Value>("scrollTo(0, 0); pads()[0].focus()").await;
        let pads = pads(&page).await;
        for (key, expected) in [
            (Key::Right, pads.iter().skip(1).collect::<Vec<_>>()),
            (Key::Left, pads.iter().rev().skip(1).collect()),
        ] {
            for pad in expected {
                page.keys(key.clone()).await;
                assert_eq!(page.focus().await, pad.name);
                // WCAG 2.2, 2.4.12: no part of what has the focus is covered.
                let hidden: Vec<[f64; 2]> = page
                    .js("const pad = document.activeElement;
                        const { left, top, right, bottom } = pad.getBoundingClientRect();
                        const [xs, ys] = [[left + 4, right - 4], [top + 4, bottom - 4]];
                        const corners = xs.flatMap((x) => ys.map((y) => [x, y]));
                        return corners.filter(([x, y]) => !pad.contains(document.elementFromPoint(x, y)))")
                    .await;
                assert!(hidden.is_empty(), "at {width} px, {key:?} to `{}`: hidden at {hidden:?}", pad.name);
            }
        }
    }
}
