//! A pass as a picture: how early or late each note was.

use halfbar_core::listen::{Alignment, Heard};
use halfbar_words::practice as says;
use svg::Document;
use svg::node::element::{Circle, Line, Path};

/// How large the picture is, and how far its notes stay from the edge.
const WIDTH: f64 = 600.0;
const HALF: f64 = 50.0;
const EDGE: f64 = 12.0;

/// The strip: time goes to the right; a dot for every note, above the line when it was early and below when it was late; a ring where one was
/// missed, and a cross for one too many. The lines beside the middle one are 50 ms away.
pub(super) fn strip(times: &[f64], alignment: &Alignment) -> String {
    let (Some(first), Some(last)) = (times.first(), times.last()) else { return String::new() };
    let part = |time: f64| ((time - first) / (last - first).max(0.1)).clamp(0.0, 1.0);
    let x = |time: f64| whole(EDGE + (WIDTH - 2.0 * EDGE) * part(time));
    let mut picture = Document::new()
        .set("viewBox", format!("0 0 {} {}", whole(WIDTH), whole(2.0 * HALF)))
        .set("role", "img")
        .set("aria-label", says::STRIP);
    for (y, class) in [(0.5 * HALF, "off-time"), (HALF, "on-time"), (1.5 * HALF, "off-time")] {
        let line = Line::new().set("x1", 0).set("x2", whole(WIDTH)).set("y1", whole(y)).set("y2", whole(y));
        picture = picture.add(line.set("class", class));
    }
    for (&time, heard) in times.iter().zip(&alignment.heard) {
        let (late, class) = match heard {
            Heard::At { late } => (late * 500.0, "played"),
            Heard::Missed => (0.0, "missed"),
        };
        let y = HALF + late.clamp(4.0 - HALF, HALF - 4.0);
        let dot = Circle::new().set("cx", x(time)).set("cy", whole(y)).set("r", 4);
        picture = picture.add(dot.set("class", class));
    }
    for &time in &alignment.extra {
        let cross = format!("M{} {}l8 8m0 -8l-8 8", x(time) - 4, whole(HALF) - 4);
        picture = picture.add(Path::new().set("d", cross).set("class", "extra"));
    }
    picture.to_string()
}

/// Floats would take much code to write.
#[allow(clippy::cast_possible_truncation)]
fn whole(value: f64) -> i32 {
    value.round() as i32
}
