//! The boxes of signs that the other tests measure by are those that a browser finds.

use halfbar_core::engrave::Layout;
use halfbar_core::line::Line;
use halfbar_core::recast::Casting;
use halfbar_core::scene::{Placed, Sp};
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

/// How far an edge may lie from where Chromium has it: two digits after the point, and columns of the ink. Measured: 0.012 for the ink,
/// 0.016 for what sticks out of the boxes by which the engraver sets, over 3,720 signs.
const TOLERANCE: Sp = 0.02;

/// User units of the SVG to the staff space.
const UNITS: f64 = 10.0;
const WIDTH: Sp = 80.0;

/// Every sign of every system as the module draws it: its role, and its box in user units.
const SEE: &str = "
const [text, width, done] = arguments;
// What is only there to be searched and copied is not seen.
const seen = (sign) => sign.getAttribute('fill-opacity') !== '0';
const signs = (group) => [...group.children].filter(seen).map((sign) => {
    const { x, y, width, height } = sign.getBBox();
    const { a, e, f } = sign.transform.baseVal.consolidate()?.matrix ?? { a: 1, e: 0, f: 0 };
    return [group.getAttribute('class'), [x * a + e, y * a + f, (x + width) * a + e, (y + height) * a + f]];
});
import('./halfbar_widget.js').then(async ({ default: init, Piece }) => {
    await init();
    const holder = document.createElement('div');
    holder.innerHTML = new Piece(text).svg({ width });
    document.body.append(holder);
    const groups = [...holder.querySelectorAll('g[class]')].filter((group) => group.classList != 'system');
    done(groups.flatMap(signs));
    holder.remove();
}, (error) => done(`${error}`));";

/// Random lines, one with all of its figures, and the line that the page starts with.
fn sample() -> Vec<(Line, Casting)> {
    let mut sample: Vec<_> = lines::sample(10).collect();
    let line = line_of(LINE);
    let everywhere = laws::everywhere(&line, 3);
    sample.extend([(line.clone(), Casting::default()), (line, everywhere)]);
    sample
}

async fn boxes_are_those_of_the_browser(page: Page) {
    page.open(1280).await;
    let (mut signs, mut ink_off, mut sticks_out): (usize, Sp, Sp) = (0, 0.0, 0.0);
    for (line, casting) in sample() {
        let text = write::text::line(&line, &casting).unwrap();
        let scene = Piece::new(line, casting).unwrap().engrave(&Layout { width: WIDTH, ..Layout::default() });
        let answer = page.driver().execute_async(SEE, vec![json!(text), json!(WIDTH)]).await.unwrap();
        let seen: Vec<(String, [Sp; 4])> = answer.convert().unwrap_or_else(|_| panic!("{}", answer.json()));
        let ours: Vec<(&str, &Placed)> = (scene.groups())
            .flat_map(|group| group.items.iter().map(|placed| (group.role.name(), placed)))
            .collect();
        assert_eq!(seen.len(), ours.len(), "{text}");
        for ((role, edges), (name, placed)) in seen.iter().zip(ours) {
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
    }
    println!("{signs} signs: ink at most {ink_off:.3} off, and {sticks_out:.3} outside its box");
    assert!(signs > 3_000);
}
