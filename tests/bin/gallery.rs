//! Draws the difficult lines of `tests/gallery` for a person to look at: an SVG and a PNG of each, in `gallery` in cargo's target
//! folder, and prints what collides.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

use halfbar_tests::collisions::collisions;
use halfbar_tests::gallery::cases;
use halfbar_tests::pixels::render;
use halfbar_tests::target;

fn main() {
    let folder = target().join("gallery");
    std::fs::create_dir_all(&folder).unwrap();
    for case in cases() {
        let svg = case.svg();
        render(&svg, 1.5).save_png(folder.join(format!("{}.png", case.name))).unwrap();
        std::fs::write(folder.join(format!("{}.svg", case.name)), svg).unwrap();
        println!("{}", case.name);
        for collision in collisions(&case.scene()) {
            println!("  {collision}");
        }
    }
    println!("in {}", folder.display());
}
