//! A `note` element.

use roxmltree::Node;

use crate::line::Legato;
use crate::neck::{Finger, Fret, StringNo, Stroke};
use crate::technique::Pin;
use crate::time::Duration;

use super::attributes::{Attributes, pitch};
use super::model::{Edge, Note, Sound, Wrong};
use super::tree::{child, children, decimal, number_of, says_yes, starts, text, text_of};

/// A note at `onset` in its bar.
pub(super) fn note(node: Node<'_, '_>, onset: Duration, voice: usize, attributes: &Attributes) -> Note {
    let is_grace = child(node, "grace").is_some();
    let length = attributes.quarters(text_of(node, "duration")).filter(|length| *length > Duration::ZERO);
    let staff = number_of(node, "staff").unwrap_or(1);
    let is_cue = child(node, "cue").is_some();
    let sound = match sound(node, staff, attributes) {
        _ if is_cue => Sound::Rest,
        Sound::Pitch(_) if length.is_none() && !is_grace => Sound::Wrong(Wrong::Length),
        sound => sound,
    };
    let mut note = Note {
        onset,
        duration: length.filter(|_| !is_grace).unwrap_or(Duration::ZERO),
        sound,
        staff,
        voice,
        is_grace,
        tied_from: has_tie(node, "stop"),
        tied_to: has_tie(node, "start"),
        hand: Pin::default(),
        legato: None,
        tuplets: Vec::new(),
        left_out: Vec::new(),
    };
    note.left_out.extend(children(node, "lyric").map(|_| "lyric"));
    if is_cue {
        note.left_out.push("cue note");
    }
    for notations in children(node, "notations") {
        for notation in notations.children() {
            read_notation(&mut note, notation);
        }
    }
    // The slur of a join or a grace note says no more than that.
    if note.legato.is_some() || is_grace {
        note.left_out.retain(|what| *what != "slur");
    }
    note
}

fn has_tie(node: Node<'_, '_>, edge: &str) -> bool {
    let is_edge = |tie: Node<'_, '_>| tie.attribute("type") == Some(edge);
    let drawn = children(node, "notations").flat_map(|notations| children(notations, "tied"));
    children(node, "tie").any(is_edge) || drawn.into_iter().any(is_edge)
}

fn sound(node: Node<'_, '_>, staff: u16, attributes: &Attributes) -> Sound {
    if child(node, "rest").is_some() {
        return Sound::Rest;
    }
    let Some(written) = child(node, "pitch") else { return Sound::Wrong(Wrong::Unpitched) };
    let alter = decimal(text_of(written, "alter")).unwrap_or(Duration::ZERO);
    if alter.denom() != 1 {
        return Sound::Wrong(Wrong::Microtone);
    }
    let sounding = pitch(written, "").and_then(|pitch| pitch.transposed(attributes.higher(staff)));
    sounding.filter(|pitch| pitch.midi().is_some()).map_or(Sound::Wrong(Wrong::Pitch), Sound::Pitch)
}

/// Whether it is a rest of a whole bar, however long that is.
pub(super) fn is_whole_bar(node: Node<'_, '_>) -> bool {
    child(node, "rest").is_some_and(|rest| says_yes(rest, "measure"))
}

fn read_notation(note: &mut Note, notation: Node<'_, '_>) {
    match notation.tag_name().name() {
        "slur" if starts(notation) => note.left_out.push("slur"),
        "slide" | "glissando" if starts(notation) => note.legato = Some(Legato::Slide),
        "tuplet" => {
            let edge = if starts(notation) { Edge::Start } else { Edge::Stop };
            let number = notation.attribute("number").and_then(|number| number.parse().ok());
            note.tuplets.push((edge, number.unwrap_or(1)));
        }
        "technical" => notation.children().for_each(|technique| read_technique(note, technique)),
        "articulations" => note.left_out.extend(marks(notation).map(|_| "articulation")),
        "ornaments" => note.left_out.extend(marks(notation).map(|_| "ornament")),
        "dynamics" => note.left_out.extend(marks(notation).map(|_| "dynamic mark")),
        "fermata" => note.left_out.push("fermata"),
        "arpeggiate" | "non-arpeggiate" => note.left_out.push("arpeggio sign"),
        _ => {}
    }
}

fn marks<'a, 'i>(node: Node<'a, 'i>) -> impl Iterator<Item = Node<'a, 'i>> {
    node.children().filter(Node::is_element)
}

fn read_technique(note: &mut Note, technique: Node<'_, '_>) {
    let number = || text(technique).parse().ok();
    let hand = &mut note.hand;
    match technique.tag_name().name() {
        "string" => hand.string = number().filter(|string| (1..=8).contains(string)).map(StringNo),
        "fret" => hand.fret = number().map(Fret),
        "fingering" => hand.finger = number().filter(|finger| (1..=4).contains(finger)).map(Finger),
        "down-bow" => hand.stroke = Some(Stroke::Down),
        "up-bow" => hand.stroke = Some(Stroke::Up),
        "hammer-on" | "pull-off" if starts(technique) => note.legato = Some(Legato::Slur),
        "hammer-on" | "pull-off" | "" => {}
        _ => note.left_out.push("playing technique"),
    }
}
