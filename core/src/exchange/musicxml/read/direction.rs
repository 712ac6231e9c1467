//! What is said about speed and feel, and what is left out of a bar.

use roxmltree::Node;

use crate::line::{Feel, SwingRatio};
use crate::time::Duration;

use super::model::{Directions, LeftOut};
use super::tree::{child, children, decimal, number_of, text, text_of};

/// Reads a `direction`, at this place.
pub(super) fn direction(
    node: Node<'_, '_>,
    at: (usize, Duration),
    all: &mut Directions,
    left_out: &mut LeftOut,
) {
    let mut marked = None;
    let sounds: Vec<_> = children(node, "sound").collect();
    let is_about_speed = sounds.iter().any(|sound| child(*sound, "swing").is_some());
    for kind in children(node, "direction-type").flat_map(|kind| kind.children()) {
        match kind.tag_name().name() {
            "metronome" => marked = marked.or(metronome(kind)),
            "words" if text(kind).is_empty() => {}
            "words" => match feel_in(text(kind)) {
                Some(feel) => all.said = all.said.or(Some(feel)),
                None if is_about_speed => {}
                None => count(left_out, "direction in words"),
            },
            "dynamics" => {
                kind.children().filter(Node::is_element).for_each(|_| count(left_out, "dynamic mark"))
            }
            "wedge" if kind.attribute("type") != Some("stop") => count(left_out, "hairpin"),
            "rehearsal" => count(left_out, "rehearsal mark"),
            "segno" | "coda" => count(left_out, "jump"),
            "pedal" if kind.attribute("type") == Some("start") => count(left_out, "pedal mark"),
            _ => {}
        }
    }
    let told = sounds.into_iter().filter_map(|node| sound(node, at, all, left_out)).last();
    if let (None, Some(tempo)) = (told, marked) {
        all.tempos.push((at.0, at.1, tempo));
    }
}

/// Reads a `sound`, and returns its tempo.
pub(super) fn sound(
    node: Node<'_, '_>,
    (bar, onset): (usize, Duration),
    all: &mut Directions,
    left_out: &mut LeftOut,
) -> Option<Duration> {
    if ["dacapo", "dalsegno", "fine", "tocoda"].iter().any(|jump| node.attribute(*jump).is_some()) {
        count(left_out, "jump");
    }
    if let Some(feel) = child(node, "swing").and_then(swing) {
        all.feels.push((bar, onset, feel));
    }
    let tempo = node.attribute("tempo").and_then(decimal)?;
    all.tempos.push((bar, onset, tempo));
    Some(tempo)
}

/// Counts one more thing that is left out.
pub(super) fn count(left_out: &mut LeftOut, what: &'static str) {
    *left_out.entry(what).or_default() += 1;
}

/// The feel of a `swing`: its style if that is one of ours, or else its ratio.
fn swing(swing: Node<'_, '_>) -> Option<Feel> {
    if child(swing, "straight").is_some() {
        return Some(Feel::Straight);
    }
    if let Ok(feel) = text_of(swing, "swing-style").parse() {
        return Some(feel);
    }
    if text_of(swing, "swing-type") == "16th" {
        return None;
    }
    let (first, second): (u32, u32) = (number_of(swing, "first")?, number_of(swing, "second")?);
    let hundredths = first.checked_mul(200)?.checked_add(second)?.checked_div(second.checked_mul(2)?)?;
    SwingRatio::from_hundredths(u16::try_from(hundredths).ok()?).map(Feel::Swing)
}

/// The feel that words ask for.
fn feel_in(words: &str) -> Option<Feel> {
    let words = words.to_lowercase();
    let has = |word: &str| words.split(|letter: char| !letter.is_alphabetic()).any(|other| other == word);
    match () {
        () if has("straight") => Some(Feel::Straight),
        () if (has("swing") || has("swung")) && !has("no") => Some(Feel::SwingAuto),
        () => None,
    }
}

/// Quarter notes per minute.
fn metronome(node: Node<'_, '_>) -> Option<Duration> {
    let unit = match text_of(node, "beat-unit") {
        "whole" => Duration::of(4, 1),
        "half" => Duration::of(2, 1),
        "quarter" => Duration::QUARTER,
        "eighth" => Duration::EIGHTH,
        "16th" => Duration::of(1, 4),
        _ => return None,
    };
    let dots = children(node, "beat-unit-dot").count().min(2);
    // Each dot adds half of what the one before added.
    let length = unit.checked_mul([4, 6, 7][dots]).ok()?.checked_div(4).ok()?;
    let said = text_of(node, "per-minute");
    let number = said.split(|letter: char| !letter.is_ascii_digit() && letter != '.').find_map(decimal)?;
    let numer = number.numer().checked_mul(length.numer())?;
    Duration::new(numer, number.denom().checked_mul(length.denom())?).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_ask_for_a_feel() {
        assert_eq!(feel_in("Medium Swing"), Some(Feel::SwingAuto));
        assert_eq!(feel_in("straight 8ths (no swing)"), Some(Feel::Straight));
        assert_eq!(feel_in("swinging doors"), None);
    }

    #[test]
    fn marks_of_any_unit() {
        let read = |xml: &str| {
            let document = roxmltree::Document::parse(xml).unwrap();
            metronome(document.root_element()).map(|tempo| tempo.to_string())
        };
        let mark =
            |unit: &str, minute: &str| read(&format!("<m>{unit}<per-minute>{minute}</per-minute></m>"));
        assert_eq!(mark("<beat-unit>half</beat-unit>", "70").as_deref(), Some("140"));
        assert_eq!(mark("<beat-unit>quarter</beat-unit><beat-unit-dot/>", "c. 80").as_deref(), Some("120"));
        assert_eq!(mark("<beat-unit>eighth</beat-unit>", "fast"), None);
    }
}
