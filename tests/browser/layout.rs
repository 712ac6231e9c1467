//! The page at every width.

use serde::Deserialize;

use crate::expected::{LINE, count, long_line};
use crate::page::Page;

scenarios! {
    served (Served):
        the_page_fits_every_width, pads_at_every_eighth_can_be_hit, pads_can_be_hit_under_sparse_and_dense_bars,
        a_long_word_in_the_title_stays_on_the_page, a_long_chord_stays_on_the_page,
        a_long_word_in_a_mistake_stays_on_the_page;
}

const WIDTHS: [u32; 4] = [1280, 768, 390, 320];

/// The edges of something on the page, in CSS pixels.
#[derive(Clone, Copy, Debug, Deserialize)]
struct Box {
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

/// A system with what is in it and under it.
#[derive(Debug, Deserialize)]
struct Row {
    /// Everything that is drawn, including staff lines, tab lines and the clef.
    ink: Box,
    /// Each fret number with its bar. They are centered under the noteheads.
    frets: Vec<(String, Box)>,
    pads: Vec<(String, Box)>,
}

#[derive(Debug, Deserialize)]
struct Seen {
    /// Title and tempo.
    head: Box,
    rows: Vec<Row>,
    /// The requested width, as the page sees it. On a phone, it grows if something overflows.
    inner: f64,
    client: f64,
    scroll: f64,
}

const SEE: &str = "
const whole = (boxes) => ({
    left: Math.min(...boxes.map((one) => one.left)), top: Math.min(...boxes.map((one) => one.top)),
    right: Math.max(...boxes.map((one) => one.right)), bottom: Math.max(...boxes.map((one) => one.bottom)),
});
const { clientWidth, scrollWidth } = document.scrollingElement;
return {
    head: whole(all('#sheet svg.head > g').map(box)),
    rows: all('#sheet .row').map((row) => ({
        ink: whole(all('svg.system > g', row.firstChild).map(box)),
        frets: all('svg.system > g.fret', row.firstChild).map((fret) => [fret.dataset.bar, box(fret)]),
        pads: all('.pad', row).map((pad) => [label(pad), box(pad)]),
    })),
    inner: innerWidth, client: clientWidth, scroll: scrollWidth,
}";

async fn the_page_fits_every_width(page: Page) {
    for line in [LINE.to_string(), long_line()] {
        page.open_with(WIDTHS[0], &line).await;
        let mut systems = Vec::new();
        // Narrower and back: both directions redraw.
        for width in WIDTHS.into_iter().chain([1280]) {
            page.resize(width).await;
            let seen: Seen = page.js(SEE).await;
            let at = format!("at {width} px");
            assert_eq!(seen.inner, f64::from(width), "{at}: the page is zoomed out to fit");
            assert!(seen.scroll <= seen.client && seen.client <= seen.inner, "{at}: overflow, {seen:?}");
            assert_eq!(page.music().await.counts, count(&line), "{at}");
            check_pads(&seen, least(width), &at);
            check_places(&seen, &at);
            systems.push(seen.rows.len());
        }
        assert!(systems[..4].is_sorted() && systems[0] < systems[3], "systems at {WIDTHS:?}: {systems:?}");
        assert_eq!(systems[4], systems[0]);
    }
}

/// WCAG 2.2: the minimum size of targets (2.5.8), and of targets for thumbs (2.5.5).
const LEAST: f64 = 24.0;
const LEAST_FOR_THUMBS: f64 = 44.0;

fn least(width: u32) -> f64 {
    if width < 600 { LEAST_FOR_THUMBS } else { LEAST }
}

fn check_pads(seen: &Seen, least: f64, at: &str) {
    for (index, row) in seen.rows.iter().enumerate() {
        assert!(!row.pads.is_empty(), "{at}: a system without pads");
        assert!(row.ink.left >= 0.0 && row.ink.right <= seen.client, "{at}: ink outside the page");
        for (number, (name, pad)) in row.pads.iter().enumerate() {
            let (wide, high) = (pad.right - pad.left, pad.bottom - pad.top);
            // They may be narrower if the middles of two are 24 px apart.
            let apart = |other: usize| {
                let other = row.pads.get(other).map(|(_, other)| f64::midpoint(other.left, other.right));
                other.map_or(f64::MAX, |other| (other - f64::midpoint(pad.left, pad.right)).abs())
            };
            let room = apart(number + 1).min(apart(number.wrapping_sub(1)));
            assert!(
                high >= least && (wide >= LEAST || wide > 16.0 && room >= LEAST),
                "{at}: `{name}` is {wide} by {high}, its neighbor {room} away"
            );
            assert!(pad.left >= 0.0 && pad.right <= seen.client, "{at}: `{name}` is outside the page");
            assert!(pad.top >= row.ink.bottom, "{at}: `{name}` covers its system");
            if let Some((other, next)) = row.pads.get(number + 1) {
                assert!(pad.right <= next.left, "{at}: `{name}` and `{other}` overlap");
            }
            if let Some(next) = seen.rows.get(index + 1) {
                assert!(pad.bottom < next.ink.top, "{at}: `{name}` covers the next system");
            }
        }
    }
}

/// Each pad is under the notes that it recasts.
fn check_places(seen: &Seen, at: &str) {
    for row in &seen.rows {
        for (bar, fret) in &row.frets {
            let middle = f64::midpoint(fret.left, fret.right);
            let mine = |(name, pad): &&(String, Box)| {
                name.starts_with(&format!("bar {bar} ")) && pad.left <= middle && middle <= pad.right
            };
            assert_eq!(row.pads.iter().filter(mine).count(), 1, "{at}: a fret of bar {bar} at {middle} px");
        }
    }
}

async fn pads_at_every_eighth_can_be_hit(page: Page) {
    page.open_with(WIDTHS[0], LINE).await;
    page.click_in_panel("more", "one('#eighths')").await;
    for width in WIDTHS {
        page.resize(width).await;
        let seen: Seen = page.js(SEE).await;
        let pads: usize = seen.rows.iter().map(|row| row.pads.len()).sum();
        assert!(pads > 40, "at {width} px: {pads} pads");
        // Eight pads per bar don't fit on a small phone, so all of the music is drawn smaller there.
        let least = if width < 390 { LEAST } else { least(width) };
        check_pads(&seen, least, &format!("every eighth at {width} px"));
    }
}

/// Lines whose bars are unusually short or long on the page.
async fn pads_can_be_hit_under_sparse_and_dense_bars(page: Page) {
    let sixteenths = "C4:1/4 D:1/4 E:1/4 F#:1/4 ".repeat(4) + "| ";
    for line in ["C4:4 | D:4 | E:4 |", "r:4 |", "C4:2 r:2 | r:2 C4:2 |", &sixteenths.repeat(4)] {
        page.open_with(WIDTHS[0], line).await;
        for width in WIDTHS {
            page.resize(width).await;
            let seen: Seen = page.js(SEE).await;
            check_pads(&seen, least(width), &format!("`{line}` at {width} px"));
        }
    }
}

async fn a_long_word_in_the_title_stays_on_the_page(page: Page) {
    stays_on_the_page(&page, &LINE.replace("Week 12", LONG)).await;
}

async fn a_long_chord_stays_on_the_page(page: Page) {
    stays_on_the_page(&page, &LINE.replace("@Ebmaj7", "@F#m(maj7)/C#")).await;
}

async fn a_long_word_in_a_mistake_stays_on_the_page(page: Page) {
    stays_on_the_page(&page, &LINE.replace("G F Eb C", &format!("G {} Eb", LONG.repeat(4)))).await;
}

/// A real word.
const LONG: &str = "Donaudampfschifffahrtsgesellschaft";

async fn stays_on_the_page(page: &Page, text: &str) {
    for width in [1280, 320] {
        page.open(width).await;
        page.paste(text).await;
        page.frames().await;
        let seen: Seen = page.js(SEE).await;
        assert_eq!(seen.inner, f64::from(width), "at {width} px: the page is zoomed out to fit");
        assert!(seen.scroll <= seen.client, "at {width} px: {} px wide", seen.scroll);
        // Anything beyond the edge of a picture is cut off and doesn't make the page scroll.
        let right_most = seen.rows.iter().map(|row| row.ink.right).fold(seen.head.right, f64::max);
        assert!(right_most <= seen.client, "at {width} px: ink up to {right_most} px");
    }
}
