//! The boxes of signs that other tests rely on are those that a browser measures.

use halfbar_core::engrave::{Layout, Width};
use halfbar_core::harmony::names;
use halfbar_core::line::Line;
use halfbar_core::recast::Casting;
use halfbar_core::scene::{Item, Placed, Sp};
use halfbar_core::score::Annotations;
use halfbar_core::{Piece, write};
use halfbar_tests::ink::Ink;
use halfbar_tests::tunes::line_of;
use halfbar_tests::{laws, lines};
use serde_json::json;

use crate::expected::LINE;
use crate::page::Page;

scenarios! {
    served (Served): boxes_are_those_of_the_browser;
}

/// How far an edge may be from where Chromium has it, because of whole units and columns of ink. Measured over 3,344 signs: 0.012 for the
/// ink, and it sticks out of the engraver's boxes by 0.019.
const TOLERANCE: Sp = 0.02;

/// User units of the SVG per staff space.
const UNITS: f64 = 250.0;
const WIDTH: Sp = 80.0;

/// Every sign of every system as the module draws it, letters separately: its role, and its box in user units. A sign starts at a place on
/// the page, `M`, and continues from there.
const SEE: &str = "
const [text, width, done] = arguments;
const signs = (path) => path.getAttribute('d').split(/(?=M)/).map((sign) => {
    path.setAttribute('d', sign);
    const { x, y, width, height } = path.getBBox();
    return [path.parentNode.getAttribute('class'), [x, y, x + width, y + height]];
});
import('./halfbar_piece.js').then(async ({ default: init, Piece }) => {
    await init();
    const holder = document.createElement('div');
    holder.innerHTML = new Piece(text).svg({ width });
    document.body.append(holder);
    done([...holder.querySelectorAll('path')].flatMap(signs));
    holder.remove();
}, (error) => done(`${error}`));";

/// Random lines, one with every figure, and the line that the page starts with.
fn sample() -> Vec<(Line, Casting)> {
    let mut sample: Vec<_> = lines::sample(10).collect();
    let line = line_of(LINE);
    let everywhere = laws::everywhere(&line, 3);
    sample.extend([(line.clone(), Casting::default()), (line, everywhere)]);
    sample
}

/// The number of boxes of a sign.
fn letters(placed: &Placed) -> usize {
    match &placed.item {
        Item::Text { text, .. } => text.chars().filter(|letter| *letter != ' ').count(),
        _ => 1,
    }
}

/// The box around two boxes of the same role.
fn whole((role, a): (String, [Sp; 4]), (_, b): (String, [Sp; 4])) -> (String, [Sp; 4]) {
    (role, [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])])
}

async fn boxes_are_those_of_the_browser(page: Page) {
    page.open(1280).await;
    let (mut signs, mut ink_off, mut sticks_out): (usize, Sp, Sp) = (0, 0.0, 0.0);
    for (line, casting) in sample() {
        let text = write::text::line(&line, &casting).unwrap();
        let (annotations, signs_of_names) = (Annotations::of(line.heading()), names(&line).signs(&line));
        let layout = Layout { width: Width::new(WIDTH).unwrap(), annotations, ..Layout::default() };
        let scene = Piece::new(line, casting).unwrap().with_names(signs_of_names.into()).engrave(&layout);
        let answer = page.driver().execute_async(SEE, vec![json!(text), json!(WIDTH)]).await.unwrap();
        let seen: Vec<(String, [Sp; 4])> = answer.convert().unwrap_or_else(|_| panic!("{}", answer.json()));
        let mut seen = seen.into_iter();
        let ours =
            scene.groups().flat_map(|group| group.items.iter().map(|placed| (group.role.name(), placed)));
        for (name, placed) in ours {
            let (role, edges) = (&mut seen).take(letters(placed)).reduce(whole).unwrap();
            assert_eq!(role, name, "{text}");
            let edges = edges.map(|edge| edge / UNITS);
            let (ink, bounds) = (Ink::of(placed).bounds(), placed.bounds());
            let off = (0..4).map(|edge| (edges[edge] - ink[edge]).abs()).fold(0.0, Sp::max);
            assert!(off <= TOLERANCE, "{role}: {edges:?} in the browser, {ink:?} here\n{placed:?}\n{text}");
            let outside =
                [bounds[0] - edges[0], bounds[1] - edges[1], edges[2] - bounds[2], edges[3] - bounds[3]];
            let outside = outside.into_iter().fold(0.0, Sp::max);
            assert!(
                outside <= TOLERANCE,
                "{role}: {edges:?} in the browser, the box is {bounds:?}\n{placed:?}\n{text}"
            );
            (signs, ink_off, sticks_out) = (signs + 1, ink_off.max(off), sticks_out.max(outside));
        }
        assert_eq!(seen.count(), 0, "{text}");
    }
    println!("{signs} signs: ink at most {ink_off:.3} off, and {sticks_out:.3} outside its box");
    assert!(signs > 3_000);
}
